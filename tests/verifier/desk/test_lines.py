"""Columns that are read as a line of the listing, heading and value together, by the reader of texts."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl import load_workbook

from registry.opening import open_registry
from tests.verifier.desk.conftest import REGISTRY, answers, rows_of, screened
from verifier.case.reading import parse_case
from verifier.judge import judge
from verifier.screening.headings import ColumnMap
from verifier.screening.lines import line_of, lines_of, read_line
from verifier.screening.no_pack import offers_no_pack
from verifier.screening.one_row import row_cases
from verifier.screening.tables import Source, open_listings

CELLS = open_registry(REGISTRY)
NAMED = "LYR 18650-35P"


def uses(source: Path, **told: str) -> dict[str, str]:
    """Return what each column of a table is used as."""
    with open_listings(Source(str(source), ColumnMap(told), cells=CELLS)) as listings:
        return {use.heading: use.target for use in listings.uses}


def claims(heading: str, unit: str | None, value: object) -> dict[str, object]:
    """Return what a heading and a value claim together of one pack."""
    line = line_of(heading, unit, value)
    assert line is not None
    (found,) = read_line(line, CELLS, {})
    return {name.removeprefix("claim."): each for name, each in found.items()}


@pytest.mark.parametrize(
    ("heading", "unit", "value", "expected"),
    [
        ("Assemblage", None, "13S4P", {"series": 13, "parallel": 4}),
        ("Ladegerät dabei", None, "54,6 V / 3 A", {"charge_voltage_v": 54.6, "charge_current_a": 3}),
        ("Caricabatterie", None, "42V 2A", {"charge_voltage_v": 42, "charge_current_a": 2}),
        ("Charger", "V", 58.8, {"charge_voltage_v": 58.8}),
        ("Peak", "A", 35, {"peak_current_a": 35}),
        ("Pico", None, "100 A (10 s)", {"peak_current_a": 100, "peak_seconds": 10}),
        ("Full charge", "h", "6", {"charge_hours": 6}),
        ("Cells", "pcs", 52, {"cell_count": 52}),
        ("Zellen", None, "52", {"cell_count": 52}),
        ("Liczba ogniw", None, 40, {"cell_count": 40}),
        ("specs.charger.voltage", "V", 29.4, {"charge_voltage_v": 29.4}),
        ("specs.netWeight", None, "3,8 kg", {"mass_kg": 3.8}),
        ("重量", None, "3.8 kg", {"mass_kg": 3.8}),
        ("ficha.Descarga continua", None, "70 A", {"continuous_current_a": 70}),
        ("scheda_tecnica.Caricabatterie", None, "42V 2A", {"charge_voltage_v": 42, "charge_current_a": 2}),
    ],
)  # fmt: skip
def test_heading_and_value_are_read_together(
    heading: str, unit: str | None, value: object, expected: dict[str, object]
) -> None:
    """Half of a shop's columns would be carried along unread. Common practice, no source."""
    assert claims(heading, unit, value) == expected


TABLE = (
    "Code;Vendeur;Intitulé;Tension (V);Capacité;Assemblage;Cellules;Chargeur livré;Pointe;Emploi à;Rayon;Mots clés\n"
    f"K1;A;Batterie 48 V 14 Ah;48;14 Ah;13S4P;{NAMED};54,6 V / 3 A;50 A (10 s);0 à 40 °C;R7;60V 20Ah 36V\n"
    f"K2;B;Batterie 48 V 14 Ah;48;14 Ah;13S4P;{NAMED};42 V / 3 A;;-10 à 35 °C;R8;\n"
    f"K3;C;Batterie 48 V 14 Ah;48;14 Ah;13S4P;{NAMED};sans;;;R9;\n"
)


def test_a_table_of_other_headings_is_judged_and_no_honest_row_is_accused(tmp_path: Path) -> None:
    """A wrong charger would pass unseen; a shop's words to be found by would accuse its honest listings.

    By hand: 13 cells of 4.2 V are full at 54.6 V, which K1 has and K2, with 42 V, has not.
    """
    source = tmp_path / "in.csv"
    source.write_text(TABLE, encoding="utf-8")
    found = uses(source)
    assert {"Assemblage", "Chargeur livré", "Pointe"} <= {
        name for name, use in found.items() if use == "line"
    }
    assert found["Emploi à"] == "use.temperature_c"
    assert not {"Code", "Rayon", "Mots clés"} & set(found)
    honest, wrong, without = rows_of(screened(source, tmp_path / "out.jsonl"))
    assert wrong["conclusion"] == "contradicts itself"
    assert "42 V" in wrong["contradiction"]
    for row in (honest, without):
        assert row["conclusion"] not in ("contradicts itself", "not as advertised"), row["sentence"]
        assert "not_read" not in row


