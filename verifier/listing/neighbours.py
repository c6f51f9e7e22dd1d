"""A shop's menu and its other goods, told by their form: short items with volts or prices that are not the pack's.

What heads them is left to ``turns``. Here nothing but the title says which pack is on sale, so that a listing
whose title names no single pack has no neighbours by form.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby

from verifier.listing.clauses import Clause
from verifier.listing.labels import Label
from verifier.listing.layout import Line
from verifier.listing.quantity import Quantity
from verifier.listing.taken_out import Price

_PARTS = re.compile(r"[|｜·•›»>\t]|\s/\s")
_FIRST = 3
_FEWEST_PARTS = 3
_LONGEST_PART = 40
_LONGEST_ITEM = 110
_LONGEST_ADVICE = 240
_NEAR_PRICE = 12
_MOST_OF_ANOTHER = 2
_OF_A_PACK = frozenset({"voltage", "capacity", "energy", "series", "parallel", "mass", "distance"})
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
    places: list[int] = field(default_factory=list)
    of_prices: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.places = [quantity.start for quantity in self.quantities]
        self.of_prices = [price.start for price in self.prices]
        for quantity in self.quantities:
            self.by_line.setdefault(quantity.line, []).append(quantity)

    def values(self, start: int, end: int, dimension: str) -> set[float]:
        """Return the values of a dimension between two places."""
        inside = self.quantities[bisect_left(self.places, start) : bisect_left(self.places, end)]
        return {quantity.value for quantity in inside if quantity.dimension == dimension}

    def prices_in(self, start: int, end: int) -> int:
        """Return how many amounts of money stand between two places."""
        return bisect_left(self.of_prices, end) - bisect_left(self.of_prices, start)

    def has_price(self, line: Line) -> bool:
        """Return whether a line names an amount of money."""
        return self.prices_in(line.start, line.end) > 0


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
    return bool(plain and named) and (not volts or not volts <= named)


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
    found = {line.number for line in candidates if line.block not in blocks}
    yield from found
    # The charger that stands among them in one list is a neighbour too.
    for number in found:
        for step in (-1, 1):
            near = number + step
            while 0 <= near < len(figures.lines) and near not in found:
                line = figures.lines[near]
                alike = (
                    line.block == figures.lines[number].block and line.bullet == figures.lines[number].bullet
                )
                if not alike or not figures.has_price(line) or line.start < title[1]:
                    break
                yield near
                near += step


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


def own_figures(
    sentences: Sequence[Sequence[Clause]], title: tuple[int, int]
) -> tuple[set[tuple[str, float]], set[str]]:
    """Return what the title says of the pack, else the first figures, and of which of volts and Ah there is one."""
    said = [[q for clause in sentence for q in clause.quantities] for sentence in sentences]
    own = {(q.dimension, q.value) for each in said for q in each if title[0] <= q.start < title[1]}
    if not own:
        own = {(q.dimension, q.value) for q in next((each for each in said if each), [])}
    named = Counter(dimension for dimension, _ in own)
    return own, {dimension for dimension in ("voltage", "capacity") if named[dimension] == 1}


def acquired(
    figures: Figures, clauses: Sequence[Clause], title: tuple[int, int], words: Sequence[re.Pattern[str]]
) -> Iterator[Quantity]:
    """Yield the figures of another pack that the seller has bought: "I bought a 72 V pack, so this one is for sale".

    Parameters
    ----------
    figures : Figures
        The lines with their numbers and prices.
    clauses : sequence of Clause
        With their numbers.
    title : tuple of int
        Where the title stands; what it names is the pack itself, else what the first figures name.
    words : sequence of pattern
        By language the words for having bought something.
    """
    sentences = [list(group) for _, group in groupby(clauses, key=lambda clause: clause.sentence)]
    own, told = own_figures(sentences, title)
    for sentence in sentences if told else ():
        start, end = sentence[0].start, min(sentence[-1].end, sentence[0].start + _LONGEST_ADVICE)
        packs = [q for c in sentence for q in c.quantities if q.dimension in ("voltage", "capacity")]
        if (
            len(packs) > _MOST_OF_ANOTHER
            or start < title[1]
            or any((q.dimension, q.value) in own for q in packs)
        ):
            continue
        named = any(clause.named("pack") for clause in sentence) or "capacity" in {q.dimension for q in packs}
        # "Bought 3500 mAh cells" tells of the pack itself.
        of_parts = any(clause.named("charger", "cell") for clause in sentence) or any(q.milli for q in packs)
        # "Taken back: 50 for a pack of 20 Ah".
        taken_back = any(clause.named("takes_back") for clause in sentence)
        if taken_back and not of_parts and bool(figures.prices_in(start, end)):
            yield from packs
            continue
        # "My scooter had one of 20 Ah".
        past = any(clause.named("past", "factory", "came_with") for clause in sentence)
        if past and not of_parts and any(clause.named("vehicle") for clause in sentence):
            yield from (q for q in packs if q.dimension in told)
            continue
        bought = named and not of_parts and {q.dimension for q in packs} & told
        if bought and any(word.search(figures.lower, start, end) for word in words):
            yield from packs


def kept(clauses: Sequence[Clause]) -> Iterator[Quantity]:
    """Yield the figures of another pack that the seller keeps ("my second one, 36 V 11 Ah, stays with me").

    Parameters
    ----------
    clauses : sequence of Clause
        With their numbers. A sentence on what is kept tells of another pack where it alone gives its capacity, and
        others give one as well.
    """
    sentences = [list(group) for _, group in groupby(clauses, key=lambda clause: clause.sentence)]
    for sentence in sentences:
        if not any("stays" in voice.names for clause in sentence for voice in clause.voices):
            continue
        number = sentence[0].sentence
        others = {q.value for c in clauses if c.sentence != number for q in c.quantities if _holds(q)}
        figures = [q for clause in sentence for q in clause.quantities]
        held = {q.value for q in figures if _holds(q)}
        if others and held and not held & others:
            yield from (q for q in figures if q.dimension in _OF_A_PACK)


def _holds(quantity: Quantity) -> bool:
    """Return whether a number is ampere-hours, and no cell's mAh."""
    return quantity.dimension == "capacity" and not quantity.milli


