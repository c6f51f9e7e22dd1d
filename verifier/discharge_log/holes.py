"""Voltages of single groups that a log leaves out now and then: that of the row before stands for them."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

# Over so few rows a voltage hardly moves; of a longer silence nothing is told. Common practice, no source.
_MOST_ROWS = 10


@dataclass(slots=True)
class Holes:
    """Fills holes chunk by chunk, and counts them by group."""

    count: int = 0
    longer: int = 0
    _before: Array = field(default_factory=lambda: np.zeros((0, 0)))

    def filled(self, groups: Array) -> Array:
        """Return the voltages of groups with those left out taken from at most ten rows before.

        Those at the begin of a log are taken from the rows behind them.

        Parameters
        ----------
        groups : array of shape (n_rows, n_groups)
            Rows that follow those of the last call. [V]
        """
        if not groups.shape[1] or not len(groups):
            return groups
        known = self._before
        rows = np.concatenate([known, groups]) if known.shape[1] == groups.shape[1] else groups
        whole = _carried(rows)
        if len(rows) == len(groups):
            # Nothing stands before the begin of a log.
            silent = ~np.maximum.accumulate(np.isfinite(rows), axis=0)
            whole = np.where(silent, _carried(rows[::-1])[::-1], whole)
        whole = whole[-len(groups) :]
        self._before = rows[-_MOST_ROWS:]
        empty = ~np.isfinite(groups)
        self.count += int((empty & np.isfinite(whole)).sum())
        self.longer += int((~np.isfinite(whole)).sum())
        return whole

    def remarks(self) -> list[str]:
        """Return what was filled, and what was not."""
        said = []
        if self.count:
            said.append(
                f"{self.count} voltages of groups are missing: that of the nearest row stands for each"
            )
        if self.longer:
            said.append(
                f"{self.longer} voltages of groups are missing over more than {_MOST_ROWS} rows: not told"
            )
        return said


def _carried(rows: Array) -> Array:
    """Return rows with every gap of up to ten filled from the row before it."""
    place = np.arange(len(rows))[:, None]
    last = np.maximum.accumulate(np.where(np.isfinite(rows), place, -1), axis=0)
    near = (last >= 0) & (place - last <= _MOST_ROWS)
    return np.where(near, np.take_along_axis(rows, np.maximum(last, 0), axis=0), np.nan)
