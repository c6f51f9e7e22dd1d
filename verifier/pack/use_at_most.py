"""What to draw from one pack at most, with reserve, band by band inside the air of use."""

from __future__ import annotations

from dataclasses import dataclass, replace

from verifier.bounds import down
from verifier.case_facts import CaseFacts
from verifier.facts import vouched_for
from verifier.finding import ELEMENTS
from verifier.pack.current import pack_current, sure_limit
from verifier.pack.power import load_power

_ROOM_C = 20.0


@dataclass(frozen=True, slots=True)
class UseAtMost:
    """What to draw at most over a range of temperatures, with reserve, and the part that limits."""

    low_c: float
    high_c: float
    continuous_a: float
    motor_w: float | None
    limited_by: str


def use_at_most(facts: CaseFacts) -> tuple[UseAtMost, ...]:
    """Return what to draw at most, band by band inside the air of use; nothing where nothing is granted."""
    reserve, air = facts.limits.number("reserve"), facts.air
    bands = [
        (max(low, air.low_c), min(high, air.high_c))
        for low, high in facts.cell.bands_c
        if max(low, air.low_c) < min(high, air.high_c)
        or (air.low_c == air.high_c and low <= air.low_c <= high)
    ]
    found: list[UseAtMost] = []
    for low_c, high_c in bands[:1] if air.low_c == air.high_c else bands:
        here = facts.in_air(low_c, high_c)
        current, _ = here.find(pack_current)
        if not vouched_for(current) or current.low <= 0:
            continue
        motor = here.find(load_power).low
        limited_by = ELEMENTS[here.find(sure_limit)]
        here_at_most = UseAtMost(
            low_c, high_c, down(reserve * current.low), down(reserve * motor) or None, limited_by
        )
        cooler = found[-1] if found and found[-1].high_c > _ROOM_C else None
        # Hotter air never lets more through: what limits at room temperature, limits above it, though a weaker
        # source that speaks of the hotter air alone may say otherwise.
        found.append(here_at_most if cooler is None else _no_more(here_at_most, cooler))
    return tuple(_joined(found))


def _no_more(hotter: UseAtMost, cooler: UseAtMost) -> UseAtMost:
    if hotter.continuous_a <= cooler.continuous_a:
        return hotter
    motor_w = less_motor(hotter.motor_w, cooler.motor_w)
    return replace(cooler, low_c=hotter.low_c, high_c=hotter.high_c, motor_w=motor_w)


def less_motor(one: float | None, other: float | None) -> float | None:
    """Return the lesser of two motors; none where one of them is not known. [W]."""
    return None if one is None or other is None else min(one, other)


def _joined(bands: list[UseAtMost]) -> list[UseAtMost]:
    """Return bands with neighbours that grant the same put together."""
    found: list[UseAtMost] = []
    for band in bands:
        last = found[-1] if found else None
        if last is not None and last.high_c == band.low_c and (last.continuous_a, last.limited_by) == (
            band.continuous_a, band.limited_by
        ):  # fmt: skip
            found[-1] = replace(last, high_c=band.high_c, motor_w=less_motor(last.motor_w, band.motor_w))
        else:
            found.append(band)
    return found
