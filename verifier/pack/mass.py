"""Mass: what the cells alone weigh, how much energy a mass can hold, and where masses exclude each other."""

from __future__ import annotations

from math import inf
from typing import Any, NamedTuple

from registry.chemistry import CHEMISTRIES, SPECIFIC_ENERGY_WH_PER_KG
from verifier.fact_names import SELLERS_WORD
from verifier.facts import Facts
from verifier.finding import ARITHMETIC, of_fields, of_limit
from verifier.pack.capacity import pack_capacity
from verifier.pack.counts import parallel, series
from verifier.pack.voltage import pack_nominal_voltage
from verifier.quantities import (
    Mask,
    Names,
    Number,
    Quantity,
    both,
    either,
    first_known,
    larger,
    narrowed,
    negated,
    product,
    ratio,
    smaller,
    where,
)
from verifier.verdict import at_most


class Exclusion(NamedTuple):
    """Where masses exclude other facts, the facts on which nothing may rest, and the numbers of one pack.

    ``stated`` are all facts that exclude each other, also those that stand; ``facts`` where it is left out.
    """

    holds: Mask
    facts: Names
    numbers: dict[str, Any]
    stated: Names | None = None


def cell_mass(facts: Facts) -> Quantity:
    """Return the mass of one cell: as weighed, else its sheet's, else the least of its size. [g]."""
    weighed, of_sheet = facts.number("observed.cell.mass_g"), facts.of_cell("mass_g")
    # A cell that nobody knows is asked for its marking, one that is known is weighed.
    asked = of_sheet.lacking(
        facts.missing("observed.cell.mass_g"), both(facts.cell.known, of_sheet.missing != 0)
    )
    # A range that was weighed lies within the sheet's spread too, where both can be true.
    found: Quantity = where(weighed.known, narrowed(weighed, of_sheet), asked)
    if facts.single:
        source = of_fields("observed.cell.mass_g") if weighed.known else facts.cell.source("mass_g")
        facts.step("m_cell", "mass of a cell, as weighed, else by its sheet or size", found, "g", source)
    return found


def cell_count(facts: Facts) -> Quantity:
    """Return the cells inside; whatever the counts are, one of each is sure."""
    rows, columns = facts.find(series), facts.find(parallel)
    found = rows.with_ends(larger(1.0, rows.low), rows.high) * columns.with_ends(
        larger(1.0, columns.low), columns.high
    )
    facts.step("n", "max(S, 1) x max(P, 1)", found, "-", ARITHMETIC)
    return found


def cells_mass(facts: Facts) -> Quantity:
    """Return the mass of the cells alone, which no whole pack can be below. [kg]."""
    found = facts.find(cell_count) * facts.find(cell_mass) * 0.001
    facts.step("m_cells", "n x m_cell / 1000", found, "kg", ARITHMETIC)
    return found


def usual_mass(facts: Facts) -> Quantity:
    """Return what a pack usually weighs whichever mass its cells have within what is known. [kg].

    The low end may lie above the high end: then nothing is usual for every such pack. Where a weighed cell
    lies near its sheet, what is usual by either is usual.
    """
    count, factor = facts.find(cell_count), facts.limit("pack_mass_factor")
    cells, of_sheet = facts.find(cells_mass), count * facts.of_cell("mass_g") * 0.001
    low, high = product(cells.high, factor.low), cells.low * factor.high
    by_sheet_low, by_sheet_high = product(of_sheet.high, factor.low), of_sheet.low * factor.high
    also = both(by_sheet_low <= by_sheet_high, low <= high)
    low = where(also, smaller(low, by_sheet_low), low)
    high = where(also, larger(high, by_sheet_high), high)
    facts.step("k_pack", "mass of a pack over its cells'", factor, "-", of_limit("pack_mass_factor"))
    if facts.single and low <= high:
        facts.step("m_usual", "m_cells x k_pack, whatever m_cells is", (low, high), "kg", ARITHMETIC)
    rests_on = cells.rests_on | where(also, of_sheet.rests_on, 0)
    return Quantity(low, high, cells.missing, rests_on, cells.grade)


def weighed_energy(facts: Facts) -> Quantity:
    """Return the most energy that the pack as weighed can hold, however light its case. [Wh]."""
    weighed, most = facts.number("observed.mass_kg"), most_wh_per_kg(facts)
    high = product(weighed.high, most.high)
    return Quantity(0.0, high, 0, where(high < inf, weighed.rests_on | most.rests_on, 0))


