"""Counts of cells told in other words: in series, in groups, and their ampere-hours in the trade's short form.

"16 prismatic cells in series", "13 groups of 6 cells", "cells in series: 13", "48伏20安", "2500毫安的芯".
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Sequence

from verifier.listing.labels import Label
from verifier.listing.quantity import Quantity
from verifier.listing.source import LETTER
from verifier.listing.vocabulary import Unit, Vocabulary

_MOST_SERIES, _MOST_PARALLEL = 40, 200
# "13 cells, prismatic, in series": an adjective, or a few signs, may stand between.
_ADJECTIVE = rf"(?:[ \t][{LETTER}][{LETTER}\d\-]{{2,16}}){{0,3}}[ \t]?|[一-鿿ぁ-ヿ]{{0,6}}"
_LEAD = re.compile(
    r"(?:\s?数|\s?數)?\s?(?:\([^()\d]{1,12}\))?\s?(?:[:：=\t|]|\.{3,}|…|\s{3,})[\s|:：]*"
    r"(\d{1,3})(?![\d.,]*\d|[ \t]?[a-z°%])"
)
_GROUP_GAP = re.compile(rf"[\s,，:：]*(?:[{LETTER}]{{1,4}}\s){{0,2}}")
_TIMES_GROUP = re.compile(r"\s?[x×*]\s?\d{1,3}\s?\Z")
_FEWEST_SERIES, _FURTHEST = 6, 64
_SENTENCE_END = re.compile(r"[.!?](?=\s)|[。！？;；\n]")
_SIGNS = re.compile("毫安")
_LEAST_CELL_AH, _MOST_CELL_AH = 1.5, 6.5
_SPOKEN_AMPERE = re.compile(r"\d\s?安\Z")


def settle_counts(
    lower: str, quantities: Sequence[Quantity], labels: Sequence[Label], words: Vocabulary
) -> None:
    """Turn cells in series into series, and mark the cells of a group.

    Parameters
    ----------
    lower : str
        The folded text.
    quantities, labels : sequence
        What was found, in order of place.
    words : Vocabulary
        For the words that say how cells are connected.
    """
    connected = re.compile(rf"(?:{_ADJECTIVE}){words.unit_pattern.pattern}")
    words_for_series = [word for word, name in _connections(words).items() if name == "series"]
    in_series = re.compile(
        rf"(?<![{LETTER}])(?:{'|'.join(map(re.escape, sorted(words_for_series, key=len, reverse=True)))})"
        if words_for_series
        else r"(?!)"
    )
    counted = [q.start for q in quantities if q.dimension in ("cells", "pieces", "series", "parallel")]
    of_each = re.compile(rf"\s?{words.linking.either('of')}\s")
    groups = [label for label in labels if "group" in label.names]
    starts = [label.start for label in groups]
    for before, quantity in zip([None, *quantities], quantities, strict=False):
        if quantity.dimension not in ("cells", "pieces") or quantity.high is not None:
            continue
        # "16 series of 6 cells" are six in parallel.
        strung = before is not None and before.dimension == "series"
        if before is not None and strung and of_each.fullmatch(lower, before.end, quantity.start):
            quantity.unit = Unit("parallel", "parallel", 1)
            continue
        if strung and before is not None and _is_fewer(lower, before, quantity):
            # "Thirteen groups in series, each of five cells".
            quantity.unit = Unit("parallel", "parallel", 1)
            continue
        behind = bisect_left(starts, quantity.end)
        if any(_of_group(lower, quantity, group) for group in groups[max(0, behind - 1) : behind + 1]):
            quantity.about.add("of a group")
            continue
        match = connected.match(lower, quantity.end)
        unit = words.units[re.sub(r"\s", " ", match["word"])] if match else None
        if match is not None and unit is not None and unit.name in ("series", "parallel"):
            quantity.unit, quantity.end = unit, match.end()
        elif _further_on(lower, quantity, in_series, counted):
            quantity.unit = Unit("series", "series", 1)


def _is_fewer(lower: str, series: Quantity, cells: Quantity) -> bool:
    """Return whether cells told right behind a number in series are fewer, so that they stand side by side."""
    near = cells.start - series.end <= _FURTHEST and cells.line == series.line
    between = lower[series.end : cells.start]
    return near and 1 < cells.value < series.value and _SENTENCE_END.search(between) is None


def _further_on(lower: str, quantity: Quantity, in_series: re.Pattern[str], counted: Sequence[int]) -> bool:
    """Return whether the sentence goes on with "in series" ("24 prismatic cells, 3.2 V 50 Ah, in series")."""
    if not _FEWEST_SERIES <= quantity.value <= _MOST_SERIES:
        return False
    stop = _SENTENCE_END.search(lower, quantity.end, quantity.end + _FURTHEST)
    end = stop.start() if stop else quantity.end + _FURTHEST
    match = in_series.search(lower, quantity.end, end)
    # "40 cells, 10 in series": the nearer count is the one.
    following = bisect_right(counted, quantity.start)
    return match is not None and not (following < len(counted) and counted[following] < match.start())


def _of_group(lower: str, quantity: Quantity, group: Label) -> bool:
    """Return whether a number counts the cells of one group ("13 groups of 6 cells", "6本×13組")."""
    if group.line != quantity.line:
        return False
    if group.end <= quantity.start:
        return _GROUP_GAP.fullmatch(lower, group.end, quantity.start) is not None
    return _TIMES_GROUP.fullmatch(lower, quantity.end, group.start) is not None


def labelled_counts(lower: str, words: Vocabulary, free: Callable[[int, int], bool]) -> Iterator[Quantity]:
    """Yield counts whose label says how the cells are connected ("cells in series: 13", "串联数：13")."""
    connections = _connections(words)
    either = "|".join(sorted(map(re.escape, connections), key=len, reverse=True))
    for match in re.finditer(rf"(?<![{LETTER}\d])(?:{either})", lower) if connections else ():
        name = connections[match.group()]
        figure = _LEAD.match(lower, match.end())
        if figure is None or not free(*figure.span(1)):
            continue
        most = _MOST_SERIES if name == "series" else _MOST_PARALLEL
        if 1 <= int(figure[1]) <= most:
            yield Quantity(Unit(name, name, 1), float(figure[1]), *figure.span(1))


def _connections(words: Vocabulary) -> dict[str, str]:
    """Return the words for cells in series or parallel that are more than a sign."""
    return {
        written: unit.name
        for written, unit in words.units.items()
        if unit.name in ("series", "parallel") and (len(written) >= 5 or not written.isascii())
    }


def settle_spoken(lower: str, quantities: Sequence[Quantity]) -> None:
    """Read what the trade says short: 安 behind volts, and milliamperes of a cell, are of capacity."""
    for index, quantity in enumerate(quantities):
        if quantity.dimension != "current":
            continue
        before = quantities[index - 1] if index else None
        spoken = (
            before is not None
            and before.dimension == "voltage"
            and 0 <= quantity.start - before.end <= 1
            and _SPOKEN_AMPERE.search(lower[quantity.start : quantity.end]) is not None
            and not quantity.labels & {"charger", "charge", "bms", "input", "discharge"}
        )
        cell = quantity.milli and bool(quantity.labels & {"cell", "per_cell"})
        # "21700动力芯，5000毫安的": nobody gives so many milliamperes of anything else without a word for it.
        if (
            quantity.milli
            and not quantity.labels
            and _LEAST_CELL_AH <= quantity.value <= _MOST_CELL_AH
            and _SIGNS.search(lower[quantity.start : quantity.end])
        ):
            quantity.own.add("cell")
            cell = True
        if spoken or cell:
            quantity.unit = Unit("ampere_hour", "capacity", 1)
