"""Which way the current flows: a discharge lowers the voltage, whatever sign or word the log gives it."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.discharge_log.steps import Step
from verifier.discharge_log.stretches import Stretch

_SURE = 0.6
_TREND = 0.02


def positive_is_charge(stretches: Sequence[Stretch], steps: Sequence[Step]) -> bool | None:
    """Return whether a current written positive charges; None where the log has one sign only."""
    ways = {each.way for each in stretches if each.way}
    if len(ways) < 2:
        return None
    score = weight = 0.0
    for step in steps:
        rise = step.after[0].volts - step.before_v
        change = step.to_a - step.before_a
        if rise:
            score += abs(change) * (1 if rise * change > 0 else -1)
            weight += abs(change)
    if weight and abs(score) > _SURE * weight:
        return score > 0
    trend = sum(each.way * (each.last_v - each.first_v) for each in stretches if each.way and each.rows > 4)
    return trend > 0 if trend else None


def charges(stretch: Stretch) -> bool | None:
    """Return whether a stretch charges by its own voltage, None where it does not tell."""
    trend = (stretch.last_v - stretch.first_v) / max(abs(stretch.first_v), 1e-9)
    opening = None if stretch.before_v is None else stretch.first_v - stretch.before_v
    closing = None if stretch.after_v is None else stretch.last_v - stretch.after_v
    if abs(trend) > _TREND:
        return trend > 0
    votes = sum((each > 0) - (each < 0) for each in (opening, closing, trend) if each is not None)
    return None if votes == 0 else votes > 0


def sort_out(
    stretches: Sequence[Stretch], steps: Sequence[Step], place: str
) -> tuple[dict[int, str], list[str]]:
    """Return for each stretch with current, by its place in the list, charge or discharge, and remarks.

    Parameters
    ----------
    stretches : sequence of Stretch
    steps : sequence of Step
    place : str
        The name of the log, for remarks.
    """
    remarks: list[str] = []
    convention = positive_is_charge(stretches, steps)
    kinds: dict[int, str] = {}
    against = []
    for number, each in enumerate(stretches):
        if not each.way:
            continue
        own = charges(each)
        if convention is None:
            if own is None:
                remarks.append(
                    f"nothing tells which way the current flows from row {each.first_row} on: "
                    f"taken as a discharge"
                )
            kinds[number] = "charge" if own else "discharge"
            continue
        by_sign = (each.way > 0) == convention
        kinds[number] = "charge" if by_sign else "discharge"
        trend = (each.last_v - each.first_v) / max(abs(each.first_v), 1e-9)
        if abs(trend) > 0.05 and (trend > 0) != by_sign and each.seconds > 300:
            against.append(each)
    for each in against[:3]:
        remarks.append(
            f"from row {each.first_row} to {each.last_row} the voltage goes from {each.first_v:.4g} to "
            f"{each.last_v:.4g} V against the sign of the current"
        )
    return kinds, remarks
