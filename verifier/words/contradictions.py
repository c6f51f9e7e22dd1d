"""Contradictions in words: one sentence for each code, filled with its numbers."""

from __future__ import annotations

import re

from verifier.bounds import Bounds
from verifier.words.filling import Numbers, Part, Parts, filled, phrase
from verifier.words.language import ENGLISH, Language
from verifier.words.names import field_name
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


def _count_of(which: str) -> Part:
    """Return a part that says a count in series with who says it: counted, claimed, or what the BMS is made for."""

    def said(numbers: Numbers, language: Language) -> str:
        code = {"observed.series": "groups_counted", "observed.bms.series": "bms_made_for"}.get(
            str(numbers[f"{which}_of"]), "groups_claimed"
        )
        return phrase(code, language, count=digits(float(numbers[which]), language=language))

    return said


def _of_product(numbers: Numbers, language: Language) -> str:
    """Return of which two numbers an energy is the product; nothing where it is stated itself."""
    if not numbers.get("of_ah"):
        return ""
    volts, amp_hours = (digits(float(numbers[name]), language=language) for name in ("of_v", "of_ah"))
    return phrase("of_product", language, volts=volts, amp_hours=amp_hours)


def _unless(numbers: Numbers, language: Language) -> str:
    """Return what would reconcile a BMS with fewer groups than it is made for; nothing of other counts."""
    ends = {str(numbers[f"{which}_of"]): float(numbers[which]) for which in ("first", "second")}
    bms = ends.pop("observed.bms.series", 0.0)
    fewer = bool(ends) and min(ends.values()) < bms
    return phrase("unless_it_can_be_set", language) if fewer else ""


def _form(numbers: Numbers, language: Language) -> str:
    return phrase(f"form_{numbers['says']}", language)


# What a listing may state in two places, differently: its unit, and what the contradiction is about.
_STATED = {
    "nominal_voltage_v": (" V", "its voltage"), "capacity_ah": (" Ah", "its capacity"),
    "energy_wh": (" Wh", "its energy"), "continuous_current_a": (" A", "its continuous current"),
    "power_w": (" W", "its power"), "series": ("", "its cells in series"),
    "parallel": ("", "its cells in parallel"), "cell_count": ("", "the number of its cells"),
}  # fmt: skip
_NAMED = {"cell_marking": "cells", "cell_size": "sizes of cell", "chemistry": "chemistries"}


_PARTS: Parts = {
    "counted_in": _counted_in, "what": _what, "voltage": _voltage, "size": _size, "in_mm": _in_mm,
    "resisting": _resisting, "holding": _holding, "form": _form, "first_said": _count_of("first"),
    "second_said": _count_of("second"), "unless": _unless, "of_product": _of_product,
}  # fmt: skip

