"""Heat that a surface gives to still air and, by radiation, to its surroundings."""

from __future__ import annotations

from math import log, pi
from typing import Generic, NamedTuple

from verifier.electrical.elementary import (
    Value,
    check_between,
    check_not_negative,
    check_positive,
    choose,
    exp,
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

# Morgan's correlation of long horizontal cylinders, Nu = C Ra^n: from which Ra, C, n.
# V. T. Morgan, Advances in Heat Transfer 11 (1975) 199-264. The first row was read in Holman, Heat Transfer,
# Ex. 7-4; the others are from memory, not checked.
MORGAN_ROWS = (
    (1e-10, 0.675, 0.058),
    (1e-2, 1.02, 0.148),
    (1e2, 0.850, 0.188),
    (1e4, 0.480, 0.250),
    (1e7, 0.125, 0.333),
)
LARGEST_RAYLEIGH = 1e12


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


def air(*, temperature_c: Value) -> Air[Value]:
    """Return the properties of dry air that carry heat.

    Parameters
    ----------
    temperature_c : float or array
        Temperature of the air film: the mean of surface and surroundings. [C]

    Raises
    ------
    ValueError
        Outside -60 to 330 C.

    Notes
    -----
    Validity: against the reference equation of air, viscosity and conductivity are within 1 % from 300 to
    400 K and within 1.5 % from 250 K, the Prandtl number within 2.5 %.

    Source: viscosity by Sutherland's law and conductivity as in the U.S. Standard Atmosphere, 1976 (from
    memory, not checked); density of an ideal gas.

    Examples
    --------
    >>> round(air(temperature_c=26.85).conductivity_w_per_mk, 4)
    0.0263
    """
    check_between(-60, 330, temperature_c=temperature_c)
    return _air(temperature_c + KELVIN)


def _air(kelvin: Value) -> Air[Value]:
    root_cubed = power(kelvin, 1.5)
    viscosity = 1.458e-6 * root_cubed / (kelvin + 110.4)
    conductivity = 2.64638e-3 * root_cubed / (kelvin + 245.4 * exp(-12 * log(10) / kelvin))
    density = STANDARD_PRESSURE_PA / (AIR_GAS_CONSTANT * kelvin)
    return Air(conductivity, viscosity / density, conductivity / (density * AIR_SPECIFIC_HEAT), 1.0 / kelvin)


def rayleigh(
    *,
    rise_k: Value,
    size_m: Value,
    expansion_per_k: Value,
    kinematic_viscosity_m2_per_s: Value,
    thermal_diffusivity_m2_per_s: Value,
) -> Value:
    """Return the Rayleigh number: how strongly warm air is driven upward. [-].

    Parameters
    ----------
    rise_k : float or array
        Surface over surroundings. [K]
    size_m : float or array
        Diameter of a lying cylinder, height of an upright plate. [m]
    expansion_per_k, kinematic_viscosity_m2_per_s, thermal_diffusivity_m2_per_s : float or array
        Of the fluid at film temperature. [1/K, m2/s, m2/s]

    Raises
    ------
    ValueError
        If the rise is negative, or another quantity is not above zero.

    Examples
    --------
    >>> film = air(temperature_c=40.0)
    >>> of_air = {"expansion_per_k": film.expansion_per_k,
    ...     "kinematic_viscosity_m2_per_s": film.kinematic_viscosity_m2_per_s,
    ...     "thermal_diffusivity_m2_per_s": film.thermal_diffusivity_m2_per_s}
    >>> round(rayleigh(rise_k=30.0, size_m=0.004, **of_air))
    148
    """
    check_not_negative(rise_k=rise_k)
    check_positive(
        size_m=size_m,
        expansion_per_k=expansion_per_k,
        kinematic_viscosity_m2_per_s=kinematic_viscosity_m2_per_s,
        thermal_diffusivity_m2_per_s=thermal_diffusivity_m2_per_s,
    )
    buoyancy = GRAVITY_M_PER_S2 * expansion_per_k * rise_k * size_m * size_m * size_m
    return buoyancy / (kinematic_viscosity_m2_per_s * thermal_diffusivity_m2_per_s)


def horizontal_cylinder_nusselt(*, rayleigh: Value, prandtl: Value) -> Value:
    """Return the mean Nusselt number of a long lying cylinder in still fluid. [-].

    Parameters
    ----------
    rayleigh, prandtl : float or array
        Rayleigh number on the diameter, and Prandtl number. [-]

    Raises
    ------
    ValueError
        If the Rayleigh number is negative or above 1e12, or the Prandtl number is not above zero.

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
    check_between(0, LARGEST_RAYLEIGH, rayleigh=rayleigh)
    check_positive(prandtl=prandtl)
    return _horizontal_cylinder(rayleigh, prandtl)


def _horizontal_cylinder(rayleigh: Value, prandtl: Value) -> Value:
    return power(0.60 + 0.387 * power(rayleigh, 1 / 6) / _prandtl_term(0.559 / prandtl), 2)


def vertical_plate_nusselt(*, rayleigh: Value, prandtl: Value) -> Value:
    """Return the mean Nusselt number of an upright plate in still fluid. [-].

    Parameters
    ----------
    rayleigh, prandtl : float or array
        Rayleigh number on the height, and Prandtl number. [-]

    Raises
    ------
    ValueError
        If the Rayleigh number is negative or above 1e12, or the Prandtl number is not above zero.

    Notes
    -----
    Validity: laminar and turbulent, up to a Rayleigh number of 1e12. An upright cell sheds up to a quarter
    more than a plate of its height, because its wall is curved.

    Source: Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975) 1323; formula read in worked examples of
    Incropera et al., Fundamentals of Heat and Mass Transfer, 6th ed., sec. 9.6.1.

    Examples
    --------
    >>> round(vertical_plate_nusselt(rayleigh=1.813e9, prandtl=0.69), 1)
    147.1
    """
    check_between(0, LARGEST_RAYLEIGH, rayleigh=rayleigh)
    check_positive(prandtl=prandtl)
    return power(0.825 + 0.387 * power(rayleigh, 1 / 6) / _prandtl_term(0.492 / prandtl), 2)


def _prandtl_term(ratio: Value) -> Value:
    return power(1 + power(ratio, 9 / 16), 8 / 27)


def fine_wire_nusselt(*, rayleigh: Value) -> Value:
    """Return the mean Nusselt number of a long lying wire or cylinder in still air. [-].

    Parameters
    ----------
    rayleigh : float or array
        Rayleigh number on the diameter. [-]

    Raises
    ------
    ValueError
        If the Rayleigh number is negative or above 1e12.

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
    check_between(0, LARGEST_RAYLEIGH, rayleigh=rayleigh)
    return _fine_wire(rayleigh)


