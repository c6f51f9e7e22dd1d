"""What is left of the current that cells stand, when they are not new.

A pack that is sold as used, or that gave less in a test than new cells surely hold, is not judged as a new one.
"""

from __future__ import annotations

from math import sqrt

from verifier.fact_names import missing
from verifier.facts import Facts
from verifier.finding import of_limit
from verifier.pack.capacity import is_used, measured_capacity, rated_capacity
from verifier.quantities import Quantity, both, either, negated, where


def current_left(facts: Facts) -> Quantity:
    """Return the part of a new cell's current that the cells still stand, at equal heat. [-].

    Heat in a cell is I^2 R, so that I = I_new sqrt(R_new / R). A cell that is not worn out has at most twice the
    resistance of a new one; below that nobody knows, and nothing is granted.
    """
    new, measured = facts.find(rated_capacity), facts.find(measured_capacity)
    tested = facts.number("observed.capacity_ah").known
    compared = both(tested, new.low > 0)
    worn = either(is_used(facts), both(compared, measured.high < new.low))
    enough = both(compared, measured.low >= facts.limits.number("worn_out_capacity") * new.low)
    least = sqrt(1 / facts.limits.number("worn_out_resistance"))
    low = where(worn, where(enough, least, 0.0), 1.0)
    untested = both(is_used(facts), negated(tested))
    found = Quantity(low, 1.0 + 0 * low, where(untested, missing("observed.capacity_ah"), 0))
    found = where(both(worn, tested), found.resting_on(measured), found)
    if facts.single and worn:
        facts.step(
            "k_worn", "current that worn cells stand, over that of new ones: sqrt(R_new / R)", found, "-",
            of_limit("worn_out_resistance"),
        )  # fmt: skip
    return found
