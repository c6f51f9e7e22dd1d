"""Contradictions in words: one sentence for each code, filled with its numbers."""

from __future__ import annotations

from verifier.bounds import Bounds
from verifier.words.filling import Numbers, Parts, filled, phrase
from verifier.words.language import ENGLISH, Language
from verifier.words.numbers import digits, span


def _counted_in(numbers: Numbers, language: Language) -> str:
    return phrase(f"counted_{numbers['what']}", language)


def _what(numbers: Numbers, language: Language) -> str:
    return phrase(str(numbers["what"]), language)


def _voltage(numbers: Numbers, language: Language) -> str:
    return phrase("charge_voltage" if "charge_voltage" in numbers["what"] else "full_voltage", language)


def _size(numbers: Numbers, language: Language) -> str:
    return phrase(str(numbers["what"]).removesuffix("_mm"), language)


def _in_mm(numbers: Numbers, language: Language) -> str:
    return span(Bounds(numbers["low"], numbers["high"]), "mm", language)


def _resisting(numbers: Numbers, language: Language) -> str:
    return phrase("at_1_khz" if numbers["what"] == "ac_mohm" else "to_direct_current", language)


def _holding(numbers: Numbers, language: Language) -> str:
    names = ("measured", "low", "high")
    measured, low, high = (float(numbers[name]) for name in names)
    told = {name: digits(float(numbers[name]), language=language) for name in names}
    if measured > high:
        return phrase("holds_too_much", language, **told)
    percent = digits(100 * measured / low, 2, language) if low > 0 else "0"
    return phrase("holds_too_little", language, percent=percent, **told)


_PARTS: Parts = {
    "counted_in": _counted_in, "what": _what, "voltage": _voltage, "size": _size, "in_mm": _in_mm,
    "resisting": _resisting, "holding": _holding,
}  # fmt: skip

CONTRADICTIONS: dict[str, str] = {
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
    "claim_against_seen": "claimed {claimed} {counted_in}, found {seen} {counted_in}",
    "voltage_of_no_such_pack": "a {voltage} of {volts} V is that of no pack with {series} in series",
    "too_light_for_energy": "{energy_wh} Wh in {mass_kg} kg is {wh_per_kg} Wh/kg; a pack of such "
    "cells holds at most {most_wh_per_kg} Wh/kg",
    "lighter_than_its_cells": "the pack weighs {mass_kg} kg, its cells alone {cells_kg} kg or more",
    "cell_of_other_mass": "a cell weighs {weighed_g} g, its datasheet says {sheet_g} g: not that cell",
    "cell_of_other_length": "a cell's {size} is {measured} mm, its datasheet says {in_mm}: not that cell",
    "cell_of_other_resistance": (
        "a cell resists {measured} mohm {resisting}, a new one of its datasheet up to {high} mohm: not that cell, or "
        "worn out"
    ),
    "cell_of_other_capacity": "{holding}",
    "groups_not_of_pack": "{groups} groups add up to {made_v} V, the pack at rest has {volts} V",
    "above_full": (
        "{volts} V a cell at rest is above the {full_v} V of a full cell: overcharged, or more cells in "
        "series"
    ),
    "strip_is_steel": "the test proves steel, the strip is noted as something else",
    "two_cells_named": "two different cells are named: {says} and {other}",
    "cell_retired": "the cell {says} was retired from the registry: {other}",
    "cell_size": "the cell named is of size {says}, the cells seen are {other}",
    "cell_chemistry": "the cell named is {says}, the cells seen are {other}",
    "other_cell_than_claimed": "claimed to be built of {says}, found {other}",
    "other_size_than_claimed": "claimed to be built of {says} cells, found {other}",
    "other_chemistry_than_claimed": "claimed to be {says}, found {other}",
    "measured_above_cells": "{measured_ah} Ah were measured, such cells hold {most_ah} Ah at most",
}

# What a contradiction is about, for the one sentence.
TOPICS = {
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
    "voltage_of_no_such_pack": "its voltage",
    "too_light_for_energy": "its mass",
    "lighter_than_its_cells": "its mass",
    "groups_not_of_pack": "its voltage at rest",
    "above_full": "its voltage at rest",
    "measured_above_cells": "its capacity",
    "cells": "its cells",
}


def contradiction_topic(code: str, language: Language = ENGLISH) -> str:
    """Return what a contradiction is about, in a few words."""
    return language.text("topics", code if code in TOPICS else "cells", TOPICS)


def contradiction_text(code: str, numbers: Numbers, language: Language = ENGLISH) -> str:
    """Return a contradiction in words."""
    return filled(language.text("contradictions", code, CONTRADICTIONS), numbers, language, _PARTS)
