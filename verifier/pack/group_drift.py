"""Groups measured at rest twice, some days apart: whether one of them loses its charge by itself.

All groups fall together after a charge; one that falls faster than another is what counts, and a spread that
grows rejects the pack (common practice, no source). Sorting trades accept a drift below 2 mV a day and call more
than 5 % of charge a month abnormal (both read on a trade page).

A cell at rest moves by its temperature too, by its entropy coefficient (limit voltage_per_kelvin_mv). Groups that are
alike in charge move alike, so that what one falls faster than another is free of it; what one group falls by itself,
and groups that lay apart in both readings, are not.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf
from typing import Any, NamedTuple

from verifier.bounds import Bounds
from verifier.case.group_readings import says_otherwise
from verifier.case_facts import CaseFacts
from verifier.cell_figures import chemistries_in
from verifier.electrical.open_circuit import CURVES, charge_lost_bounds_percent
from verifier.facts import Facts, StatedTemperature
from verifier.finding import Remark, reference, remark
from verifier.pack.capacity import pack_capacity
from verifier.pack.groups import GOOD_SPREAD_MV, ROUNDING_MV
from verifier.quantities import Mask, Number, Quantity, both, either, larger, smaller, where

# [mV a day]
GOOD_DRIFT_MV_PER_DAY = 2.0
# A spread that grew by less has not been seen to grow. [mV]
METER_MV = 1.0
DAYS_A_MONTH = 30.0
_TRADE = reference(
    "2 mV a day and 5 % of charge a month are a trade page's limits, read; 10 and 50 mV apart practice, no source"
)
_BEFORE, _HOURS = "observed.groups_before_v", "observed.groups_hours"
_DATES = "observed.groups_before_date", "observed.groups_date"
_TEMPERATURES = "observed.groups_before_temperature_c", "observed.groups_temperature_c"
# Readings of one room are of one temperature. [K]
_ONE_ROOM_K = 2.0


class Drift(NamedTuple):
    """How one group falls beside the others: whether it surely drains, or perhaps, its place, and how far. [mV].

    ``then_mv`` and ``now_mv`` are how far the groups lay apart at most, before and now.
    """

    holds: Mask
    perhaps: Mask
    group: Number
    mv_per_day: Number
    then_mv: Number
    now_mv: Number


def group_drift(facts: CaseFacts) -> Iterator[Remark]:
    """Return what two readings of the groups say: one drains, one drifts, all hold, or they tell nothing."""
    now: Any = facts.stated("observed.groups_v") or ()
    before: Any = facts.stated(_BEFORE) or ()
    hours = facts.number(_HOURS)
    if not before:
        return
    if len(now) != len(before) or len(now) < 2:
        yield remark("groups_not_the_same", _BEFORE, before=len(before), now=len(now))
    elif says_otherwise(facts.stated(_DATES[0]), facts.stated(_DATES[1]), facts.stated(_HOURS)):
        yield remark("groups_dates_differ", *_DATES, _HOURS)
    elif hours.high == inf:
        yield remark("groups_hours_not_known", _HOURS, *_DATES)
    else:
        yield _compared(facts, before, now, Bounds(hours.low / 24, hours.high / 24))
        yield from _of_temperature(facts)


def _compared(facts: CaseFacts, before: Sequence[Bounds], now: Sequence[Bounds], days: Bounds) -> Remark:
    moved = _moved_mv(facts)
    found = compared(before, now, days, moved, _most_excused_mv(facts))
    at = int(found.group) - 1
    code = "group_drains" if found.holds else "group_drifts" if found.perhaps else "groups_hold"
    as_warm = Bounds(before[at].low - moved.high / 1000, before[at].high - moved.low / 1000)
    lost = _percent_a_month(facts, as_warm, now[at], days)
    leak = _leak_ma(facts, lost) if lost is not None else None
    if leak is not None:
        facts.step("I_leak", "Q_group dz/dU dU/dt, of the group that falls fastest", leak, "mA", _TRADE)
    return remark(
        code, "observed.groups_v", _BEFORE, leak_low=None if leak is None else leak.low,
        leak_high=None if leak is None else leak.high, group=at + 1, mv_per_day=found.mv_per_day, then_mv=found.then_mv,
        now_mv=found.now_mv, lost_low=None if lost is None else lost.low,
        lost_high=None if lost is None else lost.high,
    )  # fmt: skip


def _of_temperature(facts: CaseFacts) -> Iterator[Remark]:
    """Yield what the temperatures of the readings leave open: nothing where both were read at one."""
    then, now = _temperatures(facts)
    moved = _moved_mv(facts)
    most_mv = max(moved.high, -moved.low)
    if not (then.known and now.known):
        apart_k = facts.limits.number("readings_apart_k")
        names = [name for name, each in zip(_TEMPERATURES, (then, now), strict=True) if not each.known]
        yield remark(
            "groups_temperature_not_known", *names, earlier=not then.known, later=not now.known, apart_k=apart_k,
            moved_mv=most_mv,
        )  # fmt: skip
    elif max(then.high_c - now.low_c, now.high_c - then.low_c) > _ONE_ROOM_K:
        yield remark(
            "groups_temperature_apart", *_TEMPERATURES, then_c=then.low_c, then_to_c=then.high_c, now_c=now.low_c,
            now_to_c=now.high_c, moved_mv=most_mv,
        )  # fmt: skip


def _temperatures(facts: Facts) -> tuple[StatedTemperature, StatedTemperature]:
    """Return the temperatures of both readings; that of all measuring stands for the later one's."""
    then, own, of_all = (facts.temperature(name) for name in (*_TEMPERATURES, "observed.temperature_c"))
    now = StatedTemperature(
        where(own.known, own.low_c, of_all.low_c), where(own.known, own.high_c, of_all.high_c),
        either(own.known, of_all.known), own.missing,
    )  # fmt: skip
    return then, now