def test_each_row_of_lines_is_answered_as_a_check_answers(tmp_path: Path) -> None:
    """A listing would be called one thing in the table and another alone. Rule: verifier.judge."""
    source = tmp_path / "in.csv"
    source.write_text(TABLE, encoding="utf-8")
    for row in rows_of(screened(source, tmp_path / "out.jsonl")):
        (draft,) = row_cases(Source(str(source)), row["row"], CELLS).drafts
        report = judge(parse_case(draft, "row").case, CELLS)
        assert (row["conclusion"], row["sentence"]) == (report.answer.conclusion, report.answer.sentence)


def test_a_line_against_a_column_or_the_text_is_told(tmp_path: Path) -> None:
    """A lie would hide in the column that nobody gave a name."""
    table = "title,text,capacity,Pack holds\nPack 48V,A good pack for 48V.,14 Ah,20 Ah\nPack 48V,Fine.,14 Ah,14 Ah\n"
    lie, honest = answers(table, tmp_path)
    assert "14 Ah in its column and 20 Ah in another column" in lie["contradiction"]
    assert "contradiction" not in honest


def test_where_a_figure_stands_is_told(tmp_path: Path) -> None:
    """A desk could not write to a seller that he says two things, for it could not say where."""
    table = "title,text,capacity\nPack 48V,It holds 20Ah.,14 Ah\nPack 48V,It holds 14Ah.,20 Ah\n"
    first, second = answers(table, tmp_path)
    assert "14 Ah in its column and 20 Ah in its title or text" in first["contradiction"]
    assert "14 Ah in its title or text and 20 Ah in its column" in second["contradiction"]


def test_attributes_and_nested_figures_are_read_and_can_be_told(tmp_path: Path) -> None:
    """The commonest export of a marketplace would be carried along unread. Common practice, no source."""
    first = {
        "shop": {"name": "A"}, "title": "Pack 1", "attributes": [
            {"name": "Nominal voltage", "value": "48 V"}, {"name": "Capacity", "value": "14 Ah"},
            {"name": "Configuration", "value": "13S4P"}, {"name": "Charger", "value": "42 V 2 A"},
        ],
    }  # fmt: skip
    second = {
        "shop": {"name": "B"}, "title": "Pack 2", "specs": {
            "voltage": {"value": 48, "unit": "V"}, "cells": {"layout": "13S4P", "count": 50}, "colour": "black",
        },
        "variants": [{"label": "48V 10Ah"}, {"label": "48V 14Ah"}],
    }  # fmt: skip
    source = tmp_path / "in.jsonl"
    source.write_text("".join(json.dumps(each) + "\n" for each in (first, second)), encoding="utf-8")
    one, *others = rows_of(screened(source, tmp_path / "out.jsonl"))
    assert one["seller"] == "A"
    assert "42 V" in one["contradiction"]
    assert len(others) == 2, "a row for each variant"
    assert all("not the 50 claimed" in each["contradiction"] for each in others), "13 x 4 are 52 cells"
    told = uses(
        source,
        **{"attributes.Capacity": "claim.capacity_ah", "specs.voltage.value": "claim.nominal_voltage_v"},
    )
    assert told["attributes.Capacity"] == "claim.capacity_ah"
    assert told["specs.voltage.value"] == "claim.nominal_voltage_v"


def test_a_column_that_cannot_be_read_does_not_hide_the_text(tmp_path: Path) -> None:
    """A word in a cell would hide the charger of another pack, which the text states."""
    table = (
        "title,text,charger voltage,configuration\n"
        "48V pack,It comes with a 42V charger.,sans,13S4P\n"
        "48V pack,It comes with a 42V charger.,nach Absprache,13S4P\n"
    )
    nothing, odd = answers(table, tmp_path)
    assert "42 V" in nothing["contradiction"]
    assert "42 V" in odd["contradiction"]
    assert "not_read" not in nothing, "'without' states that there is none"
    assert "nach Absprache" in odd["not_read"], "what cannot be read is told all the same"


