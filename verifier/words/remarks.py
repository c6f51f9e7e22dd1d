"""Remarks in words, the cautions and notes of a report: one sentence for each code, filled with its numbers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from math import inf
from typing import Any

from registry.chemistry import VOLTAGES
from verifier.bounds import Bounds, up
from verifier.cell_figures import chemistries_in
from verifier.finding import ELEMENTS, Remark
from verifier.fuses import FEWEST_OF_A_FUSE_A
from verifier.words.filling import (
    MOST_INTO_A_SHORT_A,
    Numbers,
    Parts,
    Sentence,
    by_word,
    current_taken,
    filled,
    fuse_to_fit,
    not_seen,
    phrase,
)
from verifier.words.language import ENGLISH, Language
from verifier.words.lists import listed
from verifier.words.names import element_name
from verifier.words.numbers import amount, digits, places_in, span
from verifier.words.sources import citation_text


def _another_sheet(numbers: Mapping[str, Any]) -> str:
    return f"another datasheet of the cell says otherwise: {citation_text(numbers['sheet'])}; the best evidence decides"


def _beyond_published(numbers: Mapping[str, Any]) -> str:
    stated, most, unit = digits(numbers["stated"]), digits(numbers["most"]), numbers["unit"]
    # A resistance is no matter of the size.
    others = "a cell has" if unit == "mohm" else "any cell of this size was ever published with"
    return (
        f"the datasheet's {stated} {unit} a cell is {'more' if numbers['more'] else 'less'} than {others} "
        f"({most} {unit}): this datasheet supports nothing until it has been compared "
        "with the printed one"
    )


def _silent(operation: str) -> Callable[[Mapping[str, Any]], str]:
    def text(numbers: Mapping[str, Any]) -> str:
        low, high = digits(numbers["low_c"]), digits(numbers["high_c"])
        where = f"at {low} C" if low == high else f"from {low} to {high} C"
        return f"no datasheet says anything of {operation} {where}: nothing is granted there"

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


def _less_in_the_cold(numbers: Mapping[str, Any]) -> str:
    said = f"that is in a room, drawn gently: in air of {digits(numbers['cold_c'])} C"
    if numbers["percent_low"] <= 0:
        return f"{said} less comes out, how much less nobody can say"
    most = min(100.0, numbers["percent_high"])
    return f"{said} {digits(numbers['percent_low'], 2)} to {digits(most, 2)} % of it comes out, less when drawn hard"


def _beside_new(numbers: Mapping[str, Any]) -> str:
    return (
        f"new cells make {digits(numbers['new_ah'])} Ah or more; measured {digits(numbers['measured_ah'])} Ah "
        f"({digits(numbers['percent'], 2)} %)"
    )


# What of a cell on the bench tells wear from another cell, and how.
_ON_THE_BENCH = {
    "observed.cell.mass_g": "its mass stays as it was with wear",
    "observed.cell.dc_mohm": "its resistance grows with wear",
}


def _worn(numbers: Mapping[str, Any]) -> str:
    return _or_other_cells(f"{_beside_new(numbers)}: worn, or not these cells", numbers)


def _used(numbers: Mapping[str, Any]) -> str:
    said = f"{_beside_new(numbers)}: used, or not these cells: as new ones they are granted no current"
    return _or_other_cells(said, numbers)


def _or_other_cells(said: str, numbers: Mapping[str, Any]) -> str:
    """Return a sentence with what would tell worn cells from other ones."""
    if numbers["bench_fits"]:
        said = f"{said}, though the cell on the bench has the mass of such a cell"
    of_cell = [words for name, words in _ON_THE_BENCH.items() if name in numbers["ask"]]
    ways = [f"one cell on the bench ({', '.join(of_cell)})"] if of_cell else []
    ways += ["the pack on a scale"] if "observed.mass_kg" in numbers["ask"] else []
    return f"{said}; what tells the two apart: {listed(ways)}" if ways else said


def _may_be_new(numbers: Mapping[str, Any]) -> str:
    return f"{_beside_new(numbers)}: {'may have lost none' if numbers['used'] else 'may be new'}"


def _ended_early(numbers: Mapping[str, Any]) -> str:
    each = numbers["cell_v"]
    a_cell = f" ({span(each, 'V')} a cell)" if each.low > 0 and each.high < inf else ""
    left = "some tenth may be left below" if numbers["nearly"] else "what is left below is not known"
    return (
        f"measured: {span(numbers['measured_ah'], 'Ah')} down to {span(numbers['ended_v'], 'V')}{a_cell}; {left}: test "
        "down to the BMS's cut-off"
    )


_WEAR = {
    "observed.cycles": "its cycles",
    "observed.age_years": "its years",
    "observed.cell.date_code": "its date code",
}


def _date_code(numbers: Mapping[str, Any]) -> str:
    days = [first if first == last else f"{first} to {last}" for first, last in numbers["made"]]
    age = span(Bounds(numbers["low_years"], numbers["high_years"]), "years")
    return f"date code {numbers['printed']}: made {', or '.join(days)}; {age} old when examined"


def _wear_by(numbers: Mapping[str, Any]) -> str:
    by = " and ".join(_WEAR[name] for name in numbers["by"])
    return f"{by} (no datasheet tells what its cycles take)" if numbers.get("uncounted") else by


def _expected_part(numbers: Mapping[str, Any]) -> str:
    low, high = digits(numbers["percent_low"], 2), digits(numbers["percent_high"], 2)
    return f"{high} %" if low == high else f"{low} to {high} %"


def _expected_wear(numbers: Mapping[str, Any]) -> str:
    held = ""
    if numbers["low_ah"] > 0:
        held = f", {span(Bounds(numbers['low_ah'], numbers['high_ah']), 'Ah')}"
    return (
        f"by {_wear_by(numbers)} one expects {_expected_part(numbers)} of a new one's capacity{held}, and up to "
        f"{digits(numbers['grown'], 2)} times its resistance, if it was worked no harder and kept no warmer than its "
        "datasheet's tests: expected, not measured, so nothing is granted by it"
    )


def _bench_worn(numbers: Mapping[str, Any]) -> str:
    return f"{digits(numbers['percent'], 2)} % of a new one's at most: worn, or not these cells"


def _silent_of_seconds(numbers: Mapping[str, Any]) -> str:
    """Return who does not say over how many seconds a resistance was measured."""
    if numbers["by_test"]:
        return "the datasheet does not say"
    return "note observed.cell.dc_seconds" + (
        "" if numbers["by_sheet"] else ", which the datasheet does not say either"
    )


def _bench_above(numbers: Mapping[str, Any]) -> str:
    cold = "or cold (note observed.temperature_c), " if numbers["cold_open"] else ""
    return (
        f"{digits(numbers['percent'], 2)} % above: worn, {cold}or a longer load than the datasheet's; "
        f"{_silent_of_seconds(numbers)}"
    )


# What datasheets can differ on, in full words and with its unit.
_OF_SHEETS = {
    "capacity": ("the capacity of a cell", "Ah"),
    "continuous_a": ("the continuous current of a cell", "A"),
    "charge_a": ("the charge current of a cell", "A"),
    "nominal_voltage_v": ("the nominal voltage of a cell", "V"),
    "charge_voltage_v": ("the charge voltage of a cell", "V"),
    "cutoff_voltage_v": ("the cut-off voltage of a cell", "V"),
    "standard_charge_a": ("the standard charge current of a cell", "A"),
    "diameter_mm": ("the diameter of a cell", "mm"),
    "length_mm": ("the length of a cell", "mm"),
    "mass_g": ("the mass of a cell", "g"),
    "mass_max_g": ("the largest mass of a cell", "g"),
}


def _fewer_links(numbers: Mapping[str, Any]) -> str:
    links = numbers["links"]
    return (
        f"{digits(links)} {'link' if links == 1 else 'links'} for {digits(numbers['parallel'])} cells in parallel: "
        "one link a cell is common practice"
    )


def _differ(numbers: Mapping[str, Any]) -> str:
    name, unit = _OF_SHEETS[str(numbers["figure"])]
    found = span(Bounds(numbers["low"], numbers["high"]), unit)
    return f"datasheets of equal rank differ on {name} ({found}): rely on the lower"


_ALIKE_MV = 0.005


def _drift(sentence: str) -> Callable[[Mapping[str, Any]], str]:
    def text(numbers: Mapping[str, Any]) -> str:
        said = filled(sentence, numbers)
        limits = (
            "limits: 2 mV a day and 5 % a month, read on a trade page; 10 and 50 mV apart, common practice"
        )
        if numbers["lost_high"] is None:
            return f"{said} ({limits})"
        low, high = digits(max(0.0, numbers["lost_low"])), digits(numbers["lost_high"])
        leak = ""
        if numbers.get("leak_high") is not None:
            leak = f"{digits(max(0.0, numbers['leak_low']))} to {digits(numbers['leak_high'])} mA by itself, "
        return f"{said} ({leak}{low} to {high} % of its charge a month; {limits})"

    return text


_FULL = 100.0


def _usual(numbers: Numbers, language: Language) -> str:
    """Return what as many cells of the usual kind are charged to."""
    count: Bounds = numbers["series"]
    low_v, high_v = VOLTAGES["NMC"].full_v
    return span(Bounds(count.low * low_v, count.high * high_v), "V", language)


def _which_reading(numbers: Mapping[str, Any]) -> str:
    if numbers["earlier"] and numbers["later"]:
        return "both readings"
    return "the earlier reading" if numbers["earlier"] else "the later reading"


def _made_for(numbers: Mapping[str, Any]) -> str:
    counts = " or ".join(map(str, numbers["counts"]))
    return f"{_whose(numbers, ENGLISH)} is the charge voltage of {counts} such cells in series"


def _into_a_short(numbers: Numbers, language: Language) -> str:
    amps = float(numbers["short_a"])
    if amps < MOST_INTO_A_SHORT_A:
        return phrase("into_a_short", language, amps=digits(up(amps), 2, language))
    return phrase("into_a_short_thousands", language)


def _taken(numbers: Numbers, language: Language) -> str:
    if numbers["sure_a"] <= 0:
        return phrase("charger_open", language)
    return phrase("charger_sure", language, sure_a=digits(numbers["sure_a"], language=language))


def _gives(numbers: Numbers, language: Language) -> str:
    return span(numbers["charger_a"], "A", language)


def _whose_count(numbers: Numbers, language: Language) -> str:
    """Return what marks a count, or a voltage on a count, that only the seller states."""
    if numbers.get("only_said") and str(numbers.get("volts_of", "")).startswith("claim."):
        return phrase("both_by_word", language)
    return by_word(numbers, language)


def _whose(numbers: Numbers, language: Language) -> str:
    """Return a charge voltage with who says it: the seller, the charger's marking, or a meter."""
    code = {
        "observed.charger.voltage_v": "volts_marked", "observed.charger.no_load_v": "volts_measured",
    }.get(str(numbers["volts_of"]), "volts_said")  # fmt: skip
    if code == "volts_said" and numbers["only_said"]:
        # What both numbers are is said behind them.
        return f"{span(numbers['volts'], 'V', language)}"
    return phrase(code, language, volts=span(numbers["volts"], "", language))


