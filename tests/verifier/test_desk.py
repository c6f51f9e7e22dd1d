"""A shop's own table as it comes: read in one line, answered row by row as a check answers, ranked, mailed."""

from __future__ import annotations

import csv
import io
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook

from registry.errors import PlacedError
from registry.opening import open_registry
from tests.verifier.desk_tables import GERMAN, SELLERS, german_rows, semicolons
from verifier.case.limits import Limits
from verifier.case.reading import parse_case
from verifier.cli import main
from verifier.judge import judge
from verifier.screening import judging, output
from verifier.screening.headings import ColumnMap, check_told
from verifier.screening.one_row import row_cases
from verifier.screening.output import Wanted, conclusions_named, figures_named, file_names
from verifier.screening.progress import Progress
from verifier.screening.row_answers import PROOFS
from verifier.screening.running import Run, Unfinished, screen_table
from verifier.screening.tables import Source, open_listings
from verifier.screening.values import prepared

ROOT = Path(__file__).parents[2]
REGISTRY = ROOT / "samples" / "registry.jsonl"


def screened(source: Path, out: Path, **options: Any) -> Path:
    """Screen a table by the registry of the samples."""
    run = Run(str(source), str(out), **options)
    screen_table(run, open_registry(REGISTRY), Limits(), Progress(None))
    return out


def rows_of(path: Path) -> list[dict[str, Any]]:
    """Return the rows of a result in JSON Lines."""
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def answers(text: str | bytes, folder: Path, name: str = "in.csv", **options: Any) -> list[dict[str, Any]]:
    """Return the answers of a table that is written as it stands."""
    data = text.encode() if isinstance(text, str) else text
    (folder / name).write_bytes(data)
    return rows_of(screened(folder / name, folder / f"{name}.out.jsonl", **options))


# -- the whole way ---------------------------------------------------------------------------------------------


