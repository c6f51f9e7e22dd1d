"""Readings that no pack makes: the numbers by which a sensor says that it failed, and single ones among sane ones.

A sensor that fails writes the largest number its bits hold, -1, or a number that its maker chose. Taken as a reading
it would be a voltage of no pack, and everything told by the highest voltage would be wrong.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Rows = npt.NDArray[np.bool_]

# The largest numbers of 16 and 32 bits, with and without sign, and rows of nines, with or without decimals. Common
# practice, no source.
_CODES = tuple(
    number * part
    for number in (32767.0, 32768.0, 65534.0, 65535.0, 2.0**31 - 1, 2.0**31, 2.0**32 - 1, 9999.0, 99999.0)
    for part in (1.0, 0.1, 0.01, 0.001)
)
# What a digital temperature sensor says before its first measurement, and when it is not there. From memory.
_TEMPERATURE_CODES = (85.0, -127.0)
_COLDEST_C, _HOTTEST_C = -60.0, 200.0
# No cell warms or cools by more from one row to the next and back. Common practice, no source.
_TEMPERATURE_LEAP_K = 15.0
# A failure lasts for so few rows that what stands longer is a state of the pack.
_MOST_ROWS = 3
_ABOVE, _BELOW = 1.3, 0.5
_SAME_CURRENT = 0.1
_LOWEST_GROUP_V, _HIGHEST_GROUP_V = -1.0, 5.0
_CURRENT_TIMES = 3.0
# What so many rows hold is how this log is written, and no failure.
_MOST_PART = 0.2


@dataclass(slots=True)
class SensorErrors:
    """What was found of them so far: how many rows, and the first of each kind in words."""

    rows: int = 0
    temperatures: int = 0
    first: str = ""
    first_temperature: str = ""
    _highest_v: float = 0.0

    def find(
        self, row: npt.NDArray[np.int64], volts: Array, amps: Array, groups: Array, factors: Sequence[float]
    ) -> Rows:
        """Return which rows hold a voltage or current that cannot be.

        Parameters
        ----------
        row : array of shape (n_rows,)
            Counted in the file, for the remark.
        volts, amps : array of shape (n_rows,)
        groups : array of shape (n_rows, n_groups)
            In V; no columns where the log has none.
        factors : sequence of float
            To V and A of the columns, by which a code is known as it is written; 0 where a current is none of a column.
        """
        by_volts = self._of_volts(volts, amps, factors[0])
        by_groups = _of_groups(groups, amps)
        by_amps = _of_amps(amps, volts, factors[-1])
        for found, what, values in (
            (by_volts, "voltage of {:.4g} V", volts),
            (by_groups, "group at {:.4g} V", _furthest(groups)),
            (by_amps, "current of {:.4g} A", amps),
        ):
            if found.any() and not self.first:
                at = int(np.argmax(found))
                self.first = f"a {what.format(values[at])} in row {row[at]}"
        bad: Rows = by_volts | by_groups | by_amps
        self.rows += int(bad.sum())
        return bad

    def clear_temperatures(self, row: npt.NDArray[np.int64], temperatures: Array) -> Array:
        """Return temperatures without those that cannot be; shape (n_rows, n_sensors). [C]."""
        cleared = temperatures.copy()
        for column in range(temperatures.shape[1]):
            bad = _of_temperature(temperatures[:, column])
            cleared[bad, column] = np.nan
            self.temperatures += int(bad.sum())
            if bad.any() and not self.first_temperature:
                at = int(np.argmax(bad))
                self.first_temperature = f"{temperatures[at, column]:.4g} C in row {row[at]}"
        return cleared

    def remarks(self) -> list[str]:
        """Return what was left out, in words."""
        said = []
        if self.rows:
            rows = "1 row holds a reading" if self.rows == 1 else f"{self.rows} rows hold readings"
            said.append(
                f"{rows} that no pack makes, such as {self.first}: taken for an error of the sensor and left out"
            )
        if self.temperatures:
            said.append(
                f"{self.temperatures} temperature{'s' if self.temperatures > 1 else ''} that no cell has from one row "
                f"to the next, such as {self.first_temperature}: taken for an error of the sensor and left out"
            )
        return said

    def _of_volts(self, volts: Array, amps: Array, factor: float) -> Rows:
        bad = np.zeros(len(volts), dtype=bool)
        there = volts[np.isfinite(volts) & (volts > 0)]
        if not len(there):
            return bad
        codes = _is_code(volts, factor) & (volts > _ABOVE * float(np.median(there)))
        if codes.mean() < _MOST_PART:
            bad |= codes
        sane = volts[~bad & np.isfinite(volts)]
        if len(sane) > _MOST_ROWS:
            stood = np.lib.stride_tricks.sliding_window_view(sane, _MOST_ROWS + 1).min(axis=1)
            self._highest_v = max(self._highest_v, float(stood.max()))
        if self._highest_v > 0:
            bad |= volts > _ABOVE * self._highest_v
        return bad | _falls_alone(volts, amps) | _below_nought(volts)


def _is_code(values: Array, factor: float) -> Rows:
    found = np.zeros(len(values), dtype=bool)
    for code in _CODES:
        found |= np.abs(np.abs(values) - code * factor) <= 1e-9 * code * factor
    return found


def _runs(flagged: Rows, most: int = _MOST_ROWS) -> list[tuple[int, int]]:
    """Return where runs of at most so many flagged rows begin and end, those with rows on both sides."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flagged.astype(int), [0]])))
    return [
        (int(begin), int(end))
        for begin, end in zip(edges[::2], edges[1::2], strict=True)
        if end - begin <= most and begin > 0 and end < len(flagged)
    ]


