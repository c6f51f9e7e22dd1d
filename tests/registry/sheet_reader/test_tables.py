"""Tables of sheets: heads in several rows, merged cells, units in columns, models down the side.

The layouts are those of catalogues and exports as the trade hands them out (common practice, no source);
every sheet here is invented, and what is true of it was written down before it was read.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from registry.errors import PlacedError
from registry.sheet_reader.draft import SheetDraft, SheetReading
from registry.sheet_reader.files.markup import rows_of_html
from registry.sheet_reader.files.text import rows_of_csv, rows_of_text
from registry.sheet_reader.reader import read_document, read_sheet

Facts = set[tuple[Any, ...]]


def by_model(reading: SheetReading) -> dict[str, SheetDraft]:
    """Return the draft of each model; a refused file has none."""
    assert reading.refused is None, reading.refused
    return {draft.model: draft for draft in reading.drafts}


def facts(draft: SheetDraft, *names: str) -> Facts:
    """Return figure, value, and what is told of kind, band, seconds and months, of the figures named."""
    found = set()
    for each in draft.figures:
        if each.figure in names or not names:
            told = (each.kind, each.low_c, each.high_c, each.seconds, each.months)
            held = [one for one in told if one is not None and one not in ("continuous", "pulse", "maximum")]
            found.add((each.figure, each.value, *held))
    return found


def unmarked(draft: SheetDraft, *names: str) -> Facts:
    """Return the facts of the figures that need no look at the sheet."""
    sure = [each for each in draft.figures if not each.confirm]
    return facts(draft.model_copy(update={"figures": tuple(sure)}), *names)


def workbook(
    path: Path, pages: dict[str, list[list[Any]]], merged: dict[str, list[str]] | None = None
) -> Path:
    """Write a workbook with these rows and merged areas by worksheet."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    for title, rows in pages.items():
        page = book.create_sheet(title)
        for row in rows:
            page.append(row)
        for area in (merged or {}).get(title, []):
            page.merge_cells(area)
    book.save(path)
    return path


CATALOGUE: list[list[Any]] = [
    ["Dunmarrow Accumulators (invented), power cells, spring list"],
    [
        "Cell",
        "Rated voltage [V]",
        "Capacity [Ah]",
        None,
        "Currents in A",
        None,
        None,
        None,
        "Mass [g]",
        "Box of",
    ],
    [
        None,
        None,
        "min.",
        "typ.",
        "standard charge",
        "max. charge",
        "continuous discharge",
        "pulse 3 s",
        None,
        None,
    ],
    ["DMA-18650-28X", 3.6, 2.75, 2.85, 1.4, 4.2, 22, 38, 46.5, 180],
    ["DMA-21700-42X", 3.65, 4.1, 4.25, 2.1, 6.3, 33, 60, 69.5, 100],
    ["Currents hold at 25 °C."],
]
CATALOGUE_MERGED = ["A2:A3", "B2:B3", "C2:D2", "E2:H2", "I2:I3", "J2:J3"]
CATALOGUE_TRUTH: dict[str, Facts] = {
    "DMA-18650-28X": {
        ("nominal_voltage", 3.6), ("capacity", 2.75, "minimum"), ("capacity", 2.85, "typical"),
        ("standard_charge", 1.4), ("max_charge", 4.2), ("max_continuous_discharge", 22.0),
        ("pulse_discharge", 38.0, 3.0), ("mass", 46.5),
    },
    "DMA-21700-42X": {
        ("nominal_voltage", 3.65), ("capacity", 4.1, "minimum"), ("capacity", 4.25, "typical"),
        ("standard_charge", 2.1), ("max_charge", 6.3), ("max_continuous_discharge", 33.0),
        ("pulse_discharge", 60.0, 3.0), ("mass", 69.5),
    },
}  # fmt: skip


def test_a_catalogue_with_two_rows_of_heads_gives_each_model_its_figures(tmp_path: Path) -> None:
    """A catalogue, a model a row, would be refused, or its charge current be one of discharge."""
    path = workbook(tmp_path / "list.xlsx", {"cells": CATALOGUE}, {"cells": CATALOGUE_MERGED})
    read = by_model(read_sheet(path))
    assert {model: facts(draft) for model, draft in read.items()} == CATALOGUE_TRUTH


