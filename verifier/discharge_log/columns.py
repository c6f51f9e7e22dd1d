"""Which column is voltage and which is current: headings propose, values confirm, a guess is a remark."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from verifier.discharge_log import by_values
from verifier.discharge_log.bms_reports import find_reports, with_state
from verifier.discharge_log.contradictions import MOST_AH
from verifier.discharge_log.group_columns import (
    check_sum,
    find_cells_apart,
    find_group_list,
    find_groups,
    names_a_cell_apart,
)
from verifier.discharge_log.headings import Meaning, scale_in
from verifier.discharge_log.layout import NAME_THEM, Finder, Layout, Series, current_of_charge, table_seconds
from verifier.discharge_log.model import Column
from verifier.discharge_log.other_columns import (
    find_counters,
    find_labels,
    find_status,
    find_temperatures,
    not_read,
    power_agrees,
)
from verifier.discharge_log.several_packs import refuse_several_in_turn, side_by_side
from verifier.discharge_log.source import Source
from verifier.discharge_log.time_column import find_time
from verifier.discharge_log.time_unit import LONGEST_FLOW_H, TestRun, smaller_unit
from verifier.errors import UnreadableInput

Array = npt.NDArray[np.float64]

HIGHEST_V, HIGHEST_A = 1000.0, 1000.0
"""No pack of a light electric vehicle is beyond; what is, stands in thousandths."""

_HIGHEST_WITHOUT_UNIT_V, _LEAST_V = 200.0, 1.0
# Of the rows: how many at most have both voltage and current, and at least either, where each has its own; and for how
# many times as many rows as usual a voltage holds.
_BOTH, _EACH, _HOLDS_TIMES = 0.1, 0.1, 4.0


def layout_of(source: Source) -> Layout:
    """Return which column of a log is what.

    Raises
    ------
    UnreadableInput
        If time, voltage or current cannot be told, or no current flows.
    """
    return _found(Finder(source))


def _found(finder: Finder) -> Layout:
    times = find_time(finder)
    refuse_several_in_turn(finder)
    voltage, currents, groups = _electrical(finder, times.time)
    # A protection from temperature is no temperature.
    of_bms = bool(groups) or names_a_cell_apart(finder)
    reports = find_reports(finder, of_bms=of_bms)
    temperatures = find_temperatures(finder)
    counters = find_counters(finder) if currents or finder.table.of("power") else []
    status, directions = find_status(finder)
    layout = Layout(times, voltage, currents, groups, temperatures, counters, status, directions)
    layout.reports = with_state(reports, status, of_bms=of_bms)
    layout.labels = find_labels(finder)
    layout.cells_apart = [] if groups else find_cells_apart(finder)
    layout.of_means = voltage is not None and voltage.about == "mean voltage"
    if not currents and finder.table.of("power"):
        layout.power = _power(finder)
    elif not currents:
        layout.by_energy = not finder.table.of("capacity")
        layout.charge = _counted(finder, "energy" if layout.by_energy else "capacity")
    if not groups:
        layout.group_list = find_group_list(finder)
    layout.carried_rows = _carried_rows(finder, layout)
    _scales(finder, layout)
    layout.warnings = finder.warnings
    layout.remarks = [*finder.remarks, *_said_to_be_scaled(finder), *not_read(finder)]
    layout.columns = tuple(
        Column(number + 1, finder.table.heading(number), *finder.told[number])
        for number in sorted(finder.told)
    )
    return layout


def _said_to_be_scaled(finder: Finder) -> list[str]:
    """Return the remark on headings such as "V x10": in which sense they were read."""
    table = finder.table
    scaled = [n for n in sorted(finder.told) if finder.told[n][1] and scale_in(table.heading(n))[0] != 1]
    if not scaled:
        return []
    first = scaled[0]
    scale, number = scale_in(table.heading(first))[0], float(np.nanmedian(table.numbers(first)))
    names = ", ".join(table.name(each) for each in scaled)
    return [f"{names}: read by the scale in the heading, so that {number:.6g} is {number * scale:.6g}"]


def _carried_rows(finder: Finder, layout: Layout) -> int:
    """Return for how many rows a voltage holds where it and the current stand in rows of their own; else 0."""
    table = finder.table
    volts = [each.number for each in (layout.voltage, *layout.groups) if each is not None]
    amps = [series.number for series, _ in layout.currents]
    if not volts or not amps:
        return 0
    has_v, has_a = (
        np.isfinite([table.numbers(each) for each in columns]).any(axis=0) for columns in (volts, amps)
    )
    if (has_v & has_a).mean() > _BOTH or min(has_v.mean(), has_a.mean()) < _EACH:
        return 0
    finder.remarks.append(
        "voltage and current stand in rows of their own: each current is taken with the voltage last written"
    )
    return int(_HOLDS_TIMES / has_v.mean())


def _electrical(finder: Finder, time: Series) -> tuple[Series | None, list[tuple[Series, int]], list[Series]]:
    table = finder.table
    groups = find_groups(finder)
    grouped = {each.number for each in groups}
    voltages = [
        each for each in table.of("voltage", "", "total", "group") if each not in {*grouped, time.number}
    ]
    # A column has one meaning, and a clock is no current.
    currents, *parts = (
        [each for each in table.of("current", about) if each != time.number and finder.kind(each) == "number"]
        for about in ("", "charge", "discharge")
    )
    # A unit in a heading says more than a letter that may be a symbol.
    currents.sort(key=lambda each: (table.meanings[each] or Meaning("")).unit is None)
    turns = _by_turns(finder, [*currents, *parts[0], *parts[1]]) if not all(parts) else None
    if turns is not None:
        currents, parts = [], [[each] for each in turns]
    if not currents and not all(parts):
        currents = [*parts[0], *parts[1]][:1]
    voltages = voltages or _means(finder, "voltage")
    currents = currents if currents or all(parts) else _means(finder, "current")
    if not currents and not all(parts) and voltages and any(map(table.of, ("power", "capacity", "energy"))):
        return _one_voltage(finder, voltages), [], groups
    missing = [
        name
        for name, there in (("voltage", voltages or groups), ("current", currents or all(parts)))
        if not there
    ]
    if missing:
        found = _by_values(finder, time, voltages, currents, missing, grouped)
        voltages, currents = found
    _say_if_several_packs(finder, voltages, currents)
    voltage = _one_voltage(finder, voltages) if voltages else None
    if voltage is None:
        finder.remarks.append(f"no column holds the pack's voltage: it is the sum of {len(groups)} groups")
    elif groups:
        check_sum(finder, voltage, groups)
    if currents:
        return voltage, [(_one_current(finder, currents), 1)], groups
    both = [(_current(finder, parts[0][0]), 1), (_current(finder, parts[1][0]), -1)]
    return voltage, both, groups


def _by_turns(finder: Finder, candidates: list[int]) -> tuple[int, int] | None:
    """Return two columns of a current that never flow at once: of a charge and a discharge, whatever they are called.

    Which is which the voltage tells, unless a heading does.
    """
    table = finder.table
    moving = [each for each in candidates if len(set(table.numbers(each)[:5000])) > 1]
    if len(moving) != 2:
        return None
    one, other = (np.nan_to_num(table.numbers(each)) for each in moving)
    flows, other_flows = one > 0.02 * one.max(), other > 0.02 * other.max()
    if (one < 0).any() or (other < 0).any() or not flows.any() or not other_flows.any():
        return None
    if (flows & other_flows).sum() > 0.001 * len(one):
        return None
    first, second = moving
    abouts = [(table.meanings[each] or Meaning("")).about for each in moving]
    if abouts[0] == "discharge" or abouts[1] == "charge":
        first, second = second, first
    finder.remarks.append(
        f"{table.name(moving[0])} and {table.name(moving[1])} flow by turns: read as one current each way"
    )
    return first, second


def _means(finder: Finder, quantity: str) -> list[int]:
    """Return the mean of a quantity over each row's time, where it lies between a least and a largest one."""
    table = finder.table
    names = {
        key: [n for n in table.of("other") if (table.meanings[n] or Meaning("")).about == f"{key} {quantity}"]
        for key in ("lowest", "highest", "mean")
    }
    if any(len(each) != 1 for each in names.values()):
        return []
    low, high, mean = (table.numbers(names[key][0]) for key in ("lowest", "highest", "mean"))
    known = np.isfinite(low) & np.isfinite(high) & np.isfinite(mean)
    slack = 1e-3 * np.abs(mean) + 1e-9
    if not known.any() or not (((low - slack <= mean) & (mean <= high + slack)) | ~known).mean() > 0.99:
        return []
    finder.remarks.append(
        f"{table.name(names['mean'][0])} read as the {quantity}: the mean of each row's time; between rows it may "
        "have been more or less, and no resistance is told of its steps"
    )
    return names["mean"]


