"""The dc resistance that steps of the current show, each with the seconds that its load stood."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import isfinite, log
from statistics import median

import numpy as np

from verifier.discharge_log.endings import was_emptied
from verifier.discharge_log.layout import Layout
from verifier.discharge_log.model import Flow, GroupOfLog, Resistance
from verifier.discharge_log.steps import AFTER_S, After, Step
from verifier.discharge_log.streamed import Streamed

IEC = "IEC 61960-3: 0.2 It for 10 s, then 1 It for 1 s"

TO_REST = "step to rest"
_MOST_RESISTANCES = 120
# Stands for a step at the end of a discharge of which nothing can be told.
_OFF_THE_END = Resistance(
    0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, "", charge_taken_off=False, near_empty=True
)  # fmt: skip
# Of what a rest lifts the voltage by, near empty: so much may have been lost between two rows.
_MOST_UNSEEN = 0.2
# A voltage that more than halves is a BMS that opens or closes. Common practice, no source.
_COLLAPSED = 0.5
# What the cells still answer to from before a step hides R(n t + t) - R(n t) of what the step does in t, after
# n times as long. For n = 3 that is 4 % of the part that grows where it grows as 1 - exp(-t / t_0), t = t_0, but
# 37 % for n = 1.
_SETTLED_TIMES = 3.0
# Below this part the fall of charge is left in, as the standard's own 10 s leave it in.
_LEAST_OF_CHARGE = 0.05
# A fall of charge that is not known is worth a word from here on.
_LONG_S = 15.0
# Where the voltage moves from the first to the third minute by this much more than it does further on, as in the first
# percent of a full cell of iron phosphate or of an empty one, the charge may have moved it by more still before.
_STEEPER = 2.5
# So much more in the seconds before the first minute than from the first to the third, as in iron phosphate's fall.
_STEEPER_AT_FIRST = 3.0
# Where the charge may have done more than this part, what is left is no resistance that anybody can use.
_MOST_OF_CHARGE = 0.12
# What did not come back after a load was seen, not inferred: more of it may be taken off.
_MOST_NOT_BACK = 0.25
# Further on: so much of what flows there after the step.
_FURTHER_ON = (0.04, 0.12)
# Of groups: by how little they may move, and how far their sum may lie from the pack's movement.
_LEAST_MOVED_V, _GROUPS_APART = 0.010, 0.2
_USUAL_S = 10.0
# A group of so many times the middle resistance stands out. Common practice, no source.
_STANDS_OUT = 1.5
# Without a knee, the last part of a discharge that a group ended.
_LAST_PART = 0.95


def resistances(found: Streamed, discharges: Sequence[Flow], first_s: float) -> tuple[Resistance, ...]:
    """Return the dc resistance that each step shows after its seconds; of very many steps the largest.

    Parameters
    ----------
    found : Streamed
    discharges : sequence of Flow
        Those of the log, which tell from where on it is near empty.
    first_s : float
        When the log begins.
    """
    told: list[Resistance] = []
    steep: list[tuple[float, float]] = []
    off_the_end: list[float] = []
    for number, step in enumerate(found.steps):
        times = _STEEPER_AT_FIRST if _times_steeper(found, step) > _STEEPER else 1.0
        for after, each in _of_step(found, number, times, discharges, first_s):
            if each is None:
                steep.append(((step.seconds - first_s) / 60, after.seconds))
            elif each is _OFF_THE_END:
                off_the_end.append((step.seconds - first_s) / 60)
            else:
                told.append(each)
    if steep:
        found.remarks.append(_left_out(steep))
    if off_the_end and not told:
        found.remarks.append(
            f"no resistance is told of the step at minute {off_the_end[0]:.3g}, where the load ends: the cells fall "
            "off there, and how far the voltage still fell after the last row under load is not known"
        )
    if len(told) > _MOST_RESISTANCES:
        left = len(told) - _MOST_RESISTANCES
        largest = sorted(told, key=lambda each: (each.method != IEC, -abs(each.current_a - each.from_a)))
        told = sorted(largest[:_MOST_RESISTANCES], key=lambda each: each.at_minute)
        found.remarks.append(f"{left} resistances from smaller steps are left out")
    apart = max((each.seconds_most - each.seconds for each in told), default=0.0)
    if apart >= 2:
        found.remarks.append(
            f"rows stand up to {apart:.3g} s apart where the current steps, and it steps anywhere between two "
            "of them: each resistance is told with the least and the most seconds that it may be of"
        )
    if not told and not steep and not off_the_end and len(found.steps) > 1:
        found.remarks.append(
            f"the current steps {len(found.steps)} times, but nowhere does it stand still long enough before and "
            "after to tell a resistance"
        )
    return tuple(told)


def _of_step(
    found: Streamed, number: int, times: float, discharges: Sequence[Flow], first_s: float
) -> Iterator[tuple[After, Resistance | None]]:
    """Yield what a step shows after each of its seconds; None where the charge may have done too much of it.

    ``times`` is how many times as steeply as from the first to the third minute the charge may move the voltage before.
    """
    step = found.steps[number]
    at_ah = _delivered_before(found, step.seconds)
    near_empty = _near_empty(found, discharges, step.seconds, at_ah, first_s)
    for after in step.after:
        rise, change = after.volts - step.before_v, after.amps - step.before_a
        if not _is_resistance(found, step, after) or not _had_settled(step, after):
            continue
        if near_empty and _method(step) == TO_REST and abs(step.unseen_v) > _MOST_UNSEEN * abs(rise):
            # An empty cell falls faster and faster: what it fell after the last row with current is not bounded.
            yield after, _OFF_THE_END
            continue
        whole = 1000 * abs(rise / change)
        most = 1000 * max(abs(rise), abs(rise - step.unseen_v)) / abs(change)
        part = _part_of_charge(step, after, rise, times)
        if part is not None and part > _MOST_OF_CHARGE and times > 1:
            yield after, None
            continue
        yield after, Resistance(
            whole * (1 - (part or 0.0)), most, after.seconds, after.seconds_most, abs(after.amps),
            abs(step.before_a), at_ah, (step.seconds - first_s) / 60,
            IEC if _is_iec_pair(found, step, after) else _method(step), part is not None,
            near_empty,
            _cell_c(found.layout, step.temperature_c), _of_groups(step, after),
        )  # fmt: skip


def _of_groups(step: Step, after: After) -> tuple[float, ...]:
    """Return how far each group moved over the step of the current; none where that tells nothing. [mohm].

    An app that asks the groups less often than the pack tells none, nor does a movement of a few last digits.
    """
    moved = np.array(after.groups_v) - np.array(step.groups_v)
    pack = after.volts - step.before_v
    if len(moved) < 2 or not np.isfinite(moved).all() or np.median(np.abs(moved)) < _LEAST_MOVED_V:
        return ()
    if abs(float(moved.sum()) - pack) > _GROUPS_APART * abs(pack):
        return ()
    return tuple(float(each) for each in 1000 * np.abs(moved) / abs(after.amps - step.before_a))


def with_resistance(groups: Sequence[GroupOfLog], told: Sequence[Resistance]) -> tuple[GroupOfLog, ...]:
    """Return the groups with the resistance that the step nearest to ten seconds tells of each, away from empty."""
    of_groups = [each for each in told if each.groups_mohm and not each.near_empty]
    best = min(
        of_groups,
        key=lambda each: (abs(log(each.seconds / _USUAL_S)), -abs(each.current_a - each.from_a)),
        default=None,
    )
    if best is None or len(best.groups_mohm) != len(groups):
        return tuple(groups)
    return tuple(
        replace(each, mohm=mohm, mohm_seconds=best.seconds)
        for each, mohm in zip(groups, best.groups_mohm, strict=True)
    )


def of_groups_that_stand_out(groups: Sequence[GroupOfLog]) -> list[str]:
    """Return which groups resist far more than the middle of all."""
    known = [(each.group, each.mohm) for each in groups if each.mohm is not None]
    if not known:
        return []
    middle = median(mohm for _, mohm in known)
    return [
        f"group {group} resists {mohm / middle:.2g} times as much as the middle of all, {mohm:.3g} mohm after "
        f"{groups[0].mohm_seconds:.3g} s: cells that have worn or come off, or a weld or link where the BMS measures"
        for group, mohm in known
        if mohm > _STANDS_OUT * middle
    ]


def _left_out(steep: Sequence[tuple[float, float]]) -> str:
    """Return which resistances are not told, each by its minute and its seconds, and why."""
    moments = sorted({round(minute, 1) for minute, _ in steep})
    near = {min(AFTER_S, key=lambda each: abs(each / seconds - 1)) for _, seconds in steep}
    after = " and ".join(f"{each:g}" for each in sorted(near))
    steps = f"the step at minute {moments[0]:g}"
    if len(moments) > 1:
        steps = f"{len(moments)} steps (the first at minute {moments[0]:g})"
    return (
        f"no resistance after about {after} s is told of {steps}: the voltage moves there more than {_STEEPER:g} times "
        "as steeply as further on, and how much of that is the charge's cannot be told"
    )


def _times_steeper(found: Streamed, step: Step) -> float:
    """Return how many times as steeply a charge moves the voltage after a step as it does further on; 1 if unknown."""
    stretch = found.stretch_at(step.seconds_after)
    if step.slope_v_per_s is None or stretch is None or stretch.curve is None or not step.to_a:
        return 1.0
    curve = stretch.curve.all()
    passed = np.abs(curve[:, 1] - np.interp(step.seconds, curve[:, 0], curve[:, 1]))
    total = float(passed[-1])
    low, high = (part * total for part in _FURTHER_ON)
    steady = np.abs(curve[:, 3] - abs(step.to_a)) < 0.1 * abs(step.to_a)
    there = (curve[:, 0] > step.seconds) & (passed >= low) & (passed <= high)
    if there.sum() < 5 or not steady[there].all():
        return 1.0
    further = float(np.polyfit(passed[there], curve[there, 2], 1)[0])
    here = step.slope_v_per_s / abs(step.to_a)
    # A plateau moves so little that noise is all there is: its own steps bound it from below.
    return (
        abs(here) / max(abs(further), 1e-9)
        if here * further > 0 or abs(further) < abs(here) / _STEEPER
        else 1.0
    )


def _method(step: Step) -> str:
    if abs(step.before_a) < 0.05 * abs(step.to_a):
        return "step from rest"
    return TO_REST if abs(step.to_a) < 0.05 * abs(step.before_a) else "step of the current"


def _is_resistance(found: Streamed, step: Step, after: After) -> bool:
    """Whether the voltage moved the way a resistance moves it: down as more is drawn, and by a part only."""
    rise, change = after.volts - step.before_v, after.amps - step.before_a
    lower, higher = sorted((after.volts, step.before_v))
    if not change or lower < _COLLAPSED * higher:
        return False
    sign = found.sign_of_discharge(step.seconds) or found.sign_of_discharge(step.seconds + after.seconds_most)
    return rise * change * sign < 0 if sign else rise != 0


def _had_settled(step: Step, after: After) -> bool:
    """Whether what went before a step had stood so long that it no longer hides part of the answer.

    A log that begins at rest is taken to have rested long before.
    """
    surely, most = step.held_s
    rested = abs(step.before_a) < 0.05 * abs(step.to_a) and not isfinite(most)
    return rested or surely >= _SETTLED_TIMES * after.seconds


def _part_of_charge(step: Step, after: After, rise: float, times: float) -> float | None:
    """Return the part of a movement of the voltage that is the charge's at most; None where that cannot be told.

    It is the time that the current stood, by how fast the voltage goes on moving from the first to the third minute:
    the most that the charge can do as long as the curve of the cells runs straight, and ``times`` as much where it does
    not. After a shorter load it is what the voltage did not come back by. At rest nothing flows, and a small part is
    left in.
    """
    if abs(step.to_a) < 0.05 * abs(step.before_a):
        return 0.0
    grows = abs(step.to_a) > abs(step.before_a) or step.to_a * step.before_a < 0
    if step.slope_v_per_s is not None and grows:
        seconds = after.seconds if times == 1 else after.seconds_most
        part = times * seconds * step.slope_v_per_s / rise
        return part if _LEAST_OF_CHARGE < part < 1 or (times > 1 and part >= 1) else 0.0
    if step.back is not None and grows:
        back_v, held_s = step.back
        # Of that no more went in the first seconds than the curve may run steeper there.
        early = min(_STEEPER_AT_FIRST * after.seconds_most / held_s, 1.0)
        part = early * (back_v - step.before_v) / rise
        if part <= _MOST_NOT_BACK:
            return part if part > _LEAST_OF_CHARGE else 0.0
        return None
    return 0.0 if after.seconds_most <= _LONG_S else None


def _near_empty(
    found: Streamed, discharges: Sequence[Flow], seconds: float, at_ah: float, first_s: float
) -> bool:
    """Whether a moment lies past the knee of the discharge that began last."""
    begun = [each for each in discharges if first_s + 60 * each.at_minute <= seconds]
    if not begun or not was_emptied(begun[-1]):
        return False
    flow = begun[-1]
    knee_ah = flow.knee.ah if flow.knee is not None else _LAST_PART * flow.ah
    return at_ah >= _delivered_before(found, first_s + 60 * flow.at_minute) + knee_ah


def _is_iec_pair(found: Streamed, step: Step, after: After) -> bool:
    """Whether a step is the second of the standard's two: five times the current after ten seconds, for one.

    Rows so far apart that the ten seconds may be three, or the one none, claim no standard.
    """
    if not step.before_a or step.to_a * step.before_a <= 0:
        return False
    surely, most = step.held_s
    ten, one = surely >= 8 and most <= 13, after.seconds >= 0.5 and after.seconds_most <= 2
    five = 4.5 <= step.to_a / step.before_a <= 5.5
    return five and ten and one and found.kind_at(step.seconds) == "discharge"


def _delivered_before(found: Streamed, seconds: float) -> float:
    """Return what was delivered since the last charge that counts, up to a moment. [Ah]."""
    largest = max((each.charge_as for each in found.stretches if each.way), default=0.0)
    total = 0.0
    for number, kind in found.kinds.items():
        stretch = found.stretches[number]
        if stretch.begin_s > seconds:
            break
        if kind == "charge":
            total = 0.0 if stretch.charge_as > 0.1 * largest else total - stretch.charge_as
            continue
        if stretch.end_s <= seconds or stretch.curve is None:
            total += stretch.charge_as - stretch.returned_as
            continue
        curve = stretch.curve.all()
        total += float(np.interp(seconds, curve[:, 0], curve[:, 1]) - curve[0, 1])
    return max(total, 0.0) / 3600


def _cell_c(layout: Layout, temperatures: Sequence[float]) -> float | None:
    cells = [
        value
        for value, each in zip(temperatures, layout.temperatures, strict=False)
        if each.about != "air" and isfinite(value)
    ]
    return max(cells, default=None)
