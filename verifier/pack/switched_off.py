"""A BMS that has switched off: the cells stand well, and the plug of the pack has little or nothing."""

from __future__ import annotations

from verifier.facts import Facts
from verifier.pack.groups import groups
from verifier.pack.groups_of_pack import groups_of_pack
from verifier.pack.resting import floors
from verifier.quantities import Mask, both

# What is left at the plug, of what the groups make, where nothing but leakage flows through the
# switches of a BMS; common practice, no source.
_LEFT_AT_THE_PLUG = 2 / 3


def switched_off(facts: Facts) -> Mask:
    """Whether every group was measured, none is below empty, and the plug has far less than they make together.

    Then the voltage at the plug says nothing of the cells.
    """
    rest, found, (least, _) = (
        facts.number("observed.resting_voltage_v"), facts.find(groups_of_pack), facts.find(floors)
    )  # fmt: skip
    error = facts.limits.number("meter_error")
    all_read = both(found.comparable, found.left == 0)
    less = rest.high * (1 + error) < _LEFT_AT_THE_PLUG * found.made.low * (1 - error)
    return both(both(all_read, less), facts.find(groups).lowest[0] * (1 - error) >= least)
