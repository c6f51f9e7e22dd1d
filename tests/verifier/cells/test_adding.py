"""Cells and sheets added by options: what is typed, stored and refused."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.program import ok, refused, run
from tests.verifier.cells.conftest import ADD, ID, record
from verifier.cli.cells import answers, figures
from verifier.cli.cells.answers import BadAnswer

# What is typed ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("3350mAh", "Ah", 3.35),
        ("3.35 Ah", "Ah", 3.35),
        ("3.35", "Ah", 3.35),
        ("680mA", "A", 0.68),
        ("0.0221ohm", "mohm", 22.1),
        ("22 m\N{OHM SIGN}", "mohm", 22.0),
        ("0.048kg", "g", 48.0),
        ("2min", "s", 120.0),
        (".5", "V", 0.5),
    ],
)
def test_an_amount_is_turned_into_the_unit_of_its_field(text: str, unit: str, expected: float) -> None:
    """A unit slip is a factor of a thousand. Source: SI brochure, prefixes milli and kilo."""
    assert answers.amount(answers.split_citation(text)[0], unit) == expected


@pytest.mark.parametrize(
    "text", ["", "3,350", "1,700mA", "abc", "3350", "3.35V", "nan", "inf", "1e", "3.35 Ah!", "--3"]
)
def test_an_amount_that_is_not_plain_is_refused(text: str) -> None:
    """'1,700' is 1.7 to one reader and 1700 to another; 3350 without a unit is no cell's capacity in Ah."""
    with pytest.raises(BadAnswer):
        answers.amount(text, "Ah")


def test_a_rate_is_never_taken_for_a_temperature() -> None:
    """'at 0.2C' is a rate on every sheet; stored as 0.2 degrees it would falsify the conditions."""
    with pytest.raises(BadAnswer, match="temperature or a rate"):
        answers.capacity("3.35 at 0.2C")
    assert answers.capacity("3.35 at 0.67A, 25degC, 2.5V") == {
        "value_ah": 3.35, "current_a": 0.67, "temperature_c": 25.0, "cutoff_voltage_v": 2.5,
    }  # fmt: skip


def test_a_limit_needs_its_unit() -> None:
    """'8' may be 8 A or 8C, which differ by the capacity."""
    with pytest.raises(BadAnswer, match="needs its unit"):
        answers.limit("8", "a", "c")
    assert answers.limit("8A", "a", "c") == {"a": 8.0}
    assert answers.limit("0.5 C", "a", "c") == {"c": 0.5}
    assert answers.limit("500mA", "a", "c") == {"a": 0.5}


@pytest.mark.parametrize("text", ["45..0=8A", "0..45", "0-45=8A", "0..=8A", "0..45 shade=8A", "=8A"])
def test_a_band_that_is_not_plain_is_refused(text: str) -> None:
    """A limit in the wrong band is a limit the sheet never gave."""
    with pytest.raises(BadAnswer):
        answers.banded("a", "c")(text)


def test_a_quote_may_hold_the_separator() -> None:
    """A quoted line is kept as printed, whatever signs it holds."""
    pieces = list(answers.several('3.35 page 2 "Min; 3350"; 3.2'))
    assert pieces == ['3.35 page 2 "Min; 3350"', "3.2"]
    assert answers.split_citation(pieces[0]) == ("3.35", {"page": 2, "quote": "Min; 3350"})


def test_every_figure_of_a_sheet_can_be_typed() -> None:
    """A figure without an option could only be stored by writing JSON. Source: registry.sheet_figures."""
    from registry.sheet_figures import FIGURES

    assert {source.field for source in figures.INPUTS} == set(FIGURES)
    assert len({source.option for source in figures.INPUTS}) == len(figures.INPUTS)


# Adding -------------------------------------------------------------------------------------------------


def test_options_become_the_record(registry: str) -> None:
    """What is typed is what is stored, with its conditions, page and line."""
    sheet = record(registry)["sheets"][0]
    assert sheet["capacity"][0] == {
        "kind": "minimum", "value_ah": 3.35, "current_a": 0.67, "temperature_c": 25.0,
        "page": 2, "quote": "Min. 3350 mAh",
    }  # fmt: skip
    assert sheet["discharge"] == [
        {"low_c": 0.0, "high_c": 45.0, "basis": "ambient", "max_continuous_a": 8.0},
        {"low_c": -20.0, "high_c": 0.0, "max_continuous_c": 0.5},
    ]
    assert sheet["pulse"] == [{"current_a": 15.0, "seconds": 5.0}]
    assert sheet["resistance"] == {"dc_mohm": 32.0, "dc_seconds": 10.0}
    assert sheet["not_stated"] == ["cycle_life"]


