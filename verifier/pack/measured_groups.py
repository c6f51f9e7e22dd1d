"""What was measured of the groups' resistance, and how far it bounds what the pack sags by.

A group is measured between two balance leads, with its strips and the links between it and the next. What the whole
pack resists tells less: it is the sum, in which one bad group hides, and the first group at its cut-off ends the pack.
So the groups have a field, and the pack has none. Nor does a group tell how its cells share what heats them.
"""

from __future__ import annotations

from verifier.electrical.resistance import (
    EFFECTIVE_OVER_10S,
    HOTTEST_C,
    cold_resistance_factor,
    over_warm_resistance,
)
from verifier.facts import Facts
from verifier.finding import of_fields
from verifier.pack.counts import parallel
from verifier.quantities import (
    Mask,
    Number,
    Quantity,
    both,
    by_distinct,
    larger,
    product,
    ratio,
    smaller,
    where,
)

# A cell's resistance to direct current is stated after so many seconds; it grows with them.
_SECONDS, _LONGER = 10.0, 1.5
_COLDEST_C = -60.0


def of_measured_groups(facts: Facts, by_cells: Quantity) -> Quantity:
    """Return the resistance of one group, bounded by what was measured of all groups. [ohm].

    Where it was measured over ten seconds or more, no group resists more in use than the worst one, at the coldest air
    of use and any charge from a fifth on. Over fewer seconds, or over nobody knows how many, it says nothing good. What
    is beyond what the cells may have by their sheet counts however it was measured. Nothing is refuted by it.

    Parameters
    ----------
    facts : Facts
    by_cells : Quantity
        The same by the cells alone, over the air of use. [ohm]
    """
    read, held = facts.number("observed.group_dc_mohm"), facts.number("observed.group_dc_seconds")
    error = facts.limits.number("meter_error")
    most = product(read.high * 0.001 * (1 + error), _at_other_times(facts))
    long_enough = read_long_enough(facts)
    # Beyond ten seconds what goes slowly adds to it, in new cells as in worn ones.
    longer = both(held.known, held.low > _LONGER * _SECONDS)
    allowed = product(most_of_new_mohm(facts), where(longer, EFFECTIVE_OVER_10S[1], 1.0))
    worse = both(read.known, read.high * (1 - error) > allowed)
    bounded = larger(by_cells.low, smaller(by_cells.high, most))
    high = where(worse, larger(by_cells.high, most), where(long_enough, bounded, by_cells.high))
    if facts.single and read.known:
        facts.step(
            "R_measured", "the worst group as measured, at any charge from a fifth on and in the coldest air of use",
            Quantity(0.0, most), "ohm",
            of_fields("observed.group_dc_mohm", "observed.group_dc_seconds", "observed.group_dc_temperature_c"),
        )  # fmt: skip
    return where(read.known, by_cells.with_ends(by_cells.low, high).resting_on(read, held), by_cells)


def read_long_enough(facts: Facts) -> Mask:
    """Whether the groups' resistance was read over so many seconds that it is all of it."""
    held = facts.number("observed.group_dc_seconds")
    return both(facts.number("observed.group_dc_mohm").known, both(held.known, held.low >= _SECONDS))


def over_warm(facts: Facts) -> Number:
    """Return how many times what was read a group may resist in a warm room, however cold it was read. [-]."""
    (found,) = by_distinct(_over_warm, _read_in(facts)[1])
    return found


def _read_in(facts: Facts) -> tuple[Number, Number]:
    """Return from where to where the temperature may lie at which the groups' resistance was read. [C]."""
    noted, usual = facts.temperature("observed.group_dc_temperature_c"), facts.limits["test_temperature_c"]
    return where(noted.known, noted.low_c, usual.low), where(noted.known, noted.high_c, usual.high)


def most_of_new_mohm(facts: Facts) -> Number:
    """Return what a group of new cells resists at most, as cold as it may have been measured. [mohm]."""
    cell, count = facts.of_cell("dc_room_mohm"), facts.find(parallel)
    (cold,) = by_distinct(_cold, _read_in(facts)[0])
    return product(ratio(cell.high, larger(1.0, count.low)), cold)


def _at_other_times(facts: Facts) -> Number:
    """Return how many times what was measured a group may resist at another charge and temperature. [-]."""
    (times,) = by_distinct(_in_use, _read_in(facts)[1], facts.air.low_c)
    return product(facts.limits.number("resistance_over_charge"), times)


def _in_use(measured_c: float, coldest_c: float) -> tuple[float]:
    return (_over_warm(measured_c)[0] * _cold(coldest_c)[0],)


def _over_warm(measured_c: float) -> tuple[float]:
    return (float(over_warm_resistance(temperature_c=_inside(measured_c))),)


def _cold(temperature_c: float) -> tuple[float]:
    return (float(cold_resistance_factor(temperature_c=_inside(temperature_c)).high),)


def _inside(temperature_c: float) -> float:
    return min(max(temperature_c, _COLDEST_C), HOTTEST_C)
