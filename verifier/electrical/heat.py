"""The heat that a cell makes in use, and how warm it gets between no cooling and moving air."""

from __future__ import annotations

from math import inf, pi
from typing import NamedTuple

from verifier.electrical.elementary import (
    Span,
    Value,
    check_not_negative,
    check_positive,
    choose,
    expm1,
    log1p,
)
from verifier.electrical.resistance import EFFECTIVE_OVER_10S

# Specific heat of a lithium-ion cell, low and high. [J/kg K]. From memory, not checked.
CELL_SPECIFIC_HEAT_J_PER_KGK = (800.0, 1100.0)
# Heat transfer over the whole surface of a cell, air and radiation together: from a cell amid others, which
# loses nothing, to one alone in the moving air of a test chamber. [W/m2 K]. Common practice, no source; the
# correlations of free convection give a lone cell 11 to 14 at a rise of 10 to 40 K.
ANY_COOLING_W_PER_M2K = (0.0, 25.0)
# Resistance of a cell that has warmed itself to 45 C over that at 25 C, the least: computed 0.48 to 0.75 with
# six of PyBaMM's parameter sets, 0.51 on average over a discharge at 2C without cooling; measured 0.94 at
# 40 C on a 33 Ah cell, open set.
WARMED_RESISTANCE = 0.5
# Heat that goes with the current and not with its square, the most: reversible heat and heat of mixing, which
# count below 0.5C. [V]. Computed: 4 to 7 mV above 1.6 x the ten-second resistance from C/10 to C/5.
REVERSIBLE_V = 0.01


def cell_surface_m2(*, diameter_mm: Value, length_mm: Value) -> Value:
    """Return the surface of a cylindrical cell, side and both ends. [m2].

    Parameters
    ----------
    diameter_mm, length_mm : float or array
        Size of the cell. [mm]

    Raises
    ------
    ValueError
        If a dimension is not above zero.

    Examples
    --------
    >>> round(cell_surface_m2(diameter_mm=21.0, length_mm=70.0), 5)
    0.00531
    """
    check_positive(diameter_mm=diameter_mm, length_mm=length_mm)
    return pi * diameter_mm * (length_mm + diameter_mm / 2) / 1e6


class Cooling(NamedTuple):
    """What decides how warm a cell's heat makes it: specific heat and heat transfer, low and high."""

    specific_heat_j_per_kgk: Span[float] = Span(*CELL_SPECIFIC_HEAT_J_PER_KGK)
    heat_transfer_w_per_m2k: Span[float] = Span(*ANY_COOLING_W_PER_M2K)


ANY_COOLING = Cooling()


def cell_heat_bounds_w(*, current_a: tuple[Value, Value], dc_mohm: tuple[Value, Value]) -> Span[Value]:
    """Return between what the mean heat of a cell lies over a discharge. [W].

    Parameters
    ----------
    current_a : (low, high) of float or array
        Of the cell. [A]
    dc_mohm : (low, high) of float or array
        Its resistance over ten seconds, at the temperature at which it begins. [mohm]

    Raises
    ------
    ValueError
        If a current or resistance is negative.

    Notes
    -----
    Low: the ten-second resistance of a cell that has warmed up. High: 1.6 times the ten-second one, and what
    goes with the current alone. Source: see `EFFECTIVE_OVER_10S`, `WARMED_RESISTANCE` and `REVERSIBLE_V`.

    Examples
    --------
    >>> [round(each, 3) for each in cell_heat_bounds_w(current_a=(5.0, 5.0), dc_mohm=(28.8, 28.8))]
    [0.36, 1.202]
    """
    check_not_negative(current_a=current_a[0], highest_current_a=current_a[1])
    check_not_negative(dc_mohm=dc_mohm[0], highest_dc_mohm=dc_mohm[1])
    least, most = EFFECTIVE_OVER_10S
    low_a, high_a = current_a
    low = low_a * low_a * dc_mohm[0] * (least * WARMED_RESISTANCE / 1000)
    high = high_a * high_a * dc_mohm[1] * (most / 1000) + high_a * REVERSIBLE_V
    return Span(low, high)


