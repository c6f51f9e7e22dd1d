"""Contradictions in words: one sentence for each code, filled with its numbers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from verifier.bounds import Bounds
from verifier.words.filling import Sentence, filled
from verifier.words.names import field_name
from verifier.words.numbers import amount, digits, span

_COUNTED_IN = {
    "series": "in series",
    "parallel": "in parallel",
    "mass_kg": "kg",
    "lead_awg": "AWG main leads",
    "bms_current_a": "A BMS",
}


_STATED = {
    "nominal_voltage_v": "its voltage", "capacity_ah": "its capacity", "energy_wh": "its energy",
    "continuous_current_a": "its continuous current", "power_w": "its power", "series": "its cells in series",
    "parallel": "its cells in parallel", "cell_count": "the number of its cells",
}  # fmt: skip
_NAMED = {
    "claim.cell_marking": "cells",
    "claim.cell_size": "sizes of cell",
    "claim.chemistry": "chemistries",
}


def _against_seen(numbers: Mapping[str, Any]) -> str:
    what = _COUNTED_IN[numbers["what"]]
    return f"claimed {digits(numbers['claimed'])} {what}, found {digits(numbers['seen'])} {what}"


def _voltage(numbers: Mapping[str, Any]) -> str:
    name = "charge voltage" if "charge_voltage" in numbers["what"] else "full voltage"
    return f"a {name} of {digits(numbers['volts'])} V is that of no pack with {digits(numbers['series'])} in series"


def _other_size(numbers: Mapping[str, Any]) -> str:
    name = str(numbers["what"]).removesuffix("_mm")
    sheet = span(Bounds(numbers["low"], numbers["high"]), "mm")
    return f"a cell's {name} is {digits(numbers['measured'])} mm, its datasheet says {sheet}: not that cell"


def _other_resistance(numbers: Mapping[str, Any]) -> str:
    kind = "at 1 kHz" if numbers["what"] == "ac_mohm" else "to direct current"
    return (
        f"a cell resists {digits(numbers['measured'])} mohm {kind}, a new one of its datasheet up to "
        f"{digits(numbers['high'])} mohm: not that cell, or worn out"
    )


def _other_capacity(numbers: Mapping[str, Any]) -> str:
    measured, low, high = (float(numbers[name]) for name in ("measured", "low", "high"))
    if measured > high:
        return f"a cell gave {digits(measured)} Ah, its datasheet's hold at most {digits(high)} Ah: not that cell"
    percent = digits(100 * measured / low, 2) if low > 0 else "0"
    return (
        f"a cell holds {digits(measured)} Ah, {percent} % of its datasheet's {digits(low)} Ah: not that cell, or worn "
        "out"
    )


def _stated_differently(numbers: Mapping[str, Any]) -> str:
    unit = "" if numbers["unit"] in ("count", "number") else numbers["unit"]
    first, second = (amount(float(numbers[name]), unit) for name in ("first", "second"))
    return f"{field_name(numbers['what'])}: the listing says {first} in one place and {second} in another"


def _named_differently(numbers: Mapping[str, Any]) -> str:
    return f"the listing names two different {_NAMED[numbers['what']]} in two places"


CONTRADICTIONS: dict[str, Sentence] = {
    **{f"{name}_stated_differently": _stated_differently for name in _STATED},
    **{f"{name.removeprefix('claim.')}_stated_differently": _named_differently for name in _NAMED},
    "charger_of_other_pack": (
        "{nominal} V with {series} in series, and a charger of {volts} V: no kind of cell goes with both"
    ),
    "full_voltage_of_other_pack": (
        "{nominal} V with {series} in series, and {volts} V when full: no kind of cell goes with both"
    ),
    "capacity_not_of_cells": (
        "{parallel} in parallel x {cell_ah} Ah make {made_ah} Ah, not the {claimed_ah} Ah claimed"
    ),
    "energy_not_of_product": "{volts} V x {amp_hours} Ah make {made_wh} Wh, not the {claimed_wh} Wh claimed",
    "power_beyond_current": "{power_w} W at {volts} V take {needed_a} A, and {claimed_a} A are claimed",
    "count_not_of_product": (
        "{series} in series x {parallel} in parallel make {made} cells, not the {claimed} claimed"
    ),
    "hours_too_few": "{hours} h at {amps} A put in {put_in_ah} Ah at most; {claimed_ah} Ah are claimed",
    "peak_below_continuous": "a peak of {peak_a} A below {continuous_a} A continuous",
    "maximum_below_continuous": "a maximum current of {maximum_a} A below {continuous_a} A continuous",
    "bms_peak_below_continuous": "the BMS's peak of {peak_a} A lies below its {continuous_a} A continuous",
    "bms_trips_below_continuous": "the BMS switches off at {trip_a} A at most, below its {continuous_a} A continuous",
    "designation_against_count": "the designation says {printed} {what}, the listing {claimed}",
    "configuration_against_count": "the configuration says {printed} in {what}, and {claimed} is written beside it",
    "series_counts_differ": "{first} in series and {second} in series exclude each other",
    "more_groups_than_counted": "{measured} groups were measured, and no more than {counted} in series are there by "
    "count: one of the two is wrong",
    "claim_against_seen": _against_seen,
    "voltage_of_no_such_pack": _voltage,
    "too_light_for_energy": (
        "{energy_wh} Wh in {mass_kg} kg: by the best cells known, no pack that holds so much is lighter than "
        "{least_kg} kg"
    ),
    "lighter_than_its_cells": "the pack weighs {mass_kg} kg, its cells alone {cells_kg} kg or more",
    "cell_of_other_mass": "a cell weighs {weighed_g} g, its datasheet says {sheet_g} g: not that cell",
    "cell_of_other_length": _other_size,
    "cell_of_other_resistance": _other_resistance,
    "cell_of_other_capacity": _other_capacity,
    "groups_not_of_pack": "{groups} groups add up to {made_v} V, the pack at rest has {volts} V",
    "rest_above_name": (
        "at rest it has {volts} V, and no full pack sold as {named} V has more than {full_v} V"
    ),
    "above_full": (
        "{volts} V a cell at rest is above the {full_v} V of a full cell: overcharged, or more cells in "
        "series"
    ),
    "strip_is_steel": "the test proves steel, the strip is noted as something else",
    "two_cells_named": "two different cells are named: {says} and {other}",
    "cell_retired": "the cell {says} was retired from the registry: {other}",
    "cell_size": "the cell named is of size {says}, the cells seen are {other}",
    "cell_form": "the cell named is a {says} cell, the cells seen are {other}",
    "cell_of_other_form": "a cell measures {measured} mm across, and the cell named is not round: not that cell",
    "cell_chemistry": "the cell named is {says}, the cells seen are {other}",
    "other_cell_than_claimed": "claimed to be built of {says}, found {other}",
    "other_size_than_claimed": "claimed to be built of {says} cells, found {other}",
    "other_chemistry_than_claimed": "claimed to be {says}, found {other}",
    "measured_above_cells": "{measured_ah} Ah were measured, such cells hold {most_ah} Ah at most",
}

# What a contradiction is about, for the one sentence.
_TOPICS = {
    **{f"{name}_stated_differently": topic for name, topic in _STATED.items()},
    "charger_of_other_pack": "its charger",
    "full_voltage_of_other_pack": "its voltage when full",
    "capacity_not_of_cells": "its capacity",
    "energy_not_of_product": "its energy",
    "power_beyond_current": "its power",
    "count_not_of_product": "the number of its cells",
    "hours_too_few": "its charging time",
    "peak_below_continuous": "its peak current",
    "maximum_below_continuous": "its maximum current",
    "bms_peak_below_continuous": "the rating of its BMS",
    "bms_trips_below_continuous": "the rating of its BMS",
    "designation_against_count": "its configuration",
    "configuration_against_count": "its configuration",
    "series_counts_differ": "its cells in series",
    "more_groups_than_counted": "its cells in series",
    "voltage_of_no_such_pack": "its charger or its voltage when full",
    "too_light_for_energy": "its mass beside its capacity",
    "lighter_than_its_cells": "its mass beside its cells",
    "groups_not_of_pack": "its voltage at rest",
    "above_full": "its voltage at rest",
    "rest_above_name": "its voltage at rest",
    "measured_above_cells": "its capacity",
}


def contradiction_topic(code: str) -> str:
    """Return what a contradiction is about, in a few words."""
    return _TOPICS.get(code, "its cells")


def contradiction_text(code: str, numbers: Mapping[str, Any]) -> str:
    """Return a contradiction in words."""
    return filled(CONTRADICTIONS[code], numbers)
