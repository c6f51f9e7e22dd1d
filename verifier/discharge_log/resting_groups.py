"""Groups at rest: how far apart they stand, how fast one drifts, and the current that drains it.

Limits: a spread up to 10 mV is good and above 50 mV is looked into, and one that grows rejects the pack
(common practice, no source); sorting trades accept a drift below 2 mV a day (read on a trade page), and call
more than 5 % of charge a month abnormal (read on a trade page).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

GOOD_SPREAD_MV, LOOK_SPREAD_MV = 10.0, 50.0
GOOD_DRIFT_MV_PER_DAY = 2.0
_DAYS_A_MONTH = 30.0

# Charge in percent at a voltage at rest, NMC811: Chen 2020, DOI 10.1149/1945-7111/ab9050, inverse of its
# open-circuit curve at 25 C, computed with PyBaMM 26.10.1.1.
NMC811_CHARGE: tuple[tuple[float, float], ...] = (
    (3.30, 10.12), (3.50, 21.84), (3.60, 31.80), (3.70, 44.34), (3.75, 49.91), (3.80, 55.18), (3.90, 65.84),
    (4.00, 75.61), (4.10, 91.30),
)  # fmt: skip


def charge_per_volt(rest_v: float, curve: Sequence[tuple[float, float]] = NMC811_CHARGE) -> float:
    """Return by how much of its capacity a cell's charge changes with its voltage at rest: dz/dU. [1/V].

    The slope of the straight line between the two points of the curve around the voltage; at a point, of the
    one above it.

    Parameters
    ----------
    rest_v : float
        Of one cell. [V]
    curve : sequence of (volts, percent)

    Raises
    ------
    ValueError
        For a voltage outside of the curve.
    """
    for (low_v, low), (high_v, high) in pairwise(curve):
        if low_v <= rest_v < high_v:
            return (high - low) / 100 / (high_v - low_v)
    raise ValueError(f"{rest_v} V is outside of the curve, {curve[0][0]} to {curve[-1][0]} V")


def drift_mv_per_day(first_v: float, last_v: float, days: float) -> float:
    """Return how fast a voltage at rest moves, below zero where it falls. [mV/day].

    Raises
    ------
    ValueError
        If no time passed.
    """
    if not days > 0:
        raise ValueError("a drift needs two readings at different times")
    return 1000 * (last_v - first_v) / days


def self_discharge_ma(drift_mv_per_day: float, capacity_ah: float, charge_per_volt: float) -> float:
    """Return the current that a drift stands for: I = C dz/dU dU/dt. [mA].

    2 mV a day at 3.75 V on 5 Ah of NMC811 is 0.44 mA.

    Parameters
    ----------
    drift_mv_per_day : float
        Below zero where the voltage falls. [mV/day]
    capacity_ah : float
        Of the group. [Ah]
    charge_per_volt : float
        From `charge_per_volt`. [1/V]
    """
    return -drift_mv_per_day * charge_per_volt * capacity_ah / 24


def percent_per_month(drift_mv_per_day: float, charge_per_volt: float) -> float:
    """Return the part of its charge that a group loses in thirty days. [%]."""
    return -drift_mv_per_day / 1000 * charge_per_volt * 100 * _DAYS_A_MONTH


@dataclass(frozen=True, slots=True)
class GroupsAtRest:
    """All groups at rest, once or twice.

    ``outcome``: good, look into it, or reject; ``drifts_mv_per_day`` is empty without a second reading.
    """

    spread_mv: float
    lowest_group: int
    outcome: str
    because: str
    drifts_mv_per_day: tuple[float, ...] = ()
    spread_then_mv: float | None = None


def judge_groups(
    first_v: Sequence[float], later_v: Sequence[float] | None = None, days: float | None = None
) -> GroupsAtRest:
    """Judge group voltages at rest, measured once, or twice some days apart.

    Parameters
    ----------
    first_v, later_v : sequence of n_groups floats
        [V]
    days : float, optional
        Between the two.

    Raises
    ------
    ValueError
        For fewer than two groups, or readings that do not belong together.
    """
    if len(first_v) < 2:
        raise ValueError("a spread needs two groups at least")
    now = list(first_v)
    drifts: tuple[float, ...] = ()
    then_mv = None
    if later_v is not None:
        if len(later_v) != len(first_v) or days is None:
            raise ValueError("a second reading needs every group, and the days between")
        drifts = tuple(drift_mv_per_day(a, b, days) for a, b in zip(first_v, later_v, strict=True))
        then_mv, now = 1000 * (max(first_v) - min(first_v)), list(later_v)
    spread = 1000 * (max(now) - min(now))
    lowest = now.index(min(now)) + 1
    outcome, because = _outcome(spread, then_mv, drifts)
    return GroupsAtRest(spread, lowest, outcome, because, drifts, then_mv)


def _outcome(spread: float, then_mv: float | None, drifts: Sequence[float]) -> tuple[str, str]:
    # All groups fall together after a charge; one that falls faster than the others is what counts.
    apart = max(drifts) - min(drifts) if drifts else 0.0
    if then_mv is not None and spread > max(then_mv + 1.0, GOOD_SPREAD_MV) and apart > GOOD_DRIFT_MV_PER_DAY:
        return (
            "reject",
            f"the spread grows, from {then_mv:.0f} to {spread:.0f} mV: one group drains by itself",
        )
    if spread > LOOK_SPREAD_MV:
        return "look into it", f"{spread:.0f} mV apart, above {LOOK_SPREAD_MV:.0f} mV"
    if apart > GOOD_DRIFT_MV_PER_DAY:
        return (
            "look into it",
            f"one group drifts {apart:.1f} mV a day faster than another, above {GOOD_DRIFT_MV_PER_DAY:.0f}",
        )
    if spread <= GOOD_SPREAD_MV:
        return "good", f"{spread:.0f} mV apart, up to {GOOD_SPREAD_MV:.0f} mV is good"
    return "look into it", f"{spread:.0f} mV apart, above the {GOOD_SPREAD_MV:.0f} mV of a good pack"
