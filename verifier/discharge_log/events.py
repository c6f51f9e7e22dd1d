"""What stands beside the discharges: rests, pulses, groups over the log."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import inf

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.drift import DAY_S, drifts
from verifier.discharge_log.model import (
    Flow,
    GroupOfLog,
    Pulse,
    Rest,
)
from verifier.discharge_log.streamed import Streamed
from verifier.discharge_log.stretches import Stretch

Array = npt.NDArray[np.float64]

PULSE_S, PULSE_PART = 120.0, 0.05
# Of the peak: what a current must change by to be another one; with more of them, none of them stands.
_ANOTHER_LEVEL, _MOST_LEVELS = 0.1, 6
RESTED_MIN = 60.0
"""After an hour without current a voltage is taken for that at rest. Common practice, no source."""


def rest_of(stretch: Stretch, first_s: float) -> Rest:
    """Return a rest: its voltages, how far the groups stand apart, and their drift where it is long."""
    spread = None
    if len(stretch.last_groups) > 1 and np.isfinite(stretch.last_groups).all():
        spread = 1000 * float(np.ptp(stretch.last_groups))
    drift = None
    if stretch.settled_v is not None and stretch.end_s - stretch.settled_s >= DAY_S / 2:
        drift = 1000 * (stretch.last_v - stretch.settled_v) / ((stretch.end_s - stretch.settled_s) / DAY_S)
    first_v, begin_s, open_s, open_v = stretch.first_v, stretch.begin_s, None, None
    if stretch.closed_again is not None:
        again = stretch.closed_again
        first_v, begin_s, open_v = again.after_v, again.seconds, again.open_v
        open_s = again.seconds - stretch.begin_s
    minutes = (stretch.end_s - begin_s) / 60
    return Rest(
        first_v, stretch.last_v, minutes, (begin_s - first_s) / 60, spread, drift, open_s, open_v,
        # It may have begun and ended between two rows.
        minutes + stretch.usual_s / 60 >= RESTED_MIN,
        inf if stretch.breaks else stretch.longest_wait_s,
    )  # fmt: skip


def pulses_of(found: Streamed, number: int, stretch: Stretch, first_s: float) -> list[Pulse]:
    """Return a stretch too short for a discharge or charge as pulses: each current that stood, on its own.

    One whose current never stands is a single pulse of its mean, with the peak beside it.
    """
    kind = found.kinds[number]
    before_v = stretch.before_v if stretch.before_v is not None else stretch.first_v
    rows = stretch.curve.all() if stretch.curve is not None else np.zeros((0, 4))
    amps = rows[:, 3]
    new = np.flatnonzero(np.abs(np.diff(amps)) > _ANOTHER_LEVEL * stretch.peak_a) + 1
    if not 0 < len(new) < _MOST_LEVELS:
        mean = stretch.charge_as / stretch.flow_s if stretch.flow_s else stretch.peak_a
        extreme = stretch.low_v if kind == "discharge" else stretch.high_v
        at = (stretch.begin_s - first_s) / 60
        return [Pulse(kind, mean, stretch.flow_s, at, before_v, extreme, stretch.peak_a)]
    seconds, volts = rows[:, 0], rows[:, 2]
    # A current set in between two rows; what the edges stand for is as in the sum over all rows.
    edge = max(stretch.flow_s - stretch.seconds, 0.0) / 2
    bounds = [seconds[0] - edge, *((seconds[new] + seconds[new - 1]) / 2), seconds[-1] + edge]
    told = []
    for place, (first, after) in enumerate(pairwise([0, *new, len(rows)])):
        part = slice(first, after)
        extreme = volts[part].min() if kind == "discharge" else volts[part].max()
        told.append(
            Pulse(
                kind, float(amps[part].mean()), float(bounds[place + 1] - bounds[place]),
                float(seconds[first] - first_s) / 60, float(volts[first - 1]) if first else before_v, float(extreme),
                float(amps[part].max()),
            )
        )  # fmt: skip
    return told


def pulses_within(found: Streamed, outside: Sequence[Pulse], first_s: float) -> list[Pulse]:
    """Return pulses on top of a current that flows: a step up and back within two minutes."""
    told = []
    taken = [each.at_minute for each in outside]
    for up, down in zip(found.steps, found.steps[1:], strict=False):
        rise = up.to_a - up.before_a
        lasts = down.seconds - up.seconds
        back = abs(down.to_a - up.before_a) < 0.2 * abs(rise)
        if not back or lasts > PULSE_S or abs(up.to_a) <= abs(up.before_a):
            continue
        at = (up.seconds - first_s) / 60
        if any(abs(at - each) < 0.02 for each in taken):
            continue
        kind = found.kind_at(up.seconds + lasts / 2)
        if kind:
            told.append(Pulse(kind, abs(up.to_a), lasts, at, up.before_v, down.before_v, abs(up.to_a)))
    return told[:500]


def groups_of_log(found: Streamed, discharges: Sequence[Flow]) -> tuple[GroupOfLog, ...]:
    """Return every group over the longest discharge, else over the whole log."""
    count = len(found.stretches[0].first_groups) if found.stretches else 0
    if count < 2:
        return ()
    longest = max((each for each in discharges if each.groups), key=lambda each: each.ah, default=None)
    drifting = drifts(found)
    if longest is not None:
        return tuple(
            GroupOfLog(
                each.group, each.start_v, each.end_v, each.lowest_v, each.group == longest.first_group,
                each.below_mean_mv, each.left_ah, drifting[each.group - 1],
            )
            for each in longest.groups
        )  # fmt: skip
    first, last = found.stretches[0].first_groups, found.stretches[-1].last_groups
    low = np.fmin.reduce([each.low_groups for each in found.stretches], axis=0)
    return tuple(
        GroupOfLog(
            n + 1, float(first[n]), float(last[n]), float(low[n]), ends_first=False, left_ah=None,
            below_mean_mv=1000 * float(np.mean(last) - last[n]), drift_mv_per_day=drifting[n],
        )
        for n in range(count)
    )  # fmt: skip
