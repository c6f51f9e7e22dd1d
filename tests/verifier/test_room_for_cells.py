"""Cells that have no room in the pack as it is claimed.

Source: geometry. A cylinder 18 mm across and 65 mm long holds pi / 4 x 18 x 18 x 65 = 16540 mm3; the size codes of
round cells give diameter [mm] and length [0.1 mm] (trade's form of IEC 61960-3).
"""

from __future__ import annotations

import pytest

from registry.cells import InMemory
from verifier import judge_case
from verifier.case.dimensions import most_litres, sides_of
from verifier.case_report import Report
from verifier.listing import cases_from_listing, read_listing


def report(text: str) -> Report:
    """Judge the one pack of a listing without a registry."""
    (file,) = cases_from_listing(text, "listing")
    return judge_case(file.case, InMemory(), steps=False)


def codes(text: str) -> set[str]:
    """Return the contradictions of a listing."""
    return {each.code for each in report(text).contradictions}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Size 300 x 90 x 80 mm", "300 x 90 x 80 mm"),
        ("Maße: 30 x 9,5 x 8 cm", "30 x 9.5 x 8 cm"),
        ("Dimensions : 300*90*80mm", "300 x 90 x 80 mm"),
        ("尺寸：300×90×80mm", "300 x 90 x 80 mm"),
    ],
)
def test_the_dimensions_of_the_pack_are_read(text: str, expected: str) -> None:
    """The plainest proof would be missed, because nobody looked at the size of the pack."""
    (pack,) = read_listing(f"48V 12Ah pack\n{text}").variants
    assert [each.value for each in pack.claimed("dimensions")] == [expected]


@pytest.mark.parametrize(
    "text",
    [
        "Charger 120 x 60 x 40 mm",
        "Nickel strip 0.15 x 8 x 100 mm",
        "Cells 18 x 18 x 65 mm",
        "Shipping box 400 x 200 x 150 mm",
    ],
)
def test_the_dimensions_of_other_things_are_not_the_packs(text: str) -> None:
    """An honest pack would be refuted by the size of its charger."""
    (pack,) = read_listing(f"48V 12Ah pack\n{text}").variants
    assert not pack.claimed("dimensions")


def test_more_cells_than_the_outside_holds_are_a_contradiction() -> None:
    """120 cells of 16.5 ml need 1.98 l; a box of 1.5 l cannot hold them, and the claim would stand."""
    found = report("72V 20S6P 18650 battery\nSize 250 x 80 x 75 mm")
    (against,) = [each for each in found.contradictions if each.code == "no_room_for_cells"]
    assert against.numbers["cells"] == 120
    assert against.numbers["needed_l"] == pytest.approx(120 * 16540e-6, rel=0.07)
    assert against.numbers["room_l"] == pytest.approx(1.5, rel=0.03)
    assert against.numbers["room_l"] >= 1.5
    assert any("120 cells" in each.text for each in found.answer.cannot_be_true)


@pytest.mark.parametrize(
    "text",
    [
        "72V 20S6P 18650 battery\nSize 350 x 120 x 80 mm",
        "72V 20S6P battery\nSize 250 x 80 x 75 mm",
        "72V 18650 battery\nSize 250 x 80 x 75 mm",
        "72V 20S6P 18650 battery",
        "72V 120 cells 18650 battery\nSize 20 x 10 x 10 cm",
    ],
)
def test_what_may_fit_or_is_not_known_is_none(text: str) -> None:
    """A pack would be called impossible on a guess. Rounding: 10 cm may be 10.5 cm."""
    assert "no_room_for_cells" not in codes(text)


def test_dimensions_keep_to_what_is_printed() -> None:
    """A rounded side would make the box smaller than it may be. Rule: half of the last printed place more."""
    assert sides_of("300 x 90 x 80") is None
    assert sides_of("0.15 x 8 x 100 mm") is None
    assert most_litres("30 x 9 x 8 cm") == pytest.approx(3.05 * 0.95 * 0.85)
    assert most_litres("300 x 90 x 80 mm") == pytest.approx(3.005 * 0.905 * 0.805)
    assert most_litres(None) is None


def test_cells_that_only_lie_too_tight_are_told_and_refute_nothing() -> None:
    """120 cells fill 92 % of 2.16 l, and round cells side by side 91 % at most (Thue): odd, and no proof of a lie."""
    text = "72V 20S6P 18650 battery\nSize 300 x 90 x 80 mm"
    assert any("120 cells of size 18650" in each.text for each in read_listing(text).remarks)
    assert "no_room_for_cells" not in codes(text)
