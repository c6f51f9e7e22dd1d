"""What a pack may be used for, in the few lines of a hand-over sheet or a label: drawing, charging, measured.

Only what a report grants stands here. What is left out is not granted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from verifier.answer import UseAtMost, less_motor
from verifier.bounds import down
from verifier.case_report import Report
from verifier.finding import BandSupport
from verifier.words import ENGLISH, Language, digits, joined, span, temperatures

IN_USE = {
    "measured": "{capacity} measured",
    "measured_at": "{capacity} measured ({conditions})",
    "capacity_not_known": "capacity not known",
    "by_datasheet": "{capacity} Ah or more by its datasheet, not measured",
    "do_not_charge": "do not charge until the alarm is dealt with",
    "charger_not_known": "charger not known: ask before charging",
    "charge": "{volts}, at most {amps} A, from {air}",
    "charge_current_open": "{volts}, its most current is not known",
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


def charging(report: Report, language: Language = ENGLISH) -> str:
    """Return the charger's voltage, the most current and from where on, as far as each of them is granted."""
    if report.answer.alarms:
        return _say("do_not_charge", language)
    voltage, current = report.finding("charge_voltage"), report.finding("charge_current")
    if not report.grants(voltage) or not voltage.supported.exact:
        return _say("charger_not_known", language)
    volts = span(voltage.supported, "V", language)
    bands = [each for each in current.by_temperature if each.supported.low > 0]
    if not (report.grants(current) and bands):
        return _say("charge_current_open", language, volts=volts)
    most = digits(down(report.limits.number("reserve") * current.supported.low), language=language)
    return _say("charge", language, volts=volts, amps=most, air=temperatures(*_from_to(bands), language))


def _from_to(bands: Sequence[BandSupport]) -> tuple[float, float]:
    return min(each.low_c for each in bands), max(each.high_c for each in bands)


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