def _moved_mv(facts: Facts) -> Quantity:
    """Return what a group may have fallen by from the one reading to the other because it was cooler then. [mV]."""
    then, now = _temperatures(facts)
    known, apart_k = both(then.known, now.known), facts.limits.number("readings_apart_k")
    low_k = where(known, then.low_c - now.high_c, -apart_k)
    high_k = where(known, then.high_c - now.low_c, apart_k)
    each = facts.limits["voltage_per_kelvin_mv"]
    ends = [kelvin * mv for kelvin in (low_k, high_k) for mv in (each.low, each.high)]
    low, high = ends[0], ends[0]
    for end in ends[1:]:
        low, high = smaller(low, end), larger(high, end)
    return Quantity(low, high)


def _most_excused_mv(facts: Facts) -> float:
    """Return what the temperature excuses at most of a group that falls faster than the others. [mV].

    As much as where nobody noted a temperature: readings known to be further apart than anybody takes two to be are no
    better evidence that a group is well than readings of which that is unknown. They are to be repeated in one room.
    """
    each = facts.limits["voltage_per_kelvin_mv"]
    most_mv = max(abs(each.low), abs(each.high))
    return 2 * facts.limits.number("readings_apart_k") * most_mv


def _leak_ma(facts: CaseFacts, percent_a_month: Bounds) -> Bounds | None:
    """Return by which current a group empties itself, None where nobody knows what it holds. [mA]."""
    held = facts.find(pack_capacity)[0]
    if not held.known or held.high == inf:
        return None
    of_ah = 1000 / 100 / (24 * DAYS_A_MONTH)
    return Bounds(of_ah * held.low * max(percent_a_month.low, 0.0), of_ah * held.high * percent_a_month.high)


def drained(facts: Facts) -> Drift:
    """Return whether one of the groups surely drains by itself, in each pack."""
    hours, moved = facts.number(_HOURS), _moved_mv(facts)
    found = facts.of_groups(
        _numbers, ("observed.groups_v", _BEFORE), hours.low, hours.high, moved.low, moved.high,
        _most_excused_mv(facts),
    )  # fmt: skip
    return Drift(found[0] > 0, found[1] > 0, *found[2:])


