"""Which column is what: headings propose, values confirm, and whatever is guessed is a remark."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import isfinite

import numpy as np
import numpy.typing as npt

from verifier.discharge_log import by_values, clock
from verifier.discharge_log.entries import kind_of, number, split_unit, tidy
from verifier.discharge_log.headings import Meaning, Unit, direction_of, meaning_of, unit_named
from verifier.discharge_log.model import Column
from verifier.discharge_log.source import Source
from verifier.errors import UnreadableInput

Array = npt.NDArray[np.float64]

HIGHEST_V, HIGHEST_A, HIGHEST_AH = 1000.0, 1000.0, 1000.0
"""No pack of a light electric vehicle is beyond; what is, stands in thousandths."""

_LONGEST_FLOW_H = 150.0
_GROUP_VOLTAGE = re.compile(r"\d+(?:\.\d+)?")

NAME_THEM = "put a row of headings above, such as time_s, voltage_v, current_a"


@dataclass(slots=True)
class Series:
    """One column to read: its place, the factor to its unit, an offset (for F and K), and its heading."""

    number: int
    heading: str
    factor: float = 1.0
    offset: float = 0.0
    about: str = ""
    label: int | None = None


@dataclass(slots=True)
class Layout:
    """The columns of a log that are read, and what is to be said of them.

    ``time`` and ``date`` belong together where a date stands apart from its time. ``currents`` is one
    column, or one for charge and one for discharge with the signs +1 and -1.
    """

    time: Series
    time_form: clock.TimeForm
    date: Series | None
    date_form: clock.TimeForm | None
    step_time: Series | None
    voltage: Series | None
    currents: list[tuple[Series, int]]
    groups: list[Series]
    temperatures: list[Series]
    counters: list[tuple[str, Series]]
    status: Series | None
    directions: dict[str, int]
    columns: tuple[Column, ...]
    remarks: list[str] = field(default_factory=list)
    power: Series | None = None
    group_list: tuple[Series, int] | None = None
    largest_a: float = 0.0
    step_a: float = 0.0
    noise_a: float = 0.0
    step_v: float = 0.0

    def numbers(self) -> list[int]:
        """Return the places of all columns that are read."""
        listed = self.group_list[0] if self.group_list is not None else None
        several = [self.time, self.date, self.step_time, self.voltage, self.status, self.power, listed]
        places = [each.number for each in several if each is not None]
        places += [each.number for each, _ in self.currents] + [each.number for _, each in self.counters]
        return places + [each.number for each in (*self.groups, *self.temperatures)]


class _Table:
    """The sample by columns: what each entry is, and its numbers."""

    def __init__(self, source: Source) -> None:
        self.form = source.form
        self.rows = source.sample()
        self.width = self.form.width
        self.meanings = [self._meaning(number) for number in range(self.width)]
        self._numbers: dict[int, Array] = {}

    def entries(self, column: int) -> list[str]:
        return [row[column] if column < len(row) else "" for row in self.rows]

    def numbers(self, column: int) -> Array:
        if column not in self._numbers:
            decimal = self.form.decimal
            entries = self.entries(column)
            if decimal == "," and not any("," in each for each in entries):
                decimal = "."
            self._numbers[column] = np.array([number(each, decimal) for each in entries], dtype=float)
        return self._numbers[column]

    def heading(self, column: int) -> str:
        return self.form.headings[column] if column < len(self.form.headings) else ""

    def name(self, column: int) -> str:
        heading = self.heading(column)
        return f"column {column + 1} '{heading}'" if heading else f"column {column + 1}"

    def _meaning(self, column: int) -> Meaning | None:
        found = meaning_of(self.heading(column), self.form.units[column]) if self.heading(column) else None
        if found is None and self.form.units[column]:
            found = meaning_of("", self.form.units[column])
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


class _Finder:
    """Finds the columns of one log; every guess is kept as a remark."""

    def __init__(self, source: Source) -> None:
        self.place = source.place
        self.table = _Table(source)
        self.remarks: list[str] = list(source.remarks)
        self.told: dict[int, tuple[str, str, str]] = {}

    def series(self, column: int, read_as: str, unit: str, told_by: str, factor: float = 1.0) -> Series:
        self.told[column] = (read_as, unit, told_by)
        meaning = self.table.meanings[column]
        label = meaning.number if meaning is not None else None
        about = meaning.about if meaning is not None else ""
        return Series(column, self.table.heading(column), factor, 0.0, about, label)

    def find(self) -> Layout:
        time, time_form, date, date_form, step_time = self._time()
        voltage, currents, groups = self._electrical(time, time_form)
        temperatures = self._temperatures()
        counters = self._counters()
        status, directions = self._status(len(currents))
        layout = Layout(
            time, time_form, date, date_form, step_time, voltage, currents, groups, temperatures, counters,
            status, directions, (), self.remarks,
        )  # fmt: skip
        if not currents:
            layout.power = self._power()
        if not groups:
            layout.group_list = self._group_list()
        self._scales(layout)
        layout.columns = tuple(
            Column(number + 1, self.table.heading(number), *self.told[number]) for number in sorted(self.told)
        )
        return layout

    # -- time --------------------------------------------------------------------------------------------

    def _time(self) -> tuple[Series, clock.TimeForm, Series | None, clock.TimeForm | None, Series | None]:
        table = self.table
        steps = table.of("time", "step")
        candidates = [
            each for each in (*table.of("time", "total", ""), *table.of("moment")) if each not in steps
        ]
        dates = table.of("date")
        scored = [(self._time_score(each), -place, each) for place, each in enumerate([*candidates, *dates])]
        usable = [each for each in scored if each[0] > 0]
        told_by = "heading"
        if not usable and steps:
            usable = [(1.0, 0, steps[0])]
            self.remarks.append(
                f"{table.name(steps[0])} starts anew with each step: its steps were put one after another"
            )
        if not usable:
            column = by_values.time_column(
                table.width, table.entries, table.numbers, table.form.decimal, self.told
            )
            if column is None:
                raise UnreadableInput(self.place, "no column holds a time that runs on", NAME_THEM)
            usable, told_by = [(1.0, 0, column)], "values"
            self.remarks.append(f"{table.name(column)} read as the time, as it is what runs on in every row")
        column = max(usable)[2]
        form = self._time_form(column)
        date = date_form = None
        if form.kind == "date":
            date, date_form = self.series(column, "date", "", "heading"), form
            clocks = [each for each in range(table.width) if self._kind(each) == "clock"]
            if not clocks:
                raise UnreadableInput(
                    self.place, f"{table.name(column)} has days only, no time of day", NAME_THEM
                )
            column = clocks[0]
            form = self._time_form(column)
        elif form.kind == "clock":
            beside = [each for each in range(table.width) if self._kind(each) == "date"]
            if beside and max(table_seconds(table, column, form), default=0.0) < clock.DAY_S:
                date = self.series(beside[0], "date", "", "heading" if table.heading(beside[0]) else "values")
                date_form = self._time_form(beside[0])
        step_time = None
        if steps and steps[0] != column and self._kind(steps[0]) in ("number", "clock"):
            step_form = self._time_form(steps[0])
            if step_form.kind == "number":
                step_time = self.series(
                    steps[0], "time in the step", step_form.unit, "heading", step_form.factor
                )
        series = self.series(
            column, "time", form.unit if form.kind == "number" else form.kind, told_by, form.factor
        )
        if form.guessed:
            self.remarks.append(f"{table.name(column)} {form.guessed}")
        return series, form, date, date_form, step_time

    def _kind(self, column: int) -> str:
        return clock.form_of_times(self.table.entries(column)[:500], self.table.form.decimal)

    def _time_score(self, column: int) -> float:
        """Return how well a column serves as the time: 0 not at all; numbers before clocks before dates."""
        kind = self._kind(column)
        if kind == "nothing":
            return 0.0
        form = self._time_form(column)
        score = {"number": 3.0, "clock": 2.5, "moment": 2.0, "date": 1.0}[kind]
        seconds = np.array(table_seconds(self.table, column, form))
        seconds = seconds[np.isfinite(seconds)]
        if len(seconds) > 2:
            forward = np.diff(seconds)
            if (forward == 0).mean() > 0.9 and kind != "date":
                score -= 1.5
            if (forward < 0).mean() > 0.0:
                # The clock of a day goes back at midnight; any other column that does is the worse choice.
                score -= 0.1 if kind == "clock" and (forward < 0).sum() <= 3 else 1.2
        meaning = self.table.meanings[column]
        return max(score + (0.2 if meaning is not None and meaning.about == "total" else 0.0), 0.01)

    def _time_form(self, column: int) -> clock.TimeForm:
        table = self.table
        kind = self._kind(column)
        entries = [each for each in table.entries(column) if each]
        meaning = table.meanings[column]
        if kind == "number":
            if meaning is not None and meaning.unit is not None and meaning.unit.quantity == "time":
                return clock.TimeForm("number", meaning.unit.factor, unit=meaning.unit.name)
            factor, unit, guessed = clock.number_factor(entries, table.form.decimal)
            return clock.TimeForm("number", factor, unit=unit, guessed=guessed)
        if kind == "clock":
            minutes = clock.two_parts_are_minutes(entries)
            guessed = "read as minutes and seconds" if minutes else ""
            return clock.TimeForm("clock", minutes_seconds=minutes, guessed=guessed)
        order, guessed = clock.date_order([each.split()[0] if "T" not in each else each for each in entries])
        return clock.TimeForm(kind, order=order, guessed=guessed)

    # -- voltage, current, groups ------------------------------------------------------------------------

    def _electrical(
        self, time: Series, form: clock.TimeForm
    ) -> tuple[Series | None, list[tuple[Series, int]], list[Series]]:
        table = self.table
        groups = self._groups()
        grouped = {each.number for each in groups}
        voltages = [each for each in table.of("voltage", "", "total", "group") if each not in grouped]
        currents = table.of("current", "")
        parts = (table.of("current", "charge"), table.of("current", "discharge"))
        if not currents and not (parts[0] and parts[1]):
            currents = [*parts[0], *parts[1]][:1]
        if not currents and not all(parts) and voltages and table.of("power"):
            return self._one_voltage(voltages), [], groups
        missing = [
            name
            for name, there in (("voltage", voltages or groups), ("current", currents or all(parts)))
            if not there
        ]
        if missing:
            found = self._by_values(time, voltages, currents, missing, grouped)
            voltages, currents = found
        voltage = self._one_voltage(voltages) if voltages else None
        if voltage is None:
            self.remarks.append(f"no column holds the pack's voltage: it is the sum of {len(groups)} groups")
        elif groups:
            self._check_sum(voltage, groups)
        if currents:
            return voltage, [(self._one_current(currents), 1)], groups
        both = [(self._current(parts[0][0]), 1), (self._current(parts[1][0]), -1)]
        return voltage, both, groups

    def _by_values(
        self, time: Series, voltages: list[int], currents: list[int], missing: list[str], grouped: set[int]
    ) -> tuple[list[int], list[int]]:
        """Find voltage or current, or both, by what their values do."""
        table = self.table
        taken = {*grouped, time.number, *(each for each in self.told)}
        meant = {
            number
            for number, each in enumerate(table.meanings)
            if each is not None and each.quantity not in ("voltage", "current")
        }
        free = [each for each in range(table.width) if each not in taken and each not in meant]
        found = by_values.voltage_and_current(
            free, table.numbers, voltages[0] if voltages else None, currents[0] if currents else None
        )
        if found is None:
            raise UnreadableInput(
                self.place, f"no column can be told to be the {' or the '.join(missing)}", NAME_THEM
            )
        for name, column in (("voltage", found.voltage), ("current", found.current)):
            if name in missing:
                self.remarks.append(f"{table.name(column)} read as the {name}: {found.because}")
        return [found.voltage], [found.current]

    def _one_voltage(self, candidates: list[int]) -> Series:
        table = self.table
        best = candidates[0]
        totals = [each for each in candidates if (table.meanings[each] or Meaning("")).about == "total"]
        if totals:
            best = totals[0]
        others = [each for each in candidates if each != best]
        if others:
            names = ", ".join(table.name(each) for each in others[:4])
            self.remarks.append(f"{table.name(best)} read as the voltage; not {names}")
        factor, unit, told_by = self._factor(best, "voltage", HIGHEST_V, "V")
        return self.series(best, "voltage", unit, told_by, factor)

    def _one_current(self, candidates: list[int]) -> Series:
        table = self.table
        if len(candidates) > 1:
            # A column that never changes is a set value.
            moving = [each for each in candidates if len(set(table.numbers(each)[:5000])) > 1]
            candidates = moving or candidates
        if len(candidates) > 1:
            names = ", ".join(table.name(each) for each in candidates[1:5])
            self.remarks.append(f"{table.name(candidates[0])} read as the current; not {names}")
        return self._current(candidates[0])

    def _current(self, column: int) -> Series:
        factor, unit, told_by = self._factor(column, "current", HIGHEST_A, "A")
        return self.series(column, "current", unit, told_by, factor)

    def _factor(self, column: int, quantity: str, highest: float, unit: str) -> tuple[float, str, str]:
        """Return the factor to V or A, the unit, and what told it; thousandths where nothing else is possible."""
        table = self.table
        meaning = table.meanings[column]
        told_by = "heading" if meaning is not None and meaning.quantity == quantity else "values"
        stated = meaning.unit if meaning is not None else None
        factor = stated.factor if stated is not None else 1.0
        values = np.abs(table.numbers(column)) * factor
        values = values[np.isfinite(values)]
        top = float(np.quantile(values, 0.99)) if len(values) else 0.0
        if top > highest and factor == 1.0:
            self.remarks.append(
                f"{table.name(column)} {'says ' + unit if stated else 'has no unit'} and reaches {top:g}, "
                f"which no light vehicle's pack has: read as m{unit}"
            )
            return 0.001, f"m{unit}", told_by
        if stated is None:
            self.remarks.append(f"{table.name(column)} has no unit: read as {unit}")
        return factor, stated.name if stated is not None else unit, told_by

    def _groups(self) -> list[Series]:
        """Return the columns of group voltages, in order of their numbers."""
        table = self.table
        found = []
        for column in table.of("voltage", "group"):
            meaning = table.meanings[column]
            values = table.numbers(column)
            values = values[np.isfinite(values) & (values != 0)]
            if meaning is None or meaning.number is None or not len(values):
                continue
            middle = float(np.median(values)) * (meaning.unit.factor if meaning.unit else 1.0)
            factor = meaning.unit.factor if meaning.unit else 0.001 if middle > 500 else 1.0
            if 0.5 < float(np.median(values)) * factor < 5:
                found.append((meaning.number, column, factor))
        numbers = [each for each, _, _ in found]
        if (
            len(found) < 2
            or len(set(numbers)) != len(numbers)
            or max(numbers) - min(numbers) + 1 != len(numbers)
        ):
            return []
        told = []
        for label, column, factor in sorted(found):
            series = self.series(
                column,
                f"voltage of group {label - min(numbers) + 1}",
                "V" if factor == 1 else "mV",
                "heading",
                factor,
            )
            series.label = label - min(numbers) + 1
            told.append(series)
        if min(numbers) == 0:
            self.remarks.append("groups are counted from 0 in the log and from 1 here")
        return told

    def _power(self) -> Series:
        """Return the power, from which and the voltage the current is worked out."""
        column = self.table.of("power")[0]
        meaning = self.table.meanings[column]
        unit = meaning.unit if meaning is not None else None
        self.remarks.append(
            f"no column holds a current: worked out as {self.table.name(column)} over the voltage"
        )
        return self.series(
            column, "power", unit.name if unit else "W", "heading", unit.factor if unit else 1.0
        )

    def _group_list(self) -> tuple[Series, int] | None:
        """Return a column whose entries hold the voltages of all groups, and their number."""
        for column in range(self.table.width):
            if column in self.told:
                continue
            lists = [_GROUP_VOLTAGE.findall(each) for each in self.table.entries(column)[:200] if each]
            counts = {len(each) for each in lists}
            if len(counts) != 1 or not 3 <= (count := counts.pop()) <= 40:
                continue
            middle = float(np.median([float(each) for entry in lists for each in entry]))
            factor = 1.0 if 0.5 < middle < 5 else 0.001 if 500 < middle < 5000 else 0.0
            if factor:
                series = self.series(
                    column, f"voltages of {count} groups", "V" if factor == 1 else "mV", "values", factor
                )
                self.remarks.append(
                    f"{self.table.name(column)} read as the voltages of {count} groups in one entry"
                )
                return series, count
        return None

    def _check_sum(self, voltage: Series, groups: list[Series]) -> None:
        total = self.table.numbers(voltage.number) * voltage.factor
        parts = sum(
            (self.table.numbers(each.number) * each.factor for each in groups), start=np.zeros(len(total))
        )
        share = (
            np.median((parts / np.where(total == 0, np.nan, total))[np.isfinite(parts)])
            if len(total)
            else np.nan
        )
        if isfinite(float(share)) and abs(float(share) - 1) > 0.03:
            self.remarks.append(
                f"the {len(groups)} groups together are {100 * float(share):.0f} % of {self.table.name(voltage.number)}"
            )

    # -- the rest ----------------------------------------------------------------------------------------

    def _temperatures(self) -> list[Series]:
        table = self.table
        found = []
        for column in table.of("temperature"):
            meaning = table.meanings[column]
            values = table.numbers(column)
            values = values[np.isfinite(values)]
            if meaning is None or column in self.told or not len(values):
                continue
            unit = meaning.unit.name if meaning.unit else "C"
            series = self.series(
                column, "temperature of the air" if meaning.about == "air" else "temperature", unit, "heading"
            )
            if unit in ("F", "°F", "degF"):
                series.factor, series.offset = 5 / 9, -32 * 5 / 9
            elif unit == "K":
                series.offset = -273.15
            low, high = (
                float(np.quantile(values, part)) * series.factor + series.offset for part in (0.02, 0.98)
            )
            if high > 150 and meaning.unit is None and 273 < low:
                series.offset = -273.15
                self.remarks.append(f"{table.name(column)} has no unit and lies above 150: read as K")
            elif not (-60 <= low <= high <= 150):
                self.remarks.append(
                    f"{table.name(column)} is no temperature of a cell ({low:.0f} to {high:.0f} C): not read"
                )
                del self.told[column]
                continue
            found.append(series)
        if not table.form.has_headings and not found:
            for column, why in by_values.temperature_columns(table.width, table.numbers, set(self.told)):
                series = self.series(column, "temperature", "C", "values")
                series.about = "air" if "air" in why else "cell"
                self.remarks.append(f"column {column + 1} read as {why}")
                found.append(series)
        return found

    def _counters(self) -> list[tuple[str, Series]]:
        """Return the columns in which the instrument itself counts Ah and Wh."""
        table = self.table
        found = []
        for quantity, unit in (("capacity", "Ah"), ("energy", "Wh")):
            for column in table.of(quantity):
                meaning = table.meanings[column]
                if meaning is None or column in self.told:
                    continue
                factor = meaning.unit.factor if meaning.unit else 1.0
                name = f"{quantity} {meaning.about}".strip()
                series = self.series(
                    column, f"counted {name}", meaning.unit.name if meaning.unit else unit, "heading", factor
                )
                found.append((quantity, series))
        return found[:8]

    def _status(self, current_columns: int) -> tuple[Series | None, dict[str, int]]:
        """Return the column that says charge, discharge or rest, and what each of its words says."""
        table = self.table
        best: tuple[int, int, dict[str, int]] | None = None
        for column in range(table.width):
            if column in self.told or self._kind(column) != "nothing":
                continue
            words = {each for each in map(tidy, table.entries(column)) if each}
            known = {each: way for each in words if (way := direction_of(each)) is not None}
            meaning = table.meanings[column]
            heading = meaning is not None and meaning.quantity in ("status", "step")
            if (
                known
                and (heading or len(known) >= 0.7 * len(words))
                and (best is None or len(known) > best[0])
            ):
                best = (len(known), column, known)
        if best is None or not current_columns:
            return None, {}
        return self.series(best[1], "what the instrument does", "", "values"), best[2]

    def _scales(self, layout: Layout) -> None:
        """Find the largest current and the smallest steps of the readings; mend a current in mA by its Ah."""
        table = self.table
        current = np.zeros(len(table.rows))
        for series, sign in layout.currents:
            values = table.numbers(series.number) * series.factor
            current = current + sign * np.where(
                np.isfinite(values), np.abs(values) if len(layout.currents) > 1 else values, 0.0
            )
        if layout.power is not None and layout.voltage is not None:
            volts = table.numbers(layout.voltage.number) * layout.voltage.factor
            current = (
                table.numbers(layout.power.number) * layout.power.factor / np.where(volts == 0, np.nan, volts)
            )
        magnitude = np.abs(current[np.isfinite(current)])
        seconds = np.array(table_seconds(table, layout.time.number, layout.time_form))
        seconds = seconds[np.isfinite(seconds)]
        hours = max(0.0, float(seconds[-1] - seconds[0]) / 3600) if len(seconds) > 1 else 0.0
        top = float(np.quantile(magnitude, 0.995)) if len(magnitude) else 0.0
        if self._may_be_milliseconds(layout, seconds, magnitude, top):
            layout.time.factor *= 0.001
            layout.time_form = replace(layout.time_form, factor=layout.time_form.factor * 0.001, unit="ms")
            name = table.name(layout.time.number)
            self.told[layout.time.number] = ("time", "ms", self.told[layout.time.number][2])
            self.remarks = [each for each in self.remarks if each != f"{name} has no unit: read as seconds"]
            self.remarks.append(
                f"{name} has no unit; in seconds the current would flow for more than {_LONGEST_FLOW_H:g} h: read as ms"
            )
            hours *= 0.001
        unstated = all(
            (table.meanings[each.number] or Meaning("")).unit is None for each, _ in layout.currents
        )
        if unstated and hours * float(magnitude.mean() if len(magnitude) else 0.0) > HIGHEST_AH and top > 20:
            for series, _ in layout.currents:
                series.factor *= 0.001
                self.remarks = [
                    each
                    for each in self.remarks
                    if each != f"{table.name(series.number)} has no unit: read as A"
                ]
                self.told[series.number] = ("current", "mA", self.told[series.number][2])
                self.remarks.append(
                    f"{table.name(series.number)} has no unit; in A it would make more than {HIGHEST_AH:g} Ah: read as mA"
                )
            top *= 0.001
            current *= 0.001
        layout.remarks = self.remarks
        if top <= 0:
            raise UnreadableInput(
                self.place,
                "no current flows anywhere in the log",
                "a discharge has one; a log at rest proves no capacity",
            )
        layout.largest_a = top
        layout.step_a = by_values.smallest_step(current)
        moves = np.abs(np.diff(current[np.isfinite(current)]))
        layout.noise_a = 1.05 * float(np.median(moves)) if len(moves) else 0.0
        if layout.voltage is not None:
            layout.step_v = by_values.smallest_step(
                table.numbers(layout.voltage.number) * layout.voltage.factor
            )

    def _may_be_milliseconds(self, layout: Layout, seconds: Array, magnitude: Array, top: float) -> bool:
        """Whether a time without a unit must be in ms: whole numbers far apart, and a flow of weeks in seconds."""
        form = layout.time_form
        if form.kind != "number" or not form.guessed.startswith("has no unit") or len(seconds) < 3:
            return False
        steps = np.diff(seconds)
        usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else 0.0
        whole = bool(np.all(seconds[:500] == np.round(seconds[:500])))
        flowing = float((magnitude > 0.05 * top).mean()) if len(magnitude) else 0.0
        return whole and usual >= 50 and flowing * (seconds[-1] - seconds[0]) / 3600 > _LONGEST_FLOW_H


def table_seconds(table: _Table, column: int, form: clock.TimeForm) -> list[float]:
    """Return the sample of a time column in seconds."""
    import pandas as pd

    entries = table.entries(column)
    if form.kind == "number":
        return list(table.numbers(column) * form.factor)
    return list(clock.seconds_of(pd.Series(entries, dtype="str"), form, table.form.decimal))


def layout_of(source: Source) -> Layout:
    """Return which column of a log is what.

    Raises
    ------
    UnreadableInput
        If time, voltage or current cannot be told, or no current flows.
    """
    return _Finder(source).find()


def read_columns(chosen: Sequence[Series]) -> list[int]:
    """Return the places of columns."""
    return [each.number for each in chosen]
