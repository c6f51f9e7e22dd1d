"""What people who repair packs go by, against the physics.

Sources: common practice, no source, where a test says so; trade pages on nickel strip, read: strip of
0.15 x 8 mm carries 5 to 7 A, "5 to 6 A conservatively", plated steel half to two thirds of it.
"""

from __future__ import annotations

from math import sqrt
from typing import Any

import pytest

from verifier.electrical.copper import awg_area_mm2
from verifier.electrical.leads import lead_current_bounds_a
from verifier.electrical.links import collector_rise_bounds_k
from verifier.electrical.pack_sharing import hardest_stretch_bounds
from verifier.electrical.strip import (
    MATERIALS,
    PRACTICE_DENSITY_A_PER_MM2,
    strip_current_limit_a,
    thick_strip_factor,
)
from verifier.electrical.whole_pack import pack_currents


def lead_a(gauge: int, conductor: str) -> tuple[float, float]:
    area = awg_area_mm2(gauge=float(gauge))
    return lead_current_bounds_a(
        area_mm2=(area, area), conductor=conductor, conductor_limit_c=75.0, air_c=40.0
    )


def test_12_awg_suits_30_a_and_14_awg_does_not() -> None:
    """Otherwise leads are passed that repairers replace, or good ones refused. Common practice, no source."""
    assert lead_a(12, "copper")[0] > 30
    assert lead_a(14, "copper")[1] < 30
    # The habit holds for the 20 A that most such packs see.
    assert lead_a(14, "tinned_copper")[0] > 20
    # Copper-clad aluminium of the same gauge is what cheap packs have, and not enough.
    assert lead_a(12, "copper_clad_aluminium")[0] < 30
    assert lead_a(12, "unknown")[0] < 30 < lead_a(12, "unknown")[1]


@pytest.mark.parametrize("gauge", [16, 18])
def test_a_thin_charge_lead_carries_2_a_many_times_over(gauge: int) -> None:
    """Otherwise a charge lead that everybody uses is called a fault. Common practice, no source."""
    assert lead_a(gauge, "unknown")[0] > 3 * 2.0


def strip_limit_a(material: str, thickness_mm: float, layers: float, end: int) -> float:
    return strip_current_limit_a(
        width_mm=8.0,
        thickness_mm=thickness_mm,
        layers=layers,
        density_a_per_mm2=PRACTICE_DENSITY_A_PER_MM2[end],
        metal_factor=MATERIALS[material].factor[end],
    )


@pytest.mark.parametrize(
    ("width_mm", "thickness_mm", "bare_a"),
    [(12.0, 2.0, 108.0), (20.0, 2.0, 162.0), (20.0, 3.0, 204.0), (20.0, 5.0, 274.0)],
)
def test_a_bar_of_copper_is_granted_no_more_than_the_standard(
    width_mm: float, thickness_mm: float, bare_a: float
) -> None:
    """Otherwise a bar gets the density of a thin strip, and twice what heats it by 30 K.

    Source: DIN 43671, bare copper bars in still air, 30 K above 35 C; from memory.
    """
    surely = thick_strip_factor(thickness_mm=thickness_mm) * strip_current_limit_a(
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        layers=1.0,
        density_a_per_mm2=PRACTICE_DENSITY_A_PER_MM2[0],
        metal_factor=MATERIALS["copper"].factor[0],
    )
    assert 0.75 * bare_a < surely < bare_a


def test_strip_of_0_15_x_8_mm_carries_what_the_trade_says() -> None:
    """Otherwise every strip is granted a fifth too much, as once by a slip of units. Source: trade pages."""
    nickel = strip_limit_a("nickel", 0.15, 1, 0), strip_limit_a("nickel", 0.15, 1, 1)
    # 5 to 7 A is a habit of whole amperes.
    assert nickel == pytest.approx((5, 7), abs=0.25)
    steel = strip_limit_a("plated_steel", 0.15, 1, 0), strip_limit_a("plated_steel", 0.15, 1, 1)
    assert (steel[0] / nickel[0], steel[1] / nickel[1]) == pytest.approx((1 / 2, 2 / 3), abs=0.01)
    # Strip that nobody has tested may be either.
    assert strip_limit_a("unknown", 0.15, 1, 0) == steel[0]
    assert strip_limit_a("unknown", 0.15, 1, 1) == nickel[1]


