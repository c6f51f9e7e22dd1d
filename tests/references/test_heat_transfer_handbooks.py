"""Heat transfer against worked examples of textbooks.

Sources: Incropera et al., Fundamentals of Heat and Mass Transfer, 6th ed., Ex. 1.2, 9.4; Holman, Heat
Transfer, Ex. 7-4. Read in worked copies of the examples. Where a book takes g as 9.81 or 9.8, the difference
to 9.80665 is far inside the tolerance.
"""

from __future__ import annotations

from math import pi
from typing import Any

import pytest

from verifier.electrical.convection import (
    STEFAN_BOLTZMANN,
    Air,
    air,
    fine_wire_nusselt,
    horizontal_cylinder_nusselt,
    lying_cylinder_loss_w_per_m,
    rayleigh_number,
)


def test_a_steam_pipe_loses_what_incropera_9_4_says() -> None:
    """Otherwise a lead cools too well or too badly. Source: Incropera Ex. 9.4: Nu 23.09, 763.5 W/m."""
    film = Air(31.3e-3, 22.8e-6, 32.8e-6, 2.725e-3)
    driven = rayleigh_number(rise_k=165.0 - 23.0, diameter_m=0.1, film=film)
    nusselt = horizontal_cylinder_nusselt(rayleigh=driven, prandtl=film.prandtl)
    h = nusselt * film.conductivity_w_per_mk / 0.1
    radiated = 0.85 * STEFAN_BOLTZMANN * ((165.0 + 273) ** 4 - (23.0 + 273) ** 4)
    assert driven == pytest.approx(5.076e6, rel=0.001)
    assert nusselt == pytest.approx(23.09, rel=0.002)
    assert h == pytest.approx(7.23, rel=0.002)
    assert pi * 0.1 * (h * 142.0 + radiated) == pytest.approx(763.5, rel=0.002)


def test_a_pipe_radiates_what_incropera_1_2_says() -> None:
    """Otherwise a lead's radiation is wrong. Source: Incropera Ex. 1.2: 421.1 W/m at 200 C in 25 C."""
    pipe: dict[str, Any] = {"diameter_m": 0.07, "rise_k": 175.0, "ambient_k": 25.0 + 273.15}
    radiated = lying_cylinder_loss_w_per_m(emissivity=0.8, **pipe) - lying_cylinder_loss_w_per_m(
        emissivity=0.0, **pipe
    )
    assert radiated == pytest.approx(421.1, rel=0.001)


def test_a_fine_wire_loses_what_holman_7_4_says() -> None:
    """Otherwise fine wire is taken to cool too well. Source: Holman Ex. 7-4: Nu 0.3755, 0.836 W."""
    film = Air(0.02624, 15.69e-6, 15.69e-6 / 0.708, 1 / 300)
    driven = rayleigh_number(rise_k=54.0, diameter_m=2e-5, film=film)
    nusselt = fine_wire_nusselt(rayleigh=driven)
    assert driven == pytest.approx(4.06e-5, rel=0.002)
    assert nusselt == pytest.approx(0.3755, rel=0.001)
    assert nusselt * 0.02624 / 2e-5 * pi * 2e-5 * 0.5 * 54.0 == pytest.approx(0.836, rel=0.002)
    # What Churchill and Chu's would give here, and why the lesser of the two decides the low end.
    assert horizontal_cylinder_nusselt(rayleigh=driven, prandtl=0.708) > 1.15 * nusselt


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
    found = air(kelvin=float(kelvin))
    assert found.conductivity_w_per_mk == pytest.approx(conductivity, rel=0.01)
    assert found.kinematic_viscosity_m2_per_s == pytest.approx(viscosity / density, rel=0.01)
    assert found.prandtl == pytest.approx(prandtl, rel=0.025)
    assert found.expansion_per_k == pytest.approx(1 / kelvin)
