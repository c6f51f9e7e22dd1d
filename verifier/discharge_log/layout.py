"""What is known of a log's columns: a sample of them while they are found, and the layout that results."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from verifier.discharge_log import clock
from verifier.discharge_log.entries import kind_of, number, split_unit, tidy
from verifier.discharge_log.headings import Meaning, Unit, meaning_of, unit_named
from verifier.discharge_log.model import Column
from verifier.discharge_log.source import Source

Array = npt.NDArray[np.float64]

NAME_THEM = "put a row of headings above, such as time_s, voltage_v, current_a"


@dataclass(slots=True)
class Series:
    """One column to read: its place, factor to its unit, offset (for F and K), heading, and step (of a counter).

    ``with_unit`` says whether the log tells the unit.
    """

    number: int
    heading: str
    factor: float = 1.0
    offset: float = 0.0
    about: str = ""
    label: int | None = None
    step: float = 0.0
    with_unit: bool = False


@dataclass(slots=True)
class TimeColumns:
    """The time, the date where it stands apart, and the time in a tester's step; each with its form."""

    time: Series
    form: clock.TimeForm
    stepwise: bool
    date: Series | None = None
    date_form: clock.TimeForm | None = None
    step_time: Series | None = None
    step_form: clock.TimeForm | None = None


@dataclass(slots=True)
class Layout:
    """The columns of a log that are read, and what is to be said of them; ``warnings`` before any figure.

    ``currents`` is one column, or one for charge and one for discharge with the signs +1 and -1, or none
    where ``power`` or a counted ``charge`` stands for it. ``reports`` are what the BMS says of itself, each with what
    it is of (see `headings.report_of_bms`). ``directions`` says of each word of the status
    which way the current flows; ``unsigned`` that it must, as the current is written without a sign. ``of_means`` says
    that a row holds the means of the time since the row before. ``cells_apart`` are the lowest cell and the highest or
    mean one, or nothing. ``labels`` are the tester's own count of cycles and steps. ``carried_rows``: voltage and
    current stand in rows of their own, and a voltage holds for so many rows at most; 0 where a row has both.
    ``by_energy``: what ``charge`` counts is an energy, [Wh], over the voltage.
    ``power_agrees``: a column of the power is the voltage times the current, None where there is none.
    """

    times: TimeColumns
    voltage: Series | None
    currents: list[tuple[Series, int]]
    groups: list[Series]
    temperatures: list[Series]
    counters: list[tuple[str, Series]]
    status: Series | None
    directions: dict[str, int]
    columns: tuple[Column, ...] = ()
    remarks: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    unsigned: bool = False
    of_means: bool = False
    cells_apart: list[Series] = field(default_factory=list)
    labels: list[tuple[str, Series]] = field(default_factory=list)
    carried_rows: int = 0
    power: Series | None = None
    charge: Series | None = None
    by_energy: bool = False
    group_list: tuple[Series, int] | None = None
    reports: list[tuple[str, Series]] = field(default_factory=list)
    power_agrees: bool | None = None
    largest_a: float = 0.0
    step_a: float = 0.0
    noise_a: float = 0.0
    step_v: float = 0.0

    def numbers(self) -> list[int]:
        """Return the places of all columns that are read."""
        listed = self.group_list[0] if self.group_list is not None else None
        times = self.times
        ours = [self.voltage, self.status, self.power, self.charge, listed]
        several = [times.time, times.date, times.step_time, *ours]
        places = [each.number for each in several if each is not None]
        places += [each.number for each, _ in self.currents]
        places += [each.number for _, each in (*self.counters, *self.reports, *self.labels)]
        return places + [each.number for each in (*self.groups, *self.temperatures, *self.cells_apart)]


