"""What a pack may be used for, in the few lines of a hand-over sheet or a label: drawing, charging, measured.

Only what a report grants stands here. What is left out is not granted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from verifier.answer import UseAtMost, less_motor
from verifier.bounds import down
from verifier.case_report import Report
from verifier.finding import Finding
from verifier.verdict import at_most
from verifier.words import ENGLISH, Language, digits, joined, span, temperatures

IN_USE = {
    "measured": "{capacity} measured",
    "measured_at": "{capacity} measured ({conditions})",
    "capacity_not_known": "capacity not known",
    "by_datasheet": "{capacity} Ah or more by its datasheet, not measured",
    "do_not_charge": "do not charge until the alarm is dealt with",
    "charger_not_known": "charger not known: ask before charging",
    "charge": "{volts}, at most {amps} A, from {air}",
    "charge_current_open": "{volts}; how many amperes at most is not known",
    "charge_leads_open": "{volts}; how many amperes at most is not known before the charge leads are seen",
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


def charger_is_known(report: Report) -> bool:
    """Whether the voltage of the right charger is known and granted."""
    voltage = report.finding("charge_voltage")
    return report.grants(voltage) and voltage.supported.exact


def charging(report: Report, language: Language = ENGLISH) -> str:
    """Return the charger's voltage, the most current and from where on, as far as each of them is granted."""
    if report.answer.alarms:
        return _say("do_not_charge", language)
    if not charger_is_known(report):
        return _say("charger_not_known", language)
    volts = span(report.finding("charge_voltage").supported, "V", language)
    current = report.finding("charge_current")
    air = _granted_in(current) if report.grants(current) else None
    if air is None:
        leads = any(each.startswith("observed.charge_leads") for each in current.unknown)
        return _say("charge_leads_open" if leads else "charge_current_open", language, volts=volts)
    most = digits(down(report.limits.number("reserve") * current.supported.low), language=language)
    return _say("charge", language, volts=volts, amps=most, air=temperatures(*air, language))


def _granted_in(current: Finding) -> tuple[float, float] | None:
    """Return the air in which the pack surely takes the charge current that it is granted; none where it is nowhere.

    Bands of a datasheet that grant less, such as in the cold, are left out. [C]
    """
    enough = [each for each in current.by_temperature if at_most(current.supported.low, each.supported.low)]
    runs: list[tuple[float, float]] = []
    for band in enough:
        if runs and runs[-1][1] == band.low_c:
            runs[-1] = (runs[-1][0], band.high_c)
        else:
            runs.append((band.low_c, band.high_c))
    return max(runs, key=lambda run: run[1] - run[0], default=None)


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
