"""Which chemistries a pack's nominal voltage names on its cells in series, where nobody says which one it is.

38.4 V on 12 in series are 3.2 V a cell, LiFePO4; 36 V on 10 are 3.6 V a cell, lithium-ion. It is the seller's word and
settles nothing; but whoever goes by the pack's own label is warned of what that label makes of a voltage. The unusual
kinds are left to whoever names them.
"""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from registry.chemistry import VOLTAGES
from verifier.cell_figures import chemistries_in, chemistry_set
from verifier.facts import Facts
from verifier.pack.chemistry import chemistry_is_named
from verifier.pack.counts import MOST_IN_SERIES, series
from verifier.possible_chemistries import is_full
from verifier.quantities import Mask, Names, Number, Quantity, both, by_distinct, negated, where
from verifier.voltage_classes import series_for_class

# The unusual kinds have no voltage of their own.
USUAL = tuple(name for name in VOLTAGES if name != "other")
_NOTHING = (0.0, 0.0, 0.0, inf)


class NamedChemistry(NamedTuple):
    """The chemistries that a nominal voltage names, and the voltages of such packs.

    Attributes
    ----------
    holds
        Whether it names any, and nothing else does.
    kinds
        The chemistries, as a set.
    empty_v
        The least that an empty cell of any of them may have. [V]
    full_low_v, full_high_v
        Between what such packs are charged to. [V]
    """

    holds: Mask
    kinds: Names
    empty_v: Number
    full_low_v: Number
    full_high_v: Number


def named_chemistry(facts: Facts) -> NamedChemistry:
    """Return which chemistries the nominal voltage claimed names on a count in series that is one number."""
    nominal, count = facts.number("claim.nominal_voltage_v"), facts.find(series)
    exact = both(nominal.low == nominal.high, both(count.low == count.high, count.high < inf))
    asked = both(
        negated(chemistry_is_named(facts)), both(both(nominal.known, exact), count.high <= MOST_IN_SERIES)
    )
    kinds, empty, low, high = by_distinct(
        _named, where(asked, nominal.low, 0.0), where(asked, count.low, 0.0), facts.cell.chemistries,
        facts.limits.number("nominal_voltage_tolerance"), asked=asked, otherwise=_NOTHING,
    )  # fmt: skip
    return NamedChemistry(both(asked, kinds > 0), kinds, empty, low, high)


def _named(nominal_v: float, count: float, chemistries: float, tolerance: float) -> tuple[float, ...]:
    if not nominal_v or not count:
        return _NOTHING
    kinds = [
        VOLTAGES[name]  # type: ignore[index]
        for name in chemistries_in(int(chemistries))
        if name != "other" and count in series_for_class(nominal_v, nominal_v, VOLTAGES[name], tolerance)  # type: ignore[index]
    ]
    if not kinds:
        return _NOTHING
    return (
        float(chemistry_set([each.name for each in kinds])),
        min(each.empty_v[0] for each in kinds),
        count * min(each.full_v[0] for each in kinds),
        count * max(each.full_v[1] for each in kinds),
    )


def right_for_others(facts: Facts, volts: Quantity) -> Mask:
    """Return whether a charge voltage is the usual one of other cells, and too much for those that are named.

    As to one that is usual for none, the chemistry is not what decides. [V]
    """
    named, count = facts.find(named_chemistry), facts.find(series)
    above = volts.low > named.full_high_v * (1 + facts.limits.number("charger_tolerance"))
    asked = both(both(named.holds, above), volts.high < inf)
    (usual,) = by_distinct(
        _usual, where(asked, volts.low, 0.0), where(asked, volts.high, 0.0), where(asked, count.low, 0.0),
        asked=asked, otherwise=(0.0,),
    )  # fmt: skip
    return both(asked, usual == 1)


def _usual(low_v: float, high_v: float, count: float) -> tuple[float]:
    return (float(any(is_full(low_v, high_v, count, VOLTAGES[name].full_v) for name in USUAL)),)