def test_heads_that_are_only_left_empty_spread_like_merged_ones() -> None:
    """The same catalogue saved as CSV loses its merged cells, and with them all currents."""
    lines = "\n".join(";".join("" if cell is None else str(cell) for cell in row) for row in CATALOGUE)
    read = by_model(read_document(rows_of_csv(lines), "list.csv"))
    assert {model: facts(draft) for model, draft in read.items()} == CATALOGUE_TRUTH


def test_several_rows_of_one_model_stay_with_it() -> None:
    """A model's limits at further temperatures would be lost, or be those of the model below."""
    page = (
        "<table><tr><th rowspan=2>Type</th><th rowspan=2>Temperature</th><th colspan=2>Current (A)</th></tr>"
        "<tr><th>max. charge</th><th>max. continuous discharge</th></tr>"
        "<tr><td rowspan=2>HDR-26A</td><td>0 to 12 °C</td><td>1.1</td><td>6</td></tr>"
        "<tr><td>12 to 45 °C</td><td>2.7</td><td>18</td></tr>"
        "<tr><td rowspan=2>HDR-26B</td><td>0 to 15 °C</td><td>0.9</td><td>4</td></tr>"
        "<tr><td>15 to 50 °C</td><td>2.2</td><td>11</td></tr></table>"
    )
    read = by_model(read_document(rows_of_html(page), "page.html"))
    assert {model: unmarked(draft) for model, draft in read.items()} == {
        "HDR-26A": {
            ("max_charge", 1.1, 0.0, 12.0), ("max_charge", 2.7, 12.0, 45.0),
            ("max_continuous_discharge", 6.0, 0.0, 12.0), ("max_continuous_discharge", 18.0, 12.0, 45.0),
        },
        "HDR-26B": {
            ("max_charge", 0.9, 0.0, 15.0), ("max_charge", 2.2, 15.0, 50.0),
            ("max_continuous_discharge", 4.0, 0.0, 15.0), ("max_continuous_discharge", 11.0, 15.0, 50.0),
        },
    }  # fmt: skip


ONE_A_ROW = """cell type,figure,remark,amount,unit
PYL-33H,capacity,minimum,3210,mAh
PYL-15W,capacity,minimum,1480,mAh
PYL-33H,nominal voltage,,3.63,V
PYL-15W,nominal voltage,,3.7,V
PYL-33H,max. charge current,5 to 45 °C,1.65,A
PYL-15W,max. charge current,0 to 45 °C,3,A
PYL-33H,max. continuous discharge current,-10 to 55 °C,7,A
PYL-15W,max. continuous discharge current,-20 to 65 °C,24,A
PYL-33H,AC resistance,1 kHz,33,mOhm
PYL-15W,AC resistance,1 kHz,11,mOhm
PYL-15W,pulse discharge current,4 s,44,A
PYL-33H,weight,,47.9,g
"""


def test_models_that_take_turns_row_by_row_are_kept_apart() -> None:
    """24 A of the power cell would be granted to the one that may give 7 A."""
    read = by_model(read_document(rows_of_csv(ONE_A_ROW), "long.csv"))
    assert {model: unmarked(draft) for model, draft in read.items()} == {
        "PYL-33H": {
            ("capacity", 3.21, "minimum"), ("nominal_voltage", 3.63), ("max_charge", 1.65, 5.0, 45.0),
            ("max_continuous_discharge", 7.0, -10.0, 55.0), ("ac_resistance", 33.0, "ac"), ("mass", 47.9),
        },
        "PYL-15W": {
            ("capacity", 1.48, "minimum"), ("nominal_voltage", 3.7), ("max_charge", 3.0, 0.0, 45.0),
            ("max_continuous_discharge", 24.0, -20.0, 65.0), ("ac_resistance", 11.0, "ac"),
            ("pulse_discharge", 44.0, 4.0),
        },
    }  # fmt: skip


