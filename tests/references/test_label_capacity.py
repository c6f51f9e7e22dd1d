"""Published findings on the capacity of cheap cells, judged from listing to bench.

Source: Batteries 2018, 4(3), 45, DOI 10.3390/batteries4030045: of eight types of protected 18650 none
delivered its label; the dearer ones delivered 92.5 % of it on average, the cheap ones 20.6 %.
"""

from __future__ import annotations

from typing import Any

import pytest

from registry.cells import InMemory
from verifier.case.reading import parse_case
from verifier.case_report import Report
from verifier.judge import judge
from verifier.verdict import Verdict

LABEL_AH = 9.9
CHEAP, DEAR = 0.206, 0.925
LISTING = "nominal_voltage_v: 36, series: 10, parallel: 4, cell_size: 18650, chemistry: NMC"


def judged(claims: str, observed: str = "") -> Report:
    text = f"claim: {{{LISTING}, {claims}}}\nobserved: {{{observed}}}\n"
    return judge(parse_case(text, "here").case, InMemory())


def test_a_label_that_no_cell_of_its_size_holds_is_refuted_from_the_listing() -> None:
    """Cells sold as 9.9 Ah, of a size that holds 4, would stay open until somebody buys and measures them."""
    report = judged(f"cell_capacity_ah: {LABEL_AH}, capacity_ah: {4 * LABEL_AH}")
    found = report.finding("capacity")
    assert found.verdict is Verdict.DOES_NOT_HOLD
    # What the study measured of such cells lies inside what the program leaves possible.
    assert found.supported.low <= 4 * CHEAP * LABEL_AH <= found.supported.high


def measured(part: float, label_ah: float) -> str:
    """Return a pack that delivers a part of its label at 0.2C in a room, as capacities are rated (IEC 61960-3)."""
    delivered = part * label_ah
    return (
        f"capacity_ah: {delivered}, capacity_temperature_c: 25, capacity_current_a: {0.2 * delivered}, "
        "series: 10, parallel: 4"
    )


@pytest.mark.parametrize("part", [CHEAP, DEAR])
def test_a_pack_that_delivers_part_of_its_label_fails_on_the_bench(part: float) -> None:
    """A measured shortfall, 79 % or 7.5 %, would be excused or rounded away."""
    label_ah = 12.0
    report = judged(f"capacity_ah: {label_ah}", measured(part, label_ah))
    found = report.finding("capacity")
    assert (found.verdict, report.answer.conclusion) == (Verdict.DOES_NOT_HOLD, "not as advertised")
    assert found.margin_percent is not None
    # The meter errs by half a percent, and a room at 25 C adds up to 1.5 % to what comes out at 20 C.
    assert 100 * (0.98 * part - 1) <= found.margin_percent.low <= 100 * (0.995 * part - 1)
    assert 100 * (part - 1) <= found.margin_percent.high <= 100 * (1.04 * part - 1)


def test_a_fifth_of_the_energy_carries_no_more_than_a_fifth_as_far() -> None:
    """A rider would be stranded: the range would go on by the label. A higher rate gets less out still."""

    def reach(part: float) -> Any:
        ride = "use: {temperature_c: [20, 25], rider_kg: 80, vehicle_kg: 25, speed_km_h: 20, efficiency: 0.8}"
        text = f"claim: {{{LISTING}, range_km: 60}}\nobserved: {{{measured(part, 12.0)}}}\n{ride}\n"
        return judge(parse_case(text, "here").case, InMemory()).finding("range").supported

    whole, fifth = reach(1), reach(CHEAP)
    assert 0 < fifth.high <= CHEAP * whole.high * (1 + 1e-9)
    assert 0 < fifth.low <= CHEAP * whole.low * (1 + 1e-9)
    assert fifth.high > 0.8 * CHEAP * whole.high


def test_the_mass_of_a_light_pack_gives_it_away() -> None:
    """Sand in the cells would not be noticed on the scales: 40 cells of 18650 weigh 1.28 kg or more.

    504 Wh in 1.2 kg are 420 Wh/kg; the best cells announced hold some 315 Wh/kg.
    """
    report = judged("capacity_ah: 14, mass_kg: 1.2")
    assert report.finding("mass").verdict is Verdict.INCONSISTENT
    (found,) = report.contradictions
    assert (found.code, found.numbers["wh_per_kg"]) == ("too_light_for_energy", pytest.approx(420))
