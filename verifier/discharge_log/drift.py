"""How the groups drift over the longest rest of a log, and what its temperature does to them meanwhile.

Which drift is no longer good, and what a cell moves by with its temperature alone: `verifier.pack.group_drift` and
the limit voltage_per_kelvin_mv.
"""

from __future__ import annotations

import numpy as np

from verifier.case.limits import DEFAULTS
from verifier.discharge_log.streamed import Streamed
from verifier.discharge_log.stretches import Stretch

DAY_S = 86400.0
_LEAST_DAYS = 0.5
# Over a rest in one room it changes by no more. [K]
_ONE_ROOM_K = 2.0


def drifts(found: Streamed) -> list[float | None]:
    """Return how fast each group's voltage moves over the longest rest, its first hour apart. [mV/day]."""
    rest = _longest_rest(found)
    if rest is None or rest.settled_groups is None:
        return [None] * len(found.stretches[0].first_groups)
    return [1000 * float(each) / _days(rest) for each in rest.last_groups - rest.settled_groups]


def drift_remarks(found: Streamed) -> list[str]:
    """Return which group falls faster than another over the longest rest, and what the temperature did meanwhile."""
    rest = _longest_rest(found)
    if rest is None or rest.settled_groups is None or len(rest.last_groups) < 2:
        return []
    # What judges packs is loaded only for a log of a long rest.
    from verifier.pack.group_drift import GOOD_DRIFT_MV_PER_DAY, METER_MV

    falls_mv = 1000 * (rest.settled_groups - rest.last_groups)
    if not np.isfinite(falls_mv).all():
        return []
    said, days = [], _days(rest)
    faster_mv = float(falls_mv.max() - falls_mv.min())
    if faster_mv - METER_MV > GOOD_DRIFT_MV_PER_DAY * days:
        said.append(
            f"group {int(falls_mv.argmax()) + 1} falls {faster_mv / days:.3g} mV a day faster than another over "
            f"{days:.3g} days at rest (limit {GOOD_DRIFT_MV_PER_DAY:g} mV a day, read on a trade page): it drains by "
            "itself, or something draws on it alone; note both readings with their dates in a case, and 'check' tells "
            "the current"
        )
    if len(rest.settled_c):
        moved_k = rest.last_c - rest.settled_c
        most_k = float(np.nanmax(np.abs(moved_k))) if np.isfinite(moved_k).any() else 0.0
        if most_k > _ONE_ROOM_K:
            each = DEFAULTS["voltage_per_kelvin_mv"].value
            most_mv = most_k * max(each.high, -each.low)
            said.append(
                f"the temperature moved by {most_k:.3g} K over that rest: by that alone a group moves by up to "
                f"{most_mv:.2g} mV (entropy coefficient, from memory), all groups of one charge alike"
            )
    return said


def _longest_rest(found: Streamed) -> Stretch | None:
    """Return the longest rest of which the groups were logged an hour after its begin, if it lasted half a day more."""
    rests = [each for each in found.stretches if not each.way and each.settled_groups is not None]
    longest = max(rests, key=lambda each: each.seconds, default=None)
    return longest if longest is not None and _days(longest) >= _LEAST_DAYS else None


def _days(rest: Stretch) -> float:
    return (rest.end_s - rest.settled_s) / DAY_S
