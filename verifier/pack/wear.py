"""What is left of the current that cells stand, when they are not new.

A pack that is sold as used, that gave less in a test than new cells surely hold, or of which a cell on the bench has
worn, is not judged as a new one.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import Any, NamedTuple

from verifier.bounds import Bounds
from verifier.case_facts import CaseFacts
from verifier.electrical.elementary import sqrt as root
from verifier.fact_names import RESTS_ON, missing
from verifier.facts import Facts
from verifier.finding import Remark, of_fields, of_limit, remark
from verifier.pack.bench_cell import on_the_bench
from verifier.pack.capacity import (
    delivered,
    is_used,
    may_have_worn,
    measured_capacity,
    rated_at_most,
    tested_cell,
)
from verifier.pack.grown_groups import groups_over_new
from verifier.pack.grown_resistance import Grown, resistance_over_new
from verifier.pack.voltage import pack_empty_voltage
from verifier.quantities import (
    Mask,
    Names,
    Quantity,
    both,
    either,
    larger,
    negated,
    ratio,
    where,
)

# The least temperature of a capacity test, 20 C with 5 K to either side: IEC 61960-3.
_ROOM_C = 15.0
# Of the capacity, an hour's current; up to this a test gives nearly all; common practice, no source.
_GENTLE = 0.5


def current_left(facts: Facts) -> Quantity:
    """Return the part of a new cell's current that the cells still stand, at equal heat. [-].

    Heat in a cell is I^2 R, so that I = I_new sqrt(R_new / R). A cell that has more than twice the resistance of a
    new one (limit worn_out_resistance), or holds too little, is worn out: what it stands nobody knows. Nor does
    anybody where the resistance of worn cells was not measured, for it may be so much. Then nothing is granted.
    """
    found, groups = facts.find(_worn), facts.find(groups_over_new)
    by_cell = found.grown.heat.high < inf
    # A cell that is better than the groups stands for none of the others.
    by_groups = either(groups.unlike, both(groups.known, negated(by_cell)))
    measured = either(by_cell, by_groups)
    least = where(
        by_groups,
        ratio(1.0, larger(1.0, groups.times.high)),
        root(ratio(1.0, larger(1.0, found.grown.heat.high))),
    )
    granted = both(both(found.enough, measured), negated(found.resists))
    low = where(found.worn, where(granted, least, 0.0), 1.0)
    untested = both(is_used(facts), negated(found.tested))
    lacking = where(untested, missing("observed.capacity_ah"), 0)
    # Of cells that hold too little for certain the resistance would change nothing.
    asked = both(found.worn, negated(found.surely_too_little))
    lacking = lacking | where(asked, _lacking_of_resistance(facts, by_cell), 0)
    # The other cells may be as new, and share what one that has worn leaves to them: at most all of it.
    left = Quantity(low, 1.0 + 0 * low, lacking)
    left = where(
        both(found.by_pack, found.tested),
        left.resting_on(facts.find(delivered), facts.find(rated_at_most)),
        left,
    )
    left = where(both(found.worn, by_cell), left.resting_on(found.grown.alike), left)
    left = where(both(found.worn, by_groups), left.resting_on(groups.times), left)
    left = where(found.cell_worn, left.resting_on(facts.find(tested_cell)), left)
    if facts.single and found.worn:
        if by_groups:
            facts.step(
                "R_group / R_new", "resistance of the worst group over that of new cells", groups.times, "-",
                of_fields("observed.group_dc_mohm", "observed.group_dc_seconds"),
            )  # fmt: skip
        elif by_cell:
            facts.step(
                "R / R_new", "resistance of the cell on the bench over a new one's", found.grown.heat, "-",
                of_fields("observed.cell.dc_mohm", "observed.cell.ac_mohm"),
            )  # fmt: skip
        facts.step(
            "k_worn", "current worn cells stand, over new ones: sqrt(R_new / R); by groups R_new / R", left, "-",
            of_limit("worn_out_resistance"),
        )  # fmt: skip
    return left


def told_of_current(facts: Facts) -> Iterator[Remark]:
    """Yield what current one pack is granted of a new one's because its cells have worn, or why none is."""
    found, left = facts.find(_worn), facts.find(current_left)
    if not found.worn:
        return
    yield from _of_current(facts, found, left)
    yield remark("used_cells_standards")


