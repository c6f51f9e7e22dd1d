"""Where the BMS switches off: as stated, or the threshold of its chip over its shunt. A trip is never a rating."""

from __future__ import annotations

from math import inf

from verifier.facts import Facts
from verifier.finding import of_fields
from verifier.quantities import Quantity, smaller, where


def bms_trip(facts: Facts) -> Quantity:
    """Return the current at which the BMS switches off: 100 mV over 2 mohm are 50 A, within limit trip_tolerance. [A].

    Nothing passes for long above it, and nothing is granted up to it: the board heats, whatever its chip allows.
    Where it is stated too, the lower one bounds. Source: Ohm's law.
    """
    stated, off = facts.number("observed.bms.trip_a"), facts.limits.number("trip_tolerance")
    threshold, shunt = facts.number("observed.bms.trip_mv"), facts.number("observed.bms.shunt_mohm")
    by_shunt = threshold / shunt
    by_shunt = by_shunt.with_ends(by_shunt.low * (1 - off), by_shunt.high * (1 + off))
    low = smaller(where(stated.known, stated.low, inf), where(by_shunt.high < inf, by_shunt.low, inf))
    high = smaller(stated.high, by_shunt.high)
    found = Quantity(where(high < inf, smaller(low, high), 0.0), high)
    if facts.single and by_shunt.high < inf:
        facts.step(
            "I_trip", "threshold / shunt, within what chips vary", by_shunt, "A",
            of_fields("observed.bms.trip_mv", "observed.bms.shunt_mohm"),
        )  # fmt: skip
    return found


def below_its_trip(facts: Facts, rating: Quantity) -> Quantity:
    """Return a rating of the BMS, at most where it switches off. [A]."""
    most = facts.find(bms_trip).high
    return rating.with_ends(smaller(rating.low, most), smaller(rating.high, most))
