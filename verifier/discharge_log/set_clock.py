"""A clock that was put forward by an hour in the middle of a test: told by a voltage that did not go on with it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

HOUR_S = 3600.0
_OFF_S = 2.0
# Rows on either side that tell how fast the voltage falls, and how far its fall must stand above its noise.
_BESIDE, _ABOVE_NOISE = 60, 8.0
# An hour in which the voltage moved by less than this part of what it should have did not pass.
_MOVED = 0.1
_SAME_CURRENT = 0.05


def put_forward(seconds: Array, volts: Array, amps: Array, flowing_a: float) -> list[int]:
    """Return the rows before which the clock was put forward by an hour, for summer time or by hand.

    An hour that passed under the same current would have moved the voltage as the rows on either side do. Where these
    hardly move, as in the middle of iron phosphate, nothing tells, and the hour is left as it is.

    Parameters
    ----------
    seconds, volts, amps : array of shape (n_rows,)
    flowing_a : float
        From which on a current flows.
    """
    steps = np.diff(seconds)
    forward = steps[steps > 0]
    if not len(forward):
        return []
    usual = float(np.median(forward))
    found = []
    for at in np.flatnonzero(np.abs(steps - usual - HOUR_S) <= _OFF_S + 0.5 * usual) + 1:
        before, after = slice(at - _BESIDE, at), slice(at, at + _BESIDE)
        if at < _BESIDE or at + _BESIDE > len(seconds):
            continue
        flow = np.abs(amps[at - _BESIDE : at + _BESIDE])
        if flow.min() < flowing_a or np.ptp(flow) > _SAME_CURRENT * flow.mean():
            continue
        (slope, noise), (slope_after, noise_after) = (
            _slope(seconds[each], volts[each]) for each in (before, after)
        )
        expected = HOUR_S * min(abs(slope), abs(slope_after))
        moved = abs(float(np.median(volts[at : at + 5]) - np.median(volts[at - 5 : at])))
        shown = slope * slope_after > 0 and expected > _ABOVE_NOISE * max(noise, noise_after)
        if shown and moved < _MOVED * expected:
            found.append(int(at))
    return found


def _slope(seconds: Array, volts: Array) -> tuple[float, float]:
    """Return how fast a voltage moves, and how far it strays from that. [V/s], [V]."""
    passed = seconds - seconds.mean()
    slope = float(passed @ (volts - volts.mean()) / max(float(passed @ passed), 1e-9))
    return slope, float(np.std(volts - volts.mean() - slope * passed))
