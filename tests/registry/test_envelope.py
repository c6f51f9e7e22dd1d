"""What any cell of a size could at most be."""

from __future__ import annotations

from typing import Any

import pytest

from registry.cell import Sheet
from registry.envelope import (
    DATED,
    Envelope,
    envelope_for,
    impossible,
    largest_ah,
    nominal_mm,
    sizes,
    volume_ceiling_ah,
    widest,
)


def envelope(size: str) -> Envelope:
    found = envelope_for(size)
    assert found is not None
    return found


def sheet(**figures: Any) -> Sheet:
    return Sheet.model_validate({"evidence": "reseller", **figures})


# As trade data sheets print them, makers withheld: Ah, continuous A, g, mm, mm.
PRINTED = {
    "18650": (2.6, 7.8, 48.0, 18.5, 65.5),
    "26650": (4.0, 8.0, 90.0, 26.4, 65.5),
    "21700": (4.0, 35.0, 71.0, 21.85, 71.15),
}


@pytest.mark.parametrize("size", PRINTED)
def test_printed_sheets_lie_inside_the_envelope(size: str) -> None:
    """Otherwise a sound sheet is called impossible. Source: trade data sheets."""
    ah, amperes, mass, diameter, length = PRINTED[size]
    printed = sheet(
        capacity=[{"kind": "minimum", "value_ah": ah}], mass_g=mass, diameter_mm=diameter, length_mm=length,
        discharge=[{"low_c": 0, "high_c": 45, "max_continuous_a": amperes}],
    )  # fmt: skip
    assert impossible(printed, size) == []
    assert envelope("18650").capacity_ah >= 3.6  # best published, consistent on several trade pages


@pytest.mark.parametrize(
    ("figures", "word"),
    [
        ({"capacity": [{"kind": "typical", "value_ah": 9.9}]}, "typical capacity 9.9 Ah is above 4.2 Ah"),
        ({"mass_g": 22.0}, "mass 22 g is below 32 g"),
        ({"diameter_mm": 21.0}, "diameter 21 mm is above"),
        ({"length_mm": 80.0}, "length 80 mm is above"),
        (
            {"discharge": [{"low_c": 0, "high_c": 45, "max_continuous_c": 30.0}], "c_rate_capacity_ah": 2.0},
            "continuous discharge 60 A is above 42 A",
        ),
    ],
)
def test_a_figure_beyond_the_size_is_named(figures: dict[str, Any], word: str) -> None:
    """Otherwise an inflated label, which delivers a fifth of what it says, enters the registry unseen.

    Source of the fraud's size: Batteries 2018, 4(3), 45, doi 10.3390/batteries4030045 (cheap protected
    18650 cells delivered 20.6 % of their label).
    """
    found = impossible(sheet(**figures), "18650")
    assert len(found) == 1
    assert found[0].startswith(word)


def test_a_claim_of_30_ah_from_four_18650_in_parallel_is_beyond_the_size() -> None:
    """Otherwise the commonest inflated listing, 48 V 30 Ah of 13 x 4 cells, is not caught.

    Source: 7.5 Ah a cell against 3.6 Ah best published and 4.4 Ah at 950 Wh/L.
    """
    assert envelope("18650").capacity_ah < 30 / 4


def test_a_peak_is_not_held_against_the_continuous_envelope() -> None:
    """Otherwise a sheet that prints a peak is called impossible."""
    peak = sheet(discharge=[{"low_c": 0, "high_c": 45, "max_unspecified_a": 60.0}])
    assert impossible(peak, "18650") == []


@pytest.mark.parametrize(
    ("diameter", "length", "ah"), [(18.5, 65.5, 3.9), (21.65, 70.95, 5.8), (26.4, 65.5, 8.0)]
)
def test_the_ceiling_by_volume(diameter: float, length: float, ah: float) -> None:
    """Otherwise the cross-check of an envelope against volume is wrong.

    Source: largest cans printed in trade data sheets at 800 Wh/L and 3.6 V, worked by hand:
    pi/4 x 1.85^2 x 6.55 cm3 = 17.61 cm3 x 0.8 Wh/cm3 / 3.6 V = 3.91 Ah.
    """
    assert volume_ceiling_ah(diameter, length, energy_wh_per_l=800) == pytest.approx(ah, abs=0.05)


NOMINAL_LENGTH_MM = {
    "14500": 50, "18350": 35, "18500": 50, "18650": 65, "20700": 70, "21700": 70, "26650": 65, "26700": 70,
    "26800": 80, "32140": 140, "32650": 65, "32700": 70, "33140": 140, "46800": 80, "46950": 95,
}  # fmt: skip


@pytest.mark.parametrize(
    ("size", "capacity_ah", "continuous_a"), [("18650", 4.0, 40), ("21700", 6.3, 80), ("46800", 28, 250)]
)
def test_what_is_published_lies_a_twentieth_below_the_bounds(
    size: str, capacity_ah: float, continuous_a: float
) -> None:
    """A true cell of next year is called impossible. Figures: trade pages and announcements, from memory."""
    found = envelope(size)
    assert found.capacity_ah >= 1.05 * capacity_ah - 1e-9
    assert found.continuous_a >= 1.05 * continuous_a - 1e-9


