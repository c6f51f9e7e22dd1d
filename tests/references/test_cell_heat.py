"""A cell's own heat against a lumped cell worked by hand, measured cells and an electrochemical model.

Sources: lumped balance of a 21700 cell of 69 g, 950 J/kgK, 5.31e-3 m2 (cooling surface of the parameter set
of Chen et al. 2020, J. Electrochem. Soc. 167 080534, as shipped with PyBaMM), 20 mohm, 12 W/m2K. Measured
rises of the can over the air at the end of a discharge, in a test chamber: an open electro-thermal set of an
18650 cell of 3.0 Ah (CC-BY-SA-4.0), and a nickel-rich 21700 cell of 5.0 Ah (O'Regan et al. 2022, DOI
10.1016/j.electacta.2021.138524, BSD-3-Clause). Mean heats: Doyle-Fuller-Newman model, no cooling, recorded.
"""

from __future__ import annotations

from math import exp, inf
from typing import Any

import pytest

from verifier.electrical.elementary import Span
from verifier.electrical.heat import (
    Cooling,
    cell_heat_bounds_w,
    cell_rise_bounds_k,
    cell_surface_m2,
    minutes_to_limit_bounds,
    rise_after_k,
    time_to_limit_s,
)
from verifier.electrical.resistance import cell_dc_mohm_by_capacity, dc_from_ac_mohm

CELL = {"heat_capacity_j_per_k": 69.0 * 0.95, "surface_m2": 5.31e-3}


@pytest.mark.parametrize(("heat_w", "per_min", "settled_k"), [(2.0, 1.831, 31.4), (8.0, 7.32, 125.5)])
def test_a_21700_cell_warms_as_worked_by_hand(heat_w: float, per_min: float, settled_k: float) -> None:
    """Otherwise a pack is told to hold a current that cooks it. Source: lumped balance, as said above."""
    assert cell_surface_m2(diameter_mm=21.0, length_mm=70.0) == pytest.approx(5.31e-3, rel=1e-3)
    uncooled = rise_after_k(seconds=60.0, heat_w=heat_w, heat_transfer_w_per_m2k=0.0, **CELL)
    assert uncooled == pytest.approx(per_min, rel=1e-3)
    settled = rise_after_k(seconds=1e6, heat_w=heat_w, heat_transfer_w_per_m2k=12.0, **CELL)
    assert settled == pytest.approx(settled_k, abs=0.06)


def test_after_one_time_constant_63_percent_of_the_rise_is_reached() -> None:
    """Otherwise the time to the sheet's limit is wrong. Source: first-order lag; time constant 1029 s."""
    rise = rise_after_k(seconds=1029.0, heat_w=2.0, heat_transfer_w_per_m2k=12.0, **CELL)
    assert rise == pytest.approx((1 - exp(-1)) * 31.39, rel=1e-3)
    seconds = time_to_limit_s(allowed_rise_k=rise, heat_w=2.0, heat_transfer_w_per_m2k=12.0, **CELL)
    assert seconds == pytest.approx(1029.0)


def body(diameter_mm: float, length_mm: float, mass_g: float) -> dict[str, tuple[float, float]]:
    surface = cell_surface_m2(diameter_mm=diameter_mm, length_mm=length_mm)
    return {"mass_g": (0.98 * mass_g, 1.02 * mass_g), "surface_m2": (surface, surface)}


CELL_18650: dict[str, Any] = {**body(18.3, 65.0, 47.0), "capacity_ah": (2.95, 3.0)}
CELL_21700: dict[str, Any] = {**body(21.0, 70.0, 69.0), "capacity_ah": (4.85, 5.0)}
# What is known of the resistance: ten seconds as measured, a printed maximum at 1 kHz, or nothing.
KNOWN: dict[str, tuple[float, float]] = {
    "measured": (36.5, 37.9),
    "typical": dc_from_ac_mohm(ac_mohm=22.0),
    "maximum": dc_from_ac_mohm(ac_mohm=26.0, kind="maximum"),
    "capacity": cell_dc_mohm_by_capacity(capacity_ah=(2.95, 3.0)),
}


@pytest.mark.parametrize("known", KNOWN)
@pytest.mark.parametrize(("current_a", "rise_k"), [(3.0, 10.9), (6.0, 21.0), (9.0, 31.5), (12.0, 41.0)])
def test_an_18650_cell_warms_within_its_bounds(current_a: float, rise_k: float, known: str) -> None:
    """Otherwise cells are said to reach a limit surely that they do not reach. Source: open set, measured."""
    low, high = cell_rise_bounds_k(current_a=(current_a, current_a), dc_mohm=KNOWN[known], **CELL_18650)
    assert low < rise_k < high


@pytest.mark.parametrize(("current_a", "rise_k"), [(2.5, 4.7), (10.0, 32.0)])
def test_a_21700_cell_warms_within_its_bounds(current_a: float, rise_k: float) -> None:
    """Otherwise a cell's rise has no bound. Source: O'Regan et al. 2022, 0.5C and 2C at 25 C, measured."""
    low, high = cell_rise_bounds_k(current_a=(current_a, current_a), dc_mohm=(29.0, 29.0), **CELL_21700)
    assert low < rise_k < high


