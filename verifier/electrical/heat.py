"""The heat that a cell makes in use, and how warm it gets between no cooling and still air."""

from __future__ import annotations

from math import inf, pi

from verifier.electrical.elementary import (
    Value,
    check_not_negative,
    check_positive,
    choose,
    expm1,
    log1p,
)

# Specific heat of a cylindrical lithium-ion cell, low and high. [J/kg K]. From memory, not checked.
CELL_SPECIFIC_HEAT_J_PER_KGK = (800.0, 1100.0)
# Heat transfer over the whole surface of a cell, air and radiation together, low and high. [W/m2 K]. Common
# practice, no source; the correlations in `convection` give a lone cell the same at a rise of 10 to 40 K.
LONE_CELL_W_PER_M2K = (11.0, 14.0)
CLOSED_PACK_W_PER_M2K = (3.0, 6.0)
# Resistance of a cell to direct current over ten seconds, as a multiple of the one at 1 kHz that sheets give.
# From memory, not checked; the likely value is common practice, no source.
DC_OVER_AC = (1.3, 2.5)
LIKELY_DC_OVER_AC = 1.6


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


def cell_heat_capacity_j_per_k(*, mass_g: Value, specific_heat_j_per_kgk: Value) -> Value:
    """Return the heat that warms a cell by one kelvin. [J/K].

    Parameters
    ----------
    mass_g : float or array
        Mass of the cell. [g]
    specific_heat_j_per_kgk : float or array
        See `CELL_SPECIFIC_HEAT_J_PER_KGK`. [J/kg K]

    Raises
    ------
    ValueError
        If a quantity is not above zero.

    Examples
    --------
    >>> cell_heat_capacity_j_per_k(mass_g=70.0, specific_heat_j_per_kgk=1000.0)
    70.0
    """
    check_positive(mass_g=mass_g, specific_heat_j_per_kgk=specific_heat_j_per_kgk)
    return mass_g * specific_heat_j_per_kgk / 1000


def cell_heat_w(*, current_a: Value, resistance_mohm: Value) -> Value:
    """Return the heat that a cell's resistance makes. [W].

    Parameters
    ----------
    current_a : float or array
        Current of one cell. [A]
    resistance_mohm : float or array
        Resistance to direct current, not the smaller one at 1 kHz. [mohm]

    Raises
    ------
    ValueError
        If the current is negative or the resistance is not above zero.

    Notes
    -----
    Validity: leaves out the reversible heat of the reaction, which at more than about 1C is small.

    Examples
    --------
    >>> cell_heat_w(current_a=10.0, resistance_mohm=20.0)
    2.0
    """
    check_not_negative(current_a=current_a)
    check_positive(resistance_mohm=resistance_mohm)
    return current_a * current_a * resistance_mohm / 1000


def adiabatic_rise_k_per_min(*, heat_w: Value, heat_capacity_j_per_k: Value) -> Value:
    """Return how fast a cell warms if no heat leaves it: the upper bound, a core cell of a pack. [K/min].

    Parameters
    ----------
    heat_w : float or array
        From `cell_heat_w`. [W]
    heat_capacity_j_per_k : float or array
        From `cell_heat_capacity_j_per_k`. [J/K]

    Raises
    ------
    ValueError
        If the heat is negative or the heat capacity is not above zero.

    Examples
    --------
    >>> round(adiabatic_rise_k_per_min(heat_w=2.0, heat_capacity_j_per_k=65.55), 3)
    1.831
    """
    check_not_negative(heat_w=heat_w)
    check_positive(heat_capacity_j_per_k=heat_capacity_j_per_k)
    return 60 * heat_w / heat_capacity_j_per_k


def still_air_rise_k(*, heat_w: Value, surface_m2: Value, heat_transfer_w_per_m2k: Value) -> Value:
    """Return the rise over the air that a cell settles at if the current never ends. [K].

    Parameters
    ----------
    heat_w : float or array
        From `cell_heat_w`. [W]
    surface_m2 : float or array
        From `cell_surface_m2`. [m2]
    heat_transfer_w_per_m2k : float or array
        See `LONE_CELL_W_PER_M2K` and `CLOSED_PACK_W_PER_M2K`; zero gives infinity. [W/m2 K]

    Raises
    ------
    ValueError
        If the heat or the heat transfer is negative, or the surface is not above zero.

    Notes
    -----
    Validity: one temperature over the whole cell; its core is a few kelvin warmer at high current.

    Examples
    --------
    >>> round(still_air_rise_k(heat_w=2.0, surface_m2=5.31e-3, heat_transfer_w_per_m2k=12.0), 1)
    31.4
    """
    check_not_negative(heat_w=heat_w, heat_transfer_w_per_m2k=heat_transfer_w_per_m2k)
    check_positive(surface_m2=surface_m2)
    conductance = heat_transfer_w_per_m2k * surface_m2
    cooled = conductance > 0
    settled = heat_w / choose(cooled, conductance, 1.0)
    result: Value = choose(cooled, settled, choose(heat_w > 0, inf, 0.0))
    return result


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
    Validity: as `still_air_rise_k`; heat and heat transfer do not change on the way.

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


def dc_resistance_mohm(*, ac_mohm: float) -> tuple[float, float]:
    """Return between what a cell's resistance to direct current lies, from the one at 1 kHz. [mohm].

    Parameters
    ----------
    ac_mohm : float
        As printed on sheets, at 1 kHz. [mohm]

    Returns
    -------
    tuple of float
        Low and high, `DC_OVER_AC` times what was given. [mohm]

    Raises
    ------
    ValueError
        If the resistance is not above zero.

    Notes
    -----
    Validity: fresh cylindrical cells near 25 C, a pulse of ten seconds at medium charge. Longer pulses,
    cold and age give more.

    Examples
    --------
    >>> dc_resistance_mohm(ac_mohm=20.0)
    (26.0, 50.0)
    """
    check_positive(ac_mohm=ac_mohm)
    low, high = DC_OVER_AC
    return low * ac_mohm, high * ac_mohm


def cell_rise_bounds_k(*, current_a, dc_mohm, capacity_ah, mass_g, surface_m2):
    low = rise_after_k(
        heat_w=cell_heat_w(current_a=current_a[0], resistance_mohm=max(dc_mohm[0], 1e-6) * 0.7),
        heat_capacity_j_per_k=mass_g[1] * 1.1,
        surface_m2=surface_m2[1],
        heat_transfer_w_per_m2k=20.0,
        seconds=3600 * capacity_ah[0] / max(current_a[1], 1e-9),
    )
    high = rise_after_k(
        heat_w=cell_heat_w(current_a=current_a[1], resistance_mohm=dc_mohm[1] * 1.6),
        heat_capacity_j_per_k=mass_g[0] * 0.8,
        surface_m2=surface_m2[0],
        heat_transfer_w_per_m2k=0.0,
        seconds=3600 * capacity_ah[1] / max(current_a[0], 1e-9),
    )
    return low, high


def minutes_to_limit_bounds(*, allowed_rise_k, current_a, dc_mohm, mass_g, surface_m2, capacity_ah):
    return 1.0, float("inf")