def _numbers(
    now: Sequence[Bounds],
    before: Sequence[Bounds],
    low_h: float,
    high_h: float,
    low_mv: float,
    high_mv: float,
    most_mv: float,
) -> tuple[float, ...]:
    """Return a drift as numbers; zeros where two readings cannot be compared."""
    if len(now) != len(before) or len(now) < 2 or high_h == inf:
        return (0.0,) * len(Drift._fields)
    days = Bounds(low_h / 24, high_h / 24)
    return tuple(float(each) for each in compared(before, now, days, Bounds(low_mv, high_mv), most_mv))


def compared(
    before: Sequence[Bounds],
    now: Sequence[Bounds],
    days: Bounds,
    moved_mv: Bounds | Quantity,
    most_excused_mv: float = inf,
) -> Drift:
    """Return how the group that surely falls fastest does beside the others.

    Parameters
    ----------
    before, now
        The two readings of each group. [V]
    days
    moved_mv
        What a group may have fallen by because the readings were not of one temperature. [mV]
    most_excused_mv
        How much of a difference between groups is put down to that at most, before a drain is an alarm. [mV]
    """
    then, later = spread_mv(before), spread_mv(now)
    # U(z, T) of both readings: at the charge at which all were alike, the temperature moved all of them alike.
    alike = min(then.high, later.high) <= GOOD_SPREAD_MV + ROUNDING_MV
    unlike_mv = 0.0 if alike else moved_mv.high - moved_mv.low
    excused_mv = min(unlike_mv, most_excused_mv)
    falls = [fall_mv_per_day(each, after, days) for each, after in zip(before, now, strict=True)]
    at = max(range(len(falls)), key=lambda place: falls[place].low)
    others = [fall for place, fall in enumerate(falls) if place != at]
    # Faster than the slowest of the others.
    faster = Bounds(
        falls[at].low - min(each.high for each in others) - excused_mv / days.low,
        falls[at].high - min(each.low for each in others) + unlike_mv / days.low,
    )
    grown = later.low - excused_mv > max(then.high + METER_MV, GOOD_SPREAD_MV)
    return Drift(
        holds=grown and faster.low > GOOD_DRIFT_MV_PER_DAY, perhaps=faster.high > GOOD_DRIFT_MV_PER_DAY,
        group=at + 1, mv_per_day=faster.high, then_mv=then.high, now_mv=later.high,
    )  # fmt: skip


def fall_mv_per_day(before: Bounds, now: Bounds, days: Bounds) -> Bounds:
    """Return how fast a voltage at rest falls, below zero where it rises. [mV a day]."""
    least, most = 1000 * (before.low - now.high), 1000 * (before.high - now.low)
    return Bounds(min(least / days.low, least / days.high), max(most / days.low, most / days.high))


def spread_mv(groups_v: Sequence[Bounds]) -> Bounds:
    """Return how far groups lie apart: what is sure, and what may be. [mV]."""
    sure = max(each.low for each in groups_v) - min(each.high for each in groups_v)
    return Bounds(
        1000 * max(0.0, sure),
        1000 * (max(each.high for each in groups_v) - min(each.low for each in groups_v)),
    )


def _percent_a_month(facts: CaseFacts, before: Bounds, now: Bounds, days: Bounds) -> Bounds | None:
    """Return what a group loses of its charge in thirty days, None where no curve of its chemistry is known."""
    possible = chemistries_in(facts.cell.chemistries)
    if any(name not in CURVES for name in possible):
        return None
    lost = [
        charge_lost_bounds_percent(
            chemistry=name, before_v=(before.low, before.high), now_v=(now.low, now.high)
        )
        for name in possible
    ]
    month = DAYS_A_MONTH / days.high, DAYS_A_MONTH / days.low
    return Bounds(min(low for low, _ in lost) * month[0], max(high for _, high in lost) * month[1])
