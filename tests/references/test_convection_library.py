"""Published convection correlations against an independent implementation of them.

Source: the library ht (C. Bell and contributors), whose correlations are tested against their papers.
"""

from __future__ import annotations

import pytest

from verifier.electrical.convection import (
    air,
    fine_wire_nusselt,
    horizontal_cylinder_nusselt,
    radiation_w_per_m2,
    rayleigh,
    vertical_plate_nusselt,
)
from verifier.electrical.heat import LONE_CELL_W_PER_M2K

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
    assert vertical_plate_nusselt(rayleigh=driven, prandtl=PRANDTL) == pytest.approx(
        library.Nu_vertical_plate_Churchill(Pr=PRANDTL, Gr=grashof), rel=1e-9
    )
    assert fine_wire_nusselt(rayleigh=driven) == pytest.approx(
        library.Nu_horizontal_cylinder_Morgan(Pr=PRANDTL, Gr=grashof), rel=1e-9
    )


# Convection of an upright cell by Popiel's correlation at rises of 10, 20 and 40 K in air of 25 C.
@pytest.mark.parametrize(("diameter_m", "length_m"), [(0.018, 0.065), (0.021, 0.070), (0.026, 0.065)])
@pytest.mark.parametrize("rise_k", [10.0, 20.0, 40.0])
def test_a_lone_cell_cools_within_the_stated_bounds(
    diameter_m: float, length_m: float, rise_k: float
) -> None:
    """Otherwise the still-air bound of a cell has no ground. Source: Popiel's correlation in ht."""
    film = air(temperature_c=25 + rise_k / 2)
    driven = rayleigh(
        rise_k=rise_k,
        size_m=length_m,
        expansion_per_k=film.expansion_per_k,
        kinematic_viscosity_m2_per_s=film.kinematic_viscosity_m2_per_s,
        thermal_diffusivity_m2_per_s=film.thermal_diffusivity_m2_per_s,
    )
    nusselt = library.Nu_vertical_cylinder_Popiel_Churchill(
        Pr=film.prandtl, Gr=driven / film.prandtl, L=length_m, D=diameter_m
    )
    radiated = radiation_w_per_m2(surface_c=25 + rise_k, surroundings_c=25.0, emissivity=0.9) / rise_k
    total = nusselt * film.conductivity_w_per_mk / length_m + radiated
    low, high = LONE_CELL_W_PER_M2K
    assert low <= total <= high + 0.6
