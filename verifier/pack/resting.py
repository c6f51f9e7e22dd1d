"""The pack at rest: the voltage of a cell, and whether it stands below empty or above full."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from registry.chemistry import VOLTAGES
from verifier.cell_figures import chemistries_in
from verifier.facts import Facts, rests_on
from verifier.finding import ARITHMETIC, of_fields, of_limit
from verifier.pack.counts import series
from verifier.pack.voltage import cell_empty_voltage, cell_full_voltage
from verifier.possible_chemistries import OVER_FULL
from verifier.quantities import Mask, Names, Number, Quantity, both, by_distinct, negated, where


class AtRest(NamedTuple):
    """Whether something surely, or perhaps, holds of the cells at rest, and the facts that it rests on."""

    surely: Mask
    perhaps: Mask
    rests_on: Names


def cell_at_rest(facts: Facts) -> Quantity:
    """Return the voltage of a cell at rest within the error of the meter; anything when not known. [V]."""
    resting, error = facts.number("observed.resting_voltage_v"), facts.limits.number("meter_error")
    read = resting.with_ends(resting.low * (1 - error), resting.high * (1 + error))
    found = read / facts.find(series)
    facts.step(
        "U",
        "pack at rest, hours after any charge or load",
        resting,
        "V",
        of_fields("observed.resting_voltage_v"),
    )
    facts.step("k_meter", "error of the meter", error, "-", of_limit("meter_error"))
    facts.step("U_rest", "U x (1 -/+ k_meter) / S", found, "V", ARITHMETIC)
    known = both(resting.high < inf, found.high < inf)
    rest: Quantity = where(known, found, Quantity(0.0, inf, found.missing))
    return rest


def over_full(facts: Facts) -> AtRest:
    """Return whether the cells stand above what they may be charged to.

    Then they are overcharged, or more are in series than said.
    """
    rest, full = facts.find(cell_at_rest), facts.find(cell_full_voltage)
    known = rest.high < inf
    return AtRest(
        both(known, rest.low > full.high * OVER_FULL),
        both(known, rest.high > full.low * OVER_FULL),
        rest.rests_on | full.rests_on,
    )


def of_other_chemistry(facts: Facts) -> AtRest:
    """Return whether counted cells stand as lithium-ion ones do, above full ones of a chemistry that is only claimed.

    Hours after a charge no cell stays so far above its full voltage: it is no such cell. Common practice, no source.
    """
    over, rest = facts.find(over_full), facts.find(cell_at_rest)
    only_claimed = facts.possible_chemistries()[1] & rests_on("claim.chemistry") != 0
    named = both(facts.choice("claim.chemistry") > 0, facts.choice("observed.cell.chemistry") == 0)
    claimed = both(both(only_claimed, named), negated(facts.cell.known))
    as_lithium_ion = rest.high <= VOLTAGES["NMC"].full_v[1] * OVER_FULL
    counted = facts.number("observed.series").known
    holds = both(both(over.surely, claimed), both(as_lithium_ion, counted))
    return AtRest(holds, holds, rests_on("claim.chemistry"))


def deeply_discharged(facts: Facts) -> AtRest:
    """Return whether the cells stand below an empty one of every possible chemistry, or of some.

    Then they are deeply discharged, or fewer are in series than said.
    """
    rest, empty = facts.find(cell_at_rest), facts.find(cell_empty_voltage)
    least, most = facts.find(floors)
    known = rest.high < inf
    return AtRest(
        both(known, rest.high < least), both(known, rest.low < most), rest.rests_on | empty.rests_on
    )


def floors(facts: Facts) -> tuple[Number, Number]:
    """Return the least and the most that the lowest voltage of an empty cell may be. [V]."""
    empty = facts.find(cell_empty_voltage)
    least, most = by_distinct(_floors, facts.cell.chemistries, where(facts.cell.known, empty.low, 0.0))
    return least, most


def _floors(chemistries: float, cell_v: float) -> tuple[float, float]:
    if cell_v:
        return cell_v, cell_v
    floors = [VOLTAGES[name].empty_v[0] for name in chemistries_in(int(chemistries))]  # type: ignore[index]
    return min(floors), max(floors)
