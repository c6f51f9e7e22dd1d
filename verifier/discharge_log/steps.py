"""Steps of the current, and the dc resistance that each shows after some seconds.

IEC 61960-3 measures dc resistance by a discharge at 0.2 It for 10 s and then 1 It for 1 s:
(U1 - U2) / (I2 - I1). Any other step shows one as well, with its seconds: resistance grows with them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.stream import Rows

Array = npt.NDArray[np.float64]

AFTER_S = (1.0, 10.0, 60.0)
_WINDOW_S = 75.0
_MOST_WINDOW_ROWS = 60_000
_MOST_STEPS = 4000
_LONGEST_WAIT_S = 120.0


@dataclass(frozen=True, slots=True)
class Step:
    """A step of the current, as written: before and after it, and the voltage some seconds later.

    ``after`` holds (seconds, volts, amps) at about 1, 10 and 60 s, or at the first row where there is none of
    these; ``held_s`` says how long the current had stood before.
    """

    row: int
    seconds: float
    before_v: float
    before_a: float
    to_a: float
    held_s: float
    after: tuple[tuple[float, float, float], ...]
    temperature_c: tuple[float, ...] = ()
    lasted_s: float = 0.0


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
            if not last and end_s - at < _WINDOW_S:
                break
            self.done_s = at
            self._judge(rows, int(place))
        keep = int(np.searchsorted(rows.seconds, end_s - 2.2 * _WINDOW_S))
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
        after = self._after(rows, place, settled, step)
        if not after:
            return
        if len(self.found) >= _MOST_STEPS:
            self.left_out += 1
            return
        temperatures = tuple(float(each) for each in rows.temperatures[place])
        self.found.append(
            Step(
                int(rows.row[place]), float(seconds[place]), float(rows.volts[place]), before, to,
                self._stood(seconds, amps, place, abs(step)), after, temperatures,
                self._lasts(seconds, amps, settled, abs(step)),
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
    def _stood(seconds: Array, amps: Array, place: int, step: float) -> float:
        row = place
        while (
            row > 0
            and abs(amps[row - 1] - amps[place]) < 0.05 * step
            and seconds[place] - seconds[row - 1] < _WINDOW_S
        ):
            row -= 1
        # Each row of the plateau stands for the time to the next.
        return float(seconds[place] - seconds[row]) * (place - row + 1) / max(place - row, 1)

    @staticmethod
    def _lasts(seconds: Array, amps: Array, settled: int, step: float) -> float:
        row = settled
        while (
            row + 1 < len(amps)
            and abs(amps[row + 1] - amps[settled]) < 0.1 * step
            and seconds[row] - seconds[settled] < _WINDOW_S
        ):
            row += 1
        return float(seconds[row] - seconds[settled - 1 if settled else 0])

    def _after(
        self, rows: Rows, place: int, settled: int, step: float
    ) -> tuple[tuple[float, float, float], ...]:
        """Return what stands about 1, 10 and 60 s after a step, as long as the current stands still."""
        seconds, amps = rows.seconds, rows.amps
        end = min(int(np.searchsorted(seconds, seconds[place] + 1.2 * AFTER_S[-1])) + 1, len(amps))
        still = np.abs(amps[settled:end] - amps[settled]) < 0.05 * abs(step) + 1e-9
        until = settled + (int(np.argmin(still)) if not still.all() else len(still))
        passed = seconds[settled:until] - seconds[place]
        told: list[tuple[float, float, float]] = []
        if not len(passed):
            return ()
        for target in AFTER_S:
            near = int(np.argmin(np.abs(passed - target)))
            if abs(passed[near] - target) <= 0.15 * target and passed[near] > 0:
                row = settled + near
                told.append((float(passed[near]), float(rows.volts[row]), float(amps[row])))
        if not told and passed[0] > 0:
            told.append((float(passed[0]), float(rows.volts[settled]), float(amps[settled])))
        return tuple(told)
