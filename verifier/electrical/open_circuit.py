"""State of charge from the voltage of a cell at rest, by measured curves.

A curve runs from the test's own end of discharge (0 %) to its own end of charge (100 %). The flat middle of
iron phosphate is left as wide as it is: a few millivolts there are most of the charge.

Measured curves: pseudo open-circuit voltage, the mean of a slow charge and a slow discharge at room
temperature (C/20 to C/32), of the open repository to Sunil, Pattipati, Balasingam, Piecewise Linear
Approximation of Battery Open-Circuit Voltage Characteristics Using Dynamic Programming, IEEE Transactions on
Instrumentation and Measurement 2025: interpolated at every tenth, and the breakpoints it prints towards the
ends. Model curves: open-circuit voltage of published parameter sets at 25 C, computed with PyBaMM 26.10.1.1
(`get_min_max_stoichiometries`, linear in stoichiometry).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import NamedTuple

MEASURED = "Sunil, Pattipati, Balasingam, IEEE Trans. Instrum. Meas. 2025, measured curves"

# A curve's first and last tenth bend too sharply for a straight line between two points ten percent apart.
_COARSE = 10.0


class Curve(NamedTuple):
    """Open-circuit voltage against charge, and how far a cell of its kind at rest may lie from it."""

    name: str
    points: tuple[tuple[float, float], ...]
    spread_v: float
    source: str


def _tenths(*volts: float, between: Iterable[tuple[float, float]] = ()) -> tuple[tuple[float, float], ...]:
    """Return (percent, volts) points of a curve given at 0, 10 .. 100 %, with others between them."""
    return tuple(sorted([*((10.0 * number, each) for number, each in enumerate(volts)), *between]))


# The four measured rows and a published NMC811 set (Chen 2020, DOI 10.1149/1945-7111/ab9050) lie within one
# band of 35 mV from 20 to 90 %; a rest cut short and hysteresis are smaller.
_NICKEL_SPREAD_V = 0.035
# Hysteresis of iron phosphate between charge and discharge is 5 to 25 mV (a battery analytics firm's note);
# 5 mV more from cell to cell. Common practice, no source.
_PHOSPHATE_SPREAD_V = 0.030
# One parameter set stands for a whole chemistry. Common practice, no source.
_MODEL_SPREAD_V = 0.050

ENERGY_21700 = Curve(
    "nickel-rich energy 21700",
    _tenths(2.520, 3.304, 3.475, 3.576, 3.644, 3.717, 3.817, 3.920, 4.018, 4.092, 4.194),
    _NICKEL_SPREAD_V, MEASURED,
)  # fmt: skip
POWER_21700 = Curve(
    "nickel-rich power 21700",
    _tenths(
        2.506, 3.334, 3.475, 3.581, 3.656, 3.742, 3.844, 3.926, 4.034, 4.080, 4.193,
        between=((1.51, 2.898), (4.52, 3.146), (15.08, 3.422), (94.97, 4.101)),
    ),
    _NICKEL_SPREAD_V, MEASURED,
)  # fmt: skip
POWER_21700_B = Curve(
    "nickel-rich power 21700, another",
    _tenths(
        2.500, 3.355, 3.482, 3.590, 3.655, 3.738, 3.843, 3.923, 4.031, 4.085, 4.200,
        between=((0.50, 2.808), (3.52, 3.118), (8.54, 3.318), (13.57, 3.419), (95.48, 4.112)),
    ),
    _NICKEL_SPREAD_V, MEASURED,
)  # fmt: skip
POWER_18650 = Curve(
    "nickel-rich power 18650",
    _tenths(2.703, 3.350, 3.484, 3.585, 3.654, 3.736, 3.837, 3.920, 4.019, 4.083, 4.188),
    _NICKEL_SPREAD_V, MEASURED,
)  # fmt: skip
PHOSPHATE_18650 = Curve(
    "iron phosphate 18650",
    _tenths(
        2.010, 3.203, 3.241, 3.278, 3.295, 3.299, 3.303, 3.316, 3.337, 3.341, 3.598,
        between=((0.33, 2.418), (1.17, 2.741), (2.67, 2.930), (5.34, 3.087), (8.85, 3.194), (98.33, 3.351),
                 (99.50, 3.418)),
    ),
    _PHOSPHATE_SPREAD_V, MEASURED,
)  # fmt: skip
MODEL_NMC532 = Curve(
    "NMC532",
    _tenths(2.800, 3.511, 3.585, 3.639, 3.671, 3.716, 3.797, 3.880, 3.971, 4.077, 4.200),
    _MODEL_SPREAD_V, "Mohtat 2020, DOI 10.1149/1945-7111/aba5d1, computed",
)  # fmt: skip
MODEL_NCA = Curve(
    "NCA",
    _tenths(2.700, 3.247, 3.372, 3.492, 3.598, 3.685, 3.768, 3.874, 3.980, 4.080, 4.200),
    _MODEL_SPREAD_V, "Kim 2011, DOI 10.1149/1.3597614, computed",
)  # fmt: skip
MODEL_LCO = Curve(
    "LCO",
    _tenths(3.000, 3.640, 3.695, 3.733, 3.762, 3.793, 3.836, 3.909, 3.994, 4.088, 4.200),
    _MODEL_SPREAD_V, "Ai 2019, DOI 10.1149/2.0122001JES, computed",
)  # fmt: skip

_NICKEL_RICH = (ENERGY_21700, POWER_21700, POWER_21700_B, POWER_18650)
# Manganese spinel, titanate and whatever else have no curve here: any charge is possible.
CURVES: Mapping[str, tuple[Curve, ...]] = {
    "NMC": (*_NICKEL_RICH, MODEL_NMC532),
    "NCA": (*_NICKEL_RICH, MODEL_NCA),
    "LCO": (MODEL_LCO,),
    "LFP": (PHOSPHATE_18650,),
}


def open_circuit_v(*, curve: Curve, charge_percent: float) -> float:
    """Return the open-circuit voltage at a charge, by a straight line between two points. [V].

    Parameters
    ----------
    curve : Curve
    charge_percent : float
        From 0 to 100. [%]

    Raises
    ------
    ValueError
        For a charge outside 0 to 100 %.
    """
    for (low, low_v), (high, high_v) in pairwise(curve.points):
        if low <= charge_percent <= high:
            return low_v + (high_v - low_v) * (charge_percent - low) / (high - low)
    raise ValueError(f"charge_percent = {charge_percent}: give 0 to 100 %")


def charge_bounds_percent(*, chemistry: str, cell_v: tuple[float, float]) -> tuple[float, float]:
    """Return the charge of a cell at rest at a voltage: the least to the most by any curve. [%].

    Parameters
    ----------
    chemistry : str
        A key of `CURVES`; of any other chemistry every charge is possible.
    cell_v : tuple of float
        Voltage of the cell at rest, from and to. [V]

    Raises
    ------
    ValueError
        If the voltages are out of order.
    """
    low_v, high_v = cell_v
    if not low_v <= high_v:
        raise ValueError(f"cell_v = {low_v} .. {high_v}: give the lower one first")
    curves = CURVES.get(chemistry, ())
    if not curves:
        return 0.0, 100.0
    return (
        min(_charge_at(curve, low_v - curve.spread_v)[0] for curve in curves),
        max(_charge_at(curve, high_v + curve.spread_v)[1] for curve in curves),
    )


def charge_lost_bounds_percent(
    *, chemistry: str, before_v: tuple[float, float], now_v: tuple[float, float]
) -> tuple[float, float]:
    """Return by how much the charge of a cell at rest has fallen between two voltages, by any one curve. [%].

    A cell keeps to its own curve, so how far curves lie apart does not matter. Below zero where it rose.

    Parameters
    ----------
    chemistry : str
        A key of `CURVES`; of any other chemistry any change is possible.
    before_v, now_v : tuple of float
        Voltage of the cell at rest, from and to. [V]

    Raises
    ------
    ValueError
        If the voltages are out of order.
    """
    for name, (low_v, high_v) in (("before_v", before_v), ("now_v", now_v)):
        if not low_v <= high_v:
            raise ValueError(f"{name} = {low_v} .. {high_v}: give the lower one first")
    curves = CURVES.get(chemistry, ())
    if not curves:
        return -100.0, 100.0
    return (
        min(_charge_at(curve, before_v[0])[0] - _charge_at(curve, now_v[1])[1] for curve in curves),
        max(_charge_at(curve, before_v[1])[1] - _charge_at(curve, now_v[0])[0] for curve in curves),
    )


def charge_apart_at_most_percent(*, chemistry: str, low_v: float, high_v: float) -> float:
    """Return how far the charge of two cells of one kind at rest may lie apart, by any one curve. [%].

    Both cells keep to one curve, which lies up to its spread above or below the printed one: how steep it is at their
    voltages decides, so that all such places are looked at.

    Parameters
    ----------
    chemistry : str
        A key of `CURVES`; of any other chemistry anything is possible.
    low_v, high_v : float
        Voltages of the two cells. [V]

    Raises
    ------
    ValueError
        If the voltages are out of order.

    Examples
    --------
    >>> charge_apart_at_most_percent(chemistry="NMC", low_v=3.7, high_v=3.7)
    0.0
    """
    if not low_v <= high_v:
        raise ValueError(f"low_v = {low_v}, high_v = {high_v}: give the lower one first")
    curves = CURVES.get(chemistry, ())
    if not curves:
        return 100.0
    # Between two bends both charges follow straight lines, so the farthest lies where one of the two meets a bend.
    found = 0.0
    for curve in curves:
        bends = [volts for _, volts in curve.points]
        shifts = {-curve.spread_v, 0.0, curve.spread_v}
        shifts |= {bend - volts for bend in bends for volts in (low_v, high_v)}
        for shift in shifts:
            if abs(shift) <= curve.spread_v:
                found = max(found, _on_line(curve, high_v + shift) - _on_line(curve, low_v + shift))
    return found


def _on_line(curve: Curve, volts: float) -> float:
    """Return the charge at a voltage by straight lines between the points of a curve. [%]."""
    points = curve.points
    if volts <= points[0][1]:
        return points[0][0]
    for (low, low_v), (high, high_v) in pairwise(points):
        if volts <= high_v:
            return low + (high - low) * (volts - low_v) / (high_v - low_v)
    return points[-1][0]


def _charge_at(curve: Curve, volts: float) -> tuple[float, float]:
    """Return the charge at a voltage: a point, or a whole end of the curve where it is coarse. [%]."""
    (_, empty_v), (_, full_v) = curve.points[0], curve.points[-1]
    if volts <= empty_v:
        return 0.0, 0.0
    if volts >= full_v:
        return 100.0, 100.0
    low, low_v, high, high_v = next(
        (low, low_v, high, high_v)
        for (low, low_v), (high, high_v) in pairwise(curve.points)
        if low_v <= volts <= high_v
    )
    if high - low >= _COARSE and (low == 0 or high == 100):
        return low, high
    percent = low + (high - low) * (volts - low_v) / (high_v - low_v)
    return percent, percent


def sources(*, chemistry: str) -> str:
    """Return where the curves of a chemistry come from."""
    found = dict.fromkeys(curve.source for curve in CURVES.get(chemistry, ()))
    return "; ".join(found) or "no published curve here"