def _say_if_several_packs(finder: Finder, voltages: list[int], currents: list[int]) -> None:
    """Say that a log holds several packs where several currents flow beside several voltages of a size."""
    numbers = finder.table.numbers
    moving = [each for each in currents if len(set(numbers(each)[:5000])) > 1]
    if len(moving) < 2 or len(voltages) < len(moving):
        return
    middles = [float(np.nanmedian(numbers(each))) for each in voltages[: len(moving)]]
    if min(middles) > 0.5 * max(middles) > 0:
        finder.warnings.append(
            f"the log may hold {len(moving)} packs side by side: only the first voltage and current are read; "
            f"{_which_other(finder)}"
        )


def _which_other(finder: Finder) -> str:
    labels = list(side_by_side(finder))
    if not labels:
        return "give each pack's columns as a file of their own"
    return f"name the pack with --channel, such as --channel {labels[-1]}"


def _by_values(
    finder: Finder,
    time: Series,
    voltages: list[int],
    currents: list[int],
    missing: list[str],
    grouped: set[int],
) -> tuple[list[int], list[int]]:
    """Find voltage or current, or both, by what their values do."""
    table = finder.table
    taken = {*grouped, time.number, *(each for each in finder.told)}
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
            finder.place, f"no column can be told to be the {' or the '.join(missing)}", NAME_THEM
        )
    for name, column in (("voltage", found.voltage), ("current", found.current)):
        if name in missing:
            finder.remarks.append(f"{table.name(column)} read as the {name}: {found.because}")
    return [found.voltage], [found.current]