class Table:
    """The sample by columns: what each entry is, and its numbers."""

    def __init__(self, source: Source) -> None:
        self.form = source.form
        self.rows = source.sample()
        self.width = self.form.width
        self.meanings = [self._meaning(number) for number in range(self.width)]
        self._numbers: dict[int, Array] = {}

    def entries(self, column: int) -> list[str]:
        """Return a column as it is written."""
        return [row[column] if column < len(row) else "" for row in self.rows]

    def numbers(self, column: int) -> Array:
        """Return a column as numbers, nan where an entry is none."""
        if column not in self._numbers:
            decimal = self.form.decimal
            entries = self.entries(column)
            if decimal == "," and not any("," in each for each in entries):
                decimal = "."
            self._numbers[column] = np.array([number(each, decimal) for each in entries], dtype=float)
        return self._numbers[column]

    def heading(self, column: int) -> str:
        """Return the heading of a column, empty where it has none."""
        return self.form.headings[column] if column < len(self.form.headings) else ""

    def unit(self, column: int) -> str:
        """Return the unit of a column that the head names, empty where it names none."""
        return self.form.units[column] if column < len(self.form.units) else ""

    def name(self, column: int) -> str:
        """Return what to call a column in a remark."""
        heading = self.heading(column)
        return f"column {column + 1} '{heading}'" if heading else f"column {column + 1}"

    def _meaning(self, column: int) -> Meaning | None:
        heading, unit = self.heading(column), self.unit(column)
        found = meaning_of(heading, unit) if heading else None
        if found is None and unit:
            found = meaning_of("", unit)
        # A unit behind every number says as much as one in the heading.
        if found is None or found.unit is None:
            behind = self._unit_behind(column)
            if behind is not None and (found is None or found.quantity == behind.quantity):
                about, label = (found.about, found.number) if found else ("", None)
                found = Meaning(behind.quantity, about, behind, label)
        return found

    def _unit_behind(self, column: int) -> Unit | None:
        entries = [tidy(row[column]) for row in self.rows[:60] if column < len(row)]
        units = {split_unit(each)[1] for each in entries if kind_of(each, self.form.decimal) == "unit"}
        return unit_named(units.pop()) if len(units) == 1 else None

    def of(self, quantity: str, *abouts: str) -> list[int]:
        """Return the columns of a quantity that hold figures."""
        return [
            number
            for number, each in enumerate(self.meanings)
            if each is not None
            and each.quantity == quantity
            and (not abouts or each.about in abouts)
            and self._filled(number)
        ]

    def _filled(self, column: int) -> bool:
        return any(
            kind_of(each, self.form.decimal) not in ("nothing", "words")
            for each in self.entries(column)[:2000]
        )


class Finder:
    """The search for the columns of one log; every guess is a remark, what stands above all a warning."""

    def __init__(self, source: Source) -> None:
        self.place = source.place
        self.table = Table(source)
        self.remarks: list[str] = list(source.remarks)
        self.warnings: list[str] = []
        self.told: dict[int, tuple[str, str, str]] = {}

    def series(self, column: int, read_as: str, unit: str, told_by: str, factor: float = 1.0) -> Series:
        """Return a column as it is to be read, and note what it was read as and by what that was told."""
        self.told[column] = (read_as, unit, told_by)
        meaning = self.table.meanings[column]
        label = meaning.number if meaning is not None else None
        about = meaning.about if meaning is not None else ""
        with_unit = meaning is not None and meaning.unit is not None
        return Series(column, self.table.heading(column), factor, 0.0, about, label, with_unit=with_unit)

    def kind(self, column: int) -> str:
        """Return what most entries of a column are: number, clock, moment, date or nothing."""
        return clock.form_of_times(self.table.entries(column)[:500], self.table.form.decimal)


def table_seconds(table: Table, column: int, form: clock.TimeForm) -> list[float]:
    """Return the sample of a time column in seconds."""
    import pandas as pd

    entries = table.entries(column)
    if form.kind == "number":
        return list(table.numbers(column) * form.factor)
    return list(clock.seconds_of(pd.Series(entries, dtype="str"), form, table.form.decimal))


def current_of_charge(seconds: Array, counted_ah: Array) -> Array:
    """Return the current from the row before to each row, by a counted charge; 0 where it starts anew. [A].

    Parameters
    ----------
    seconds, counted_ah : array of shape (n_rows,)
    """
    passed = np.diff(seconds, prepend=seconds[:1])
    moved = np.abs(np.diff(counted_ah, prepend=counted_ah[:1]))
    anew = np.abs(counted_ah) < moved
    return np.asarray(np.where((passed > 0) & ~anew, 3600 * moved / np.where(passed > 0, passed, 1.0), 0.0))
