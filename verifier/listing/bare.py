"""Numbers that stand without a unit and are given one by their label: "Cycles: 500", "Zellenzahl: 52".

The mAh of a cell is often printed bare ("10S4P of 2900s", "celdas de 2600"); such a number is only offered as
a candidate, and taken where cells in parallel times it come to the capacity stated.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from itertools import pairwise

from verifier.listing.counts import labelled_counts
from verifier.listing.labels import KINDS, Label
from verifier.listing.linking import Linking
from verifier.listing.quantity import Quantity, number_value
from verifier.listing.source import LETTER
from verifier.listing.vocabulary import Unit, Vocabulary

BARE = "bare"
_BEHIND_LABEL = re.compile(
    r"\s?(?:\([^()\n]{1,30}\))?\s?(?:[:：=\t|\n;；]|\.{3,}|…| {3,}|\s[-–—]\s)[\s|:：]*"
    r"(?:ca\.?|about|approx\.?|circa|env\.?|约|約|[>≥]=?|\+)?\s?"
)
# "700 to 80 %": what the capacity then is.
_NUMBER = re.compile(
    rf"\.?\s?(\d{{1,3}}(?:[., ']\d{{3}})|\d{{1,5}})"
    rf"(?:(?=\s[^\d\n,;.]{{1,16}}\d{{2}}\s?%)|(?![\d.,]*\d|[ \t]?[{LETTER}%°]))"
)
_CELL_MAH = re.compile(
    rf"(?<![\d.,\-/{LETTER}])([1-6]\d{{3}})"
    rf"(?:(?:'?s|er)(?![{LETTER}\d])|(?!\d|[.,]\d|[ \t]?[-/]?[{LETTER}%°]))(?![ \t]?[x×*])"
)
_COUNT = re.compile(
    rf"(?<![\d.,/\-x×*{LETTER}])([1-9]\d{{0,3}})(?![\d.,]*\d)"
    rf"(?:[ \u00a0](?P<word>[{LETTER}]{{3,16}})(?:[ \u00a0][a-d]\+?)?)?[ \u00a0]\Z"
)
# The size code of a cell, as it is taken out.
_SIZE = re.compile(r"(?<!\x1f)\x1f{5}(?!\x1f)")
_LONGEST_LINE = 400
_YEARS = range(1990, 2040)
# What follows a word for a peak: "of 40", and behind a bracket with its seconds.
_AFTER_LABEL = re.compile(
    rf"\s?(?:\([^()\n]{{1,20}}\)\s)?(?P<words>(?:[{LETTER}]{{1,6}}\s)?)(\d{{1,3}})"
    rf"(?![\d.,:]*\d|\s?[a-z%°](?![{LETTER}]))"
)
_UNIT_FIRST = re.compile(
    r"\s?[:：=]?\s?[(\[]?(?P<unit>kg|g|km|ah|wh|v|w)[)\]]?\.?"
    r"\s?[:：=]?\s(?P<number>\d+(?:[.,]\d+)?)"
    rf"(?![\d.,]*\d|\s?(?:v|m?ah?|k?wh?|k?g|k?m|s|p|h|mm|cm|[°%/])(?![{LETTER}]))"
)
# "…, kg 44. …" of a note that saves its words.
_WEIGHT_ALONE = re.compile(r"[,;.]\skg\s(\d{1,3}(?:[.,]\d{1,2})?)(?=\s?(?:[,;.](?!\d)|$))", re.M)
_SURENESS = frozenset({"at_least", "limit", "min", "max"})
_SMALLEST_CYCLES, _MOST_CYCLES = 100, 20_000
_FEWEST_CELLS, _MOST_CELLS = 4, 2000
_PAIR = ("continuous", "peak")
_OF_CURRENTS = frozenset({"bms", "current", "discharge"})
_NUMBER_BEFORE = re.compile(rf"(?<![\d.,/\-{LETTER}])(\d{{2,3}})[ ]\Z")
_NUMBER_BEHIND = re.compile(rf"[ ]?:?[ ]?(\d{{2,3}})(?![\d.,]*\d|[ ]?[{LETTER}%°])")
# A peak is no more times the continuous current (common practice, no source).
_MOST_TIMES = 5


def bare_numbers(
    lower: str, labels: Sequence[Label], quantities: Sequence[Quantity], words: Vocabulary
) -> Iterator[Quantity]:
    """Yield the numbers that a label gives a unit.

    Parameters
    ----------
    lower : str
        The folded text, without what was taken out.
    labels, quantities : sequence
        What was found, in order of place.
    words : Vocabulary
        For the units that stand before their number.
    """
    places = [(quantity.start, quantity.end) for quantity in quantities]
    starts = [start for start, _ in places]

    def free(start: int, end: int) -> bool:
        index = bisect_right(starts, end - 1) - 1
        return index < 0 or places[index][1] <= start

    # "Cycles: 800 to 1000".
    several = re.compile(
        rf"\.?\s?(\d{{3,5}}){words.range_pattern.pattern}(\d{{3,5}})(?![\d.,]*\d|[ \t]?[{LETTER}%°])"
    )
    # "Cycle life: at least 500": words of how sure a number is may stand before it.
    sureness = {label.start: label for label in labels if label.names <= _SURENESS}
    for label in labels:
        lead = _BEHIND_LABEL.match(lower, label.end)
        if lead is None:
            continue
        word = sureness.get(lead.end())
        place = word.end if word is not None else lead.end()
        match = _NUMBER.match(lower, place)
        unit = _unit_of(label.names)
        both = several.match(lower, place) if unit is not None and unit.dimension == "cycles" else None
        if both is not None and unit is not None and free(*both.span()):
            low, high = float(both[1]), float(both[2])
            if _is_likely(unit, low) and low < high:
                quantity = Quantity(unit, low, both.start(1), both.end(2), high=high, own=set(label.names))
                quantity.low_end, quantity.high_start = both.end(1), both.start(2)
                yield quantity
            continue
        if match is None or unit is None or not free(*match.span(1)):
            continue
        value = number_value(match[1].replace(" ", "").replace("'", ""), thousands=True)
        if value is not None and _is_likely(unit, value):
            yield Quantity(unit, value, *match.span(1), own=set(label.names))
    yield from labelled_counts(lower, words, free)
    yield from _of_unit_first(lower, labels, words, free)
    yield from _cells(lower, labels, quantities, free, words.linking)
    yield from _counted(lower, labels, quantities, words, free)
    for match in _WEIGHT_ALONE.finditer(lower):
        if free(*match.span(1)):
            yield Quantity(words.units["kg"], float(match[1].replace(",", ".")), *match.span(1), own={"mass"})
    yield from _of_unit_before(lower, labels, quantities, free)
    yield from _of_no_unit(lower, labels, quantities, free)


def _of_unit_first(
    lower: str, labels: Sequence[Label], words: Vocabulary, free: Callable[[int, int], bool]
) -> Iterator[Quantity]:
    """Yield numbers whose unit stands before them, behind a label of its kind ("weight kg 9.8")."""
    for label in labels:
        match = _UNIT_FIRST.match(lower, label.end)
        unit = words.units.get(match["unit"]) if match else None
        fits = unit is not None and any(unit.dimension in KINDS[kind] for kind in label.kinds)
        if match is None or unit is None or not fits or not free(*match.span("number")):
            continue
        value = number_value(match["number"], thousands=unit.thousands)
        if value:
            yield Quantity(
                unit,
                round(value * unit.factor, 9),
                match.start("unit"),
                match.end("number"),
                own=set(label.names),
            )


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


def _counted(
    lower: str,
    labels: Sequence[Label],
    quantities: Sequence[Quantity],
    words: Vocabulary,
    free: Callable[[int, int], bool],
) -> Iterator[Quantity]:
    """Yield counts of cells without a unit: "60 round cells", and "52 of them" beside 13S4P."""
    counted = [(label.start, label.end) for label in labels if label.names == {"cell"}]
    sized = [(match.start(), match.start()) for match in _SIZE.finditer(lower)]
    for start, end in [*counted, *sized]:
        match = _COUNT.search(lower, max(0, start - 24), start)
        if match is not None and free(*match.span(1)) and _is_count(match):
            yield Quantity(Unit("cell", "cells", 1), float(match[1]), match.start(1), end)
    # "14 in series, 4 in parallel, 56 no total": a short word behind is no unit.
    no_count = _no_count(words.unit_pattern.pattern.replace("(?P<word>", "(?:"))
    for series, parallel in pairwise(quantities):
        if (series.dimension, parallel.dimension) != ("series", "parallel") or series.line != parallel.line:
            continue
        end = lower.find("\n", parallel.end, parallel.end + _LONGEST_LINE)
        last = end if end >= 0 else parallel.end + _LONGEST_LINE
        printed = re.compile(rf"(?<![\d.,/\-]){series.value * parallel.value:.0f}")
        found = printed.finditer(lower, parallel.end, last)
        product = next((each for each in found if not no_count.match(lower, each.end(), last)), None)
        if product is not None and free(*product.span()):
            yield Quantity(Unit("cell", "cells", 1), series.value * parallel.value, *product.span())


@cache
def _no_count(unit: str) -> re.Pattern[str]:
    """Return what stands behind a number that counts no cells: more digits, a sign, a unit."""
    return re.compile(rf"[\d.,]*\d|\s?[\-/x×*]|{unit}(?![{LETTER}])")


def _is_count(match: re.Match[str]) -> bool:
    return _FEWEST_CELLS <= int(match[1]) <= _MOST_CELLS and int(match[1]) not in _YEARS


def _of_unit_before(
    lower: str, labels: Sequence[Label], quantities: Sequence[Quantity], free: Callable[[int, int], bool]
) -> Iterator[Quantity]:
    """Yield a peak whose amperes are said only once: "20 amps all day, peak 40"."""
    currents = [quantity for quantity in quantities if quantity.dimension == "current"]
    ends = [quantity.end for quantity in currents]
    for label in labels:
        match = _AFTER_LABEL.match(lower, label.end) if label.names == {"peak"} else None
        index = bisect_right(ends, label.start) - 1
        before = currents[index] if index >= 0 else None
        if match is None or before is None or before.line != label.line or not free(*match.span(2)):
            continue
        if before.value < float(match[2]) <= _MOST_TIMES * before.value:
            yield Quantity(before.unit, float(match[2]), *match.span(2), own={"peak"}, about={"unit before"})


def _of_no_unit(
    lower: str, labels: Sequence[Label], quantities: Sequence[Quantity], free: Callable[[int, int], bool]
) -> Iterator[Quantity]:
    """Yield a continuous current and a peak whose amperes go without saying: "BMS: cont 50 / peak 100"."""
    of_currents = {label.line for label in labels if label.names & _OF_CURRENTS}
    told = {quantity.line for quantity in quantities if quantity.dimension == "current"}
    by_line: dict[int, dict[str, tuple[int, int]]] = {}
    for label in labels:
        name = next((each for each in ("continuous", "peak") if label.names == {each}), None)
        if name is None or label.line in told or not {label.line, label.line - 1} & of_currents:
            continue
        match = _NUMBER_BEFORE.search(lower, max(0, label.start - 6), label.start) or _NUMBER_BEHIND.match(
            lower, label.end
        )
        if match is not None and free(*match.span(1)):
            by_line.setdefault(label.line, {}).setdefault(name, match.span(1))
    for found in by_line.values():
        if len(found) != len(_PAIR) or found["continuous"] == found["peak"]:
            continue
        low, high = (float(lower[slice(*found[name])]) for name in _PAIR)
        if low < high <= _MOST_TIMES * low:
            for name in _PAIR:
                unit = Unit("ampere", "current", 1)
                value = float(lower[slice(*found[name])])
                yield Quantity(unit, value, *found[name], own={name}, about={"unit before"})


def _cells(
    lower: str, labels: Sequence[Label], quantities: Sequence[Quantity], free: Callable[[int, int], bool],
    linking: Linking,
) -> Iterator[Quantity]:  # fmt: skip
    """Yield what may be the mAh of a cell: a bare number near the word for cells or a count in parallel."""
    near = [label.start for label in labels if "cell" in label.names]
    near += [quantity.end for quantity in quantities if quantity.dimension == "parallel"]
    near += [match.start() for match in _SIZE.finditer(lower)]
    named = {label.end for label in labels if label.names == {"cell"}}
    named |= {match.end() for match in _SIZE.finditer(lower)}
    near.sort()
    # "Celle da 3500", "18650s of 3500".
    of = re.compile(rf"(?:'?s)?(?P<of>\s{linking.either('of')}\s)\Z")
    for match in _CELL_MAH.finditer(lower):
        start, end = match.span(1)
        index = bisect_left(near, start - 30)
        if index < len(near) and near[index] <= end + 20 and free(start, end) and float(match[1]) % 50 == 0:
            lead = of.search(lower, max(0, start - 8), start)
            of_cells = lead is not None and {lead.start(), lead.start("of")} & named
            about = {"of cells"} if of_cells else set()
            yield Quantity(
                Unit(BARE, "capacity", 0.001), float(match[1]) / 1000, start, match.end(), about=about
            )
