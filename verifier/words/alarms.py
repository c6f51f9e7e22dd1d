"""Alarms in words: one sentence for each code, filled with its numbers."""

from __future__ import annotations

from functools import partial
from math import inf

from verifier.bounds import Bounds, down
from verifier.cell_figures import chemistry_set
from verifier.finding import Remark
from verifier.possible_chemistries import of_one_kind
from verifier.verdict import at_most
from verifier.words.filling import Numbers, Parts, by_word, filled, fuse_to_fit, phrase
from verifier.words.language import ENGLISH, Language
from verifier.words.lists import either_of, listed
from verifier.words.numbers import digits, places_in, span, temperatures


def _in_series(numbers: Numbers, language: Language) -> str:
    """Return the cells in series; a count nobody made is told as such."""
    if float(numbers["series"]) < 1:
        return phrase("in_series_open", language)
    groups = digits(float(numbers["series"]), language=language)
    return phrase("in_series", language, series=groups, by_word=by_word(numbers, language))


def _each(numbers: Numbers, language: Language) -> str:
    """Return what a voltage is on each of the cells in series; nothing where no count is possible."""
    volts, groups = float(numbers["volts"]), float(numbers["series"])
    return (
        phrase("each_cell", language, cell_v=digits(volts / groups, language=language)) if groups >= 1 else ""
    )


# What a nominal voltage names, by the chemistries of each kind.
_KINDS = {
    "kind_lithium_ion": chemistry_set(["NMC", "NCA", "LCO", "LMO"]),
    "kind_iron_phosphate": chemistry_set(["LFP"]),
    "kind_titanate": chemistry_set(["LTO"]),
}


def _as_named(numbers: Numbers, language: Language, code: str) -> str:
    """Return which cells the nominal voltage names, where an alarm is only of such; else nothing."""
    kinds = int(numbers.get("kinds", 0))
    if not kinds:
        return ""
    names = [phrase(each, language) for each, members in _KINDS.items() if kinds & members]
    slots = {
        "kinds": either_of(names, language),
        "named_v": digits(float(numbers["named_v"]), language=language),
    }
    return phrase(code, language, **slots)


def _takes(numbers: Numbers, language: Language) -> str:
    """Return the voltage that such a pack is charged to; nothing where its cells leave that open."""
    low, high = (float(numbers.get(name, inf)) for name in ("right_low_v", "right_high_v"))
    if not of_one_kind(low, high):
        return ""
    right = digits(low, language=language), digits(high, language=language)
    volts = span(Bounds(low, high), "V", language) if right[0] != right[1] else f"{right[0]} V"
    return phrase("pack_takes", language, right=volts)


def _charger_says(numbers: Numbers, language: Language) -> str:
    """Return whose number the charger's voltage is: printed on it, or measured."""
    code = "charger_measured" if numbers.get("measured") else "charger_printed"
    return phrase(code, language, volts=digits(float(numbers["volts"]), language=language))


def _charged_in(numbers: Numbers, language: Language) -> str:
    """Return the air in which that much is allowed."""
    return temperatures(float(numbers["air_low_c"]), float(numbers["air_high_c"]), language)


def _charge_elsewhere(numbers: Numbers, language: Language) -> str:
    """Return in which air the cells take what a charger gives; else that it is not to be used."""
    if not numbers.get("elsewhere"):
        return phrase("not_with_it", language)
    ends = float(numbers["elsewhere_low_c"]), float(numbers["elsewhere_high_c"])
    slots = {
        "air": temperatures(*ends, language),
        "amps": digits(down(float(numbers["elsewhere_a"])), language=language),
    }
    advised_a = float(numbers["advised_a"])
    if at_most(float(numbers["current_a"]), advised_a):
        return phrase("charge_elsewhere", language, **slots)
    slots["advised"] = digits(down(advised_a), language=language)
    return phrase("charge_elsewhere_whole", language, **slots)


def groups_beyond(numbers: Numbers, language: Language = ENGLISH) -> str:
    """Return the places of the groups that an alarm is about, in words; nothing where none of them was read."""
    places = [str(place) for place in places_in(float(numbers.get("places", 0)))]
    if not places and "group" in numbers:
        places = [digits(float(numbers["group"]), language=language)]
    return listed(places, language)


def _group_stands(numbers: Numbers, language: Language) -> str:
    """Return which group stands where: one that was read, else the one or those that were not."""
    if len(places_in(float(numbers.get("places", 0)))) > 1:
        places = groups_beyond(numbers, language)
        read = span(Bounds(float(numbers["from_v"]), float(numbers["to_v"])), "V", language)
        return phrase("groups_stand", language, groups=places, volts=read)
    volts = digits(float(numbers["volts"]), language=language)
    if "group" in numbers:
        group = digits(float(numbers["group"]), language=language)
        return phrase("group_stands", language, group=group, volts=volts)
    left = float(numbers.get("left_out", 1))
    if left == 1:
        return phrase("group_left_out_stands", language, volts=volts)
    return phrase("groups_left_out_stand", language, left=digits(left, language=language), volts=volts)


def _too_full(numbers: Numbers, language: Language) -> str:
    if "group" not in numbers and "left_out" not in numbers:
        return phrase(
            "pack_too_full", language, volts=digits(float(numbers["volts"]), language=language),
            in_series=_in_series(numbers, language), each=_each(numbers, language),
        )  # fmt: skip
    full_v = digits(float(numbers["full_v"]), language=language)
    return phrase("group_too_full", language, stands=_group_stands(numbers, language), full_v=full_v)


