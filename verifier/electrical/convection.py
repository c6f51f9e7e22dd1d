"""Heat that a lead gives to still air and, by radiation, to its surroundings.

Parts of a search for a heat balance, which checks what it is asked before it begins.
"""

from __future__ import annotations

from collections.abc import Callable
from math import log, pi
from typing import Generic, NamedTuple

from verifier.electrical.elementary import (
    Value,
    exp,
    maximum,
    minimum,
    power,
)

KELVIN = 273.15
# Conventional value; 3rd General Conference on Weights and Measures, 1901.
GRAVITY_M_PER_S2 = 9.80665
# CODATA 2018.
STEFAN_BOLTZMANN = 5.670374419e-8
STANDARD_PRESSURE_PA = 101325.0
# Dry air. U.S. Standard Atmosphere, 1976 (from memory, not checked).
AIR_GAS_CONSTANT = 287.053
# At 300 to 350 K, from the reference equation of air of Lemmon et al. 2000 (computed with CoolProp 8.0.0).
AIR_SPECIFIC_HEAT = 1007.0

# Morgan's correlation of long horizontal cylinders, Nu = C Ra^n: C and n from Ra 1e-10, 1e-2, 1e2, 1e4, 1e7.
# V. T. Morgan, Advances in Heat Transfer 11 (1975) 199-264. The first row was read in Holman, Heat Transfer,
# Ex. 7-4; the others are from memory, not checked.
MORGAN_ROWS = (
    (0.675, 0.058),
    (1.02, 0.148),
    (0.850, 0.188),
    (0.480, 0.250),
    (0.125, 0.333),
)


class Air(NamedTuple, Generic[Value]):
    """Air at one temperature and standard pressure."""

    conductivity_w_per_mk: Value
    kinematic_viscosity_m2_per_s: Value
    thermal_diffusivity_m2_per_s: Value
    expansion_per_k: Value

    @property
    def prandtl(self) -> Value:
        """Kinematic viscosity over thermal diffusivity. [-]."""
        return self.kinematic_viscosity_m2_per_s / self.thermal_diffusivity_m2_per_s


def air(*, kelvin: Value) -> Air[Value]:
    """Return the properties of dry air that carry heat.

    Parameters
    ----------
    kelvin : float or array
        Temperature of the air film: the mean of surface and surroundings. [K]

    Notes
    -----
    Validity: against the reference equation of air, viscosity and conductivity are within 1 % from 300 to
    400 K and within 1.5 % from 250 K, the Prandtl number within 2.5 %.

    Source: viscosity by Sutherland's law and conductivity as in the U.S. Standard Atmosphere, 1976 (from
    memory, not checked); density of an ideal gas.

    Examples
    --------
    >>> round(air(kelvin=300.0).conductivity_w_per_mk, 4)
    0.0263
    """
    root_cubed = power(kelvin, 1.5)
    viscosity = 1.458e-6 * root_cubed / (kelvin + 110.4)
    conductivity = 2.64638e-3 * root_cubed / (kelvin + 245.4 * exp(-12 * log(10) / kelvin))
    density = STANDARD_PRESSURE_PA / (AIR_GAS_CONSTANT * kelvin)
    return Air(conductivity, viscosity / density, conductivity / (density * AIR_SPECIFIC_HEAT), 1.0 / kelvin)


def rayleigh_number(*, rise_k: Value, diameter_m: Value, film: Air[Value]) -> Value:
    """Return how strongly warm air is driven upward around a lying cylinder. [-].

    Parameters
    ----------
    rise_k, diameter_m : float or array
        Surface over surroundings, and outer diameter. [K, m]
    film : Air
        At film temperature.

    Examples
    --------
    >>> round(rayleigh_number(rise_k=30.0, diameter_m=0.004, film=air(kelvin=313.15)))
    148
    """
    buoyancy = GRAVITY_M_PER_S2 * diameter_m * diameter_m * diameter_m * film.expansion_per_k * rise_k
    return buoyancy / (film.kinematic_viscosity_m2_per_s * film.thermal_diffusivity_m2_per_s)


