"""What a desk gets back: ranked, parted by seller, and as spreadsheets."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from registry.errors import PlacedError
from registry.opening import open_registry
from tests.verifier.desk.conftest import REGISTRY, answers, rows_of, screened
from tests.verifier.desk.tables import SELLERS, german_rows, semicolons
from verifier.case.limits import Limits
from verifier.case.reading import parse_case
from verifier.judge import judge
from verifier.screening import judging, output
from verifier.screening.headings import ColumnMap
from verifier.screening.output import Wanted, conclusions_named, file_names
from verifier.screening.progress import Progress
from verifier.screening.results import PROOFS
from verifier.screening.row_findings import HARMS
from verifier.screening.running import Run, Unfinished, screen_table
from verifier.screening.tables import Source, open_listings
from verifier.words import figure_name

SEVERAL = (
    "seller,text,claim.cell_marking\n"
    '"A","36V 10Ah / 48V 10Ah e-bike battery\nOption 1: 36V 10Ah 10S4P\nOption 2: 48V 60Ah 13S4P",\n'
    'B,"36V 10.4Ah 10S4P, 18650 cells",\n'
)


def test_a_listing_with_several_packs_has_a_row_for_each(tmp_path: Path) -> None:
    """The honest pack of a listing would stand for the impossible one beside it, or the other way."""
    found = answers(SEVERAL, tmp_path)
    assert [(row["row"], row.get("pack")) for row in found] == [(1, "1 of 2"), (1, "2 of 2"), (2, None)]
    worst = answers(SEVERAL, tmp_path, name="w.csv", worst=True)
    assert [row["row"] for row in worst] == [1, 2]
    assert worst[0] == min(found[:2], key=lambda row: row["severity"])


@pytest.fixture
def german(tmp_path: Path) -> Path:
    """A table of German headings."""
    path = tmp_path / "in.csv"
    path.write_text(semicolons(german_rows(80)), encoding="utf-8", newline="")
    return path


def test_the_worst_come_first_whatever_the_window(
    german: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rows would be lost, doubled or misplaced where a table is larger than what is held at once."""
    plain = rows_of(screened(german, tmp_path / "plain.jsonl", chunk_rows=9))
    monkeypatch.setattr(output, "_WINDOW", 7)
    ranked = screened(german, tmp_path / "ranked.jsonl", chunk_rows=9, wanted=Wanted(ranked=True))
    order = [*PROOFS, None]
    harms = {words: harm for figure, harm in HARMS.items() for words in [figure_name(figure)]}

    def rank(row: dict[str, Any]) -> tuple[float, ...]:
        margin, refuted = row.get("margin_percent", float("inf")), "proof" in row
        harm = harms[row["worst_figure"]] if refuted else len(HARMS)
        endangers = "danger" in row or "alarm" in row
        return row["severity"], not endangers, order.index(row.get("proof")), harm, margin, row["row"]

    assert rows_of(ranked) == sorted(plain, key=rank)
    wanted = Wanted(ranked=True, only=conclusions_named(["Contradicts itself"]))
    only = rows_of(screened(german, tmp_path / "only.jsonl", chunk_rows=9, wanted=wanted))
    assert only == [row for row in sorted(plain, key=rank) if row["conclusion"] == "contradicts itself"] != []


def test_each_seller_gets_a_file_of_their_own_rows(german: Path, tmp_path: Path) -> None:
    """A seller would be sent what others sell, or nothing."""
    folder = tmp_path / "sellers"
    out = screened(german, tmp_path / "out.csv", per_seller=str(folder), wanted=Wanted(marked=True))
    assert out.exists()
    assert {path.name for path in folder.iterdir()} == {
        "Hafenkontor.csv", "Grünwerk-Räder.csv", "Nordlicht-Söhne.csv", "Mühle-7.csv", "Straßenakku.csv",
    }  # fmt: skip
    count = 0
    for path in folder.iterdir():
        rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig")), delimiter=";"))
        assert len({row["seller"] for row in rows}) == 1
        count += len(rows)
    assert count == 80
    with pytest.raises(PlacedError, match="not empty"):
        screened(german, tmp_path / "again.csv", per_seller=str(folder))
    assert not (tmp_path / "again.csv").exists()