def _measure_groups(numbers: Numbers, language: Language) -> str:
    """Return what tells an overcharged group: where it stands now, and whether it falls until the next day."""
    full_v = float(numbers.get("cell_full_v", inf))
    if full_v == inf:
        return phrase("measure_groups", language)
    return phrase("measure_groups_against", language, full_v=digits(full_v, language=language))


_PARTS: Parts = {
    "measure_groups": _measure_groups,
    "in_series": _in_series, "each": _each, "takes": _takes, "charger_says": _charger_says, "fit": fuse_to_fit,
    "too_full": _too_full, "group_stands": _group_stands, "charged_in": _charged_in,
    "charge_elsewhere": _charge_elsewhere,
    "if_as_named": partial(_as_named, code="if_as_named"), "as_named": partial(_as_named, code="as_named"),
}  # fmt: skip

ALARMS: dict[str, str] = {
    "deeply_discharged": (
        "DO NOT CHARGE: {volts} V measured at rest, on {in_series}{each}: deeply discharged{if_as_named}, or its BMS "
        "has switched off: whoever opens it measures on the cells' side; keep it outdoors, away from what burns"
    ),
    "group_deeply_discharged": "DO NOT CHARGE: {group_stands}, deeply discharged{if_as_named}; keep it outdoors, "
    "away from what burns",
    "over_charge_limit": "DO NOT CHARGE: measured at rest, {too_full}; keep it outdoors, away from what burns",
    "group_drains": "DO NOT CHARGE: group {group} falls up to {mv_per_day} mV a day faster than another, and the "
    "groups went from {then_mv} to {now_mv} mV apart: it drains by itself; find the cause before it is charged or sold",
    "wrong_charger": "WRONG CHARGER: {charger_says}, on {in_series}{each}{as_named}; do not charge with it{takes}",
    "charger_overcharges": (
        "DO NOT CHARGE: {volts} V, as the seller says, on {in_series}{each}, overcharges the cells{takes}"
    ),
    "may_be_overcharged": "DO NOT CHARGE OR USE: it was charged with this charger, or nobody knows. Put it outdoors, "
    "away from what burns. {measure_groups}. A right charger does not clear it: first write down whether it was "
    "charged with this one",
    "charged_above_full": "DO NOT CHARGE OR USE: charged above its full voltage: outdoors, away from what burns. "
    "{measure_groups}. A right charger does not clear it",
    "swollen": "DO NOT USE OR CHARGE: cells are swollen",
    "damaged": "DO NOT USE OR CHARGE: cells are damaged, leaking or wet",
    "no_fuse": "NO FUSE: only the BMS stops a short circuit{fit}",
    "fuse_above_leads": (
        "FUSE TOO LARGE: {rating_a} A over leads that carry at most {leads_a} A does not keep them from "
        "overheating{fit}"
    ),
    "bms_above_leads": "LEADS TOO THIN: the BMS lets {rating_a} A through, the leads carry at most {leads_a} A{fit}",
    "fuse_voltage_too_low": (
        "FUSE VOLTAGE TOO LOW: rated for {rated_v} V, the full pack has {full_v} V; the fuse may burn on instead of "
        "breaking"
    ),
    "charger_above_cells": (
        "CHARGES TOO FAST: the charger gives {current_a} A, in air of {charged_in} the cells' datasheet allows "
        "{most_a} A; {charge_elsewhere}"
    ),
    "regeneration_above_cells": (
        "CHARGES TOO FAST: braking charges with {current_a} A, in air of {charged_in} the cells' datasheet allows "
        "{most_a} A; turn it down"
    ),
    "hot_in_minutes": "TOO HOT: at {current_a} A in air of {air_c} C the cells reach the datasheet's {limit_c} C after "
    "{minutes_low} to {minutes_high} min; draw less",
}

# The same in a few words, for the one sentence that every format opens with.
ALARM_NAMES = {
    "deeply_discharged": "deeply discharged",
    "group_deeply_discharged": "a deeply discharged group",
    "over_charge_limit": "charged above its limit",
    "group_drains": "a group that drains by itself",
    "wrong_charger": "the wrong charger",
    "charger_overcharges": "a charge voltage that overcharges it",
    "may_be_overcharged": "perhaps overcharged by it",
    "charged_above_full": "charged above its full voltage",
    "swollen": "swollen cells",
    "damaged": "damaged, leaking or wet cells",
    "no_fuse": "no fuse",
    "fuse_above_leads": "a fuse too large for its leads",
    "bms_above_leads": "leads too thin for its BMS",
    "fuse_voltage_too_low": "a fuse of too low a voltage",
    "charger_above_cells": "a charger too strong for its cells in the air of charging",
    "regeneration_above_cells": "braking that charges its cells too fast",
    "hot_in_minutes": "cells too hot at the current claimed",
}


def alarm_text(remark: Remark, language: Language = ENGLISH) -> str:
    """Return an alarm in words."""
    return filled(language.text("alarms", remark.code, ALARMS), remark.numbers, language, _PARTS)


def alarm_name(code: str, language: Language = ENGLISH) -> str:
    """Return what an alarm is about, in a few words."""
    return language.text("alarm_names", code, ALARM_NAMES)
