"""Whether "10S" is ten seconds or ten in series, and which current the seconds belong to."""

from __future__ import annotations

import re

from verifier.listing.clauses import Clause
from verifier.listing.linking import Linking
from verifier.listing.meaning import MOST_SERIES
from verifier.listing.quantity import Quantity

_SERIES_ON_ITS_OWN = 6
# Volts of a cell: datasheets of nickel and of iron phosphate cells.
_NOMINAL_CELL_V = (3.15, 3.75)
_FIRST = 50
# So near to the beginning of its clause stands a time that comes first ("during ten seconds, …").
_LONGEST_LEAD = 14
# As in "For 30 s ........ 40 A" and "Maximum (10 s)    40 A".
_LEADS = re.compile(r"\)?(?:[ \t]?(?:[.…]{2,}|:)[ \t]*| {3,})")

_BESIDE = re.compile(r" (?:[^\W\d_]{2,8} ){0,2}")
# "Peak current | 200 A | ≤10 s": the seconds stand in a cell of their own.
_CELL_OF_SECONDS = re.compile(r"[ ]*[\t|｜][ ]*[≤<~]?=?\s?")


def settle_seconds(
    lower: str, quantities: list[Quantity], clauses: list[Clause], linking: Linking
) -> list[Quantity]:
    """Decide for every "10S" whether it is seconds or series, and give seconds to the current they qualify.

    Parameters
    ----------
    lower : str
        The text in lower case.
    quantities : list of Quantity
        In order of place.
    clauses : list of Clause
        The clauses they stand in.
    linking : Linking
        The words that stand between a current and its seconds.

    Returns
    -------
    list of Quantity
        The seconds that qualify a current.
    """
    taken: list[Quantity] = []
    stated = {quantity.value for quantity in quantities if quantity.dimension == "series"}
    for index, quantity in enumerate(quantities):
        if quantity.dimension == "seconds_or_series":
            dimension = _seconds_or_series(lower, quantities, index, clauses, stated, linking)
            if dimension == "series":
                stated.add(quantity.value)
            quantity.unit = type(quantity.unit)(quantity.unit.name, dimension, 1)
        clause = clauses[quantity.clause]
        if quantity.dimension == "seconds" and ("head" in quantity.about or _heads(clause)):
            quantity.about.add("pack")
            taken.append(quantity)
        elif quantity.dimension == "seconds" and (
            current := _current_of(lower, quantities, index, clauses, linking.conjunctions)
        ):
            current.seconds = quantity.high if quantity.high is not None else quantity.value
            quantity.about.add("bms" if "bms" in current.labels else "pack")
            taken.append(quantity)
    return taken


def _heads(clause: Clause) -> bool:
    """Return whether a clause is a label with its seconds, as in the head "Peak current (5 s)"."""
    return clause.named("peak") and not any(q.dimension == "current" for q in clause.quantities)


def _seconds_or_series(
    lower: str,
    quantities: list[Quantity],
    index: int,
    clauses: list[Clause],
    stated: set[float],
    linking: Linking,
) -> str:
    quantity = quantities[index]
    following = quantities[index + 1] if index + 1 < len(quantities) else None
    before = quantities[index - 1] if index else None
    if following is not None and following.dimension == "parallel" and following.start - quantity.end <= 2:
        return "series"
    during = linking.either("during")
    compared = re.search(rf"[<≤>≥]=?\s?\Z|{during}\s\Z", lower[max(0, quantity.start - 9) : quantity.start])
    if compared:
        return "seconds"
    if before is not None and (before.clause == quantity.clause or before.run == quantity.run):
        if before.dimension == "current" and _stands_between(lower[before.end : quantity.start], linking):
            return "seconds"
        if before.dimension == "voltage" and quantity.start - before.end <= 4:
            return "series"
    clause = clauses[quantity.clause]
    brief = clause.named("peak") and any(q.dimension == "current" for q in clause.quantities)
    # Beside sixteen cells in series, "max 60 A 10s" tells of seconds.
    others = bool(stated) and quantity.value not in stated
    longest = clause.named("max", "limit") and before is not None and before.dimension == "current"
    if brief or (others and longest):
        return "seconds"
    whole = quantity.high is None and 3 <= quantity.value <= MOST_SERIES
    # A bare "5s" is more often a time; few packs have so few cells in series.
    # "12.8 V … 4S": as many cells have that voltage.
    low, high = _NOMINAL_CELL_V
    fits = any(
        q.dimension == "voltage" and low <= q.value / quantity.value <= high for q in quantities[:_FIRST]
    )
    told = (
        quantity.value >= _SERIES_ON_ITS_OWN
        or fits
        or any(clause.named(name) for name in ("pack", "cell", "bms"))
    )
    return "series" if whole and told else "nothing"


