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
from verifier.words import digits, span, temperatures


def measured(report: Report) -> str:
    """Return the capacity with how it is known: as measured, else by the datasheets as far as granted."""
    seen = report.case.observed
    if seen.capacity_ah is not None:
        conditions = [
            *([] if seen.capacity_current_a is None else [span(seen.capacity_current_a, "A")]),
            *(
                []
                if seen.capacity_temperature_c is None
                else [temperatures(seen.capacity_temperature_c.low, seen.capacity_temperature_c.high)]
            ),
        ]
        return f"{span(seen.capacity_ah, 'Ah')} measured" + (
            f" ({', '.join(conditions)})" if conditions else ""
        )
    capacity = report.finding("capacity")
    if not report.grants(capacity):
        return "capacity not known"
    return f"{digits(down(capacity.supported.low))} Ah or more by its datasheet, not measured"


def charging(report: Report) -> str:
    """Return the charger's voltage, the most current and from where on, as far as each of them is granted."""
    if report.answer.alarms:
        return "do not charge until the alarm is dealt with"
    voltage, current = report.finding("charge_voltage"), report.finding("charge_current")
    if not report.grants(voltage) or not voltage.supported.exact:
        return "charger not known: ask before charging"
    parts = [f"{span(voltage.supported, 'V')}"]
    bands = [each for each in current.by_temperature if each.supported.low > 0]
    if report.grants(current) and bands:
        most = report.limits.number("reserve") * current.supported.low
        parts.append(f"at most {digits(down(most))} A")
        parts.append(f"from {temperatures(*_from_to(bands))}")
    else:
        parts.append("its most current is not known")
    return ", ".join(parts)


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
