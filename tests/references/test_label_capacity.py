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
from verifier.report.as_text import render
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


@pytest.mark.parametrize("part", [CHEAP, DEAR])
def test_a_pack_that_delivers_part_of_its_label_fails_on_the_bench(part: float) -> None:
    """A measured shortfall, 79 % or 7.5 %, would be excused or rounded away."""
    label_ah = 12.0
    report = judged(f"capacity_ah: {label_ah}, range_km: 60", f"capacity_ah: {part * label_ah}")
    found = report.finding("capacity")
    assert found.verdict is Verdict.DOES_NOT_HOLD
    assert found.margin_percent is not None
    assert found.margin_percent.high == pytest.approx(100 * (part - 1))
    assert any("observed.capacity_ah" in each.about for each in report.contradictions)
    first = render([report]).splitlines()[1]
    assert first.startswith("Does not hold: capacity")


def test_a_fifth_of_the_energy_carries_a_fifth_as_far() -> None:
    """A rider would be stranded: the range would go on by the label."""

    def reach(part: float) -> Any:
        return judged("range_km: 60", f"capacity_ah: {part * 12.0}").finding("range").supported

    whole, fifth = reach(1), reach(CHEAP)
    assert fifth.low == pytest.approx(CHEAP * whole.low)
    assert fifth.high == pytest.approx(CHEAP * whole.high)


def test_the_mass_of_a_light_pack_gives_it_away() -> None:
    """Sand in the cells would not be noticed on the scales: 40 cells of 18650 weigh 1.28 kg or more."""
    report = judged(f"capacity_ah: 14, mass_kg: 1.2, cell_capacity_ah: {LABEL_AH}")
    assert report.finding("mass").verdict is Verdict.INCONSISTENT
    assert any("Wh/kg" in each.text for each in report.contradictions)
