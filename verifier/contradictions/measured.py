"""What was weighed or measured that the cells said to be inside cannot have."""

from __future__ import annotations

from math import inf

from verifier.contradictions.model import Contradiction, of_fields
from verifier.fact_names import RESTS_ON
from verifier.facts import Facts
from verifier.finding import ARITHMETIC, reference
from verifier.pack.bench_cell import excluded, on_the_bench
from verifier.pack.capacity import rated_capacity
from verifier.pack.counts import series
from verifier.pack.groups_of_pack import groups_of_pack
from verifier.pack.mass import Exclusion, light_cell, lighter_than_its_cells, too_light_for_energy
from verifier.pack.resting import of_other_chemistry, over_full
from verifier.pack.stated_voltages import highest_full_v
from verifier.pack.switched_off import switched_off
from verifier.pack.voltage import cell_full_voltage
from verifier.possible_chemistries import OVER_FULL
from verifier.quantities import Names, both, by_distinct, either, negated, where

_PUBLISHED = reference("best specific energy published of each chemistry")


def _of_mass(code: str, found: Exclusion) -> list[Contradiction]:
    return [
        Contradiction(
            code, RESTS_ON.in_words(_any(_stated(found))), found.holds, found.facts, found.numbers, _stated(found)
        )
    ]  # fmt: skip


def light_for_its_energy(facts: Facts) -> list[Contradiction]:
    """Return a mass in which no cells hold the energy claimed."""
    found = facts.find(too_light_for_energy)
    most, least = found.numbers["most_wh_per_kg"], found.numbers["least_kg"]
    facts.step("e_max", "most energy for its mass, by the best cells known", most, "Wh/kg", _PUBLISHED)
    facts.step("m_least", "energy claimed / e_max", least, "kg", ARITHMETIC)
    return _of_mass("too_light_for_energy", found)


def light_for_its_cells(facts: Facts) -> list[Contradiction]:
    """Return a pack that weighs less than its cells alone."""
    found = facts.find(lighter_than_its_cells)
    facts.step(
        "m_least", "cells alone, by their mass or what they hold", found.numbers["cells_kg"], "kg", ARITHMETIC
    )
    return _of_mass("lighter_than_its_cells", found)


def cell_of_other_mass(facts: Facts) -> list[Contradiction]:
    """Return a cell that weighs what none of the sheet of the cell named does."""
    found = facts.find(light_cell)
    source = facts.cell.source("mass_g")
    facts.step(
        "m_sheet",
        "mass of the cell named, nearest to what was weighed",
        found.numbers["sheet_g"],
        "g",
        source,
    )
    return _of_mass("cell_of_other_mass", found)


def above_full(facts: Facts) -> list[Contradiction]:
    """Return a voltage at rest that the cells said to be inside cannot have."""
    # What was read is told, not what it comes to within the meter's error.
    rest = facts.number("observed.resting_voltage_v") / facts.find(series)
    full, over = facts.find(cell_full_voltage), facts.find(over_full)
    facts.step("U_rest", "voltage at rest / S", rest, "V", ARITHMETIC)
    return [
        Contradiction(
            "above_full", RESTS_ON.in_words(_any(over.rests_on)),
            # Groups that were counted are no fewer for being overcharged.
            both(over.surely, negated(facts.number("observed.series").known)), over.rests_on,
            {"volts": rest.low, "full_v": full.high}, over.rests_on,
        )
    ]  # fmt: skip


def rest_of_other_chemistry(facts: Facts) -> list[Contradiction]:
    """Return a chemistry that is claimed, and a voltage at rest of counted cells that no such cell keeps."""
    rest = facts.number("observed.resting_voltage_v") / facts.find(series)
    full, other = facts.find(cell_full_voltage), facts.find(of_other_chemistry)
    facts.step("U_rest", "voltage at rest / S", rest, "V", ARITHMETIC)
    return [
        Contradiction(
            "rest_of_other_chemistry", ("observed.resting_voltage_v", "claim.chemistry"), other.surely,
            other.rests_on, {"volts": rest.low, "full_v": full.high},
        )
    ]  # fmt: skip


def groups_at_rest(facts: Facts) -> list[Contradiction]:
    """Return a voltage at rest that is not the sum of its groups, all of them measured, within the meter's error.

    Where some were not measured, those that were make no more than the pack. Source: Kirchhoff's voltage law.
    """
    rest, error = facts.number("observed.resting_voltage_v"), facts.limits.number("meter_error")
    found = facts.find(groups_of_pack)
    made = found.made
    more = both(found.left == 0, rest.low * (1 - error) > made.high * (1 + error))
    away = either(more, rest.high * (1 + error) < made.low * (1 - error))
    facts.step("U_groups", "sum of the groups as read", made, "V", ARITHMETIC)
    fields, off = ("observed.groups_v", "observed.resting_voltage_v"), facts.find(switched_off)
    numbers = {
        "groups": found.read, "made_v": where(rest.low > made.high, made.high, made.low), "volts": rest.low
    }  # fmt: skip
    apart = both(found.comparable, away)
    return [
        Contradiction("groups_not_of_pack", fields, both(apart, negated(off)), rest.rests_on, numbers),
        Contradiction("plug_switched_off", fields, both(apart, off), rest.rests_on, numbers),
    ]


