"""A sheet with a figure that no cell of its size has supports nothing, and is told; other sheets of the cell stand.

Rule: the envelope of a size catches impossible sheets. No 18650 that is sold holds 9.9 Ah, weighs 20 g or carries
90 A (the registry's envelope: 4.0 Ah, 33 g, 40 A and headroom, from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from verifier.verdict import PASSES, Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

SLIPS: list[dict[str, Any]] = [
    {"capacity": [{"kind": "minimum", "value_ah": 9.9}], "c_rate_capacity_ah": 2.6},
    {"mass_g": 20},
    {"discharge": [{"low_c": -20, "high_c": 60, "max_continuous_a": 90}]},
    {"diameter_mm": 30},
]


@pytest.mark.parametrize("slip", SLIPS)
def test_a_sheet_beyond_its_size_supports_nothing_and_is_told(bench: Bench, slip: dict[str, Any]) -> None:
    """A slip in one figure would let a false claim pass by that sheet, and nobody be told."""
    data = bench.seen_through(**{"claim.capacity_ah": 39, "claim.continuous_current_a": 20})
    data["claim"] = {"capacity_ah": 10.4, "continuous_current_a": 20, "energy_wh": 480}
    sound = bench.judge(data, bench.cell("lyr-18650-26", bench.sheet()))
    assert {sound.finding(name).verdict for name in ("capacity", "continuous_current")} <= PASSES
    report = bench.judge(data, bench.cell("lyr-18650-26", bench.sheet(**slip)))
    for name in ("capacity", "continuous_current", "energy"):
        found = report.finding(name)
        assert found.verdict is Verdict.NOT_SETTLED
        assert found.supported.low == 0
    for name in ("capacity", "continuous_current", "mass", "charge_current", "cycle_life", "charge_voltage"):
        assert bench.told(report.finding(name), "beyond_published") is not None, name
    assert "sheet.capacity" in report.finding("capacity").unknown
    assert report.rely_on.continuous_current_a.low == 0
    assert report.answer.use_at_most == ()


def test_another_sheet_of_the_cell_speaks_in_its_place(bench: Bench) -> None:
    """A slip in one sheet would silence the others, or outvote them by its better grade."""
    slip = bench.sheet(**SLIPS[0], evidence="own_test")
    data = bench.seen_through()
    report = bench.judge(data, bench.cell("lyr-18650-26", slip, bench.sheet()))
    sound = bench.judge(data, bench.cell("lyr-18650-26", bench.sheet()))
    for name in ("capacity", "continuous_current", "power"):
        assert report.finding(name).supported == sound.finding(name).supported
        assert report.finding(name).evidence == "maker"
    assert bench.told(report.finding("capacity"), "beyond_published") is not None


def test_the_largest_published_figures_are_no_slip(bench: Bench) -> None:
    """A cell that is the best of its size would be refused for being it."""
    best = bench.sheet(
        capacity=[{"kind": "minimum", "value_ah": 4.0}], c_rate_capacity_ah=4.0, mass_g=50,
        discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": 40}],
    )  # fmt: skip
    report = bench.judge(bench.seen_through(), bench.cell("lyr-18650-26", best))
    assert report.finding("capacity").supported.low == pytest.approx(16)
    assert bench.told(report.finding("capacity"), "beyond_published") is None
