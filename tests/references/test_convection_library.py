"""Published convection correlations against an independent implementation of them.

Source: the library ht (C. Bell and contributors), whose correlations are tested against their papers.
"""

from __future__ import annotations

from math import pi

import pytest

from verifier.electrical.convection import (
    GRAVITY_M_PER_S2,
    STEFAN_BOLTZMANN,
    air,
    fine_wire_nusselt,
    horizontal_cylinder_nusselt,
    lying_cylinder_loss_w_per_m,
    rayleigh_number,
)
from verifier.electrical.heat import ANY_COOLING_W_PER_M2K

library = pytest.importorskip("ht.conv_free_immersed", reason="the library ht is not installed")

PRANDTL = 0.706
RAYLEIGH = [1e-9, 1e-6, 9e-3, 1.1e-2, 0.4, 11.1, 99.0, 101.0, 2.39e4, 8e6, 2e7, 3e10]


@pytest.mark.parametrize("driven", RAYLEIGH)
def test_correlations_agree_with_the_library(driven: float) -> None:
    """Otherwise a constant of a correlation is mistyped and leads come out too cool. Source: ht."""
    grashof = driven / PRANDTL
    assert horizontal_cylinder_nusselt(rayleigh=driven, prandtl=PRANDTL) == pytest.approx(
        library.Nu_horizontal_cylinder_Churchill_Chu(Pr=PRANDTL, Gr=grashof), rel=1e-9
    )
    # Near the ends of its rows the printed table has steps of up to a quarter of a percent.
    ends = min(abs(driven / end - 1) for end in (1e-2, 1e2, 1e4, 1e7))
    assert fine_wire_nusselt(rayleigh=driven) == pytest.approx(
        library.Nu_horizontal_cylinder_Morgan(Pr=PRANDTL, Gr=grashof), rel=0.0025 if ends < 0.2 else 1e-9
    )


# Convection of an upright cell by Popiel's correlation at rises of 10, 20 and 40 K in air of 25 C.
@pytest.mark.parametrize(("diameter_m", "length_m"), [(0.018, 0.065), (0.021, 0.070), (0.026, 0.065)])
@pytest.mark.parametrize("rise_k", [10.0, 20.0, 40.0])
def test_a_lone_cell_cools_within_the_stated_bounds(
    diameter_m: float, length_m: float, rise_k: float
) -> None:
    """Otherwise the still-air bound of a cell has no ground. Source: Popiel's correlation in ht."""
    film = air(kelvin=298.15 + rise_k / 2)
    grashof = (
        GRAVITY_M_PER_S2 * film.expansion_per_k * rise_k * length_m**3 / film.kinematic_viscosity_m2_per_s**2
    )
    nusselt = library.Nu_vertical_cylinder_Popiel_Churchill(
        Pr=film.prandtl, Gr=grashof, L=length_m, D=diameter_m
    )
    radiated = 0.9 * STEFAN_BOLTZMANN * ((298.15 + rise_k) ** 4 - 298.15**4) / rise_k
    total = nusselt * film.conductivity_w_per_mk / length_m + radiated
    low, high = ANY_COOLING_W_PER_M2K
    assert low < total < high
    # The still air of a room, as the bounds say of it.
    assert 11 <= total <= 14.6


@pytest.mark.parametrize("diameter_m", [0.002, 0.0045, 0.0085])
def test_a_lead_loses_between_the_two_correlations(diameter_m: float) -> None:
    """Otherwise one end of a lead's current is no bound. Source: both correlations in ht, and radiation."""
    film = air(kelvin=313.15 + 15)
    driven = rayleigh_number(rise_k=30.0, diameter_m=diameter_m, film=film)
    radiated = 0.9 * STEFAN_BOLTZMANN * (343.15**4 - 313.15**4)
    losses = []
    for correlation in (
        library.Nu_horizontal_cylinder_Churchill_Chu,
        library.Nu_horizontal_cylinder_Morgan,
    ):
        nusselt = correlation(Pr=film.prandtl, Gr=driven / film.prandtl)
        h = nusselt * film.conductivity_w_per_mk / diameter_m
        losses.append(pi * diameter_m * (h * 30.0 + radiated))
    lead = {"diameter_m": diameter_m, "rise_k": 30.0, "ambient_k": 313.15}
    found = [lying_cylinder_loss_w_per_m(most=most, **lead) for most in (False, True)]
    assert found == pytest.approx(sorted(losses), rel=1e-6)