CONTRADICTIONS: dict[str, str] = {
    **{
        f"{name}_stated_differently": (
            f"{field_name(f'claim.{name}')}: the listing says {{first}}{unit} in one place and {{second}}{unit} in "
            "another"
        )
        for name, (unit, _) in _STATED.items()
    },
    **{
        f"{name}_stated_differently": f"the listing names two different {words} in two places"
        for name, words in _NAMED.items()
    },
    "charger_of_other_count": "{volts} V charges {other} in series; {series}, as claimed, take {takes_v} V",
    "charger_of_other_pack": (
        "{nominal} V with {series} in series, and a charger of {volts} V: no kind of cell goes with both"
    ),
    "full_voltage_of_other_pack": (
        "{nominal} V with {series} in series, and {volts} V when full: no kind of cell goes with both"
    ),
    "charger_against_name": (
        "{nominal} V, and a charger of {volts} V: packs sold as {nominal} V are charged to {least} to {most} V"
    ),
    "full_voltage_against_name": (
        "{nominal} V, and {volts} V when full: packs sold as {nominal} V have {least} to {most} V when full"
    ),
    "capacity_not_of_cells": (
        "{parallel} in parallel x {cell_ah} Ah make {made_ah} Ah, not the {claimed_ah} Ah claimed"
    ),
    "energy_not_of_product": "{volts} V x {amp_hours} Ah make {made_wh} Wh, not the {claimed_wh} Wh claimed",
    "power_beyond_current": "{power_w} W at {volts} V take {needed_a} A, and {claimed_a} A are claimed",
    "count_not_of_product": (
        "{series} in series x {parallel} in parallel make {made} cells, not the {claimed} claimed"
    ),
    "no_room_for_cells": (
        "{cells} cells of this size take {needed_l} l alone, and the dimensions claimed leave {room_l} l at most"
    ),
    "cells_not_of_series": "{cells} cells cannot be {groups} groups of equal size in series",
    "cells_not_of_parallel": "{cells} cells cannot be groups of {groups} in parallel: it does not come out even",
    "cells_not_of_voltage": (
        "{cells} cells at {nominal} V: that takes {least} to {most} groups in series by every kind of cell that they "
        "can be, and {cells} cells cannot be shared out evenly among any such number"
    ),
    "hours_too_few": "{hours} h at {amps} A put in {put_in_ah} Ah at most; {claimed_ah} Ah are claimed",
    "peak_below_continuous": "a peak of {peak_a} A below {continuous_a} A continuous",
    "maximum_below_continuous": "a maximum current of {maximum_a} A below {continuous_a} A continuous",
    "bms_peak_below_continuous": "the BMS's peak of {peak_a} A lies below its {continuous_a} A continuous",
    "bms_trips_below_continuous": "the BMS switches off at {trip_a} A at most, below its {continuous_a} A continuous",
    "designation_against_count": "the designation says {printed} {what}, the listing {claimed}",
    "configuration_against_count": "the configuration says {printed} in {what}, and {claimed} is written beside it",
    "series_counts_differ": "{first_said} and {second_said} do not go together{unless}",
    "more_groups_than_counted": "{measured} groups were measured, and no more than {counted} in series are there by "
    "count: one of the two is wrong",
    "claim_against_seen": "claimed {claimed} {counted_in}, found {seen} {counted_in}",
    "voltage_of_no_such_pack": "a {voltage} of {volts} V is that of no pack with {series} such cells in series",
    "too_light_for_energy": (
        "{energy_wh} Wh{of_product} in {mass_kg} kg: by the best cells known, no pack that holds so much is lighter "
        "than {least_kg} kg"
    ),
    "lighter_than_its_cells": "the pack weighs {mass_kg} kg, its cells alone {cells_kg} kg or more",
    "cell_of_other_mass": "a cell weighs {weighed_g} g, its datasheet says {sheet_g} g: not that cell",
    "cell_of_other_length": "a cell's {size} is {measured} mm, its datasheet says {in_mm}: not that cell",
    "cell_of_other_resistance": (
        "a cell resists {measured} mohm {resisting}, a new one of its datasheet up to {high} mohm: not that cell, or "
        "worn out"
    ),
    "cell_of_other_capacity": "{holding}",
    "plug_switched_off": "{groups} groups add up to {made_v} V, its plug has {volts} V: its BMS has switched off, or a "
    "wire or fuse is open: find out why before it is charged",
    "groups_not_of_pack": "{groups} groups add up to {made_v} V, the pack at rest has {volts} V",
    "rest_above_name": (
        "at rest it has {volts} V, and no full pack sold as {named} V has more than {full_v} V"
    ),
    "rest_of_other_chemistry": (
        "{volts} V a cell at rest is that of lithium-ion cells, not of the chemistry claimed, full at {full_v} V: do "
        "not charge it before its cells are known"
    ),
    "above_full": (
        "{volts} V a cell at rest is above the {full_v} V of a full cell: overcharged, or more cells in "
        "series"
    ),
    "strip_is_steel": "the test proves steel, the strip is noted as something else",
    "two_cells_named": "two different cells are named: {says} and {other}",
    "cell_retired": (
        "the datasheet of {says} is withdrawn and grants nothing: retired from the registry ({other}); by whom: "
        "packclaim cells history {says}"
    ),
    "cell_size": "the cell named is of size {says}, the cells seen are {other}",
    "cell_form": "the cell named is a {form} cell, the cells seen are {other}",
    "cell_of_other_form": "a cell measures {measured} mm across, and the cell named is not round: not that cell",
    "cell_chemistry": "the cell named is {says}, the cells seen are {other}",
    "size_not_of_cell": "the cell named is of size {says}, and cells of {other} are claimed",
    "chemistry_not_of_cell": "the cell named is {says}, and {other} cells are claimed",
    "other_cell_than_claimed": "claimed to be built of {says}, found {other}",
    "other_size_than_claimed": "claimed to be built of {says} cells, found {other}",
    "other_chemistry_than_claimed": "claimed to be {says}, found {other}",
    "measured_above_cells": "{measured_ah} Ah were measured, such cells hold {most_ah} Ah at most",
}

# What a contradiction is about, for the one sentence.
TOPICS = {
    **{f"{name}_stated_differently": topic for name, (_, topic) in _STATED.items()},
    "charger_of_other_pack": "its charger",
    "charger_of_other_count": "its charger",
    "full_voltage_of_other_pack": "its voltage when full",
    "charger_against_name": "its charger",
    "full_voltage_against_name": "its voltage when full",
    "capacity_not_of_cells": "its capacity",
    "energy_not_of_product": "its energy",
    "power_beyond_current": "its power",
    "count_not_of_product": "the number of its cells",
    "no_room_for_cells": "the number of its cells",
    "cells_not_of_series": "the number of its cells",
    "cells_not_of_parallel": "the number of its cells",
    "cells_not_of_voltage": "the number of its cells",
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
    "too_light_for_energy": "its mass and its capacity",
    "lighter_than_its_cells": "its mass beside its cells",
    "groups_not_of_pack": "its voltage at rest",
    "plug_switched_off": "its voltage at the plug",
    "above_full": "its voltage at rest",
    "rest_of_other_chemistry": "its chemistry",
    "rest_above_name": "its voltage at rest",
    "measured_above_cells": "its capacity",
    "cells": "its cells",
}


def contradiction_topic(code: str, language: Language = ENGLISH) -> str:
    """Return what a contradiction is about, in a few words."""
    return language.text("topics", code if code in TOPICS else "cells", TOPICS)


def contradiction_text(code: str, numbers: Numbers, language: Language = ENGLISH) -> str:
    """Return a contradiction in words."""
    return filled(language.text("contradictions", code, CONTRADICTIONS), numbers, language, _PARTS)


def in_places(text: str, field: str, lower: str, higher: str) -> str:
    """Return what is said of a figure that is stated twice, with the places of both numbers.

    Parameters
    ----------
    text
        Contradictions in words; any other is left as it is.
    field
        The claim, such as ``capacity_ah``.
    lower, higher
        Where the lower number stands, and where the higher: "its column".
    """
    what = re.escape(field_name(f"claim.{field}"))
    found = rf"({what}: the listing says [^|]*?) in one place and ([^|]*?) in another(?=\Z| \|)"
    return re.sub(found, lambda match: f"{match[1]} in {lower} and {match[2]} in {higher}", text)