def cell_rise_bounds_k(
    *,
    current_a: tuple[Value, Value],
    dc_mohm: tuple[Value, Value],
    capacity_ah: tuple[Value, Value],
    mass_g: tuple[Value, Value],
    surface_m2: tuple[Value, Value],
    cooling: Cooling = ANY_COOLING,
) -> Span[Value]:
    """Return between what the rise of a cell over the air lies at the end of one full discharge. [K].

    Parameters
    ----------
    current_a, dc_mohm
        As in `cell_heat_bounds_w`.
    capacity_ah, mass_g : (low, high) of float or array
        Of the cell. [Ah, g]
    surface_m2 : (low, high) of float or array
        From `cell_surface_m2`, or of a prismatic cell. [m2]
    cooling : Cooling
        What is known of the cooling.

    Returns
    -------
    Span
        Zero where there is no current.

    Raises
    ------
    ValueError
        If a quantity is negative, or a mass or surface is not above zero.

    Notes
    -----
    Low: a heavy cell alone in moving air; high: a light cell that loses nothing. A greater current warms more
    although the discharge is shorter. Validity: from the temperature of the air on, one temperature over the
    whole cell.

    Examples
    --------
    >>> rise = cell_rise_bounds_k(current_a=(9.0, 9.0), dc_mohm=(37.0, 37.0), capacity_ah=(2.95, 3.0),
    ...     mass_g=(47.0, 47.0), surface_m2=(0.00426, 0.00426))
    >>> [round(each, 1) for each in rise]
    [12.8, 155.9]
    """
    heat = cell_heat_bounds_w(current_a=current_a, dc_mohm=dc_mohm)
    bodies = _bodies(mass_g, cooling)
    low = rise_after_k(
        seconds=_discharge_s(capacity_ah[0], current_a[0]),
        heat_w=heat.low,
        heat_capacity_j_per_k=bodies.high,
        surface_m2=surface_m2[1],
        heat_transfer_w_per_m2k=cooling.heat_transfer_w_per_m2k.high + 0 * heat.low,
    )
    high = rise_after_k(
        seconds=_discharge_s(capacity_ah[1], current_a[1]),
        heat_w=heat.high,
        heat_capacity_j_per_k=bodies.low,
        surface_m2=surface_m2[0],
        heat_transfer_w_per_m2k=cooling.heat_transfer_w_per_m2k.low + 0 * heat.high,
    )
    return Span(low, high)


def minutes_to_limit_bounds(
    *,
    allowed_rise_k: Value,
    current_a: tuple[Value, Value],
    dc_mohm: tuple[Value, Value],
    capacity_ah: tuple[Value, Value],
    mass_g: tuple[Value, Value],
    surface_m2: tuple[Value, Value],
    cooling: Cooling = ANY_COOLING,
) -> Span[Value]:
    """Return between what the time lies until a cell has warmed by so much, within one discharge. [min].

    Parameters
    ----------
    allowed_rise_k : float or array
        Upper temperature of the sheet less that of the air; zero or below is reached at once. [K]
    current_a, dc_mohm, capacity_ah, mass_g, surface_m2, cooling
        As in `cell_rise_bounds_k`.

    Returns
    -------
    Span
        Infinity where the discharge ends before: a low end of infinity is never, a high end of infinity is
        not surely.

    Raises
    ------
    ValueError
        As `cell_rise_bounds_k`.

    Examples
    --------
    >>> minutes = minutes_to_limit_bounds(allowed_rise_k=35.0, current_a=(12.0, 12.0), dc_mohm=(37.0, 37.0),
    ...     capacity_ah=(2.95, 3.0), mass_g=(47.0, 47.0), surface_m2=(0.00426, 0.00426))
    >>> [round(each, 1) for each in minutes]
    [2.5, inf]
    """
    heat = cell_heat_bounds_w(current_a=current_a, dc_mohm=dc_mohm)
    bodies = _bodies(mass_g, cooling)
    allowed = choose(allowed_rise_k > 0, allowed_rise_k, 0.0)
    first = time_to_limit_s(
        allowed_rise_k=allowed,
        heat_w=heat.high,
        heat_capacity_j_per_k=bodies.low,
        surface_m2=surface_m2[0],
        heat_transfer_w_per_m2k=cooling.heat_transfer_w_per_m2k.low + 0 * heat.high,
    )
    last = time_to_limit_s(
        allowed_rise_k=allowed,
        heat_w=heat.low,
        heat_capacity_j_per_k=bodies.high,
        surface_m2=surface_m2[1],
        heat_transfer_w_per_m2k=cooling.heat_transfer_w_per_m2k.high + 0 * heat.low,
    )
    within = _discharge_s(capacity_ah[1], current_a[1])
    surely_within = _discharge_s(capacity_ah[0], current_a[0])
    return Span(choose(first <= within, first / 60, inf), choose(last <= surely_within, last / 60, inf))