def test_the_air_of_two_columns_is_one_range(tmp_path: Path) -> None:
    """What a seller states of frost would be lost, and his currents judged in warm air."""
    source = tmp_path / "in.csv"
    source.write_text("title,Ah,Lowest air [°C],Highest air [°C]\nP,14,-20,45\nQ,14,-10,\n", encoding="utf-8")
    assert {"air from", "air to"} <= set(uses(source).values())
    first, second = (row_cases(Source(str(source)), number, CELLS).drafts[0] for number in (1, 2))
    assert parse_case(first, "row").case.use.temperature_c.low == -20  # type: ignore[union-attr]
    assert "temperature" not in second, "the other end would have to be guessed"


@pytest.mark.parametrize("heading", ["Storage temperature [°C]", "Ladetemperatur [°C]"])
def test_other_temperatures_are_not_those_of_use(heading: str, tmp_path: Path) -> None:
    """A pack would be judged in the frost in which it may only be stored."""
    source = tmp_path / "in.csv"
    source.write_text(f"title,Ah,{heading}\nP,14,-20..45\n", encoding="utf-8")
    assert heading not in uses(source)


NO_PACKS = {
    "Spare charger 54.6 V 3 A": "a charger", "Ersatzladegerät 42 V 5 A": "a charger",
    "Chargeur 54,6 V 3 A pour batterie 48 V": "a charger", "Caricabatterie 54,6V 5A (solo caricatore)": "a charger",
    "Tylko ładowarka 42 V": "a charger", "Acculader 54,6 V voor fietsaccu": "a charger",
    "Battery charger 42 V": "a charger", "Chargeur batterie 36 V": "a charger",
    "Boîtier de batterie vide": "an empty housing", "Guscio vuoto per 35 celle 18650": "an empty housing",
    "Leergehäuse für 52 Zellen": "an empty housing", "Carcasa vacía 10S4P": "an empty housing",
    "Lege behuizing voor 40 cellen": "an empty housing", "Empty case for 52 cells 18650": "an empty housing",
    "Pusta obudowa na 52 ogniwa": "an empty housing", "Placa BMS 10S 30 A": "a BMS", "保护板 13串 48V 30A": "a BMS",
    "Płytka BMS 13S 48V": "a BMS", "Kit motor traseiro 500 W 37 V sem bateria": "a motor",
    "Nabenmotor 36 V 250 W ohne Akku": "a motor", "Silnik 250W 36V": "a motor",
    "Montageplaat met slot voor framebuisaccu, 36 V": "a holder", "Suporte de bateria para quadro": "a holder",
    "Akku-Halterung mit Schloss": "a holder", "Battery mount for frame": "a holder",
    "Verlengkabel accu naar controller, 60 cm, XT60": "a cable", "Akkuhalterung": "a holder",
}  # fmt: skip
PACKS = (
    "48V Akku 10Ah mit Ladegerät", "48V battery 13S4P with spare empty case", "Akku 13S4P mit Leergehäuse",
    "52 cells in an empty case", "Kit batterie 48V", "Conversion kit 48V 1000W with battery", "BMS 30A Akku 48V",
    "Charger and battery 36V", "Frame mount battery 36V", "Bateria z ładowarką 36V", "Te koop: accu 36V zonder lader",
)  # fmt: skip


def test_what_is_no_pack_is_told_and_not_judged(tmp_path: Path) -> None:
    """A desk would write to the seller of a charger about his pack; or a pack pass for one of these, unjudged."""
    rows = "".join(f"{title};Neu.;54,6;0,7\n" for title in (*NO_PACKS, *PACKS))
    found = answers(f"title;text;Spannung;Gewicht\n{rows}", tmp_path)
    for row in found[: len(NO_PACKS)]:
        told = ("no battery pack", f"It offers no battery pack, but {NO_PACKS[row['title']]}.", 10)
        assert (row["conclusion"], row["sentence"], row["severity"]) == told, row["title"]
    for row in found[len(NO_PACKS) :]:
        assert row["conclusion"] != "no battery pack", row["title"]


