"""The columns beside time, voltage and current: temperatures, counters, and what the instrument does."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from verifier.discharge_log import by_values
from verifier.discharge_log.entries import tidy
from verifier.discharge_log.headings import direction_of, place_of_sensor, says, words_of
from verifier.discharge_log.layout import Finder, Series

Array = npt.NDArray[np.float64]

# No sensor at a cell shows more in C while anybody still tests it.
_HOTTEST_SHOWN = 100.0
# A count that changes more often than every few rows is none of cycles or steps.
_ROWS_A_LABEL = 3
# How far a power may be off voltage times current, as rounded and taken a moment apart, and in how few rows.
_POWER_OFF, _FEWEST_POWERS = 0.03, 5


def find_temperatures(finder: Finder) -> list[Series]:
    """Return the temperatures, in C; one that can be none is left out with a remark."""
    table = finder.table
    found = []
    for column in table.of("temperature"):
        meaning = table.meanings[column]
        values = table.numbers(column)
        values = values[np.isfinite(values)]
        if meaning is None or column in finder.told or not len(values):
            continue
        unit = meaning.unit.name if meaning.unit else "C"
        scale = meaning.unit.factor if meaning.unit else 1.0
        series = finder.series(
            column,
            "temperature of the air" if meaning.about == "air" else "temperature",
            unit,
            "heading",
            scale,
        )
        _in_celsius(series, unit, scale)
        low, high = (
            float(np.quantile(values, part)) * series.factor + series.offset for part in (0.02, 0.98)
        )
        if high > 150 and meaning.unit is None and low > 273:
            series.offset = -273.15
            finder.remarks.append(f"{table.name(column)} has no unit and lies above 150: read as K")
        elif meaning.unit is None and high > _HOTTEST_SHOWN and _in_tenths(table.heading(column), values):
            series.factor = 0.1
            finder.told[column] = (finder.told[column][0], "0.1 C", finder.told[column][2])
            finder.remarks.append(
                f"{table.name(column)} read as tenths of a degree, by its name and its whole numbers"
            )
        elif meaning.unit is None and meaning.about in ("cell", "air") and _begins_in_f(values):
            series.factor, series.offset = 5 / 9, -32 * 5 / 9
            finder.told[column] = (finder.told[column][0], "F", finder.told[column][2])
            finder.remarks.append(
                f"{table.name(column)} has no unit and begins at {values[0]:.0f}, where no test begins in C: read as F"
            )
        elif not (-60 <= low <= high <= 150):
            finder.remarks.append(
                f"{table.name(column)} is no temperature of a cell ({low:.0f} to {high:.0f} C): not read"
            )
            del finder.told[column]
            continue
        found.append(series)
    found += _named_like_sensors(finder)
    if not table.form.has_headings and not found:
        for column, why in by_values.temperature_columns(table.width, table.numbers, set(finder.told)):
            series = finder.series(column, "temperature", "C", "values")
            series.about = "air" if "air" in why else "cell"
            finder.remarks.append(f"column {column + 1} read as {why}")
            found.append(series)
    return found


def _in_celsius(series: Series, unit: str, scale: float) -> None:
    """Set by what a temperature with a unit becomes C."""
    # "0.1 K" is a kelvin too, in tenths.
    kind = unit.rpartition(" ")[2]
    if kind in ("F", "°F", "degF"):
        series.factor, series.offset = scale * 5 / 9, -32 * 5 / 9
    elif kind == "K":
        series.offset = -273.15


def _in_tenths(heading: str, values: Array) -> bool:
    """Whether a heading such as ``temp_dc`` says tenths of a degree, and the values can be such."""
    named = not {"dc", "decic", "ddegc", "decidegc", "deci", "tenths"}.isdisjoint(words_of(heading))
    return (
        named
        and bool((values == np.round(values)).all())
        and float(np.abs(values).max()) <= 10 * _HOTTEST_SHOWN
    )


def _begins_in_f(values: Array) -> bool:
    """Whether a temperature begins so high that it must be in F: no test begins with a cell at 60 C or more."""
    return 60 <= float(np.median(values[:20])) <= 110 and float(values.max()) <= 200


def _named_like_sensors(finder: Finder) -> list[Series]:
    """Return columns such as T1 or T_MOS without a unit whose values are those of temperatures."""
    table = finder.table
    found = []
    for column in range(table.width):
        about = place_of_sensor(table.heading(column))
        if about is None or column in finder.told or not by_values.may_be_temperature(table.numbers(column)):
            continue
        series = finder.series(
            column, "temperature of the air" if about == "air" else "temperature", "C", "values"
        )
        series.about = about
        found.append(series)
    if found:
        names = ", ".join(table.name(each.number) for each in found[:8])
        finder.remarks.append(f"{names}: read as temperatures in C by name and values, without a unit")
    return found


def not_read(finder: Finder) -> list[str]:
    """Return the remark that names every column of which nothing was read."""
    table = finder.table
    left = [
        column for column in range(table.width) if column not in finder.told and any(table.entries(column))
    ]
    if not left:
        return []
    runs: list[list[int]] = []
    for column in left:
        if runs and runs[-1][-1] == column - 1:
            runs[-1].append(column)
        else:
            runs.append([column])
    places = ", ".join(
        f"{run[0] + 1} to {run[-1] + 1}" if len(run) > 2 else ", ".join(str(each + 1) for each in run)
        for run in runs
    )
    names = [name for column in left if (name := table.heading(column) or table.unit(column))]
    named = f": {', '.join(names)}" if names else ""
    return [f"not read: {'column' if len(left) == 1 else 'columns'} {places}{named}"]


def find_counters(finder: Finder) -> list[tuple[str, Series]]:
    """Return the columns in which the instrument itself counts Ah and Wh."""
    table = finder.table
    found = []
    for quantity, unit in (("capacity", "Ah"), ("energy", "Wh")):
        for column in table.of(quantity):
            meaning = table.meanings[column]
            if meaning is None or column in finder.told:
                continue
            factor = meaning.unit.factor if meaning.unit else 1.0
            name = f"{quantity} {meaning.about}".strip()
            series = finder.series(
                column, f"counted {name}", meaning.unit.name if meaning.unit else unit, "heading", factor
            )
            series.step = by_values.smallest_step(table.numbers(column)) * factor
            found.append((quantity, series))
    return found[:8]


def power_agrees(finder: Finder, voltage: Series | None, current: Array) -> bool | None:
    """Return whether a column of the power is the voltage times the current, None where no column tells.

    Parameters
    ----------
    finder : Finder
    voltage : Series or None
    current : array of shape (n_rows,)
        Of the sample, in A.
    """
    table = finder.table
    columns = table.of("power")
    if voltage is None or not columns:
        return None
    meaning = table.meanings[columns[0]]
    factor = meaning.unit.factor if meaning is not None and meaning.unit is not None else 1.0
    power = np.abs(table.numbers(columns[0])) * factor
    made = np.abs(table.numbers(voltage.number) * voltage.factor * current)
    known = np.isfinite(power) & np.isfinite(made)
    flowing = known & (made > 0.2 * np.max(made[known], initial=0.0)) & (made > 0)
    if flowing.sum() < _FEWEST_POWERS:
        return None
    return bool(abs(float(np.median(power[flowing] / made[flowing])) - 1) < _POWER_OFF)


def find_labels(finder: Finder) -> list[tuple[str, Series]]:
    """Return the columns in which a tester counts cycles and steps: whole numbers that change, of few values."""
    table = finder.table
    found = []
    for name in ("cycle", "step"):
        for column in range(table.width):
            words = words_of(table.heading(column))
            meaning = table.meanings[column]
            if column in finder.told or not says(words, "quantity", name) or finder.kind(column) != "number":
                continue
            if meaning is not None and (meaning.unit is not None or meaning.quantity not in (name, "other")):
                continue
            values = table.numbers(column)
            values = values[np.isfinite(values)]
            different = np.unique(values)
            if (
                not 2 <= len(different) <= len(values) / _ROWS_A_LABEL
                or (different != np.round(different)).any()
            ):
                continue
            found.append((name, finder.series(column, f"number of the {name}", "", "heading")))
            break
    return found


def find_status(finder: Finder) -> tuple[Series | None, dict[str, int]]:
    """Return the column that says charge, discharge or rest, and what each of its words says."""
    table = finder.table
    best: tuple[int, int, dict[str, int]] | None = None
    for column in range(table.width):
        if column in finder.told or finder.kind(column) != "nothing":
            continue
        words = {each for each in map(tidy, table.entries(column)) if each}
        known = {each: way for each in words if (way := direction_of(each)) is not None}
        meaning = table.meanings[column]
        heading = meaning is not None and meaning.quantity in ("status", "step")
        if known and (heading or len(known) >= 0.7 * len(words)) and (best is None or len(known) > best[0]):
            best = (len(known), column, known)
    if best is None:
        return None, {}
    return finder.series(best[1], "what the instrument does", "", "values"), best[2]
