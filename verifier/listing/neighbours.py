"""A shop's menu and its other goods, told by their form: short items with volts or prices that are not the pack's.

What heads them is left to ``turns``. Here nothing but the title says which pack is on sale, so that a listing
whose title names no single pack has no neighbours by form.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby

from verifier.listing.clauses import Clause
from verifier.listing.labels import Label
from verifier.listing.layout import Line
from verifier.listing.numbers import Quantity
from verifier.listing.taken_out import Price

_PARTS = re.compile(r"\s*[|｜·•›»>]\s*|\s+/\s+|\t+")
_FIRST = 3
_FEWEST_PARTS = 3
_LONGEST_PART = 40
_LONGEST_ITEM = 110
_LONGEST_ADVICE = 240
# 48 V and 46.8 V name one pack.
_APART = 1.07
_OF_FIGURES = frozenset({
    "capacity", "energy", "voltage", "current", "mass", "range", "life", "time", "bms", "continuous", "peak",
})  # fmt: skip


@dataclass(slots=True)
class Figures:
    """A listing's lines with their numbers and prices."""

    lower: str
    lines: Sequence[Line]
    quantities: Sequence[Quantity]
    prices: Sequence[Price]
    by_line: dict[int, list[Quantity]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for quantity in self.quantities:
            self.by_line.setdefault(quantity.line, []).append(quantity)

    def values(self, start: int, end: int, dimension: str) -> set[float]:
        """Return the values of a dimension between two places."""
        return {q.value for q in self.quantities if start <= q.start < end and q.dimension == dimension}

    def has_price(self, line: Line) -> bool:
        """Return whether a line names an amount of money."""
        return any(line.start <= price.start < line.end for price in self.prices)


def menus_of(figures: Figures) -> set[int]:
    """Return the first lines that are a shop's menu: short items, of which some name volts and some nothing."""
    found: set[int] = set()
    for line in figures.lines[:_FIRST]:
        if line.number != len(found) or not _is_menu(figures, line):
            break
        found.add(line.number)
    return found


def _is_menu(figures: Figures, line: Line) -> bool:
    parts = [part for part in _PARTS.split(figures.lower[line.start : line.end]) if part.strip()]
    if len(parts) < _FEWEST_PARTS or max(map(len, parts)) > _LONGEST_PART:
        return False
    if any(q.dimension not in ("voltage", "current") for q in figures.by_line.get(line.number, [])):
        return False
    plain = sum(not any(letter.isdigit() for letter in part) for part in parts)
    volts = figures.values(line.start, line.end, "voltage")
    # The pack itself is named further on, with its volts and its ampere-hours.
    below = figures.lines[line.number + 1 : line.number + 1 + _FIRST]
    own = next((each for each in below if figures.values(each.start, each.end, "capacity")), None)
    named = figures.values(own.start, own.end, "voltage") if own is not None else set()
    return bool(plain and named) and not volts <= named


def neighbours_of(figures: Figures, title: tuple[int, int], labels: Sequence[Label]) -> Iterator[int]:
    """Yield the lines of other goods: short, with a price and another voltage and capacity than the title's.

    Parameters
    ----------
    figures : Figures
        The lines with their numbers.
    title : tuple of int
        Where the title stands; one that names no single pack tells nothing.
    labels : sequence of Label
        The known words: a line that labels figures tells of the pack.
    """
    volts = figures.values(*title, "voltage")
    capacities = figures.values(*title, "capacity")
    if len(volts) != 1 or len(capacities) != 1:
        return
    own_volts, own_capacity = volts.pop(), capacities.pop()
    telling = {label.line for label in labels if label.names & _OF_FIGURES}
    candidates = [
        line
        for line in figures.lines
        if line.start >= title[1]
        and line.number not in telling
        and _are_goods(figures, line, own_volts, own_capacity)
    ]
    # A list in which the title's pack stands too is the choice that the seller gives.
    blocks = {
        line.block
        for line in figures.lines
        if line.start >= title[1] and _is_own(figures, line, own_volts, own_capacity)
    }
    yield from (line.number for line in candidates if line.block not in blocks)


def _are_goods(figures: Figures, line: Line, volts: float, capacity: float) -> bool:
    others = figures.values(line.start, line.end, "voltage")
    held = figures.values(line.start, line.end, "capacity")
    # An item is short; a line may hold several.
    items = len(_PARTS.findall(figures.lower[line.start : line.end])) + 1
    if line.end - line.start > _LONGEST_ITEM * items or not figures.has_price(line) or not (others and held):
        return False
    apart = all(max(each, volts) / min(each, volts) > _APART for each in others)
    return apart and capacity not in held


def _is_own(figures: Figures, line: Line, volts: float, capacity: float) -> bool:
    return (
        capacity in figures.values(line.start, line.end, "capacity")
        and volts in figures.values(line.start, line.end, "voltage")
        and figures.has_price(line)
    )


def advised(
    lower: str,
    clauses: Sequence[Clause],
    title: tuple[int, int],
    words: Sequence[Mapping[str, re.Pattern[str]]],
) -> Iterator[Quantity]:
    """Yield the figures of another pack that a buyer is advised to take ("if you need more, take the 52V 20Ah").

    Parameters
    ----------
    lower : str
        The folded text.
    clauses : sequence of Clause
        With their numbers.
    title : tuple of int
        Where the title stands; what it names is the pack itself.
    words : sequence of mapping
        By language what takes, and what makes it a condition.
    """
    own = {
        (q.dimension, q.value)
        for clause in clauses
        for q in clause.quantities
        if title[0] <= q.start < title[1]
    }
    if sum(dimension == "capacity" for dimension, _ in own) != 1:
        return
    for _, group in groupby(clauses, key=lambda clause: clause.sentence):
        sentence = list(group)
        start, end = sentence[0].start, min(sentence[-1].end, sentence[0].start + _LONGEST_ADVICE)
        for known in words:
            take = known["take"].search(lower, start, end) if known else None
            if take is None or known["condition"].search(lower, start, end) is None:
                continue
            # In Japanese and Chinese the verb may stand behind.
            begin = start if not lower[take.start()].isascii() else take.end()
            figures = [q for clause in sentence for q in clause.quantities if q.start >= begin]
            packs = [q for q in figures if q.dimension in ("voltage", "capacity")]
            others = {q.dimension for q in packs if (q.dimension, q.value) not in own}
            if "capacity" in others or (others and not any(c.named("charger") for c in sentence)):
                yield from packs
                break