def test_the_file_is_plain_sqlite(registry: str) -> None:
    """The registry must open in other tools. Reference: sqlite3 of the standard library."""
    with closing(sqlite3.connect(registry)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert connection.execute("SELECT count(*) FROM cells").fetchone() == (1,)


def test_a_sheet_is_added_to_a_registered_cell(registry: str) -> None:
    """A second sheet must stand beside the first, never in its place."""
    said = ok(
        "cells", "add", "--to", ID, "--evidence", "secondhand", "--discharge", "10A", "--registry", registry
    )
    assert "sheet 2 added" in said
    assert [sheet["evidence"] for sheet in record(registry)["sheets"]] == ["maker", "secondhand"]


def test_an_id_that_is_taken_is_refused(registry: str) -> None:
    """A second cell under the same id would hide the first."""
    said = refused(*ADD, "--registry", registry)
    assert f"--to {ID}" in said
    assert len(record(registry)["sheets"]) == 1


@pytest.mark.parametrize(
    ("extra", "told"),
    [
        (["--charge-v", "3.0"], "is not below charge_voltage_v 3 V"),
        (["--discharge", "40..60=2A"], "overlap"),
        (["--rated-ah", "5", "--pulse", "7A/5s"], "above the pulse limit 7 A"),
        (["--nominal-v", "3,600"], "comma"),
        (["--not-stated", "discharge"], "leave one of the two out"),
        (["--date", "May 2025"], "a date is"),
    ],
)
def test_a_sheet_that_contradicts_itself_is_refused_whole(
    tmp_path: Path, extra: list[str], told: str
) -> None:
    """Nothing half written: a refused cell leaves no registry behind."""
    path = tmp_path / "cells.sqlite"
    assert told in " ".join(refused(*ADD, *extra, "--registry", str(path)).split())
    assert not path.exists()


def test_what_is_missing_is_named(tmp_path: Path) -> None:
    """The user must learn every missing option at once, and no grade of evidence may be assumed."""
    path = str(tmp_path / "cells.sqlite")
    said = refused("cells", "add", "--maker", "Lyr", "--minimum-ah", "3.35", "--registry", path)
    assert "--model, --chemistry, --evidence missing" in said
    needed = ["--maker", "Lyr", "--model", "X", "--chemistry", "NMC", "--evidence", "maker"]
    assert "no figure is given" in refused("cells", "add", *needed, "--registry", path)


def test_a_cell_without_limits_is_stored_with_a_note(tmp_path: Path) -> None:
    """Whoever stores a cell without a discharge limit must know that no check can pass on it."""
    words = ["--maker", "Lyr", "--model", "X", "--chemistry", "NMC", "--evidence", "maker", "--mass-g", "48"]
    result = run("cells", "add", *words, "--registry", str(tmp_path / "cells.sqlite"))
    assert result.exit_code == 0
    assert "no discharge limit is known" in result.stderr
    assert "no capacity is known" in result.stderr


def test_a_limit_in_a_and_in_c_is_one_band(tmp_path: Path) -> None:
    """A sheet that prints '3C (7.8 A)' states one limit, not two that overlap."""
    path = str(tmp_path / "cells.sqlite")
    words = ["--maker", "Osk", "--model", "X", "--chemistry", "NMC", "--evidence", "maker"]
    ok("cells", "add", *words, "--discharge", "0..45=7.8A", "--discharge", "0..45=3C", "--registry", path)
    assert record(path, "osk-x")["sheets"][0]["discharge"] == [
        {"low_c": 0.0, "high_c": 45.0, "max_continuous_a": 7.8, "max_continuous_c": 3.0}
    ]


@pytest.mark.parametrize("size", ["SR 30Q", "round", "18650-35P", "12"])
def test_a_size_code_is_digits_or_measures(tmp_path: Path, size: str) -> None:
    """A model typed as the size leaves the cell outside of every envelope and every search by size."""
    words = ["--maker", "Osk", "--model", "X", "--chemistry", "NMC", "--evidence", "maker", "--mass-g", "48"]
    path = str(tmp_path / "cells.sqlite")
    assert "size code" in refused("cells", "add", *words, "--size", size, "--registry", path)
    ok("cells", "add", *words, "--size", "70x131x27", "--registry", path)


def test_a_sheet_beyond_its_size_is_stored_with_a_note_and_doubted_in_a_report(tmp_path: Path) -> None:
    """A slip such as 9.9 for 4.9 Ah would let a false capacity pass, and nobody would be told.

    No 21700 cell that is sold holds 7 Ah (the registry's envelope: 6.3 Ah announced, from memory).
    """
    target = str(tmp_path / "r.sqlite")
    stored = run(
        "cells", "add", "--registry", target, "--maker", "Tarn", "--model", "21-99", "--size", "21700",
        "--chemistry", "NMC", "--evidence", "maker", "--minimum-ah", "9.9Ah", "--discharge", "0..60=8A",
        "--marking", "TARN 21-99",
    )  # fmt: skip
    assert stored.exit_code == 0
    assert "note: cell tarn-21-99 sheet 1: minimum capacity 9.9 Ah is above" in stored.stderr
    case = tmp_path / "case.yaml"
    case.write_text(
        'claim: {capacity_ah: 19.8}\nobserved: {series: 10, parallel: 2, cell: {marking: "TARN 21-99"}}\n',
        encoding="utf-8",
    )
    told = " ".join(ok("check", str(case), "--registry", target).split())
    assert "9.9 Ah a cell is more than any cell of this size was ever published with" in told