def _falls_alone(volts: Array, amps: Array) -> Rows:
    """Return rows in which the voltage is all but gone while the current flows as before and after.

    A BMS that opens or a loose plug stops the current; a loose sense wire does not.
    """
    bad = np.zeros(len(volts), dtype=bool)
    for begin, end in _runs(volts < _BELOW * float(np.nanmedian(volts))):
        beside = min(volts[begin - 1], volts[end])
        flow = amps[begin - 1 : end + 1]
        middle = abs(float(np.median(flow)))
        same = middle > 0 and float(np.ptp(flow)) <= _SAME_CURRENT * middle
        if same and volts[begin:end].max() < _BELOW * beside:
            bad[begin:end] = True
    return bad


def _below_nought(volts: Array) -> Rows:
    """Return rows with a voltage below nought between such as packs have."""
    bad = np.zeros(len(volts), dtype=bool)
    for begin, end in _runs(volts < 0):
        if min(volts[begin - 1], volts[end]) > 1.0:
            bad[begin:end] = True
    return bad


def _of_amps(amps: Array, volts: Array, factor: float) -> Rows:
    """Return rows with a code for a current: far above all others, or one that moves no voltage."""
    bad = np.zeros(len(amps), dtype=bool)
    sizes = np.abs(amps[np.isfinite(amps)])
    if not len(sizes) or not factor:
        return bad
    top = float(np.quantile(sizes, 0.9))
    codes = _is_code(amps, factor) & (np.abs(amps) > _CURRENT_TIMES * top)
    if top > 0 and codes.mean() < _MOST_PART:
        bad |= codes
    for begin, end in _runs(np.abs(amps + factor) <= 1e-9 * factor):
        one, other = amps[begin - 1], amps[end]
        alike = abs(one - other) <= 0.05 * abs(one) and one > 2 * factor
        low, high = sorted((volts[begin - 1], volts[end]))
        room = 0.002 * high
        if alike and volts[begin:end].min() >= low - room and volts[begin:end].max() <= high + room:
            bad[begin:end] = True
    return bad


def _of_groups(groups: Array, amps: Array) -> Rows:
    bad = np.zeros(len(groups), dtype=bool)
    for column in range(groups.shape[1]):
        values = groups[:, column]
        beyond = (values > _HIGHEST_GROUP_V) | (values < _LOWEST_GROUP_V)
        if beyond.mean() < _MOST_PART:
            bad |= beyond
        if np.isfinite(values).any():
            bad |= _falls_alone(values, amps)
    return bad


def _furthest(groups: Array) -> Array:
    """Return of each row the group that is furthest from the middle one."""
    if not groups.shape[1]:
        return np.zeros(len(groups))
    middle = np.nan_to_num(np.median(groups, axis=1))[:, None]
    away = np.nan_to_num(np.abs(groups - middle))
    return np.asarray(groups[np.arange(len(groups)), away.argmax(axis=1)])


def _of_temperature(values: Array) -> Rows:
    """Return which temperatures of one sensor cannot be, or are a code that the ones beside it give away."""
    bad: Rows = (values < _COLDEST_C) | (values > _HOTTEST_C)
    known = np.flatnonzero(np.isfinite(values) & ~bad)
    if len(known) < 2 * _MOST_ROWS:
        return bad
    sane = values[known]
    codes = np.isin(np.round(sane, 6), _TEMPERATURE_CODES)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], codes.astype(int), [0]])))
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        beside = [sane[place] for place in (begin - 1, end) if 0 <= place < len(sane)]
        if beside and all(abs(sane[begin] - each) > _TEMPERATURE_LEAP_K for each in beside):
            bad[known[begin:end]] = True
    leaps = np.abs(sane - np.median(sane)) > _TEMPERATURE_LEAP_K
    for begin, end in _runs(leaps & ~codes):
        one, other = sane[begin - 1], sane[end]
        away = min(float(np.abs(sane[begin:end] - each).min()) for each in (one, other))
        if abs(one - other) < _TEMPERATURE_LEAP_K / 3 and away > _TEMPERATURE_LEAP_K:
            bad[known[begin:end]] = True
    return bad