def _fine_wire(rayleigh: Value) -> Value:
    _, factor, exponent = MORGAN_ROWS[0]
    result = factor * power(rayleigh, exponent)
    for start, factor, exponent in MORGAN_ROWS[1:]:
        result = choose(rayleigh >= start, factor * power(rayleigh, exponent), result)
    return result


def radiation_w_per_m2(*, surface_c: Value, surroundings_c: Value, emissivity: float = 0.9) -> Value:
    """Return the heat that a small body radiates to what surrounds it. [W/m2].

    Parameters
    ----------
    surface_c, surroundings_c : float or array
        Temperatures. [C]
    emissivity : float or array
        0 to 1; paint, plastic and heat-shrink about 0.9, bright nickel about 0.1. [-]

    Raises
    ------
    ValueError
        If a temperature is below absolute zero, or the emissivity is outside 0 to 1.

    Notes
    -----
    Source: Stefan-Boltzmann law.

    Examples
    --------
    >>> round(radiation_w_per_m2(surface_c=60.0, surroundings_c=25.0, emissivity=0.88), 2)
    220.38
    """
    check_between(0, 1, emissivity=emissivity)
    check_between(-KELVIN, 5000, surface_c=surface_c, surroundings_c=surroundings_c)
    hot, cold = surface_c + KELVIN, surroundings_c + KELVIN
    squares = hot * hot + cold * cold
    return emissivity * STEFAN_BOLTZMANN * squares * (hot + cold) * (hot - cold)


def lying_cylinder_loss_w_per_m(
    *, diameter_mm: Value, rise_k: Value, ambient_c: Value, emissivity: float = 0.9
) -> Value:
    """Return the heat that a metre of lying cylinder gives to still air and its surroundings. [W/m].

    Parameters
    ----------
    diameter_mm : float or array
        Outer diameter. [mm]
    rise_k : float or array
        Surface over surroundings. [K]
    ambient_c : float or array
        Of the air and of what surrounds it. [C]
    emissivity : float or array
        0 to 1. [-]

    Raises
    ------
    ValueError
        On a negative rise, a diameter not above zero, or a film temperature outside -60 to 330 C.

    Notes
    -----
    Two accepted correlations differ by up to a quarter here (Churchill and Chu; Morgan). The lesser of the
    two is taken, so that nothing comes out cooler than either says; with wires of less than a tenth of a
    millimetre that is Morgan's, with leads it is Churchill and Chu's.

    Examples
    --------
    >>> round(lying_cylinder_loss_w_per_m(diameter_mm=4.17, rise_k=50.0, ambient_c=30.0), 2)
    13.39
    """
    check_positive(diameter_mm=diameter_mm)
    check_not_negative(rise_k=rise_k)
    check_between(0, 1, emissivity=emissivity)
    check_between(-60, 330, film_temperature_c=ambient_c + rise_k / 2)
    return lying_cylinder_loss(diameter_mm / 1000, rise_k, ambient_c + KELVIN, emissivity)


def lying_cylinder_loss(diameter_m: Value, rise_k: Value, ambient_k: Value, emissivity: float) -> Value:
    """Return `lying_cylinder_loss_w_per_m` unchecked, for a search that has checked its input. [W/m]."""
    film = _air(ambient_k + rise_k / 2)
    driven = (GRAVITY_M_PER_S2 * diameter_m * diameter_m * diameter_m) * (
        film.expansion_per_k
        * rise_k
        / (film.kinematic_viscosity_m2_per_s * film.thermal_diffusivity_m2_per_s)
    )
    nusselt = minimum(_horizontal_cylinder(driven, film.prandtl), _fine_wire(driven))
    surface_k = ambient_k + rise_k
    radiation = STEFAN_BOLTZMANN * (surface_k * surface_k + ambient_k * ambient_k) * (surface_k + ambient_k)
    coefficient = nusselt * film.conductivity_w_per_mk / diameter_m + emissivity * radiation
    return pi * diameter_m * coefficient * rise_k
