"""Figures of one listing that cannot all be true get a remark, for what is doubtful must carry one."""

from __future__ import annotations

import pytest

from verifier.listing import read_listing


def about(text: str) -> set[str]:
    return {name for remark in read_listing(text).remarks for name in remark.about}


# Worked out by hand; that such figures do not go together is common practice, no source.
@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("Pack 48V 10Ah\nContinuous 30A, peak 20A", {"continuous_current_a", "peak_current_a"}),
        ("Pack 48V 10Ah\nContinuous 30A, BMS 20A", {"continuous_current_a", "bms_current_a"}),
        ("Pack 36V 10Ah\nFully charged 31V", {"nominal_voltage_v", "full_voltage_v"}),
        ("Pack 36V 10Ah\nCut-off voltage 40V", {"cutoff_voltage_v", "nominal_voltage_v"}),
        ("Pack 48V 10Ah\nWeight 30kg", {"mass_kg"}),
        ("Pack 48V 10Ah\nWeight 1kg", {"mass_kg"}),
        ("Pack 48V 10Ah\nRange: 480 km", {"range_km"}),
        ("Pack 48V 10Ah\nMax. charge current 45A", {"max_charge_current_a", "capacity_ah"}),
    ],
)
def test_figures_that_do_not_go_together_get_a_remark(text: str, names: set[str]) -> None:
    """A wrong figure passes as if nothing spoke against it."""
    assert names <= about(text)


@pytest.mark.parametrize(
    "text",
    [
        "Pack 48V 10Ah\nContinuous 20A, peak 40A, BMS 25A, full 54.6V, cut-off voltage 39V, 3.1kg, range: 40 km",
        "Pack 36V 20Ah\nContinuous 25A, BMS 25A, charger 42V 5A, max. charge current 10A, weight 4.5kg",
    ],
)
def test_figures_that_go_together_get_none(text: str) -> None:
    """Sound listings are doubted, and no remark is read any more."""
    assert about(text) == set()


def test_a_head_of_another_state_is_told() -> None:
    """Figures of the old pack vanish and nobody knows why."""
    reading = read_listing("Item\tYour old pack\tAfter rebuild\nCapacity\t7 Ah\t10 Ah\nWeight\t2 kg\t2.1 kg")
    assert any("Your old pack" in remark.text for remark in reading.remarks)