def test_sellers_whose_names_are_no_names_of_files_get_files_all_the_same() -> None:
    """A seller's name would write outside of the folder, or over another seller's file."""
    names = file_names(["../../etc", "a/b", "A b", "a b", "", "..", "*"], ".csv")
    assert len({name.casefold() for name in names.values()}) == 7
    assert all("/" not in name and not name.startswith(".") for name in names.values())


def test_csv_for_a_spreadsheet_opens_there_without_a_question(german: Path, tmp_path: Path) -> None:
    """Umlauts would be garbled, or all cells stand in one column, where decimals have a comma."""
    out = screened(german, tmp_path / "out.csv", wanted=Wanted(marked=True)).read_bytes()
    assert out.startswith(b"\xef\xbb\xbf")
    rows = list(csv.DictReader(io.StringIO(out.decode("utf-8-sig")), delimiter=";"))
    assert rows[0]["Verkäufer"] in SELLERS
    margins = [row["margin_percent"] for row in rows if row["margin_percent"]]
    assert any("," in each for each in margins)
    assert not any("." in each or each.startswith("'") for each in margins)


def test_a_spreadsheet_holds_no_formula_of_a_seller(tmp_path: Path) -> None:
    """A title would run as a formula on the desk of whoever gets the file. Source: OWASP, CSV Injection."""
    source = tmp_path / "in.jsonl"
    titles = ["=2+3", "+1", "#N/A", "plain", "a\x01b"]
    source.write_text("".join(json.dumps({"title": each, "claim.series": 13}) + "\n" for each in titles))
    sheet = load_workbook(screened(source, tmp_path / "out.xlsx"))["Listings"]
    cells = [sheet.cell(at, 4) for at in range(2, 7)]
    assert [(cell.value, cell.data_type) for cell in cells] == [
        ("=2+3", "s"), ("+1", "s"), ("#N/A", "s"), ("plain", "s"), ("a\ufffdb", "s"),
    ]  # fmt: skip
    assert cells[0].quotePrefix


def test_the_same_rows_give_the_same_spreadsheet(german: Path, tmp_path: Path) -> None:
    """A result could not be told from a changed one by its bytes."""
    first = screened(german, tmp_path / "a.xlsx", chunk_rows=9).read_bytes()
    assert first == screened(german, tmp_path / "b.xlsx").read_bytes()


