"""Columns told by what their values do, where no heading says what they are.

Each finding is confirmed by physics: power is voltage times current; the voltage falls while a current
flows one way, and jumps with it. What cannot be confirmed is not taken.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from verifier.discharge_log import clock

Array = npt.NDArray[np.float64]
Numbers = Callable[[int], Array]


@dataclass(frozen=True, slots=True)
class Found:
    """A pair of columns and what confirms it."""

    voltage: int
    current: int
    because: str


def smallest_step(values: Array) -> float:
    """Return the resolution of readings: the largest 1, 2 or 5 in a decimal place of which all are multiples.

    Too few different readings tell nothing, and 0 is returned.
    """
    values = np.unique(np.abs(values[np.isfinite(values)])[:20_000])
    if len(values) < 10:
        return 0.0
    for power in range(1, -7, -1):
        for first in (5, 2, 1):
            step = first * 10.0**power
            parts = values / step
            if np.all(np.abs(parts - np.round(parts)) < 1e-6 * np.maximum(parts, 1)):
                return step
    return 0.0


def time_column(
    width: int, entries: Callable[[int], list[str]], numbers: Numbers, decimal: str, taken: Collection[int]
) -> int | None:
    """Return the column that runs on: a clock, the one that goes back least often, else numbers that rise."""
    rising = []
    clocks = []
    for column in range(width):
        if column in taken:
            continue
        kind = clock.form_of_times(entries(column)[:300], decimal)
        if kind in ("clock", "moment"):
            clocks.append((times_back(entries(column), kind), column))
            continue
        values = numbers(column)
        values = values[np.isfinite(values)]
        if kind == "number" and len(values) > 3:
            steps = np.diff(values)
            if (steps >= 0).mean() > 0.98 and (steps > 0).mean() > 0.8:
                counting = bool(np.all(values[:200] == np.arange(len(values[:200])) + values[0]))
                rising.append((counting, column))
    if clocks:
        return min(clocks)[1]
    # A column that counts rows 1, 2, 3 is the time only where nothing else runs on.
    others = [column for counting, column in rising if not counting]
    if others and rising[0][0] and others[0] <= rising[0][1] + 2:
        return others[0]
    return rising[0][1] if rising else None


def times_back(entries: Sequence[str], kind: str) -> int:
    """Return how often a clock or a moment goes back from row to row."""
    import pandas as pd

    order = clock.date_order([each for each in entries if each.strip()])[0] if kind == "moment" else ""
    form = clock.TimeForm(kind, order=order)
    seconds = clock.seconds_of(pd.Series(list(entries), dtype="str"), form, ".")
    return int((np.diff(seconds[np.isfinite(seconds)]) < 0).sum())


def voltage_and_current(
    free: Sequence[int], numbers: Numbers, voltage: int | None, current: int | None
) -> Found | None:
    """Return the columns of voltage and current among those free, either of which may be known.

    A third column that is their product confirms them best; else the voltage must stay above zero and
    answer the current, and the current must rest or hold still.
    """
    usable = [
        each for each in free if np.isfinite(numbers(each)).mean() > 0.8 and np.ptp(_clean(numbers(each))) > 0
    ]
    # A flag that says whether the load is on goes with the current, and is none.
    usable = [each for each in usable if not set(np.unique(_clean(numbers(each)))) <= {0.0, 1.0}]
    voltages = (
        [voltage] if voltage is not None else [each for each in usable if _may_be_voltage(numbers(each))]
    )
    currents = [current] if current is not None else usable
    pairs = [(v, i) for v in voltages for i in currents if v != i]
    for v, i in pairs:
        for power in usable:
            if (
                power not in (v, i)
                and _is_product(numbers(power), numbers(v), numbers(i))
                and _is_pair(numbers(v), numbers(i))
            ):
                return Found(v, i, f"column {power + 1} is the product of columns {v + 1} and {i + 1}")
    scored = sorted(((_answers(numbers(v), numbers(i)), -i, -v) for v, i in pairs), reverse=True)
    if not scored or scored[0][0] <= 0.6:
        return None
    if len(scored) > 1 and scored[1][0] > scored[0][0] - 0.1 and scored[1][2] != scored[0][2]:
        return None
    return Found(-scored[0][2], -scored[0][1], "the one answers the other as voltage does current")


def _clean(values: Array) -> Array:
    return values[np.isfinite(values)]


def _may_be_voltage(values: Array) -> bool:
    values = _clean(values)
    low, high = np.quantile(values, [0.02, 0.98])
    return bool(low > 0.5 and high / low < 4 and high < 200_000)


def _is_product(power: Array, voltage: Array, current: Array) -> bool:
    product = np.abs(voltage * current)
    good = np.isfinite(power) & np.isfinite(product) & (product > 0.05 * np.nanmax(product))
    if good.sum() < 3:
        return False
    ratio = np.abs(power[good]) / product[good]
    middle = float(np.median(ratio))
    near_power_of_ten = middle > 0 and abs(np.log10(middle) / 3 - round(np.log10(middle) / 3)) < 0.004
    return bool(near_power_of_ten and np.quantile(np.abs(ratio / middle - 1), 0.9) < 0.03)


def _is_pair(voltage: Array, current: Array) -> bool:
    """Whether, of two factors of a power, the first is the voltage: it never rests at nought."""
    good = np.isfinite(voltage) & np.isfinite(current)
    volts, amps = voltage[good], np.abs(current[good])
    if (current[good] < 0).any() or (amps < 0.02 * amps.max()).any():
        return bool((volts > 0).all())
    # Both always flow: the steadier one is the current of a test, the other falls.
    return bool(
        np.ptp(volts) / np.median(volts)
        > np.ptp(np.sort(amps)[len(amps) // 20 : -(len(amps) // 20) or None]) / np.median(amps)
    )


def _answers(voltage: Array, current: Array) -> float:
    """Return how well one column answers the other as a cell's voltage answers its current, 0 to 1."""
    good = np.isfinite(voltage) & np.isfinite(current)
    volts, amps = voltage[good], current[good]
    if len(volts) < 5:
        return 0.0
    top = float(np.quantile(np.abs(amps), 0.99))
    if top <= 0:
        return 0.0
    score = 0.0
    jumps = np.flatnonzero(np.abs(np.diff(amps)) > 0.3 * top)
    if len(jumps):
        answers = np.diff(volts)[jumps] * np.diff(amps)[jumps]
        size = float(np.median(np.abs(np.diff(volts)[jumps]))) / float(np.median(volts))
        alike = max((answers > 0).mean(), (answers < 0).mean())
        score += 0.5 * float(alike) if 0.0005 < size < 0.4 else 0.0
    flowing = np.abs(amps) > 0.05 * top
    steady = flowing & (np.abs(np.abs(amps) - np.median(np.abs(amps[flowing]))) < 0.03 * top)
    score += 0.25 * (float(steady.sum()) / max(1, int(flowing.sum())))
    trend = volts[flowing]
    if len(trend) > 4 and np.ptp(trend) > 0:
        steps = np.diff(trend)
        moved = np.abs(steps[steps != 0])
        one_way = abs(float(steps.sum())) / float(moved.sum()) if len(moved) else 0.0
        score += 0.25 * one_way
    rests = np.abs(amps) < 0.02 * top
    score += 0.1 if rests.any() else 0.0
    score += 0.1 if (amps < -0.05 * top).any() else 0.0
    return min(score, 1.0)


