"""Marks of notes behind the number of a value, which has its unit elsewhere: at the head, in a column, behind it.

Every sheet here is invented. How sheets print them is common practice, no source.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.reader import read_document

CURRENT = "max_continuous_discharge"
MARKS = ["¹⁾", "1)", "(1)", "¹", "*1", "[1]", "note 1", "1", "*"]
LAYOUTS = [
    "Parameter | Value (A)\nMax. continuous discharge current | {}",
    "Parameter | Min | Max | Unit\nNominal voltage | | 3.6 | V\nMax. continuous discharge current | | {} | A",
    "Parameter | Value | Unit\nNominal voltage | 3.6 | V\nMax. continuous discharge current | {} | A",
    "Max. continuous discharge current (A) | {}",
    "Max. continuous discharge current | {} A",
    "Max. continuous discharge current    {}   A",
]


def drafts(text: str) -> tuple[SheetDraft, ...]:
    """Return the drafts of a text."""
    return read_document(rows_of_text(text), "sheet.txt").drafts


@pytest.mark.parametrize("mark", MARKS)
@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_digit_of_a_mark_is_never_the_current(layout: str, mark: str) -> None:
    """32 A with the mark of a note would be stored as 1 A, without a question and without the note."""
    (draft,) = drafts(f"Model: VLT-2148-B\nCapacity: 3.2 Ah\n{layout.format('32 ' + mark)}")
    found = [each for each in draft.figures if each.figure == CURRENT]
    assert [each.value for each in found if each.value != 32] == []
    assert all(each.confirm for each in found)
    assert found or CURRENT in [each.figure for each in draft.not_understood]


@pytest.mark.parametrize("mark", MARKS)
def test_a_mark_in_a_column_of_models_is_followed_for_its_model_alone(mark: str) -> None:
    """The note of one model would be lost, or bound another model."""
    begin = "*" if mark == "*" else "1)"
    text = (
        "Parameter | Unit | VLT 21-32B | VLT 21-46D\nTypical capacity | mAh | 3200 | 4600\n"
        "Minimum capacity | mAh | 3100 | 4500\n"
        f"Max. continuous discharge current | A | 32 {mark} | 9\n{begin} Cell surface not above 78 °C."
    )
    found = [
        [(each.value, each.cutoff_c, each.confirm) for each in draft.figures if each.figure == CURRENT]
        for draft in drafts(text)
    ]
    assert found == [[(32, 78, True)], [(9, None, False)]]
