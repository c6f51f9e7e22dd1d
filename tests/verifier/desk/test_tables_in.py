"""Tables of shops as they come: files, headings and values."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from registry.errors import PlacedError
from tests.verifier.desk.conftest import answers, rows_of, screened
from verifier.screening.heading_names import unit_apart
from verifier.screening.headings import ColumnMap
from verifier.screening.output import Wanted, figures_named
from verifier.screening.tables import Source, open_listings
from verifier.screening.told_columns import check_told
from verifier.screening.values import prepared

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


@pytest.mark.parametrize(
    "above",
    ["Listino batterie;;\n", "Price list, November 2026\n", "\nStand 3/2026\n\nalle Angaben ohne Gewähr\n"],
)
def test_what_stands_above_the_headings_is_no_heading(
    above: str, tmp_path: Path, packclaim: Callable[..., int], capsys: pytest.CaptureFixture[str]
) -> None:
    """A title above the headings would leave a table unread, its headings a row. Rule: as in a spreadsheet."""
    table = above + 'Verkäufer;Kapazität (Ah);Beschreibung\nMühle;10;"36V\nneu"\nSöhne;12;\n'
    found = answers(table, tmp_path)
    assert [(row["row"], row["seller"]) for row in found] == [(1, "Mühle"), (2, "Söhne")]
    packclaim("in.csv", "--out", "again.csv")
    assert "the headings stand below '" in capsys.readouterr().err


@pytest.mark.parametrize(
    "table",
    ["text\nNice pack, new\nGood pack, used\n", "Verkäufer\nMühle\n", "A;Kapazität (Ah)\n1;2;3\n1;2\n"],
)
def test_a_table_that_begins_with_its_headings_does(table: str, tmp_path: Path) -> None:
    """A row would be taken for the headings, and what it claims not be judged."""
    from io import BytesIO

    from verifier.screening.csv_head import begin
    from verifier.screening.rows import Lines

    lines = Lines(BytesIO(table.encode()), "")
    assert begin(lines, None)[1] == []
    assert lines.next() == table.splitlines(keepends=True)[0].encode()


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
        ("Spanning vol", "claim.full_voltage_v", None), ("V vol", "claim.full_voltage_v", "V"),
        ("Tensão carregada (V)", "claim.full_voltage_v", "V"), ("Spannung (voll)", "claim.full_voltage_v", None),
        ("満充電電圧", "claim.full_voltage_v", None), ("Kop", "title", None), ("Vraagprijs", "claim.price", None),
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
    table = "Sellr;Artikeltxt;Volts nominal?\nA;" + "lorem " * 20 + ";48\n"
    (tmp_path / "in.csv").write_text(table, encoding="utf-8")
    with pytest.raises(PlacedError) as refused:
        screened(tmp_path / "in.csv", tmp_path / "out.csv")
    for each in (
        "'Sellr'",
        '"Sellr=seller"',
        '"Artikeltxt=text"',
        '"Volts nominal?=claim.nominal_voltage_v"',
    ):
        assert each in str(refused.value)


@pytest.mark.parametrize(
    ("field", "unit", "raw", "expected"),
    [
        ("claim.capacity_ah", "mAh", [10400, "10400", "10,4 Ah", "k.A."], ["10400mAh", "10400mAh", "10,4 Ah", None]),
        ("claim.price", None, ["€ 219,00", "1.299,- €", "US$ 99.50", "$5"], ["219,00", "1.299", "99.50", "5"]),
        ("claim.series", None, ["13S", "13", 13.0], [13, "13", 13.0]),
        ("claim.chemistry", None, ["LiFePO4", "Li-Ion", "NMC", "Mystery"], ["LFP", None, "NMC", "Mystery"]),
        ("claim.chemistry", None, ["iões de lítio", "ioni di litio", "litowo-jonowy", "リチウムイオン"], [None] * 4),
        ("claim.chemistry", None, ["Li-ion (NMC)", "ijzerfosfaat", "Natrium-Ionen"], ["NMC", "LFP", "Natrium-Ionen"]),
        ("claim.mass_kg", None, ["niet gewogen", "por pesar", "zehn kg", "3 kg"], [None, None, "zehn kg", "3 kg"]),
        ("claim.bms_current_a", None, ["ja", "sim", "on request", "20 A"], [None, None, None, "20 A"]),
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


def test_a_comma_is_a_decimal_sign_where_it_is_one_throughout(tmp_path: Path) -> None:
    """ "1,176 kWh" beside "29,4 V" would be left unread. Rule: one reading where the table allows one."""
    rows = "36,5;1,176 kWh\n29,4;0,5 kWh\n48,1;1,2 kWh\n"
    wanted = Wanted(figures=("energy",))
    found = answers(f"Spannung;Energie (Wh)\n{rows}", tmp_path, wanted=wanted)
    assert found[0]["energy.claimed"] == 1176
    mixed = answers(f"Spannung;Energie (Wh)\n{rows}36.5;1 kWh\n", tmp_path, wanted=wanted)
    assert "1,176 kWh" in mixed[0]["not_read"]


@pytest.mark.parametrize(
    "nothing",
    ["n.d.", "N.D.", "n/s", "k. A.", "non renseigné", "sin especificar", "non dichiarato", "niet bekend", "brak danych",
     "não informado", "暂无", "不明"],
)  # fmt: skip
def test_what_is_not_stated_is_no_figure(nothing: str, tmp_path: Path) -> None:
    """A seller who states nothing would be told that a figure cannot be read. Common practice, no source."""
    found = answers(f"Capacity (Ah);Current\n10;{nothing}\n", tmp_path, columns=ColumnMap(_TOLD_CURRENT))
    assert "not_read" not in found[0]


_TOLD_CURRENT = {"Current": "claim.continuous_current_a"}


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("V nom.", "V"),
        ("A cont.", "A"),
        ("Ah nominali", "Ah"),
        ("A cell", None),
        ("Art. Nr.", None),
        ("BMS (A cont.)", "A"),
        ("Strom [A, dauernd]", "A"),
        ("Batteria (48 V)", None),
    ],
)
def test_a_unit_may_have_words_beside_it(heading: str, unit: str | None) -> None:
    """The bare numbers below "V nom." would be of no unit, and not be judged. Common practice, no source."""
    assert unit_apart(heading)[1] == unit


def test_a_chemistry_in_words_is_judged(tmp_path: Path) -> None:
    """A column that says "Lithium-Eisenphosphat" would be carried along, and a false voltage not seen."""
    lines = '{"technik": {"Zellchemie": "Lithium-Eisenphosphat", "Volt": "36 V"}}\n'
    (tmp_path / "in.jsonl").write_text(lines)
    with open_listings(Source(str(tmp_path / "in.jsonl"))) as listings:
        assert "technik.Zellchemie" in [use.heading for use in listings.uses]


@pytest.mark.parametrize(
    ("heading", "role"),
    [
        ("Rivenditore", "seller"),
        ("Denominazione", "title"),
        ("Revendeur", "seller"),
        ("Denominación", "title"),
    ],
)
def test_who_sells_what_is_known_in_more_languages(heading: str, role: str) -> None:
    """A summary would name no seller, and show scraps of notes for titles. Common practice, no source."""
    assert [use.target for use in ColumnMap().uses([heading])] == [role]


def test_a_row_without_its_last_empty_cell_is_read(tmp_path: Path) -> None:
    """Half of an export that leaves out what is empty at the end would be unreadable. RFC 4180 asks for as many."""
    one, two, three = answers(
        "Text,Shop,Note\n48V 14Ah 13S4P,A\n48V 14Ah 13S4P,B,x\n48V 14Ah 13S4P\n", tmp_path
    )
    assert (one["seller"], one["conclusion"]) == ("A", two["conclusion"])
    assert three["conclusion"] == "unreadable", "two that are missing may be any two"


def test_of_two_headings_for_a_title_the_one_that_names_goods_is_taken() -> None:
    """Otherwise "Artikel" with the shop's numbers is the title, and what "Bezeichnung" states is lost.

    Rule: values decide between two headings of one meaning; where neither or both name goods, the first stays.
    """
    numbers, titles = ["A0", "A1", "A2", "A3"], ["Akku 48V 30Ah", *["Akku 36V 10Ah"] * 3]

    def title(first: list[str], second: list[str]) -> list[str]:
        uses = ColumnMap({}).uses(["Artikel", "Bezeichnung"], {"Artikel": first, "Bezeichnung": second})
        return [use.heading for use in uses if use.target == "title"]

    assert title(numbers, titles) == ["Bezeichnung"]
    assert title(titles, numbers) == ["Artikel"]
    assert title(numbers, numbers) == ["Artikel"]
    told = ColumnMap({"Artikel": "title"}).uses(
        ["Artikel", "Bezeichnung"], {"Artikel": numbers, "Bezeichnung": titles}
    )
    assert [use.heading for use in told if use.target == "title"] == ["Artikel"]
