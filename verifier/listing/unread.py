"""What may be read of a language that is not read: codes, and figures that their units alone make plain.

Not a word of such a line is understood, not even "not". So only the line that gives the pack's code (13S4P), or
the only pair of volts and ampere-hours, is taken, and of it only what no word could turn into something else.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from verifier.listing.found import Found
from verifier.listing.meaning import HIGHEST_CELL_V
from verifier.listing.quantity import Quantity

REASON = "by its unit alone; its language is not read"
_CODES = ("series", "parallel")
_WORDS = ("price", "currency", "cell_marking")
_OF_TITLE = ("nominal_voltage_v", "capacity_ah", "energy_wh")
_BY_UNIT = (*_OF_TITLE, "cell_capacity_ah")


def lines_by_unit(quantities: Sequence[Quantity], unread: set[int]) -> set[int]:
    """Return the lines of an unread language whose volts, Ah and Wh name the pack.

    Parameters
    ----------
    quantities : sequence of Quantity
        Every number in order of place.
    unread : set of int
        The lines in a language that is not read.
    """
    inside = [quantity for quantity in quantities if quantity.line in unread]
    coded = set(_lines_of_pairs(inside, "series", "parallel"))
    pairs = {
        (volts.value, capacity.value): volts.line
        for volts, capacity in _pairs(inside, "voltage", "capacity")
        if volts.value > HIGHEST_CELL_V
    }
    named = set(pairs.values())
    # Two packs named in one text: which is on sale, only its words say.
    return (
        (coded & named or named) if len(pairs) == 1 else coded & named if len(coded & named) == 1 else set()
    )


def _pairs(quantities: Iterable[Quantity], first: str, second: str) -> Iterable[tuple[Quantity, Quantity]]:
    return (
        (a, b)
        for a, b in pairwise(quantities)
        if (a.dimension, b.dimension) == (first, second) and a.run == b.run
    )


def _lines_of_pairs(quantities: Iterable[Quantity], first: str, second: str) -> Iterable[int]:
    return (a.line for a, _ in _pairs(quantities, first, second))


def is_read(each: Found, by_unit: set[int]) -> bool:
    """Return whether a figure of an unread line may be a claim."""
    if each.quantity is None:
        return each.field not in _WORDS
    return (
        each.field in _CODES
        or (each.title and each.field in _OF_TITLE)
        or (each.line in by_unit and each.field in _BY_UNIT)
    )
