"""What a person types for a figure.

Sources: SI Brochure (BIPM) for the prefixes; what is mistyped at a bench is common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.errors import PlacedError
from registry.printed import (
    UnreadableQuantity,
    likely_slip,
    read_quantity,
    read_two_sides,
    says_unknown,
)


@pytest.mark.parametrize(
    ("typed", "unit", "low", "high"),
    [
        (14, "Ah", 14, 14),
        ("14Ah", "Ah", 14, 14),
        ("10900 mAh", "Ah", 10.9, 10.9),
        ("2,5", "mm", 2.5, 2.5),
        ("2,5 mm", "mm", 2.5, 2.5),
        ("30A", "A", 30, 30),
        ("20", "A", 20, 20),
        ("12 AWG", "AWG", 12, 12),
        ("2/0", "AWG", -1, -1),
        ("2/3", "fraction", 2 / 3, 2 / 3),
        ("66%", "fraction", 0.66, 0.66),
        ("66 %", "percent", 66, 66),
        ("0,66", "fraction", 0.66, 0.66),
        ("10..20", "A", 10, 20),
        ("10..20A", "A", 10, 20),
        ("[10, 20]", "A", 10, 20),
        ([10, "20A"], "A", 10, 20),
        ("10-20 A", "A", 10, 20),
        ("[2,5; 3]", "mm", 2.5, 3),
        ("-5..35", "C", -5, 35),
        ("-5..35 °C", "C", -5, 35),
        ("25 C", "C", 25, 25),
        ("0.5C", "It", 0.5, 0.5),
        ("3400 g", "kg", 3.4, 3.4),
        ("48±1 V", "V", 47, 49),
        ("3h30", "h", 3.5, 3.5),
        ("30 min", "h", 0.5, 0.5),
        ("10s", "s", 10, 10),
        ("300 cycles", "cycles", 300, 300),
        ("14", None, 14, 14),
        ("1.5 cm", "mm", 15, 15),
        ("0.5 ohm", "mohm", 500, 500),
    ],
)
def test_a_typed_quantity_is_converted(typed: Any, unit: str | None, low: float, high: float) -> None:
    """What a repairer types with its unit is refused, or taken in the wrong unit."""
    assert read_quantity(typed, unit) == (pytest.approx(low), pytest.approx(high))


@pytest.mark.parametrize(
    ("typed", "unit", "told"),
    [
        ("30 V", "A", "voltage"),
        ("12 AWG", "mm2", "wire gauge"),
        ("14,500", "Ah", "14500"),
        ("14,500 Ah", "Ah", "14.5"),
        ("bla", "A", "30A"),
        ("", "A", "30A"),
        ("20 A 30 A", "A", "30A"),
        (True, "A", "number"),
        (None, "A", "number"),
        ([1, 2, 3], "A", "[low, high]"),
        ([20, 10], "A", "10..20"),
        ("≤5 A", "A", "lower end"),
        ("2 x 6 Ah", "Ah", "product"),
        ("2OA", "A", "letters"),
        (float("nan"), "A", "number"),
        (10**400, "A", "number"),
        ("5 A", None, "unit"),
        (["1..2", 3], "A", "range"),
        ("15 Wh/km", "Wh", "Wh/km"),
        ("45 / 100", "A", "two numbers"),
        ("36/42", "V", "two numbers"),
        ("2/3", "percent", "two numbers"),
    ],
)
def test_what_does_not_fit_is_refused_in_one_line(typed: Any, unit: str | None, told: str) -> None:
    """A wrong unit passes, or the message does not say what to type."""
    with pytest.raises(UnreadableQuantity) as refusal:
        read_quantity(typed, unit)
    assert told in str(refusal.value)
    assert "\n" not in str(refusal.value)
    assert isinstance(refusal.value, PlacedError)


def test_a_count_is_whole() -> None:
    """Thirteen and a half cells in series are taken."""
    assert read_quantity("13", "S", counts=True) == (13, 13)
    with pytest.raises(UnreadableQuantity, match="whole"):
        read_quantity("13.5", "S", counts=True)


@pytest.mark.parametrize(
    ("value", "unit", "low", "high", "meant"),
    [
        (10900, "Ah", 0.1, 500, "10900 mAh"),
        (3400, "kg", 0.1, 200, "3400 g"),
        (66, "fraction", 0.1, 1, "66 %"),
        (1.5, "mm", 10, 40, "1.5 cm"),
    ],
)
def test_a_slip_names_the_unit_that_was_meant(
    value: float, unit: str, low: float, high: float, meant: str
) -> None:
    """A capacity typed in mAh passes as thousands of Ah and makes every claim hold."""
    told = likely_slip(value, unit, low, high)
    assert told is not None
    assert meant in told


@given(st.floats(0.1, 500))
def test_a_usual_value_is_no_slip(value: float) -> None:
    """A true figure is refused as a slip."""
    assert likely_slip(value, "Ah", 0.1, 500) is None


def test_an_unusual_value_that_no_unit_explains_is_no_slip() -> None:
    """A guess at a unit that does not help is shown as advice."""
    assert likely_slip(600, "Ah", 5, 500) is None


@given(
    st.integers(1, 10**6).map(lambda number: number / 1000),
    st.sampled_from(["V", "A", "Ah", "kg", "mm", "s", "h"]),
)
def test_the_unit_in_the_text_changes_nothing(value: float, unit: str) -> None:
    """ "14" and "14 Ah" are different capacities in a case file."""
    assert read_quantity(f"{value:.3f}".rstrip("0").rstrip(".") + f" {unit}", unit) == read_quantity(
        value, unit
    )


@pytest.mark.parametrize(
    ("typed", "unit", "read"),
    [
        ("2x", None, (2, 2)), ("4 x", None, (4, 4)), ("13 groups", None, (13, 13)), ("2 Lagen", None, (2, 2)),
        ("3层", None, (3, 3)), ("4-6 strips", None, (4, 6)), ("30 A blade", "A", (30, 30)), ("30A fuse", "A", (30, 30)),
    ],
)  # fmt: skip
def test_what_is_counted_and_the_kind_of_a_fuse_may_stand_behind_a_number(
    typed: str, unit: str | None, read: tuple[float, float]
) -> None:
    """Otherwise "2x" for two layers of strip is refused, as people write it. Source: a repairer at the page."""
    assert read_quantity(typed, unit) == read


@pytest.mark.parametrize(
    ("typed", "unit"), [("30 A peak", "A"), ("30 A max", "A"), ("2x", "A"), ("13 bananas", None)]
)
def test_a_word_that_changes_the_meaning_is_not_dropped(typed: str, unit: str | None) -> None:
    """Otherwise a peak or a maximum passes for a continuous current. Rule: a missing fact never reads as a pass."""
    with pytest.raises(UnreadableQuantity):
        read_quantity(typed, unit)


@pytest.mark.parametrize("typed", ["?", "don't know", "Don’t know", "weiß nicht", "不知道", "unknown"])
def test_not_knowing_is_read_in_three_languages(typed: str) -> None:
    """Otherwise whoever says that he does not know is refused. Source: a repairer at the page."""
    assert says_unknown(typed)
    assert not says_unknown("12 AWG")


def test_two_sides_are_read_with_the_smaller_first() -> None:
    """Otherwise the strip's thickness and width change places. Source: a strip is thinner than wide."""
    assert read_two_sides("0,15 x 8 mm", "mm") == read_two_sides("8x0.15", "mm") == (0.15, 8)
    assert read_two_sides("8 mm", "mm") is None