def _discharge_s(capacity_ah: Value, current_a: Value) -> Value:
    """Return how long a discharge lasts, the more current the shorter; none without a current. [s]."""
    check_not_negative(capacity_ah=capacity_ah)
    flowing = current_a > 0
    result: Value = choose(flowing, 3600 * capacity_ah / choose(flowing, current_a, 1.0), 0.0)
    return result


def _bodies(mass_g: tuple[Value, Value], cooling: Cooling) -> Span[Value]:
    """Return between what the heat lies that warms a cell by one kelvin. [J/K]."""
    check_positive(mass_g=mass_g[0], highest_mass_g=mass_g[1])
    low, high = cooling.specific_heat_j_per_kgk
    return Span(mass_g[0] * (low / 1000), mass_g[1] * (high / 1000))


def rise_after_k(
    *,
    seconds: Value,
    heat_w: Value,
    heat_capacity_j_per_k: Value,
    surface_m2: Value,
    heat_transfer_w_per_m2k: Value,
) -> Value:
    """Return the rise over the air after some time, from the temperature of the air on. [K].

    Parameters
    ----------
    seconds : float or array
        How long the current flows. [s]
    heat_w, heat_capacity_j_per_k, surface_m2 : float or array
        Of the cell. [W, J/K, m2]
    heat_transfer_w_per_m2k : float or array
        Zero for a cell that loses no heat. [W/m2 K]

    Raises
    ------
    ValueError
        If time, heat or heat transfer is negative, or heat capacity or surface is not above zero.

    Notes
    -----
    Validity: one temperature over the whole cell, its core is a few kelvin warmer at high current; heat and
    heat transfer do not change on the way.

    Examples
    --------
    >>> cell = {"heat_w": 2.0, "heat_capacity_j_per_k": 65.55, "surface_m2": 5.31e-3}
    >>> round(rise_after_k(seconds=1800.0, heat_transfer_w_per_m2k=12.0, **cell), 1)
    25.9
    """
    check_not_negative(seconds=seconds, heat_w=heat_w, heat_transfer_w_per_m2k=heat_transfer_w_per_m2k)
    check_positive(heat_capacity_j_per_k=heat_capacity_j_per_k, surface_m2=surface_m2)
    uncooled = heat_w * seconds / heat_capacity_j_per_k
    exponent = heat_transfer_w_per_m2k * surface_m2 * seconds / heat_capacity_j_per_k
    passing = exponent > 0
    exponent = choose(passing, exponent, 1.0)
    result: Value = choose(passing, uncooled * (-expm1(-exponent) / exponent), uncooled)
    return result


def time_to_limit_s(
    *,
    allowed_rise_k: Value,
    heat_w: Value,
    heat_capacity_j_per_k: Value,
    surface_m2: Value,
    heat_transfer_w_per_m2k: Value,
) -> Value:
    """Return after how long a cell reaches its upper temperature; infinity if it never does. [s].

    Parameters
    ----------
    allowed_rise_k : float or array
        Upper temperature of the sheet less the temperature of the air. [K]
    heat_w, heat_capacity_j_per_k, surface_m2 : float or array
        Of the cell. [W, J/K, m2]
    heat_transfer_w_per_m2k : float or array
        Zero for a cell that loses no heat. [W/m2 K]

    Raises
    ------
    ValueError
        If the allowed rise, heat or heat transfer is negative, or heat capacity or surface is not above zero.

    Notes
    -----
    Validity: as `rise_after_k`, of which it is the inverse.

    Examples
    --------
    >>> cell = {"heat_w": 8.0, "heat_capacity_j_per_k": 65.55, "surface_m2": 5.31e-3}
    >>> round(time_to_limit_s(allowed_rise_k=35.0, heat_transfer_w_per_m2k=12.0, **cell))
    336
    """
    check_not_negative(
        allowed_rise_k=allowed_rise_k, heat_w=heat_w, heat_transfer_w_per_m2k=heat_transfer_w_per_m2k
    )
    check_positive(heat_capacity_j_per_k=heat_capacity_j_per_k, surface_m2=surface_m2)
    conductance = heat_transfer_w_per_m2k * surface_m2
    warming = heat_w > 0
    fraction = conductance * allowed_rise_k / choose(warming, heat_w, 1.0)
    reached = warming & (fraction < 1)
    uncooled = heat_capacity_j_per_k * allowed_rise_k / choose(warming, heat_w, 1.0)
    slowing = reached & (fraction > 0)
    slowed = choose(slowing, fraction, 0.5)
    result: Value = choose(reached, choose(slowing, uncooled * (-log1p(-slowed) / slowed), uncooled), inf)
    return result
