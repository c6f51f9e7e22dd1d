"""A nominal and a full voltage that a seller states of one pack: which packs both of them name.

48 V and 54.6 V are those of 13 lithium-ion cells in series. Neither voltage can confirm itself by a count that was
worked out from it; both together name a pack that exists, which is believed on the seller's word and grants nothing.
"""

from __future__ import annotations

from math import ceil, floor, inf
from typing import NamedTuple

from registry.chemistry import VOLTAGES
from verifier.cell_figures import chemistries_in
from verifier.fact_names import RESTS_ON
from verifier.facts import Facts
from verifier.pack.charger import GENTLE
from verifier.pack.chemistry import chemistry_rests_on
from verifier.pack.counts import MOST_IN_SERIES, series
from verifier.possible_chemistries import is_full
from verifier.quantities import Mask, Quantity, both, by_distinct, narrowed, where
from verifier.voltage_classes import series_for_class

_VOLTAGES = RESTS_ON.bit("claim.charge_voltage_v", "claim.full_voltage_v", "claim.nominal_voltage_v")


class NamedTogether(NamedTuple):
    """Whether a nominal and a full voltage name packs together, and between what such packs' voltages lie. [V]."""

    holds: Mask
    nominal_v: Quantity
    full_v: Quantity


def named_together(facts: Facts) -> NamedTogether:
    """Return which packs two voltages of the seller's name together, where nobody states the count otherwise.

    The unusual chemistries are left to whoever names them.
    """
    count, nominal = facts.find(series), facts.number("claim.nominal_voltage_v")
    full = narrowed(facts.number("claim.charge_voltage_v"), facts.number("claim.full_voltage_v"))
    found = by_distinct(
        _packs, nominal.low, nominal.high, full.low, full.high, count.low, count.high, facts.cell.chemistries,
        facts.limits.number("nominal_voltage_tolerance"),
    )  # fmt: skip
    # A range names no pack: some of its voltages may be those of none.
    stated = both(nominal.low == nominal.high, full.low == full.high)
    holds = both(both(stated, count.rests_on & _VOLTAGES != 0), found[1] > 0)
    rests = nominal.rests_on | full.rests_on | facts.find(chemistry_rests_on)
    ends = (
        Quantity(where(holds, low, 0.0), where(holds, high, inf), 0, rests)
        for low, high in (found[:2], found[2:])
    )
    return NamedTogether(holds, *ends)


def _packs(
    low_v: float, high_v: float, full_low_v: float, full_high_v: float, fewest: float, most: float,
    chemistries: float, tolerance: float,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Return between what the nominal and the full voltages of the packs lie that both name; zeros where none."""
    if inf in (high_v, full_high_v):
        return 0.0, 0.0, 0.0, 0.0
    nominal, full = [], []
    for name in chemistries_in(int(chemistries)):
        if name == "other":
            continue
        usual = VOLTAGES[name]  # type: ignore[index]
        for count in series_for_class(low_v, high_v, usual, tolerance):
            if is_full(full_low_v, full_high_v, count, usual.full_v) and fewest <= count <= min(
                most, MOST_IN_SERIES
            ):
                nominal += [count * each for each in usual.nominal_v]
                full += [count * each for each in usual.full_v]
    return (min(nominal), max(nominal), min(full), max(full)) if nominal else (0.0, 0.0, 0.0, 0.0)


def highest_full_v(named_v: float, chemistries: float, tolerance: float) -> tuple[float]:
    """Return the most that a full pack has that is sold under a nominal voltage, by any usual chemistry. [V].

    Parameters
    ----------
    named_v
        The nominal voltage, of a range the highest; without end where none is stated. [V]
    chemistries
        A set of possible chemistries; where no usual one is among them, nothing bounds.
    tolerance
        Rounding of nominal voltages. [-]
    """
    found = [0.0]
    for name in chemistries_in(int(chemistries)):
        if name == "other" or named_v == inf:
            continue
        usual = VOLTAGES[name]  # type: ignore[index]
        # Half a cell off, a name is only unusual.
        most = max(
            (floor(named_v / usual.nominal_v[0] + 0.5), *series_for_class(named_v, named_v, usual, tolerance))
        )
        found.append(most * usual.full_v[1])
    return (max(found) or inf,)


def lowest_full_v(named_v: float, chemistries: float, tolerance: float) -> tuple[float]:
    """Return the least to which a pack is charged that is sold under a nominal voltage, gently too. [V].

    Parameters
    ----------
    named_v
        The nominal voltage, of a range the lowest. [V]
    chemistries
        A set of possible chemistries; where no usual one is among them, it is 0.
    tolerance
        Rounding of nominal voltages. [-]
    """
    found = []
    for name in chemistries_in(int(chemistries)):
        if name == "other" or named_v == inf:
            continue
        usual = VOLTAGES[name]  # type: ignore[index]
        fewest = min(
            (ceil(named_v / usual.nominal_v[1] - 0.5), *series_for_class(named_v, named_v, usual, tolerance))
        )
        found.append(fewest * usual.full_v[0] * GENTLE)
    return (min(found, default=0.0),)
