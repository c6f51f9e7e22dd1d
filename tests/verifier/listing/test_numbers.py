"""Printed numbers: commas, points, blanks, ranges, units and their exact places."""

from __future__ import annotations

from typing import Any

import pytest

from verifier.listing import read_listing


def first(text: str, field: str) -> list[tuple[Any, str]]:
    claims = read_listing(text).variants[0].claims.get(field, [])
    return [(claim.value, claim.text) for claim in claims]


@pytest.mark.parametrize(
    ("text", "field", "found"),
    [
        ("Akku 36V 14,5Ah", "capacity_ah", [(14.5, "14,5Ah")]),
        ("48V 20.000 mAh", "capacity_ah", [(20.0, "20.000 mAh")]),
        ("Energie: 1 000 Wh", "energy_wh", [(1000.0, "1 000 Wh")]),
        ("énergie : 1\u202f200 Wh", "energy_wh", [(1200.0, "1\u202f200 Wh")]),
        ("Range: 50-80 km", "range_km", [((50.0, 80.0), "50-80 km")]),
        ("for 250W-1000W motors", "load_power_w", [((250.0, 1000.0), "250W-1000W")]),
        ("for 250W/500W motors", "load_power_w", [(250.0, "250W"), (500.0, "500W")]),
        ("48V20Ah pack", "capacity_ah", [(20.0, "20Ah")]),
        ("４８Ｖ ２０Ａｈ", "capacity_ah", [(20.0, "２０Ａｈ")]),
        ("Capacity (Ah): 14", "capacity_ah", [(14.0, "14")]),
        ("Weight: 2900 g", "mass_kg", [(2.9, "2900 g")]),
        ("wire: AWG12", "lead_awg", [(12.0, "AWG12")]),
        ("range 30 miles", "range_km", [(48.28032, "30 miles")]),
    ],
)  # fmt: skip
def test_units_and_places(text: str, field: str, found: list[tuple[Any, str]]) -> None:
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


def test_a_range_is_one_claim() -> None:
    """Two ends of one range look like two figures that contradict each other."""
    claims = read_listing("Range: 50-80 km").variants[0].claims["range_km"]
    assert [claim.value for claim in claims] == [(50, 80)]


# How people write and say figures in listings: common practice, no source.
@pytest.mark.parametrize(
    ("text", "field", "value"),
    [
        ("Akku 48V, Ladezeit 3h30", "charge_hours", 3.5), ("Batterie 36 V, temps de charge : 5 h 30", "charge_hours", 5.5),  # noqa: E501
        ("batería de 36V, se carga en 4 horas y media", "charge_hours", 4.5), ("Batterie 48V, poids 4 kilos 6", "mass_kg", 4.6),  # noqa: E501
        ("Cellules : 18650, 2 600 mAh, batterie 36V 13Ah", "cell_capacity_ah", 2.6),
        ("Batteria 72V, 20 celle in serie, 8 in parallelo", "series", 20), ("48V 20AH\nInside: 13 string 6 and", "parallel", 6),  # noqa: E501
        ("Battery 36V\nCycles: 500", "cycles", 500), ("Batterie 36V\nNombre de cellules : 50", "cell_count", 50),
        ("48V pack 2OAh", "capacity_ah", 20), ("Weight: 3.9KG±0.1, battery 48V", "mass_kg", 3.9),
    ],
)  # fmt: skip
def test_figures_as_people_write_them(text: str, field: str, value: float) -> None:
    """A figure that a person reads at a glance is lost, or read as another one."""
    claims = read_listing(text).variants[0].claims
    assert [claim.value for claim in claims.get(field, [])] == [value]


def test_a_bare_cell_capacity_is_taken_only_where_it_comes_out() -> None:
    """A number without a unit is judged although nothing says what it is."""
    fits = read_listing("36V 11.6Ah, 10S4P of 2900s").variants[0]
    other = read_listing("36V 11.6Ah, 10S4P of 2200s").variants[0]
    assert [claim.value for claim in fits.claimed("cell_capacity_ah")] == [2.9]
    assert fits.claims["cell_capacity_ah"][0].inferred
    assert other.claimed("cell_capacity_ah") == []


@pytest.mark.parametrize(
    "text",
    [
        "18650-35V cells, battery 36V", "item no. 4836-20", "tel. 0555 48 36 20", "built 12.03.2024", "410 x 90 x 110 mm",  # noqa: E501
        "https://shop.example/48V-20Ah", "cable 2 x 0.15 mm",
    ],
)  # fmt: skip
def test_what_is_no_figure_leaves_the_text(text: str) -> None:
    """A part of a code, a date, a size or a link becomes a claim."""
    claims = read_listing(f"Battery for e-bikes\n{text}").variants[0].claims
    values = [
        claim.value
        for field, found in claims.items()
        if field not in ("cell_size", "cell_marking", "dimensions")
        for claim in found
    ]
    assert values in ([], [36])


# IEC 61960-3 5.1: the number before the letters counts cells in series, the one behind those in parallel.
def test_a_designation_gives_size_and_counts() -> None:
    """The code on a label, the only hint at the build, is not used."""
    claims = read_listing("Akku 36V\nEtikett: 10INR19/66-4").variants[0].claims
    found = {name: [claim.value for claim in claims[name]] for name in ("cell_size", "series", "parallel")}
    assert found == {"cell_size": ["18650"], "series": [10], "parallel": [4]}