def _stands_between(gap: str, linking: Linking) -> bool:
    """Return whether nothing but a "for" or an "up to" stands between a current and its seconds."""
    words = linking.either("during", "up_to")
    between = rf"[\s(,/]{{0,3}}(?:(?:{words}|peak|max\.?|≤|<|~)\s?){{0,3}}\(?"
    return re.fullmatch(between, gap) is not None


def _current_of(
    lower: str, quantities: list[Quantity], index: int, clauses: list[Clause], conjunctions: frozenset[str]
) -> Quantity | None:
    """Return the current that seconds qualify: one of their clause before one of the clause before."""
    seconds = quantities[index]
    before = quantities[index - 1] if index else None
    after = quantities[index + 1] if index + 1 < len(quantities) else None
    sentence = clauses[seconds.clause].sentence
    # "25 A en tien seconden 50 A": behind an "and", seconds are of the number that they stand against.
    # So too with a short word between: "… and for ten seconds also 50 A".
    against = (
        after is not None
        and _is_current(after)
        and _BESIDE.fullmatch(lower, seconds.end, after.start) is not None
    )
    joined = conjunctions & set(re.findall(r"[^\W\d_]+", lower[before.end : seconds.start] if before else ""))
    if after is not None and against and joined:
        return after
    for other in (before, after):
        if other is not None and other.clause == seconds.clause and _is_current(other):
            apart = other is before and _of_another(lower, other, seconds, clauses, conjunctions)
            return None if apart else other
    # "For ten seconds, it gives 120 A."
    if (
        after is not None
        and _is_current(after)
        and after.clause == seconds.clause + 1
        and clauses[after.clause].sentence == sentence
        and (before is None or before.clause != seconds.clause)
        # "It goes up to 200 A, but only for 5 s, then the 150 A board steps in".
        and not (before is not None and before.clause == seconds.clause - 1 and _is_open(before))
        and clauses[seconds.clause].start + _LONGEST_LEAD >= seconds.start
    ):
        return after
    leads = after is not None and _LEADS.fullmatch(lower, seconds.end, after.start)
    if leads and after is not None and _is_current(after):
        return after
    if (
        before is not None
        and _is_current(before)
        and _CELL_OF_SECONDS.fullmatch(lower, before.end, seconds.start)
    ):
        return before
    near = (
        before is not None
        and clauses[before.clause].sentence == sentence
        and seconds.clause - before.clause == 1
    )
    if before is None or not near or not _is_current(before):
        return None
    # "90 A, for ten seconds 180": they qualify the bare number.
    clause = clauses[seconds.clause]
    rest = lower[clause.start : seconds.start] + lower[seconds.end : clause.end]
    return None if any(letter.isdigit() for letter in rest) else before


def _of_another(
    lower: str, before: Quantity, seconds: Quantity, clauses: list[Clause], conjunctions: frozenset[str]
) -> bool:
    """Return whether seconds behind an "and" qualify the bare number behind ("and for 10 s up to 150")."""
    words = set(re.findall(r"[^\W\d_]+", lower[before.end : seconds.start]))
    rest = lower[seconds.end : clauses[seconds.clause].end]
    return bool(words & conjunctions) and any(letter.isdigit() for letter in rest)


def _is_open(quantity: Quantity) -> bool:
    """Return whether nothing says for how long a current is given."""
    return _is_current(quantity) and not quantity.own & {"continuous", "working", "nominal"}


def _is_current(quantity: Quantity) -> bool:
    # "An overload of 60 A for 10 s is tolerated" is no trip.
    trips = "trip" in quantity.labels and "bears" not in quantity.labels
    return quantity.dimension == "current" and not trips
