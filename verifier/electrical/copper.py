"""Copper conductors: gauge, area, and resistance with temperature and stranding."""

from __future__ import annotations

from collections.abc import Mapping
from math import pi
from types import MappingProxyType
from typing import Any, NamedTuple

from verifier.electrical.elementary import (
    Span,
    Value,
    check_between,
    check_not_negative,
    check_positive,
    power,
    sqrt,
)


class Metal(NamedTuple):
    """A conductor's resistivity at 20 C and how it rises."""

    resistivity_20c_ohm_mm2_per_m: float
    alpha_per_k: float


# IEC 60028 (1925), International Annealed Copper Standard: 58 MS/m at 20 C, and 0.00393 per kelvin at
# constant mass. Both read in secondary copies of the standard.
COPPER = Metal(1 / 58, 0.00393)


class Conductor(NamedTuple):
    """What a lead is made of: resistance over solid copper of its nominal area, low and high."""

    resistance_factor: Span[Any]
    source: str


# Copper-clad aluminium conducts 62 % as well as copper (a tenth of copper by volume; from memory, not
# checked).
CLAD_ALUMINIUM_CONDUCTIVITY = 0.62

CONDUCTORS: Mapping[str, Conductor] = MappingProxyType(
    {
        # A nominal area is a name: IEC 60228 limits the resistance of classes 5 and 6, not the area. The high
        # end is the largest ratio of its table (1.5 and 2.5 mm2); no lead is bound to use the allowance up.
        "copper": Conductor(Span(1.0, 1.158), "IEC 60228 class 5, plain"),
        # Tin conducts a seventh as well as copper and takes its place; the same table, 1.5 mm2.
        "tinned_copper": Conductor(Span(1.0, 1.192), "IEC 60228 class 5, tinned"),
        "copper_clad_aluminium": Conductor(
            Span(1 / CLAD_ALUMINIUM_CONDUCTIVITY, 1.158 / CLAD_ALUMINIUM_CONDUCTIVITY),
            "62 % of copper, from memory; IEC 60228 class 5",
        ),
        # Of a lead of which only the gauge is known. Aircraft wire of the same gauges, tinned and stranded,
        # lies between 0.97 (20 AWG) and 1.27 (12 AWG): FAA AC 43.13-1B table 11-9, read in a copy. It may be
        # copper-clad aluminium besides.
        "unknown": Conductor(
            Span(0.97, 1.28 / CLAD_ALUMINIUM_CONDUCTIVITY),
            "FAA AC 43.13-1B table 11-9; copper-clad aluminium at 62 % of copper, from memory",
        ),
    }
)

# Part of the circle around the strands that is copper: bunched fine strands, loose and tight, from memory,
# not checked; one wire.
FINE_STRAND_FILL, SOLID_FILL = (0.6, 0.65), 1.0

# Above this the linear law of copper and every common insulation have ended.
HIGHEST_CONDUCTOR_C = 250.0


def awg_diameter_mm(*, gauge: Value) -> Value:
    """Return the diameter of a solid wire of an American wire gauge. [mm].

    Parameters
    ----------
    gauge : float or array
        0 for 1/0, -1 for 2/0, -2 for 3/0, -3 for 4/0. [AWG]

    Raises
    ------
    ValueError
        Outside 4/0 (-3) to 56 AWG.

    Notes
    -----
    Validity: 4/0 to 56 AWG, the sizes that the standard lists.

    Source: ASTM B258, 39 equal ratios from 0.46 in (4/0) to 0.005 in (36 AWG); formula from memory, its steps
    read in a printed table.

    Examples
    --------
    >>> round(awg_diameter_mm(gauge=12), 4)
    2.0525
    """
    check_between(-3, 56, gauge=gauge)
    ratio: Value = 92 ** ((36 - gauge) / 39)
    return 0.127 * ratio


def awg_area_mm2(*, gauge: Value) -> Value:
    """Return the copper area of a solid wire of an American wire gauge. [mm2].

    Parameters
    ----------
    gauge : float or array
        As in `awg_diameter_mm`. [AWG]

    Raises
    ------
    ValueError
        Outside 4/0 (-3) to 56 AWG.

    Examples
    --------
    >>> round(awg_area_mm2(gauge=12), 4)
    3.3088
    """
    return pi / 4 * power(awg_diameter_mm(gauge=gauge), 2)


def conductor_diameter_mm(*, area_mm2: Value, fill: float = 1.0) -> Value:
    """Return the outer diameter of a bare conductor, strands and gaps. [mm].

    Parameters
    ----------
    area_mm2 : float or array
        Copper area. [mm2]
    fill : float or array
        Part of the circle that is copper, 0.6 for bunched fine strands. [-]

    Raises
    ------
    ValueError
        If the area is not above zero or the fill is outside 0.3 to 1.

    Examples
    --------
    >>> round(conductor_diameter_mm(area_mm2=3.3088, fill=7/9), 2)
    2.33
    """
    check_positive(area_mm2=area_mm2)
    check_between(0.3, 1.0, fill=fill)
    return sqrt(4 / pi * area_mm2 / fill)


def resistance_ratio(*, temperature_c: Value) -> Value:
    """Return the resistance of copper over that at 20 C. [-].

    Parameters
    ----------
    temperature_c : float or array
        Of the conductor. [C]

    Raises
    ------
    ValueError
        Outside -60 to 250 C.

    Notes
    -----
    Validity: the straight line holds within 1 % from -60 to 250 C (from memory, not checked).

    Source: IEC 60028.

    Examples
    --------
    >>> round(resistance_ratio(temperature_c=75.0), 5)
    1.21615
    """
    check_between(-60, HIGHEST_CONDUCTOR_C, temperature_c=temperature_c)
    return 1 + COPPER.alpha_per_k * (temperature_c - 20)


def resistivity_ohm_mm2_per_m(*, temperature_c: Value) -> Value:
    """Return the resistivity of annealed copper. [ohm mm2/m].

    Parameters
    ----------
    temperature_c : float or array
        Of the conductor. [C]

    Raises
    ------
    ValueError
        Outside -60 to 250 C.

    Examples
    --------
    >>> round(resistivity_ohm_mm2_per_m(temperature_c=20.0), 6)
    0.017241
    """
    return COPPER.resistivity_20c_ohm_mm2_per_m * resistance_ratio(temperature_c=temperature_c)


def resistance_ohm(*, area_mm2: Value, length_m: Value, temperature_c: Value, factor: float = 1.0) -> Value:
    """Return the resistance of a length of copper conductor. [ohm].

    Parameters
    ----------
    area_mm2, length_m : float or array
        Copper area, and the length that the current runs through. [mm2, m]
    temperature_c : float or array
        Of the conductor. [C]
    factor : float or array
        Over solid copper of that area, see `CONDUCTORS`. [-]

    Raises
    ------
    ValueError
        If the area or factor is not above zero, the length is negative, or the temperature is outside -60 to
        250 C.

    Examples
    --------
    >>> round(resistance_ohm(area_mm2=5.2612, length_m=1000.0, temperature_c=20.0), 3)
    3.277
    """
    check_positive(area_mm2=area_mm2, factor=factor)
    check_not_negative(length_m=length_m)
    return resistivity_ohm_mm2_per_m(temperature_c=temperature_c) * length_m / area_mm2 * factor