def test_a_column_of_models_needs_no_word_at_its_head() -> None:
    """Without the word "model" the second cell's figures would be conflicts of the first."""
    text = ONE_A_ROW.replace("cell type,", ",", 1)
    read = by_model(read_document(rows_of_csv(text), "long.csv"))
    assert set(read) == {"PYL-33H", "PYL-15W"}
    assert unmarked(read["PYL-33H"], "max_continuous_discharge") == {
        ("max_continuous_discharge", 7.0, -10.0, 55.0)
    }


def test_a_row_that_names_no_model_is_of_none_where_models_take_turns() -> None:
    """A figure of nobody knows which cell would stand in a draft as if the sheet had said whose it is."""
    text = ONE_A_ROW + ",diameter,,18.4,mm\n"
    read = by_model(read_document(rows_of_csv(text), "long.csv"))
    assert all(not facts(draft, "diameter") for draft in read.values())
    assert all("diameter" not in draft.not_stated for draft in read.values())


def test_a_model_named_once_holds_for_the_rows_below_it() -> None:
    """Of a list grouped by model every figure but the first would be lost."""
    text = (
        "part no.;quantity;value;unit\nOGR-20K;rated capacity;2000;mAh\n;nominal voltage;3.6;V\n"
        ";max. continuous discharge current;30;A\nOGR-35K;rated capacity;3500;mAh\n;nominal voltage;3.6;V\n"
        ";max. continuous discharge current;8;A\n"
    )
    read = by_model(read_document(rows_of_csv(text), "long.csv"))
    assert {model: facts(draft, "max_continuous_discharge", "capacity") for model, draft in read.items()} == {
        "OGR-20K": {("capacity", 2.0, "rated"), ("max_continuous_discharge", 30.0)},
        "OGR-35K": {("capacity", 3.5, "rated"), ("max_continuous_discharge", 8.0)},
    }


def test_a_unit_of_a_column_is_that_of_every_value_beside_it() -> None:
    """Under merged labels every band of both models would be seen and not read."""
    page = (
        "<table><tr><th colspan=2>Property</th><th>Unit</th><th>VSK-40P</th><th>VSK-50E</th></tr>"
        "<tr><td rowspan=2>Capacity (C/5)</td><td>minimum</td><td>mAh</td><td>3880</td><td>4790</td></tr>"
        "<tr><td>typical</td><td>mAh</td><td>4010</td><td>4930</td></tr>"
        "<tr><td rowspan=2>Maximum charge current</td><td>2 to 15 °C</td><td>A</td><td>1.6</td><td>0.8</td></tr>"
        "<tr><td>15 to 45 °C</td><td>A</td><td>6</td><td>3.2</td></tr>"
        "<tr><td rowspan=2>Maximum continuous discharge current</td><td>-25 to 0 °C</td><td>A</td><td>12</td>"
        "<td>4</td></tr><tr><td>0 to 60 °C</td><td>A</td><td>32</td><td>9</td></tr>"
        "<tr><td>Mass</td><td>max.</td><td>g</td><td colspan=2>69</td></tr></table>"
    )
    read = by_model(read_document(rows_of_html(page), "page.html"))
    assert {model: unmarked(draft) for model, draft in read.items()} == {
        "VSK-40P": {
            ("capacity", 3.88, "minimum"), ("capacity", 4.01, "typical"), ("max_charge", 1.6, 2.0, 15.0),
            ("max_charge", 6.0, 15.0, 45.0), ("max_continuous_discharge", 12.0, -25.0, 0.0),
            ("max_continuous_discharge", 32.0, 0.0, 60.0), ("mass", 69.0),
        },
        "VSK-50E": {
            ("capacity", 4.79, "minimum"), ("capacity", 4.93, "typical"), ("max_charge", 0.8, 2.0, 15.0),
            ("max_charge", 3.2, 15.0, 45.0), ("max_continuous_discharge", 4.0, -25.0, 0.0),
            ("max_continuous_discharge", 9.0, 0.0, 60.0), ("mass", 69.0),
        },
    }  # fmt: skip