def test_copper_carries_as_much_as_makes_the_same_heat() -> None:
    """Otherwise copper strip is refused what it carries. Source: I squared x resistivity, CRC, bulletin."""
    low, high = MATERIALS["copper"].factor
    assert high == pytest.approx(sqrt(96.4 / 16.78), rel=1e-9)
    assert low**2 * (1000 / 58 / 0.97) == pytest.approx(96.4, rel=1e-9)
    # Strip of which nobody noted even the colour may be copper.
    assert MATERIALS["not_noted"].factor == (MATERIALS["plated_steel"].factor.low, high)


@pytest.mark.parametrize("material", MATERIALS)
def test_every_printed_factor_evaluates_to_its_value(material: str) -> None:
    """Otherwise a reader who works a printed formula gets another number. Rule: a step shows all it uses."""
    steps = MATERIALS[material].factor_steps
    inputs = {step.symbol: (step.low, step.high) for step in steps[:-1]}
    last = steps[-1]
    assert last.symbol == "k_metal"
    assert MATERIALS[material].factor == (last.low, last.high)
    assert all(step.source for step in steps)
    formula = last.formula.rpartition(" to ")[2] if "sqrt" in last.formula else None
    if formula is None:
        assert inputs == {}
        return
    worked = [
        eval(formula, {"sqrt": sqrt}, {"rho_nickel": nickel, "rho_copper": copper})  # noqa: S307
        for nickel in inputs["rho_nickel"]
        for copper in inputs["rho_copper"]
    ]
    assert max(worked) == pytest.approx(last.high, rel=1e-12)
    if material == "copper":
        assert min(worked) == pytest.approx(last.low, rel=1e-12)


def test_two_layers_of_nickel_at_one_end_of_four_cells_are_not_enough_for_30_a() -> None:
    """Otherwise the fault that matters most is passed. Common practice, no source.

    A row of four with two layers of 0.10 to 0.15 x 8 mm, fed out at one end; plated steel makes it worse.
    """
    row: dict[str, Any] = {
        "cell_mohm": (20.0, 40.0),
        "gap_mohm": (0.6, 2.0),
        "link_mohm": (0.6, 2.0),
        "series": (10.0, 10.0),
    }
    low, high = hardest_stretch_bounds(parallel=4.0, links=4.0, where="end", **row)
    assert 0.6 < low < high == pytest.approx(0.75)
    best = strip_limit_a("nickel", 0.15, 2, 1)
    assert best == pytest.approx(0.15 * 8 * 2 * 6)
    assert best < 30 * low
    assert strip_limit_a("plated_steel", 0.15, 2, 1) < 0.7 * best


# A at 40 C and 5 W/m2K: rise in K over the air of a long run of 0.15 x 8 mm, by an independent balance.
LONG_RUNS = {("nickel", 8.4): 108, ("nickel", 6.0): 45, ("nickel", 5.0): 30, ("plated_steel", 7.1): 127}


@pytest.mark.parametrize(("material", "current_a"), LONG_RUNS)
def test_a_long_collector_warms_far_more_than_a_link(material: str, current_a: float) -> None:
    """Otherwise a run to the lead is granted what only a short link carries. Source: independent balance."""
    sizes = {"width_mm": (8.0, 8.0), "thickness_mm": (0.15, 0.15), "layers": (1.0, 1.0)}
    expected = LONG_RUNS[material, current_a]
    rise = collector_rise_bounds_k(
        material=material, current_a=(current_a, current_a), ambient_c=40.0, **sizes
    )
    assert rise.high == pytest.approx(expected, rel=0.015)


def test_links_between_cells_in_parallel_carry_next_to_nothing() -> None:
    """Otherwise thin parallel links are called a fault. Common practice, no source.

    In the middle of a pack with a link at every cell, nothing drives current along the row.
    """
    pack = pack_currents(
        series=7, parallel=4, cell_mohm=20.0, bar_gap_mohm=1.0, link_mohm=1.0, links=4, take_off=[1],
        current_a=30.0,
    )  # fmt: skip
    middle = pack.node_v[3, 1]
    along_a = abs(middle[1:] - middle[:-1]) * 1000 / 1.0
    assert max(along_a) < 0.02 * 30
    assert pack.link_a[3] == pytest.approx(7.5, rel=0.02)
