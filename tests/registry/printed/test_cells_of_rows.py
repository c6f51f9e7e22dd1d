"""Numbers in the cells of a row stay apart, and so do the entries of a list parted by strokes."""

from __future__ import annotations

import pytest

from registry.printed.finding import find_printed


def found(text: str) -> list[tuple[float, float, str | None]]:
    return [(each.low, each.high, each.unit) for each in find_printed(text)]


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        # Rule: a tab parts cells.
        ("40 km\tup to 62 km", [(40, 40, "km"), (62, 62, "km")]),
        ("3 A\t-\t5 A", [(3, 3, "A"), (5, 5, "A")]),
        ("40 km up to 62 km", [(40, 62, "km")]),
        # Rule: a word with a colon begins an entry of its own and makes no unit of the one before.
        ("12Ah / cells: 18A", [(12, 12, "Ah"), (18, 18, "A")]),
        ("120 Wh / kg", [(120, 120, "Wh/kg")]),
    ],
)
def test_no_number_takes_in_its_neighbour(text: str, numbers: list[tuple[float, float, str]]) -> None:
    """Two packs' figures become one range, or a capacity an unknown unit."""
    assert found(text) == numbers
