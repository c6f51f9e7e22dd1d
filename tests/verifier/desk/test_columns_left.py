"""Which column gives what where two seem to give one thing, and that no column is left in silence."""

from __future__ import annotations

import json
import shlex
from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl import Workbook

from registry.opening import open_registry
from tests.verifier.desk.conftest import REGISTRY, answers, rows_of
from verifier.screening.headings import ColumnMap
from verifier.screening.output import Wanted
from verifier.screening.tables import Source, open_listings
from verifier.screening.told_columns import not_judged, option
from verifier.screening.values import cells_stated, prepared

CELLS = open_registry(REGISTRY)
TABLE = (
    "Händler;Titel;Kapazität;Zellen;Zelltyp;Regal;Preis in EUR\n"
    "A;48V Akku;14 Ah;52 x 18650;LYR 18650-35P;R1;199\n"
    "B;48V Akku;14 Ah;52 Stück 18650;LYR 18650-35P;R2;189,90\n"
    "C;48V Akku;14 Ah;52;k. A.;R3;-\n"
)


def opened(text: str, tmp_path: Path, **told: str) -> tuple[dict[str, str], list[str]]:
    """Return what each column is used as, and what is told of the others."""
    source = tmp_path / "in.csv"
    source.write_text(text, encoding="utf-8")
    with open_listings(Source(str(source), ColumnMap(told), cells=CELLS)) as listings:
        return {use.heading: use.target for use in listings.uses}, not_judged(listings.left)


def test_two_columns_of_cells_are_told_apart_by_their_values(tmp_path: Path) -> None:
    """The column that names the cells would be dropped, and every claim about them stay open."""
    uses, _ = opened(TABLE, tmp_path)
    assert (uses["Zellen"], uses["Zelltyp"]) == ("claim.cell_count", "claim.cell_marking")
    swapped = TABLE.replace("Zellen;Zelltyp", "Zelltyp;Zellen")
    uses, _ = opened(swapped, tmp_path)
    assert (uses["Zelltyp"], uses["Zellen"]) == ("claim.cell_count", "claim.cell_marking")


def test_told_of_one_the_other_is_not_dropped(tmp_path: Path) -> None:
    """What a user says of one column would silence another."""
    uses, _ = opened(TABLE, tmp_path, Zelltyp="claim.cell_marking")
    assert (uses["Zellen"], uses["Zelltyp"]) == ("claim.cell_count", "claim.cell_marking")


def test_no_column_is_left_in_silence(tmp_path: Path) -> None:
    """A figure of the table would not be judged, and nobody be told."""
    table = "Verkäufer;Kapazität;Akkukapazität;Regal;Bauteil\nA;14 Ah;15 Ah;R1;LYR 18650-35P\n"
    uses, told = opened(table, tmp_path)
    assert set(uses) == {"Verkäufer", "Kapazität", "Bauteil"}
    assert uses["Bauteil"] == "claim.cell_marking", "its values are names of registered cells"
    text = "\n".join(told)
    assert all(f"'{heading}'" in text for heading in ("Akkukapazität", "Regal"))
    assert '--column "Akkukapazität=claim.capacity_ah"' in text


@pytest.mark.parametrize("heading", ["Prąd chwil. [A]", "Strom [A]", "瞬間電流", "Ontladen (A)"])
def test_a_current_beside_the_continuous_one_is_not_taken_for_it(heading: str, tmp_path: Path) -> None:
    """An honest listing would be accused of two continuous currents, for a heading that only says "momentary"."""
    uses, told = opened(f"Spannung;Dauerstrom;{heading}\n48 V;20 A;30 A\n", tmp_path)
    assert heading not in uses
    assert any(heading in line for line in told)


def test_sentences_are_read_where_the_first_rows_state_nothing_in_them(tmp_path: Path) -> None:
    """A lie in row 300 would be carried along unread, for the first 200 only say that a pack is new."""
    quiet = "".join(f"48V Akku {at};14 Ah;Neu und gut geprüft.\n" for at in range(300))
    found = answers(f"Titel;Kapazität;Blabla\n{quiet}48V Akku;14 Ah;Er hat 20 Ah, ganz neu.\n", tmp_path)
    assert "20 Ah in its title or text" in found[-1]["contradiction"]


