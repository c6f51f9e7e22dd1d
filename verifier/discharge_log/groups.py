"""Group voltages over a discharge: which ends first, and how much longer the others would have lasted."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

import numpy as np
import numpy.typing as npt

from verifier.bounds import Bounds
from verifier.discharge_log.model import GroupEnd

Array = npt.NDArray[np.float64]


TOGETHER_V = 0.005
"""Groups no further apart than this at the end of a discharge end together. Common practice, no source."""
# What a BMS may show of a group is off by, beside the others. Common practice, no source.
_READING_V = 0.003


def ends_of_groups(
    first: Array, last: Array, lowest: Array, passed_ah: Array, curves: Array
) -> tuple[GroupEnd, ...]:
    """Return the end of every group of a discharge.

    How much longer a group would have lasted lies between two ends, both read off the curve of the group that
    ends first, from the voltage on at which the other stood at the end: as much as that one delivered from there,
    where both hold the same and one began lower; and more by the charge that the other had delivered until there
    over that of the first, where both began alike and one holds less. Each with what the readings may be off.
    It supposes that all groups have the same curve, and holds at the current of the test.

    Parameters
    ----------
    first, last, lowest : array of shape (n_groups,)
        Voltages at the beginning and the end, and the lowest. [V]
    passed_ah : array of shape (n_rows,)
    curves : array of shape (n_rows, n_groups)
    """
    if len(last) < 2:
        return ()
    weakest = int(np.argmin(last))
    mean = float(np.mean(last))
    found = []
    for number in range(len(last)):
        left = None
        if number != weakest and len(passed_ah) > 5 and last[number] - last[weakest] > TOGETHER_V:
            fell = np.maximum.accumulate(curves[::-1, weakest])[::-1]
            left = _left(passed_ah, fell, float(last[number]))
        found.append(
            GroupEnd(
                number + 1, float(first[number]), float(last[number]), float(lowest[number]),
                1000 * (mean - float(last[number])), left,
            )
        )  # fmt: skip
    return tuple(found)


def _left(passed_ah: Array, fell: Array, end_v: float) -> Bounds:
    """Return how much longer a group would have lasted that ended at a voltage, by the falling curve of the first."""
    total = float(passed_ah[-1])

    def there(volts: float) -> float:
        below = np.flatnonzero(fell <= volts)
        return float(passed_ah[below[0]]) if len(below) else total

    early, late = there(end_v + _READING_V), there(end_v - _READING_V)
    # A group that holds more had delivered all of it where the first stood at that voltage after less.
    more = total / early if early > 0 else inf
    return Bounds(total - late, (total - early) * more if early > 0 else inf)


def first_of(groups: Sequence[GroupEnd]) -> int | None:
    """Return the group that ends first; None where they end together, within what the readings tell."""
    if not groups:
        return None
    least = min(groups, key=lambda each: each.end_v)
    apart = max(each.end_v for each in groups) - least.end_v
    return least.group if apart > TOGETHER_V else None