def test_a_row_is_opened_as_a_report_and_as_a_case(
    packclaim: Callable[..., int], german: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """A second look at one row would mean cutting its text out of the table by hand."""
    screened(german, Path("out.jsonl"))
    row = next(each for each in rows_of(Path("out.jsonl")) if each["conclusion"] == "contradicts itself")
    number = str(row["row"])
    assert packclaim(str(german), "--row", number) == 0
    assert row["sentence"] in " ".join(capfd.readouterr().out.split())
    assert packclaim(str(german), "--row", number, "--out", "row.yaml") == 0
    case = parse_case(Path("row.yaml").read_text(encoding="utf-8"), "row.yaml").case
    assert judge(case, open_registry(REGISTRY)).answer.sentence == row["sentence"]
    assert packclaim(str(german), "--row", "81") == 2
    assert "the table has 80 rows" in capfd.readouterr().err


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--figures", "capcity"), "did you mean"), (("--only", "not as advertized"), "did you mean"),
        (("--summary", "s.pdf"), "ends in '.pdf'"), (("--column", "Text"), "is no pair"),
        (("--sheet-name", "x"), "has no sheets"), (("--encoding", "klingon"), "there is no 'klingon'"),
    ],
)  # fmt: skip
def test_a_slip_in_an_option_is_told_before_anything_is_judged(
    options: tuple[str, ...], words: str, packclaim: Callable[..., int], german: Path,
    capfd: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """A night's run would end at its last step because of a letter."""
    assert packclaim(str(german), "--out", "out.csv", *options) == 2
    assert words in capfd.readouterr().err
    assert not Path("out.csv").exists()


def test_a_run_that_goes_on_with_another_way_of_reading_is_refused(
    german: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half of a result would be read by one mapping and half by another."""
    out = tmp_path / "out.csv"

    def stops(setup: Any, chunk: Any) -> Any:
        if chunk.number:
            raise KeyboardInterrupt
        return judging.judge(setup, chunk)

    with monkeypatch.context() as patched:
        patched.setattr("verifier.screening.workers.judge", stops)
        with pytest.raises(Unfinished):
            screened(german, out, chunk_rows=9)
    other = ColumnMap({"Kapazität": "-"})
    with pytest.raises(PlacedError, match="another way of reading"):
        screened(german, out, chunk_rows=9, resume=True, columns=other)


def _chunks(path: Path, **options: Any) -> list[Any]:
    with open_listings(Source(str(path), **options)) as listings:
        return list(listings.chunks())


def test_it_is_told_at_once_that_a_table_is_read(
    packclaim: Callable[..., int], german: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """For the seconds in which headings are made out nobody would know whether anything happens."""
    assert packclaim(str(german), "--out", "out.csv", "--progress", "--workers", "1") == 0
    lines = capfd.readouterr().err.splitlines()
    assert lines[0] == f"reading {german}"
    assert f"judging {german}" in lines


def test_work_that_takes_long_is_told_of_while_it_lasts() -> None:
    """Two minutes of silence read as a program that hangs."""
    now, told = 0.0, io.StringIO()
    progress = Progress(told, lambda: now)
    progress.begin("t.csv")
    now = 5.0
    progress.still()
    now = 11.0
    progress.still()
    progress.judged(100, 0.1)
    now = 22.0
    progress.still()
    assert told.getvalue().splitlines()[1:] == [
        "still at the first rows", "10 %, 100 rows, 9 a second, about 1 min 39 s left",
        "10 %, 100 rows, 5 a second, about 3 min 18 s left",
    ]  # fmt: skip


def test_numbers_of_figures_are_rounded_for_people_and_whole_for_machines(tmp_path: Path) -> None:
    """Ten digits of a bound would be mailed to a seller, or a program lose them. Rule: four digits tell enough."""
    table = "Text\n48V 14Ah 13S4P LYR 18650-35P\n"
    wanted = Wanted(figures=("capacity", "energy"))
    (tmp_path / "in.csv").write_text(table, encoding="utf-8")
    exact = rows_of(screened(tmp_path / "in.csv", tmp_path / "o.jsonl", wanted=wanted))[0]
    shown = screened(tmp_path / "in.csv", tmp_path / "o.csv", wanted=wanted).read_text(encoding="utf-8")
    row = next(csv.DictReader(io.StringIO(shown)))
    for part in ("capacity.margin_low_percent", "capacity.margin_high_percent", "capacity.supported_high"):
        assert float(row[part]) == float(f"{exact[part]:.4g}")
        assert len(row[part].strip("-0").replace(".", "")) <= 4
    assert any(
        len(f"{exact[name]}".strip("-0").replace(".", "")) > 4
        for name in row
        if name.startswith("capacity.ma")
    )


def test_the_first_line_of_progress_comes_at_once(german: Path, tmp_path: Path) -> None:
    """A user would look at nothing for as long as the whole run takes."""
    told = io.StringIO()
    run = Run(str(german), str(tmp_path / "out.csv"))
    screen_table(run, open_registry(REGISTRY), Limits(), Progress(told, lambda: 0.0))
    assert told.getvalue().splitlines()[0] == f"judging {german}"
    packed = [chunk.share or 0 for chunk in _chunks(german, chunk_rows=8)]
    assert len(packed) == 10
    assert max(packed) < 0.15, "what is read ahead is not yet judged"
    with open_listings(Source(str(german))) as listings:
        sizes = [chunk.rows for chunk in listings.chunks()]
    assert sizes == [80]
    big = tmp_path / "big.csv"
    big.write_text(semicolons(german_rows(700)), encoding="utf-8", newline="")
    with open_listings(Source(str(big))) as listings:
        chunks = list(listings.chunks())
    assert [chunk.rows for chunk in chunks] == [100, 600], "few rows first, so that an estimate comes soon"
    assert sum(chunk.share or 0 for chunk in chunks) == pytest.approx(1, abs=0.02)


def test_a_terminal_obeys_nothing_that_a_seller_wrote(tmp_path: Path) -> None:
    """A title would colour, clear or turn round the terminal of whoever looks at the results. (ECMA-48, UAX 9.)"""
    (tmp_path / "in.csv").write_text(
        'Title,Text\n"a\x1b[31mred\x9b2J\u202etxt, 👩\u200d🔧","48V 20Ah 13S4P"\n', encoding="utf-8"
    )
    shown = screened(tmp_path / "in.csv", tmp_path / "o.csv").read_text(encoding="utf-8")
    assert not {"\x1b", "\x9b", "\u202e"} & {*shown}
    assert "[31mred" in shown
    assert "👩\u200d🔧" in shown