@pytest.mark.parametrize("sign", ["not allowed", "—", "×", "n/a", "prohibited", "nicht zulässig"])
def test_a_limit_that_is_denied_is_none_and_moves_no_other(sign: str) -> None:
    """Where charging is forbidden, the discharge current of that row would be lost or be that of charging."""
    text = (
        "Model: GRB-21E\n\n| Temperature of the cell | Max. charge | Max. discharge, continuous |\n"
        f"|---|---|---|\n| -25 ... 5 °C | {sign} | 4.5 A |\n| 5 ... 45 °C | 3.1 A | 18 A |\n"
        f"| 45 ... 65 °C | {sign} | 9.5 A |\n\nNominal capacity: 4600 mAh\n"
    )
    (draft,) = by_model(read_document(rows_of_text(text), "card.md")).values()
    assert unmarked(draft, "max_charge", "max_continuous_discharge") == {
        ("max_charge", 3.1, 5.0, 45.0), ("max_continuous_discharge", 4.5, -25.0, 5.0),
        ("max_continuous_discharge", 18.0, 5.0, 45.0), ("max_continuous_discharge", 9.5, 45.0, 65.0),
    }  # fmt: skip


def test_columns_of_kinds_beside_an_unknown_one_give_their_kinds() -> None:
    """Guaranteed and typical capacity would be two contradicting ones of no kind."""
    text = (
        "# WTH-18-29\n\n| Characteristic | Sign | Typical | Guaranteed |\n|---|---|---|---|\n"
        "| Capacity (0.58 A, 25 °C) | C | 2960 mAh | 2870 mAh |\n| Resistance, 1 kHz | Z | 17 mΩ | ≤ 21 mΩ |\n"
        "| Mass | m | 45.1 g | ≤ 46.3 g |\n| Voltage, nominal | U | 3.6 V | – |\n"
    )
    (draft,) = by_model(read_document(rows_of_text(text), "card.md")).values()
    assert unmarked(draft, "capacity", "nominal_voltage") == {
        ("capacity", 2.96, "typical"), ("capacity", 2.87, "minimum"), ("nominal_voltage", 3.6),
    }  # fmt: skip
    assert facts(draft, "ac_resistance", "mass") == {
        ("ac_resistance", 21.0, "ac"), ("mass", 45.1), ("mass", 46.3),
    }  # fmt: skip


def test_a_limit_on_another_worksheet_is_found_there(tmp_path: Path) -> None:
    """A current that the first sheet only refers to would be lost, bands and all."""
    pages: dict[str, list[list[Any]]] = {
        "Overview": [
            ["Cell FNB-21700-46", None, None], ["Item", "Note", "Value"],
            ["Nominal capacity", None, "4600 mAh"], ["Max. charge current", "see sheet 'Bands'", None],
            ["Max. continuous discharge current", "see sheet 'Bands'", None],
        ],
        "Bands": [
            ["Surface temperature", "Max. charge current (A)", "Max. continuous discharge current (A)"],
            ["-15 to 5 °C", "not allowed", 6.5], ["5 to 20 °C", 1.2, 19], ["20 to 45 °C", 4.6, None],
        ],
    }  # fmt: skip
    path = workbook(tmp_path / "book.xlsx", pages, {"Bands": ["C3:C4"]})
    (draft,) = by_model(read_sheet(path)).values()
    assert facts(draft, "max_charge", "max_continuous_discharge") == {
        ("max_charge", 1.2, 5.0, 20.0), ("max_charge", 4.6, 20.0, 45.0),
        ("max_continuous_discharge", 6.5, -15.0, 5.0), ("max_continuous_discharge", 19.0, 5.0, 45.0),
    }  # fmt: skip


def test_capacities_by_the_current_of_a_test_are_no_ratings() -> None:
    """Four capacities of a chart's table would contradict the rated one."""
    text = (
        "Model: QND-21-48\n| Item | Value |\n|---|---|\n| Capacity, typical | 4810 mAh |\n"
        "| Nominal voltage | 3.6 V |\n\nDischarge at several loads\n\n| Current | 0.9 A | 4.5 A | 9 A |\n"
        "|---|---|---|---|\n| Capacity | 4810 mAh | 4690 mAh | 4580 mAh |\n"
    )
    (draft,) = by_model(read_document(rows_of_text(text), "card.md")).values()
    assert facts(draft, "capacity") == {("capacity", 4.81, "typical")}


