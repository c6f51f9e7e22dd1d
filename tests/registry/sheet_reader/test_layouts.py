"""Layouts of sheets: what stands in one row, one block, one list, and what holds on from the line above.

The layouts are those of spec sheets as the trade prints them (common practice, no source); every sheet here
is invented.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from registry.sheet_reader.draft import DraftFigure, SheetDraft
from registry.sheet_reader.files.blocks import Line, parted
from registry.sheet_reader.files.markup import rows_of_html
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.pairs import segments
from registry.sheet_reader.reader import read_document, read_sheet
from registry.sheet_reader.rows import Cell


def draft_of(text: str) -> SheetDraft:
    """Return what is read of a plain text, whose model every text here names."""
    (draft,) = read_document(rows_of_text(f"Model: VDL-21700-45\n{text}"), "sheet.txt").drafts
    return draft


def figures(text: str, name: str) -> list[DraftFigure]:
    return [each for each in draft_of(text).figures if each.figure == name]


def told(text: str, name: str) -> list[tuple[Any, ...]]:
    return [(each.value, each.low_c, each.high_c) for each in figures(text, name)]


def test_several_pairs_in_a_line_are_several_figures() -> None:
    """The second and third figure of a line would be lost, or be conditions of the first."""
    found = draft_of("Weight 46 g, D 18.3 x H 65.0 mm, AC impedance <= 60 mOhm").figures
    assert {(each.figure, each.value) for each in found} == {
        ("mass", 46), ("diameter", 18.3), ("length", 65), ("ac_resistance", 60),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("Nominal voltage 3.7 V; charge voltage 4.2 V", ["Nominal voltage 3.7 V", "charge voltage 4.2 V"]),
        ("CC-CV 1.5 A, 4.20 V, 100 mA cut-off", ["CC-CV 1.5 A, 4.20 V, 100 mA cut-off"]),
        ("2500 mAh capacity, 48 g weight", ["2500 mAh capacity", "48 g weight"]),
        ("Cycle life 300 times, capacity 1800 mAh", ["Cycle life 300 times, capacity 1800 mAh"]),
    ],
)
def test_a_line_is_cut_where_a_label_of_its_own_begins(text: str, parts: list[str]) -> None:
    """A condition would be taken for a figure, or a figure for a condition."""
    assert segments(text) == parts


def test_labels_first_and_values_later_are_paired_by_their_order() -> None:
    """A sheet whose text was taken out column by column would hold no figure at all."""
    text = "Item\nNominal capacity\nNominal voltage\nWeight\nValue\n3480 mAh\n3.6 V\n48 g"
    assert told(text, "mass") == [(48, None, None)]
    assert told(text, "capacity") == [(3.48, None, None)]


def test_labels_and_values_of_unlike_number_are_not_paired() -> None:
    """One missing value would move every later one to another label."""
    text = "Nominal capacity\nNominal voltage\nWeight\nHeight\nValue\n3480 mAh\n3.6 V\n48 g"
    found = {each.figure: each.value for each in draft_of(text).figures if not each.confirm}
    assert found.get("nominal_voltage") in (None, 3.6)
    assert found.get("mass") in (None, 48)


def test_a_value_between_the_lines_of_its_label_is_not_one_of_the_label_before() -> None:
    """21 A of discharge would be read as the charge current of the line above."""
    text = (
        "Max. charge current        4.2 A     10 °C to 45 °C\n"
        "Max. continuous            21 A      0 °C to 60 °C\n"
        "discharge current          8 A       -20 °C to 0 °C\n"
    )
    assert told(text, "max_charge") == [(4.2, 10, 45)]


def test_what_stands_side_by_side_is_parted_by_its_gap() -> None:
    """A figure of the right column would take its label from the left one."""
    left = ["Nominal capacity  4500 mAh", "Nominal voltage  3.6 V", "Weight  68 g", "Charge voltage  4.2 V"]
    right = ["Max. current  13 A", "Pulse  25 A", "Cut-off  2.5 V", "Height  70 mm"]
    lines = [
        Line(top, (Cell(a, 0, 0, 30), Cell(b, 1, 60, 90)))
        for top, (a, b) in enumerate(zip(left, right, strict=True))
    ]
    assert [[line.cells[0].text for line in block] for block in parted(lines, 5)] == [left, right]


def test_a_gap_between_labels_and_their_values_parts_nothing() -> None:
    """Every value of a table would stand in another block than its label."""
    labels = ["Nominal capacity", "Nominal voltage", "Weight", "Charge voltage", "Height"]
    values = ["4500 mAh", "3.6 V", "68 g", "4.2 V", "70 mm"]
    lines = [
        Line(top, (Cell(a, 0, 0, 20), Cell(b, 1, 40, 50)))
        for top, (a, b) in enumerate(zip(labels, values, strict=True))
    ]
    assert len(parted(lines, 5)) == 1


def test_a_matrix_of_temperatures_gives_each_limit_its_band() -> None:
    """The first column's limit would seem to hold at every temperature."""
    text = "Temperature | 0 ~ 10 °C | 10 ~ 45 °C\nMax. charge current | 0.5 A | 2.5 A"
    assert told(text, "max_charge") == [(0.5, 0, 10), (2.5, 10, 45)]


