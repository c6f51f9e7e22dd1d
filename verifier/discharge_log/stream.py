"""The rows of a log as arrays, some at a time: seconds that run on, V, A as written, temperatures, groups."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from verifier.discharge_log import clock
from verifier.discharge_log.bms_reports import Reports
from verifier.discharge_log.holes import Holes
from verifier.discharge_log.layout import Layout, Series, current_of_charge
from verifier.discharge_log.numbers import numbers_of
from verifier.discharge_log.sensor_errors import SensorErrors
from verifier.discharge_log.set_clock import HOUR_S, put_forward
from verifier.discharge_log.source import Progress, Source
from verifier.errors import UnreadableInput

if TYPE_CHECKING:
    import pandas as pd

Array = npt.NDArray[np.float64]

_YEAR_S = 366 * clock.DAY_S
_MOST_LEFT_OUT = 1000
# Counters of so many bits, and a count of the seconds of a day, begin anew where they are full.
_FULL_AT = (2.0**16, 2.0**24, 2.0**31, 2.0**32)
# By how much a counter may have gone on beside where it was full: rows, and parts of the whole up to some seconds.
_ROWS_BESIDE, _PART_BESIDE, _MOST_BESIDE_S = 20.0, 0.01, 3600.0


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of a log.

    ``row`` counts rows of the file, ``seconds`` runs on over restarts, ``known`` is False where nobody knows
    how long the log stood still before a row; ``since`` is the time in the tester's step, nan where not told.
    ``temperatures``, ``groups``, ``counters`` and ``labels`` have one column each; ``cells_apart`` see
    `layout.Layout`.
    """

    row: npt.NDArray[np.int64]
    seconds: Array
    known: npt.NDArray[np.bool_]
    volts: Array
    amps: Array
    since: Array
    temperatures: Array
    groups: Array
    counters: Array
    cells_apart: Array
    labels: Array

    def __len__(self) -> int:
        return len(self.row)

    def part(self, begin: int, end: int | None) -> Rows:
        """Return some of the rows."""
        return Rows(*(getattr(self, name)[begin:end] for name in self.__slots__))

    def followed_by(self, other: Rows) -> Rows:
        """Return these rows and then others."""
        return Rows(*(np.concatenate([getattr(self, name), getattr(other, name)]) for name in self.__slots__))