def most_wh_per_kg(facts: Facts) -> Quantity:
    """Return the most energy that a kilogram of a pack can hold, whichever its cells may be. [Wh/kg]."""
    most: Number = 0.0
    for place, name in enumerate(CHEMISTRIES):
        possible = facts.cell.chemistries >> place & 1
        most = where(possible == 1, larger(most, SPECIFIC_ENERGY_WH_PER_KG[name]), most)
    # BMS, strip, leads and wrap weigh something too.
    most = most / facts.limits["pack_mass_factor"].low
    return Quantity(0.0, most, 0, facts.cell_rests_on)


def claimed_energy(facts: Facts) -> Quantity:
    """Return the energy that the seller states, in so many words or by its product. [Wh]."""
    stated = facts.number("claim.energy_wh")
    product_of = facts.number("claim.capacity_ah") * facts.number("claim.nominal_voltage_v")
    return first_known(stated, where(product_of.high < inf, product_of, Quantity(0.0, inf)))


def too_light_for_energy(facts: Facts) -> Exclusion:
    """Return where no cells of the stated mass hold the claimed energy.

    What was weighed stands; the claims alone are in dispute.
    """
    energy = claimed_energy(facts)
    mass = first_known(facts.number("observed.mass_kg"), facts.number("claim.mass_kg"))
    most = most_wh_per_kg(facts)
    stated = both(energy.known, mass.high < inf)
    least = ratio(energy.low, where(stated, mass.high, 1.0))
    holds = both(stated, negated(at_most(least, most.high)))
    named = negated(facts.number("claim.energy_wh").known)
    numbers = {
        "energy_wh": energy.low,
        # Of a product the two that the seller states.
        "of_ah": where(named, facts.number("claim.capacity_ah").low, 0.0),
        "of_v": where(named, facts.number("claim.nominal_voltage_v").low, 0.0),
        "mass_kg": mass.high,
        "wh_per_kg": least,
        "most_wh_per_kg": most.high,
        "least_kg": energy.low / most.high,
    }
    stated_facts = energy.rests_on | mass.rests_on
    return Exclusion(holds, stated_facts & SELLERS_WORD, numbers, stated_facts)


def lighter_than_its_cells(facts: Facts) -> Exclusion:
    """Return where the pack as weighed is lighter than its cells, by their mass or by what they surely hold."""
    weighed, cells = facts.number("observed.mass_kg"), facts.find(cells_mass)
    (capacity, _), voltage = facts.find(pack_capacity), facts.find(pack_nominal_voltage)
    most = most_wh_per_kg(facts)
    held = capacity * voltage / most
    by_energy = held.low > cells.low
    least = where(by_energy, held.low, cells.low)
    rests_on = weighed.rests_on | where(by_energy, held.rests_on, cells.rests_on)
    holds = both(weighed.known, negated(at_most(least, weighed.high)))
    return Exclusion(holds, rests_on, {"cells_kg": least, "mass_kg": weighed.high})


def light_cell(facts: Facts) -> Exclusion:
    """Return where a weighed cell is lighter, or heavier, than any of the sheet of the cell named.

    Cells lie within limit cell_mass_tolerance of their sheet's mass, and readings within the meter's error.
    """
    weighed, of_sheet = facts.number("observed.cell.mass_g"), facts.of_cell("mass_g")
    spread, error = facts.limits.number("cell_mass_tolerance"), facts.limits.number("meter_error")
    # A sheet that says only what a cell weighs at most does not say what it weighs.
    stated = both(both(facts.cell.known, of_sheet.missing == 0), weighed.known)
    low, high = of_sheet.low / (1 - spread), of_sheet.high / (1 + spread)
    light = weighed.high * (1 + error) < of_sheet.low * (1 - 1e-9)
    heavy = weighed.low * (1 - error) > of_sheet.high * (1 + 1e-9)
    sheet_g, weighed_g = where(light, low, high), where(light, weighed.high, weighed.low)
    numbers = {
        "weighed_g": weighed_g,
        "sheet_g": sheet_g,
        "percent": 100 * (ratio(weighed_g, sheet_g) - 1),
    }
    return Exclusion(both(stated, either(light, heavy)), weighed.rests_on | of_sheet.rests_on, numbers)