@pytest.fixture
def packclaim(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[..., int]:
    """Run the program's main function in a folder of its own."""
    monkeypatch.chdir(tmp_path)

    def run(*arguments: str) -> int:
        monkeypatch.setattr(sys, "argv", ["packclaim", "screen", *arguments, "--registry", str(REGISTRY)])
        with pytest.raises(SystemExit) as ended:
            main()
        assert isinstance(ended.value.code, int)
        return ended.value.code

    return run


def test_five_thousand_rows_under_german_headings_go_in_with_one_line(packclaim: Callable[..., int]) -> None:
    """A desk would have to rename columns, save anew and explain the result before anybody could use it."""
    table = german_rows(5000)
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
    assert heads[:9] == (
        "row", "pack", "seller", "title", "conclusion", "severity", "sentence", "alarm", "contradiction",
    )  # fmt: skip
    assert heads[-len(GERMAN) :] == GERMAN, "the shop's own columns go along"
    found: list[dict[Any, Any]] = [dict(zip(heads, row, strict=True)) for row in rows]
    assert sorted(row["row"] for row in found) == list(range(1, 5001))
    assert [row["severity"] for row in found] == sorted(row["severity"] for row in found)
    assert (sheet.freeze_panes, sheet.auto_filter.ref[:3]) == ("E2", "A1:")
    assert len({sheet.cell(at, 5).fill.fgColor.rgb for at in (2, 5001)}) == 2
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
    source.write_text(semicolons(german_rows(60)), encoding="utf-8", newline="")
    found = rows_of(screened(source, tmp_path / "out.jsonl", language="de"))
    registry = open_registry(REGISTRY)
    kinds = set()
    for row in found:
        (draft,) = row_cases(Source(str(source)), row["row"]).drafts
        report = judge(parse_case(draft, "row").case, registry)
        if "not_read" not in row:
            assert (row["conclusion"], row["sentence"]) == (report.answer.conclusion, report.answer.sentence)
            said = [each.text for each in report.answer.cannot_be_true]
            assert row.get("contradiction", "") == " | ".join(said)
            kinds.add(row["conclusion"])
    assert len(kinds) >= 2
    assert any(row["sentence"].count("possible cells") for row in found), "and so it does of unknown cells"
    asked = [row["questions"] for row in found if "questions" in row]
    assert len(asked) > len(found) / 2
    assert all(each.startswith("1. ") for each in asked)


@pytest.mark.parametrize("name", ["harbour-market.csv", "harbour-market.jsonl", "dockside-angebote.csv"])
def test_the_samples_are_answered_as_a_check_answers(name: str, tmp_path: Path) -> None:
    """The first table that a user tries would be judged by other rules than a single listing."""
    source = ROOT / "samples" / "screening" / name
    registry = open_registry(REGISTRY)
    for row in rows_of(screened(source, tmp_path / "out.jsonl")):
        if row["conclusion"] != "unreadable" and "not_read" not in row:
            drafts = row_cases(Source(str(source)), row["row"]).drafts
            pack = int(row.get("pack", "1").split(" ")[0])
            report = judge(parse_case(drafts[pack - 1], "row").case, registry)
            assert (row["conclusion"], row["sentence"]) == (report.answer.conclusion, report.answer.sentence)


# -- files as they come ----------------------------------------------------------------------------------------

SMALL = [
    ["Verkäufer", "Beschreibung", "Kapazität", "Zellen in Reihe"],
    ["Mühle", "36V 10Ah Akku; schön", "10,4 Ah", "10S"],
    ["Söhne", 'mit "Anführung"', "2600 mAh", "13"],
]


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252", "gb18030"])
def test_any_usual_separator_and_encoding_is_read(separator: str, encoding: str, tmp_path: Path) -> None:
    """A table out of a French or Chinese spreadsheet would be refused, or read as one garbled column."""
    written = io.StringIO()
    rows = [["卖家", *SMALL[0][1:]], ["港口", *SMALL[1][1:]], *SMALL[2:]] if encoding == "gb18030" else SMALL
    csv.writer(written, delimiter=separator).writerows(rows)
    found = answers(written.getvalue().encode(encoding), tmp_path)
    assert [row["seller"] for row in found] == [row[0] for row in rows[1:]]
    assert [row["Beschreibung"] for row in found] == [row[1] for row in rows[1:]]
    assert "not_read" not in found[0]


def test_one_broken_byte_leaves_a_table_what_it_is(tmp_path: Path) -> None:
    """One bad byte among UTF-8 would turn every umlaut of the table into two letters."""
    rows = "".join(f"Mühle {at};10\n" for at in range(30))
    table = ("seller;claim.series\n" + rows).encode() + b"M\xfchle;10\n"
    found = answers(table, tmp_path)
    assert found[0]["seller"] == "Mühle 0"
    assert found[-1]["conclusion"] == "unreadable"


def test_a_line_that_names_the_separator_is_no_row(tmp_path: Path) -> None:
    """What spreadsheets write before the headings would be taken for them."""
    found = answers("sep=;\r\nVerkäufer;Kapazität (Ah)\r\nA;10\r\n", tmp_path)
    assert [(row["row"], row["seller"]) for row in found] == [(1, "A")]


def test_a_sheet_of_a_spreadsheet_is_read(tmp_path: Path) -> None:
    """A desk that keeps its listings in a workbook would have to save each sheet as text. Writer: openpyxl."""
    from datetime import datetime

    book = Workbook()
    book.worksheets[0].title = "Notizen"
    sheet = book.create_sheet("Angebote")
    sheet.append(["Stand März"])
    sheet.append(["Verkäufer", "Kapazität (mAh)", "In Reihe", "Zellen in Reihe", "Datum", "Zelle"])
    sheet.append(["Mühle", 10400, None, 10, datetime(2026, 3, 1), 18650])
    sheet.append([None] * 6)
    sheet.append(["Söhne", "=1+1", "#N/A", 13.0, None, "LYR 18650-35P"])
    book.save(tmp_path / "in.xlsx")
    found = rows_of(
        screened(tmp_path / "in.xlsx", tmp_path / "out.jsonl", sheet_name="Angebote",
                 wanted=Wanted(figures=("capacity", "configuration")))
    )  # fmt: skip
    assert [(row["row"], row["seller"]) for row in found] == [(1, "Mühle"), (2, "Söhne")]
    assert found[0]["capacity.claimed"] == 10.4
    assert found[0]["Datum"] == "2026-03-01"
    assert "In Reihe" not in found[1], "an error in a cell states nothing"
    with pytest.raises(PlacedError, match="there is no sheet 'Angebot'; choose one of: Notizen, Angebote"):
        screened(tmp_path / "in.xlsx", tmp_path / "o.jsonl", sheet_name="Angebot")


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 broken", b"a;b\n1;2\n"])
def test_a_file_that_is_no_spreadsheet_is_refused_in_a_line(content: bytes, tmp_path: Path) -> None:
    """A user would see a traceback of a library."""
    (tmp_path / "in.xlsx").write_bytes(content)
    with pytest.raises(PlacedError, match=r"no \.xlsx file"):
        screened(tmp_path / "in.xlsx", tmp_path / "out.csv")


def test_a_spreadsheet_that_unpacks_without_end_is_refused(tmp_path: Path) -> None:
    """A file of some kB would fill the memory. Rule: refused before it is unpacked."""
    from zipfile import ZIP_DEFLATED, ZipFile

    with ZipFile(tmp_path / "in.xlsx", "w", ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * 300_000_000)
    with pytest.raises(PlacedError, match="unpacks to 300 MB"):
        screened(tmp_path / "in.xlsx", tmp_path / "out.csv")


# -- headings and values ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("heading", "target", "unit"),
    [
        ("Text", "text", None), ("SELLER", "seller", None), ("Verkäufer", "seller", None),
        ("Verkaeufer", "seller", None), ("Kapazität (Ah)", "claim.capacity_ah", "Ah"),
        ("Kapazität in mAh", "claim.capacity_ah", "mAh"), ("mAh", "claim.capacity_ah", "mAh"),
        ("Kapazität [Wh]", "claim.energy_wh", "Wh"), ("Capacité", "claim.capacity_ah", None),
        ("Tension (V)", "claim.nominal_voltage_v", "V"), ("Poids net g", "claim.mass_kg", "g"),
        ("Dauerstrom", "claim.continuous_current_a", None), ("max. Strom A", "claim.max_current_a", "A"),
        ("capacity_ah", "claim.capacity_ah", "Ah"), ("Claim.Capacity_Ah", "claim.capacity_ah", None),
        ("Ladezeit in h", "claim.charge_hours", "h"), ("容量", "claim.capacity_ah", None),
    ],
)  # fmt: skip
def test_headings_are_known_by_name(heading: str, target: str, unit: str | None) -> None:
    """A column would silently not be judged, or in another unit. Common practice, no source."""
    (use,) = ColumnMap().uses([heading])
    assert (use.target, use.unit) == (target, unit)