@pytest.mark.parametrize(
    ("line", "lengths"),
    [
        ("Thickness x width x length: 7.2 x 64 x 151 mm", [151]),
        ("Dimensions (thickness × width × length): 7.2 ± 0.2 × 64 ± 1 × 151 ± 1 mm", [151]),
        ("Length / width: 151 mm / 64 mm", [151]),
        ("Length x width x height: 151 x 28 x 92 mm", [151, 92]),
    ],
)
def test_each_side_of_a_box_has_its_own_name(line: str, lengths: list[float]) -> None:
    """The thickness of a flat cell would be stored as its length."""
    found = figures(f"Rated capacity: 4.5 Ah\nNominal voltage: 3.6 V\n{line}", "length")
    assert [each.value for each in found] == lengths
    assert all(each.confirm for each in found) == (len(lengths) > 1)


@pytest.mark.parametrize("between", [" | ", "        "])
def test_the_title_of_a_table_says_which_current_its_columns_hold(between: str) -> None:
    """Both limits would be lost where only the line above a table says whether it charges or discharges."""
    rows = [
        ["Temperature", "C-rate", "Current"], ["5 to 15 °C", "0.2C", "0.9 A"], ["15 to 40 °C", "0.6C", "2.7 A"],
    ]  # fmt: skip
    table = "\n".join(between.join(row) for row in rows)
    text = f"Rated capacity: 4.5 Ah\n7 Maximum charge current\n{table}\n"
    text += f"8 Maximum continuous discharge current\n{table}\n"
    banded = [(0.9, 5, 15), (2.7, 15, 40)]
    assert told(text, "max_charge") == told(text, "max_continuous_discharge") == banded


def test_the_title_of_a_table_holds_for_no_other_kind_of_current() -> None:
    """A pulse or an end of charge would be taken for what a cell may be charged with."""
    text = "Charge\nTemperature | Max. current | Pulse discharge 10 s\n10 to 40 °C | 2 A | 30 A"
    assert told(text, "max_charge") == [(2, 10, 40)]
    assert told(text, "pulse_discharge") == [(30, 10, 40)]
    text = "Standard charge current\nTemperature | Maximum charge current\n10 to 40 °C | 2 A"
    assert not told(text, "standard_charge")


def test_only_the_line_right_above_a_table_is_its_title() -> None:
    """A table of something else would take its meaning from a heading far above it."""
    table = "Temperature | Current\n10 to 40 °C | 2 A\nRated capacity: 4.5 Ah\nNominal voltage: 3.6 V"
    assert told(f"Maximum charge current\n{table}", "max_charge") == [(2, 10, 40)]
    assert not told(f"Maximum charge current\nBehaviour in use\n{table}", "max_charge")


@pytest.mark.parametrize(
    "text",
    [
        "Surface temperature | Max. charge current\n10 to 40 °C | 2 A",
        "Surface temperature | 10 ~ 40 °C | 40 ~ 50 °C\nMax. charge current | 2 A | 1 A",
    ],
)
def test_a_column_of_surface_temperatures_makes_bands_of_the_surface(text: str) -> None:
    """A band of the cell's surface would be granted in air as warm, where the cell is far warmer."""
    assert {each.basis for each in figures(text, "max_charge")} == {"surface"}


def test_columns_that_are_not_understood_are_marked() -> None:
    """The first of several columns would pass for the figure."""
    text = "Field | Winter pack | Summer pack\nNominal voltage (V) | 3.6 | 3.7"
    assert all(each.confirm for each in figures(text, "nominal_voltage"))


def test_models_in_columns_are_told_apart_by_where_their_values_stand() -> None:
    """One model's current would be stored for another."""
    text = (
        "                          KPL-18A     KPL-18B     KPL-21C\n"
        "Minimum capacity (mAh)    1950        2950        4400\n"
        "Max. charge current (A)   4.0         -           3.5\n"
        "Weight (g)                43          46          67\n"
    )
    reading = read_document(rows_of_text(text), "sheet.txt")
    found = {
        draft.model: [each.value for each in draft.figures if each.figure == "max_charge"]
        for draft in reading.drafts
    }
    assert found == {"KPL-18A": [4.0], "KPL-18B": [], "KPL-21C": [3.5]}


def test_a_web_page_is_read_by_its_tables_and_its_term_lists() -> None:
    """A saved sheet would be called no sheet, or each value stand under the label before it."""
    page = (
        "<table><tr><td rowspan=2>Capacity</td><td>Typical</td><td>4000 mAh</td></tr>"
        "<tr><td>Minimum</td><td>3900 mAh</td></tr></table>"
        "<dl><dt>Charge voltage</dt><dd>4.2 V</dd><dt>Weight</dt><dd>68 g</dd></dl>"
        "<nav>Max. charge current 99 A</nav>"
    )
    (draft,) = read_document(rows_of_html(page), "sheet.html").drafts
    assert [(each.figure, each.kind, each.value) for each in draft.figures] == [
        ("capacity", "typical", 4), ("capacity", "minimum", 3.9), ("charge_voltage", None, 4.2),
        ("mass", None, 68),
    ]  # fmt: skip


