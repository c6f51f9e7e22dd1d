"""What people who repair packs go by, against the physics.

Common practice, no source: 12 AWG leads suit 30 A, 14 AWG is the cheaper habit; 16 to 18 AWG is fine for a
charge lead of 2 A; a row of four with two layers of strip of 0.10 to 0.15 mm and 8 mm, fed out at one end, is
not enough for 30 A, and plated steel makes it worse; links between cells in parallel carry next to nothing.
"""

from __future__ import annotations

import pytest

from verifier.electrical.copper import STRANDING, awg_area_mm2
from verifier.electrical.leads import lead_current_a, lead_temperature_c
from verifier.electrical.sharing import stretch_share
from verifier.electrical.strip import MATERIALS, PRACTICE_DENSITY_A_PER_MM2, strip_current_limit_a
from verifier.electrical.whole_pack import pack_currents

# Insulation of 1 mm, 75 C conductor, a warm day of 40 C.
HOT_DAY = {"conductor_limit_c": 75.0, "ambient_c": 40.0, "insulation_mm": 1.0}


def test_12_awg_suits_30_a_and_14_awg_does_not() -> None:
    """Otherwise leads are passed that repairers replace, or good ones refused. Common practice, no source."""
    worst = STRANDING["unknown"][1]
    assert lead_current_a(area_mm2=awg_area_mm2(gauge=12), resistance_factor=worst, **HOT_DAY) > 30
    assert lead_current_a(area_mm2=awg_area_mm2(gauge=14), resistance_factor=1.0, **HOT_DAY) < 30
    # The habit holds for the 20 to 25 A that most such packs see.
    assert 20 < lead_current_a(area_mm2=awg_area_mm2(gauge=14), resistance_factor=worst, **HOT_DAY) < 25


@pytest.mark.parametrize("gauge", [16, 18])
def test_a_thin_charge_lead_stays_cool_at_2_a(gauge: int) -> None:
    """Otherwise a charge lead that everybody uses is called a fault. Common practice, no source."""
    settled = lead_temperature_c(
        current_a=2.0,
        area_mm2=awg_area_mm2(gauge=gauge),
        ambient_c=40.0,
        insulation_mm=0.7,
        resistance_factor=STRANDING["unknown"][1],
    )
    assert settled < 42


def strip_limit_a(material: str, thickness_mm: float, density: float, resistivity: int) -> float:
    return strip_current_limit_a(
        width_mm=8.0,
        thickness_mm=thickness_mm,
        layers=2,
        density_a_per_mm2=density,
        resistivity_nohm_m=MATERIALS[material].practice_nohm_m[resistivity],
    )


def test_two_layers_of_nickel_at_one_end_of_four_cells_are_not_enough_for_30_a() -> None:
    """Otherwise the fault that matters most is passed. Common practice, no source."""
    low, high = PRACTICE_DENSITY_A_PER_MM2
    last_stretch_a = 30 * stretch_share(parallel=4, where="end")
    assert last_stretch_a == 22.5
    best = strip_limit_a("nickel", 0.15, high, 0)
    assert best == pytest.approx(16.8)
    assert best < last_stretch_a
    # Plated steel makes it worse: a tenth to a fifth off, whatever the plating.
    steel = strip_limit_a("plated_steel", 0.15, high, 0), strip_limit_a("plated_steel", 0.10, low, 1)
    assert steel == pytest.approx((14.17, 6.57), abs=0.01)
    # Strip that nobody has tested may be either.
    assert strip_limit_a("unknown", 0.10, low, 1) == steel[1]
    assert strip_limit_a("unknown", 0.15, high, 0) == best


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
