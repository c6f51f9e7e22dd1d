"""Remarks, alarms and contradictions in words: one sentence for each code, filled with its numbers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from verifier.bounds import Bounds
from verifier.finding import Citation, Remark
from verifier.words.numbers import digits, span
from verifier.words.sources import citation_text

Sentence = str | Callable[[Mapping[str, Any]], str]

ALARMS: dict[str, Sentence] = {
    "deeply_discharged": "DO NOT CHARGE: {volts} V at rest on {series} in series is deeply discharged",
    "over_charge_limit": "DO NOT CHARGE: {volts} V at rest on {series} in series is above a full pack's voltage",
    "wrong_charger": "WRONG CHARGER: {volts} V is not the charge voltage of {series} in series; do not charge with it",
    "charger_overcharges": "DO NOT CHARGE with {volts} V: on {series} in series it overcharges the cells",
    "swollen": "DO NOT USE OR CHARGE: cells are swollen",
    "damaged": "DO NOT USE OR CHARGE: cells are damaged, leaking or wet",
    "no_fuse": "NO FUSE: only the BMS stops a short circuit",
    "fuse_above_leads": "FUSE TOO LARGE: {rating_a} A over leads that carry {leads_a} A protects nothing",
    "bms_above_leads": "LEADS TOO THIN: the BMS lets {rating_a} A through, the leads carry {leads_a} A",
    "hot_in_minutes": "TOO HOT: at {current_a} A in air of {air_c} C the cells reach the datasheet's {limit_c} C after "
    "{minutes_low} to {minutes_high} min",
}


def _count_words(what: str) -> str:
    return {"series": "in series", "parallel": "in parallel", "mass_kg": "kg"}.get(what, what)


def _against_seen(numbers: Mapping[str, Any]) -> str:
    what = _count_words(numbers["what"])
    return f"claimed {digits(numbers['claimed'])} {what}, found {digits(numbers['seen'])}"


def _voltage(numbers: Mapping[str, Any]) -> str:
    name = "charge voltage" if "charge_voltage" in numbers["what"] else "full voltage"
    return f"a {name} of {digits(numbers['volts'])} V is that of no pack with {digits(numbers['series'])} in series"


CONTRADICTIONS: dict[str, Sentence] = {
    "capacity_not_of_cells": "{parallel} in parallel x {cell_ah} Ah make {made_ah} Ah, not the {claimed_ah} Ah claimed",
    "energy_not_of_product": "{volts} V x {amp_hours} Ah make {made_wh} Wh, not the {claimed_wh} Wh claimed",
    "power_beyond_current": "{power_w} W at {volts} V take {needed_a} A, and {claimed_a} A are claimed",
    "count_not_of_product": "{series} in series x {parallel} in parallel make {made} cells, not the {claimed} claimed",
    "hours_too_few": "{hours} h at {amps} A put in {put_in_ah} Ah at most; {claimed_ah} Ah are claimed",
    "peak_below_continuous": "a peak of {peak_a} A below {continuous_a} A continuous",
    "bms_peak_below_continuous": "the BMS's peak of {peak_a} A lies below its {continuous_a} A continuous",
    "designation_against_count": "the designation says {printed} {what}, the listing {claimed}",
    "configuration_against_count": "the configuration says {printed} in {what}, and {claimed} is written beside it",
    "series_counts_differ": "{first} in series and {second} in series exclude each other",
    "claim_against_seen": _against_seen,
    "voltage_of_no_such_pack": _voltage,
    "too_light_for_energy": "{energy_wh} Wh in {mass_kg} kg is {wh_per_kg} Wh/kg; such cells hold at most "
    "{most_wh_per_kg} Wh/kg, even without a case",
    "lighter_than_its_cells": "the pack weighs {mass_kg} kg, its cells alone {cells_kg} kg or more",
    "cell_of_other_mass": "a cell weighs {weighed_g} g, its datasheet says {sheet_g} g: not that cell",
    "above_full": "{volts} V a cell at rest is above the {full_v} V of a full cell: overcharged, or more cells in series",
    "strip_is_steel": "the test proves steel, the strip is noted as something else",
    "two_cells_named": "two different cells are named: {says} and {other}",
    "cell_retired": "the cell {says} was retired from the registry: {other}",
    "cell_size": "the cell named is of size {says}, the cells seen are {other}",
    "cell_chemistry": "the cell named is {says}, the cells seen are {other}",
    "measured_above_cells": "{measured_ah} Ah were measured, such cells hold {most_ah} Ah at most",
}


def _another_sheet(numbers: Mapping[str, Any]) -> str:
    return f"another datasheet of the cell says otherwise: {citation_text(numbers['sheet'])}; the best evidence decides"


def _silent(operation: str) -> Callable[[Mapping[str, Any]], str]:
    def text(numbers: Mapping[str, Any]) -> str:
        low, high = digits(numbers["low_c"]), digits(numbers["high_c"])
        where = f"at {low} C" if low == high else f"from {low} to {high} C"
        return f"{where} no datasheet allows {operation}: nothing is granted there"

    return text


def _cycle_conditions(numbers: Mapping[str, Any]) -> str:
    fraction = numbers["to_fraction"]
    parts = [f"to {digits(100 * fraction)} % of the capacity" if fraction else "to a part not stated"]
    for name, unit, words in (
        ("charge_a", "A", "charged at"),
        ("discharge_a", "A", "discharged at"),
        ("temperature_c", "C", "at"),
    ):
        value = numbers[name]
        parts.append(f"{words} {digits(value)} {unit}" if value is not None else f"{words} {unit} not stated")
    return f"the datasheet's {digits(numbers['cycles'])} cycles are {', '.join(parts)}"


def _worn(numbers: Mapping[str, Any]) -> str:
    return (
        f"new cells make {digits(numbers['new_ah'])} Ah; measured {digits(numbers['measured_ah'])} Ah "
        f"({digits(numbers['percent'], 2)} %): worn, or not these cells"
    )


def _differ(numbers: Mapping[str, Any]) -> str:
    name = str(numbers["figure"]).removesuffix("_a").removesuffix("_v").removesuffix("_g").replace("_", " ")
    return (
        f"datasheets of one grade differ on {name} ({digits(numbers['low'])} to {digits(numbers['high'])}): rely on "
        f"the lower"
    )


REMARKS: dict[str, Sentence] = {
    "check_failed": "this check failed ({fault}); nothing follows from it",
    "default_air": "for air of {low_c} to {high_c} C (our default; set yours with --temperature)",
    "secondhand": "rests on a figure that somebody quoted: nothing is granted by it",
    "rounded": "{claimed} {unit} is {supported} {unit} rounded up, as printed on labels",
    "worn_or_other_cells": _worn,
    "worn": lambda numbers: _worn(numbers).removesuffix(", or not these cells"),
    "fewer_links_than_cells": "{links} links for {parallel} cells in parallel: one link a cell is common practice",
    "peak_is_not_continuous": "a peak of {peak_a} A is claimed; a peak is never a continuous current",
    "peak_says_nothing_of_continuous": "a peak says nothing of what the pack delivers continuously",
    "peak_without_seconds": "no seconds are claimed for the peak; without them it cannot be compared",
    "row_not_seen": "counted from one cell carrying all to even sharing: the take-off or strip is not seen",
    "single_group": "a single group has no links",
    "take_off_not_seen": "take-off or strip not seen",
    "seller_names_gauge": "only the seller names the gauge ({awg} AWG)",
    "bms_only_said": "BMS rating only from the listing: it may be its peak or trip current",
    "rating_not_known": "rating not known",
    "no_connector": "no connector in the way",
    "no_fuse": "no fuse: only the BMS stops a short",
    "bms_peak": "a peak is granted for no time that nobody states",
    "heats_slowly": "heats slowly: a short peak may be above its continuous limit",
    "minimum_assumed": "the datasheet states no minimum capacity: taken as {fraction} of what it calls typical",
    "another_sheet_says": _another_sheet,
    "sheets_differ": _differ,
    "no_discharge_limit": _silent("discharging"),
    "no_charge_limit": _silent("charging"),
    "only_standard_charge": "the datasheet states a standard charge of {current_a} A and no limit",
    "c_rate_base": "the datasheet does not say what 1C is; its {base} capacity was used",
    "surface_band": "the datasheet's {low_c} to {high_c} C are of the cell's surface, which load warms",
    "limit_without_temperature": "the datasheet names no temperature for this limit: granted from 20 to 25 C only",
    "until_cutoff_temperature": "{current_a} A only until the cell is at {temperature_c} C: not a continuous rating",
    "not_called_continuous": "the datasheet does not call its {current_a} A continuous",
    "cycle_conditions": _cycle_conditions,
    "match": "{note}",
    "cell_not_used": "{cell} is named, and something speaks against it: nothing rests on it",
    "sheet_of_no_cell": "the sheet '{sheet}' cannot be picked of a cell that is not known",
}


def _filled(sentence: Sentence, numbers: Mapping[str, Any]) -> str:
    if callable(sentence):
        return sentence(numbers)
    return sentence.format_map({name: _written(value) for name, value in numbers.items()})


def _written(value: Any) -> str:
    if isinstance(value, Citation):
        return citation_text(value)
    if isinstance(value, Bounds):
        return span(value, "")
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return digits(float(value))
    return str(value)


def remark_text(remark: Remark) -> str:
    """Return a remark in words."""
    if remark.code not in REMARKS:
        return f"TODO {remark.code} {dict(remark.numbers)}"
    return _filled(REMARKS[remark.code], remark.numbers)


def alarm_text(remark: Remark) -> str:
    """Return an alarm in words."""
    return _filled(ALARMS[remark.code], remark.numbers)


def contradiction_text(code: str, numbers: Mapping[str, Any]) -> str:
    """Return a contradiction in words."""
    return _filled(CONTRADICTIONS[code], numbers)