@pytest.mark.parametrize(("volts", "target"), [("42", "claim.full_voltage_v"), ("27,5", "line")])
def test_an_end_voltage_is_that_of_the_end_at_which_its_values_lie(
    volts: str, target: str, tmp_path: Path
) -> None:
    """A full pack's 42 V would be judged as the voltage at which a BMS switches off. Rule: above nominal is full."""
    uses, _ = opened(f"Spannung;Kapazität;Endspannung\n36 V;10 Ah;{volts} V\n36 V;10 Ah;\n", tmp_path)
    assert uses["Endspannung"] == target


TITLES = "36V Akku 10Ah Rahmen", "Ladegerät 42V", "Akku 48V 14Ah Gepäckträger", "E-Bike Batterie 36 V, neu"


@pytest.mark.parametrize(
    ("heading", "values", "other", "title"),
    [
        ("Anúncio", TITLES, "", True),
        # One of two texts is the title of the other.
        ("Annonce", TITLES, "Descriptif", True),
        # A kind of goods, what a heading names itself, and sentences are no titles.
        ("Gruppe", ("Akku", "Akku", "Ladegerät", "Akku"), "", False),
        ("Lader", ("Lader 42V 2A", "Lader 54,6V 2A", "Snellader 42 V", "Lader 42V 3A"), "", False),
        ("Blabla", tuple(f"Der {each} ist gut. Er kommt von mir, und zwar neu." for each in TITLES), "", False),
    ],
)  # fmt: skip
def test_titles_are_known_by_their_values(
    heading: str, values: tuple[str, ...], other: str, title: bool, tmp_path: Path
) -> None:
    """Whoever gets the result would see scraps of text for titles, and a charger could not be told from a pack."""
    rows = "".join(f"{value};10 Ah;Sie ist wie neu, und der Versand ist frei.\n" for value in values)
    uses, _ = opened(f"{heading};Kapazität;{other or 'Text'}\n{rows}", tmp_path)
    assert (uses.get(heading) == "title") == title


def test_a_number_of_a_listing_is_no_text_of_it(tmp_path: Path) -> None:
    """Advice would be given that makes the program read article numbers as listings."""
    _, told = opened("Listing no.,Capacity\n5122,14 Ah\n5123,15 Ah\n", tmp_path)
    assert not any("=text" in line for line in told)


@pytest.mark.parametrize("heading", ["Kapazität (Ah)", 'Size "x"', "Cost $", "Seller's"])
def test_the_option_that_is_shown_can_be_typed(heading: str) -> None:
    """A copied line would be taken apart by the shell. Source: POSIX shell quoting, as the library shlex reads it."""
    assert shlex.split(option(heading, "text")) == ["--column", f"{heading}=text"]


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("52 x 18650", (52, "18650")), ("65 Stück 18650", (65, "18650")), ("40x21700", (40, "21700")),
        ("18650 x 52", (52, "18650")), ("52 pcs 18650 cells", (52, "18650")), ("40 cellules 21700", (40, "21700")),
    ],
)  # fmt: skip
def test_count_and_size_of_cells_are_taken_apart(written: str, expected: tuple[int, str]) -> None:
    """'52 x 18650' would be no number, though any reader understands it. Common practice, no source."""
    assert cells_stated(written) == {"claim.cell_count": expected[0], "claim.cell_size": expected[1]}
    found = prepared("claim.cell_count", None, [written])
    assert (found["claim.cell_count"], found["claim.cell_size"]) == ([expected[0]], [expected[1]])


def test_a_name_of_a_cell_stays_a_name() -> None:
    """A marking with a number in it would be read as a count."""
    assert cells_stated("LYR 18650-35P") is None


def test_a_price_has_the_currency_of_its_heading(tmp_path: Path) -> None:
    """'Preis in EUR' would be carried along unread, or its prices be of no currency."""
    assert prepared("claim.price", "EUR", ["199", "$5", None])["claim.currency"] == ["EUR", "EUR", None]
    uses, _ = opened(TABLE, tmp_path)
    assert uses["Preis in EUR"] == "claim.price"
    for heading in ("Price GBP", "Preis (CHF)"):
        (use,) = ColumnMap().uses([heading])
        assert (use.target, use.unit) == ("claim.price", heading.strip(")").split("(")[-1].split(" ")[-1])


