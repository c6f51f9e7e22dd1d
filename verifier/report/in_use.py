"""What a pack may be used for, in the few lines of a hand-over sheet or a label: drawing, charging, measured.

Only what a report grants stands here. What is left out is not granted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf
from typing import NamedTuple

from verifier.bounds import Bounds, down
from verifier.case_report import Report
from verifier.finding import BandSupport, Finding
from verifier.pack.charger import GENTLE
from verifier.pack.use_at_most import UseAtMost, less_motor
from verifier.possible_chemistries import of_one_kind
from verifier.verdict import at_most
from verifier.words import ENGLISH, Language, digits, element_name, joined, span, temperatures

IN_USE = {
    "measured": "{capacity} measured",
    "measured_at": "{capacity} measured ({conditions})",
    "capacity_not_known": "capacity not known",
    "by_datasheet": "{capacity} Ah or more by its datasheet, not measured",
    "do_not_charge": "do not charge until the alarm is dealt with",
    "worn_out": "do not charge: worn out, to be rebuilt or recycled",
    "charger_not_known": "charger not known: ask before charging",
    "charge": "{volts}, at most {amps} A, from {air}",
    "charge_by": "{at_hand}{volts}, at most {amps} A by cells and charge leads, from {air}{elsewhere}; what its BMS "
    "and socket take is not known",
    "charge_by_part": "{at_hand}{volts}, at most {amps} A, limited by the {limit}, from {air}{elsewhere}; what its BMS "
    "and socket take is not known",
    "never_below": "; with the charger at hand never below {start} C",
    "never_above": "; with the charger at hand never above {end} C",
    "more_than_advised": "; the charger at hand gives {amps}: more than we advise",
    "at_hand": "the charger at hand ({volts}, {amps}) or another of ",
    "charge_elsewhere": "; at most {amps} A from {air}",
    "charge_current_open": "{volts}; how many amperes at most is not known",
    "charge_current_open_at_hand": "{volts}, as the charger at hand gives ({at_hand}, {amps}); how many amperes at "
    "most is not known, so with no stronger one, and watched",
    "charge_leads_open_at_hand": "{volts}; the charger at hand ({at_hand}, {amps}) fits by its voltage: look whether "
    "the charge leads carry its {amps} before it is used",
    "charge_leads_open": "{volts}; how many amperes at most is not known before the charge leads are seen",
    "at_hand_fits": "; the charger at hand ({at_hand}) fits by its voltage",
    "at_hand_amps_open": "; the charger at hand ({at_hand}) fits by its voltage: read its current before it is used",
    "at_hand_too_low": "; do not use the charger at hand ({at_hand}): it leaves this pack part empty, it is of another",
    "at_hand_not_sure": "; do not use the charger at hand ({at_hand}): it does not surely give that voltage",
    "at_hand_volts_open": "; read the voltage of the charger at hand before it is used",
}


def _say(code: str, language: Language, **slots: str) -> str:
    return language.text("in_use", code, IN_USE).format_map(slots)


def measured(report: Report, language: Language = ENGLISH) -> str:
    """Return the capacity with how it is known: as measured, else by the datasheets as far as granted."""
    seen = report.case.observed
    if seen.capacity_ah is not None:
        capacity_ah = span(seen.capacity_ah, "Ah", language)
        conditions = []
        if seen.capacity_current_a is not None:
            conditions.append(span(seen.capacity_current_a, "A", language))
        if (air := seen.capacity_temperature_c) is not None:
            conditions.append(temperatures(air.low, air.high, language))
        if not conditions:
            return _say("measured", language, capacity=capacity_ah)
        return _say("measured_at", language, capacity=capacity_ah, conditions=joined(conditions, language))
    capacity = report.finding("capacity")
    if not report.grants(capacity):
        return _say("capacity_not_known", language)
    least = digits(down(capacity.supported.low), language=language)
    return _say("by_datasheet", language, capacity=least)


def not_known(name: str, language: Language = ENGLISH) -> str:
    """Return what is said of a capacity or a charger that nobody knows."""
    return _say(f"{name}_not_known", language)


def charger_is_known(report: Report) -> bool:
    """Whether the voltage of the right charger is known and granted."""
    voltage = report.finding("charge_voltage")
    waits = any(each.code == "maybe_charged_above_full" for each in voltage.cautions)
    return report.grants(voltage) and of_one_kind(voltage.supported.low, voltage.supported.high) and not waits


def charging(report: Report, language: Language = ENGLISH, *, short: bool = True) -> str:
    """Return the charger's voltage, the most current and from where on, as far as each of them is granted.

    In short, without what the current was judged by and without a word of the charger at hand.
    """
    if report.answer.alarms:
        return _say("do_not_charge", language)
    if report.answer.worn_out is not None:
        return _say("worn_out", language)
    if not charger_is_known(report):
        return _say("charger_not_known", language)
    said = _charge_current(report, language, short=short)
    # One that is right is named there.
    named = short or _right_charger_at_hand(report) is not None
    return said if named else said + of_charger_at_hand(report, language)


def _charge_current(report: Report, language: Language, *, short: bool) -> str:
    """Return the charger's voltage and the most current, where the voltage is known."""
    volts = span(report.finding("charge_voltage").supported, "V", language)
    current = report.finding("charge_current")
    granted = _granted(report, current) if report.grants(current) else None
    if granted is None:
        leads = any(each.startswith("observed.charge_leads") for each in current.unknown)
        seen_v, gives = charger_seen(report), _right_charger_at_hand(report)
        if seen_v is not None and gives is not None and not short:
            slots = {"at_hand": span(seen_v, "V", language), "amps": span(gives, "A", language)}
            code = "charge_leads_open_at_hand" if leads else "charge_current_open_at_hand"
            return _say(code, language, volts=volts, **slots)
        return _say("charge_leads_open" if leads else "charge_current_open", language, volts=volts)
    amps = digits(down(_advised(report, granted.amps)), language=language)
    air = temperatures(granted.low_c, granted.high_c, language)
    if short:
        return _say("charge", language, volts=volts, amps=amps, air=air)
    elsewhere = "".join(
        _say(
            "charge_elsewhere", language, air=temperatures(each.low_c, each.high_c, language),
            amps=digits(down(_advised(report, each.amps)), language=language),
        )
        for each in _elsewhere(report, granted)
    )  # fmt: skip
    elsewhere += _by_charger_at_hand(report, granted, language)
    at_hand = _at_hand(report, granted, language)
    slots = {"at_hand": at_hand, "volts": volts, "amps": amps, "air": air, "elsewhere": elsewhere}
    if granted.limited_by is None:
        return _say("charge_by", language, **slots)
    return _say("charge_by_part", language, limit=element_name(granted.limited_by, language), **slots)


