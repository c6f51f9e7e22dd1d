"""Tables that lost the places of their columns: cells parted by one blank, and several models one cell a line.

This is what a copied page gives (common practice, no source); every sheet here is invented, and what is true of it
was written down before it was read.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.draft import DraftFigure
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.reader import read_document

HEADED = """Data sheet KDE-21700-53 (invented)
Parameter Min. Typ. Max. Unit
Capacity 5150 5300 - mAh
Charge voltage 4.15 4.20 4.25 V
Discharge cut-off voltage 2.5 - - V
Charge current, 0 °C to 10 °C - - 1.0 A
Charge current, 10 °C to 45 °C - - 5.3 A
AC impedance, 1 kHz 22 26 mΩ
Weight - 70 71.5 g
"""
MODELS = """Cells of the SLD family (invented)
Item
SLD-18650-20
SLD-18650-35
Nominal capacity
2000 mAh
3500 mAh
Charge voltage
4.2 V
4.1 V
Max. charge current
0 to 10 °C
0.5 A
0.9 A
10 to 45 °C
6 A
3.4 A
Max. pulse current
40 A
Operating temperature
Charge
0 to 45 °C
5 to 45 °C
"""


def figures(text: str) -> list[DraftFigure]:
    """Return the figures of the one model of a text."""
    (draft,) = read_document(rows_of_text(text), "sheet.txt").drafts
    return list(draft.figures)


def test_values_stand_below_the_heads_of_their_columns() -> None:
    """The highest voltage of a column "Max." would be the voltage to charge to."""
    found = {(f.figure, f.kind, f.value, f.low_c, f.confirm) for f in figures(HEADED)}
    assert {
        ("capacity", "minimum", 5.15, None, False), ("capacity", "typical", 5.3, None, False),
        ("charge_voltage", None, 4.2, None, False), ("cutoff_voltage", None, 2.5, None, False),
        ("max_charge", "maximum", 1.0, 0.0, False), ("max_charge", "maximum", 5.3, 10.0, False),
        ("mass", None, 70.0, None, False), ("mass", None, 71.5, None, False),
    } <= found  # fmt: skip


def test_a_line_with_an_empty_cell_left_out_is_marked() -> None:
    """A typical resistance would be taken for the smallest one, unmarked."""
    assert all(f.confirm for f in figures(HEADED) if f.figure == "ac_resistance")


def test_numbers_before_a_number_mark_it_where_nothing_heads_them() -> None:
    """The last of three columns would be the voltage to charge to, unmarked."""
    text = "Model: KDE-21700-53\nNominal capacity 5300 mAh\nNominal voltage 3.6 V\nCharge voltage 4.15 4.20 4.25 V\n"
    assert [f.confirm for f in figures(text) if f.figure == "charge_voltage"] == [True]
    assert [f.confirm for f in figures(text) if f.figure == "nominal_voltage"] == [False]


def test_each_model_gets_its_values_by_the_order_of_the_lines_and_all_are_marked() -> None:
    """The second model would be lost and its values be given to the first."""
    drafts = read_document(rows_of_text(MODELS), "sheet.txt").drafts
    assert [draft.model for draft in drafts] == ["SLD-18650-20", "SLD-18650-35"]
    own = [{(f.figure, f.value, f.low_c, f.high_c) for f in draft.figures} for draft in drafts]
    assert own == [
        {("capacity", 2.0, None, None), ("charge_voltage", 4.2, None, None), ("max_charge", 0.5, 0.0, 10.0),
         ("max_charge", 6.0, 10.0, 45.0), ("operating_temperature", None, 0.0, 45.0)},
        {("capacity", 3.5, None, None), ("charge_voltage", 4.1, None, None), ("max_charge", 0.9, 0.0, 10.0),
         ("max_charge", 3.4, 10.0, 45.0), ("operating_temperature", None, 5.0, 45.0)},
    ]  # fmt: skip
    assert all(f.confirm for draft in drafts for f in draft.figures)


@pytest.mark.parametrize("place", [0, 1])
def test_one_value_for_two_models_is_of_none_and_seen(place: int) -> None:
    """The pulse current of one model would be given to the other."""
    draft = read_document(rows_of_text(MODELS), "sheet.txt").drafts[place]
    assert "pulse_discharge" not in {f.figure for f in draft.figures}
    assert "pulse_discharge" in {each.figure for each in draft.not_understood}


@pytest.mark.parametrize("head", ["Item BTL-18650-26 BTL-18650-34", "Two cells: BTL-18650-26 / BTL-18650-34"])
def test_values_of_two_models_that_one_blank_parts_are_told_by_order_and_marked(head: str) -> None:
    """The values of the second model would be given to the first, or be lost."""
    text = f"""Product line overview (invented)
{head}
Nominal capacity 2600 mAh 3400 mAh
Max. charge current
0 to 10 °C 0.5 A 0.7 A
10 to 45 °C 2.6 A 1.7 A
Max. pulse current 20 A
Discharge temperature -20 to 60 °C -10 to 60 °C
Weight 46 g 48 g
"""
    drafts = read_document(rows_of_text(text), "sheet.txt").drafts
    assert [draft.model for draft in drafts] == ["BTL-18650-26", "BTL-18650-34"]
    own = [{(f.figure, f.value, f.low_c, f.high_c) for f in draft.figures} for draft in drafts]
    assert own == [
        {("capacity", 2.6, None, None), ("max_charge", 0.5, 0.0, 10.0), ("max_charge", 2.6, 10.0, 45.0),
         ("operating_temperature", None, -20.0, 60.0), ("mass", 46.0, None, None)},
        {("capacity", 3.4, None, None), ("max_charge", 0.7, 0.0, 10.0), ("max_charge", 1.7, 10.0, 45.0),
         ("operating_temperature", None, -10.0, 60.0), ("mass", 48.0, None, None)},
    ]  # fmt: skip
    assert all(f.confirm for draft in drafts for f in draft.figures)
    assert all("pulse_discharge" in {each.figure for each in draft.not_understood} for draft in drafts)