@pytest.mark.parametrize(("code", "size"), [("4680", "46800"), ("4695", "46950"), (" 18650 ", "18650")])
def test_a_size_may_go_by_its_short_code(code: str, size: str) -> None:
    """A pack of 4680 cells is judged as if nothing were known of their size."""
    assert envelope(code) == envelope(size)


@pytest.mark.parametrize("size", sizes())
def test_an_envelope_is_in_line_with_its_size_code(size: str) -> None:
    """Otherwise a slip in the table lets anything pass, or nothing.

    Source: the code itself gives diameter and length in mm, two digits each (common practice).
    """
    found = envelope(size)
    diameter, length = nominal_mm(size)
    assert (diameter, length) == (int(size[:2]), float(NOMINAL_LENGTH_MM[size]))
    assert diameter < found.diameter_mm <= 1.08 * diameter
    assert length < found.length_mm < length + 8
    nominal_cm3 = 3.14159 / 4 * diameter**2 * length / 1000
    assert 1.8 < found.mass_g / nominal_cm3 < 2.0
    # More than the best can hold by volume would be no bound, less than three quarters would not be safe.
    assert 0.75 <= found.capacity_ah / volume_ceiling_ah(diameter, length) < 1.15
    for name in ("diameter_mm", "length_mm", "capacity_ah", "continuous_a", "mass_g"):
        assert size in found.sources[name]
        assert found.dated in found.sources[name]


def test_the_widest_holds_every_size_and_an_unknown_size_has_none() -> None:
    """Otherwise a cell of unknown size is judged by one size's bounds."""
    wide = widest()
    for size in sizes():
        each = envelope(size)
        assert wide.capacity_ah >= each.capacity_ah
        assert wide.continuous_a >= each.continuous_a
        assert wide.mass_g <= each.mass_g
        assert wide.diameter_mm >= each.diameter_mm
    assert envelope_for("99999") is None
    assert impossible(sheet(mass_g=1.0), "99999") == []


@pytest.mark.parametrize(
    ("size", "chemistries", "holds_ah", "not_ah"),
    [
        # Iron phosphate: 2.0 Ah sold in an 18650, 4.0 in a 26650 and 15 in a 32140, 7.0 in a 32700; all from memory but
        # the second, of a trade page that expects 3.8.
        ("18650", ("LFP",), 2.0, 3.0),
        ("26650", ("LFP",), 4.0, 5.0),
        ("32140", ("LFP",), 15.0, 17.0),
        ("32700", ("LFP",), 7.0, 9.0),
        # Titanate: 1.6 Ah in an 18650, from memory; 177 Wh/L in an encyclopaedia.
        ("18650", ("LTO",), 1.6, 2.5),
        # One other possible chemistry, and only the size bounds.
        ("18650", ("LFP", "NMC"), 4.0, 4.3),
        ("18650", ("LFP", "LTO"), 2.0, 3.0),
        ("18650", ("other",), 4.0, 4.3),
        ("18650", (), 4.0, 4.3),
    ],
)
def test_a_chemistry_bounds_what_a_size_holds(
    size: str, chemistries: tuple[str, ...], holds_ah: float, not_ah: float
) -> None:
    """An iron phosphate 18650 of 3 Ah would be possible, or an honest one of 2 Ah be called a lie."""
    found = largest_ah(size, chemistries)
    assert found is not None
    assert holds_ah * 1.04 <= found[0] < not_ah
    assert DATED in found[1]
    assert largest_ah("99999", chemistries) is None


@pytest.mark.parametrize(
    ("resistance", "capacity_ah", "told"),
    [
        # 0.01 ohm was meant: 10 mohm x 5 Ah is what cells have.
        ({"ac_mohm": 0.01}, 5, "0.01 mohm? did you mean 0.01 ohm"),
        ({"dc_mohm": 5000}, 5, "5000 mohm? did you mean 5000 uohm"),
        ({"ac_mohm": 0.0005}, None, "below 0.05 mohm"),
        ({"dc_max_mohm": 400}, 4, "above 380 mohm"),
        # Titanate of 1.3 Ah with 8 mohm, a plate of 280 Ah with 0.25 mohm, an old cell of 2 Ah with 150 mohm.
        ({"ac_mohm": 8}, 1.3, None),
        ({"ac_mohm": 0.25}, 280, None),
        ({"dc_mohm": 150}, 2, None),
        ({"ac_mohm": 100}, None, None),
    ],
)
def test_a_resistance_that_no_cell_has_is_questioned(
    resistance: dict[str, float], capacity_ah: float | None, told: str | None
) -> None:
    """A slip of the unit would grant hundreds of amperes or none. Bounds: common practice, no source."""
    capacity = [{"kind": "minimum", "value_ah": capacity_ah}] if capacity_ah else []
    said = impossible(sheet(resistance=resistance, capacity=capacity), None)
    if told is None:
        assert said == []
    else:
        (line,) = said
        assert told in line
