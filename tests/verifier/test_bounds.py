"""Bounds of a stated number: in order, with a likely value inside, and what two of them have in common."""

from __future__ import annotations

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.bounds import UNKNOWN, Bounds, as_bounds

FINITE = st.floats(-1e6, 1e6) | st.integers(-100, 100).map(float)
FRACTION = st.floats(0, 1)


@st.composite
def intervals(draw: st.DrawFn) -> Bounds:
    low, high = sorted((draw(FINITE), draw(FINITE)))
    return Bounds(low, high)


@given(intervals(), intervals(), FRACTION)
def test_two_quantities_meet_when_a_value_lies_in_both(a: Bounds, b: Bounds, at: float) -> None:
    """A claim would be called impossible although one value of it is not."""
    assert a.meets(b) == b.meets(a)
    point = min(a.high, a.low + at * (a.high - a.low))
    if b.low <= point <= b.high:
        assert a.meets(b)
    if a.high < b.low or b.high < a.low:
        assert not a.meets(b)


@pytest.mark.parametrize(("low", "high"), [(2, 1), (nan, 1), (1, nan), (inf, -inf), (inf, 0)])
def test_ends_out_of_order_are_refused(low: float, high: float) -> None:
    """A range the wrong way round would support a claim from both sides."""
    with pytest.raises(ValueError, match="order"):
        Bounds(low, high)


@given(intervals(), FINITE)
def test_a_negative_factor_turns_the_ends(a: Bounds, factor: float) -> None:
    """Charging, which counts the other way, would be bounded by ends in the wrong order."""
    found = a * factor
    assert (found.low, found.high) == tuple(sorted((a.low * factor, a.high * factor)))
    assert factor * a == found


@given(FINITE)
def test_one_known_number_is_its_own_likely_value(value: float) -> None:
    """A count that was made would be printed as a range, or without a value."""
    found = as_bounds(value)
    assert (found.low, found.high, found.likely, found.exact) == (value, value, value, True)
    assert as_bounds(found) is found
    assert (UNKNOWN.known, UNKNOWN.exact, UNKNOWN.likely) == (False, False, None)
