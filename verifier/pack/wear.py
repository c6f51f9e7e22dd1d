"""What is left of the current that cells stand, when they are not new.

A pack that is sold as used, or that gave less in a test than new cells surely hold, is not judged as a new one.
"""

from __future__ import annotations

from math import sqrt

from verifier.fact_names import missing
from verifier.facts import Facts
from verifier.finding import of_limit
from verifier.pack.capacity import cell_capacity, is_used, measured_capacity
from verifier.pack.counts import parallel
from verifier.quantities import Quantity, both, either, negated, product, ratio, where


def current_left(facts: Facts) -> Quantity:
    """Return the part of a new cell's current that the cells still stand, at equal heat. [-].

    Heat in a cell is I^2 R, so that I = I_new sqrt(R_new / R). A cell that is not worn out has at most twice the
    resistance of a new one; below that nobody knows, and nothing is granted.
    """
    tested = facts.number("observed.capacity_ah").known
    new, delivered = facts.find(_new_at_most), facts.find(_delivered)
    worn = either(is_used(facts), both(tested, delivered.high < new.high))
    enough = both(tested, delivered.low >= facts.limits.number("worn_out_capacity") * new.high)
    least = sqrt(1 / facts.limits.number("worn_out_resistance"))
    low = where(worn, where(enough, least, 0.0), 1.0)
    untested = both(is_used(facts), negated(tested))
    found = Quantity(low, 1.0 + 0 * low, where(untested, missing("observed.capacity_ah"), 0))
    found = where(both(worn, tested), found.resting_on(delivered, new), found)
    if facts.single and worn:
        facts.step(
            "k_worn", "current that worn cells stand, over that of new ones: sqrt(R_new / R)", found, "-",
            of_limit("worn_out_resistance"),
        )  # fmt: skip
    return found


def _new_at_most(facts: Facts) -> Quantity:
    """Return what new cells surely make together, at its upper end: of counts in a range the most cells. [Ah].

    Without a minimum the sheet's best cell stands for it: not knowing must not make cells look less worn.
    """
    count, cell = facts.find(parallel), facts.find(cell_capacity)
    stated = both(cell.low > 0, cell.missing & missing("sheet.capacity") == 0)
    most = product(count.high, where(stated, cell.low, cell.high))
    lacking = count.missing | where(stated, 0, cell.missing)
    return Quantity(0.0 * most, most, lacking, count.rests_on | cell.rests_on, cell.grade)


def _delivered(facts: Facts) -> Quantity:
    """Return what a test says is left: corrected for cold and current where both are noted, else as it came. [Ah].

    Of a range the lower end stands for it: what came out may have been no more.
    """
    measured, came = facts.find(measured_capacity), facts.number("observed.capacity_ah")
    conditions = missing("observed.capacity_temperature_c", "observed.capacity_current_a")
    noted = measured.missing & conditions == 0
    error = facts.limits.number("meter_error")
    corrected = measured.high * ratio(came.low, came.high)
    return measured.with_ends(measured.low, where(noted, corrected, came.low * (1 + error)))
