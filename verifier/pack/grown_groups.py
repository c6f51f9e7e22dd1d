"""How far the resistance of the groups has grown over that of new cells.

A group's reading is of its cells side by side, so that it hides which of them has worn: three of four that are as new
and one that is dead read as four that have worn a little, and the three carry all. At equal heat in the best cell,
which takes the most, the current falls as the group's conductance does: I = I_new R_new / R. Where all have worn alike
it is the root of that; a group does not say so.
"""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from verifier.facts import Facts
from verifier.pack.counts import parallel
from verifier.pack.grown_resistance import of_sheet, resistance_over_new
from verifier.pack.measured_groups import most_of_new_mohm, over_warm, read_long_enough
from verifier.quantities import Mask, Quantity, both, larger, product, ratio, where

# The strips and links between two balance leads add so much to what the cells resist at most; common practice, no
# source.
_STRIPS_ADD = 1.5


class GrownGroups(NamedTuple):
    """How many times the resistance of new cells that of the groups is. [-].

    Attributes
    ----------
    known
        Whether it was read long enough to bound how far it has grown, and the cells and the count are known.
    times
        From what strips and cold may explain to the worst group, whatever its cold.
    unlike
        Whether the groups surely resist more than cells like the one on the bench would: others have worn further.
    """

    known: Mask
    times: Quantity
    unlike: Mask


def groups_over_new(facts: Facts) -> GrownGroups:
    """Return how far the resistance of the groups has grown. [-]."""
    read, held = facts.number("observed.group_dc_mohm"), facts.number("observed.group_dc_seconds")
    new, count, error = (
        of_sheet(facts, "dc_new_mohm"),
        facts.find(parallel),
        facts.limits.number("meter_error"),
    )
    read_at_all = both(read.known, both(new.high < inf, count.high < inf))
    # The worst group is what counts, and least where only a range is known of it is its upper end too.
    high = product(ratio(product(read.high * (1 + error), count.high), new.low), over_warm(facts))
    low = ratio(read.high * (1 - error), facts.find(most_of_new_mohm) * _STRIPS_ADD)
    times = Quantity(where(read_at_all, low, 0.0), where(read_at_all, high, inf)).resting_on(
        read, held, count
    )
    of_cell = facts.find(resistance_over_new).heat
    unlike = both(both(read_at_all, of_cell.high < inf), times.low > larger(1.0, of_cell.high))
    return GrownGroups(both(read_at_all, read_long_enough(facts)), times, unlike)
