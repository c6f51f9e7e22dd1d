"""A temperature of the cell that ends every discharge and stands on a line of its own.

Every sheet here is invented. How sheets word it is common practice, no source.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.draft import DraftFigure
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.reader import read_document

CURRENT = "Max. continuous discharge current: 9 A"


def read(text: str, name: str = "max_continuous_discharge") -> list[DraftFigure]:
    """Return the figures of one name, in order."""
    text = f"Model: DRB-18650-31K\nNominal capacity: 3100 mAh\nDischarge temperature: -20 to 60 °C\n{text}"
    (draft,) = read_document(rows_of_text(text), "sheet.txt").drafts
    return [each for each in draft.figures if each.figure == name]


@pytest.mark.parametrize(
    "line",
    [
        "The discharge has to be stopped when the surface of the cell reaches 72 °C.",
        "The surface may reach 72 °C at the end of a discharge; at 72 °C the load has to be switched off.",
        "Maximum surface temperature: 72 °C", "Cell surface temperature, max. | 72 °C",
        "Cell surface temperature during discharge   max. 72 °C", "The cell surface must not exceed 72 °C.",
        "Die Oberfläche der Zelle darf dabei 72 °C nicht überschreiten.", "电芯表面温度不得超过 72 ℃",
        "セル表面温度は72℃を超えないこと。", "Discharge cut-off temperature: 72 °C", "Temperature cut-off | 72 °C",
    ],
)  # fmt: skip
def test_a_surface_limit_on_a_line_of_its_own_ends_each_discharge(line: str) -> None:
    """9 A until the cell is 72 C hot would be 9 A for good, without a question."""
    assert [(each.value, each.cutoff_c, each.confirm) for each in read(f"{CURRENT}\n{line}")] == [
        (9, 72, True)
    ]


def test_surface_limits_that_differ_mark_and_none_is_taken() -> None:
    """One of two temperatures would be guessed."""
    text = f"{CURRENT}\nThe cell surface must not exceed 72 °C.\nDischarge cut-off temperature: 80 °C"
    assert [(each.cutoff_c, each.confirm) for each in read(text)] == [(None, True)]


@pytest.mark.parametrize(
    "line",
    [
        "Storage above 60 °C shortens the life of the cell.", "Surface temperature during charge: max. 65 °C",
        "Safety tests\nShort circuit: the cell surface must not exceed 120 °C.",
        "Max. charge current: 3 A", "Cell surface temperature, discharge: -20 to 60 °C",
    ],
)  # fmt: skip
def test_a_temperature_that_ends_no_discharge_marks_nothing(line: str) -> None:
    """Plain currents would be asked about again and again, until nobody looks any more."""
    assert [(each.cutoff_c, each.confirm) for each in read(f"{CURRENT}\n{line}")] == [(None, False)]


def test_currents_by_the_temperature_of_the_surface_hold_below_its_limit() -> None:
    """A matrix that stops at 60 C would be marked because the surface may reach 78 C."""
    text = (
        "Cell temperature (°C) | 0 to 20 | 20 to 60\nMax. continuous discharge (A) | 4 | 9\n"
        "At a surface of 78 °C the discharge has to be stopped."
    )
    assert [(each.value, each.high_c, each.confirm) for each in read(text)] == [
        (4, 20, False),
        (9, 60, False),
    ]


def test_a_surface_limit_beside_one_current_is_of_that_one() -> None:
    """The pulse would be ended by what the sheet says of the continuous current."""
    text = (
        "Parameter | Unit | Value | Condition\nMax. continuous discharge current | A | 9 | surface below 72 °C\n"
        "Pulse discharge current | A | 20 | 5 s"
    )
    assert [(each.cutoff_c, each.confirm) for each in read(text)] == [(72, True)]
    assert [(each.cutoff_c, each.confirm) for each in read(text, "pulse_discharge")] == [(None, False)]
