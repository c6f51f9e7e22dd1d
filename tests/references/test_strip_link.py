"""A strip between two cells against a boundary-value solver and a circuit simulator.

Sources: scipy.integrate.solve_bvp; ngspice 39.3, a ladder of 200 pieces (recorded: 2.420565 K).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_bvp, trapezoid

from verifier.electrical.links import link_temperatures, long_strip_rise_k

SIZES = {"length_mm": 20.0, "width_mm": 8.0, "thickness_mm": 0.15}
ELEMENTAL = {"resistivity_nohm_m": 69.3, "conductivity_w_per_mk": 90.9}
NICKEL_200 = {"resistivity_nohm_m": 96.4, "alpha_per_k": 0.0043, "conductivity_w_per_mk": 70.2}
STEEL = {"resistivity_nohm_m": 142.0, "alpha_per_k": 0.005, "conductivity_w_per_mk": 65.2}


def solved(
    metal: dict[str, float], current_a: float, ends_k: tuple[float, float], air_c: float
) -> Callable[[Any], Any]:
    """Return the rise over the air along the strip, by a boundary-value solver."""
    area, around, length = 8e-3 * 0.15e-3, 2 * 8.15e-3, 20e-3
    along = metal["conductivity_w_per_mk"] * area

    def slope(_: object, y: np.ndarray) -> np.ndarray:
        temperature_c = air_c + y[0]
        ratio = 1 + metal.get("alpha_per_k", 0.0) * (temperature_c - 20)
        heat = current_a**2 * metal["resistivity_nohm_m"] * 1e-9 * ratio / area
        return np.vstack([y[1], (15.0 * around * y[0] - heat) / along])

    def ends(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        return np.array([a[0] - ends_k[0], b[0] - ends_k[1]])

    places = np.linspace(0, length, 60)
    result = solve_bvp(slope, ends, places, np.zeros((2, places.size)), tol=1e-6, max_nodes=20000)
    assert result.success
    profile: Callable[[Any], Any] = result.sol
    return profile


def test_the_middle_of_a_link_is_2_42_k_above_its_ends() -> None:
    """Otherwise the heat of links is wrong. Source: boundary-value solver 2.42057 K; ngspice 2.420565 K."""
    found = link_temperatures(
        current_a=10.0,
        alpha_per_k=0.0,
        end_c=25.0,
        ambient_c=25.0,
        heat_transfer_w_per_m2k=15.0,
        **ELEMENTAL,
        **SIZES,
    )
    assert found.mid_c - 25 == pytest.approx(2.4206, abs=1e-4)
    assert found.mid_c - 25 == pytest.approx(2.420565, abs=2e-5)
    assert found.mid_c - 25 == pytest.approx(float(solved(ELEMENTAL, 10.0, (0, 0), 25.0)(10e-3)[0]), abs=1e-6)


@pytest.mark.parametrize("metal", [NICKEL_200, STEEL])
@pytest.mark.parametrize("current_a", [0.0, 5.0, 20.0, 25.0, 35.0])
def test_a_link_that_warms_itself_agrees_with_the_solver(metal: dict[str, float], current_a: float) -> None:
    """Otherwise hot links are judged cooler than they are. Source: boundary-value solver.

    From 25 A on, air alone would not hold this strip; its ends do.
    """
    profile = solved(metal, current_a, (15.0, 30.0), 25.0)
    whole = link_temperatures(
        current_a=current_a, end_c=47.5, ambient_c=25.0, heat_transfer_w_per_m2k=15.0, **metal, **SIZES
    )
    # Of two ends that differ, the mean gives the same middle and the same mean.
    assert whole.mid_c == pytest.approx(25 + float(profile(10e-3)[0]), abs=1e-4)
    places = np.linspace(0, 20e-3, 4001)
    assert whole.mean_c == pytest.approx(25 + trapezoid(profile(places)[0], places) / 20e-3, abs=1e-4)
    gradient = profile(np.array([0.0, 20e-3]))[1]
    into_ends = metal["conductivity_w_per_mk"] * 8e-3 * 0.15e-3 * (gradient[0] - gradient[1])
    assert whole.heat_into_ends_w == pytest.approx(into_ends, abs=1e-5)


# A: middle, mean C, heat made, heat into the two ends W, long strip C. Nickel 200, ends 40 C, air 25 C,
# worked by hand from the same balance before this program was written.
WORKED = {
    5.0: (39.21, 39.47, 0.0435, -0.0272, 33.7),
    10.0: (42.72, 41.82, 0.1757, 0.0935, 64.1),
    20.0: (57.61, 51.76, 0.7304, 0.5996, 334.0),
}


@pytest.mark.parametrize("current_a", WORKED)
def test_a_nickel_link_agrees_with_the_worked_table(current_a: float) -> None:
    """Otherwise the heat into the cells is wrong. Source: table worked separately, as said above."""
    mid, mean, made, into_ends, long_strip = WORKED[current_a]
    found = link_temperatures(
        current_a=current_a, end_c=40.0, ambient_c=25.0, heat_transfer_w_per_m2k=15.0, **NICKEL_200, **SIZES
    )
    assert found == pytest.approx((mid, mean, made, into_ends), abs=6e-3)
    assert (found.heat_w, found.heat_into_ends_w) == pytest.approx((made, into_ends), abs=6e-5)
    rise = long_strip_rise_k(
        current_a=current_a,
        resistivity_nohm_m=96.4,
        alpha_per_k=0.0043,
        width_mm=8.0,
        thickness_mm=0.15,
        ambient_c=25.0,
        heat_transfer_w_per_m2k=15.0,
    )
    assert 25 + rise == pytest.approx(long_strip, abs=0.5)


def test_a_steel_link_agrees_with_the_worked_table() -> None:
    """Otherwise plated steel is judged as nickel. Source: 45.44 C, 0.265 W, 0.173 W into the ends."""
    found = link_temperatures(
        current_a=10.0, end_c=40.0, ambient_c=25.0, heat_transfer_w_per_m2k=15.0, **STEEL, **SIZES
    )
    assert found.mid_c == pytest.approx(45.44, abs=0.005)
    assert (found.heat_w, found.heat_into_ends_w) == pytest.approx((0.265, 0.173), abs=5e-4)
