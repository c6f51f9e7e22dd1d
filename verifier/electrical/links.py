"""The heat of a strip's current: in the strip, and into the cells that it joins."""

from __future__ import annotations

from math import inf, pi
from typing import Any, Generic, NamedTuple

from verifier.electrical.convection import STEFAN_BOLTZMANN
from verifier.electrical.elementary import (
    Span,
    Value,
    check_between,
    check_not_negative,
    check_positive,
    choose,
    cos,
    cosh,
    sin,
    sinh,
    sqrt,
)
from verifier.electrical.strip import MATERIALS, StripMaterial

# Heat that a strip's faces give to the air inside a pack, low and high. [W/m2 K]. Common practice, no source.
STRIP_HEAT_TRANSFER_W_PER_M2K = (5.0, 15.0)
# Up to this rise the above holds; what is hotter gives more to the air, and radiates. Common practice, no source. [K]
STILL_AIR_RISE_K = 100.0
# The most that a hot strip gives to still air; and as if it were black. From memory, not checked. [W/m2 K, -]
_HOT_STRIP_W_PER_M2K, _HOT_STRIP_EMISSIVITY = 30.0, 1.0


class _Heating(NamedTuple):
    """A strip's heat balance along its length, in SI units: rise'' = m2 rise - s."""

    m2: Any
    s: Any
    heat_w_per_m: Any
    loss_w_per_mk: Any
    growth_per_k: Any


def _heating(
    *,
    current_a: Any,
    metal: tuple[Any, Any, Any],
    width_mm: Any,
    thickness_mm: Any,
    layers: Any,
    ambient_c: Any,
    heat_transfer_w_per_m2k: Any,
) -> _Heating:
    resistivity_nohm_m, alpha_per_k, conductivity_w_per_mk = metal
    check_positive(
        resistivity_nohm_m=resistivity_nohm_m,
        conductivity_w_per_mk=conductivity_w_per_mk,
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        layers=layers,
    )
    check_not_negative(
        current_a=current_a, alpha_per_k=alpha_per_k, heat_transfer_w_per_m2k=heat_transfer_w_per_m2k
    )
    check_between(-60, 150, ambient_c=ambient_c)
    area_m2 = width_mm * thickness_mm * layers / 1e6
    perimeter_m = 2 * (width_mm + thickness_mm * layers) / 1000
    ratio = 1 + alpha_per_k * (ambient_c - 20)
    heat_w_per_m = current_a * current_a * 1e-9 * resistivity_nohm_m * ratio / area_m2
    growth_per_k = alpha_per_k / ratio
    loss_w_per_mk = heat_transfer_w_per_m2k * perimeter_m
    along = conductivity_w_per_mk * area_m2
    m2 = (loss_w_per_mk - heat_w_per_m * growth_per_k) / along
    return _Heating(m2, heat_w_per_m / along, heat_w_per_m, loss_w_per_mk, growth_per_k)


def _sinh_over(m2: Any, length: Any) -> Any:
    """Return sinh(m x) / m, which is sin for negative m2 and x for none."""
    m = sqrt(abs(m2))
    straight = m * length < 1e-6
    m = choose(straight, 1.0, m)
    curved = choose(m2 > 0, sinh(choose(m2 > 0, m * length, 0.0)), sin(m * length)) / m
    return choose(straight, length, curved)


def _cosh(m2: Any, length: Any) -> Any:
    """Return cosh(m x), which is cos for negative m2."""
    x = sqrt(abs(m2)) * length
    return choose(m2 > 0, cosh(choose(m2 > 0, x, 0.0)), cos(x))


def _check_settles(heating: _Heating, length_m: Any) -> Any:
    """Return whether the strip settles at all: its ends take what the air does not."""
    check_between(0, 1200, length_in_units_of_heat_spread=sqrt(abs(heating.m2)) * length_m)
    return (heating.m2 > 0) | (sqrt(abs(heating.m2)) * length_m < pi)


class LinkHeat(NamedTuple, Generic[Value]):
    """What a link's current does to the link and to the cells at its ends."""

    mid_c: Value
    mean_c: Value
    heat_w: Value
    heat_into_ends_w: Value


