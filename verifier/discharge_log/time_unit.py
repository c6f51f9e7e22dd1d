"""The unit of a time that names none: told by what a pack can hold and how long a test lasts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.clock import TimeForm
from verifier.discharge_log.contradictions import MOST_AH

Array = npt.NDArray[np.float64]

LONGEST_FLOW_H = 150.0
# What has no unit is in s, ms or us, whichever is the first that a pack can be tested in.
_SMALLER_UNITS = ((1e-3, "ms"), (1e-6, "us"))


@dataclass(frozen=True, slots=True)
class TestRun:
    """What the first rows of a log make of a test: how far it moved the charge, how long current flowed, and the rows.

    ``moved_ah`` is from the fullest to the emptiest, whatever cycles lie between. ``step_s`` is what rows are usually
    apart; ``whole``: every time is a whole number.
    """

    moved_ah: float
    flow_h: float
    step_s: float
    whole: bool

    @staticmethod
    def of(seconds: Array, current: Array, top: float) -> TestRun:
        """Return what rows make of a test; shape (n_rows,) each, and the largest current. [s], [A], [A]."""
        known = np.isfinite(seconds) & np.isfinite(current)
        seconds, current = seconds[known], current[known]
        steps = np.clip(np.diff(seconds), 0.0, None)
        forward = steps[steps > 0]
        if not len(forward):
            return TestRun(0.0, 0.0, 0.0, whole=False)
        hours = steps / 3600
        passed = np.concatenate([[0.0], np.cumsum((current[1:] + current[:-1]) / 2 * hours)])
        flowing = np.abs(current[1:]) > 0.05 * top
        return TestRun(
            float(np.ptp(passed)), float(hours[flowing].sum()), float(np.median(forward)),
            whole=bool(np.all(seconds[:500] == np.round(seconds[:500]))),
        )  # fmt: skip

    def at(self, factor: float) -> TestRun:
        """Return the same in another unit of the time."""
        return TestRun(self.moved_ah * factor, self.flow_h * factor, self.step_s * factor, whole=self.whole)


def smaller_unit(form: TimeForm, test: TestRun) -> tuple[float, str] | None:
    """Return the factor and name of the unit that a time without one must be in, None where seconds can be.

    In seconds the whole numbers of a counter of ms would be a flow of weeks, or more than any pack holds.
    """
    # A counter of ms that began long ago is as large as the seconds since 1970.
    unknown = form.guessed.startswith("has no unit") or form.unit == "s since 1970"
    if form.kind != "number" or not unknown or not test.whole:
        return None

    def possible(made: TestRun) -> bool:
        return made.moved_ah <= MOST_AH and (made.flow_h <= LONGEST_FLOW_H or made.step_s < 50)

    if possible(test):
        return None
    return next((each for each in _SMALLER_UNITS if possible(test.at(each[0]))), None)
