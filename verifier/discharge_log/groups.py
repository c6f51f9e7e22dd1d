"""Group voltages over a discharge: which ends first, and how much longer the others would have lasted."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.model import GroupEnd

Array = npt.NDArray[np.float64]


def ends_of_groups(
    first: Array, last: Array, lowest: Array, passed_ah: Array, curves: Array
) -> tuple[GroupEnd, ...]:
    """Return the end of every group of a discharge.

    How much longer a group would have lasted is read off the curve of the group that ends first: as much as
    that one delivered from the same voltage on. It supposes that all groups have the same curve.

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
        if number != weakest and len(passed_ah) > 5:
            fell = np.maximum.accumulate(curves[::-1, weakest])[::-1]
            below = np.flatnonzero(fell <= last[number])
            left = (
                float(passed_ah[-1] - passed_ah[below[0]])
                if len(below)
                else float(passed_ah[-1] - passed_ah[-2])
            )
        found.append(
            GroupEnd(
                number + 1, float(first[number]), float(last[number]), float(lowest[number]),
                1000 * (mean - float(last[number])), left,
            )
        )  # fmt: skip
    return tuple(found)
