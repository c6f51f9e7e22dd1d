"""What leaves the program for spreadsheets, forums and other programs: safe, whole and the same each time."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree
from zipfile import ZipFile

import pytest
import yaml
from hypothesis import example, given
from hypothesis import strategies as st

from registry.errors import PlacedError
from registry.spreadsheet import safe
from tests.program import status as run
from tests.verifier.report.conftest import working_folder
from verifier.case_report import CAUTIONS, Report
from verifier.figures import FIGURES
from verifier.report import as_csv, as_json, as_xlsx
from verifier.words import observation_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

# Beginnings that spreadsheets take for a formula: OWASP, "CSV Injection".
FORMULAS = [
    "=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", " =1", "＝1+1", "＋1", "－1", "＠SUM",
    '=HYPERLINK("http://x","y")', "=cmd|'/C calc'!A0",
]  # fmt: skip
# SpreadsheetML, ECMA-376 part 1: the namespace of a worksheet, where <f> is a formula.
SHEET = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


@pytest.fixture(scope="module")
def reports(bench: Bench) -> list[Report]:
    """Packs with every kind of answer: passes, refusals, open ends, on the seller's word."""
    listed = {"series": 13, "parallel": 4, "cell_marking": bench.MARKING, "capacity_ah": 10}
    return [
        bench.judge(bench.seen_through()),
        bench.judge(bench.seen_through(**{"case.title": "Too much", "claim.capacity_ah": 99})),
        bench.judge({"case": {"title": "Listed"}, "claim": listed}),
        bench.judge({"claim": {"continuous_current_a": 20}, "observed": {"series": 13}}),
    ]


def csv_rows(reports: list[Report]) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(as_csv.render(reports))))


@pytest.mark.parametrize("text", FORMULAS)
def test_no_text_of_a_csv_is_taken_for_a_formula(text: str) -> None:
    """Opening a summary in a spreadsheet would run what a seller wrote into a title."""
    assert safe(text).startswith("'")


@pytest.mark.parametrize("text", ["Pier Nine Packs", "10S4P", "a-b", "36 V", "", "'quoted"])
def test_a_harmless_text_of_a_csv_stays_as_it_is(text: str) -> None:
    """Every title would come out with a mark before it."""
    assert safe(text) == text


@given(title=st.text(min_size=1, max_size=40))
@example(title="=1+1")
@example(title="\ufeff=1")
def test_no_cell_of_a_csv_begins_like_a_formula(bench: Bench, title: str) -> None:
    """A text that comes from elsewhere than the title would slip past."""
    try:
        report = bench.judge({"case": {"title": title}, "claim": {"capacity_ah": 10}})
    except PlacedError:
        return
    numbers = {"claimed", "supported_low", "supported_high", "margin_low_percent", "margin_high_percent"}
    for row in csv_rows([report]):
        for column, value in row.items():
            if column not in numbers:
                assert not value.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))


def test_a_negative_margin_of_a_csv_stays_a_number(reports: list[Report]) -> None:
    """A spreadsheet could not sort or colour by margin."""
    margins = [float(each["margin_low_percent"]) for each in csv_rows(reports) if each["margin_low_percent"]]
    assert min(margins) < 0


def test_a_csv_says_what_rests_on_the_sellers_word_and_what_to_look_at(reports: list[Report]) -> None:
    """A pass on a seller's word would look like any other pass in a summary of a hundred packs."""
    rows = csv_rows(reports)
    assert len(rows) == len(reports) * len(FIGURES)
    capacity = next(each for each in rows if each["case"] == "Listed" and each["figure"] == "capacity")
    assert capacity["verdict"] == "holds on the seller's word"
    assert "claim.cell_marking" in capacity["sellers_word"]
    steps = {each["figure"]: each["next_step"] for each in rows if each["case"] == "untitled case"}
    (report,) = [each for each in reports if each.title == "untitled case"]
    for figure, told in steps.items():
        settling = [each for each in report.next_steps if figure in each.settles]
        assert told == (f"{observation_text(settling[0].observe)} ({settling[0].effort})" if settling else "")
    settled = [each for each in rows if each["case"] == "Quay Street pack"]
    assert {each["next_step"] for each in settled} == {""}


def sheet_values(data: bytes, name: str) -> list[list[Any]]:
    """Return the cells of one sheet, as pandas reads them."""
    import pandas as pd

    table = pd.read_excel(io.BytesIO(data), sheet_name=name, header=None, keep_default_na=False)
    return [list(row) for row in table.itertuples(index=False)]


def test_the_spreadsheet_holds_what_the_csv_holds(reports: list[Report]) -> None:
    """Two exports of the same packs would differ."""
    header, *rows = sheet_values(as_xlsx.render(reports), "Figures")
    plain = csv_rows(reports)
    assert len(header) == len(as_csv.COLUMNS)
    assert len(rows) == len(plain)
    for row, expected in zip(rows, plain, strict=True):
        for value, text in zip(row, expected.values(), strict=True):
            if isinstance(value, (int, float)):
                assert float(text) == pytest.approx(value)
            else:
                assert value == text.removeprefix("'")


def test_the_spreadsheet_has_a_row_for_every_pack(reports: list[Report]) -> None:
    """A pack of a folder would be missing from its summary, or its answer be another one."""
    header, *rows = sheet_values(as_xlsx.render(reports), "Packs")
    assert header == list(as_xlsx.PACK_COLUMNS)
    for row, report in zip(rows, reports, strict=True):
        told = dict(zip(header, row, strict=True))
        assert told["case"] == report.title
        assert told["answer"] == report.answer.sentence
        assert told["conclusion"] == str(report.answer.conclusion)
        assert told["rely on, low A"] == pytest.approx(report.rely_on.continuous_current_a.low)
        assert told["on the seller's word"] == "; ".join(report.rely_on.on_sellers_word)
        assert told["cannot be true"] == "; ".join(each.text for each in report.answer.cannot_be_true)
    cautions = [
        text for what, text in sheet_values(as_xlsx.render(reports), "How to read") if what == "caution"
    ]
    assert cautions == list(CAUTIONS)


