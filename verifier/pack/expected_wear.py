"""What cycles and years let one expect of a used pack: told, and granting nothing.

What is expected lifts no low end and lets nothing pass. It tells a pack that is as tired as its years explain from
one that is not: that was misused, is older than said, or holds other cells.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import NamedTuple

from verifier.bounds import Bounds
from verifier.case_facts import CaseFacts
from verifier.electrical.ageing import left_after_cycles, left_after_years, resistance_grown
from verifier.facts import Facts
from verifier.finding import Remark, remark
from verifier.pack.capacity import measured_capacity, rated_capacity
from verifier.pack.cell_date import age_by_code

_CYCLES = "observed.cycles"


class Expected(NamedTuple):
    """The part of a new cell's capacity to be expected, how far its resistance has grown, and by which fields."""

    left: Bounds
    grown: Bounds
    by: tuple[str, ...]


def expected_wear(facts: Facts) -> Expected | None:
    """Return what is to be expected of a pack by its cycles and its age; None where neither tells anything."""
    parts: list[tuple[str, tuple[float, float]]] = []
    cycles, tested, end = (
        facts.number("observed.cycles"),
        facts.of_cell("cycles"),
        facts.of_cell("cycle_to_fraction"),
    )
    if cycles.high < inf and 0 < tested.low < inf and 0 < end.low <= 1:
        parts.append(
            (
                _CYCLES,
                left_after_cycles(cycles=cycles.high, tested_cycles=tested.low, to_fraction=end.low),
            )
        )
    stated = facts.number("observed.age_years")
    by_code = age_by_code(facts) if isinstance(facts, CaseFacts) else None
    years, by = (stated.low, stated.high), "observed.age_years"
    if stated.high == inf and by_code is not None:
        years, by = (by_code.low, by_code.high), "observed.cell.date_code"
    if years[1] < inf:
        fade = facts.limits["calendar_fade"]
        parts.append((by, left_after_years(years=years, lost_in_a_year=(fade.low, fade.high))))
    if not parts:
        return None
    low = high = 1.0
    for _, part in parts:
        low, high = low * part[0], high * part[1]
    grown = resistance_grown(capacity_left=(low, high))
    return Expected(Bounds(low, high), Bounds(*grown), tuple(name for name, _ in parts))


def told_of_wear(facts: Facts) -> Iterator[Remark]:
    """Yield what is to be expected of one pack, and whether what was measured of it is explained by that."""
    expected, new = expected_wear(facts), facts.find(rated_capacity)
    if expected is None:
        return
    left = expected.left
    numbers = {
        "percent_low": 100 * left.low, "percent_high": 100 * left.high, "grown": expected.grown.high,
        "by": expected.by, "uncounted": facts.number("observed.cycles").known and _CYCLES not in expected.by,
    }  # fmt: skip
    if not facts.number("observed.capacity_ah").known or new.low <= 0:
        ends = {"low_ah": left.low * new.low, "high_ah": left.high * new.high}
        yield remark("expected_wear", *expected.by, **numbers, **ends)
        return
    measured = facts.find(measured_capacity)
    percent = 100 * measured.high / new.low
    least = left.low * new.low
    if measured.high < least:
        code = "worn_beyond_expected"
    else:
        # What may have come out had the test gone on does not make what came out more.
        code = "worn_as_expected" if measured.low >= least else "worn_perhaps_beyond_expected"
    if code != "worn_as_expected" or measured.high < new.low:
        yield remark(code, "observed.capacity_ah", *expected.by, percent=percent, **numbers)
