"""Wire gauge and copper against the standards and the tables printed from them.

Sources: ASTM B258 (formula from memory); wire table printed after Floyd, Electric Circuit Fundamentals, 2nd
ed.; IEC 60028; NEC (NFPA 70) chapter 9, table 8; IEC 60228. The tables were read in secondary copies.
"""

from __future__ import annotations

from math import pi

import pytest

from verifier.electrical.copper import (
    CONDUCTORS,
    COPPER,
    awg_area_mm2,
    awg_diameter_mm,
    resistance_ohm,
    resistance_ratio,
)

OHM_PER_KM_FROM_PER_KFT = 1 / 0.3048
# Ohm per 1000 ft of solid copper at 20 C, and the rounding that the printed table stands for.
PRINTED_20_C = {
    6: 0.3951,
    8: 0.6282,
    10: 0.9989,
    12: 1.588,
    14: 2.525,
    16: 4.016,
    18: 6.385,
    20: 10.15,
    22: 16.14,
}
# Ohm per 1000 ft, uncoated copper at 75 C: solid, and seven strands.
NEC_75_C_SOLID = {8: 0.764, 10: 1.21, 12: 1.93, 14: 3.07, 16: 4.89, 18: 7.77}
NEC_75_C_SEVEN_STRAND = {6: 0.491, 8: 0.778, 10: 1.24, 12: 1.98, 14: 3.14, 16: 4.99, 18: 7.95}
# Largest ohm/km at 20 C of flexible copper conductors of classes 5 and 6, plain and tinned, by nominal mm2.
# IEC 60228; read in two secondary copies that agree.
CLASS_5_OHM_PER_KM = {
    0.5: (39.0, 40.1), 0.75: (26.0, 26.7), 1.0: (19.5, 20.0), 1.5: (13.3, 13.7), 2.5: (7.98, 8.21),
    4.0: (4.95, 5.09), 6.0: (3.30, 3.39), 10.0: (1.91, 1.95), 16.0: (1.21, 1.24),
}  # fmt: skip


def per_km(gauge: int, temperature_c: float, factor: float = 1.0) -> float:
    area = awg_area_mm2(gauge=gauge)
    return resistance_ohm(area_mm2=area, length_m=1000.0, temperature_c=temperature_c, factor=factor)


def test_12_awg_has_the_diameter_and_area_of_astm_b258() -> None:
    """Otherwise every lead given by its gauge is judged as another size. Source: ASTM B258."""
    assert awg_diameter_mm(gauge=12) == pytest.approx(2.0525, rel=1e-4)
    assert awg_area_mm2(gauge=12) == pytest.approx(3.3088, rel=1e-4)


def test_the_gauge_runs_between_the_two_diameters_that_define_it() -> None:
    """Otherwise it is right at one gauge only. Source: ASTM B258, 0.46 in for 4/0, 0.005 in for 36."""
    assert awg_diameter_mm(gauge=-3) == pytest.approx(0.46 * 25.4, rel=1e-12)
    assert awg_diameter_mm(gauge=36) == pytest.approx(0.005 * 25.4, rel=1e-12)


def test_copper_is_the_international_annealed_copper_standard() -> None:
    """Otherwise every resistance is out. Source: IEC 60028, 58 MS/m and 0.00393 per kelvin at 20 C."""
    assert pytest.approx(58.0) == 1 / COPPER.resistivity_20c_ohm_mm2_per_m
    assert resistance_ratio(temperature_c=20.0) == 1
    # (234.5 + T) / (234.5 + 20), as FAA AC 43.13-1B paragraph 11-66 has the same law.
    assert resistance_ratio(temperature_c=75.0) == pytest.approx(309.5 / 254.5, rel=1e-4)


@pytest.mark.parametrize("gauge", PRINTED_20_C)
def test_solid_wire_has_the_printed_resistance_at_20_c(gauge: int) -> None:
    """Otherwise a lead's drop is wrong. Source: printed wire table; small gauges are rounded there."""
    printed = PRINTED_20_C[gauge] * OHM_PER_KM_FROM_PER_KFT
    assert per_km(gauge, 20.0) == pytest.approx(printed, rel=0.005 if gauge >= 20 else 0.001)