@dataclass(slots=True)
class Clockwork:
    """Puts times one after another over midnights, restarts, full counters and clocks that were set.

    ``count_s`` is how long one count of a counter lasts, 0 for a clock.
    """

    daily: bool
    stepwise: bool
    place: str
    count_s: float = 0.0
    offset: float = 0.0
    last: float | None = None
    usual: float = 1.0
    restarts: list[int] = field(default_factory=list)
    set_back: list[tuple[int, float]] = field(default_factory=list)
    leaps: list[tuple[int, float]] = field(default_factory=list)
    overflows: list[tuple[int, float]] = field(default_factory=list)
    forward: list[int] = field(default_factory=list)
    disorder: int = 0

    def run(
        self, raw: Array, row: npt.NDArray[np.int64], written: Callable[[int], str] = str
    ) -> tuple[Array, npt.NDArray[np.bool_]]:
        """Return seconds that run on, and whether the time before each row is known.

        Parameters
        ----------
        raw : array of shape (n_rows,)
            Times as they stand in the log. [s]
        row : array of shape (n_rows,)
        written : callable
            Gives a row's time as the log writes it, for messages.

        Raises
        ------
        UnreadableInput
            If the time runs backwards.
        """
        before = raw[0] if self.last is None else self.last
        steps = np.diff(raw, prepend=before)
        forward = steps[steps > 0]
        if len(forward):
            self.usual = float(np.median(forward))
        back = np.flatnonzero((steps < 0) | (steps > _YEAR_S / 12))
        if len(back) > 0.2 * len(raw) and len(raw) > 4 and not self.stepwise:
            # The first row of a chunk has the one before it in another.
            first = int(back[back > 0][0])
            raise UnreadableInput(
                f"{self.place} row {row[first]}",
                f"the time runs backwards, from {written(first - 1)} to {written(first)}",
                "put the rows in order of time, oldest first",
            )
        known = np.ones(len(raw), dtype=bool)
        known[0] = self.last is not None
        shift = np.zeros(len(raw))
        for place in back:
            shift[place] = self._mended(
                float(steps[place]), float(raw[place]), int(row[place]), int(place), known
            )
        seconds = raw + self.offset + np.cumsum(shift)
        self.offset += float(shift.sum())
        self.last = float(raw[-1])
        return seconds, known

    def _mended(self, step: float, now: float, row: int, place: int, known: npt.NDArray[np.bool_]) -> float:
        """Return by how much all times from a row on are moved."""
        if step > 0:
            self.leaps.append((row, step))
            known[place] = False
            return self.usual - step
        if self.daily and step < -0.5 * clock.DAY_S and now < 0.5 * clock.DAY_S:
            return clock.DAY_S
        passed = self._past_full(step, now)
        if passed is not None:
            self.overflows.append((row, passed - step))
            return passed - step
        if -step <= 3 * self.usual and not self.stepwise and now > 3 * self.usual:
            self.disorder += 1
            return 0.0
        if self.stepwise:
            return -step + max(now, 0.0)
        known[place] = False
        anew = now <= max(20 * self.usual, 0.02 * (now - step))
        if anew:
            self.restarts.append(row)
        else:
            self.set_back.append((row, -step))
        return -step + (min(now, self.usual) if anew else self.usual)

    def _past_full(self, step: float, now: float) -> float | None:
        """Return how long a counter went on over where it was full; None where that is not what it did."""
        if not self.count_s:
            return None
        for full in (*(each * self.count_s for each in _FULL_AT), clock.DAY_S):
            passed = step + full
            most = max(_ROWS_BESIDE * self.usual, min(_PART_BESIDE * full, _MOST_BESIDE_S))
            # A counter with a sign goes from the highest to the lowest number.
            lowest = 0.0 if now >= 0 else -full / 2
            if 0 < passed <= min(most, full / 2) and lowest <= now and now - step <= lowest + full:
                return passed
        return None


