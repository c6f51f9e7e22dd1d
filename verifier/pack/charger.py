"""A charge voltage, claimed or printed on a charger, against the cells in series and their charge limit.

A pack takes a voltage up to series x charge limit, within what a charger deviates. Charging to less is gentle and
usual, 3.50 V on iron phosphate of 3.65 V, 4.10 V on lithium-ion of 4.2 V, and endangers nothing: how much less a cell
gets is what counts, however many there are. Still less may be a charger for another count, and leaves the pack part
empty; one that does not even reach the nominal voltage of the cells charges no such pack.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from itertools import chain
from math import ceil, inf
from typing import Any, NamedTuple

from registry.chemistry import VOLTAGES
from verifier.cell_figures import chemistries_in
from verifier.facts import Facts
from verifier.pack.counts import MOST_IN_SERIES, series
from verifier.pack.voltage import cell_full_voltage
from verifier.quantities import Mask, Names, Quantity, both, by_distinct

# Of the charge limit: down to this, charging to less is meant so; common practice, no source.
GENTLE = 0.95
# What is said of a voltage or of a count that nobody knows.
_NOTHING = (False,) * 6
# A product that meets the limit exactly must not miss it by the last binary digit.
_ROUNDING = 1e-9


class ChargerFit(NamedTuple):
    """A voltage against every pack that fits what is known.

    Attributes
    ----------
    stated
        Whether the voltage and the cells in series are known at all; nothing else holds where they are not.
    fits, cannot
        Whether every possible pack takes it, and whether none does.
    too_high, too_low
        Whether it overcharges every possible pack, and whether it leaves every one part empty: it may be meant so.
    may_be_too_high
        Whether it overcharges some possible pack.
    rests_on, missing
        The facts that this rests on, and those that would tell more.
    """

    stated: Mask
    fits: Mask
    cannot: Mask
    too_high: Mask
    too_low: Mask
    may_be_too_high: Mask
    rests_on: Names
    missing: Names


class _Limit(NamedTuple):
    """The charge limit of a cell that may be inside: from `low_v` to `high_v`, and its least nominal voltage.

    ``exact`` says that the truth is one number between the two; otherwise chargers of both are in use.
    ``open`` says that it stands for cells of which nothing is known.
    """

    low_v: float
    high_v: float
    nominal_v: float
    exact: bool = False
    open: bool = False


def charger_fit(facts: Facts, name: str) -> ChargerFit:
    """Return how a voltage fits the pack.

    Parameters
    ----------
    facts
        What is known.
    name
        ``claim.charge_voltage_v``, ``claim.full_voltage_v``, ``observed.charger.voltage_v`` or
        ``observed.charger.no_load_v``.
    """
    return facts.find(_FIT_OF[name])


def _fit_of(facts: Facts, name: str) -> ChargerFit:
    return charger_fit_of(facts, facts.number(name), facts.find(series))


CHARGE_VOLTAGES = (
    "claim.charge_voltage_v",
    "claim.full_voltage_v",
    "observed.charger.voltage_v",
    "observed.charger.no_load_v",
)
# One function for each, so that what it finds is kept.
_FIT_OF: dict[str, Callable[[Facts], ChargerFit]] = {
    name: partial(_fit_of, name=name) for name in CHARGE_VOLTAGES
}


def charger_fit_of(facts: Facts, volts: Quantity, count: Quantity) -> ChargerFit:
    """Return how a voltage fits so many cells in series. [V, -]."""
    full = facts.find(cell_full_voltage)
    found = by_distinct(
        _masks, volts.low, volts.high, count.low, count.high, *_cell(facts, full),
        facts.limits.number("charger_tolerance"),
        asked=both(volts.high < inf, count.high < inf), otherwise=_NOTHING,
    )  # fmt: skip
    stated, fits, cannot, high, low, may = (each == 1 for each in found)
    used = volts.rests_on | count.rests_on | full.rests_on
    return ChargerFit(
        stated, fits, cannot, high, low, may, used, volts.missing | count.missing | full.missing
    )


def made_for(facts: Facts, volts: Quantity) -> tuple[int, ...]:
    """Return the counts in series of possible cells that a voltage of one pack is the usual one of."""
    full = facts.find(cell_full_voltage)
    slack = facts.limits.number("charger_tolerance")
    limits = [each for each in _limits(*_cell(facts, full)) if not each.open]
    found = chain.from_iterable(
        counts_of(volts.low, volts.high, each.low_v, each.high_v, slack) for each in limits
    )
    return tuple(sorted(set(found)))


def counts_of(
    low_v: float, high_v: float, cell_low_v: float, cell_high_v: float, tolerance: float
) -> tuple[int, ...]:
    """Return the counts in series whose full voltage is the one given, within a tolerance. [V, -]."""
    return tuple(
        count
        for count in range(1, MOST_IN_SERIES + 1)
        if count * cell_low_v * (1 - tolerance) <= high_v and low_v <= count * cell_high_v * (1 + tolerance)
    )


def _cell(facts: Facts, full: Quantity) -> tuple[Any, Any, Any, Any]:
    """Return the possible chemistries, whether a sheet states the charge limit, and the limit."""
    stated = both(facts.cell.known, full.missing & facts.missing("sheet.charge_voltage_v") == 0)
    return facts.cell.chemistries, stated, full.low, full.high


def _limits(chemistries: float, stated: float, low_v: float, high_v: float) -> list[_Limit]:
    limits = [_limit_of(name) for name in chemistries_in(int(chemistries))]
    if stated:
        return [_Limit(low_v, high_v, min((each.nominal_v for each in limits), default=0.0), exact=True)]
    return limits


def _limit_of(chemistry: str) -> _Limit:
    usual = VOLTAGES[chemistry]  # type: ignore[index]
    return _Limit(*usual.full_v, usual.nominal_v[0], open=chemistry == "other")


def _masks(
    low_v: float, high_v: float, fewest: float, most: float,
    chemistries: float, stated: float, cell_low_v: float, cell_high_v: float, tolerance: float,
) -> tuple[bool, ...]:  # fmt: skip
    if inf in (high_v, most):
        return _NOTHING
    limits = _limits(chemistries, stated, cell_low_v, cell_high_v)
    above, least = (1 + tolerance) * (1 + _ROUNDING), GENTLE * (1 - _ROUNDING)
    fits = all(
        not each.open
        and high_v <= fewest * (each.low_v if each.exact else each.high_v) * above
        and low_v >= most * (each.high_v if each.exact else each.low_v) * least
        for each in limits
    )
    possible = any(_can_fit(low_v, high_v, fewest, most, each, above) for each in limits)
    return (
        True,
        fits,
        not possible,
        low_v > most * max(each.high_v for each in limits) * above,
        high_v < fewest * min(each.low_v for each in limits) * least,
        any(
            high_v > fewest * (each.low_v if each.exact or each.open else each.high_v) * above
            for each in limits
        ),
    )


def can_be_charged_to(low_v: float, high_v: float, count: int, chemistry: str, tolerance: float) -> bool:
    """Return whether so many cells of a chemistry may be charged to a voltage. [V, -]."""
    return _can_fit(low_v, high_v, count, count, _limit_of(chemistry), (1 + tolerance) * (1 + _ROUNDING))


def _can_fit(low_v: float, high_v: float, fewest: float, most: float, limit: _Limit, above: float) -> bool:
    """Whether some count takes some of the voltages: of those that are not overcharged, the least."""
    count = max(fewest, ceil(low_v / (limit.high_v * above)))
    return count <= most and high_v >= count * limit.nominal_v * (1 - _ROUNDING)
