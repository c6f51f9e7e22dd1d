"""A cell's own heat against a lumped cell worked by hand.

Source: lumped balance of a 21700 cell of 69 g, 950 J/kgK, 5.31e-3 m2 (cooling surface of the parameter set of
Chen et al. 2020, J. Electrochem. Soc. 167 080534, as shipped with PyBaMM), 20 mohm, 12 W/m2K.
"""

from __future__ import annotations

import pytest

from verifier.electrical.heat import (
    adiabatic_rise_k_per_min,
    cell_heat_capacity_j_per_k,
    cell_heat_w,
    cell_surface_m2,
    rise_after_k,
    still_air_rise_k,
    time_to_limit_s,
)

CAPACITY = cell_heat_capacity_j_per_k(mass_g=69.0, specific_heat_j_per_kgk=950.0)


@pytest.mark.parametrize(
    ("current_a", "heat_w", "per_min", "settled_k"), [(10.0, 2.0, 1.831, 31.4), (20.0, 8.0, 7.32, 125.5)]
)
def test_a_21700_cell_warms_as_worked_by_hand(
    current_a: float, heat_w: float, per_min: float, settled_k: float
) -> None:
    """Otherwise a pack is told to hold a current that cooks it. Source: lumped balance, as said above."""
    found = cell_heat_w(current_a=current_a, resistance_mohm=20.0)
    surface = cell_surface_m2(diameter_mm=21.0, length_mm=70.0)
    assert found == pytest.approx(heat_w)
    assert surface == pytest.approx(5.31e-3, rel=1e-3)
    assert adiabatic_rise_k_per_min(heat_w=found, heat_capacity_j_per_k=CAPACITY) == pytest.approx(
        per_min, 1e-3
    )
    settled = still_air_rise_k(heat_w=found, surface_m2=5.31e-3, heat_transfer_w_per_m2k=12.0)
    assert settled == pytest.approx(settled_k, abs=0.06)


def test_after_one_time_constant_63_percent_of_the_rise_is_reached() -> None:
    """Otherwise the time to the sheet's limit is wrong. Source: first-order lag; time constant 1029 s."""
    cell = {"heat_w": 2.0, "heat_capacity_j_per_k": CAPACITY, "surface_m2": 5.31e-3}
    rise = rise_after_k(seconds=1029.0, heat_transfer_w_per_m2k=12.0, **cell)
    assert rise == pytest.approx(0.632 * 31.39, rel=1e-3)
    assert time_to_limit_s(allowed_rise_k=rise, heat_transfer_w_per_m2k=12.0, **cell) == pytest.approx(1029.0)
