"""Steps of the current, and the dc resistance that each shows after some seconds.

IEC 61960-3 measures dc resistance by a discharge at 0.2 It for 10 s and then 1 It for 1 s:
(U1 - U2) / (I2 - I1). Any other step shows one as well, with its seconds: resistance grows with them.

A current that is there in one row and not in the row before set in anywhere between the two. So each
resistance has two ends of its seconds: how long the load surely stood, and how long it may have.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.stream import Rows

Array = npt.NDArray[np.float64]

AFTER_S = (1.0, 10.0, 60.0)
_SLOPE_FROM_S, _SLOPE_TO_S = 60.0, 180.0
_WINDOW_S = 200.0
_MOST_WINDOW_ROWS = 60_000
_MOST_STEPS = 4000
_LONGEST_WAIT_S = 120.0
_ROWS_BEFORE = 3
_BACK_TIMES, _BACK_S = 3.0, 60.0


@dataclass(frozen=True, slots=True)
class After:
    """What stands some time after a step: how long the current surely stood and may have, V, A, groups in V."""

    seconds: float
    seconds_most: float
    volts: float
    amps: float
    groups_v: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """A step of the current, as written: before and after it, and the voltage some seconds later.

    ``after`` is about 1, 10 and 60 s later, or the first row where there is none of these. ``held_s`` says
    between which ends the time lies that the current had stood before; the most is infinite where the log
    begins with it. ``slope_v_per_s`` is how fast the voltage moves from the first to the third minute, when
    little but the charge moves it; None where the current did not stand so long. ``unseen_v`` is by how much
    the voltage may have moved on with the old current between the last row before the step and the step.
    ``back`` is where the voltage came back to after a short load, once the old current had flowed again for three
    times as long and a minute at least, and for how long the load stood at most; None where it was not seen so long.
    ``groups_v`` are the groups before it, where the log has them.
    """

    row: int
    seconds: float
    before_v: float
    before_a: float
    to_a: float
    held_s: tuple[float, float]
    after: tuple[After, ...]
    temperature_c: tuple[float, ...] = ()
    slope_v_per_s: float | None = None
    unseen_v: float = 0.0
    back: tuple[float, float] | None = None
    groups_v: tuple[float, ...] = ()

    @property
    def seconds_after(self) -> float:
        """When the current surely stood at what it stepped to."""
        return self.seconds + self.after[0].seconds_most


class StepFinder:
    """Finds steps in rows as they come; ``found`` holds them."""

    def __init__(self, largest_a: float, noise_a: float) -> None:
        self.smallest_a = max(0.08 * largest_a, 4 * noise_a)
        self.found: list[Step] = []
        self.left_out = 0
        self.held: Rows | None = None
        self.done_s = -np.inf

    def feed(self, rows: Rows, *, last: bool = False) -> None:
        """Take in further rows; steps whose minute after is not there yet wait for the next."""
        if self.held is not None:
            rows = self.held.followed_by(rows)
        end_s = rows.seconds[-1]
        jumps = np.flatnonzero(np.abs(np.diff(rows.amps)) > self.smallest_a)
        for place in self._first_of_ramps(jumps, rows):
            at = float(rows.seconds[place])
            if at <= self.done_s:
                continue
            # Of a very fast log the rows kept are fewer than the window: they are judged as they are.
            if not last and end_s - at < _WINDOW_S and len(rows) - place < _MOST_WINDOW_ROWS // 2:
                break
            self.done_s = at
            self._judge(rows, int(place))
        # One row more, as it may stand for a long rest.
        keep = max(int(np.searchsorted(rows.seconds, end_s - 2.2 * _WINDOW_S)) - 1, 0)
        self.held = rows.part(max(keep, len(rows) - _MOST_WINDOW_ROWS), None)

    def end(self) -> list[Step]:
        """Return all steps, in their order."""
        if self.held is not None:
            self.feed(self.held.part(len(self.held), None), last=True)
        return self.found

    def _first_of_ramps(self, jumps: npt.NDArray[np.int_], rows: Rows) -> npt.NDArray[np.int_]:
        """Return the first row of each jump; rows that go on rising within two seconds are the same one."""
        if len(jumps) < 2:
            return jumps
        new = np.concatenate([[True], (np.diff(jumps) > 1) | (np.diff(rows.seconds[jumps]) > 2.0)])
        return np.asarray(jumps[new])

    def _judge(self, rows: Rows, place: int) -> None:
        """Take a step whose current stood still before and stands still after it."""
        seconds, amps = rows.seconds, rows.amps
        if not rows.known[place + 1] or seconds[place + 1] - seconds[place] > _LONGEST_WAIT_S:
            return
        before = float(amps[place])
        settled = self._settled(seconds, amps, place)
        if settled is None:
            return
        to = float(amps[settled])
        step = to - before
        if abs(step) < self.smallest_a or not self._held_before(seconds, amps, place, abs(step)):
            return
        still_until = self._still_until(rows, settled, abs(step))
        after = self._after(rows, place, settled, still_until)
        if not after:
            return
        if len(self.found) >= _MOST_STEPS:
            self.left_out += 1
            return
        self.found.append(
            Step(
                int(rows.row[place]), float(seconds[place]), float(rows.volts[place]), before, to,
                self._held(rows, place, abs(step)), after,
                _floats(rows.temperatures[place]),
                self._slope(rows, place, settled, still_until), self._unseen(rows, place, abs(step)),
                self._back(rows, place, still_until, abs(step)), _floats(rows.groups[place]),
            )
        )  # fmt: skip

    @staticmethod
    def _settled(seconds: Array, amps: Array, place: int) -> int | None:
        """Return the first row after a step from which the current no longer rises, within 2 s or 2 rows."""
        last = len(amps) - 1
        for row in range(place + 1, min(place + 8, last) + 1):
            if row == last:
                return row
            if abs(amps[row + 1] - amps[row]) < 0.05 * abs(amps[row] - amps[place]) + 1e-9:
                return row
            if seconds[row] - seconds[place] > 2.0 and row > place + 2:
                return None
        return None

    @staticmethod
    def _held_before(seconds: Array, amps: Array, place: int, step: float) -> bool:
        """Whether the current stood still for the row before the step, where there is one."""
        return place == 0 or bool(abs(amps[place] - amps[place - 1]) < 0.1 * step)

    @staticmethod
    def _held(rows: Rows, place: int, step: float) -> tuple[float, float]:
        """Return how long the current surely stood before a step, and may have: without end from the start on."""
        seconds = rows.seconds
        begin = max(int(np.searchsorted(seconds, seconds[place] - _WINDOW_S)) - 1, 0)
        stands = np.abs(rows.amps[begin : place + 1] - rows.amps[place]) < 0.05 * step
        # What came before a break in the log is not known to go on.
        stands[:-1] &= rows.known[begin + 1 : place + 1]
        other = np.flatnonzero(~stands)
        first = begin + (int(other[-1]) + 1 if len(other) else 0)
        most = inf if first == begin or not rows.known[first] else seconds[place + 1] - seconds[first - 1]
        return float(seconds[place] - seconds[first]), float(most)

    @staticmethod
    def _unseen(rows: Rows, place: int, step: float) -> float:
        """Return how far the voltage moves from the last row before a step to the next, as it moved before."""
        if abs(rows.amps[place]) < 0.05 * step:
            return 0.0
        part = slice(max(place - _ROWS_BEFORE, 0), place + 1)
        stands = np.abs(rows.amps[part] - rows.amps[place]) < 0.05 * step
        first = place - int(np.argmin(stands[::-1])) + 1 if not stands.all() else part.start
        passed = rows.seconds[place] - rows.seconds[first]
        if passed <= 0:
            return 0.0
        slope = (rows.volts[place] - rows.volts[first]) / passed
        return float(slope * (rows.seconds[place + 1] - rows.seconds[place]))

    @staticmethod
    def _still_until(rows: Rows, settled: int, step: float) -> int:
        """Return the row from which the current no longer stands as it did after a step."""
        end = int(np.searchsorted(rows.seconds, rows.seconds[settled] + _SLOPE_TO_S)) + 1
        amps = rows.amps[settled : max(end, settled + 2)]
        still = np.abs(amps - amps[0]) < 0.05 * step + 1e-9
        still[1:] &= rows.known[settled + 1 : settled + len(still)]
        return settled + (len(still) if still.all() else int(np.argmin(still)))

    @staticmethod
    def _slope(rows: Rows, place: int, settled: int, until: int) -> float | None:
        """Return how fast the voltage moves from the first to the third minute after a step. [V/s]."""
        passed = rows.seconds[settled:until] - rows.seconds[place]
        part = (passed >= _SLOPE_FROM_S) & (passed <= _SLOPE_TO_S)
        passed, volts = passed[part], rows.volts[settled:until][part]
        if len(passed) < 3 or passed[-1] - passed[0] < _SLOPE_FROM_S:
            return None
        passed = passed - passed.mean()
        return float(passed @ (volts - volts.mean()) / (passed @ passed))

    @staticmethod
    def _back(rows: Rows, place: int, until: int, step: float) -> tuple[float, float] | None:
        """Return where the voltage came back to with the current from before a step, and how long that had stood."""
        if until >= len(rows):
            return None
        end = int(np.searchsorted(rows.seconds, rows.seconds[place] + _WINDOW_S))
        stands = np.abs(rows.amps[until:end] - rows.amps[place]) < 0.05 * step + 1e-9
        stands &= rows.known[until:end]
        last = until + (len(stands) if stands.all() else int(np.argmin(stands))) - 1
        if last < until:
            return None
        held = rows.seconds[until] - rows.seconds[place]
        back = rows.seconds[last] - rows.seconds[until]
        long_enough = back >= max(_BACK_TIMES * held, _BACK_S)
        return (float(rows.volts[last]), float(held)) if long_enough else None

    @staticmethod
    def _after(rows: Rows, place: int, settled: int, until: int) -> tuple[After, ...]:
        """Return what stands about 1, 10 and 60 s after a step, as long as the current stands still."""
        seconds = rows.seconds
        surely = seconds[settled:until] - seconds[settled]
        most = seconds[settled:until] - seconds[place]
        since = float(rows.since[settled])
        if 0 <= since <= most[0] + 1e-6:
            # The tester itself says how long its step has lasted.
            surely = most = surely + since
        picked: list[int] = []
        for target in AFTER_S:
            near = int(np.argmin(np.abs(surely - target)))
            if 0.5 * target <= surely[near] <= 2 * target:
                picked.append(near)
        if not picked:
            picked = [int(np.argmax(surely > 0))]
        return tuple(
            After(
                float(surely[each]), float(most[each]),
                float(rows.volts[settled + each]), float(rows.amps[settled + each]),
                _floats(rows.groups[settled + each]),
            )
            for each in dict.fromkeys(picked)
        )  # fmt: skip


def _floats(row: Array) -> tuple[float, ...]:
    return tuple(float(each) for each in row)