def link_temperatures(
    *,
    current_a: Value,
    resistivity_nohm_m: Value,
    alpha_per_k: Value,
    conductivity_w_per_mk: Value,
    length_mm: Value,
    width_mm: Value,
    thickness_mm: Value,
    end_c: Value,
    ambient_c: Value,
    heat_transfer_w_per_m2k: Value,
    layers: float = 1,
) -> LinkHeat[Value]:
    """Return how warm a link between two cell ends gets, and how much heat it puts into the cells.

    Parameters
    ----------
    current_a : float or array
        Through the link. [A]
    resistivity_nohm_m, alpha_per_k, conductivity_w_per_mk : float or array
        Of its metal at 20 C. [nohm m, 1/K, W/m K]
    length_mm, width_mm, thickness_mm : float or array
        Free length between the welds, and section of one layer. [mm]
    end_c : float or array
        Temperature of the cell ends; of two that differ, their mean gives the same result. [C]
    ambient_c : float or array
        Air around the link. [C]
    heat_transfer_w_per_m2k : float or array
        From the strip to the air, see `STRIP_HEAT_TRANSFER_W_PER_M2K`. [W/m2 K]
    layers : float or array
        Strips lying on each other. [-]

    Returns
    -------
    LinkHeat
        Temperature in the middle and on average [C]; heat made, and heat into both ends together, which is
        negative where the strip cools the cells [W]. All infinite where the link runs away.

    Raises
    ------
    ValueError
        If a size, the resistivity or the conductivity is not above zero, the current, coefficient or heat
        transfer is negative, the air is outside -60 to 150 C, or the link is more than 1200 times as long as
        heat spreads along it.

    Notes
    -----
    Validity: resistivity straight in temperature, so within some 10 % up to 200 C; contact resistance of the
    welds left out. Source: fin between two fixed ends, Incropera et al. table 3.4 case C (from memory, not
    checked), with the heat of the current added; derived here, and checked against a boundary-value solver in
    the tests.

    Examples
    --------
    >>> nickel = {"resistivity_nohm_m": 96.4, "alpha_per_k": 0.0043, "conductivity_w_per_mk": 70.2}
    >>> sizes = {"length_mm": 20.0, "width_mm": 8.0, "thickness_mm": 0.15}
    >>> link = link_temperatures(current_a=10.0, end_c=40.0, ambient_c=25.0, heat_transfer_w_per_m2k=15.0,
    ...     **nickel, **sizes)
    >>> round(link.mid_c, 2), round(link.heat_w, 4), round(link.heat_into_ends_w, 4)
    (42.72, 0.1757, 0.0935)
    """
    check_positive(length_mm=length_mm)
    heating = _heating(
        current_a=current_a,
        metal=(resistivity_nohm_m, alpha_per_k, conductivity_w_per_mk),
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        layers=layers,
        ambient_c=ambient_c,
        heat_transfer_w_per_m2k=heat_transfer_w_per_m2k,
    )
    length = length_mm / 1000
    settles = _check_settles(heating, length)
    m2 = choose(settles, heating.m2, 1.0)
    end_rise = end_c - ambient_c
    half = length / 2
    across = _cosh(m2, half)
    mid = (end_rise + 2 * heating.s * _sinh_over(m2, half / 2) * _sinh_over(m2, half / 2)) / across
    flat = _sinh_over(m2, half) / (half * across)
    mean = end_rise * flat + heating.s * half * half * _one_minus_flat(m2 * half * half, flat)
    made = heating.heat_w_per_m * length * (1 + heating.growth_per_k * mean)
    into_ends = made - heating.loss_w_per_mk * length * mean
    return LinkHeat(
        choose(settles, ambient_c + mid, inf),
        choose(settles, ambient_c + mean, inf),
        choose(settles, made, inf),
        choose(settles, into_ends, inf),
    )


def _one_minus_flat(z: Any, flat: Any) -> Any:
    """Return (1 - tanh(y) / y) / z for z = y squared, by its series where the difference would vanish."""
    small = abs(z) < 1e-3
    return choose(small, 1 / 3 - z * (2 / 15 - z * 17 / 315), (1 - flat) / choose(small, 1.0, z))