# A of a cell of 5 Ah with 28.8 mohm over ten seconds: W on average over the discharge, without cooling.
MODEL_HEAT = {2.5: 0.270, 5.0: 0.968, 10.0: 3.747}
# Rise in K without any cooling, for 800 and 1100 J/kgK.
MODEL_RISE = {2.5: (26, 36), 5.0: (46, 64), 10.0: (87, 119)}


@pytest.mark.parametrize("current_a", MODEL_HEAT)
def test_a_model_of_the_cell_stays_below_the_upper_end(current_a: float) -> None:
    """Otherwise "no cooling at all" is no upper bound. Source: DFN model, Chen et al. 2020 set, recorded."""
    low, high = cell_heat_bounds_w(current_a=(current_a, current_a), dc_mohm=(28.8, 28.8))
    assert low < MODEL_HEAT[current_a] < high < 1.5 * MODEL_HEAT[current_a]
    rise = cell_rise_bounds_k(current_a=(current_a, current_a), dc_mohm=(28.8, 28.8), **CELL_21700)
    assert rise.low < MODEL_RISE[current_a][0] < MODEL_RISE[current_a][1] < rise.high


# Rate: W on average, W per A squared of the ten-second resistance. PyBaMM 26.10.1.1, DFN, lumped heat without
# cooling, parameter sets by name, 5 Ah, recorded.
LOW_RATES = {
    ("ORegan2022", 20.79): {0.1: 0.012, 0.2: 0.035, 0.5: 0.165, 1.0: 0.563, 2.0: 2.039},
    ("OKane2022", 29.94): {0.1: 0.009, 0.2: 0.033, 0.5: 0.161, 1.0: 0.503, 2.0: 1.534},
    ("Chen2020", 29.01): {0.1: 0.009, 0.2: 0.034, 0.5: 0.171, 1.0: 0.586, 2.0: 2.338},
}


@pytest.mark.parametrize(("name", "mohm"), LOW_RATES)
def test_models_that_warm_themselves_stay_within_the_bounds(name: str, mohm: float) -> None:
    """Otherwise slow or fast discharges leave the bounds. Source: PyBaMM, as said above."""
    for rate, heat_w in LOW_RATES[name, mohm].items():
        low, high = cell_heat_bounds_w(current_a=(5 * rate, 5 * rate), dc_mohm=(mohm, mohm))
        assert low < heat_w < high, rate


def test_the_limit_is_reached_between_the_two_bounds() -> None:
    """Otherwise the minutes of a report are of another cell. Rule: the rise at those minutes is the limit."""
    cell: dict[str, Any] = {"current_a": (10.0, 10.0), "dc_mohm": (30.0, 40.0), **CELL_21700}
    calm = Cooling(heat_transfer_w_per_m2k=Span(0.0, 8.0))
    minutes = minutes_to_limit_bounds(allowed_rise_k=12.0, cooling=calm, **cell)
    assert 0 < minutes.low < minutes.high < 29
    heat = cell_heat_bounds_w(current_a=(10.0, 10.0), dc_mohm=(30.0, 40.0))
    light, heavy = 0.98 * 69.0 * 0.8, 1.02 * 69.0 * 1.1
    surface = cell["surface_m2"][0]
    assert 60 * minutes.low == pytest.approx(12.0 * light / heat.high, rel=1e-9)
    late = rise_after_k(
        seconds=60 * minutes.high, heat_w=heat.low, heat_capacity_j_per_k=heavy, surface_m2=surface,
        heat_transfer_w_per_m2k=8.0,
    )  # fmt: skip
    assert late == pytest.approx(12.0, rel=1e-9)
    # A discharge that ends before is never too hot; air at the limit is at once.
    assert minutes_to_limit_bounds(allowed_rise_k=1000.0, **cell) == (inf, inf)
    assert minutes_to_limit_bounds(allowed_rise_k=-5.0, **cell) == (0.0, 0.0)
    assert cell_rise_bounds_k(**{**cell, "current_a": (0.0, 0.0)}) == (0.0, 0.0)


def test_a_large_cell_may_have_half_a_milliohm() -> None:
    """Otherwise a cell of 100 Ah is refused its power. Source: 0.5 mohm, a usual sheet value, from memory."""
    low, high = cell_dc_mohm_by_capacity(capacity_ah=(100.0, 100.0))
    assert low < 0.5 < high
    # Measured or modelled over ten seconds: 18650 of 3 Ah, 21700 of 5 Ah, LFP 18650 of 2 Ah, pouch of 33 Ah.
    for capacity_ah, mohm in ((3.0, 36.5), (5.0, 29.0), (2.0, 79.0), (33.0, 2.03), (5.0, 10.27)):
        low, high = cell_dc_mohm_by_capacity(capacity_ah=(capacity_ah, capacity_ah))
        assert low < mohm < high
