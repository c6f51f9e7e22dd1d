"""The current that a charge ends at, wherever it stands beside the charge current.

Every sheet here is invented. How sheets word it is common practice, no source.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.draft import DraftFigure
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.reader import read_document


def read(line: str, name: str) -> list[DraftFigure]:
    """Return the figures of one name, in order."""
    text = f"Model: DRB-18650-31K\nNominal capacity: 3100 mAh\nNominal voltage: 3.6 V\n{line}"
    (draft,) = read_document(rows_of_text(text), "sheet.txt").drafts
    return [each for each in draft.figures if each.figure == name]


ENDS = [
    "cut-off at 90 mA", "until 90 mA", "to 90 mA", "down to 90 mA", "end current 90 mA", "taper to 90 mA",
    "termination at 90 mA", "CC/CV, until 90 mA", "bis 90 mA", "Abbruch bei 90 mA", "jusqu'à 90 mA", "至 90 mA",
    "截止 90 mA", "until I < 90 mA", "CC-CV, until 0.03C",
]  # fmt: skip


@pytest.mark.parametrize("end", ENDS)
@pytest.mark.parametrize(
    "row",
    [
        "Charge current, standard   {}   1.5 A", "Charge current, standard   1.5 A   {}",
        "Charge current, standard | {} | 1.5 A", "Standard charge current: 1.5 A, {}",
    ],
)  # fmt: skip
def test_where_a_charge_ends_is_never_what_it_is_done_with(row: str, end: str) -> None:
    """A charge of 0.09 A would be stored for one of 1.5 A, and no charger would fit."""
    found = read(row.format(end), "standard_charge")
    assert [(each.value, each.confirm) for each in found] == [(1.5, False)]


@pytest.mark.parametrize("end", ENDS)
def test_an_end_alone_is_no_charge_current_without_a_question(end: str) -> None:
    """Where the charge current is lost, its end would take its place."""
    assert all(each.confirm for each in read(f"Charge current: {end}", "standard_charge"))


@pytest.mark.parametrize("line", ["Maximaler Ladestrom: bis 4 A", "Max. charge current   up to 4 A"])
def test_a_charge_of_up_to_so_much_is_a_limit(line: str) -> None:
    """The limit would be taken for the end of the charge, and be missing."""
    assert [(each.value, each.confirm) for each in read(line, "max_charge")] == [(4, False)]