def rest_above_name(facts: Facts) -> list[Contradiction]:
    """Return a voltage at rest above that of every full pack sold under the nominal voltage that the seller names.

    Of packs sold under a name those of the most volts when full count, and half a cell more than any name allows; the
    unusual chemistries are left to whoever names them. Where the count is known, `above_full` compares with it.
    """
    rest, named = facts.number("observed.resting_voltage_v"), facts.number("claim.nominal_voltage_v")
    error = facts.limits.number("meter_error")
    (most,) = by_distinct(
        highest_full_v, named.high, facts.cell.chemistries, facts.limits.number("nominal_voltage_tolerance")
    )
    uncounted = facts.find(series).rests_on & ~_VOLTAGES == 0
    above = both(both(rest.known, named.known), rest.low * (1 - error) > most * OVER_FULL)
    over = over_full(facts)
    return [
        of_fields(
            "rest_above_name", ("observed.resting_voltage_v", "claim.nominal_voltage_v"),
            both(both(above, uncounted), negated(over.surely)), volts=rest.low, named=named.high, full_v=most,
        )
    ]  # fmt: skip


_VOLTAGES = RESTS_ON.bit(
    "claim.charge_voltage_v", "claim.full_voltage_v", "claim.nominal_voltage_v", "claim.chemistry"
)


def _stated(found: Exclusion) -> Names:
    """Return all facts that exclude each other: a question of some of them alone makes no sense."""
    return found.facts if found.stated is None else found.stated


def _any(names: Names) -> int:
    """Return one set of facts that stand in any pack of a column."""
    if isinstance(names, int):
        return names
    found = 0
    for each in set(names.tolist()):
        found |= each
    return found


def cell_on_the_bench(facts: Facts) -> list[Contradiction]:
    """Return what was measured of a cell and the cell that its wrapper names cannot have; its mass stands above."""
    across = facts.number("observed.cell.diameter_mm")
    other_form = Contradiction(
        "cell_of_other_form", ("observed.cell.diameter_mm", "observed.cell.marking"),
        both(both(across.known, facts.cell.known), facts.cell.cylindrical == 0),
        across.rests_on | facts.cell_rests_on, {"measured": across.low},
    )  # fmt: skip
    return [
        other_form,
        *_of_the_bench(facts),
    ]


def _of_the_bench(facts: Facts) -> list[Contradiction]:
    read = {each.figure: facts.number(f"observed.cell.{each.figure}") for each in on_the_bench(facts)}
    return [
        Contradiction(
            _OF_OTHER[each.figure], (f"observed.cell.{each.figure}", "observed.cell.marking"),
            excluded(facts, each), each.measured.rests_on | each.sheet.rests_on,
            {
                "what": each.figure,
                # What was read is told, not what it comes to within the meter's error.
                "measured": where(each.worn_out, read[each.figure].high, read[each.figure].low),
                "low": each.sheet.low, "high": each.sheet.high,
            },
        )
        for each in on_the_bench(facts)
        if each.figure in _OF_OTHER
    ]  # fmt: skip


_OF_OTHER = {
    "diameter_mm": "cell_of_other_length", "length_mm": "cell_of_other_length",
    "ac_mohm": "cell_of_other_resistance", "dc_mohm": "cell_of_other_resistance",
    "capacity_ah": "cell_of_other_capacity",
}  # fmt: skip


# Beyond what is granted of a good cell, common practice, no source: about a tenth above the typical capacity.
_GOOD_LOT = 1.05


def overfull(facts: Facts) -> list[Contradiction]:
    """Return a measured capacity that no such cells can hold: the cells are others, or the meter is wrong.

    A good lot gives a tenth more than its sheet calls typical: that harms nobody and speaks against nothing.
    """
    measured, most = facts.number("observed.capacity_ah"), facts.find(rated_capacity)
    error = (1 + facts.limits.number("meter_error")) * _GOOD_LOT
    known = both(both(measured.known, most.high < inf), facts.cell.known)
    return [
        Contradiction(
            "measured_above_cells", ("observed.capacity_ah", "observed.cell.marking", "observed.parallel"),
            both(known, measured.low > most.high * error), measured.rests_on | most.rests_on,
            {"measured_ah": measured.low, "most_ah": most.high},
        )
    ]  # fmt: skip