class _Granted(NamedTuple):
    """A charge current, without reserve, and the air in which the pack surely takes it. [A, C]."""

    amps: float
    low_c: float
    high_c: float
    # A part of the path between the groups and the leads that takes less than cells and charge leads.
    limited_by: str | None = None


def _granted(report: Report, current: Finding) -> _Granted | None:
    """Return the charge current granted in the air of charging; none where no band of a datasheet grants any there.

    The air goes as far as the bands of the datasheet that take that much: in the cold they may take less.
    """
    stated = report.case.use.charge_temperature_c
    limit = report.limits["charge_temperature_c"]
    air = limit if stated is None or "charge_temperature_c" in report.limits.overrides else stated
    bands = [each for each in current.by_temperature if each.supported.low > 0]
    here = [each for each in bands if each.low_c < air.high and air.low < each.high_c] or [
        each for each in bands if each.low_c <= air.low and air.high <= each.high_c
    ]
    if not here:
        return None
    part, limited_by = _path(report), None
    amps, over_bands = current.supported.low, min(each.supported.low for each in here)
    if not at_most(amps, part.amps):
        amps, limited_by = part.amps, part.element
    if amps <= 0:
        return None
    if not at_most(amps, over_bands):
        # The bands go on to air in which the charge leads carry less than in that of charging.
        return _Granted(
            amps, _cold_end(bands, here[0], amps, air.low), min(air.high, here[-1].high_c), limited_by
        )
    low_c, high_c = here[0].low_c, here[-1].high_c
    for band in [each for each in bands if at_most(amps, each.supported.low)]:
        if band.low_c == high_c:
            high_c = band.high_c
    for band in [each for each in reversed(bands) if at_most(amps, each.supported.low)]:
        if band.high_c == low_c:
            low_c = band.low_c
    return _Granted(amps, low_c, high_c, limited_by)


def _cold_end(bands: Sequence[BandSupport], first: BandSupport, amps: float, air_c: float) -> float:
    """Return down to which air a current is granted that is so in that of charging: leads carry more in the cold. [C].

    ``first`` is the band in which that air begins.
    """
    end_c = air_c
    for band in reversed([each for each in bands if each.low_c <= first.low_c]):
        if band.high_c < end_c or not at_most(amps, band.cells.low):
            break
        end_c = band.low_c
    return end_c


class _Part(NamedTuple):
    """A part and what it surely carries. [A]."""

    amps: float
    element: str


def _path(report: Report) -> _Part:
    """Return the part that surely carries least between the groups and the leads.

    What is charged passes the same links and tabs for hours as what is discharged: no case notes separate ones.
    """
    parts = [
        _Part(each.supported.low, each.element)
        for each in report.finding("continuous_current").elements
        if each.element in ("series_links", "take_off") and each.state != "not fitted"
    ]
    return min(parts, default=_Part(inf, "cells"))


def charger_seen(report: Report) -> Bounds | None:
    """Return the voltage of the charger that was seen: as it is marked, else as it was measured. [V]."""
    charger = report.case.observed.charger
    return charger.no_load_v if charger.voltage_v is None else charger.voltage_v


