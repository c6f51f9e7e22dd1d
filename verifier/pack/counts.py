"""How many cells are in series and in parallel: as seen, else as said, else as voltages leave open."""

from __future__ import annotations

from math import inf
from typing import Any

from registry.chemistry import CHEMISTRIES, VOLTAGES
from verifier.fact_names import RESTS_ON
from verifier.facts import Facts
from verifier.finding import ARITHMETIC, Source
from verifier.pack.chemistry import chemistry_rests_on
from verifier.pack.groups import groups_measured
from verifier.possible_chemistries import is_full
from verifier.quantities import Quantity, both, by_distinct, first_known, narrowed, ratio, where
from verifier.voltage_classes import series_for_class

MOST_IN_SERIES = 100


def source_of(quantity: Quantity) -> Source:
    """Return the fields that a quantity of one pack was taken from; of a column nothing is shown."""
    if not isinstance(quantity.rests_on, int):
        return ARITHMETIC
    return Source(fields=RESTS_ON.in_words(quantity.rests_on))


def series(facts: Facts) -> Quantity:
    """Return the cells in series."""
    # What the seller says in several ways is of one count.
    said = narrowed(
        facts.number("claim.series"),
        facts.number("claim.configuration.series"),
        facts.number("claim.designation.series"),
        shared_out(facts, "parallel"),
        _by_voltage(facts, "claim.full_voltage_v"),
        _by_voltage(facts, "claim.charge_voltage_v"),
        _by_name(facts),
    )
    # A range that was seen is narrowed by what else was seen, never by what is only said.
    seen = narrowed(
        facts.number("observed.series"),
        facts.number("observed.configuration.series"),
        facts.number("observed.bms.series"),
        facts.find(groups_measured),
    )
    found = first_known(seen, said)
    found = found.lacking(facts.missing("observed.series"), found.low < found.high)
    facts.step("S", "cells in series", found, "-", source_of(found))
    return found


def parallel(facts: Facts) -> Quantity:
    """Return the cells in parallel."""
    said = narrowed(
        facts.number("claim.parallel"),
        facts.number("claim.configuration.parallel"),
        facts.number("claim.designation.parallel"),
        shared_out(facts, "series"),
    )
    seen = narrowed(facts.number("observed.parallel"), facts.number("observed.configuration.parallel"))
    found = first_known(seen, said)
    found = found.lacking(facts.missing("observed.parallel"), found.low < found.high)
    facts.step("P", "cells in parallel", found, "-", source_of(found))
    return found


def shared_out(facts: Facts, by: str) -> Quantity:
    """Return the cell count over the other count, where it comes out even."""
    count = facts.number("claim.cell_count")
    other = first_known(facts.number(f"observed.{by}"), facts.number(f"claim.{by}"))
    exact = both(both(count.known, other.known), both(count.low == count.high, other.low == other.high))
    found = ratio(count.low, where(exact, other.low, 1.0))
    even = both(exact, found % 1 == 0)
    field = "series" if by == "parallel" else "parallel"
    nothing = facts.number(f"observed.{field}")
    quotient = Quantity(found, found, 0, count.rests_on | other.rests_on)
    return where(even, quotient, Quantity(0.0, inf, nothing.missing))


def _by_voltage(facts: Facts, name: str) -> Quantity:
    """Return the counts in series whose full voltage is the one stated, by any possible chemistry."""
    volts = facts.number(name)
    chemistries, rests_on = _chemistries(facts)
    low, high = by_distinct(_of_full_voltage, volts.low, volts.high, chemistries)
    return _counted(facts, volts, low, high, rests_on)


def _by_name(facts: Facts) -> Quantity:
    """Return the counts in series that are sold under a nominal voltage, by any possible chemistry."""
    volts = facts.number("claim.nominal_voltage_v")
    chemistries, rests_on = _chemistries(facts)
    tolerance = facts.limits.number("nominal_voltage_tolerance")
    low, high = by_distinct(_of_name, volts.low, volts.high, chemistries, tolerance)
    return _counted(facts, volts, low, high, rests_on)


def _chemistries(facts: Facts) -> tuple[Any, Any]:
    # Of a known cell its own; the cell was looked up before, and without the counts.
    return facts.cell.chemistries, facts.find(chemistry_rests_on)


def _counted(facts: Facts, volts: Quantity, low: Any, high: Any, rests_on: Any) -> Quantity:
    nothing = facts.number("observed.series").missing
    missing = where(low == high, 0, nothing)
    return where(
        both(volts.known, low > 0),
        Quantity(low, high, missing, volts.rests_on | rests_on),
        Quantity(0.0, inf, nothing),
    )


def _of_full_voltage(low_v: float, high_v: float, chemistries: float) -> tuple[float, float]:
    if high_v == inf:
        return 0.0, inf
    return _ends(
        count
        for place, name in enumerate(CHEMISTRIES)
        if int(chemistries) >> place & 1
        for count in range(1, MOST_IN_SERIES + 1)
        if is_full(low_v, high_v, count, VOLTAGES[name].full_v)
    )


def _of_name(low_v: float, high_v: float, chemistries: float, tolerance: float) -> tuple[float, float]:
    if high_v == inf:
        return 0.0, inf
    return _ends(
        count
        for place, name in enumerate(CHEMISTRIES)
        if int(chemistries) >> place & 1
        for count in series_for_class(low_v, high_v, VOLTAGES[name], tolerance)
    )


def _ends(counts: Any) -> tuple[float, float]:
    found = list(counts)
    return (float(min(found)), float(max(found))) if found else (0.0, inf)
