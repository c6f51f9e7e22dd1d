"""The current of a lead in still air against the codes' tables and an independent balance.

Sources: NEC (NFPA 70) table 310.17, single insulated copper conductors in free air at 30 C, and its ambient
equation, 310.15(B); DIN VDE 0298-4:2023-06 table 11, single-core flexible leads in free air at 30 C. Read in
secondary copies. Insulated diameters: those of thermoplastic building wire, read in a copy. Silicone leads: a
balance with the libraries ht (Churchill and Chu; Morgan) and CoolProp, recorded.
"""

from __future__ import annotations

from math import sqrt
from typing import Any

import pytest

from verifier.electrical.copper import CONDUCTORS, Conductor, awg_area_mm2, conductor_diameter_mm
from verifier.electrical.elementary import Span
from verifier.electrical.leads import lead_current_a, lead_current_bounds_a, outer_bounds_mm

OUTER_MM = {14: 0.111 * 25.4, 12: 0.130 * 25.4, 10: 0.164 * 25.4, 8: 0.216 * 25.4, 6: 0.254 * 25.4}
# Conductor temperature C: A by gauge.
NEC_310_17 = {
    60: {14: 25, 12: 30, 10: 40, 8: 60, 6: 80},
    75: {14: 30, 12: 35, 10: 50, 8: 70, 6: 95},
    90: {14: 35, 12: 40, 10: 55, 8: 80, 6: 105},
}
# mm2: A, and the insulation of common single-core PVC leads in mm (from memory, not checked).
VDE_0298_4 = {
    0.75: (15, 0.6), 1.0: (19, 0.6), 1.5: (24, 0.7), 2.5: (32, 0.8), 4.0: (42, 0.8), 6.0: (54, 0.8),
    10.0: (73, 1.0), 16.0: (98, 1.0),
}  # fmt: skip
SOLID = Conductor(Span(1.0, 1.0), "by definition")


def building_wire_a(gauge: int, conductor_c: float, ambient_c: float = 30.0) -> float:
    return lead_current_a(
        area_mm2=awg_area_mm2(gauge=float(gauge)),
        conductor_limit_c=conductor_c,
        ambient_c=ambient_c,
        outer_mm=OUTER_MM[gauge],
    )


@pytest.mark.parametrize("conductor_c", NEC_310_17)
@pytest.mark.parametrize("gauge", OUTER_MM)
def test_the_heat_balance_agrees_with_nec_310_17_within_15_percent(gauge: int, conductor_c: int) -> None:
    """Otherwise leads are granted currents that no code would. Source: NEC table 310.17."""
    listed_a = NEC_310_17[conductor_c][gauge]
    assert building_wire_a(gauge, conductor_c) == pytest.approx(listed_a, rel=0.15)
    area = awg_area_mm2(gauge=float(gauge))
    low, high = lead_current_bounds_a(
        area_mm2=(area, area), conductor="copper", conductor_limit_c=float(conductor_c), air_c=30.0
    )
    assert 0.85 * listed_a <= low <= 1.15 * listed_a
    assert high >= listed_a


def test_10_awg_at_90_c_carries_what_the_balance_gave_elsewhere() -> None:
    """Otherwise it is another balance. Source: the same one solved with other programs, 59.6 A."""
    assert building_wire_a(10, 90) == pytest.approx(59.6, rel=0.02)


@pytest.mark.parametrize("area", VDE_0298_4)
def test_metric_leads_agree_with_vde_0298_4_within_15_percent(area: float) -> None:
    """Otherwise metric leads are judged by another measure than gauges. Source: DIN VDE 0298-4 table 11."""
    listed_a, insulation_mm = VDE_0298_4[area]
    outer_mm = conductor_diameter_mm(area_mm2=area, fill=0.6) + 2 * insulation_mm
    lead: dict[str, Any] = {
        "area_mm2": (area, area),
        "conductor": "copper",
        "conductor_limit_c": 70.0,
        "air_c": 30.0,
    }
    low, high = lead_current_bounds_a(outer_mm=(outer_mm, outer_mm), **lead)
    assert 0.85 * listed_a <= low <= 1.15 * listed_a
    assert listed_a <= high <= 1.15 * listed_a
    # Of a lead whose outside nobody measured, thinner insulation takes a little more off.
    unmeasured = lead_current_bounds_a(**lead)
    assert 0.84 * listed_a <= unmeasured.low <= listed_a <= unmeasured.high <= 1.2 * listed_a