def long_strip_rise_k(
    *,
    current_a: Value,
    resistivity_nohm_m: Value,
    alpha_per_k: Value,
    width_mm: Value,
    thickness_mm: Value,
    ambient_c: Value,
    heat_transfer_w_per_m2k: Value,
    layers: float = 1,
) -> Value:
    """Return the rise over the air of a strip so long that no end cools it, as a run to the lead. [K].

    Parameters
    ----------
    current_a, resistivity_nohm_m, alpha_per_k, width_mm, thickness_mm, ambient_c, \
    heat_transfer_w_per_m2k, layers
        As in `link_temperatures`.

    Returns
    -------
    float or array
        Infinity where the strip runs away: each kelvin adds more heat than the air takes.

    Raises
    ------
    ValueError
        As `link_temperatures`.

    Notes
    -----
    Validity: as `link_temperatures`; an upper bound for a strip with ends.

    Examples
    --------
    >>> nickel = {"resistivity_nohm_m": 96.4, "alpha_per_k": 0.0043, "width_mm": 8.0, "thickness_mm": 0.15}
    >>> round(long_strip_rise_k(current_a=10.0, ambient_c=25.0, heat_transfer_w_per_m2k=15.0, **nickel), 1)
    39.1
    """
    heating = _heating(
        current_a=current_a,
        # How well heat runs along it does not matter.
        metal=(resistivity_nohm_m, alpha_per_k, 1.0),
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        layers=layers,
        ambient_c=ambient_c,
        heat_transfer_w_per_m2k=heat_transfer_w_per_m2k,
    )
    settles = heating.m2 > 0
    warmed = choose(heating.s > 0, inf, 0.0)
    result: Value = choose(settles, heating.s / choose(settles, heating.m2, 1.0), warmed)
    return result


def collector_rise_bounds_k(
    *,
    material: str,
    current_a: tuple[Value, Value],
    width_mm: tuple[Value, Value],
    thickness_mm: tuple[Value, Value],
    layers: tuple[Any, Any],
    ambient_c: Value,
    heat_transfer_w_per_m2k: tuple[float, float] = STRIP_HEAT_TRANSFER_W_PER_M2K,
) -> Span[Value]:
    """Return between what the rise over the air of a long collector lies, a run that no cell cools. [K].

    Parameters
    ----------
    material : str
        One of `strip.MATERIALS`.
    current_a, width_mm, thickness_mm, layers, heat_transfer_w_per_m2k : (low, high) of float or array
        As in `link_temperatures`.
    ambient_c : float or array
        Air inside the pack. [C]

    Raises
    ------
    ValueError
        As `link_temperatures`, or if there is no such material.

    Notes
    -----
    Validity: as `long_strip_rise_k`; infinity where the strip runs away.

    Examples
    --------
    >>> sizes = {"width_mm": (8.0, 8.0), "thickness_mm": (0.15, 0.15), "layers": (1.0, 1.0)}
    >>> rise = collector_rise_bounds_k(material="nickel", current_a=(6.0, 6.0), ambient_c=40.0, **sizes)
    >>> [round(each) for each in rise]
    [10, 45]
    """
    metal: Any = _material(material)
    found: list[Any] = [
        long_strip_rise_k(
            current_a=current_a[end],
            resistivity_nohm_m=of.resistivity_nohm_m,
            alpha_per_k=of.alpha_per_k,
            width_mm=width_mm[1 - end],
            thickness_mm=thickness_mm[1 - end],
            layers=layers[1 - end],
            ambient_c=ambient_c,
            heat_transfer_w_per_m2k=heat_transfer_w_per_m2k[1 - end],
        )
        for end, of in enumerate((metal.best, metal.worst))
    ]
    return Span(*found)


