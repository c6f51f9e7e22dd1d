"""What comes out of a cell by temperature and rate: charge over its capacity, energy over its name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from verifier.electrical.elementary import (
    Span,
    Value,
    between_points,
    check_between,
    check_not_negative,
    choose,
    log,
    maximum,
)

# Air C, and for each the rates of `RATES_C`.
TEMPERATURES_C = (-20.0, -10.0, 0.0, 10.0, 20.0, 25.0)
RATES_C = (0.1, 0.2, 0.5, 1.0, 2.0, 4.0)
# Charge over that at 0.2C and 25 C, low and high. Measured, new cells: at 25 C 0.98 at 0.5C and 2C (5 Ah
# 21700, O'Regan et al. 2022), 0.97 at 4C (3 Ah 18650, open set); 0.5C 0.91 at 10 C and 0.87 at 0 C, charged
# at that temperature. Computed with PyBaMM: -10 C and 1C, cells kept at -10 C 0.43 to 0.64, warming
# themselves up to 0.98. The low ends beyond what was measured: common practice, no source. At 0.2C and 25 C it
# is 1 by what it means, but for how well a test repeats: like cells of the two sets gave the same within 0.5 %.
# Down to 20 C, the middle of the test that rates a capacity (IEC 61960-3: 0.2 It, 20 C with 5 K to either side),
# it loses at most what 5 K took at 0.5C of those cells, 0.44 % each. Other rates at 20 C: between 10 and 25 C.
CAPACITY_LOW = (
    (0.55, 0.52, 0.40, 0.05, 0.00, 0.00),
    (0.74, 0.72, 0.60, 0.42, 0.10, 0.00),
    (0.86, 0.85, 0.82, 0.55, 0.35, 0.10),
    (0.90, 0.90, 0.88, 0.72, 0.58, 0.30),
    (0.97, 0.97, 0.913, 0.813, 0.66, 0.40),
    (0.99, 0.99, 0.93, 0.86, 0.70, 0.45),
)
CAPACITY_HIGH = (
    (1.000, 0.998, 0.990, 0.980, 0.965, 0.950),
    (1.005, 1.000, 0.992, 0.982, 0.970, 0.960),
    (1.010, 1.005, 0.995, 0.990, 0.980, 0.970),
    (1.030, 1.020, 1.010, 1.000, 1.000, 0.990),
    (1.040, 1.020, 1.017, 1.013, 1.007, 0.997),
    (1.050, 1.020, 1.020, 1.020, 1.010, 1.000),
)
# Energy over typical capacity x nominal voltage, low and high. Measured, new cells, 25 C: 1.05 at C/20,
# 1.00 at C/10, 0.96 to 1.03 at 0.5C, 0.94 to 1.01 at 1C, 0.89 to 0.97 at 2C, 0.90 at 3C, 0.86 at 4C; 10 C
# 0.95 (C/10) and 0.89 (0.5C); 0 C 0.90 and 0.83 (four cells of three open sets). The rest as above.
ENERGY_LOW = (
    (0.50, 0.46, 0.34, 0.04, 0.00, 0.00),
    (0.70, 0.67, 0.54, 0.36, 0.08, 0.00),
    (0.84, 0.82, 0.77, 0.50, 0.30, 0.08),
    (0.90, 0.88, 0.84, 0.68, 0.52, 0.25),
    (0.933, 0.913, 0.867, 0.767, 0.613, 0.35),
    (0.95, 0.93, 0.88, 0.81, 0.66, 0.40),
)
ENERGY_HIGH = (
    (1.035, 1.020, 0.990, 0.955, 0.920, 0.880),
    (1.040, 1.030, 1.000, 0.960, 0.930, 0.900),
    (1.050, 1.040, 1.010, 0.980, 0.950, 0.910),
    (1.060, 1.050, 1.020, 0.990, 0.970, 0.930),
    (1.074, 1.057, 1.034, 1.010, 0.984, 0.944),
    (1.080, 1.060, 1.040, 1.020, 0.990, 0.950),
)
# Slower than the first rate is as the first; faster than the last, nothing is sure.
SLOWEST_C, FASTEST_C = RATES_C[0], RATES_C[-1]
_LOG_RATES = tuple(log(each) for each in RATES_C)


def capacity_factor_bounds(*, temperature_c: tuple[Value, Value], c_rate: tuple[Value, Value]) -> Span[Value]:
    """Return between what the charge lies that comes out, over the cell's capacity at 0.2C and 25 C. [-].

    Parameters
    ----------
    temperature_c : (low, high) of float or array
        Air around the cells. [C]
    c_rate : (low, high) of float or array
        Current over capacity. [1/h]

    Raises
    ------
    ValueError
        If the temperature is outside -60 to 100 C or the rate is negative.

    Notes
    -----
    Validity: new lithium cells down to their own cut-off; age comes on top. Above 25 C as at 25 C. Below
    -20 C, and faster than 4C, no low end is sure. Source: see `CAPACITY_LOW`; straight between its points in
    the temperature and in the logarithm of the rate.

    Examples
    --------
    >>> [round(each, 2) for each in capacity_factor_bounds(temperature_c=(0.0, 25.0), c_rate=(0.5, 1.0))]
    [0.55, 1.02]
    """
    return _bounds(temperature_c, c_rate, CAPACITY_LOW, CAPACITY_HIGH)


# More than at 0.2C in a room, at most. Slow: at 25 C a 21700 of 5 Ah gave 4.945 Ah at 0.1C and 4.818 Ah at 0.5C
# (O'Regan et al. 2022), so at 0.2C, straight in the logarithm, 4.890 Ah: 1.1 % less than at 0.1C; an 18650 of 3 Ah
# 0.2 %. Warm: computed with PyBaMM, 0.2C gives up to 0.6 % more at 25 C than at 10 C, and each degree less than the one
# before, so up to 0.8 % more at 45 C; twice that and more for cells that were not computed: common practice, no source.
MORE_WHEN_SLOW, MORE_WHEN_WARM = 0.015, 0.02
ROOM_C, WARM_C = 25.0, 45.0


def more_by_test(*, temperature_c: Value, c_rate: Value) -> Any:
    """Return what a test in warm air, or at a low current, may give at most, over one at 0.2C in a room. [-].

    Parameters
    ----------
    temperature_c : float or array
        Warmest air around the cells. [C]
    c_rate : float or array
        Slowest current over capacity. [1/h]

    Raises
    ------
    ValueError
        If the temperature is outside -60 to 100 C or the rate is negative.

    Notes
    -----
    A room is 20 C with 5 K to either side (IEC 61960-3): up to there, and from 0.2C on, nothing is taken off. Above
    45 C as at 45 C, slower than 0.1C as at 0.1C. Source: see `MORE_WHEN_SLOW`.

    Examples
    --------
    >>> more_by_test(temperature_c=22.0, c_rate=0.5), more_by_test(temperature_c=25.0, c_rate=0.1)
    (1.0, 1.015)
    """
    check_between(-60, 100, temperature_c=temperature_c)
    check_not_negative(c_rate=c_rate)
    rate = log(maximum(c_rate, SLOWEST_C + 0 * c_rate))
    slow = between_points(rate, [log(SLOWEST_C), log(RATES_C[1])], [MORE_WHEN_SLOW, 0.0])
    warm = between_points(temperature_c, [ROOM_C, WARM_C], [0.0, MORE_WHEN_WARM])
    return (1 + slow) * (1 + warm)


def part_by_test(*, temperature_c: tuple[Value, Value], c_rate: tuple[Value, Value]) -> Span[Value]:
    """Return between what a capacity test gives, over what a pack is rated at: 0.2C in a room. [-].

    The one rule by which a test is judged, whoever made it: of what came out and of what a log holds.

    Parameters
    ----------
    temperature_c : (low, high) of float or array
        Air around the cells. [C]
    c_rate : (low, high) of float or array
        Current over rated capacity. Of cells that nobody knows the low end is 0: the more they are rated at, the
        slower the test was. [1/h]

    Raises
    ------
    ValueError
        As `capacity_factor_bounds`.

    Notes
    -----
    Source: `capacity_factor_bounds` for the low end, `more_by_test` for the high end.

    Examples
    --------
    >>> [round(each, 3) for each in part_by_test(temperature_c=(25.0, 25.0), c_rate=(0.0, 0.2))]
    [0.99, 1.015]
    """
    least, _ = capacity_factor_bounds(temperature_c=temperature_c, c_rate=c_rate)
    return Span(least, more_by_test(temperature_c=temperature_c[1], c_rate=c_rate[0]))


def usable_energy_bounds(*, temperature_c: tuple[Value, Value], c_rate: tuple[Value, Value]) -> Span[Value]:
    """Return between what the energy lies that comes out, over typical capacity x nominal voltage. [-].

    Parameters
    ----------
    temperature_c, c_rate
        As in `capacity_factor_bounds`.

    Raises
    ------
    ValueError
        As `capacity_factor_bounds`.

    Notes
    -----
    Validity and source: as `capacity_factor_bounds`; at the cells, before strips, leads and controller.

    Examples
    --------
    >>> [round(each, 2) for each in usable_energy_bounds(temperature_c=(20.0, 25.0), c_rate=(0.2, 0.2))]
    [0.91, 1.06]
    """
    return _bounds(temperature_c, c_rate, ENERGY_LOW, ENERGY_HIGH)


Table = Sequence[Sequence[float]]


def _bounds(
    temperature_c: tuple[Value, Value], c_rate: tuple[Value, Value], low: Table, high: Table
) -> Span[Value]:
    check_between(-60, 100, temperature_c=temperature_c[0], highest_temperature_c=temperature_c[1])
    check_not_negative(c_rate=c_rate[0], highest_c_rate=c_rate[1])
    # Both tables rise with the temperature and fall with the rate.
    least = _between(low, temperature_c[0], c_rate[1])
    sure = (temperature_c[0] >= TEMPERATURES_C[0]) & (c_rate[1] <= FASTEST_C)
    return Span(choose(sure, least, 0.0), _between(high, temperature_c[1], c_rate[0]))


def _between(table: Table, temperature_c: Value, c_rate: Value) -> Any:
    rate = log(maximum(c_rate, SLOWEST_C + 0 * c_rate))
    columns = [between_points(temperature_c, TEMPERATURES_C, column) for column in zip(*table, strict=True)]
    return between_points(rate, _LOG_RATES, columns)
