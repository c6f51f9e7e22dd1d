"""The current and temperature of a lead in still air against the codes' tables and an independent balance.

Sources: NEC (NFPA 70) table 310.17, single insulated copper conductors in free air at 30 C, and its ambient
factors, 310.15(B); DIN VDE 0298-4:2023-06 table 11, single-core flexible leads in free air at 30 C. Read in
secondary copies. Insulated diameters: those of thermoplastic building wire, read in a copy.
"""

from __future__ import annotations

import pytest

from verifier.electrical.copper import CLASS_5_OHM_PER_KM, awg_area_mm2, awg_diameter_mm
from verifier.electrical.leads import ambient_factor, lead_current_a, lead_temperature_c

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


def building_wire_a(gauge: int, conductor_c: float, ambient_c: float = 30.0) -> float:
    return lead_current_a(
        area_mm2=awg_area_mm2(gauge=gauge),
        conductor_limit_c=conductor_c,
        ambient_c=ambient_c,
        insulation_mm=(OUTER_MM[gauge] - awg_diameter_mm(gauge=gauge)) / 2,
    )


@pytest.mark.parametrize("conductor_c", NEC_310_17)
@pytest.mark.parametrize("gauge", OUTER_MM)
def test_the_heat_balance_agrees_with_nec_310_17_within_15_percent(gauge: int, conductor_c: int) -> None:
    """Otherwise leads are granted currents that no code would. Source: NEC table 310.17."""
    assert building_wire_a(gauge, conductor_c) == pytest.approx(NEC_310_17[conductor_c][gauge], rel=0.15)


def test_10_awg_at_90_c_carries_what_the_balance_gave_elsewhere() -> None:
    """Otherwise it is another balance. Source: the same one solved with other programs, 59.6 A."""
    assert building_wire_a(10, 90) == pytest.approx(59.6, rel=0.02)


@pytest.mark.parametrize("area", VDE_0298_4)
def test_metric_leads_agree_with_vde_0298_4_on_the_careful_side(area: float) -> None:
    """Otherwise metric leads are judged by another measure than gauges. Source: DIN VDE 0298-4 table 11.

    Solid section, so least surface; IEC 60228 largest resistance; PVC at 70 C: up to 15 % below the table.
    """
    listed_a, insulation_mm = VDE_0298_4[area]
    granted = lead_current_a(
        area_mm2=area,
        conductor_limit_c=70.0,
        ambient_c=30.0,
        insulation_mm=insulation_mm,
        resistance_factor=CLASS_5_OHM_PER_KM[area][0] * area * 58 / 1000,
    )
    assert 0.85 * listed_a <= granted <= listed_a


@pytest.mark.parametrize(
    ("conductor_c", "ambient_c", "exact", "printed"), [(90, 50, 0.8165, 0.82), (75, 45, 0.8165, 0.82)]
)
def test_the_ambient_factor_is_the_one_of_the_nec(
    conductor_c: float, ambient_c: float, exact: float, printed: float
) -> None:
    """Otherwise a lead in a hot case is granted its current on the bench. Source: NEC 310.15(B) equation."""
    found = ambient_factor(conductor_limit_c=conductor_c, ambient_c=ambient_c)
    assert found == pytest.approx(exact, abs=1e-4)
    assert found == pytest.approx(printed, abs=0.005)


# Upper end of each printed band C: factor by conductor temperature.
PRINTED_FACTORS = {25: {60: 1.08, 75: 1.05, 90: 1.04}, 35: {60: 0.91, 75: 0.94, 90: 0.96}, 40: {90: 0.91}}


@pytest.mark.parametrize("ambient_c", PRINTED_FACTORS)
def test_the_ambient_factor_rounds_to_the_printed_table(ambient_c: int) -> None:
    """Otherwise the reference temperature is not 30 C. Source: NEC ambient correction factors."""
    for conductor_c, printed in PRINTED_FACTORS[ambient_c].items():
        found = ambient_factor(conductor_limit_c=float(conductor_c), ambient_c=float(ambient_c))
        assert round(found, 2) == pytest.approx(printed, abs=0.0101 if ambient_c == 25 else 1e-9)


def test_12_awg_at_90_c_in_a_case_of_50_c_is_worth_33_a() -> None:
    """Otherwise table and factor do not go together. Source: NEC 310.17 times 310.15(B): 32.7 A."""
    table = NEC_310_17[90][12]
    assert table * ambient_factor(conductor_limit_c=90, ambient_c=50) == pytest.approx(32.7, abs=0.1)
    # The balance itself, asked at 50 C, falls by nearly as much.
    ratio = building_wire_a(12, 90, 50.0) / building_wire_a(12, 90, 30.0)
    assert ratio == pytest.approx(0.8165, abs=0.03)


# Bare horizontal wire at 25 C, emissivity 0.9: C by gauge and A. Heat balance of Churchill and Chu's
# correlation (ht 1.2.0) with air from the reference equation (CoolProp 8.0.0), solved by scipy's brentq.
BARE_WIRE = {
    8: {10: 26.5, 20: 30.3, 30: 36.3, 40: 44.2},
    12: {10: 29.6, 20: 41.5, 30: 60.3, 40: 86.7},
    16: {10: 38.7, 20: 76.5, 30: 142.6},
    18: {10: 48.7, 20: 118.7},
}


@pytest.mark.parametrize("gauge", BARE_WIRE)
def test_bare_wire_settles_where_an_independent_balance_does(gauge: int) -> None:
    """Otherwise a lead's temperature is off. Source: balance with ht, CoolProp and scipy."""
    for current_a, settled_c in BARE_WIRE[gauge].items():
        found = lead_temperature_c(
            current_a=float(current_a),
            area_mm2=awg_area_mm2(gauge=gauge),
            ambient_c=25.0,
            insulation_mm=0.0,
        )
        # Its diameters are rounded to a thousandth of an inch.
        assert found - 25 == pytest.approx(settled_c - 25, rel=0.01, abs=0.1)
