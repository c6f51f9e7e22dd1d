"""What a short circuit draws from a full pack, at most: what its fuse has to break."""

from __future__ import annotations

from math import inf

from verifier.electrical.resistance import DC_OVER_AC, EFFECTIVE_OVER_10S, SHORT_PULSE_S
from verifier.facts import Facts
from verifier.pack.counts import parallel, series
from verifier.pack.grown_resistance import as_measured, of_sheet, was_read
from verifier.pack.voltage import pack_full_voltage
from verifier.quantities import Mask, Number, both, either, larger, ratio, smaller, where


def into_a_short(facts: Facts) -> Number:
    """Return what a short circuit draws at most, through the cells alone; leads and strip make it less. [A]."""
    cell_v = facts.find(pack_full_voltage) / facts.find(series)
    return ratio(cell_v.high, facts.find(group_at_least))


def group_at_least(facts: Facts) -> Number:
    """Return the least that a group resists in the first milliseconds, when a fuse breaks. [ohm]."""
    by_sheet = ratio(facts.of_cell("at_once_mohm").low * 0.001, larger(1.0, facts.find(parallel).high))
    return larger(by_sheet, facts.find(measured_at_least))


def measured_at_least(facts: Facts) -> Number:
    """Return the least that a group resists as far as a cell or the groups were measured; nothing else. [ohm].

    What flows at once meets no less than the resistance at 1 kHz. One to direct current is 1.3 to 2.5 times that
    (`verifier.electrical.resistance`). The other cells may be as new as the datasheet's, however far one has worn.
    """
    by_cell = ratio(facts.find(cell_at_least) * 0.001, larger(1.0, facts.find(parallel).high))
    read, held = facts.number("observed.group_dc_mohm"), facts.number("observed.group_dc_seconds")
    longest = where(
        both(held.known, held.high <= SHORT_PULSE_S), DC_OVER_AC[1], DC_OVER_AC[1] * EFFECTIVE_OVER_10S[1]
    )
    error = facts.limits.number("meter_error")
    by_group = where(read.known, ratio(read.low * 0.001 * (1 - error), longest), 0.0)
    return larger(by_cell, by_group)


def cell_at_least(facts: Facts) -> Number:
    """Return the least that a cell resists at 1 kHz, by one that was measured; nothing where none was. [mohm]."""
    ac, dc = as_measured(facts, "ac_mohm"), as_measured(facts, "dc_mohm")
    by_ac = where(was_read(facts, "ac_mohm"), ac.low, 0.0)
    by_dc = where(was_read(facts, "dc_mohm"), ratio(dc.low, DC_OVER_AC[1]), 0.0)
    new = smaller(of_new(facts, "ac_new_mohm"), of_new(facts, "dc_new_mohm"))
    return smaller(larger(by_ac, by_dc), new)


def of_new(facts: Facts, figure: str) -> Number:
    """Return the least that a new cell resists by its datasheet; without end where that is silent. [mohm]."""
    found = of_sheet(facts, figure)
    return where(both(found.low > 0, found.high < inf), found.low, inf)


def was_measured(facts: Facts) -> Mask:
    """Whether a cell's or the groups' resistance was measured."""
    of_cell = either(was_read(facts, "ac_mohm"), was_read(facts, "dc_mohm"))
    return either(of_cell, facts.number("observed.group_dc_mohm").known)
