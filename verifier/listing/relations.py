"""What numbers make of one another: seconds or series, three voltages of one pack, sums."""

from __future__ import annotations

import re
from itertools import pairwise

from verifier.listing.clauses import Clause
from verifier.listing.meaning import MOST_SERIES, is_full
from verifier.listing.quantities import Quantity

_SERIES_ON_ITS_OWN = 6


def mark_sums(quantities: list[Quantity]) -> None:
    """Mark what a seller works out: the right side of "2 x 6Ah = 12Ah"."""
    for before, quantity in pairwise(quantities):
        if quantity.equals and before.dimension == quantity.dimension and before.times is not None:
            quantity.about.add("sum")


def settle_seconds(lower: str, quantities: list[Quantity], clauses: list[Clause]) -> list[Quantity]:
    """Decide for every "10S" whether it is seconds or series, and give seconds to the current they qualify.

    Parameters
    ----------
    lower : str
        The text in lower case.
    quantities : list of Quantity
        In order of place.
    clauses : list of Clause
        The clauses they stand in.

    Returns
    -------
    list of Quantity
        The seconds that qualify a current.
    """
    taken: list[Quantity] = []
    for index, quantity in enumerate(quantities):
        if quantity.dimension == "seconds_or_series":
            dimension = _seconds_or_series(lower, quantities, index, clauses)
            quantity.unit = type(quantity.unit)(quantity.unit.name, dimension, 1)
        if quantity.dimension == "seconds" and (current := _current_of(quantities, index, clauses)):
            current.seconds = quantity.high if quantity.high is not None else quantity.value
            quantity.about.add("bms" if "bms" in current.labels else "pack")
            taken.append(quantity)
    return taken


def _seconds_or_series(lower: str, quantities: list[Quantity], index: int, clauses: list[Clause]) -> str:
    quantity = quantities[index]
    following = quantities[index + 1] if index + 1 < len(quantities) else None
    before = quantities[index - 1] if index else None
    if following is not None and following.dimension == "parallel" and following.start - quantity.end <= 2:
        return "series"
    compared = re.search(
        r"[<≤>≥]=?\s?\Z|(?:for|für|pendant|durante|in)\s\Z",
        lower[max(0, quantity.start - 9) : quantity.start],
    )
    if compared:
        return "seconds"
    if before is not None and before.clause == quantity.clause:
        if before.dimension == "current" and re.fullmatch(
            r"[\s(,/]{0,3}(?:peak\s|max\s)?\(?", lower[before.end : quantity.start]
        ):
            return "seconds"
        if before.dimension == "voltage" and quantity.start - before.end <= 4:
            return "series"
    clause = clauses[quantity.clause]
    brief = clause.named("peak") and any(q.dimension == "current" for q in clause.quantities)
    if brief:
        return "seconds"
    whole = quantity.high is None and 3 <= quantity.value <= MOST_SERIES
    # A bare "5s" is more often a time; few packs have so few cells in series.
    told = quantity.value >= _SERIES_ON_ITS_OWN or any(clause.named(name) for name in ("pack", "cell", "bms"))
    return "series" if whole and told else "nothing"


def _current_of(quantities: list[Quantity], index: int, clauses: list[Clause]) -> Quantity | None:
    seconds = quantities[index]
    sentence = clauses[seconds.clause].sentence
    for step in (-1, 1):
        if not 0 <= index + step < len(quantities):
            continue
        other = quantities[index + step]
        near = other.clause == seconds.clause or (
            step == -1 and clauses[other.clause].sentence == sentence and seconds.clause - other.clause == 1
        )
        if near and other.dimension == "current" and "trip" not in other.labels:
            return other
    return None


def split_voltages(quantities: list[Quantity]) -> tuple[set[Quantity], set[Quantity]]:
    """Return the voltages of one pack ("48V 52V 54.6V") that are not nominal: the full one, the others.

    Parameters
    ----------
    quantities : list of Quantity
        The numbers of one clause.
    """
    volts = [q for q in quantities if q.dimension == "voltage" and q.high is None]
    for first, second in pairwise(volts):
        if first.run != second.run:
            return set(), set()
    if len(volts) < 2 or len({q.value for q in volts}) < 2:
        return set(), set()
    top = max(volts, key=lambda q: q.value)
    rest = [q for q in volts if q.value != top.value]
    if not is_full(top.value) or (
        top.value == round(top.value) and len(volts) == 2 and top.value not in (42.0, 84.0, 21.0)
    ):
        return set(), set()
    if any(q.value < 0.8 * top.value for q in rest):
        return set(), set()
    nominal = min(rest, key=lambda q: abs(q.value - top.value * 0.87))
    return {top}, {q for q in rest if q.value != nominal.value}