def _one_voltage(finder: Finder, candidates: list[int]) -> Series:
    table = finder.table
    best = candidates[0]
    totals = [each for each in candidates if (table.meanings[each] or Meaning("")).about == "total"]
    if totals:
        best = totals[0]
    others = [each for each in candidates if each != best]
    if others:
        names = ", ".join(table.name(each) for each in others[:4])
        finder.remarks.append(f"{table.name(best)} read as the voltage; not {names}")
    factor, unit, told_by = _factor(finder, best, "voltage", HIGHEST_V, "V")
    return finder.series(best, "voltage", unit, told_by, factor)


def _one_current(finder: Finder, candidates: list[int]) -> Series:
    table = finder.table
    if len(candidates) > 1:
        # A column that never changes is a set value.
        moving = [each for each in candidates if len(set(table.numbers(each)[:5000])) > 1]
        candidates = moving or candidates
    if len(candidates) > 1:
        names = ", ".join(table.name(each) for each in candidates[1:5])
        finder.remarks.append(f"{table.name(candidates[0])} read as the current; not {names}")
    return _current(finder, candidates[0])


def _current(finder: Finder, column: int) -> Series:
    factor, unit, told_by = _factor(finder, column, "current", HIGHEST_A, "A")
    return finder.series(column, "current", unit, told_by, factor)