def _retired(numbers: Numbers, language: Language) -> str:
    return "; ".join(phrase("retired", language, cell=cell, why=str(why)) for cell, why in numbers["retired"])


def _odd_one(numbers: Numbers, language: Language) -> str:
    """Return which group stands apart from the others, or which are lowest."""
    if not numbers["odd"]:
        places = [str(each) for each in places_in(numbers["lowest"])]
        return phrase(
            "group_lowest" if len(places) == 1 else "groups_lowest", language, groups=listed(places, language)
        )
    code = "group_above" if numbers["higher"] else "group_below"
    return phrase(
        code,
        language,
        group=str(int(numbers["odd"])),
        apart_mv=digits(numbers["apart_mv"], language=language),
    )


def _guard(numbers: Numbers, language: Language) -> str:
    """Return what the BMS lets through, and the fuse where there is one."""
    bms_a, fuse_a = digits(numbers["bms_a"], language=language), float(numbers["fuse_a"])
    if fuse_a == inf:
        return phrase("bms_lets", language, bms_a=bms_a)
    return phrase("bms_and_fuse_let", language, bms_a=bms_a, fuse_a=digits(fuse_a, language=language))


def _would_stop(numbers: Numbers, language: Language) -> str:
    """Return the fuse or BMS that would stop it in time; of a part that bears next to nothing, that it goes first."""
    sure_a = float(numbers["sure_a"])
    if sure_a <= 0:
        return ""
    if sure_a >= FEWEST_OF_A_FUSE_A:
        return phrase("would_stop", language, sure_a=digits(sure_a, language=language))
    unseen = not_seen(numbers, language)
    # What was not seen is no weak part.
    return phrase("see_first", language, unseen=unseen) if unseen else phrase("strengthen_first", language)


