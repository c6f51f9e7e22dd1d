"""Printed numbers: commas, points, blanks, ranges, units and their exact places."""

from __future__ import annotations

import pytest

from verifier.listing import read_listing
from verifier.listing.quantities import number_value


def first(text: str, field: str) -> list[tuple[float | str, str]]:
    claims = read_listing(text).variants[0].claims.get(field, [])
    return [(claim.value, claim.text) for claim in claims]


# ISO 80000-1 7.3.1: the decimal sign is a comma or a point, and groups of three are set apart by a
# blank; points and commas between groups are common practice in the languages read here.
@pytest.mark.parametrize(
    ("printed", "thousands", "value"),
    [
        ("14,5", False, 14.5), ("14.5", False, 14.5), ("20.000", True, 20000), ("20,000", True, 20000),
        ("10.400", False, 10.4), ("1.024,5", True, 1024.5), ("1,024.5", True, 1024.5), ("0.960", True, 0.96),
        ("1.000.000", True, 1000000), ("7", False, 7), ("14,500", False, None), ("1.2.3", True, None),
    ],
)  # fmt: skip
def test_commas_and_points(printed: str, thousands: bool, value: float | None) -> None:
    """A thousandth or a thousandfold is judged; what can be read in two ways is not read."""
    assert number_value(printed, thousands=thousands) == value


@pytest.mark.parametrize(
    ("text", "field", "found"),
    [
        ("Akku 36V 14,5Ah", "capacity_ah", [(14.5, "14,5Ah")]),
        ("48V 20.000 mAh", "capacity_ah", [(20.0, "20.000 mAh")]),
        ("Energie: 1 000 Wh", "energy_wh", [(1000.0, "1 000 Wh")]),
        ("énergie : 1\u202f200 Wh", "energy_wh", [(1200.0, "1\u202f200 Wh")]),
        ("Range: 50-80 km", "range_km", [(50.0, "50-80 km"), (80.0, "50-80 km")]),
        ("for 250W-1000W motors", "load_power_w", [(250.0, "250W"), (1000.0, "1000W")]),
        ("for 250W/500W motors", "load_power_w", [(250.0, "250W"), (500.0, "500W")]),
        ("48V20Ah pack", "capacity_ah", [(20.0, "20Ah")]),
        ("４８Ｖ ２０Ａｈ", "capacity_ah", [(20.0, "２０Ａｈ")]),
        ("Capacity (Ah): 14", "capacity_ah", [(14.0, "14")]),
        ("Weight: 2900 g", "mass_kg", [(2.9, "2900 g")]),
        ("wire: AWG12", "lead_awg", [(12.0, "AWG12")]),
        ("range 30 miles", "range_km", [(48.28032, "30 miles")]),
    ],
)  # fmt: skip
def test_units_and_places(text: str, field: str, found: list[tuple[float, str]]) -> None:
    """The value or the words shown for it are not what stands in the listing."""
    assert first(text, field) == found


@pytest.mark.parametrize(
    "text",
    [
        "388VF battery",
        "order no. X48-20",
        "DC2.1 plug",
        "call 0555 48 20",
        "18650 A grade",
        "20 A-grade cells",
        "V48Ah",
    ],
)
def test_codes_are_no_figures(text: str) -> None:
    """A code or an order number becomes a claim."""
    claims = read_listing(text).variants[0].claims
    assert not {"nominal_voltage_v", "capacity_ah", "continuous_current_a"} & set(claims)


def test_what_can_be_read_in_two_ways_is_told() -> None:
    """A figure is left out without a word."""
    reading = read_listing("Capacity: 14,500Ah")
    assert "capacity_ah" not in reading.variants[0].claims
    assert any("14,500Ah" in remark.text for remark in reading.remarks)


def test_the_ends_of_a_range_are_marked() -> None:
    """Two ends of one range look like two figures that contradict each other."""
    claims = read_listing("Range: 50-80 km").variants[0].claims["range_km"]
    assert [claim.bound for claim in claims] == ["low", "high"]