@pytest.mark.parametrize(
    ("title", "text", "thing"),
    [
        ("Schlüsselsatz für Rahmenakku", "Akku nicht enthalten.", "something else"),
        ("Voorwielmotor 36 V", "Naafmotor zonder accu en zonder display.", "a motor"),
        ("Motor 36 V", "Mit Akku im Rahmen.", None), ("Bateria 36V", "O carregador não está incluído.", None),
        ("Slotenset", "Past op elke accu.", None), ("Lader 36 V", "Hoort bij de accu.", "a charger"),
    ],
)  # fmt: skip
def test_what_is_said_not_to_come_along_is_not_offered(title: str, text: str, thing: str | None) -> None:
    """ "Battery not included" would be judged as a battery. Common practice, no source."""
    assert offers_no_pack(title, {}, text) == thing
    assert offers_no_pack(title, {"claim.capacity_ah": 10}, text) is None, (
        "who states a capacity offers a pack"
    )


def test_how_a_table_was_read_stands_in_what_is_mailed(packclaim: Callable[..., int]) -> None:
    """Whoever gets the result alone would take it for all that the table says."""
    Path("in.csv").write_text("title,Ah,Shelf,Charger kit\nPack,14,R7,42 V 2 A\n", encoding="utf-8")
    assert packclaim("in.csv", "--out", "out.xlsx", "--summary", "s.md", "--workers", "1") == 0
    sheet = load_workbook("out.xlsx")["How to read"]
    told = {str(row[0]): str(row[1]) for row in sheet.iter_rows(values_only=True)}
    page = Path("s.md").read_text(encoding="utf-8")
    for text in (told["table"], page):
        assert "in.csv" in text
    assert "'Shelf'" in told["columns not judged, only carried along"]
    assert "'Charger kit'" in told["columns judged"]
    assert {"registry", "sellers", "air of use where a row names none"} <= set(told)
    assert all(each in page for each in ("'Shelf'", "'Charger kit'", "no column names them"))


def test_rows_that_call_a_figure_differently_are_each_judged(tmp_path: Path) -> None:
    """Half of a marketplace's rows, each with keys of its own, would lose their lies. Common practice, no source."""
    lies: list[dict[str, object]] = [
        {"ficha": {"Voltaje": "48V", "Configuración": "13S4P", "Descarga continua": "30A", "BMS": "20A"}},
        {"ficha": {"Tensión nominal": "48V", "Configuración": "13S4P", "Cargador incluido": "67,2 V 3 A"}},
        {
            "ficha": {"Voltaje (V)": 48, "Capacidad": "10 Ah"},
            "puntos": ["Descarga continua 30 A", "BMS de 20 A"],
        },
        {"ficha": {"Voltaje": "72V", "Configuración": "20S4P", "Voltaje a plena carga": "58,8V"}},
    ]
    table = "".join(json.dumps({"titulo": "Batería", **row}) + "\n" for row in lies)
    told = [row["conclusion"] for row in answers(table, tmp_path, "in.jsonl")]
    assert set(told) <= {"contradicts itself", "not as advertised"}, told


def test_an_entry_of_a_list_says_nothing_of_the_next() -> None:
    """The power behind the charger in a list of bullets would be lost, and a false one not be found."""
    assert lines_of("points", None, ["Lader: 84 V, 5 A", "Dauerleistung: 3400 W"]) == [
        "points: Lader: 84 V, 5 A",
        "points: Dauerleistung: 3400 W",
    ]


def test_entries_of_several_packs_stay_together() -> None:
    """Two packs of one listing would contradict each other. Rule: an honest offer is not accused."""
    assert len(lines_of("variants", None, ["Small: 10 Ah", "Large: 20 Ah"])) == 1


def test_a_value_of_a_column_of_figures_that_is_none_is_told_as_not_read(tmp_path: Path) -> None:
    """157 of 5,000 capacities would be lost in silence, and such a row pass. Rule: what is not read is no pass."""
    table = (
        "Text;Kapazitätsangabe;Bemerkung\n48V 13S4P;19,7 Ah;neu\n48V 13S4P;siehe Text;neu\n48V 13S4P;ca. viel;\n"
        "48V 13S4P;k. A.;neu\n48V 13S4P;;\n48V 13S4P;19,7;\n"
    )
    found = answers(table, tmp_path)
    assert [row.get("not_read") for row in found] == [
        None, "Kapazitätsangabe: 'siehe Text' is no figure that can be read",
        "Kapazitätsangabe: 'ca. viel' is no figure that can be read", None, None,
        "Kapazitätsangabe: '19,7' stands without a unit",
    ]  # fmt: skip