@dataclass(slots=True)
class Stream:
    """All rows of a log, and what was noted on the way."""

    source: Source
    layout: Layout
    progress: Progress | None = None
    rows: int = 0
    left_out: int = 0
    left_out_rows: list[int] = field(default_factory=list)
    clockwork: Clockwork | None = None
    reports: Reports = field(default_factory=Reports)
    errors: SensorErrors = field(default_factory=SensorErrors)
    holes: Holes = field(default_factory=Holes)
    _before: tuple[Array, Array] | None = None
    _held: pd.DataFrame | None = None

    def __iter__(self) -> Iterator[Rows]:
        layout = self.layout
        times = layout.times
        daily = times.form.kind == "clock" and times.date is None
        count_s = times.form.factor if times.form.kind == "number" and times.date is None else 0.0
        self.clockwork = Clockwork(daily, times.stepwise, self.source.place, count_s)
        self.reports = Reports(layout.reports)
        way = 0.0
        for chunk in self._chunks():
            decimal = self.source.form.decimal
            raw = self._times(chunk)
            groups = self._groups(chunk)
            volts = self._one(chunk, layout.voltage) if layout.voltage is not None else groups.sum(axis=1)
            amps = np.zeros(len(chunk))
            for series, sign in layout.currents:
                values = self._one(chunk, series)
                amps = amps + sign * (np.nan_to_num(np.abs(values)) if len(layout.currents) > 1 else values)
            if layout.power is not None:
                amps = self._one(chunk, layout.power) / np.where(volts == 0, np.nan, volts)
            if layout.unsigned and layout.status is not None:
                ways = chunk[layout.status.number].astype("str").str.strip().map(layout.directions).ffill()
                amps = np.abs(amps) * np.where(ways.fillna(way).to_numpy(float) >= 0, 1.0, -1.0)
                way = float(ways.fillna(way).iloc[-1]) if len(ways) else way
            if layout.charge is not None:
                amps = self._one(chunk, layout.charge)
            good = np.isfinite(raw) & np.isfinite(volts) & np.isfinite(amps)
            self._count(good, chunk.index.to_numpy())
            good[good] = ~self._cannot_be(chunk.index.to_numpy()[good], volts[good], amps[good], groups[good])
            if not good.any():
                continue
            row = chunk.index.to_numpy()[good]
            seconds, known = self.clockwork.run(self._spread(raw[good]), row, self._written(chunk[good]))
            self._take_back_hours(seconds, row, volts[good], amps[good])
            if layout.reports:
                self.reports.feed(chunk[good], row, seconds)
            since = (
                clock.seconds_of(chunk[times.step_time.number], times.step_form, decimal)
                if times.step_time is not None and times.step_form is not None
                else np.full(len(chunk), np.nan)
            )
            amps = amps[good]
            if layout.charge is not None:
                amps = self._from_charge(seconds, amps)
                if layout.by_energy:
                    amps = amps / np.where(volts[good] == 0, np.nan, volts[good])
            yield Rows(
                row, seconds, known, volts[good], amps, since[good],
                self.errors.clear_temperatures(row, self._several(chunk, layout.temperatures)[good]),
                self.holes.filled(groups[good]),
                self._several(chunk, [each for _, each in layout.counters])[good],
                self._several(chunk, layout.cells_apart)[good],
                self._several(chunk, [each for _, each in layout.labels])[good],
            )  # fmt: skip

    def _chunks(self) -> Iterator[pd.DataFrame]:
        """Yield the rows of the log, those without a current put together with others where it stands by itself."""
        layout = self.layout
        words = [series.number for _, series in layout.reports]
        for chunk in self.source.chunks(layout.numbers(), self.progress, as_written=words):
            yield self._carried(chunk) if layout.carried_rows else chunk

    def _carried(self, chunk: pd.DataFrame) -> pd.DataFrame:
        """Return the rows that hold a current, each with what the other columns last held."""
        import pandas as pd

        layout = self.layout
        amps = [series.number for series, _ in layout.currents]
        volts = [each.number for each in (layout.voltage, *layout.groups) if each is not None]
        times = layout.times
        kept = {*amps, *(each.number for each in (times.time, times.date) if each is not None)}
        before = 0 if self._held is None else len(self._held)
        whole = chunk if self._held is None else pd.concat([self._held, chunk])
        # As long as a voltage holds, a row may need one of the chunk before.
        self._held = whole.iloc[-layout.carried_rows - 1 :]
        there = whole[amps].notna().any(axis=1).to_numpy(bool, copy=True)
        there[:before] = False
        filled = whole.copy()
        for column in set(layout.numbers()) - kept:
            limit = layout.carried_rows if column in volts else None
            filled[column] = whole[column].ffill(limit=limit)
        return filled[there]

    def _written(self, chunk: pd.DataFrame) -> Callable[[int], str]:
        """Return what gives the time of a row as the log writes it."""
        times = self.layout.times
        columns = [each.number for each in (times.date, times.time) if each is not None]
        return lambda row: " ".join(str(chunk[each].iloc[row]).strip() for each in columns)

    def _one(self, chunk: pd.DataFrame, series: Series) -> Array:
        values: Array = numbers_of(chunk[series.number], self.source.form.decimal)
        return values * series.factor + series.offset

    def _several(self, chunk: pd.DataFrame, several: list[Series]) -> Array:
        if not several:
            return np.zeros((len(chunk), 0))
        return np.column_stack([self._one(chunk, each) for each in several])

    def _from_charge(self, seconds: Array, counted_ah: Array) -> Array:
        """Return the current between rows, the last row of the chunk before among them."""
        if self._before is not None:
            seconds, counted_ah = np.append(self._before[0], seconds), np.append(self._before[1], counted_ah)
        amps = current_of_charge(seconds, counted_ah)
        if self._before is not None:
            amps = amps[1:]
        self._before = (seconds[-1:], counted_ah[-1:])
        return amps

    def _groups(self, chunk: pd.DataFrame) -> Array:
        listed = self.layout.group_list
        if listed is None:
            return self._several(chunk, self.layout.groups)
        series, count = listed
        found = chunk[series.number].astype("str").fillna("").str.findall(r"\d+(?:\.\d+)?")
        rows = [
            [float(each) for each in entry] if len(entry) == count else [np.nan] * count for entry in found
        ]
        return np.array(rows, dtype=float) * series.factor

    def _times(self, chunk: pd.DataFrame) -> Array:
        """Return the times of rows as they are written. [s]."""
        times, decimal = self.layout.times, self.source.form.decimal
        raw = clock.seconds_of(chunk[times.time.number], times.form, decimal)
        if times.date is not None and times.date_form is not None:
            raw = raw + clock.seconds_of(chunk[times.date.number], times.date_form, decimal)
        return raw

    def _spread(self, raw: Array) -> Array:
        a_minute = self.layout.times.form.rows_a_minute
        return clock.spread_over_minutes(raw, a_minute) if a_minute else raw

    def _take_back_hours(self, seconds: Array, row: npt.NDArray[np.int64], volts: Array, amps: Array) -> None:
        """Take the hour by which a clock was put forward off the times from there on."""
        layout, work = self.layout, self.clockwork
        if layout.times.form.kind == "number" or layout.charge is not None or work is None:
            return
        for at in put_forward(seconds, volts, amps, 0.05 * layout.largest_a):
            seconds[at:] -= HOUR_S
            work.offset -= HOUR_S
            work.forward.append(int(row[at]))

    def _cannot_be(
        self, row: npt.NDArray[np.int64], volts: Array, amps: Array, groups: Array
    ) -> npt.NDArray[np.bool_]:
        """Return which rows hold a reading that no pack makes; they are no rows of the log any more."""
        layout = self.layout
        # A current worked out from a counter or a power is no reading.
        read = layout.currents[0][0].factor if layout.currents else 0.0
        bad = self.errors.find(
            row, volts, amps, groups, (layout.voltage.factor if layout.voltage is not None else 1.0, read)
        )
        self.rows -= int(bad.sum())
        return bad

    def _count(self, good: npt.NDArray[np.bool_], row: npt.NDArray[np.int64]) -> None:
        self.rows += int(good.sum())
        self.left_out += int((~good).sum())
        room = _MOST_LEFT_OUT - len(self.left_out_rows)
        self.left_out_rows += [int(each) for each in row[~good][:room]]

    def remarks(self) -> list[str]:
        """Return what was noted of rows and times."""
        said = []
        if self.left_out:
            rows = "1 row has" if self.left_out == 1 else f"{self.left_out} rows have"
            said.append(
                f"{rows} no time, voltage or current, left out; the first is row {self.left_out_rows[0]}"
            )
        said += [*self.errors.remarks(), *self.holes.remarks()]
        work = self.clockwork
        if work is None:
            return said
        if work.restarts:
            said.append(
                f"the log begins again at row {', '.join(map(str, work.restarts[:5]))}"
                f"{' and later' if len(work.restarts) > 5 else ''}: how long it stood still is not known"
            )
        for row, seconds in work.overflows[:3]:
            said.append(
                f"the counter of the time was full at row {row} and began anew: {seconds:.10g} s put on from there"
            )
        if len(work.overflows) > 3:
            said.append(f"and {len(work.overflows) - 3} times more")
        for row, seconds in work.set_back[:3]:
            said.append(
                f"the clock goes back by {seconds:.0f} s at row {row}: taken as set back, not as time"
            )
        for row in work.forward[:3]:
            said.append(
                f"the clock goes on by an hour at row {row} and the voltage does not: taken as put forward, not as time"
            )
        for row, seconds in work.leaps[:3]:
            said.append(
                f"the clock leaps by {seconds / clock.DAY_S:.0f} days at row {row}: not taken as time"
            )
        if work.disorder:
            said.append(f"{work.disorder} rows stand a little out of order of time")
        return said
