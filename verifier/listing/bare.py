"""Numbers that stand without a unit and are given one by their label: "Cycles: 500", "Zellenzahl: 52".

The mAh of a cell is often printed bare ("10S4P of 2900s", "celdas de 2600"); such a number is only offered as
a candidate, and taken where cells in parallel times it come to the capacity stated.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Sequence

from verifier.listing.labels import Label
from verifier.listing.numbers import Quantity, number_value
from verifier.listing.vocabulary import LETTER, Unit

BARE = "bare"
_BEHIND_LABEL = re.compile(
    rf"\s?(?:\([^()\d]{{1,30}}\))?\s?(?:[:：=\t|\n]|\.{{3,}}|…)[\s|:：]*(?:ca\.?|about|approx\.?|circa|env\.?|约|約|über|over|>|≥|\+)?\s?"
    rf"(\d{{1,3}}(?:[., ']\d{{3}})|\d{{1,5}})(?![\d.,]*\d|\s?[{LETTER}%°])"
)
_CELL_MAH = re.compile(
    rf"(?<![\d.,\-/{LETTER}])([1-6]\d{{3}})(?:(?:'?s|er)(?![{LETTER}\d])|(?![\d.,]|\s?[-/]?[{LETTER}%°]))(?!\s?[x×*])"
)
_SMALLEST_CYCLES, _MOST_CYCLES = 100, 20_000
_FEWEST_CELLS, _MOST_CELLS = 4, 2000


def bare_numbers(lower: str, labels: Sequence[Label], quantities: Sequence[Quantity]) -> Iterator[Quantity]:
    """Yield the numbers that a label gives a unit.

    Parameters
    ----------
    lower : str
        The folded text, without what was taken out.
    labels, quantities : sequence
        What was found, in order of place.
    """
    places = [(quantity.start, quantity.end) for quantity in quantities]
    starts = [start for start, _ in places]

    def free(start: int, end: int) -> bool:
        index = bisect_right(starts, end - 1) - 1
        return index < 0 or places[index][1] <= start

    for label in labels:
        match = _BEHIND_LABEL.match(lower, label.end)
        unit = _unit_of(label.names)
        if match is None or unit is None or not free(*match.span(1)):
            continue
        value = number_value(match[1].replace(" ", "").replace("'", ""), thousands=True)
        if value is not None and _is_likely(unit, value):
            yield Quantity(unit, value, *match.span(1), own=set(label.names))
    yield from _cells(lower, labels, quantities, free)


def _unit_of(names: frozenset[str]) -> Unit | None:
    if "life" in names:
        return Unit("cycle", "cycles", 1)
    if names >= {"count", "cell"}:
        return Unit("cell", "cells", 1)
    return None


def _is_likely(unit: Unit, value: float) -> bool:
    if unit.dimension == "cycles":
        return _SMALLEST_CYCLES <= value <= _MOST_CYCLES
    return _FEWEST_CELLS <= value <= _MOST_CELLS


def _cells(
    lower: str, labels: Sequence[Label], quantities: Sequence[Quantity], free: Callable[[int, int], bool]
) -> Iterator[Quantity]:
    """Yield what may be the mAh of a cell: a bare number near the word for cells or a count in parallel."""
    near = [label.start for label in labels if "cell" in label.names]
    near += [quantity.end for quantity in quantities if quantity.dimension == "parallel"]
    near.sort()
    for match in _CELL_MAH.finditer(lower):
        start, end = match.span(1)
        index = bisect_left(near, start - 30)
        if index < len(near) and near[index] <= end + 20 and free(start, end) and float(match[1]) % 50 == 0:
            yield Quantity(Unit(BARE, "capacity", 0.001), float(match[1]) / 1000, start, match.end())