def test_a_section_of_tests_ends_where_the_lines_are_no_longer_indented() -> None:
    """Everything behind a line "Safety:" would be lost."""
    text = (
        "Nominal capacity: 2600 mAh\nCharge voltage: 4.2 V\nSafety:\n   overcharge 3C / 4.6 V   no fire\n"
        "   external short 80 mOhm   no fire\nWeight: 46 g\nMax. discharge current: 8 A"
    )
    found = {each.figure: (each.value, each.confirm) for each in draft_of(text).figures}
    assert found["mass"] == (46, False)
    assert found["max_discharge_unspecified"] == (8, False)
    assert found["charge_voltage"] == (4.2, False)


def test_a_figure_of_an_earlier_revision_is_used_only_where_no_other_is_and_then_marked() -> None:
    """A capacity that was lowered since would be stored."""
    table = "Rev. | Date | Change\nB | 2024 | max. discharge current was 15 A, weight 46 g\n"
    text = f"{table}\nNominal specification\nMax. discharge current | 12 A\nNominal capacity | 3 Ah"
    assert told(text, "max_discharge_unspecified") == [(12, None, None)]


def test_a_text_in_utf_16_without_its_mark_and_one_in_latin_1_are_read(tmp_path: Path) -> None:
    """A sheet saved by another program would be refused as no text."""
    text = "Typ: BZ-INR18650-26V\nNennkapazität: 2,60 Ah\nLadeschlussspannung: 4,2 V\nGewicht: 48 g\n" * 2
    for name, data in (("a.txt", text.encode("utf-16-le")), ("b.txt", text.encode("latin-1"))):
        (tmp_path / name).write_bytes(data)
        (draft,) = read_sheet(tmp_path / name).drafts
        assert {each.figure: each.value for each in draft.figures}["capacity"] == 2.6


def test_a_rate_and_its_current_in_two_cells_are_one_limit_that_says_what_1c_is() -> None:
    """The limit would be worked out with the least capacity although its current is printed beside it."""
    text = (
        "Charge current    Maximum   1C   3.4 A   10..45 °C\n"
        "                            0.3C   1.0 A   0..10 °C"
    )
    assert told(f"Nominal capacity   3.5 Ah\n{text}", "max_charge") == [(3.4, 10, 45), (1.0, 0, 10)]


def test_values_stand_over_their_labels_or_under_them() -> None:
    """A sheet that shows its figures large, each over its name, would give them to the wrong names."""
    over = "5000 mAh        3.63 V           68 g\nNominal capacity   Nominal voltage   Weight\n"
    under = "Nominal capacity   Nominal voltage   Weight\n5000 mAh        3.63 V           68 g\n"
    for text in (over, under):
        found = {each.figure: each.value for each in draft_of(text).figures}
        assert found == {"capacity": 5, "nominal_voltage": 3.63, "mass": 68}


def test_what_holds_for_charging_holds_for_the_lines_under_its_heading() -> None:
    """ "Max. current" under "Charging" would be a discharge current, or none."""
    text = (
        "Charging\n  Max. current   2.8 A at 10..45 °C\n                 0.8 A at 0..10 °C\n"
        "Discharging\n  Max. current   8 A"
    )
    assert told(text, "max_charge") == [(2.8, 10, 45), (0.8, 0, 10)]
    assert told(text, "max_discharge_unspecified") == [(8, None, None)]


def test_rows_between_drawn_rules_are_rows_however_many_lines_they_take(tmp_path: Path) -> None:
    """The temperatures of a limit, on the second line of its remark, would be lost or go to the next row."""
    from reportlab.lib.pagesizes import A4
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.platypus import Paragraph, SimpleDocTemplate, Table

    style = getSampleStyleSheet()["BodyText"]
    charge, warm = "Maximum charging current", "at ambient temperatures of 10 °C to 45 °C"
    discharge, range_ = "Maximum continuous discharging current", "from 0 °C up to 60 °C"
    rows = [
        ["Nominal capacity", "2600 mAh", ""], ["Nominal voltage", "3.6 V", ""],
        ["Charge voltage", "4.2 V", ""],
        [Paragraph(charge, style), "2.6 A", Paragraph(warm, style)],
        [Paragraph(discharge, style), "7.8 A", Paragraph(range_, style)], ["Weight", "46 g", ""],
    ]  # fmt: skip
    rule = ("LINEBELOW", (0, 0), (-1, -1), 0.5, (0, 0, 0))
    document = SimpleDocTemplate(str(tmp_path / "s.pdf"), pagesize=A4)
    document.build(
        [Paragraph("Model: TRD-18650-26", style), Table(rows, colWidths=[110, 90, 90], style=[rule])]
    )
    (draft,) = read_sheet(tmp_path / "s.pdf").drafts
    found = {each.figure: (each.value, each.low_c, each.high_c) for each in draft.figures}
    assert found["max_charge"] == (2.6, 10, 45)
    assert found["max_continuous_discharge"] == (7.8, 0, 60)
    assert found["mass"] == (46, None, None)
