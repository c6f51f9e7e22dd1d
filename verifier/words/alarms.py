"""Alarms in words: one sentence for each code, filled with its numbers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from verifier.finding import Remark
from verifier.words.filling import Sentence, by_word, filled
from verifier.words.numbers import digits


def _on_each(numbers: Mapping[str, Any]) -> str:
    """Return a voltage, the cells in series, and what it is on each of them; a count nobody made is told as such."""
    volts, groups = float(numbers["volts"]), float(numbers["series"])
    each = f", {digits(volts / groups)} V a cell," if groups >= 1 else ""
    return f"{digits(volts)} V on {digits(groups)} in series{by_word(numbers)}{each}"


def _group(numbers: Mapping[str, Any]) -> str:
    """Return which group stands where: one that was read, else the one or those that were not."""
    volts = digits(float(numbers["volts"]))
    if "group" in numbers:
        return f"group {digits(float(numbers['group']))} stands at {volts} V"
    left = float(numbers.get("left_out", 1))
    if left == 1:
        return f"by the pack at rest the group that was not measured stands at {volts} V"
    return f"by the pack at rest the {digits(left)} groups that were not measured stand at {volts} V each"


def _too_full(numbers: Mapping[str, Any]) -> str:
    if "group" not in numbers and "left_out" not in numbers:
        return f"{_on_each(numbers)} is above a full pack"
    return f"{_group(numbers)}, above the {digits(float(numbers['full_v']))} V of a full cell"


ALARMS: dict[str, Sentence] = {
    "deeply_discharged": lambda numbers: (
        f"DO NOT CHARGE: at rest {_on_each(numbers)} is deeply discharged; keep it outdoors, away from what burns"
    ),
    "group_deeply_discharged": lambda numbers: f"DO NOT CHARGE: {_group(numbers)}, deeply discharged",
    "over_charge_limit": lambda numbers: (
        f"DO NOT CHARGE: at rest {_too_full(numbers)}; keep it outdoors, away from what burns"
    ),
    "group_drains": "DO NOT CHARGE: group {group} falls up to {mv_per_day} mV a day faster than another, and the "
    "groups went from {then_mv} to {now_mv} mV apart: it drains by itself; find the cause before it is charged or sold",
    "wrong_charger": lambda numbers: (
        f"WRONG CHARGER: {_on_each(numbers)} does not fit this pack; do not charge with it"
    ),
    "charger_overcharges": lambda numbers: f"DO NOT CHARGE: {_on_each(numbers)} overcharges the cells",
    "swollen": "DO NOT USE OR CHARGE: cells are swollen",
    "damaged": "DO NOT USE OR CHARGE: cells are damaged, leaking or wet",
    "no_fuse": "NO FUSE: only the BMS stops a short circuit",
    "fuse_above_leads": "FUSE TOO LARGE: {rating_a} A over leads that carry at most {leads_a} A protects nothing",
    "bms_above_leads": "LEADS TOO THIN: the BMS lets {rating_a} A through, the leads carry at most {leads_a} A",
    "fuse_voltage_too_low": (
        "FUSE VOLTAGE TOO LOW: rated for {rated_v} V, the full pack has {full_v} V; the fuse may burn on instead of "
        "breaking"
    ),
    "charger_above_cells": (
        "CHARGES TOO FAST: the charger gives {current_a} A, the cells' datasheet allows {most_a} A; do not charge "
        "with it"
    ),
    "regeneration_above_cells": (
        "CHARGES TOO FAST: braking charges with {current_a} A, the cells' datasheet allows {most_a} A; turn it down"
    ),
    "hot_in_minutes": "TOO HOT: at {current_a} A in air of {air_c} C the cells reach the datasheet's {limit_c} C after "
    "{minutes_low} to {minutes_high} min",
}

# The same in a few words, for the one sentence that every format opens with.
_ALARM_NAMES = {
    "deeply_discharged": "deeply discharged",
    "group_deeply_discharged": "a deeply discharged group",
    "over_charge_limit": "charged above its limit",
    "group_drains": "a group that drains by itself",
    "wrong_charger": "the wrong charger",
    "charger_overcharges": "a charge voltage that overcharges it",
    "swollen": "swollen cells",
    "damaged": "damaged, leaking or wet cells",
    "no_fuse": "no fuse",
    "fuse_above_leads": "a fuse too large for its leads",
    "bms_above_leads": "leads too thin for its BMS",
    "fuse_voltage_too_low": "a fuse of too low a voltage",
    "charger_above_cells": "a charger too strong for its cells",
    "regeneration_above_cells": "braking that charges its cells too fast",
    "hot_in_minutes": "cells too hot at the current claimed",
}


def alarm_text(remark: Remark) -> str:
    """Return an alarm in words."""
    return filled(ALARMS[remark.code], remark.numbers)


def alarm_name(code: str) -> str:
    """Return what an alarm is about, in a few words."""
    return _ALARM_NAMES[code]
