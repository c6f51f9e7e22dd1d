"""Notes that a column of conditions names ("note 1", "*"), and note marks behind the number of a value.

Every sheet here is invented. How sheets word them is common practice, no source.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.draft import DraftFigure
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.reader import read_document

BASE = (
    "Model: DRB-18650-31K\nNominal capacity: 3100 mAh\n"
    "Charge temperature: 0 to 45 °C\nDischarge temperature: -20 to 60 °C\n"
)


def read(text: str, name: str) -> list[DraftFigure]:
    """Return the figures of one name, in order."""
    (draft,) = read_document(rows_of_text(BASE + text), "sheet.txt").drafts
    return [each for each in draft.figures if each.figure == name]


@pytest.mark.parametrize("row", ["{}   3 A", "3 A   {}"])
@pytest.mark.parametrize(
    ("mark", "note"),
    [
        ("note 1", "1   Only between 12 °C and 42 °C."),
        ("note 1", "Notes\n1   Between 12 °C and 42 °C"),
        ("note 1", "1. From 12 °C to 42 °C."),
        ("Note 1", "Note 1: from 12 °C to 42 °C"),
        ("siehe Anmerkung b", "b) Nur von 12 °C bis 42 °C."),
        ("*", "* Valid from 12 °C to 42 °C."),
        ("*1", "*1 Only between 12 °C and 42 °C."),
        ("1)", "1) Only between 12 °C and 42 °C."),
    ],
)
def test_a_note_named_in_a_column_of_conditions_gives_the_band(row: str, mark: str, note: str) -> None:
    """3 A that the note allows from 12 C on would be charged at 0 C, and plate lithium."""
    (found,) = read(f"Charge current, maximum   {row.format(mark)}\n{note}", "max_charge")
    assert (found.value, found.low_c, found.high_c) == (3, 12, 42)


def test_the_second_limit_of_a_named_note_is_read() -> None:
    """The 1.55 A that the cold allows would be lost, and the cell discharged with 9.3 A there."""
    text = (
        "Max. continuous discharge current   3C   note 2\n"
        "1. C-rates refer to 3100 mAh.\n2. Valid from 10 °C to 60 °C. Below 10 °C: 0.5C."
    )
    found = [(each.value, each.low_c, each.high_c) for each in read(text, "max_continuous_discharge")]
    assert found == [(9.3, 10, 60), (1.55, -20, 10)]


@pytest.mark.parametrize(
    "mark", ["note 1", "see note 1", "*", "*1", "1)", "(1)", "siehe Anmerkung a", "备注1"]
)
@pytest.mark.parametrize("row", ["{}   3 A", "3 A   {}"])
def test_a_named_note_that_is_not_found_marks_its_figure(row: str, mark: str) -> None:
    """What the lost note says of the current would be forgotten without a word."""
    text = f"Charge current, maximum   {row.format(mark)}\nDrob GmbH, page 1"
    assert [(each.value, each.confirm) for each in read(text, "max_charge")] == [(3, True)]


def test_a_numbered_heading_is_no_note() -> None:
    """A section's heading would stand for the note, and the figures below it would be lost."""
    text = "Charge current, maximum   note 2   3 A\n2. Mechanical data\n3. Weight: 46 g"
    assert [each.confirm for each in read(text, "max_charge")] == [True]
    assert [each.value for each in read(text, "mass")] == [46]