def _of_current(facts: Facts, found: _Worn, left: Quantity) -> Iterator[Remark]:
    """Yield what is granted because of wear, or the first reason why nothing is."""
    part, most = facts.limits.number("worn_out_capacity"), facts.limits.number("worn_out_resistance")
    fields = RESTS_ON.in_words(left.rests_on)
    groups, read = facts.find(groups_over_new), facts.number("observed.group_dc_mohm")
    if left.low > 0:
        yield remark("worn_current", *fields, percent=100 * left.low)
    if groups.times.high > 1 and groups.times.high < inf:
        code = "groups_unlike_cell" if groups.unlike else "groups_resist"
        yield remark(
            code,
            "observed.group_dc_mohm",
            read_mohm=read.high,
            times=groups.times.high,
            cell_times=found.grown.heat.high,
        )
    if found.resists:
        yield remark("worn_out_resistance", *fields, times=most)
    too_little = found.tested and not found.enough
    if too_little:
        # A test in the cold, fast or of cells that nobody knows may be all that is lacking.
        sure = facts.find(is_worn_out)
        yield remark("worn_out_capacity" if sure else "perhaps_worn_out", *fields, percent=100 * part)
        # Of cells that hold too little no resistance grants a current: one reason is told.
        return
    if groups.known and not facts.number("observed.cell.dc_mohm").known:
        return
    if left.missing & missing("observed.cell.dc_mohm") and not facts.number("observed.cell.dc_mohm").known:
        yield remark("worn_resistance_open", "observed.cell.dc_mohm")
    elif left.missing & missing("sheet.resistance"):
        yield remark("worn_sheet_silent", "observed.cell.dc_mohm")


# What tells a worn cell from another: wear takes nothing of the mass, and adds resistance.
_TELL_APART = ("observed.cell.mass_g", "observed.cell.dc_mohm", "observed.mass_kg")


def telling_apart(facts: Facts) -> dict[str, Any]:
    """Return what would tell worn cells from other ones and was not measured yet, as the numbers of a remark.

    ``ask`` are the fields; ``bench_fits`` is whether a cell on the bench was found to be such a cell by its mass.
    """
    ask = tuple(name for name in _TELL_APART if not facts.number(name).known)
    by_mass = [each for each in facts.find(on_the_bench) if each.figure == "mass_g"]
    return {"ask": ask, "bench_fits": bool(by_mass and by_mass[0].fits)}


class WornOut(NamedTuple):
    """A pack that gave less in a test than cells that are worn out hold: no current is granted, whatever else is known.

    ``percent`` is what came out, of what new cells surely make, ``new_ah``; ``least_percent`` what would do. ``surely``
    is whether no other test could show more; else one that gives ``needed_ah`` down to ``empty_v`` would. [%, Ah, V]
    """

    measured_ah: Bounds
    new_ah: float
    percent: float
    least_percent: float
    surely: bool
    needed_ah: float
    empty_v: float


def worn_out(facts: CaseFacts) -> WornOut | None:
    """Return whether one pack is worn out by what it gave; None where it holds enough, or may by a test in a room.

    What the best cell of a size holds new is nothing that cells which nobody knows have lost.
    """
    found, new = facts.find(_worn), facts.find(rated_at_most)
    came, part = facts.case.observed.capacity_ah, facts.limits.number("worn_out_capacity")
    if came is None or not facts.find(is_worn_out):
        return None
    needed_ah = part * new.high / (1 - facts.limits.number("meter_error"))
    empty_v = facts.find(pack_empty_voltage).low
    surely = bool(found.surely_too_little) or empty_v <= 0
    return WornOut(came, new.high, 100 * came.high / new.high, 100 * part, surely, needed_ah, empty_v)


def holds_enough(facts: Facts) -> Mask:
    """Whether a pack that was tested surely holds more than one that is worn out."""
    found = facts.find(_worn)
    return both(both(found.tested, facts.cell.known), found.enough)