def _factor(finder: Finder, column: int, quantity: str, highest: float, unit: str) -> tuple[float, str, str]:
    """Return the factor to V or A, the unit, and what told it; thousandths where only they can be."""
    table = finder.table
    meaning = table.meanings[column]
    told_by = "heading" if meaning is not None and meaning.quantity == quantity else "values"
    stated = meaning.unit if meaning is not None else None
    factor = stated.factor if stated is not None else 1.0
    values = np.abs(table.numbers(column)) * factor
    values = values[np.isfinite(values)]
    top = float(np.quantile(values, 0.99)) if len(values) else 0.0
    if stated is None and quantity == "voltage" and _HIGHEST_WITHOUT_UNIT_V < top <= highest:
        raise UnreadableInput(
            finder.place,
            f"{table.name(column)} has no unit and reaches {top:g}, which in V no light vehicle's pack has, in mV no "
            "cell",
            "put its unit into the heading, such as voltage_v or voltage_dV for tenths of a volt",
        )
    if quantity == "voltage" and scale_in(table.heading(column))[0] != 1 and not _LEAST_V < top <= highest:
        raise UnreadableInput(
            finder.place,
            f"{table.name(column)} names a scale by which it reaches {top:g} V, which no cell and no pack of a light "
            "vehicle has",
            "put what one count stands for into the heading, such as 'voltage (0.1 V)'",
        )
    if top > highest and factor == 1.0:
        finder.remarks.append(
            f"{table.name(column)} {'says ' + unit if stated else 'has no unit'} and reaches {top:g}, "
            f"which no light vehicle's pack has: read as m{unit}, not {unit}"
        )
        return 0.001, f"m{unit}", told_by
    if stated is None:
        finder.remarks.append(f"{table.name(column)} has no unit: read as {unit}")
    return factor, stated.name if stated is not None else unit, told_by


def _power(finder: Finder) -> Series:
    """Return the power, from which and the voltage the current is worked out."""
    column = finder.table.of("power")[0]
    meaning = finder.table.meanings[column]
    unit = meaning.unit if meaning is not None else None
    finder.remarks.append(
        f"no column holds a current: worked out as {finder.table.name(column)} over the voltage"
    )
    return finder.series(column, "power", unit.name if unit else "W", "heading", unit.factor if unit else 1.0)


# What an instrument counts: its usual unit, what it is called and how the current is made of it.
_COUNTED = {
    "capacity": ("Ah", "counted charge", ""),
    "energy": ("Wh", "counted energy", " over the voltage"),
}


def _counted(finder: Finder, quantity: str) -> Series:
    """Return the charge or energy that the instrument counted, of which the current is worked out."""
    usual, called, over = _COUNTED[quantity]
    column = finder.table.of(quantity)[0]
    meaning = finder.table.meanings[column]
    unit = meaning.unit if meaning is not None else None
    name = unit.name if unit else usual
    finder.remarks.append(
        f"no column holds a current: worked out from {finder.table.name(column)}{over}, "
        f"{'read' if unit is not None else 'which has no unit and was read'} in {name}"
    )
    return finder.series(column, called, name, "heading", unit.factor if unit else 1.0)