def test_how_columns_are_read_is_told_of_json_lines_too(
    packclaim: Callable[..., int], capfd: pytest.CaptureFixture[str]
) -> None:
    """Who has JSON Lines would never learn that a key is not judged."""
    Path("in.jsonl").write_text(
        json.dumps({"vendor": "A", "body": "48V 14Ah 13S4P", "shelf": 3}) + "\n", encoding="utf-8"
    )
    assert packclaim("in.jsonl", "--out", "out.jsonl") == 0
    told = capfd.readouterr().err
    assert "'vendor' is the seller" in told
    assert "'shelf'" in told
    assert "wrote out.jsonl" in told


def test_other_sheets_are_told(packclaim: Callable[..., int], capfd: pytest.CaptureFixture[str]) -> None:
    """Half a workbook would be left unjudged, and the other half be told as all of it."""
    book = Workbook()
    book.worksheets[0].title = "Bikes"
    book.create_sheet("Scooters").append(["Seller", "Text"])
    for row in (["Seller", "Text"], ["A", "48V 14Ah 13S4P"]):
        book["Bikes"].append(row)
    book.save("in.xlsx")
    assert packclaim("in.xlsx", "--out", "out.csv") == 0
    told = capfd.readouterr().err
    assert "sheet 'Bikes' is read, and not 'Scooters'" in told
    assert "--sheet-name" in told


@pytest.mark.parametrize("options", [(), ("--column", "Text=text")])
def test_a_cover_sheet_leads_to_the_other_sheets(
    options: tuple[str, ...], packclaim: Callable[..., int], capfd: pytest.CaptureFixture[str]
) -> None:
    """Whoever has a workbook with a cover would look for columns that stand on another sheet."""
    book = Workbook()
    book.worksheets[0].title = "Cover"
    book.worksheets[0].append(["Note"])
    book.worksheets[0].append(["As of October"])
    sheet = book.create_sheet("Listings Oct")
    for row in (["Seller", "Text"], ["A", "48V 14Ah 13S4P"]):
        sheet.append(row)
    book.save("in.xlsx")
    assert packclaim("in.xlsx", "--out", "out.csv", *options) == 2
    told = capfd.readouterr().err
    assert "'Listings Oct'" in told
    assert "--sheet-name" in told
    assert packclaim("in.xlsx", "--out", "out.csv", "--sheet-name", "Listings Oct", *options) == 0


def test_a_column_against_a_text_contradicts(tmp_path: Path) -> None:
    """A seller would advertise 22 Ah in his text and be judged by the 12.5 Ah of a form."""
    table = (
        "Title,Description,Capacity\n"
        '48V 12.5Ah pack,"A battery of 22 Ah, for long tours",12.5 Ah\n'
        "48V 14Ah pack,Capacity: 13.8 Ah,13.8\n"
        "48V pack,Available as 48V 12.5Ah or 48V 17.5Ah,12.5\n"
    )
    apart, rounded, *both = answers(table, tmp_path)
    assert apart["conclusion"] == "contradicts itself"
    assert "12.5 Ah" in apart["contradiction"]
    assert "22 Ah" in apart["contradiction"]
    assert (apart["worst_figure"], apart["claimed"]) == ("capacity", "12.5 to 22 Ah")
    assert "contradiction" not in rounded
    assert [row["claimed"] for row in both] == ["12.5 Ah", "17.5 Ah"], (
        "the column names one of the packs on offer"
    )


def test_names_of_one_cell_contradict_nothing_and_those_of_two_do(tmp_path: Path) -> None:
    """A maker's name before the code would count as another cell, or another cell as the same."""
    names = [
        cell.model for cell in CELLS.cells() if len(CELLS.named(cell.model.casefold().replace("-", ""))) == 1
    ]
    table = (
        "Beschreibung,Zelltyp\n"
        "48V 14Ah mit LYR 18650-35P,18650-35P\n"
        f"48V 14Ah mit LYR 18650-35P,{next(name for name in names if name != '18650-35P')}\n"
    )
    one, two = answers(table, tmp_path)
    assert "contradiction" not in one
    assert "two different cells" in two["contradiction"]


