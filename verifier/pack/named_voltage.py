"""The nominal voltage that a pack may be printed with: its cells' own, or the trade's name of its count.

48 V is the trade's name of 13 cells of 3.6 V, which are 46.8 V, and 37 V that of 10 which their maker prints
3.6 V: what is worked out from such a name is a matter of the label, and no lie.
"""

from __future__ import annotations

from math import inf

from registry.chemistry import VOLTAGES, Chemistry
from verifier.cell_figures import chemistries_in
from verifier.facts import Facts
from verifier.pack.counts import MOST_IN_SERIES, series
from verifier.pack.voltage import cell_nominal_voltage, pack_nominal_voltage
from verifier.quantities import Quantity, both, by_distinct, larger, smaller, where
from verifier.voltage_classes import names_near, names_of


def named_voltage(facts: Facts) -> tuple[Quantity, Quantity]:
    """Return the pack's nominal voltage as a label surely, and as it perhaps, may name it. [V].

    It is the cells' own where the seller names one that does not fit. Where he names none, or a rough one, it
    may be any name that fits. That a pack is called by a name says nothing of the pack, so nothing rests on it.
    """
    own, count, cell = facts.find(pack_nominal_voltage), facts.find(series), facts.find(cell_nominal_voltage)
    named = facts.number("claim.nominal_voltage_v")
    stated = both(facts.cell.known, cell.missing & facts.missing("sheet.nominal_voltage_v") == 0)
    surely, highest = by_distinct(
        _accepted, named.low, named.high, count.low, count.high, facts.cell.chemistries,
        where(stated, cell.low, 0.0), where(stated, cell.high, 0.0),
        facts.limits.number("nominal_voltage_tolerance"),
    )  # fmt: skip
    return (
        own.with_ends(where(surely > 0, larger(own.low, named.low), own.low), own.high),
        own.with_ends(own.low, larger(own.high, smaller(named.high, highest))),
    )


def _accepted(
    low_v: float, high_v: float, fewest: float, most: float, chemistries: float, cell_low_v: float,
    cell_high_v: float, tolerance: float,
) -> tuple[float, float]:  # fmt: skip
    """Return 1 where a voltage surely names the packs that are possible, and the highest name of any it fits."""
    if most > MOST_IN_SERIES:
        return 0.0, inf
    names = chemistries_in(int(chemistries))
    possible = [
        _names(count, VOLTAGES[name], (cell_low_v, cell_high_v), tolerance)  # type: ignore[index]
        for name in names
        for count in range(int(fewest), int(most) + 1)
    ]
    fits = [
        (low <= high_v and low_v <= high) or (low_v == high_v and low_v in usual)
        for (low, high), usual in possible
    ]
    highest = [max((high, *usual)) for fit, ((_, high), usual) in zip(fits, possible, strict=True) if fit]
    # What lies in the span of cells of which nobody knows anything confirms nothing.
    nobody_knows = "other" in names and not cell_high_v
    sure = high_v < inf and all(fits) and not nobody_knows
    return float(sure), max(highest, default=0.0)


def _names(
    count: int, chemistry: Chemistry, cell_v: tuple[float, float], tolerance: float
) -> tuple[tuple[float, float], tuple[float, ...]]:
    """Return the voltages that so many cells make within rounding, and the trade's names of them. [V]."""
    (low, high), usual = chemistry.nominal_v, names_of(count, chemistry)
    if cell_v[1] and (chemistry.name == "other" or cell_v[1] < low or high < cell_v[0]):
        # An unusual cell is sold under its own voltage, or the usual name nearest to it.
        (low, high), usual = cell_v, names_near(count * cell_v[0], count * cell_v[1], cell_v[0])
    # The trade prints 3.6 or 3.7 V for one and the same cell.
    return (low * count * (1 - tolerance), high * count * (1 + tolerance)), usual