def _part(numbers: Numbers, language: Language) -> str:
    """Return the element that is told of, named as in the tables."""
    return element_name(ELEMENTS[int(numbers["part"])], language)


def _chemistries(numbers: Numbers, language: Language, of: str) -> str:
    """Return the chemistries that a charge voltage overcharges, or not; what no table names is an unusual cell."""
    unusual = phrase("unusual_cells", language)
    names = chemistries_in(int(numbers[of]))
    return listed([unusual if each == "other" else each for each in names], language)


_PARTS: Parts = {
    "over": partial(_chemistries, of="over"),
    "right": partial(_chemistries, of="right"),
    "current_taken": current_taken,
    "would_stop": _would_stop,
    "fit": fuse_to_fit,
    "part": _part,
    "guard": _guard,
    "odd_one": _odd_one,
    "retired": _retired,
    "whose": _whose,
    "usual": _usual,
    "into_a_short": _into_a_short,
    "taken": _taken,
    "gives": _gives,
    "by_word": _whose_count,
}

REMARKS: dict[str, Sentence] = {
    "check_failed": "this check failed ({fault}); nothing follows from it",
    "default_air": "for air of {low_c} to {high_c} C (our default; set yours with --temperature)",
    "secondhand": "rests on a figure that somebody quoted: nothing is granted by it",
    "rounded": "{claimed} {unit} is {over_percent} % more than {supported} {unit}: labels are rounded by as much",
    "worn_or_other_cells": _worn,
    "used_or_other_cells": _used,
    "new_but_for_the_tester": lambda numbers: (
        f"{_beside_new(numbers)}: may be new: a charger or plain tester reads up to "
        f"{digits(numbers['tester_percent'])} % wrong"
    ),
    "may_be_new": lambda numbers: (
        f"{_may_be_new(numbers)}: measured cold, fast or within the meter's error, it stands for "
        f"{span(Bounds(numbers['low_ah'], numbers['high_ah']), 'Ah')}"
    ),
    "may_be_new_test_open": lambda numbers: (
        f"{_may_be_new(numbers)}: a test gives less in the cold, fast or ended early; note its current, temperature "
        "and end"
    ),
    "test_ended_early": _ended_early,
    "capacity_for_label": lambda numbers: (
        f"write {amount(numbers['measured_ah'], 'Ah')} on a label: that was measured, {digits(numbers['percent'], 2)} "
        f"% of what new cells make; worn out is below {digits(numbers['least_percent'])} %"
    ),
    "holds_by_rounding_alone": "{claimed_ah} Ah is above the {most_ah} Ah that it may hold at best: by no more than a "
    "label is rounded, so that it is not called false",
    "groups_may_cost": "groups {spread_mv} mV apart at rest may cost up to {percent} % of it: read them again when it "
    "is full, where unlike charges show",
    "by_typical": "{claimed} Ah is by the datasheet's typical capacity, the usual labelling; guaranteed is {sure} Ah, "
    "{less_percent} % less",
    "power_of_full_pack": "{claimed_w} W only while it is full: at its nominal voltage it gives at most {nominal_w} W",
    "only_copper": "only copper strip could carry {claimed_a} A: look at a cut edge; where it is not red, the claim "
    "does not hold",
    "groups_unbalanced": "group {lowest} holds {low_percent} to {high_percent} % of charge less than group {highest}: "
    "it ends the discharge, and the pack gives that much less until it is balanced; whether it drained or has worn, "
    "two readings at rest some days apart tell",
    "cell_has_worn": "a cell taken out gave {measured_ah} Ah, {percent} % of a new one's {new_ah} Ah: worn, not these "
    "cells, or tested cold or fast; only a test of the pack tells",
    "cell_resistance_grown": "the resistance of a cell is above what a new one may have: worn cells hold less than new "
    "ones, and only a test of the pack tells how much",
    "expected_wear": _expected_wear,
    "worn_as_expected": lambda numbers: (
        f"that is no less than {_wear_by(numbers)} let one expect: {_expected_part(numbers)} of new"
    ),
    "worn_perhaps_beyond_expected": lambda numbers: (
        f"that may be less than {_wear_by(numbers)} let one expect: {_expected_part(numbers)} of new"
    ),
    "worn_beyond_expected": lambda numbers: (
        f"that is less than {_wear_by(numbers)} let one expect "
        f"({_expected_part(numbers)} of new): misused, older than said, or not these cells"
    ),
    "less_in_the_cold": _less_in_the_cold,
    "used_untested": "used, and nobody has measured what is left: new cells would hold so much, these may hold "
    "less and stand less current",
    "used_cells_standards": "how used cells and batteries are sorted and graded: UL 1974 and IEC 63330-1 are where to "
    "look; no figure here is theirs",
    "worn_current": "worn cells have more resistance: {percent} % of a new one's current is granted",
    "worn_out_capacity": "cells that hold less than {percent} % of new ones are worn out: nobody knows what current "
    "they stand, and none is granted",
    "perhaps_worn_out": "cells that hold less than {percent} % of new ones are worn out: no current is granted before "
    "a full discharge in a room, at a gentle current, shows that these hold more",
    "groups_resist": "the worst group resists {read_mohm} mohm, up to {times} times what new cells do",
    "groups_unlike_cell": "the worst group resists {read_mohm} mohm, up to {times} times what new cells do, the cell "
    "on the bench at most {cell_times} times: other cells, or their welds, are worse than that one",
    "worn_out_resistance": "cells that may have more than {times} times a new one's resistance are worn out: nobody "
    "knows what current they stand, and none is granted",
    "worn_resistance_open": "how far the cells' resistance has grown is not known: no more current is granted before "
    "the resistance of a cell to direct current is known",
    "worn_sheet_silent": "the datasheet does not say what resistance a new cell has, so that the one measured tells "
    "nothing of wear: no more current is granted",
    "fewer_links_than_cells": _fewer_links,
    "peak_is_not_continuous": "a peak of {peak_a} A is claimed; a peak is never a continuous current",
    "peak_says_nothing_of_continuous": "a peak says nothing of what the pack delivers continuously",
    "peak_below_bms": "{peak_a} A is below the {bms_a} A of its BMS: what it gives continuously is no more than its "
    "peak, whatever the BMS lets through; ask for it",
    "peak_without_seconds": "no seconds are claimed for the peak; without them it cannot be compared",
    "row_not_seen": "counted from one cell carrying all to even sharing: the take-off or strip is not seen",
    "single_group": "a single group has no links",
    "parallel_only_said": "only the seller says {parallel} in parallel",
    "cells_only_said": "only the seller names the cells",
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
    "beyond_published": _beyond_published,
    "no_discharge_limit": _silent("discharging"),
    "no_charge_limit": _silent("charging"),
    "no_pulse_limit": "no datasheet states a pulse for all of {low_c} to {high_c} C: its pulses only bound the peak",
    "only_standard_charge": "the datasheet states a standard charge of {current_a} A and no limit",
    "c_rate_base": "the datasheet does not say what 1C is; its {base} capacity was used",
    "basis_open": "the datasheet does not say whether {low_c} to {high_c} C are of the air or of the cell's surface: "
    "taken as of the air; of the surface it would allow less",
    "surface_band": "the datasheet's {low_c} to {high_c} C are of the cell's surface, which load warms",
    "called_a_maximum": "called a maximum, neither continuous nor peak: judged as both, false only if it is neither",
    "maximum_beside_continuous": "called a maximum, beside a continuous current: judged as a peak",
    "maximum_beside_peak": "called a maximum, beside a peak: judged as continuous, false only if it is no peak either",
    "no_continuous_limit": "no datasheet states a discharge limit: only the best cell of its size bounds it",
    "limit_without_temperature": "the datasheet names no temperature for this limit: granted from 20 to 25 C only",
    "until_cutoff_temperature": "{current_a} A only until the cell is at {temperature_c} C: not a continuous rating",
    "not_called_continuous": "the datasheet does not call its {current_a} A continuous",
    "cycle_conditions": _cycle_conditions,
    "holds_by_label": (
        "{claimed_wh} Wh holds by its label ({name_v} V is the trade name of {nominal_v} V); "
        "{cells_low_wh} Wh by the cells"
    ),
    "mass_bounds_energy": "a pack of {mass_kg} kg holds at most {most_wh} Wh ({most_wh_per_kg} Wh/kg)",
    "motor_span": "{low_w} to {high_w} W is a span of motors: judged for the largest, {high_w} W",
    "motor_takes": "a {motor_w} W motor draws {current_taken}",
    "default_efficiency": "for a drive of usual efficiency, {low} to {high}; yours is not stated",
    "default_ride": "for a usual rider, vehicle and speed, as far as they are not stated",
    "range_leaves": (
        "{range_km} km leaves {left_low_wh} to {left_high_wh} Wh a kilometre; usual rides take "
        "{takes_low_wh} to {takes_high_wh} Wh, without wind and stops"
    ),
    "beyond_usual_rides": "no usual ride gets {range_km} km out of this pack; the easiest gets {usual_km} km",
    "claimed_lighter_than_cells": (
        "{claimed_kg} kg is claimed, its own cells weigh {cells_kg} kg or more: fewer or lighter cells "
        "than said"
    ),
    "heavy_for_its_cells": (
        "{mass_kg} kg is more than twice the {cells_kg} kg of its cells: a heavy case, or something else "
        "in the box (common practice, no source)"
    ),
    "discharges_harder": "up to {cell_a} A a cell; the cycle test took {test_a} A",
    "charges_harder": "charged with up to {cell_a} A a cell; the cycle test charged with {test_a} A",
    "cycle_use_unknown": "not known whether the pack works its cells harder than the cycle test",
    "cycles_end_lower": (
        "the test counted down to {percent} % of the capacity; sellers count down to {meant_percent} %"
    ),
    "cycles_at_other_temperature": (
        "the cycles were counted at {test_c} C; the pack is used from {low_c} to {high_c} C"
    ),
    "date_code_read": _date_code,
    "date_code_comes_round": lambda numbers: (
        f"{_date_code(numbers)} (the code comes round: only the state of the cells and the papers tell which)"
    ),
    "date_code_no_pattern": "date code {printed}: your registry does not say how {cell}'s are read (packclaim "
    "cells edit --date-code)",
    "date_code_no_day": "date code {printed}: state case.date, the day of the examination, for the age of the cells",
    "date_code_unlike": "date code {printed} does not read as {pattern}, or lies after the examination: another "
    "maker's print, or a slip",
    "age_unlike_date_code": "said to be {said_years} years old; by the date code the cells are {low_years} to "
    "{high_years} years old",
    "bench_fits": "within what its datasheet says",
    "bench_new_capacity": "not below the least of a new one",
    "bench_new_resistance": "not above the most of a new one",
    "bench_worn_capacity": _bench_worn,
    "bench_worn_resistance": "at least {times} times a new one's: worn, or not these cells",
    "bench_beyond_capacity": lambda numbers: _bench_worn(numbers).replace("worn", "worn out"),
    "bench_beyond_resistance": "at least {times} times a new one's: worn out, or not these cells",
    "bench_outside": "neither a new nor a worn cell of the datasheet has it",
    "bench_no_cell": "the marking names no registered cell",
    "bench_sheet_silent": "the datasheet does not say",
    "bench_other_seconds": lambda numbers: (
        f"it grows with the seconds of the load: {_silent_of_seconds(numbers)}"
    ),
    "bench_above_other_seconds": _bench_above,
    "bench_temperature_open": "cells resist more in the cold: note observed.temperature_c",
    "bench_test_open": "a test gives less in the cold or fast: note its current and temperature",
    "bench_open": "within the errors it lies between a new and a worn one, or between two cells",
    "bms_trip": "the BMS switches off at {low_a} to {high_a} A ({trip_mv} mV over {shunt_mohm} mohm): a trip, never a "
    "rating",
    "bms_trip_open": "a trip is the chip's threshold over the shunt: note both observed.bms.trip_mv and shunt_mohm",
    "bms_balances": "the BMS bleeds {balance_a} A: a group that is 5 % too full takes {low_h} to {high_h} h",
    "bms_balances_at": "the BMS bleeds {balance_a} A from a full group",
    "charger_unlike_print": "the charger gives {open_v} V without a load, {printed_v} V is printed on it",
    "charger_as_printed": "the charger gives {open_v} V without a load, as printed",
    "charger_ends_late": "the charger goes on down to {cut_off_a} A, less than a fiftieth of the pack's Ah: cells are "
    "long held at their limit",
    "charger_ends_early": "the charger ends at {cut_off_a} A, more than a tenth of the pack's Ah: the pack is not full",
    "charger_ends_at": "the charger ends at {cut_off_a} A",
    "charger_ends": "the charger ends at {cut_off_a} A (usual: a fiftieth to a tenth of the pack's Ah)",
    "weld_marks": "{marks} weld marks a cell make {welds} welds",
    "few_weld_marks": "{marks} weld marks a cell make {welds} weld: if one fails the cell is out of its group",
    "positive_insulators": "insulating rings on the positive ends: a strip that shifts cannot short across the rim",
    "no_positive_insulators": (
        "no insulating rings on the positive ends: a strip or burr that cuts the wrap shorts the cell"
    ),
    "leads_isolated": "leads kept apart from cells and strips",
    "leads_not_isolated": "leads rest on cells or strips: chafed insulation shorts the pack",
    "wires_free": "no wire is pinched or strained",
    "wires_pinched": "a wire is pinched or strained: it can break or chafe through",
    "spacers": "cells stand in spacers",
    "no_spacers": "cells touch: one that vents heats its neighbours, and wraps rub through",
    "shipping_mark": "the parcel is marked as a lithium battery",
    "no_shipping_mark": "no transport mark: above 100 Wh a battery is dangerous goods and must be declared",
    "temperature_sensor": "a temperature sensor sits on the cells",
    "no_temperature_sensor": (
        "no temperature sensor on the cells: nothing stops charging in frost or discharging when hot"
    ),
    "connector_fitted": "a connector is fitted",
    "fuse_fitted": "a fuse is fitted",
    "fuse_voltage_not_read": "read the fuse's direct voltage: it must be {full_v} V or more",
    "fuse_voltage_too_low": "the fuse is for {rated_v} V, the full pack has {full_v} V: it may not break the arc",
    "fuse_breaking_not_read": (
        "read the fuse's breaking capacity: the cells can drive {into_a_short} into a short"
    ),
    "fuse_breaking_may_be_low": (
        "the fuse breaks {breaking_a} A, the cells can drive {into_a_short} into a short"
    ),
    "balance_leads": "{leads} balance leads for {groups} groups (usual: {groups} or {or_one_more})",
    "too_few_balance_leads": "{leads} balance leads for {groups} groups: some group is not watched",
    "groups_even": lambda numbers: (
        f"the {digits(numbers['groups'])} groups read alike at rest: good"
        if digits(numbers["spread_mv"]) == "0"
        else f"the {digits(numbers['groups'])} groups are {digits(numbers['spread_mv'])} mV apart at rest: good"
    ),
    "groups_near": "groups {spread_mv} mV apart, {odd_one}: measure again in some days",
    "groups_apart": "groups {spread_mv} mV apart, {odd_one}: a weak group or poor balance",
    "groups_miscounted": "{measured} groups were measured, the pack has {groups}",
    "group_drains": _drift(
        "group {group} falls up to {mv_per_day} mV a day faster than another, and the groups went from {then_mv} to "
        "{now_mv} mV apart: it drains by itself; do not charge or sell the pack until the cause is found"
    ),
    "group_drifts": _drift(
        "group {group} may fall {mv_per_day} mV a day faster than another: measure again after more days"
    ),
    "groups_hold": lambda numbers: (
        "all groups fell alike between the two readings: they hold"
        if numbers["mv_per_day"] < _ALIKE_MV
        else filled(
            "no group falls faster than another by more than {mv_per_day} mV a day: they hold", numbers
        )
    ),
    "groups_not_the_same": "{before} groups were measured before and {now} now: nothing follows for their drift",
    "groups_hours_not_known": (
        "the time between the two readings of the groups is not stated: no drift follows; note the date of each, and "
        "the time of day where they lie less than two days apart"
    ),
    "groups_dates_differ": (
        "the dates of the two readings of the groups do not go with their order or with groups_hours: no drift follows"
    ),
    "groups_temperature_not_known": lambda numbers: filled(
        "the temperature at {which} of the groups is not noted: counted as up to {apart_k} K apart, which by itself "
        "moves a group by up to {moved_mv} mV (entropy coefficient, from memory); read both in one room",
        {**numbers, "which": _which_reading(numbers)},
    ),
    "groups_temperature_apart": lambda numbers: filled(
        "the groups were read at {then} and at {now}: by that alone a group moves by up to {moved_mv} mV (entropy "
        "coefficient, from memory); it is counted, and readings in one room would tell more",
        {
            **numbers,
            "then": span(Bounds(numbers["then_c"], numbers["then_to_c"]), "C"),
            "now": span(Bounds(numbers["now_c"], numbers["now_to_c"]), "C"),
        },
    ),
    "charge_leads_carry": "charge leads: {current_a} A needed, they carry {low_a} to {high_a} A",
    "charge_leads_may_not_carry": "charge leads: {current_a} A may be too much, they carry {low_a} to {high_a} A",
    "charge_leads_do_not_carry": "charge leads: {current_a} A is too much, they carry {low_a} to {high_a} A",
    "rust_proves_steel": "rust in salt water proves steel",
    "no_rust": "no rust proves something only after {needed_h} h; the strip is taken for {taken_for}",
    "sparks_prove_steel": "sparks off a grinder prove steel",
    "no_sparks": "no sparks prove nothing; the strip is taken for {taken_for}",
    "strip_is_steel_after_all": "the strip is noted as {named}, and the test proves steel",
    "nominal_arithmetic": "{series} in series make {makes_v} V nominal, not {claimed_v} V",
    "nominal_is_full": "{claimed_v} V is the voltage of the full pack, not its nominal one",
    "count_differs": "{claimed} {what} claimed, {seen} counted",
    "counts_exclude_each_other": "the counts claimed exclude each other",
    "bms_for_another_count": "the BMS is made for {bms} in series, {claimed} are claimed: count the groups",
    "overcharges": (
        "{whose} on {series} in series{by_word} is {cell_v} V a cell, above the {limit_v} V limit: it "
        "overcharges the pack, DO NOT charge with it"
    ),
    "full_above_limit": (
        "{volts} V when full, as the seller says, on {series} in series{by_word} is {cell_v} V a cell, above the "
        "{limit_v} V limit: that voltage or the count is wrong: ask which"
    ),
    "undercharges": (
        "{whose} on {series} in series{by_word} is {cell_v} V a cell, below the {limit_v} V of a full one: "
        "the pack stays part empty"
    ),
    "charges_no_possible_pack": (
        "{whose} does not fit {series} in series{by_word}, charged to {limit_v} V a cell: do not charge with it"
    ),
    "may_overcharge": (
        "{whose} on {series} in series{by_word} is {cell_v} V a cell and may overcharge the pack: find out "
        "cells and count before charging"
    ),
    "overcharges_some": (
        "{whose} on {series} in series{by_word} overcharges {over} cells ({cell_v} V a cell), right only for {right}: "
        "do not use it before the chemistry is known"
    ),
    "overcharges_most": (
        "{whose} on {series} in series{by_word} overcharges {over} cells ({cell_v} V a cell), right only for unusual "
        "cells of a high charge voltage; {series} usual lithium-ion cells take {usual}: do not use it before the "
        "chemistry is known"
    ),
    "right_for_lithium_ion": (
        "{whose} on {series} in series{by_word} is right for lithium-ion (4.2 V a cell), wrong for LiFePO4: "
        "ask which"
    ),
    "right_for_iron_phosphate": (
        "{whose} on {series} in series{by_word} is right for LiFePO4 (3.6 to 3.65 V a cell), too little for "
        "lithium-ion: ask which"
    ),
    "right_for_titanate": (
        "{whose} on {series} in series{by_word} is right for titanate (2.7 to 2.85 V a cell), wrong for "
        "other cells: ask which"
    ),
    "charge_leads": "the charge leads",
    "default_charging_air": (
        "for charging in a room of {low_c} to {high_c} C (our default; state use.charge_temperature_c)"
    ),
    "maybe_charged_above_full": "nobody knows whether it was ever charged above its full voltage: measure every group "
    "before it is charged",
    "no_charging_below": "do not charge below {start_c} C (datasheet)",
    "no_charging_in_this_air": "the datasheet allows no charging from {low_c} to {high_c} C",
    "charger_too_strong": "the charger gives {charger_a} A, the pack takes at most {most_a} A",
    "charger_may_be_too_strong": "the charger as seen gives {gives}; {taken}",
    "fuse_for_hours": "as rated; for hours some {for_hours_a} A",
    "fuse_near_its_rating": "{claimed_a} A through a fuse of {rating_a} A: it may blow after some time; for hours a "
    "fuse is loaded with three quarters of its rating, {for_hours_a} A (common practice for fuses by UL 248-14), less "
    "in warm air",
    "link_layers_open": "layers of a link not noted: 1 to {layers}",
    "links_share": "the link next to the lead may carry up to {times} times the mean of all",
    "bms_above_cells": "{guard} through, the cells bear at most {most_a} A by their datasheet: nothing stops more "
    "before they overheat{would_stop}",
    "bms_above_connector": "{guard} through, the connector is rated {most_a} A: nothing stops more before it "
    "overheats{would_stop}",
    "bms_above_strip": "{guard} through; the strip to the main lead is safe up to {sure_a} A and overheats above "
    "{most_a} A: nothing stops more{would_stop}",
    "bms_above_links": "{guard} through; the links between groups are safe up to {sure_a} A and overheat above "
    "{most_a} A: nothing stops more{would_stop}",
    "fuse_may_be_above_leads": "the fuse of {rating_a} A may be too large for its leads, which surely carry {sure_a} "
    "A{fit}",
    "fuse_above_strip": "the fuse of {rating_a} A does not keep the strip inside from overheating ({part}: at most "
    "{most_a} A){fit}",
    "bms_may_be_above_leads": "the BMS lets {rating_a} A through, the leads surely carry only {sure_a} A{fit}",
    "uncooled_too_hot": "at {current_a} A the cells gain {rise_k} K in one discharge if they cannot cool, from "
    "{air_c} C surely past {limit_c} C: fit a temperature sensor",
    "uncooled_perhaps_too_hot": "at {current_a} A the cells gain {rise_k} K in one discharge if they cannot cool, from "
    "{air_c} C perhaps past {limit_c} C: fit a temperature sensor",
    "controller_too_strong": "the controller draws {controller_a} A, the pack carries at most {most_a} A",
    "controller_may_be_too_strong": "the controller draws {controller_a} A; only {sure_a} A is surely carried",
    "charger_over_cells": "the charger gives {charger_a} A, the cells take {cells_a} A at most",
    "regeneration_too_strong": (
        "braking puts {current_a} A into the pack; from {low_c} to {high_c} C its cells take {cells_a} A"
    ),
    "regeneration_may_be_too_strong": (
        "braking puts {current_a} A into the pack; what its cells take from {low_c} to {high_c} C is not sure"
    ),
    "over_full": (
        "{cell_v} V a cell at rest is above the {full_v} V of a full one: overcharged, or more cells "
        "in series than said; do not charge it"
    ),
    "deeply_discharged": (
        "{cell_v} V a cell is below the {empty_v} V of an empty one: deeply discharged; do not charge it"
    ),
    "deeply_discharged_or_fewer_cells": (
        "{cell_v} V a cell is below the {empty_v} V of an empty one: deeply discharged, or fewer "
        "cells in series than said; do not charge it"
    ),
    "may_be_deeply_discharged": (
        "{cell_v} V a cell may be below the {empty_v} V of an empty one: it may be deeply discharged;"
        " measure every group before charging"
    ),
    "may_be_deeply_discharged_or_fewer_cells": (
        "{cell_v} V a cell may be below the {empty_v} V of an empty one: deeply discharged, or fewer "
        "cells in series than said; measure every group before charging"
    ),
    "charge_if": lambda numbers: (
        f"if the cells are {numbers['chemistry']}: {span(numbers['charge_percent'], '').strip()} % full"
        + (" or overcharged" if numbers["charge_percent"].low >= _FULL else "")
    ),
    "flat_in_the_middle": "LiFePO4 is flat in the middle: its voltage at rest hardly tells the charge there",
    "shipped_too_full_by_air": (
        "more than {most_percent} % full: by air, alone (UN 3480) or packed with equipment (UN 3481), no more is "
        "allowed without a special permit; how it travelled is not known, and by road and sea about half full is "
        "common practice"
    ),
    "perhaps_shipped_too_full": (
        "by air, alone (UN 3480) or packed with equipment (UN 3481), at most {most_percent} % is allowed; by road and "
        "sea about half full is common practice"
    ),
    "charger_made_for": _made_for,
    "match": "{note}",
    "cells_of_one_name": "{count} registered cells have the name '{marking}': {cells}",
    "cells_retired": "{retired}",
    "cell_not_used": "{cell} is named, and something speaks against it: nothing rests on it",
    "sheet_of_no_cell": "the datasheet '{sheet}' cannot be picked of a cell that is not known",
}


def remark_text(remark: Remark, language: Language = ENGLISH) -> str:
    """Return a remark in words; other languages than English have those of the opening."""
    sentence = REMARKS[remark.code]
    if not language.english:
        sentence = language.text("remarks", remark.code, {})
    return filled(sentence, remark.numbers, language, _PARTS)
