"""The groups in series, each measured at rest: how many, the lowest, the highest, and how far apart in charge."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import NamedTuple

from verifier.bounds import Bounds
from verifier.cell_figures import chemistries_in
from verifier.electrical.open_circuit import CURVES, charge_apart_at_most_percent, charge_bounds_percent
from verifier.fact_names import RESTS_ON
from verifier.facts import Facts
from verifier.quantities import Mask, Number, Quantity, both, by_distinct, larger, smaller, where

_MEASURED = "observed.groups_v"
# Groups that lie no farther apart are even: common practice, read on a trade page. [mV]
GOOD_SPREAD_MV = 10.0
# 3.720 V less 3.710 V are a little more than 10 mV in a computer's numbers.
ROUNDING_MV = 1e-6


class Groups(NamedTuple):
    """What was measured of the groups: their number, and the lowest and highest with their places from 1.

    Each voltage from and to; of none the lowest is without end and the highest is zero. [V]
    """

    count: Number
    lowest: tuple[Number, Number]
    lowest_place: Number
    highest: tuple[Number, Number]
    highest_place: Number


class Apart(NamedTuple):
    """How much less charge the lowest group holds than the highest, at least and at most. [%]."""

    surely: Mask
    least: Number
    most: Number


def groups(facts: Facts) -> Groups:
    """Return what was measured of the groups."""
    count, low, up_to, place, above, high, at = facts.of_groups(_ends, (_MEASURED,))
    return Groups(count, (low, up_to), place, (above, high), at)


def groups_measured(facts: Facts) -> Quantity:
    """Return how many groups were measured, as a count in series; a single one is no count."""
    count, bit = facts.find(groups).count, RESTS_ON.bit(_MEASURED)
    known = both(count >= 2, (facts.disputed & bit) == 0)
    lacking = facts.missing("observed.series")
    found: Quantity = where(
        known, Quantity(count, count, 0, bit), Quantity(0.0 * count, inf + 0 * count, lacking)
    )
    return found


def together(facts: Facts, name: str) -> tuple[Number, Quantity]:
    """Return how many groups a list of their voltages holds, 0 where none, and what they add up to. [V]."""
    count, low, high = facts.of_groups(_added_up, (name,))
    return count, Quantity(low, high)


def charge_apart(facts: Facts) -> Apart:
    """Return how far the charge of the lowest group lies below that of the highest, by any possible curve. [%].

    A group that holds less ends the discharge, and the highest ends the charge. Surely apart are only groups that no
    error of the meter and no two curves bring together. Possibly apart they are as far as any one curve has it, for
    all cells are of one kind and all were read with one meter; a spread that is good is none.
    """
    found, error = facts.find(groups), facts.limits.number("meter_error")
    known = both(found.count >= 2, found.highest[0] > 0)
    least, possible = by_distinct(
        _apart, where(known, found.lowest[0], 0.0) * (1 - error), where(known, found.lowest[1], 0.0) * (1 + error),
        where(known, found.highest[0], 0.0) * (1 - error), where(known, found.highest[1], 0.0) * (1 + error),
        facts.cell.chemistries,
    )  # fmt: skip
    (most,) = by_distinct(
        _apart_at_most,
        where(known, found.lowest[0], 0.0),
        where(known, found.highest[1], 0.0),
        facts.cell.chemistries,
    )
    most = where(possible > 0, smaller(most, 100.0), 0.0)
    return Apart(both(known, least > 0), least, where(known, larger(least, most), 0.0))


def _apart_at_most(low_v: float, high_v: float, chemistries: float) -> tuple[float]:
    """Return how far the charge of two groups may lie apart by any one curve; nothing where the spread is good. [%]."""
    if 1000 * (high_v - low_v) <= GOOD_SPREAD_MV + ROUNDING_MV:
        return (0.0,)
    possible = chemistries_in(int(chemistries))
    if any(name not in CURVES for name in possible):
        return (100.0,)
    return (
        max(charge_apart_at_most_percent(chemistry=name, low_v=low_v, high_v=high_v) for name in possible),
    )


def _ends(measured: Sequence[Bounds]) -> tuple[float, ...]:
    """Return the number of groups, the lowest (from, to, place) and the highest (from, to, place).

    The lowest is the one that is so for certain: of ranges that with the least upper end.
    """
    if not measured:
        return 0.0, inf, inf, 0.0, 0.0, 0.0, 0.0
    places = range(len(measured))
    lowest, highest = (
        min(places, key=lambda at: measured[at].high),
        max(places, key=lambda at: measured[at].low),
    )
    return (
        float(len(measured)),
        min(each.low for each in measured), measured[lowest].high, lowest + 1.0,
        measured[highest].low, max(each.high for each in measured), highest + 1.0,
    )  # fmt: skip


def groups_below(measured: Sequence[Bounds], limit_v: float) -> tuple[float, float, float]:
    """Return which groups stand below a limit, each place from 1 one bit, and from what to what they stand. [V]."""
    return _beyond([each.high for each in measured], [each.high < limit_v for each in measured])


def groups_above(
    measured: Sequence[Bounds], limit_v: float, meter_error: float
) -> tuple[float, float, float]:
    """Return which groups stand above a limit, as `groups_below`, whatever the error of the meter. [V, -]."""
    beyond = [each.low * (1 - meter_error) > limit_v for each in measured]
    return _beyond([each.low for each in measured], beyond)


# So many places a number holds exactly; of more groups only the farthest is told.
MOST_PLACES = 52


def _beyond(read_v: Sequence[float], beyond: Sequence[bool]) -> tuple[float, float, float]:
    found = [volts for volts, there in zip(read_v, beyond, strict=True) if there]
    if not found or len(read_v) > MOST_PLACES:
        return 0.0, 0.0, 0.0
    places = sum(1 << place for place, there in enumerate(beyond) if there)
    return float(places), min(found), max(found)


def _added_up(measured: Sequence[Bounds]) -> tuple[float, float, float]:
    """Return the number of groups, and between what their voltages add up to; anything of none. [V]."""
    if not measured:
        return 0.0, 0.0, inf
    return float(len(measured)), sum(each.low for each in measured), sum(each.high for each in measured)


def _apart(
    low_v: float, low_to_v: float, high_v: float, high_to_v: float, chemistries: float
) -> tuple[float, float]:
    possible = chemistries_in(int(chemistries))
    if any(name not in CURVES for name in possible):
        return 0.0, 100.0
    low = [charge_bounds_percent(chemistry=name, cell_v=(low_v, low_to_v)) for name in possible]
    high = [charge_bounds_percent(chemistry=name, cell_v=(high_v, high_to_v)) for name in possible]
    pairs = list(zip(low, high, strict=True))
    return (
        min((above[0] - below[1] for below, above in pairs), default=0.0),
        max((above[1] - below[0] for below, above in pairs), default=100.0),
    )