def horizontal_cylinder_nusselt(*, rayleigh: Value, prandtl: Value) -> Value:
    """Return the mean Nusselt number of a long lying cylinder in still fluid. [-].

    Parameters
    ----------
    rayleigh, prandtl : float or array
        Rayleigh number on the diameter, and Prandtl number. [-]

    Notes
    -----
    Validity: up to a Rayleigh number of 1e12. Below 1e-2, the finest wires, it gives too much: 16 % in
    Holman's Ex. 7-4; `fine_wire_nusselt` is meant for those.

    Source: Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975) 1049; formula read in worked examples of
    Incropera et al., Fundamentals of Heat and Mass Transfer, 6th ed., sec. 9.6.3.

    Examples
    --------
    >>> round(horizontal_cylinder_nusselt(rayleigh=5.076e6, prandtl=0.697), 2)
    23.1
    """
    of_prandtl = power(1 + power(0.559 / prandtl, 9 / 16), 8 / 27)
    return power(0.60 + 0.387 * power(rayleigh, 1 / 6) / of_prandtl, 2)


def fine_wire_nusselt(*, rayleigh: Value) -> Value:
    """Return the mean Nusselt number of a long lying wire or cylinder in still air. [-].

    Parameters
    ----------
    rayleigh : float or array
        Rayleigh number on the diameter. [-]

    Notes
    -----
    Validity: 1e-10 to 1e12. Below 1e-10 the first row goes on downward; a surface is there within a
    millionth of a kelvin of the air.

    Source: see `MORGAN_ROWS`.

    Examples
    --------
    >>> round(fine_wire_nusselt(rayleigh=4.06e-5), 4)
    0.3755
    """
    # Each row is the greatest of all where it holds; so taken, they meet without the printed table's steps of
    # up to a quarter of a percent, at which no search would settle.
    result = 0 * rayleigh
    for factor, exponent in MORGAN_ROWS:
        result = maximum(result, factor * power(rayleigh, exponent))
    return result


def lying_cylinder_loss_w_per_m(
    *, diameter_m: Value, rise_k: Value, ambient_k: Value, emissivity: float = 0.9, most: bool = False
) -> Value:
    """Return the heat that a metre of lying cylinder gives to still air and its surroundings. [W/m].

    Parameters
    ----------
    diameter_m, rise_k : float or array
        Outer diameter, and surface over surroundings. [m, K]
    ambient_k : float or array
        Of the air and of what surrounds it. [K]
    emissivity : float or array
        0 to 1; paint, plastic and heat-shrink about 0.9, bright nickel about 0.1. [-]
    most : bool
        Two accepted correlations differ by up to a quarter here (Churchill and Chu; Morgan): whether the
        greater of the two is asked for, an upper bound, rather than the lesser.

    Notes
    -----
    Source: the two correlations, and the Stefan-Boltzmann law for a small body in large surroundings.

    Examples
    --------
    >>> row = {"diameter_m": 4.17e-3, "rise_k": 50.0, "ambient_k": 303.15}
    >>> round(lying_cylinder_loss_w_per_m(**row), 2), round(lying_cylinder_loss_w_per_m(most=True, **row), 2)
    (13.39, 15.25)
    """
    film = air(kelvin=ambient_k + rise_k / 2)
    driven = rayleigh_number(rise_k=rise_k, diameter_m=diameter_m, film=film)
    of_two: Callable[[Value, Value], Value] = maximum if most else minimum
    nusselt = of_two(
        horizontal_cylinder_nusselt(rayleigh=driven, prandtl=film.prandtl), fine_wire_nusselt(rayleigh=driven)
    )
    surface_k = ambient_k + rise_k
    radiation = STEFAN_BOLTZMANN * (surface_k * surface_k + ambient_k * ambient_k) * (surface_k + ambient_k)
    coefficient = nusselt * film.conductivity_w_per_mk / diameter_m + emissivity * radiation
    return pi * diameter_m * coefficient * rise_k