@pytest.mark.parametrize("title", [*FORMULAS, "#N/A", "<b>&amp;</b>", "x" * 2000, "TRUE", "12345"])
def test_no_text_of_a_spreadsheet_is_a_formula(bench: Bench, title: str) -> None:
    """Opening the summary would run what a seller wrote. Rule: ECMA-376, a formula is an <f> element."""
    report = bench.judge(bench.seen_through(**{"case.title": title}))
    data = as_xlsx.render([report])
    written: list[str] = []
    with ZipFile(io.BytesIO(data)) as parts:
        sheets = [name for name in parts.namelist() if name.startswith("xl/worksheets/")]
        assert len(sheets) == 3
        for name in sheets:
            sheet = ElementTree.fromstring(parts.read(name))  # noqa: S314
            cells = list(sheet.iter(f"{SHEET}c"))
            written += sheet.itertext()
            assert cells
            assert not [cell for cell in cells if cell.find(f"{SHEET}f") is not None]
            assert {cell.get("t") for cell in cells} <= {"inlineStr", "n"}
    assert report.title in written


@pytest.mark.parametrize("title", ["a\ufffeb", "a\uffffb", "\U0001f50b pack", "\u202egnp", "容量"])
def test_a_spreadsheet_of_any_title_can_be_read(bench: Bench, title: str) -> None:
    """One character that XML does not know would make the whole file unreadable. Rule: XML 1.0, 2.2 Char."""
    report = bench.judge({"case": {"title": title}})
    (_, row) = sheet_values(as_xlsx.render([report]), "Packs")
    assert row[0] == re.sub("[\ufffe\uffff]", "\ufffd", report.title)


def test_a_spreadsheet_of_the_same_reports_is_the_same_file(
    reports: list[Report], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A summary under version control would change with every run."""
    first = as_xlsx.render(reports)
    monkeypatch.setattr("time.time", lambda: 2_000_000_000.0)
    monkeypatch.setattr("time.localtime", lambda *_: (2033, 5, 18, 3, 33, 20, 2, 138, 0))
    assert as_xlsx.render(reports) == first
    with ZipFile(io.BytesIO(first)) as parts:
        assert {each.date_time for each in parts.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert set(re.findall(rb"\d{4}-\d\d-\d\dT[\d:]+Z", parts.read("docProps/core.xml"))) == {
            b"1980-01-01T00:00:00Z"
        }


@pytest.fixture
def folder(bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of two cases and a registry, as the working folder."""
    (tmp_path / "cases").mkdir()
    for name in ("b-loaner", "a-cart"):
        case = bench.seen_through(**{"case.title": name})
        (tmp_path / "cases" / f"{name}.yaml").write_text(yaml.safe_dump(case), encoding="utf-8")
    return working_folder(bench, tmp_path, monkeypatch)


def test_a_folder_becomes_one_summary_in_order_of_name(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A summary of a folder would miss a pack, or list them in another order each time."""
    assert run(monkeypatch, "check", "cases", "--format", "csv", "--out", "summary.csv") == 0
    rows = list(csv.DictReader(io.StringIO((folder / "summary.csv").read_text(encoding="utf-8"))))
    assert [each["case"] for each in rows] == ["a-cart"] * len(FIGURES) + ["b-loaner"] * len(FIGURES)
    assert run(monkeypatch, "check", "cases", "--format", "xlsx", "--out", "summary.xlsx") == 0
    packs = sheet_values((folder / "summary.xlsx").read_bytes(), "Packs")
    assert [row[0] for row in packs] == ["case", "a-cart", "b-loaner"]


def test_a_spreadsheet_is_not_poured_into_a_terminal(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Bytes of a zip file would garble the user's terminal."""
    assert run(monkeypatch, "check", "cases", "--format", "xlsx") == 2
    done = capsys.readouterr()
    assert done.out == ""
    assert "--out summary.xlsx" in done.err


def test_a_report_that_fails_its_schema_is_status_two_and_leaves_no_file(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Bad JSON would be written with status 0, or half a file be left behind."""
    good = as_json.report_data
    monkeypatch.setattr(as_json, "report_data", lambda report: {**good(report), "findings": None})
    assert run(monkeypatch, "check", "cases", "--format", "json", "--out", "reports.json") == 2
    assert "does not fit its schema" in capsys.readouterr().err
    assert not (folder / "reports.json").exists()


def test_the_price_is_kept_in_the_json(folder: Path, bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """A saved report could not be compared by price again."""
    case = bench.seen_through(**{"claim.price": [199, 249], "claim.currency": "eur"})
    (folder / "priced.yaml").write_text(yaml.safe_dump(case), encoding="utf-8")
    assert run(monkeypatch, "check", "priced.yaml", "--format", "json", "--out", "priced.json") == 0
    claim = json.loads((folder / "priced.json").read_text(encoding="utf-8"))["inputs"]["case"]["claim"]
    assert claim["price"] == [199, 249]
    assert claim["currency"] == "EUR"


@pytest.mark.parametrize("currency", ["EURO", "E", "12C", "€", ""])
def test_a_currency_is_three_letters(bench: Bench, currency: str) -> None:
    """Prices would be ranked across spellings of one currency. Rule: ISO 4217, alphabetic code."""
    with pytest.raises(PlacedError):
        bench.case({"claim": {"price": 100, "currency": currency}})
