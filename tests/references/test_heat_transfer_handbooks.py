"""Heat transfer against worked examples of textbooks.

Sources: Incropera et al., Fundamentals of Heat and Mass Transfer, 6th ed., Ex. 1.2, 9.2, 9.4; Holman, Heat
Transfer, Ex. 2-6, 7-4; a pin between fixed ends after Gilat and Subramaniam, Numerical Methods for Engineers
and Scientists, Ex. 11-3. Read in worked copies of the examples. Where a book takes g as 9.81 or 9.8, the
difference to 9.80665 is far inside the tolerance.
"""

from __future__ import annotations

from math import pi

import pytest

from verifier.electrical.convection import (
    air,
    fine_wire_nusselt,
    horizontal_cylinder_nusselt,
    radiation_w_per_m2,
    rayleigh,
    vertical_plate_nusselt,
)
from verifier.electrical.copper import resistance_ohm
from verifier.electrical.heat import still_air_rise_k
from verifier.electrical.leads import wire_core_rise_k
from verifier.electrical.links import link_profile_c


def test_a_steam_pipe_loses_what_incropera_9_4_says() -> None:
    """Otherwise a lead cools too well or too badly. Source: Incropera Ex. 9.4: Nu 23.09, 763.5 W/m."""
    driven = rayleigh(
        rise_k=165.0 - 23.0,
        size_m=0.1,
        expansion_per_k=2.725e-3,
        kinematic_viscosity_m2_per_s=22.8e-6,
        thermal_diffusivity_m2_per_s=32.8e-6,
    )
    nusselt = horizontal_cylinder_nusselt(rayleigh=driven, prandtl=0.697)
    h = nusselt * 31.3e-3 / 0.1
    radiated = radiation_w_per_m2(surface_c=165.0, surroundings_c=23.0, emissivity=0.85)
    assert driven == pytest.approx(5.076e6, rel=0.001)
    assert nusselt == pytest.approx(23.09, rel=0.002)
    assert h == pytest.approx(7.23, rel=0.002)
    assert pi * 0.1 * (h * 142.0 + radiated) == pytest.approx(763.5, rel=0.002)


def test_a_glass_door_loses_what_incropera_9_2_says() -> None:
    """Otherwise an upright cell cools too well or too badly. Source: Incropera Ex. 9.2: Nu 147.2, 1060 W."""
    driven = rayleigh(
        rise_k=232.0 - 23.0,
        size_m=0.71,
        expansion_per_k=2.5e-3,
        kinematic_viscosity_m2_per_s=26.4e-6,
        thermal_diffusivity_m2_per_s=38.3e-6,
    )
    nusselt = vertical_plate_nusselt(rayleigh=driven, prandtl=0.69)
    assert nusselt == pytest.approx(147.2, rel=0.002)
    assert nusselt * 33.8e-3 / 0.71 * 1.02 * 0.71 * 209.0 == pytest.approx(1060, rel=0.002)


def test_a_pipe_radiates_what_incropera_1_2_says() -> None:
    """Otherwise a lead's radiation is wrong. Source: Incropera Ex. 1.2: 577.3 + 421.1 = 998.4 W/m."""
    radiated = pi * 0.07 * radiation_w_per_m2(surface_c=200.0, surroundings_c=25.0, emissivity=0.8)
    assert radiated == pytest.approx(421.1, rel=0.001)
    assert radiated + pi * 0.07 * 15.0 * 175.0 == pytest.approx(998.4, rel=0.001)