def test_contradictions_are_ranked_by_harm_and_then_by_how_far_they_lie_apart(tmp_path: Path) -> None:
    """A slip of a tenth would stand above an energy of ten times what it can be, or hours above ampere-hours.

    By hand: 480 against 4800 Wh is 90 % less, against 960 Wh 50 % less; 2 h at 2 A put in 4 of 10 Ah, 60 % less.
    """
    table = 'Text\n48V 10Ah 960Wh\n48V 10Ah 4800Wh\n"48V 10Ah, charger 54.6V 2A, charging time 2 hours"\n'
    found = answers(table, tmp_path, wanted=Wanted(ranked=True))
    assert [row["row"] for row in found] == [2, 1, 3]
    assert [row["margin_percent"] for row in found] == [-90, -50, -60]
    assert [row["worst_figure"] for row in found] == ["energy", "energy", "charge time"]
    assert [(row["claimed"], row["supported"]) for row in found] == [
        ("4800 Wh", "480 Wh"), ("960 Wh", "480 Wh"), ("2 h", "5 h or more"),
    ], "what the other statements make of it"  # fmt: skip


def test_numbers_of_the_source_stay_numbers(packclaim: Callable[..., int]) -> None:
    """A price could not be summed in the spreadsheet that comes back, nor read as a number by a program."""
    from openpyxl import load_workbook

    row = {"text": "48V 14Ah", "price": 843, "share": 0.25, "sold": True, "number": "007"}
    Path("in.jsonl").write_text(json.dumps(row) + "\n", encoding="utf-8")
    assert packclaim("in.jsonl", "--out", "out.jsonl") == 0
    (found,) = rows_of(Path("out.jsonl"))
    assert {name: found[name] for name in row} == row
    assert packclaim("in.jsonl", "--out", "out.xlsx") == 0
    heads, values = load_workbook("out.xlsx")["Listings"].iter_rows(values_only=True)
    read = dict(zip(heads, values, strict=True))
    assert (read["price"], read["share"], read["number"]) == (843, 0.25, "007")
    assert packclaim("in.jsonl", "--out", "out.csv") == 0
    assert "\0" not in Path("out.csv").read_text(encoding="utf-8")


def test_the_summary_says_what_it_leaves_out_and_leads_to_the_listings(packclaim: Callable[..., int]) -> None:
    """Whoever reads "the 20 worst" would not learn that there are 25, nor find a seller's listings."""
    rows = "".join(f"Seller {number % 2},48V 10Ah {960 + number}Wh\n" for number in range(25))
    Path("in.csv").write_text("Seller,Text\n" + rows, encoding="utf-8")
    assert packclaim("in.csv", "--out", "out.csv", "--summary", "s.html", "--per-seller", "sellers") == 0
    page = Path("s.html").read_text(encoding="utf-8")
    assert "5 more are not shown here" in page
    assert 'href="#seller-1"' in page
    assert 'id="seller-1"' in page
    assert 'href="sellers/Seller-0.csv"' in page
    assert Path("sellers/Seller-0.csv").exists()
    assert "All 2 sellers" in page


def test_a_heading_that_only_resembles_certificates_is_not_offered_as_one(tmp_path: Path) -> None:
    """Advice would be given that makes the program read remarks as certificates."""
    table = "Capacity,Remarks\n14 Ah,Lead time of three weeks\n"
    assert not any("certificates" in line for line in opened(table, tmp_path)[1])
    table = "Capacity,Certificats et al\n14 Ah,CE and UN38.3\n"
    uses, told = opened(table, tmp_path)
    assert "Certificats et al" in uses or any("certificates" in line for line in told)


def test_a_column_of_the_cells_that_holds_configurations_is_the_configuration() -> None:
    """Otherwise "14S4P" under "Zellen" is looked for as the name of a cell. Source: a marketplace's table, invented."""
    sample = {"Titel": ["Akku 52 V", "Akku 36 V"], "Zellen": ["14S4P", "10S3P"], "Ah": ["20", "10"]}
    found = {each.heading: each.target for each in ColumnMap({}).uses(list(sample), sample)}
    assert found["Zellen"] == "claim.configuration"
    named = sample | {"Zellen": ["PX18650-26R", "PX21700-48E"]}
    found = {each.heading: each.target for each in ColumnMap({}).uses(list(named), named)}
    assert found["Zellen"] == "claim.cell_marking"