def gave_far_less(facts: Facts) -> Mask:
    """Whether a test gave so little, of what is claimed or of what new cells of the kind make, that cells are worn out.

    Whatever kept it from settling a figure, nobody is to be told that nothing speaks against the pack.
    """
    came, claim, new = (
        facts.number("observed.capacity_ah"), facts.claim("capacity_ah"), facts.find(rated_at_most)
    )  # fmt: skip
    part = facts.limits.number("worn_out_capacity")
    of_claim = both(claim.made, came.high < part * claim.low)
    of_new = both(both(facts.cell.known, new.high < inf), came.high < part * new.high)
    return both(came.known, either(of_claim, of_new))


def is_worn_out(facts: Facts) -> Mask:
    """Whether the cells, which are known, gave less in a test than worn out ones hold.

    The test must be noted to be one of those that capacities are rated by, or nearly: else cells may be as new.
    """
    new = facts.find(rated_at_most)
    came, current = (facts.as_read(f"observed.capacity_{unit}") for unit in ("ah", "current_a"))
    air = facts.temperature("observed.capacity_temperature_c")
    gentle = both(current.known, current.high <= _GENTLE * new.high)
    tested_in_a_room = both(both(air.known, air.low_c >= _ROOM_C), gentle)
    known = both(facts.cell.known, both(new.high > 0, new.high < inf))
    too_little = both(came.known, negated(facts.find(_worn).enough))
    return both(both(known, too_little), tested_in_a_room)


class _Worn(NamedTuple):
    """What is known of wear: whether the cells have worn and by what, and whether they are worn out.

    ``resists`` is whether the resistance may be that of a cell that is worn out, ``enough`` whether they surely hold
    more than one, ``surely_too_little`` whether they hold less whatever the resistance.
    """

    worn: Mask
    by_pack: Mask
    cell_worn: Mask
    tested: Mask
    enough: Mask
    surely_too_little: Mask
    resists: Mask
    grown: Grown


def _worn(facts: Facts) -> _Worn:
    new, given = facts.find(rated_at_most), facts.find(delivered)
    part, most = facts.limits.number("worn_out_capacity"), facts.limits.number("worn_out_resistance")
    came = facts.number("observed.capacity_ah")
    tested = came.known
    by_pack = either(is_used(facts), both(tested, negated(facts.find(may_be_as_new))))
    # A cell on the bench: that it has worn, and how far its resistance has grown.
    grown, cell_worn = facts.find(resistance_over_new), may_have_worn(facts)
    groups = facts.find(groups_over_new)
    groups_beyond = groups.times.low > most
    only_groups = both(groups.known, negated(grown.heat.high < inf))
    groups_resist = both(either(groups.unlike, either(only_groups, groups_beyond)), groups.times.high > most)
    enough = where(
        tested,
        given.low >= part * new.high,
        # One cell says nothing of a pack that is known to have worn; else it stands for the others.
        both(negated(by_pack), either(negated(cell_worn), _holds_enough(facts, part))),
    )
    exact = both(both(tested, came.low == came.high), new.settled)
    return _Worn(
        worn=either(by_pack, either(cell_worn, either(grown.more, either(groups.unlike, groups_beyond)))),
        by_pack=by_pack,
        cell_worn=cell_worn,
        tested=tested,
        enough=enough,
        surely_too_little=both(exact, facts.find(measured_capacity).high < part * new.high),
        # By 1 kHz alone the resistance that the current heats may have grown further than what was read.
        resists=either(both(grown.heat.high < inf, grown.heat.high > most), groups_resist),
        grown=grown,
    )


def _lacking_of_resistance(facts: Facts, measured: Mask) -> Names:
    """Return what is missing to compare a cell's resistance with a new one's; one at 1 kHz only bounds it."""
    read = facts.number("observed.cell.dc_mohm")
    of_sheet = where(measured, 0, missing("sheet.resistance"))
    return where(read.known, of_sheet, missing("observed.cell.dc_mohm"))


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


def may_be_as_new(facts: Facts) -> Mask:
    """Whether a pack that is not used gave no less than new cells surely hold, but for how wrong a tester may read.

    Without it a pack that reads 97 % would be granted no current, and one of 98 % all of it.
    """
    new, given = facts.find(rated_at_most), facts.find(delivered)
    reads_less = given.high * (1 + facts.limits.number("tester_error"))
    return both(negated(is_used(facts)), reads_less >= new.high)
