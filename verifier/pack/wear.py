"""What is left of the current that cells stand, when they are not new.

A pack that is sold as used, that gave less in a test than new cells surely hold, or of which a cell on the bench has
worn, is not judged as a new one.
"""

from __future__ import annotations

from math import inf, sqrt

from verifier.electrical.elementary import sqrt as root
from verifier.fact_names import missing
from verifier.facts import Facts
from verifier.finding import of_fields, of_limit
from verifier.pack.bench_cell import resistance_over_new
from verifier.pack.capacity import (
    cell_capacity,
    is_used,
    may_have_worn,
    measured_capacity,
    surely_given,
    tested_cell,
)
from verifier.pack.counts import parallel
from verifier.quantities import Mask, Quantity, both, either, larger, negated, product, ratio, smaller, where


def current_left(facts: Facts) -> Quantity:
    """Return the part of a new cell's current that the cells still stand, at equal heat. [-].

    Heat in a cell is I^2 R, so that I = I_new sqrt(R_new / R). Where nobody measured the resistance, a cell that
    is not worn out has at most twice that of a new one (limit worn_out_resistance). A cell that has more, or holds
    too little, is worn out: what it stands nobody knows, and nothing is granted.
    """
    new, delivered = facts.find(_new_at_most), facts.find(_delivered)
    part, most = facts.limits.number("worn_out_capacity"), facts.limits.number("worn_out_resistance")
    tested = facts.number("observed.capacity_ah").known
    by_pack = either(is_used(facts), both(tested, delivered.high < new.high))
    # A cell on the bench: that it has worn, and how far its resistance has grown.
    grown, cell_worn = facts.find(resistance_over_new), may_have_worn(facts)
    enough = where(
        tested,
        delivered.low >= part * new.high,
        # One cell says nothing of a pack that is known to have worn; else it stands for the others.
        both(negated(by_pack), either(negated(cell_worn), _holds_enough(facts, part))),
    )
    worn = either(by_pack, either(cell_worn, grown.more))
    worn_out = both(grown.more, grown.alike.high > most)
    measured_mohm = grown.heat.high < inf
    by_heat = root(ratio(1.0, larger(1.0, grown.heat.high)))
    least = where(measured_mohm, larger(sqrt(1 / most), by_heat), sqrt(1 / most))
    low = where(worn, where(both(enough, negated(worn_out)), least, 0.0), 1.0)
    untested = both(is_used(facts), negated(tested))
    # The other cells may be as new, and share what one that has worn leaves to them: at most all of it.
    found = Quantity(low, 1.0 + 0 * low, where(untested, missing("observed.capacity_ah"), 0))
    found = where(both(by_pack, tested), found.resting_on(delivered, new), found)
    found = where(both(worn, measured_mohm), found.resting_on(grown.alike), found)
    found = where(cell_worn, found.resting_on(facts.find(tested_cell)), found)
    if facts.single and worn:
        if measured_mohm:
            facts.step(
                "R / R_new", "resistance of the cell on the bench over a new one's", grown.heat, "-",
                of_fields("observed.cell.dc_mohm", "observed.cell.ac_mohm"),
            )  # fmt: skip
        facts.step(
            "k_worn", "current that worn cells stand, over that of new ones: sqrt(R_new / R)", found, "-",
            of_limit("worn_out_resistance"),
        )  # fmt: skip
    return found


def cell_resistance(facts: Facts) -> Quantity:
    """Return the resistance of a cell over the air of use, up to as far as it has grown on the bench. [mohm].

    The other cells may be as new, so that only the upper end moves.
    """
    new, grown = facts.of_cell("dc_mohm"), facts.find(resistance_over_new)
    raised = new.with_ends(new.low, new.high * larger(1.0, grown.heat.high)).resting_on(grown.alike)
    return where(grown.more, raised, new)


def _holds_enough(facts: Facts, part: float) -> Mask:
    """Whether a cell taken out surely holds more than one that is worn out."""
    return facts.find(tested_cell).low >= part * facts.of_cell("capacity_ah").low


def _new_at_most(facts: Facts) -> Quantity:
    """Return what new cells surely make together, at its upper end: of counts in a range the most cells. [Ah].

    Without a minimum the sheet's best cell stands for it: not knowing must not make cells look less worn.
    """
    count, cell = facts.find(parallel), facts.find(cell_capacity)
    stated = both(cell.low > 0, cell.missing & missing("sheet.capacity") == 0)
    most = product(count.high, where(stated, cell.low, cell.high))
    lacking = count.missing | where(stated, 0, cell.missing)
    return Quantity(smaller(0.0, most), most, lacking, count.rests_on | cell.rests_on, cell.grade)


def _delivered(facts: Facts) -> Quantity:
    """Return what a test says is left: corrected for cold and current where both are noted, else as it came. [Ah].

    Of a range the lower end stands for it: what came out may have been no more.
    """
    measured, came = facts.find(measured_capacity), facts.number("observed.capacity_ah")
    conditions = missing("observed.capacity_temperature_c", "observed.capacity_current_a")
    noted = measured.missing & conditions == 0
    error = facts.limits.number("meter_error")
    corrected = product(facts.find(surely_given).high, ratio(came.low, came.high))
    return measured.with_ends(measured.low, where(noted, corrected, came.low * (1 + error)))
