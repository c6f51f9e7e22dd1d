"""Where a discharge falls off, and what ended it: the tester, the BMS, or one group that was empty.

Told from what the voltage does when the current stops. A BMS that opens leaves nothing at the terminals;
a tester that stops lets the voltage come back. Common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.bms_reports import AtEnd
from verifier.discharge_log.model import Flow, Knee
from verifier.discharge_log.stretches import Stretch

Array = npt.NDArray[np.float64]

TESTER, BMS, END_OF_LOG, NOT_KNOWN, CHARGER = "tester", "bms", "end of log", "not known", "charger"

LOWEST_CELL = "lowest cell"
"""What ended it where a log names no group, only the voltage of the lowest cell."""
_POINTS = 200
_STEEPER = 3.0
_COLLAPSED = 0.5
# A group this far below the others ends the pack before they are empty. Common practice, no source.
_APART_V = 0.10


@dataclass(frozen=True, slots=True)
class Ending:
    """What ended a flow, how that is known, the last voltage under it, and the cut-off where one is told.

    ``unexplained``: a switch of the BMS went off, and nothing says that it protected from anything.
    """

    by: str
    how: str
    end_v: float
    cutoff_v: float | None = None
    unexplained: bool = False


def as_the_bms_says(end: Ending, said: AtEnd) -> Ending:
    """Return what ended a flow, with what the BMS itself reported then: a switch that went off is why.

    One that stayed on is not, and a BMS that protects without a switch in the log has opened one.
    """
    if said.tester_stopped and end.by == NOT_KNOWN:
        how = f"the instrument itself {end.how}: {said.tester_stopped}"
        return Ending(TESTER, how, end.end_v, end.cutoff_v)
    words = ", ".join(filter(None, (said.went_off or said.stayed_on, *said.protects, *said.warns)))
    if said.went_off or (said.protects and not said.stayed_on):
        if end.by.startswith(BMS):
            return Ending(end.by, f"{end.how}; {words}", end.end_v)
        if end.by.startswith(("group ", LOWEST_CELL)):
            return Ending(f"{BMS} ({end.by})", f"the BMS opened: {words}; {end.how}", end.end_v)
        if said.protects:
            return Ending(BMS, f"the BMS opened at {end.end_v:.4g} V: {words}", end.end_v)
        how = f"the BMS opened at {end.end_v:.4g} V: {words}, and reported nothing that it protected from"
        return Ending(BMS, how, end.end_v, unexplained=True)
    if not words:
        return end
    if end.by.startswith(BMS) and said.stayed_on:
        # The terminals were let go elsewhere, such as at a plug.
        return Ending(NOT_KNOWN, f"{end.how.removesuffix(': the BMS opened')}, yet {words}", end.end_v)
    return Ending(end.by, f"{end.how}; {words}", end.end_v, end.cutoff_v)


def was_emptied(flow: Flow) -> bool:
    """Whether a discharge went on until the pack gave no more: past the knee, or one group was empty."""
    return flow.knee is not None or "group " in flow.ended_by or LOWEST_CELL in flow.ended_by


def knee_of(passed_ah: Array, volts: Array) -> Knee | None:
    """Return where the voltage begins to fall off: the point farthest from the line from half way to the end.

    There is one only where the voltage falls at the end three times as fast as in the middle.

    Parameters
    ----------
    passed_ah, volts : array of shape (n_rows,)
        Delivered since the beginning, and voltage under load.
    """
    if len(passed_ah) < 20 or passed_ah[-1] <= passed_ah[0]:
        return None
    order = np.maximum.accumulate(passed_ah)
    grid = np.linspace(order[0], order[-1], _POINTS + 1)
    level = np.interp(grid, order, volts)
    half = _POINTS // 2
    middle = (level[_POINTS // 4] - level[3 * _POINTS // 4]) / half
    at_end = (level[-1 - _POINTS // 40] - level[-1]) / (_POINTS // 40)
    if at_end < _STEEPER * max(middle, 1e-6 * float(level[0])):
        return None
    line = np.linspace(level[half], level[-1], _POINTS + 1 - half)
    place = half + int(np.argmax(level[half:] - line))
    if level[place] - level[-1] < 0.02 * level[place]:
        return None
    total = float(order[-1] - order[0])
    return Knee(
        float(grid[place] - order[0]), float(level[place]), 100 * float(grid[place] - order[0]) / total
    )


def ending_of_discharge(flow: Stretch, after: Stretch | None, knee: Knee | None) -> Ending:
    """Return what ended a discharge.

    Parameters
    ----------
    flow : Stretch
    after : Stretch or None
        What follows it in the log without a break.
    knee : Knee or None
    """
    tail = [volts for _, volts in flow.tail]
    end_v, collapsed_inside = flow.last_v, False
    if len(tail) > 1 and tail[-1] < 0.75 * tail[-2]:
        end_v, collapsed_inside = tail[-2], True
    then = min(
        (each for each in (flow.after_v, after.low_v if after is not None else None) if each is not None),
        default=None,
    )
    empty = _empty_group(flow) or _empty_cell(flow)
    if collapsed_inside or (then is not None and then < _COLLAPSED * end_v):
        left = tail[-1] if then is None else then
        how = f"the voltage fell from {end_v:.4g} to {left:.3g} V as the current stopped: the BMS opened"
        if after is not None and after.closed_again is not None:
            again = after.closed_again
            how += f", and closed again {again.seconds - flow.end_s:.0f} s later at {again.after_v:.4g} V"
        if empty is None:
            return Ending(BMS, how, end_v)
        return Ending(f"{BMS} ({empty[0]})", f"{how}, {empty[0]} {empty[1]}", end_v)
    if empty is not None:
        return Ending(empty[0], f"{empty[0]} was {empty[1]}", end_v)
    rounds = _round_voltages(flow)
    # No rounder voltage is claimed than the rows allow: of two, nobody knows which was set.
    cutoff = rounds[0] if len(rounds) == 1 else None
    if flow.after_v is None:
        if knee is not None and rounds:
            at = f"{cutoff:g}" if cutoff is not None else f"{end_v:.4g}"
            return Ending(TESTER, f"the log ends as the voltage reaches {at} V", end_v, cutoff)
        return Ending(END_OF_LOG, "the log ends while the current still flows", end_v)
    back = flow.after_v if after is None else max(flow.after_v, after.high_v)
    if knee is not None:
        # What fell on after the last row was cut off further down.
        cutoff = cutoff if back > end_v or cutoff is None or cutoff <= end_v else None
        at = f"at its cut-off of {cutoff:g} V" if cutoff is not None else f"at {end_v:.4g} V"
        # It may fall on until the next row, where it falls off steeply.
        then_v = f"came back to {back:.4g} V" if back > end_v else f"stayed at {back:.4g} V, so no BMS opened"
        return Ending(TESTER, f"stopped {at}, past the knee; the voltage {then_v}", end_v, cutoff)
    return Ending(NOT_KNOWN, f"stopped at {end_v:.4g} V before the voltage fell off", end_v)


def _empty_group(flow: Stretch) -> tuple[str, str] | None:
    """Return the group that was empty when the others were not, and how far it was down."""
    groups = flow.last_groups
    if len(groups) < 2 or not np.isfinite(groups).all():
        return None
    lowest, mean = int(np.argmin(groups)), float(np.mean(groups))
    others = float(np.mean(np.delete(groups, lowest)))
    # A group is empty where it stands at the foot of its curve.
    if groups[lowest] <= _foot(mean, float(np.max(flow.first_groups))) and others - groups[lowest] > _APART_V:
        return (
            f"group {lowest + 1}",
            f"down to {float(groups[lowest]):.3f} V while the mean of all was {mean:.3f} V",
        )
    return None


def _empty_cell(flow: Stretch) -> tuple[str, str] | None:
    """Return that the lowest cell was empty when others were not, and how far it was down."""
    if len(flow.last_apart) < 2 or not np.isfinite(flow.last_apart).all():
        return None
    lowest, beside = map(float, flow.last_apart)
    if lowest > _foot(beside, float(np.max(flow.first_apart))) or beside - lowest <= _APART_V:
        return None
    return LOWEST_CELL, f"down to {lowest:.3f} V while others were at {beside:.3f} V"


def _foot(others_v: float, first_v: float) -> float:
    """Return the voltage at which a cell is empty, by that of the others at the end and the highest at the beginning.

    3.0 V, iron phosphate 2.6 V. Common practice, no source.
    """
    return 2.6 if others_v < 3.25 and first_v < 3.65 else 3.05


def _round_voltages(flow: Stretch) -> list[float]:
    """Return the voltages, the roundest that are possible or all as round, that may have been the cut-off.

    Between the last two rows of a discharge the voltage crosses many, and where the last row was written before the
    tester stopped, some more until the next row would have come. Of those a whole or half volt is what people set; else
    a tenth or a quarter of those that were crossed, and which of several was set nothing tells.
    """
    tail = [volts for _, volts in flow.tail]
    last = tail[-1]
    off = _METER_OFF * last
    before = max(tail[-2] if len(tail) > 1 else last, last)
    on_it = _multiples((0.5,), last - off, last + off)
    halves = on_it or _multiples((0.5,), last - (before - last) - off, before + off)
    if halves:
        return halves
    levels: tuple[tuple[float, ...], ...] = ((0.25, 0.1),) if last > 5 else ((0.25, 0.1), (0.05,))
    crossed = (_multiples(steps, last - off, before + off) for steps in levels)
    return next(filter(None, crossed), [])


def _multiples(steps: tuple[float, ...], low: float, high: float) -> list[float]:
    """Return what is a whole number of times any of some steps from one voltage to another."""
    return sorted(
        {
            round(number * step, 3)
            for step in steps
            for number in range(ceil(low / step), floor(high / step) + 1)
        }
    )


_METER_OFF = 0.0005
"""How far what is shown in the last rows may be off what the tester stopped at, of the voltage."""


def ending_of_charge(flow: Stretch, last_a: float) -> Ending:
    """Return what ended a charge: the charger when its current had fallen, a full group, or nothing known."""
    end_v = flow.last_v
    if last_a < 0.3 * flow.peak_a:
        return Ending(CHARGER, f"the current had fallen to {last_a:.3g} A at {end_v:.4g} V", end_v)
    groups = flow.last_groups
    if len(groups) > 1 and float(np.max(groups)) - float(np.mean(groups)) > _APART_V:
        number = int(np.argmax(groups)) + 1
        return Ending(
            f"group {number}",
            f"group {number} was at {float(np.max(groups)):.3f} V, the mean at "
            f"{float(np.mean(groups)):.3f} V",
            end_v,
        )
    if flow.after_v is None:
        return Ending(END_OF_LOG, "the log ends while the current still flows", end_v)
    return Ending(NOT_KNOWN, f"stopped at {last_a:.3g} A and {end_v:.4g} V, before the current fell", end_v)
