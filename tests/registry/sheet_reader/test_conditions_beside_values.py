"""Columns that say how a value was measured: what stands there is no value, and takes no unit of another column.

A column for the value, one for its unit and one for the test condition is how sheets are set as workbooks
(common practice, no source); every sheet here is invented, and what is true of it was written down before it
was read.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.files.text import rows_of_csv
from registry.sheet_reader.reader import read_document
from registry.sheet_reader.units_at_values import with_unit

HEADS = ("Test condition", "Test conditions", "Condition", "Measured with", "Prüfbedingung", "")


def draft_of(head: str, *rows: str) -> SheetDraft:
    """Return the draft of a table of values, their units and a last column with this head."""
    lines = ["Model,QDN-26700-41F,,", f"Parameter,Value,Unit,{head}", "1. Electrical,,,"]
    lines += ["Nominal capacity,4100,mAh,0.5C to 2.0 V", "Nominal voltage,3.2,V,", *rows]
    (draft,) = read_document(rows_of_csv("\n".join(lines)), "sheet.csv").drafts
    return draft


@pytest.mark.parametrize("head", HEADS)
def test_a_frequency_beside_a_resistance_is_no_resistance(head: str) -> None:
    """A cell of 3 milliohm would be registered with a third of its resistance and judged too cool."""
    draft = draft_of(head, "AC internal resistance,≤ 3.0,mΩ,1 kHz", "Maximum charge current,4.1,A,")
    assert [each.value for each in draft.figures if each.figure == "ac_resistance"] == [3.0]


@pytest.mark.parametrize("head", HEADS)
def test_the_seconds_beside_a_pulse_are_its_seconds(head: str) -> None:
    """A pulse of ten seconds would be registered as one without an end."""
    draft = draft_of(head, "Maximum pulse discharge current,36,A,10 s", "Maximum charge current,4.1,A,")
    pulses = [(each.value, each.seconds) for each in draft.figures if each.figure == "pulse_discharge"]
    assert pulses == [(36.0, 10.0)]


@pytest.mark.parametrize("head", ["Test condition", "Condition", "Measured with"])
@pytest.mark.parametrize("beside", ["10", "5", "25"])
def test_a_number_alone_beside_a_current_is_no_current(head: str, beside: str) -> None:
    """A number of seconds or degrees would be registered, without a mark, as a current the cell allows."""
    draft = draft_of(
        head, f"Maximum continuous discharge current,15,A,{beside}", "Maximum charge current,4.1,A,"
    )
    sure = [e.value for e in draft.figures if e.figure == "max_continuous_discharge" and not e.confirm]
    assert float(beside) not in sure


@pytest.mark.parametrize("text", ["1 kHz", "10 s", "30 min", "3 months", "0.5C", "25 °C"])
def test_a_number_with_a_unit_of_its_own_takes_no_other(text: str) -> None:
    """One kilohertz would become one milliohm, and ten seconds ten amperes."""
    assert with_unit(text, "mΩ") == text


@pytest.mark.parametrize(
    ("text", "whole"), [("20 or less", "20 mΩ or less"), ("20以下", "20 mΩ以下"), ("18", "18 mΩ")]
)
def test_words_behind_a_number_keep_no_unit_from_it(text: str, whole: str) -> None:
    """A limit printed without its unit would be lost."""
    assert with_unit(text, "mΩ") == whole