def test_a_wire_at_200_a_is_as_warm_as_holman_2_6_says() -> None:
    """Otherwise a conductor's core could be far hotter than its skin. Source: Holman Ex. 2-6."""
    area = pi / 4 * 3.0**2
    ohm = resistance_ohm(area_mm2=area, length_m=1.0, temperature_c=20.0, factor=0.70 * 58)
    heat_w = 200.0**2 * ohm
    skin_c = 110 + still_air_rise_k(heat_w=heat_w, surface_m2=pi * 0.003, heat_transfer_w_per_m2k=4000.0)
    core_c = skin_c + wire_core_rise_k(heat_w_per_m=heat_w, conductivity_w_per_mk=19.0)
    assert ohm == pytest.approx(0.09903, rel=1e-3)
    assert skin_c == pytest.approx(215.1, abs=0.1)
    assert core_c == pytest.approx(231.7, abs=0.1)


def test_a_fine_wire_loses_what_holman_7_4_says() -> None:
    """Otherwise fine wire is taken to cool too well. Source: Holman Ex. 7-4: Nu 0.3755, 0.836 W."""
    driven = rayleigh(
        rise_k=54.0,
        size_m=2e-5,
        expansion_per_k=1 / 300,
        kinematic_viscosity_m2_per_s=15.69e-6,
        thermal_diffusivity_m2_per_s=15.69e-6 / 0.708,
    )
    nusselt = fine_wire_nusselt(rayleigh=driven)
    assert driven == pytest.approx(4.06e-5, rel=0.002)
    assert nusselt == pytest.approx(0.3755, rel=0.001)
    assert nusselt * 0.02624 / 2e-5 * pi * 2e-5 * 0.5 * 54.0 == pytest.approx(0.836, rel=0.002)
    # What Churchill and Chu's would give here, and why the lesser of the two decides.
    assert horizontal_cylinder_nusselt(rayleigh=driven, prandtl=0.708) > 1.15 * nusselt


# mm: K, exact; and by the book's finite differences.
PIN = {20: (424.350, 424.412), 40: (384.506, 384.584), 60: (350.796, 350.862), 80: (320.961, 320.998)}


@pytest.mark.parametrize("position_mm", PIN)
def test_a_pin_between_fixed_ends_is_as_warm_as_the_textbook_says(position_mm: int) -> None:
    """Otherwise a link has a wrong shape. Source: pin of 4 x 4 mm from 473 K to 293 K, Ex. 11-3."""
    found = 273 + link_profile_c(
        position_mm=float(position_mm),
        current_a=0.0,
        resistivity_nohm_m=20.0,
        alpha_per_k=0.004,
        conductivity_w_per_mk=240.0,
        length_mm=100.0,
        width_mm=4.0,
        thickness_mm=4.0,
        first_end_c=200.0,
        second_end_c=20.0,
        ambient_c=20.0,
        heat_transfer_w_per_m2k=40.0,
    )
    exact, differences = PIN[position_mm]
    assert found == pytest.approx(exact, abs=0.01)
    assert found == pytest.approx(differences, abs=0.1)


# K: conductivity W/mK, viscosity Pa s, density kg/m3, Prandtl number. Reference equation of air as computed
# by CoolProp 8.0.0 at 101325 Pa.
REFERENCE_AIR = {
    300: (0.026384, 1.8537e-5, 1.17700, 0.70706),
    350: (0.030003, 2.0867e-5, 1.00853, 0.70190),
    400: (0.033453, 2.3055e-5, 0.88231, 0.69893),
}


@pytest.mark.parametrize("kelvin", REFERENCE_AIR)
def test_air_agrees_with_the_reference_equation(kelvin: int) -> None:
    """Otherwise every loss to air is off. Source: reference equation of air, CoolProp 8.0.0."""
    conductivity, viscosity, density, prandtl = REFERENCE_AIR[kelvin]
    found = air(temperature_c=kelvin - 273.15)
    assert found.conductivity_w_per_mk == pytest.approx(conductivity, rel=0.01)
    assert found.kinematic_viscosity_m2_per_s == pytest.approx(viscosity / density, rel=0.01)
    assert found.prandtl == pytest.approx(prandtl, rel=0.025)
    assert found.expansion_per_k == pytest.approx(1 / kelvin)
