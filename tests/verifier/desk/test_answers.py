"""A shop's own table as it comes: read in one line, and answered row by row as a check answers."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from registry.opening import open_registry
from tests.verifier import screening_tables
from tests.verifier.desk.conftest import REGISTRY, ROOT, answers, rows_of, screened
from tests.verifier.desk.tables import GERMAN, SELLERS, german_rows, semicolons
from verifier.case.reading import parse_case
from verifier.judge import judge
from verifier.screening.one_row import row_cases
from verifier.screening.tables import Source


def test_a_table_under_german_headings_goes_in_with_one_line(packclaim: Callable[..., int]) -> None:
    """A desk would have to rename columns, save anew and explain the result before anybody could use it."""
    table = german_rows(600)
    Path("angebote.csv").write_text(semicolons(table), encoding="cp1252", newline="")
    assert (
        packclaim(
            "angebote.csv",
            "--out",
            "ergebnis.xlsx",
            "--rank",
            "severity",
            "--summary",
            "s.html",
            "--workers",
            "1",
        )
        == 0
    )
    book = load_workbook("ergebnis.xlsx")
    sheet = book["Listings"]
    heads, *rows = sheet.iter_rows(values_only=True)
    assert heads[:10] == (
        "row", "pack", "seller", "title", "conclusion", "severity", "sentence", "alarm", "danger", "contradiction",
    )  # fmt: skip
    assert heads[-len(GERMAN) :] == GERMAN, "the shop's own columns go along"
    found: list[dict[Any, Any]] = [dict(zip(heads, row, strict=True)) for row in rows]
    assert sorted(row["row"] for row in found) == list(range(1, 601))
    assert [row["severity"] for row in found] == sorted(row["severity"] for row in found)
    assert (sheet.freeze_panes, sheet.auto_filter.ref[:3]) == ("E2", "A1:")
    assert len({sheet.cell(at, 5).fill.fgColor.rgb for at in (2, 601)}) == 2
    for row in found:
        cells = dict(zip(GERMAN, table[row["row"] - 1], strict=True))
        volts, energy = float(cells["Spannung"].rstrip("V")), float(cells["Energieinhalt"].rstrip(" Wh"))
        hours = float(cells["Kapazität"].rstrip(" Ah").replace(",", "."))
        assert (row["seller"], row["title"]) == (cells["Verkäufer"], cells["Bezeichnung"])
        # By hand: three times volts times ampere-hours is no energy of this pack.
        if energy > 2 * volts * hours:
            assert row["conclusion"] == "contradicts itself"
            assert f"not the {energy:.0f} Wh claimed" in row["contradiction"]
        assert ("nach Absprache" in (row["not read"] or "")) == (row["row"] % 50 == 0)
    assert "How to read" in book.sheetnames
    page = Path("s.html").read_text(encoding="utf-8")
    assert all(seller.replace("&", "&amp;") in page for seller in SELLERS)


def test_each_row_is_answered_as_a_check_answers(tmp_path: Path) -> None:
    """A listing would be called one thing in the table and another alone. Rule: verifier.judge."""
    source = tmp_path / "in.csv"
    source.write_text(semicolons(german_rows(30)), encoding="utf-8", newline="")
    found = rows_of(screened(source, tmp_path / "out.jsonl", asking="de"))
    registry = open_registry(REGISTRY)
    kinds = set()
    for row in found:
        (draft,) = row_cases(Source(str(source)), row["row"]).drafts
        report = judge(parse_case(draft, "row").case, registry, steps=False)
        if "not_read" not in row:
            assert (row["conclusion"], row["sentence"]) == (report.answer.conclusion, report.answer.sentence)
            said = [each.text for each in report.answer.cannot_be_true]
            assert row.get("contradiction", "") == " | ".join(said)
            kinds.add(row["conclusion"])
    assert len(kinds) >= 2
    assert any(row["sentence"].count("registered cell") for row in found), "and so it does of unknown cells"
    asked = [row["questions"] for row in found if "questions" in row]
    assert len(asked) > len(found) / 2
    assert all(each.startswith("1. ") for each in asked)


def test_the_air_for_which_a_datasheet_refuses_is_told(tmp_path: Path) -> None:
    """A seller would answer with the current of 25 C, and the desk not know why it refused. Rule: verifier.judge."""
    rows = "LYR 18650-35P;13S4P;30 A;-10 bis 35 °C\nLYR 18650-35P;13S4P;90 A;\n"
    source = tmp_path / "in.csv"
    source.write_text(f"Zelltyp;Aufbau;Dauerstrom;Einsatztemperatur\n{rows}", encoding="utf-8")
    cold, usual = rows_of(screened(source, tmp_path / "out.jsonl"))
    (draft,) = row_cases(Source(str(source)), 1).drafts
    assert cold["sentence"] == judge(parse_case(draft, "row").case, open_registry(REGISTRY)).answer.sentence
    assert "(cells, in air of -10 to 35 C)" in cold["sentence"]
    assert "possible (cells)" in usual["sentence"], "a default decides nothing"


@pytest.mark.parametrize(
    ("title", "conclusion"),
    [
        ("E-bike battery 48V 20Ah 13S4P", "contradicts itself"),
        ("E-bike battery 48V 14Ah 13S4P", "not settled"),
        # A number without a unit is a shop's own.
        ("Loaner pack 20", "not settled"),
    ],
)
def test_a_title_beside_columns_is_the_sellers_word_too(title: str, conclusion: str, tmp_path: Path) -> None:
    """20 Ah in a title would sell a pack whose own column says 14 Ah, and the desk would not be told."""
    table = f"Title;Capacity;Voltage;Configuration\n{title};14 Ah;48 V;13S4P\n"
    (row,) = answers(table, tmp_path)
    assert row["conclusion"] == conclusion
    if conclusion == "contradicts itself":
        assert row["contradiction"] == (
            "capacity: the listing says 14 Ah in its column and 20 Ah in its title or text"
        )


def test_what_is_asked_of_a_row_does_not_hang_on_the_rows_beside_it(tmp_path: Path) -> None:
    """A seller would be asked of statements that stand in another seller's listing."""
    _, names, stated = next(each for each in screening_tables.TABLES if each[0] == "packs seen open")
    columns = screening_tables.random_table(60, names, stated, 5)
    source = tmp_path / "in.csv"
    with source.open("w", newline="", encoding="utf-8") as stream:
        csv.writer(stream).writerows([columns, *zip(*columns.values(), strict=True)])
    found = []
    for rows in (60, 7):
        out = screened(source, tmp_path / f"{rows}.jsonl", asking="en", chunk_rows=rows)
        found.append([row.get("questions") for row in rows_of(out)])
    assert found[0] == found[1]
    assert any("we found" in (each or "") for each in found[0])


@pytest.mark.parametrize("name", ["harbour-market.csv", "harbour-market.jsonl", "dockside-angebote.csv"])
def test_the_samples_are_answered_as_a_check_answers(name: str, tmp_path: Path) -> None:
    """The first table that a user tries would be judged by other rules than a single listing."""
    source = ROOT / "samples" / "screening" / name
    registry = open_registry(REGISTRY)
    for row in rows_of(screened(source, tmp_path / "out.jsonl")):
        if row["conclusion"] != "unreadable" and "not_read" not in row:
            drafts = row_cases(Source(str(source)), row["row"]).drafts
            pack = int(row.get("pack", "1").split(" ")[0])
            report = judge(parse_case(drafts[pack - 1], "row").case, registry, steps=False)
            assert (row["conclusion"], row["sentence"]) == (report.answer.conclusion, report.answer.sentence)