@pytest.mark.parametrize("heading", ["Strom", "Current (A)", "Spannung (Ah)", "Farbe", "Artikelnr."])
def test_a_heading_that_leaves_open_what_it_is_is_not_guessed(heading: str) -> None:
    """A trip or peak current would be judged as a continuous one. Rule: a missing fact is never filled in."""
    assert ColumnMap().uses([heading]) == []


def test_what_resembles_a_field_is_offered_and_never_taken(tmp_path: Path) -> None:
    """A user would be told that nothing is there to judge, and not what to write."""
    table = "Sellr;Artikeltxt;Volts nominal?;Dings\nA;" + "lorem " * 20 + ";48V;10Ah\n"
    (tmp_path / "in.csv").write_text(table, encoding="utf-8")
    with pytest.raises(PlacedError) as refused:
        screened(tmp_path / "in.csv", tmp_path / "out.csv")
    for each in ("'Sellr'", '"Sellr=seller"', '"Artikeltxt=text"', '"Dings=claim.capacity_ah"'):
        assert each in str(refused.value)


@pytest.mark.parametrize(
    ("field", "unit", "raw", "expected"),
    [
        ("claim.capacity_ah", "mAh", [10400, "10400", "10,4 Ah", "k.A."], ["10400mAh", "10400mAh", "10,4 Ah", None]),
        ("claim.price", None, ["€ 219,00", "1.299,- €", "US$ 99.50", "$5"], ["219,00", "1.299", "99.50", "5"]),
        ("claim.series", None, ["13S", "13", 13.0], [13, "13", 13.0]),
        ("claim.chemistry", None, ["LiFePO4", "Li-Ion", "NMC", "Mystery"], ["LFP", None, "NMC", "Mystery"]),
        ("claim.certificates", None, ["CE, UN38.3"], ["CE; UN38.3"]),
        ("claim.cell_marking", None, ["LYR 18650-35P", 52, "18650"], ["LYR 18650-35P", None, None]),
    ],
)  # fmt: skip
def test_values_of_a_shop_become_values_of_a_case(
    field: str, unit: str | None, raw: list[Any], expected: list[Any]
) -> None:
    """A price with its sign, or a number in the heading's unit, would be unreadable or be another number."""
    assert prepared(field, unit, raw)[field] == expected


def test_the_currency_is_taken_from_the_price_where_it_is_one(tmp_path: Path) -> None:
    """Prices in dollars of three countries would be compared as one."""
    found = prepared("claim.price", None, ["€ 1", "£2", "$3"])
    assert found["claim.currency"] == ["EUR", "GBP", None]


