"""Figures told in pairs: "continuous / peak: 20 / 45 A", "20 A / 45 A (continuous / peak)", "full / empty: 42 / 30 V".

Each figure has the label of its place, and no other: a peak never counts as continuous.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import pairwise

from verifier.listing.labels import Label, affects
from verifier.listing.quantity import Quantity
from verifier.listing.tables import Table

# What tells the two of a pair apart, by what they measure.
_KINDS = {
    "current": frozenset({"continuous", "peak", "max", "nominal", "working", "charge", "discharge", "usual"}),
    "voltage": frozenset({"nominal", "full", "empty", "low", "end", "charge", "min", "max"}),
}
_WAYS = frozenset({"charge", "discharge"})
_SLASH = re.compile(r"[\s.)）]*[/／][\s(（]*")
_BEFORE = re.compile(r"[\s:：)）\].=|】\-]*[为為は約约]?\s?")
_BEHIND = re.compile(r"[\s(（]*")


def bind_pairs(
    lower: str, labels: Sequence[Label], quantities: Sequence[Quantity], tables: Sequence[Table]
) -> None:
    """Give two amperes, or two volts, parted by a slash the two labels parted by one.

    Parameters
    ----------
    lower : str
        The folded text.
    labels, quantities : sequence
        What was found, in order of place, labels bound.
    tables : sequence of Table
        Whose heads may hold the labels of what stands in the cells.
    """
    starts, ends = [label.start for label in labels], [label.end for label in labels]
    for first, second in pairwise(q for q in quantities if q.dimension in _KINDS):
        if (
            first.dimension != second.dimension
            or first.line != second.line
            or not _SLASH.fullmatch(lower, first.end, second.start)
        ):
            continue
        index = bisect_right(ends, first.start)
        before = labels[max(0, index - 2) : index]
        index = bisect_left(starts, second.end)
        behind = labels[index : index + 2]
        kinds = _KINDS[first.dimension]
        if _is_pair(lower, before, kinds) and _BEFORE.fullmatch(lower, before[1].end, first.start):
            _give(before, (first, second), kinds)
        elif _is_pair(lower, behind, kinds) and _BEHIND.fullmatch(lower, second.end, behind[0].start):
            _give(behind, (first, second), kinds)
    for table in tables:
        for head, cell in table.headed():
            for dimension, kinds in _KINDS.items():
                both = [quantity for quantity in cell.quantities if quantity.dimension == dimension]
                if len(both) == 2 and _is_pair(lower, head.labels, kinds):
                    _give(head.labels, both, kinds)


def _is_pair(lower: str, labels: Sequence[Label], kinds: frozenset[str]) -> bool:
    """Return whether two labels stand with a slash between, and say each when a figure goes."""
    if len(labels) != 2 or labels[0].line != labels[1].line:
        return False
    one, other = (label.names & kinds for label in labels)
    parted = _SLASH.fullmatch(lower, labels[0].end, labels[1].start) is not None
    return bool(one and other) and one != other and parted


def _give(labels: Sequence[Label], quantities: Sequence[Quantity], kinds: frozenset[str]) -> None:
    shared = (labels[0].names | labels[1].names) - kinds
    # "Charging current recommended / maximum": both are of charging.
    of_charge = (labels[0].names | labels[1].names) & _WAYS
    if len(of_charge) == 1:
        shared |= of_charge
    for label, quantity in zip(labels, quantities, strict=True):
        quantity.own = (quantity.own - kinds) | {
            name for name in shared | label.names & kinds if affects(name, quantity)
        }
        quantity.said.append(label.names)
        quantity.carried -= kinds
