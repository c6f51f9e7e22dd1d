"""Continuous and peak current of the whole pack: the least of what each element carries.

An element of which nothing is known carries anything from nothing upward, so it never lets a claim pass.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from typing import Any

from verifier.facts import Facts
from verifier.finding import ARITHMETIC, ELEMENTS, of_fields, remark
from verifier.pack.bms import bms_trip
from verifier.pack.claimed_current import continuous_claim, means_the_other, peak_claim
from verifier.pack.elements import bms, cells, cells_carry, connector, fuse, series_links, take_off
from verifier.pack.leads import main_leads
from verifier.quantities import (
    Mask,
    Names,
    Quantity,
    anywhere,
    both,
    either,
    larger,
    least,
    smaller,
    surely_least,
    where,
)
from verifier.verdict import Claim, Outcome, chosen, in_either_sense, judge_claim

_Support = Callable[[Facts], tuple[Quantity, Any]]


def elements(facts: Facts) -> tuple[Quantity, ...]:
    """Return what each element carries continuously, in the order of `ELEMENTS`. [A]."""
    return tuple(
        facts.find(element) for element in (cells, series_links, take_off, main_leads, bms, connector, fuse)
    )


def pack_current(facts: Facts) -> tuple[Quantity, Any]:
    """Return the continuous current of the whole pack, and the place in `ELEMENTS` of what limits it. [A]."""
    found, limiting = least(facts.find(elements))
    facts.step("I_pack", "least of the elements", found, "A", ARITHMETIC)
    return found, limiting


def sure_limit(facts: Facts) -> Any:
    """Return the place in `ELEMENTS` of what surely carries least: it decides what is granted."""
    return surely_least(facts.find(elements))


def pack_peak(facts: Facts) -> tuple[Quantity, Any]:
    """Return the current that the pack carries for the seconds claimed, and what limits it. [A]."""
    found, limiting = least(facts.find(peak_elements))
    facts.step("I_peak_pack", "least of the elements", found, "A", ARITHMETIC)
    return found, limiting


def sure_peak_limit(facts: Facts) -> Any:
    """Return the place in `ELEMENTS` of what surely carries least for the seconds claimed."""
    return surely_least(facts.find(peak_elements))


def peak_elements(facts: Facts) -> tuple[Quantity, ...]:
    """Return what each element carries for the seconds claimed, in the order of `ELEMENTS`. [A].

    What heats slowly (strip, leads, connector, fuse) may carry more than its continuous limit for a moment, and
    no more after a minute. A BMS's peak is granted for no time that nobody states.
    """
    # First, because what is noted of an element last is what is shown of it.
    lasting = facts.find(elements)
    seconds = facts.number("claim.peak_seconds")
    one = facts.cell_peak_a(seconds)
    one = Quantity(one.low, one.high, one.missing | seconds.missing, facts.cell_rests_on, one.grade)
    of_cells = cells_carry(facts, one)
    facts.step("I_peak", "what one cell's sheet grants for the time", one, "A", facts.cell.source("pulse"))
    facts.step("I_peak_cells", "P x I_peak / f_share", of_cells, "A", ARITHMETIC)
    facts.element("cells", of_cells)
    long = both(seconds.known, seconds.low > facts.limits.number("short_peak_s"))
    carried = [of_cells]
    for name, continuous in zip(ELEMENTS[1:], lasting[1:], strict=True):
        found = _bms_peak(facts, continuous, long) if name == "bms" else _slow(continuous, long)
        carried.append(found)
        if facts.single:
            state = "not fitted" if found.low == inf else ""
            notes = () if state or long else (remark("bms_peak" if name == "bms" else "heats_slowly"),)
            facts.element(name, found, state=state, notes=notes)
    return tuple(carried)


def judged_continuous(facts: Facts) -> Outcome:
    """Return the verdict on the continuous current claimed; one only called a maximum may be meant as a peak."""
    claim, only_a_maximum = continuous_claim(facts)
    return _judged(facts, claim, only_a_maximum, pack_current, pack_peak)


def judged_peak(facts: Facts) -> Outcome:
    """Return the verdict on the peak current claimed; one only called a maximum may be meant as continuous."""
    claim, only_a_maximum = peak_claim(facts)
    return _judged(facts, claim, only_a_maximum, pack_peak, pack_current)


def _judged(
    facts: Facts, claim: Claim, only_a_maximum: Mask, sense: _Support, other_sense: _Support
) -> Outcome:
    reserve = facts.limits.number("reserve")
    either_way = means_the_other(facts, only_a_maximum)
    own = judge_claim(claim, facts.find(sense)[0], reserve)
    if not anywhere(either_way):
        return own
    # What is shown of the elements is what they carry in the sense that is asked for.
    other = judge_claim(claim, facts.quietly(other_sense)[0], reserve)
    return chosen(either_way, in_either_sense(own, other), own)


def lacking_of_a_peak(facts: Facts) -> Names:
    """Return what is missing of the peak that a maximum may be meant as, and that so leaves it open."""
    return _lacking(facts, continuous_claim(facts)[1], pack_peak)


def lacking_of_a_continuous(facts: Facts) -> Names:
    """Return what is missing of the continuous current that a maximum may be meant as, and that so leaves it open."""
    return _lacking(facts, peak_claim(facts)[1], pack_current)


def _lacking(facts: Facts, only_a_maximum: Mask, other_sense: _Support) -> Names:
    either_way = means_the_other(facts, only_a_maximum)
    if not anywhere(either_way):
        return 0
    return where(either_way, facts.quietly(other_sense)[0].missing, 0)


def _slow(continuous: Quantity, long: Any) -> Quantity:
    return where(long, continuous, continuous.with_ends(continuous.low, inf))


def _bms_peak(facts: Facts, continuous: Quantity, long: Any) -> Quantity:
    """Return a BMS between its continuous rating and its peak or trip. [A]."""
    peak, trip = facts.number("observed.bms.peak_a"), facts.find(bms_trip)
    seen = facts.number("observed.bms.continuous_a")
    # Whichever is lower: a BMS that trips at 60 A delivers no 100 A.
    most = smaller(peak.high, trip.high)
    high = where(most < inf, larger(most, seen.low), inf)
    found = Quantity(seen.low, high, seen.missing | peak.missing, seen.rests_on | peak.rests_on)
    nothing = Quantity(0.0, inf, seen.missing | peak.missing)
    found = where(either(seen.known, most < inf), found, nothing)
    facts.step(
        "I_bms", "from its continuous rating to its peak", found, "A", of_fields("observed.bms.peak_a")
    )
    # For a long time the continuous rating decides, where it is known.
    return where(both(long, seen.known), continuous, found)