def test_a_value_that_cannot_be_read_spoils_its_field_and_is_no_pass(tmp_path: Path) -> None:
    """One odd cell would take the row out of the result, or read as if nothing had been claimed."""
    table = (
        "claim.capacity_ah,claim.nominal_voltage_v,observed.series,observed.parallel,observed.cell.marking\n"
        "10,48V,13,4,LYR 18650-35P\n"
        "ask me,48V,13,4,LYR 18650-35P\n"
        "ask me,,13,4,LYR 18650-35P\n"
    )
    sound, spoilt, only = answers(table, tmp_path)
    assert sound["conclusion"].startswith("as advertised")
    for row in (spoilt, only):
        assert row["conclusion"] == "not settled"
        assert "'ask me'" in row["not_read"]
        assert "capacity" in row["sentence"]


def test_several_columns_of_text_are_read_as_one_listing(tmp_path: Path) -> None:
    """What a shop says in its bullet points would not be judged."""
    table = 'Title;Description;Bullet points\n48V battery;"20Ah; good";30A continuous\n'
    (row,) = answers(table, tmp_path, wanted=Wanted(figures=figures_named("all")))
    assert row["capacity.claimed"] == 20
    assert row["continuous_current.claimed"] == 30
    assert row["nominal_voltage.claimed"] == 48


def test_a_mapping_is_written_and_read_again(packclaim: Callable[..., int]) -> None:
    """The desk would have to say every week anew what its columns are."""
    Path("in.csv").write_text("Dings;Blabla;Händler\n10,4;36V Akku;A\n", encoding="utf-8")
    told = ("--column", "Dings=capacity_ah in Ah", "--column", "Blabla=text")
    assert packclaim("in.csv", "--out", "a.jsonl", *told, "--write-columns", "shop.yaml") == 0
    assert packclaim("in.csv", "--out", "b.jsonl", "--columns-from", "shop.yaml") == 0
    assert Path("a.jsonl").read_bytes() == Path("b.jsonl").read_bytes()
    assert rows_of(Path("a.jsonl"))[0]["seller"] == "A"


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"A": "claim.capacty_ah"}, "did you mean"),
        ({"A": "claim.capacity_ah in kg"}, "no unit of claim.capacity_ah"),
        ({"A": "seller", "B": "seller"}, "two columns"),
    ],
)
def test_a_mapping_that_cannot_be_is_refused(told: dict[str, str], words: str) -> None:
    """A slip would leave a column unjudged after hours of work."""
    with pytest.raises(PlacedError, match=words):
        check_told(told)


def test_a_told_column_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """Last month's mapping would silently judge nothing of this month's table."""
    (tmp_path / "in.csv").write_text("Text\nAkku\n", encoding="utf-8")
    source = Source(str(tmp_path / "in.csv"), ColumnMap({"Txt": "text"}))
    with pytest.raises(PlacedError, match=r"'Txt'.*no column of the table.*'Text'"), open_listings(source):
        pass


# -- what comes out --------------------------------------------------------------------------------------------

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

    def rank(row: dict[str, Any]) -> tuple[float, ...]:
        margin = row.get("margin_percent", float("inf"))
        return row["severity"], order.index(row.get("proof")), margin, row["row"]

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
        patched.setattr("verifier.screening.crews.judge", stops)
        with pytest.raises(Unfinished):
            screened(german, out, chunk_rows=9)
    other = ColumnMap({"Kapazität": "-"})
    with pytest.raises(PlacedError, match="another way of reading"):
        screened(german, out, chunk_rows=9, resume=True, columns=other)


def test_the_first_line_of_progress_comes_at_once(german: Path, tmp_path: Path) -> None:
    """A user would look at nothing for as long as the whole run takes."""
    told = io.StringIO()
    run = Run(str(german), str(tmp_path / "out.csv"))
    screen_table(run, open_registry(REGISTRY), Limits(), Progress(told, lambda: 0.0))
    assert told.getvalue().splitlines()[0] == f"judging {german}"
    with open_listings(Source(str(german))) as listings:
        sizes = [chunk.rows for chunk in listings.chunks()]
    assert sizes == [80]
    big = tmp_path / "big.csv"
    big.write_text(semicolons(german_rows(700)), encoding="utf-8", newline="")
    with open_listings(Source(str(big))) as listings:
        chunks = list(listings.chunks())
    assert [chunk.rows for chunk in chunks] == [100, 200, 400], (
        "few rows first, so that an estimate comes soon"
    )
    assert sum(chunk.share or 0 for chunk in chunks) == pytest.approx(1, abs=0.02)