@pytest.mark.parametrize("gauge", NEC_75_C_SOLID)
def test_solid_wire_has_the_resistance_of_the_nec_at_75_c(gauge: int) -> None:
    """Otherwise a hot lead is taken for a cold one. Source: NEC chapter 9, table 8."""
    printed = NEC_75_C_SOLID[gauge] * OHM_PER_KM_FROM_PER_KFT
    assert per_km(gauge, 75.0) == pytest.approx(printed, rel=0.003 if gauge == 14 else 0.005)


@pytest.mark.parametrize("gauge", NEC_75_C_SEVEN_STRAND)
def test_seven_strands_lie_within_the_bounds_of_a_copper_lead(gauge: int) -> None:
    """Otherwise a stranded lead escapes its bounds. Source: NEC chapter 9, table 8, to three figures."""
    low, high = CONDUCTORS["copper"].resistance_factor
    printed = NEC_75_C_SEVEN_STRAND[gauge] * OHM_PER_KM_FROM_PER_KFT
    assert per_km(gauge, 75.0, low) <= printed <= per_km(gauge, 75.0, high)


@pytest.mark.parametrize("area", CLASS_5_OHM_PER_KM)
def test_iec_60228_lies_within_the_bounds_of_its_conductor(area: float) -> None:
    """Otherwise the bounds leave out leads that the standard permits. Source: IEC 60228, IEC 60028."""
    solid = 1000 / 58 / area
    for kind, listed in zip(("copper", "tinned_copper"), CLASS_5_OHM_PER_KM[area], strict=True):
        low, high = CONDUCTORS[kind].resistance_factor
        assert low * solid <= listed <= high * solid
        assert CONDUCTORS["unknown"].resistance_factor.high * solid >= listed


def test_the_bounds_of_flexible_copper_are_reached() -> None:
    """Otherwise sound leads are refused by bounds that no lead reaches. Source: IEC 60228, 1.5 mm2."""
    for kind, column in (("copper", 0), ("tinned_copper", 1)):
        ratios = [row[column] * area * 58 / 1000 for area, row in CLASS_5_OHM_PER_KM.items()]
        assert CONDUCTORS[kind].resistance_factor.high == pytest.approx(max(ratios), rel=0.001)


def test_clad_aluminium_conducts_62_percent_as_well_as_copper() -> None:
    """Otherwise the commonest cheat in leads is judged as copper. Source: 62 %, from memory, not checked."""
    copper, clad = (CONDUCTORS[kind].resistance_factor for kind in ("copper", "copper_clad_aluminium"))
    assert (copper.low / clad.low, copper.high / clad.high) == pytest.approx((0.62, 0.62))


# FAA AC 43.13-1B table 11-9: largest ohm per 1000 ft at 20 C of tinned stranded aircraft wire.
AIRCRAFT = {22: 16.20, 20: 9.88, 18: 6.23, 16: 4.81, 14: 3.06, 12: 2.02, 10: 1.26, 8: 0.70, 6: 0.44}


@pytest.mark.parametrize("gauge", AIRCRAFT)
def test_aircraft_wire_lies_within_the_bounds_of_an_unknown_lead(gauge: int) -> None:
    """Otherwise a lead known by gauge alone is trusted too far. Source: FAA AC 43.13-1B table 11-9."""
    low, high = CONDUCTORS["unknown"].resistance_factor
    listed = AIRCRAFT[gauge] * OHM_PER_KM_FROM_PER_KFT
    assert per_km(gauge, 20.0, low) <= listed <= per_km(gauge, 20.0, high)


def test_a_circular_mil_is_what_the_area_is_counted_in() -> None:
    """Otherwise areas in tables of that unit disagree: 10 AWG has 10380 circular mils. Source: definition."""
    circular_mil = pi / 4 * 0.0254**2
    assert awg_area_mm2(gauge=10) / circular_mil == pytest.approx(10380, rel=1e-3)
