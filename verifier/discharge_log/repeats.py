"""Rows that no pack delivered: a stretch that stands in the log twice, and a voltage that jumps against its current.

Rows pasted in a second time, or two logs joined, count charge that never flowed. Measured voltages have noise, so a
long stretch of them never comes back digit by digit; and no pack's voltage rises by steps while it is discharged by
an unchanged current. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.stream import Rows
from verifier.discharge_log.streamed import Streamed
from verifier.errors import UnreadableInput

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.uint64]

_WINDOW = 32
"""So many changes of the voltage, with all rows between them, have to be the same in a repeated stretch."""
_FEWEST_LEVELS = 12
"""Of different voltages in them: a reading that only goes to and fro between some comes back by itself."""
_ONE_OF = np.uint64(8)
"""Of so many windows one is kept, chosen by what it holds, so that both copies keep the same ones."""
_MOST_WHOLE = 500_000
"""So many are kept as they are: in a log of usual length a short part pasted in is found as well."""
_FEWEST_KEPT = 3
_BASE = 0x9E3779B97F4A7C15
_SIDE = 4
"""Rows on either side of a jump that have to agree."""
_JUMP, _SAME_CURRENT = 0.03, 0.02


@dataclass(frozen=True, slots=True)
class Jump:
    """Two rows between which the voltage jumps while the current stays. [s], [V], [A]."""

    row: int
    seconds: float
    before_v: float
    after_v: float
    amps: float


@dataclass(frozen=True, slots=True)
class _Flow:
    """Of rows what a jump is told by; see `stream.Rows`."""

    row: npt.NDArray[np.int64]
    seconds: Array
    known: npt.NDArray[np.bool_]
    volts: Array
    amps: Array

    def followed_by(self, other: _Flow) -> _Flow:
        return _Flow(
            *(np.concatenate([getattr(each, name) for each in (self, other)]) for name in self.__slots__)
        )

    def taken(self, begin: int) -> _Flow:
        return _Flow(*(getattr(self, name)[begin:].copy() for name in self.__slots__))


@dataclass(slots=True)
class RepeatFinder:
    """Looks for repeated rows and for jumps of the voltage while the rows stream by."""

    rest_a: float
    kept: list[tuple[Codes, npt.NDArray[np.int64]]] = field(default_factory=list)
    jumps: list[Jump] = field(default_factory=list)
    _last: _Flow | None = None
    _codes: Codes = field(default_factory=lambda: np.zeros(0, dtype=np.uint64))
    _levels: Array = field(default_factory=lambda: np.zeros(0))
    _at: npt.NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    _run: int = 0
    _thinned: bool = False
    _count: int = 0

    def feed(self, rows: Rows) -> None:
        """Take in further rows."""
        self._feed_changes(rows)
        self._feed_jumps(_Flow(rows.row, rows.seconds, rows.known, rows.volts, rows.amps))

    def refuse(self, found: Streamed, place: str) -> str:
        """Refuse a discharge or charge that holds rows twice, or whose voltage jumps against its current.

        Of two discharges that are the same row by row none counts the other's charge: a remark is returned, empty
        where there are none.

        Raises
        ------
        UnreadableInput
            Where either is found; the row is told.
        """
        said = ""
        twice = self._repeated()
        if twice is not None:
            first, again, last = twice
            words = f"rows from about {again} to {last} repeat those from about row {first} on digit by digit"
            # Of a log that was turned round the rows count down.
            low, high = min(first, again), max(first, again)
            if any(
                min(each.first_row, each.last_row) <= low and high <= max(each.first_row, each.last_row)
                for each in found.stretches
                if each.way
            ):
                raise UnreadableInput(
                    f"{place} row {again}",
                    f"{words}, as if pasted in twice: what flowed in them would be counted twice",
                    "take the repeated rows out",
                )
            said = f"{words}, as if one test stood in the log twice"
        jump = self._against_the_current(found.kind_at)
        if jump is not None:
            raise UnreadableInput(
                f"{place} row {jump.row}",
                f"the voltage jumps from {jump.before_v:.4g} to {jump.after_v:.4g} V while the current stays at "
                f"{jump.amps:.3g} A: no pack does that, as if two logs were joined or rows pasted in",
                "give each test as a file of its own, as it was recorded",
            )
        return said

    # -- repeated rows -----------------------------------------------------------------------------------

    def _feed_changes(self, rows: Rows) -> None:
        flowing = np.abs(rows.amps) > self.rest_a
        before = np.nan if self._last is None else self._last.volts[-1]
        changed = np.flatnonzero((np.diff(rows.volts, prepend=before) != 0) & flowing)
        if not len(changed):
            self._run += len(rows)
            return
        runs = np.diff(changed, prepend=-1 - self._run)
        self._run = len(rows) - 1 - int(changed[-1])
        codes = _mixed(rows.volts[changed].view(np.uint64))
        codes = _mixed(codes ^ rows.amps[changed].view(np.uint64))
        codes = _mixed(codes ^ runs.astype(np.uint64))
        codes = np.append(self._codes, codes)
        levels = np.append(self._levels, rows.volts[changed])
        at = np.append(self._at, rows.row[changed])
        # Copies let go of the rest.
        self._codes, self._levels, self._at = (
            codes[1 - _WINDOW :].copy(),
            levels[1 - _WINDOW :].copy(),
            at[1 - _WINDOW :].copy(),
        )
        if len(codes) < _WINDOW:
            return
        windows = np.zeros(len(codes) - _WINDOW + 1, dtype=np.uint64)
        for place in range(_WINDOW):
            windows = windows * np.uint64(_BASE) + codes[place : place + len(windows)]
        windows = _mixed(windows)
        chosen = np.flatnonzero(windows % _ONE_OF == 0) if self._thinned else np.arange(len(windows))
        held = np.sort(np.lib.stride_tricks.sliding_window_view(levels, _WINDOW)[chosen], axis=1)
        rich = chosen[1 + (np.diff(held, axis=1) != 0).sum(axis=1) >= _FEWEST_LEVELS]
        self.kept.append((windows[rich], at[rich]))
        self._count += len(rich)
        if self._count > _MOST_WHOLE and not self._thinned:
            self._thinned = True
            self.kept = [
                (codes[picked], at[picked])
                for codes, at in self.kept
                for picked in [np.flatnonzero(codes % _ONE_OF == 0)]
            ]

    def _repeated(self) -> tuple[int, int, int] | None:
        """Return the row from which rows stand twice, that from which they are repeated, and the last of these."""
        if not self.kept:
            return None
        codes = np.concatenate([each for each, _ in self.kept])
        at = np.concatenate([each for _, each in self.kept])
        _, first, which = np.unique(codes, return_index=True, return_inverse=True)
        again = np.flatnonzero(first[which] != np.arange(len(codes)))
        if len(again) < _FEWEST_KEPT:
            return None
        return int(at[first[which[again[0]]]]), int(at[again[0]]), int(at[again[-1]])

    # -- jumps -------------------------------------------------------------------------------------------

    def _feed_jumps(self, rows: _Flow) -> None:
        both = rows if self._last is None else self._last.followed_by(rows)
        # The next rows are looked at from the last place on that was not reached here; a copy lets go of the rest.
        self._last = both.taken(1 - 2 * _SIDE)
        volts, amps = both.volts, both.amps
        steps = np.diff(both.seconds)
        usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else 0.0
        # Where the rows stand further apart, or nobody knows how far, a rest may lie between them.
        jumps = (
            (np.abs(np.diff(volts)) > _JUMP * np.abs(volts[:-1])) & (steps <= 1.5 * usual) & both.known[1:]
        )
        for at in np.flatnonzero(jumps) + 1:
            low, high = volts[at - _SIDE : at], volts[at : at + _SIDE]
            flow = amps[at - _SIDE : at + _SIDE] if at >= _SIDE else amps[:0]
            if len(flow) < 2 * _SIDE or abs(flow.mean()) <= self.rest_a:
                continue
            apart = float(np.median(high) - np.median(low))
            steady = np.ptp(flow) <= _SAME_CURRENT * abs(flow.mean())
            if steady and max(np.ptp(low), np.ptp(high)) < abs(apart) / 4:
                self.jumps.append(
                    Jump(
                        int(both.row[at]),
                        float(both.seconds[at]),
                        float(low[-1]),
                        float(high[0]),
                        abs(float(amps[at])),
                    )
                )

    def _against_the_current(self, kind_at: Callable[[float], str]) -> Jump | None:
        """Return the first jump up of a discharge, or down of a charge, that takes back no earlier one.

        A loose plug's voltage goes and comes back.
        """
        gone = 0.0
        for each in self.jumps:
            against = each.after_v - each.before_v
            against *= -1 if kind_at(each.seconds) == "charge" else 1
            if against > 0 and gone < 0.5 * against:
                return each
            gone = max(gone - against, 0.0)
        return None


def _mixed(codes: Codes) -> Codes:
    """Return codes with every bit depending on every other (the finisher of splitmix64)."""
    codes = (codes ^ (codes >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    codes = (codes ^ (codes >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return codes ^ (codes >> np.uint64(31))