def hot_strip_rise_k(
    *,
    material: str,
    current_a: float,
    width_mm: float,
    thickness_mm: float,
    layers: float,
    ambient_c: float,
) -> float:
    """Return the least rise over the air of a long strip that glows rather than warms. [K].

    Parameters
    ----------
    material : str
        One of `strip.MATERIALS`; its best conductor is taken.
    current_a, width_mm, thickness_mm, layers, ambient_c : float
        As in `collector_rise_bounds_k`.

    Raises
    ------
    ValueError
        As `collector_rise_bounds_k`.

    Notes
    -----
    Validity: a black body (Stefan and Boltzmann) in still air; a lower bound of what a real strip gets.

    Examples
    --------
    >>> sizes = {"width_mm": 8.0, "thickness_mm": 0.15, "layers": 1.0}
    >>> round(hot_strip_rise_k(material="plated_steel", current_a=20.0, ambient_c=45.0, **sizes), -1)
    110.0
    """
    best, sizes = _material(material).best, {"width_mm": width_mm, "thickness_mm": thickness_mm}
    air_k = ambient_c + 273.15
    low, high = 0.0, 3000.0
    for _ in range(40):
        middle = (low + high) / 2
        strip_k = air_k + middle
        radiated = _HOT_STRIP_EMISSIVITY * STEFAN_BOLTZMANN * (strip_k**2 + air_k**2) * (strip_k + air_k)
        rise = long_strip_rise_k(
            current_a=current_a, resistivity_nohm_m=best.resistivity_nohm_m, alpha_per_k=best.alpha_per_k,
            layers=layers, ambient_c=ambient_c, heat_transfer_w_per_m2k=_HOT_STRIP_W_PER_M2K + radiated, **sizes,
        )  # fmt: skip
        low, high = (middle, high) if rise > middle else (low, middle)
    return low


class LinkBounds(NamedTuple, Generic[Value]):
    """How much warmer than the cells a link gets in its middle, and the heat it puts into them."""

    rise_k: Span[Value]
    into_cells_w: Span[Value]


def link_bounds(
    *,
    material: str,
    current_a: tuple[Value, Value],
    length_mm: tuple[Value, Value],
    width_mm: tuple[Value, Value],
    thickness_mm: tuple[Value, Value],
    layers: tuple[Any, Any],
    ambient_c: Value,
    heat_transfer_w_per_m2k: tuple[float, float] = STRIP_HEAT_TRANSFER_W_PER_M2K,
) -> LinkBounds[Value]:
    """Return between what the warming of a short stretch between two cells lies, cells as warm as the air.

    Parameters
    ----------
    material, current_a, width_mm, thickness_mm, layers, ambient_c, heat_transfer_w_per_m2k
        As in `collector_rise_bounds_k`.
    length_mm : (low, high) of float or array
        Free length between two cells. [mm]

    Returns
    -------
    LinkBounds
        [K, W]

    Raises
    ------
    ValueError
        As `link_temperatures`, or if there is no such material.

    Notes
    -----
    Validity: as `link_temperatures`. The cells cool a short stretch, so what counts is the heat pushed into
    them.

    Examples
    --------
    >>> sizes = {"length_mm": (20.0, 20.0), "width_mm": (8.0, 8.0), "thickness_mm": (0.15, 0.15)}
    >>> found = link_bounds(material="plated_steel", current_a=(10.0, 10.0), layers=(1.0, 1.0),
    ...     ambient_c=40.0, **sizes)
    >>> [round(each, 1) for each in found.rise_k]
    [7.2, 8.4]
    """
    metal: Any = _material(material)
    found: list[Any] = [
        link_temperatures(
            current_a=current_a[end],
            resistivity_nohm_m=of.resistivity_nohm_m,
            alpha_per_k=of.alpha_per_k,
            conductivity_w_per_mk=of.conductivity_w_per_mk,
            length_mm=length_mm[end],
            width_mm=width_mm[1 - end],
            thickness_mm=thickness_mm[1 - end],
            layers=layers[1 - end],
            end_c=ambient_c,
            ambient_c=ambient_c,
            heat_transfer_w_per_m2k=heat_transfer_w_per_m2k[1 - end],
        )
        for end, of in enumerate((metal.best, metal.worst))
    ]
    low, high = found
    return LinkBounds(
        Span(low.mid_c - ambient_c, high.mid_c - ambient_c),
        Span(low.heat_into_ends_w, high.heat_into_ends_w),
    )


def _material(name: str) -> StripMaterial:
    if name not in MATERIALS:
        raise ValueError(f"material is {name!r}; it must be one of {', '.join(MATERIALS)}")
    return MATERIALS[name]
