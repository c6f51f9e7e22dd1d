"""The groups beside the pack at rest: what their voltages add up to, and where those stand that nobody read.

The voltages of the groups in series add up to that of the pack (Kirchhoff's voltage law).
"""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from verifier.fact_names import RESTS_ON
from verifier.facts import Facts
from verifier.pack.counts import series
from verifier.pack.groups import together
from verifier.quantities import Mask, Number, Quantity, both, either, hull, larger, where


class GroupsOfPack(NamedTuple):
    """The groups that were read: how many, what they add up to [V], and how many were left out.

    ``comparable`` is whether the voltage of the pack at rest says something of them: how many there are is known
    otherwise than from the list of the groups itself.
    """

    read: Number
    made: Quantity
    left: Number
    comparable: Mask


class LeftOut(NamedTuple):
    """The groups that nobody read, by the pack at rest: how many, and the voltage of each on average. [V].

    ``as_read`` takes the readings as they are, ``within_error`` what they may be.
    """

    known: Mask
    count: Number
    as_read: tuple[Number, Number]
    within_error: tuple[Number, Number]


def groups_of_pack(facts: Facts) -> GroupsOfPack:
    """Return the groups read beside those counted.

    Beside an earlier reading of the groups nobody says of which day the voltage of the pack is: it may be of either.
    """
    rest, counted = facts.number("observed.resting_voltage_v"), facts.find(series)
    (now, later), (before, earlier) = (
        together(facts, f"observed.{name}") for name in ("groups_v", "groups_before_v")
    )
    made = where(before == now, hull(later, earlier), later)
    known = both(both(now > 0, counted.low == counted.high), both(counted.high < inf, rest.known))
    # Groups that stand for the count themselves do not show that all of them were measured.
    known = both(known, counted.rests_on & RESTS_ON.bit("observed.groups_v") == 0)
    # Of an earlier reading that is not complete nobody knows what it adds up to.
    known = both(known, either(before == 0, before == now))
    left = where(known, counted.low, now) - now
    return GroupsOfPack(now, made, larger(0.0, left), both(known, left >= 0))


def left_out(facts: Facts) -> LeftOut:
    """Return where the groups stand that nobody read: what is left of the pack at rest, shared among them."""
    found, rest = facts.find(groups_of_pack), facts.number("observed.resting_voltage_v")
    error = facts.limits.number("meter_error")
    known = both(found.comparable, found.left > 0)
    count = where(known, found.left, 1.0)

    def of_each(pack_v: Number, groups_v: Number) -> Number:
        return (where(known, pack_v, 0.0) - where(known, groups_v, 0.0)) / count

    return LeftOut(
        known, where(known, found.left, 0.0),
        (of_each(rest.low, found.made.high), of_each(rest.high, found.made.low)),
        (
            of_each(rest.low * (1 - error), found.made.high * (1 + error)),
            of_each(rest.high * (1 + error), found.made.low * (1 - error)),
        ),
    )  # fmt: skip
