"""Figures in sentences and in values of several parts, and lines that speak of another product.

The wordings are those of mails, data cards and shop pages (common practice, no source); every text here is
invented, and what is true of it was written down before it was read.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.draft import DraftFigure
from registry.sheet_reader.files.markup import rows_of_html
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.reader import read_document


def figures(text: str, name: str) -> list[DraftFigure]:
    """Return the figures of one name of a text that also states what makes it a sheet."""
    base = "Model: LFD-18650-31\nNominal capacity: 3100 mAh\nNominal voltage: 3.6 V\n"
    (draft,) = read_document(rows_of_text(base + text), "sheet.txt").drafts
    return [each for each in draft.figures if each.figure == name]


@pytest.mark.parametrize(
    "text",
    [
        "The cell is charged to 4.18 V and may be used down to 2.6 V.",
        "You should charge the cell up to 4.18 V (plus or minus 0.03 V) and end the discharge at 2.6 V.",
        "Please stop charging at 4.18 V and stop discharging at 2.6 V.",
    ],
)
def test_volts_that_a_sentence_charges_or_discharges_to_are_offered(text: str) -> None:
    """Full and empty voltage of a mail would be lost."""
    assert {(each.value, each.confirm) for each in figures(text, "charge_voltage")} == {(4.18, True)}
    if "discharg" in text:
        assert {(each.value, each.confirm) for each in figures(text, "cutoff_voltage")} == {(2.6, True)}


def test_a_voltage_at_which_something_else_happens_is_not_offered() -> None:
    """A cell found at 2.9 V would have 2.9 V as its full voltage."""
    text = "Charge the cell with 0.1 A while it is below 2.9 V. A cell that was charged shows 3.9 V after a week."
    assert figures(text, "charge_voltage") == []


@pytest.mark.parametrize(
    "text", ["Charging\n  Method: CC/CV to 4.17 V\n", "Charge method: CC-CV, 1.5 A, 4.17 V, 60 mA\n"]
)
def test_the_voltage_of_a_method_of_charging_is_the_full_voltage(text: str) -> None:
    """The full voltage of a sheet that prints it only with the method would be lost."""
    assert [each.value for each in figures(text, "charge_voltage")] == [4.17]


def test_a_state_of_charge_beside_a_pulse_is_no_charging() -> None:
    """The pulse current would be lost because "charge" stands in its line."""
    (found,) = figures(
        "Discharge current, pulse: 38 A, for no longer than 5 s, state of charge above 40 %\n",
        "pulse_discharge",
    )
    assert (found.value, found.seconds) == (38, 5)


def test_a_line_of_a_neighbour_product_is_left_out_and_told() -> None:
    """22 A of a cell from "see also" would be offered for this one."""
    page = (
        "<h1>Cell LFD-18650-31</h1><dl><dt>Nominal capacity</dt><dd>3100 mAh</dd><dt>Nominal voltage</dt>"
        "<dd>3.6 V</dd></dl><h3>You may also like</h3><p>LFD-21700-45: 4500 mAh, 22 A continuous discharge</p>"
    )
    reading = read_document(rows_of_html(page), "page.html")
    (draft,) = reading.drafts
    assert draft.model == "LFD-18650-31"
    assert [(each.figure, each.value) for each in draft.figures if each.unit == "A"] == []
    assert [each.value for each in draft.figures if each.figure == "capacity"] == [3.1]
    assert any("LFD-21700-45" in remark for remark in reading.remarks)
