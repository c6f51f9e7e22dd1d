"""Invented logs of known truth: a cell's curve, a resistance, constant currents, and ways of writing them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from verifier.discharge_log.model import LogReading
from verifier.discharge_log.reading import read_log

# Open-circuit voltages of Chen 2020, DOI 10.1149/1945-7111/ab9050, charge from 0 to 100 % in tenths.
CURVE_V = (2.5, 3.2959, 3.4852, 3.5814, 3.667, 3.7509, 3.8406, 3.9479, 4.0421, 4.0967, 4.2)


def rest_v(charge: float) -> float:
    """Return the voltage of a cell at rest. [V]."""
    tenth = min(max(charge, 0.0), 1.0) * 10
    below = min(int(tenth), 9)
    return CURVE_V[below] + (tenth - below) * (CURVE_V[below + 1] - CURVE_V[below])


@dataclass(frozen=True)
class Row:
    """One row: s, V, A (a discharge below zero), C, and the voltages of the groups."""

    s: float
    v: float
    a: float
    c: float = 25.0
    groups: tuple[float, ...] = ()


@dataclass(frozen=True)
class Made:
    """A log of known truth; the truth is the trapezoidal rule over the rows with current. [Ah], [Wh]."""

    rows: tuple[Row, ...]

    @property
    def ah(self) -> float:
        return abs(sum((a.a + b.a) / 2 * (b.s - a.s) for a, b in pairwise(self.rows))) / 3600

    @property
    def wh(self) -> float:
        return abs(sum((a.a * a.v + b.a * b.v) / 2 * (b.s - a.s) for a, b in pairwise(self.rows))) / 3600

    def write(self, line: Callable[[Row], str], heading: str = "") -> str:
        """Return the log as text."""
        return "\n".join([*([heading] if heading else []), *(line(row) for row in self.rows)]) + "\n"

    def changed(self, change: Callable[[Row], Row]) -> Made:
        """Return the log with every row changed."""
        return Made(tuple(change(row) for row in self.rows))


@dataclass
class Maker:
    """Puts a log together piece by piece. Cells in series, each of `capacity_ah`, with a resistance."""

    series: int = 10
    capacity_ah: float = 10.0
    ohm: float = 0.02
    every_s: float = 5.0
    weak: dict[int, float] = field(default_factory=dict)
    used_ah: float = 0.0
    s: float = 0.0
    rows: list[Row] = field(default_factory=list)
    with_groups: bool = False

    def _row(self, amps: float) -> Row:
        cells = [
            rest_v(1 - self.used_ah / self.weak.get(number, self.capacity_ah)) + amps * self.ohm
            for number in range(1, self.series + 1)
        ]
        row = Row(self.s, sum(cells), amps, 25.0, tuple(cells) if self.with_groups else ())
        self.rows.append(row)
        return row

    def hold(self, amps: float, seconds: float) -> Maker:
        """Let a current flow for a time, below zero to discharge; 0 is a rest."""
        for _ in range(round(seconds / self.every_s)):
            self._row(amps)
            self.used_ah -= amps * self.every_s / 3600
            self.s += self.every_s
        return self

    def empty(self, amps: float, cell_v: float = 2.8) -> Maker:
        """Discharge until the mean cell, or the weakest where groups are logged, is down to a voltage."""
        while True:
            row = self._row(-amps)
            lowest = min(row.groups) if row.groups else row.v / self.series
            if lowest <= cell_v:
                return self
            self.used_ah += amps * self.every_s / 3600
            self.s += self.every_s

    def opened(self, seconds: float = 60) -> Maker:
        """Let the BMS open: nothing at the terminals."""
        for _ in range(round(seconds / self.every_s)):
            self.s += self.every_s
            self.rows.append(Row(self.s, 0.2, 0.0, 25.0, self.rows[-1].groups))
        return self

    def rest(self, seconds: float) -> Maker:
        """Rest after a discharge."""
        self.s += self.every_s
        return self.hold(0.0, seconds)

    def made(self) -> Made:
        """Return the log."""
        return Made(tuple(self.rows))


def usual() -> Made:
    """A rest of five minutes, 5 A to 2.8 V a cell, another rest: ten cells of 10 Ah."""
    return Maker().hold(0.0, 300).empty(5.0).rest(300).made()


Read = Callable[..., LogReading]
PlainCsv = Callable[[Made], str]
Same = Callable[[LogReading, Made], None]
Moved = Callable[..., Row]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Return a function that writes text to a file and reads it as a log."""

    def run(text: str | bytes, name: str = "log.csv", **settings: Any) -> LogReading:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_log(str(path), **settings)

    return run


@pytest.fixture
def maker() -> type[Maker]:
    return Maker


@pytest.fixture
def usual_log() -> Made:
    return usual()


@pytest.fixture
def same() -> Same:
    """Return a check that a reading holds one discharge of a log's truth, to 0.3 %."""

    def check(reading: LogReading, made: Made) -> None:
        assert len(reading.discharges) == 1, reading.remarks
        flow = reading.discharges[0]
        assert flow.ah == pytest.approx(made.ah, rel=0.003)
        assert flow.wh == pytest.approx(made.wh, rel=0.003)

    return check


def plain(rows: Sequence[Row]) -> str:
    """Return rows as the plainest CSV."""
    return Made(tuple(rows)).write(lambda r: f"{r.s:.1f},{r.v:.3f},{r.a:.3f}", "time_s,voltage_v,current_a")


@pytest.fixture
def plain_csv() -> PlainCsv:
    return lambda made: plain(made.rows)


@pytest.fixture
def moved() -> Moved:
    """Return `replace`, for changing rows."""
    return replace