def may_be_temperature(values: Array) -> bool:
    """Whether values could be temperatures at or near a battery: within -40 and 125 C, and no clock or count.

    A clock runs on evenly, and a count begins at nought.
    """
    known = _clean(values)
    if len(known) < 3 or not known.any():
        return False
    low, high = np.quantile(known, [0.01, 0.99])
    steps = np.diff(known)
    runs_on = (steps > 0).mean() > 0.7 and (abs(known[0]) < 1 or np.ptp(steps) < 1e-6)
    return bool(-40 <= low <= high <= 125 and not runs_on and np.quantile(np.abs(steps), 0.99) < 10)


def temperature_columns(width: int, numbers: Numbers, taken: Collection[int]) -> list[tuple[int, str]]:
    """Return columns whose values could be temperatures, warm and smooth, with what each is."""
    found = []
    for column in range(width):
        values = _clean(numbers(column)) if column not in taken else np.zeros(0)
        if len(values) < 5 or not (-30 < values.min() <= values.max() < 110) or np.ptp(values) == 0:
            continue
        steps = np.abs(np.diff(values))
        if not (values.max() > 5) or np.quantile(steps, 0.99) > 2 or np.ptp(values) < 0.3:
            continue
        # A counter begins at nought and falls back to it, a number of a step is whole.
        if values.min() == 0 or steps.max() > 15 or np.all(values == np.round(values)):
            continue
        rise = float(values[-1] - values[0])
        found.append((column, rise, float(np.ptp(values))))
    if not found:
        return []
    warmest = max(found, key=lambda each: each[2])[0]
    return [
        (column, "a temperature of the cell, as it rises with the load" if column == warmest
         else "the temperature of the air, as it stays nearly the same" if span < 3
         else "another temperature")
        for column, _, span in found
    ]  # fmt: skip