def _scales(finder: Finder, layout: Layout) -> None:
    """Find the largest current, its noise and the smallest steps; mend a time in ms and a current in mA."""
    table = finder.table
    current = _current_of_sample(finder, layout)
    magnitude = np.abs(current[np.isfinite(current)])
    top = float(np.quantile(magnitude, 0.995)) if len(magnitude) else 0.0
    # Only the first rows stand one after another; the others are picked from all over the log.
    first = slice(0, len(table.form.sample))
    seconds = np.array(table_seconds(table, layout.times.time.number, layout.times.form))[first]
    test = TestRun.of(seconds, current[first], top)
    mended = smaller_unit(layout.times.form, test)
    if mended is not None:
        _mend_time(finder, layout, *mended)
        test = test.at(mended[0])
    if test.moved_ah > MOST_AH and top > 20:
        _mend_current(finder, layout)
        current *= 0.001
        top *= 0.001
    moves = np.abs(np.diff(current[np.isfinite(current)]))
    layout.noise_a = 1.05 * float(np.median(moves)) if len(moves) else 0.0
    layout.step_a = by_values.smallest_step(current)
    if top <= 0 or _is_noise(current, top, layout.noise_a):
        finder.remarks.append("no current flows anywhere in the log: it shows a rest")
        top = 0.0
    layout.largest_a = top
    layout.power_agrees = power_agrees(finder, layout.voltage, current) if layout.currents else None
    small = 0.02 * top
    both_ways = bool((current > small).any() and (current < -small).any())
    said = bool({-1, 1} & set(layout.directions.values()))
    layout.unsigned = said and not both_ways and len(layout.currents) == 1


def _current_of_sample(finder: Finder, layout: Layout) -> Array:
    table = finder.table
    if layout.power is not None and layout.voltage is not None:
        power = table.numbers(layout.power.number) * layout.power.factor
        return np.asarray(power / _volts(finder, layout))
    if layout.charge is not None:
        seconds = np.array(table_seconds(table, layout.times.time.number, layout.times.form))
        found = current_of_charge(seconds, table.numbers(layout.charge.number) * layout.charge.factor)
        return found / _volts(finder, layout) if layout.by_energy else found
    current = np.zeros(len(table.rows))
    for series, sign in layout.currents:
        values = table.numbers(series.number) * series.factor
        values = np.abs(values) if len(layout.currents) > 1 else values
        current = current + sign * np.where(np.isfinite(values), values, 0.0)
    return current


def _volts(finder: Finder, layout: Layout) -> Array:
    """Return the voltage of the sample, nan where it is nought. [V]."""
    if layout.voltage is None:
        return np.full(len(finder.table.rows), np.nan)
    volts = finder.table.numbers(layout.voltage.number) * layout.voltage.factor
    return np.where(volts == 0, np.nan, volts)


def _is_noise(current: Array, top: float, noise_a: float) -> bool:
    """Whether a current is the noise of a meter at rest: it swings around nought from row to row."""
    known = current[np.isfinite(current)]
    return bool(noise_a > 0.25 * top and abs(float(known.mean())) < 0.1 * top and top < 0.5)


def _mend_time(finder: Finder, layout: Layout, factor: float, unit: str) -> None:
    times, name = layout.times, finder.table.name(layout.times.time.number)
    times.time.factor = factor
    times.form = replace(times.form, factor=factor, unit=unit)
    finder.told[times.time.number] = ("time", unit, finder.told[times.time.number][2])
    finder.remarks = [each for each in finder.remarks if each != f"{name} has no unit: read as seconds"]
    finder.remarks.append(
        f"{name} has no unit; in seconds a current would flow for more than {LONGEST_FLOW_H:g} h, or more than "
        f"{MOST_AH:g} Ah: read as {unit}"
    )


def _mend_current(finder: Finder, layout: Layout) -> None:
    for series, _ in layout.currents:
        name = finder.table.name(series.number)
        unit = (finder.table.meanings[series.number] or Meaning("")).unit
        series.factor *= 0.001
        finder.told[series.number] = ("current", "mA", finder.told[series.number][2])
        finder.remarks = [each for each in finder.remarks if each != f"{name} has no unit: read as A"]
        said = f"says {unit.name}" if unit is not None else "has no unit"
        finder.remarks.append(
            f"{name} {said}; in A it would make more than {MOST_AH:g} Ah: read as mA, not A"
        )