def test_a_row_of_both_models_is_seen_and_of_neither() -> None:
    """A column of models that says "both" once would give every row to the model named first."""
    rows = ["charge voltage,4.2,V,both", "nominal voltage,3.6,V,SBN-30A", "nominal voltage,3.65,V,SBN-20B"]
    rows += [
        "max. continuous discharge current,11,A,SBN-30A",
        "max. continuous discharge current,23,A,SBN-20B",
    ]
    rows += ["minimum capacity,2900,mAh,SBN-30A", "minimum capacity,1950,mAh,SBN-20B"]
    read = by_model(read_document(rows_of_csv("\n".join(["figure,value,unit,cell", *rows])), "list.csv"))
    assert {model: unmarked(draft) for model, draft in read.items()} == {
        "SBN-30A": {("nominal_voltage", 3.6), ("max_continuous_discharge", 11.0), ("capacity", 2.9, "minimum")},
        "SBN-20B": {("nominal_voltage", 3.65), ("max_continuous_discharge", 23.0), ("capacity", 1.95, "minimum")},
    }  # fmt: skip
    assert all("charge_voltage" not in draft.not_stated for draft in read.values())


def test_models_in_columns_under_any_word_with_a_column_of_units() -> None:
    """The figures of the second model would stand beside those of the first and be lost."""
    text = (
        "Messgröße                   Einheit    TRV-18A    TRV-18C\n"
        "Nennkapazität               mAh        2550       3150\n"
        "Nennspannung                V          3,6        3,65\n"
        "Höchster Ladestrom          A          4,4        1,6\n"
        "Höchster Dauerentladestrom  A          23         9,5\n"
    )
    read = by_model(read_document(rows_of_text(text), "reihe.txt"))
    assert {model: unmarked(draft) for model, draft in read.items()} == {
        "TRV-18A": {
            ("capacity", 2.55, "nominal"), ("nominal_voltage", 3.6), ("max_charge", 4.4),
            ("max_continuous_discharge", 23.0),
        },
        "TRV-18C": {
            ("capacity", 3.15, "nominal"), ("nominal_voltage", 3.65), ("max_charge", 1.6),
            ("max_continuous_discharge", 9.5),
        },
    }  # fmt: skip


def test_columns_of_another_table_are_no_models() -> None:
    """Charge and discharge currents of a second table would go to the first and the second model."""
    page = (
        "<table><tr><th>Property</th><th>LNW-26A</th><th>LNW-35B</th></tr>"
        "<tr><td>Rated capacity</td><td>2600 mAh</td><td>3500 mAh</td></tr>"
        "<tr><td>Nominal voltage</td><td>3.6 V</td><td>3.65 V</td></tr></table>"
        "<table><tr><th>Temperature</th><th>Max. charge current</th><th>Max. continuous discharge current</th></tr>"
        "<tr><td>2 to 12 °C</td><td>0.8 A</td><td>4 A</td></tr></table>"
    )
    read = by_model(read_document(rows_of_html(page), "page.html"))
    both = {("max_charge", 0.8, 2.0, 12.0), ("max_continuous_discharge", 4.0, 2.0, 12.0)}
    assert {model: facts(draft, "max_charge", "max_continuous_discharge") for model, draft in read.items()} == {
        "LNW-26A": both, "LNW-35B": both,
    }  # fmt: skip


def test_a_unit_of_signs_that_a_pattern_knows_is_a_unit(tmp_path: Path) -> None:
    """A damaged cell would end in a fault of the program and not in a draft or one line. (Found by fuzzing.)"""
    path = tmp_path / "sheet.csv"
    path.write_bytes(b";t;Einheit;g\n;;;\n;;" + 7 * b"\\" + b";0")
    with suppress(PlacedError):
        read_sheet(path)