def gives_right_voltage(report: Report) -> bool:
    """Whether everything that is known of the voltage of the charger that was seen is right, or gently less."""
    charger, right = report.case.observed.charger, report.finding("charge_voltage").supported
    slack = report.limits.number("charger_tolerance")
    known = [each for each in (charger.voltage_v, charger.no_load_v) if each is not None]
    return bool(known) and all(
        at_most(right.low * GENTLE, volts.low) and at_most(volts.high, right.high * (1 + slack))
        for volts in known
    )


def _right_charger_at_hand(report: Report) -> Bounds | None:
    """Return what the charger gives that was seen, where its voltage is right; nothing of any other. [A]."""
    return report.case.observed.charger.current_a if gives_right_voltage(report) else None


def of_charger_at_hand(report: Report, language: Language = ENGLISH) -> str:
    """Return whether a charger that was seen is right where the voltage is known; nothing where none was seen.

    Whoever has it in the hand would plug it in where the right voltage alone is told.
    """
    volts, current_a = charger_seen(report), report.case.observed.charger.current_a
    if volts is None:
        return "" if current_a is None else _say("at_hand_volts_open", language)
    if gives_right_voltage(report):
        code = "at_hand_amps_open" if current_a is None else "at_hand_fits"
    else:
        low = volts.high < report.finding("charge_voltage").supported.low * GENTLE
        code = "at_hand_too_low" if low else "at_hand_not_sure"
    return _say(code, language, at_hand=span(volts, "V", language))


def _at_hand(report: Report, granted: _Granted, language: Language) -> str:
    """Return the charger that was seen, where voltage and current of it are right; nothing of any other."""
    volts, gives = charger_seen(report), _right_charger_at_hand(report)
    if volts is None or gives is None or not at_most(gives.high, _advised(report, granted.amps)):
        return ""
    return _say("at_hand", language, volts=span(volts, "V", language), amps=span(gives, "A", language))


def _by_charger_at_hand(report: Report, granted: _Granted, language: Language) -> str:
    """Return where the charger that was seen gives more than is advised; it cannot be told to give less."""
    gives = _right_charger_at_hand(report)
    if gives is None:
        return ""
    if not at_most(gives.high, _advised(report, granted.amps)):
        return _say("more_than_advised", language, amps=span(gives, "A", language))
    elsewhere = _elsewhere(report, granted)
    colder = [each for each in elsewhere if each.high_c <= granted.low_c]
    hotter = [each for each in elsewhere if each.low_c >= granted.high_c]
    start_c, end_c = granted.low_c, granted.high_c
    for each in reversed(colder):
        if each.high_c == start_c and at_most(gives.high, _advised(report, each.amps)):
            start_c = each.low_c
    for each in hotter:
        if each.low_c == end_c and at_most(gives.high, _advised(report, each.amps)):
            end_c = each.high_c
    found = ""
    if any(each.low_c < start_c for each in colder):
        found = _say("never_below", language, start=digits(start_c, language=language))
    if any(each.high_c > end_c for each in hotter):
        found += _say("never_above", language, end=digits(end_c, language=language))
    return found


def _advised(report: Report, amps: float) -> float:
    return report.limits.number("reserve") * amps


def _elsewhere(report: Report, granted: _Granted) -> list[_Granted]:
    """Return what the pack surely takes in the bands of its datasheet beside the air granted: less, or elsewhere."""
    most = _path(report).amps
    found = []
    for each in report.finding("charge_current").by_temperature:
        for low_c, high_c in (
            (each.low_c, min(each.high_c, granted.low_c)), (max(each.low_c, granted.high_c), each.high_c)
        ):  # fmt: skip
            if each.supported.low > 0 and low_c < high_c:
                found.append(_Granted(min(each.supported.low, most), low_c, high_c))
    return found


def few(use: Sequence[UseAtMost], most: int) -> list[UseAtMost]:
    """Return what to draw at most in at most so many ranges: neighbours are joined, and the least holds for both.

    Where ranges that do not touch are too many, those with the least current are left out.
    """
    found = list(use)
    while len(found) > most:
        touching = [place for place in range(1, len(found)) if found[place - 1].high_c == found[place].low_c]
        if not touching:
            break
        place = min(touching, key=lambda at: abs(found[at].continuous_a - found[at - 1].continuous_a))
        found[place - 1 : place + 1] = [_joined(found[place - 1], found[place])]
    kept = sorted(found, key=lambda each: -each.continuous_a)[:most]
    return [each for each in found if each in kept]


def _joined(first: UseAtMost, second: UseAtMost) -> UseAtMost:
    lesser = min(first, second, key=lambda each: each.continuous_a)
    return replace(
        lesser, low_c=first.low_c, high_c=second.high_c, motor_w=less_motor(first.motor_w, second.motor_w)
    )