# AWG: outer mm as sold; A at 75 C in air of 40 C by Churchill and Chu, and by Morgan. Recorded from ht 1.2.0
# with air from CoolProp.
SILICONE = {12: (4.5, 36.1, 38.1), 8: (6.5, 65.6, 68.9), 6: (8.5, 90.1, 93.9)}


@pytest.mark.parametrize("gauge", SILICONE)
def test_the_upper_end_is_above_fine_strand_silicone_leads(gauge: int) -> None:
    """Otherwise sound leads are refused by a tenth. Source: balance with ht and CoolProp, recorded."""
    outer_mm, lesser, greater = SILICONE[gauge]
    area = awg_area_mm2(gauge=float(gauge))
    lead: dict[str, Any] = {"area_mm2": (area, area), "conductor_limit_c": 75.0, "air_c": 40.0}
    measured = lead_current_bounds_a(conductor=SOLID, outer_mm=(outer_mm, outer_mm), **lead)
    assert measured == pytest.approx((lesser, greater), rel=0.012)
    assert measured.high >= greater
    low, high = lead_current_bounds_a(conductor="copper", **lead)
    assert low < lesser < greater < high < 1.03 * greater
    assert outer_bounds_mm(area_mm2=(area, area)).low < outer_mm < outer_bounds_mm(area_mm2=(area, area)).high


def test_a_conductor_that_nobody_names_is_not_copper() -> None:
    """Otherwise copper-clad aluminium is granted as much as copper. Source: 62 % of copper, from memory."""
    lead: dict[str, Any] = {"area_mm2": (2.08, 2.08), "conductor_limit_c": 75.0, "air_c": 40.0}
    found = {name: lead_current_bounds_a(conductor=name, **lead) for name in CONDUCTORS}
    assert found["copper_clad_aluminium"].high == pytest.approx(found["copper"].high * sqrt(0.62), rel=1e-9)
    for name in ("copper", "tinned_copper", "copper_clad_aluminium"):
        assert found["unknown"].low <= found[name].low
        assert found["unknown"].high >= found[name].high


def test_12_awg_at_90_c_in_a_case_of_50_c_falls_as_the_nec_says() -> None:
    """Otherwise a lead in a hot case is granted its current on the bench. Source: NEC 310.15(B) equation.

    sqrt((90 - 50) / (90 - 30)) = 0.8165; 75 C leads in 55 and 60 C over 40 C: 0.746 and 0.641 by the balance
    with ht.
    """
    assert building_wire_a(12, 90, 50.0) / building_wire_a(12, 90, 30.0) == pytest.approx(0.8165, abs=0.03)
    for air_c, expected in ((55.0, 0.746), (60.0, 0.641)):
        ratio = building_wire_a(12, 75, air_c) / building_wire_a(12, 75, 40.0)
        assert ratio == pytest.approx(expected, abs=0.005)


# Bare horizontal wire at 25 C, emissivity 0.9: C by gauge and A. Heat balance of Churchill and Chu's
# correlation (ht 1.2.0) with air from the reference equation (CoolProp 8.0.0), solved by scipy's brentq.
BARE_WIRE = {
    8: {10: 26.5, 20: 30.3, 30: 36.3, 40: 44.2},
    12: {10: 29.6, 20: 41.5, 30: 60.3, 40: 86.7},
    16: {10: 38.7, 20: 76.5, 30: 142.6},
    18: {10: 48.7, 20: 118.7},
}


@pytest.mark.parametrize("gauge", BARE_WIRE)
def test_bare_wire_carries_what_an_independent_balance_says(gauge: int) -> None:
    """Otherwise a lead's current is off. Source: balance with ht, CoolProp and scipy."""
    area = awg_area_mm2(gauge=float(gauge))
    for current_a, settled_c in BARE_WIRE[gauge].items():
        found = lead_current_a(
            area_mm2=area,
            conductor_limit_c=settled_c,
            ambient_c=25.0,
            outer_mm=conductor_diameter_mm(area_mm2=area),
        )
        # The settled temperature is printed to a tenth of a kelvin, 1.5 K over the air at the least.
        assert found == pytest.approx(current_a, rel=0.006 + 0.03 / (settled_c - 25))