def priced(
    figures: Figures, clauses: Sequence[Clause], title: tuple[int, int], heads: Collection[int]
) -> Iterator[Quantity]:
    """Yield the figures of another pack that a sentence of the text names with its price, behind the pack's own price.

    "For smaller frames there is the 72V 24Ah (789.00 EUR)", where the title says 72V 35Ah.

    Parameters
    ----------
    figures : Figures
        The lines with their numbers.
    clauses : sequence of Clause
        With their numbers.
    title : tuple of int
        Where the title stands; one that names no single pack tells nothing.
    heads : collection of int
        The lines that begin with the head of a pack on offer.
    """
    capacities = figures.values(*title, "capacity")
    if len(figures.values(*title, "voltage")) != 1 or len(capacities) != 1 or heads:
        return
    found: dict[int, list[Quantity]] = {}
    for sentence in (list(group) for _, group in groupby(clauses, key=lambda clause: clause.sentence)):
        packs = [
            q for clause in sentence for q in clause.quantities if q.dimension in ("voltage", "capacity")
        ]
        held = {q.value for q in packs if q.dimension == "capacity"}
        line = figures.lines[sentence[0].line]
        if len(held) != 1 or held & capacities or line.start < title[1] or line.is_row or line.bullet:
            continue
        dimensions = [q.dimension for q in packs]
        place = bisect_left(figures.of_prices, packs[-1].end)
        behind = place < len(figures.of_prices) and figures.of_prices[place] < packs[-1].end + _NEAR_PRICE
        # The pack's own price stands before.
        if dimensions == ["voltage", "capacity"] and behind and place:
            found.setdefault(line.block, []).extend(packs)
    # Several such sentences are the choice that is given.
    if len(found) == 1 and len(packs := next(iter(found.values()))) == 2:
        yield from packs
