"""Interval arithmetic: nothing possible may lie outside a result, and nothing impossible inside it."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from math import inf, isclose, nan

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from verifier.bounds import UNKNOWN, Bounds, as_bounds, hull, least

FINITE = st.floats(-1e6, 1e6) | st.integers(-100, 100).map(float)
POSITIVE = st.floats(1e-3, 1e6)
FRACTION = st.floats(0, 1)


@st.composite
def intervals(draw: st.DrawFn, ends: st.SearchStrategy[float] = FINITE) -> Bounds:
    low, high = sorted((draw(ends), draw(ends)))
    return Bounds(low, high)


def inside(bounds: Bounds, at: float) -> float:
    """Return a point of an interval; ``at`` runs from 0 to 1."""
    return min(bounds.high, max(bounds.low, bounds.low + at * (bounds.high - bounds.low)))


Operation = Callable[[Bounds, Bounds], Bounds]
OPERATIONS: dict[str, Callable[[float, float], float]] = {
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "*": lambda a, b: a * b,
}


def applied(sign: str, a: Bounds, b: Bounds) -> Bounds:
    return {"+": a.__add__, "-": a.__sub__, "*": a.__mul__}[sign](b)


@given(st.sampled_from(sorted(OPERATIONS)), intervals(), intervals(), FRACTION, FRACTION)
def test_no_combination_of_values_leaves_the_result(
    sign: str, a: Bounds, b: Bounds, at: float, other: float
) -> None:
    """A pack beyond the printed bounds would be possible. Definition of interval arithmetic (IEEE 1788)."""
    found = applied(sign, a, b)
    value = OPERATIONS[sign](inside(a, at), inside(b, other))
    assert found.low <= value <= found.high


@given(st.sampled_from(sorted(OPERATIONS)), intervals(), intervals())
def test_both_ends_of_the_result_are_reached(sign: str, a: Bounds, b: Bounds) -> None:
    """Bounds wider than need be leave claims open that the figures settle; checked in exact fractions."""
    found = applied(sign, a, b)
    exact = [
        OPERATIONS[sign](Fraction(x), Fraction(y))  # type: ignore[arg-type]
        for x in (a.low, a.high)
        for y in (b.low, b.high)
    ]
    assert isclose(found.low, float(min(exact)), rel_tol=1e-15, abs_tol=1e-300)
    assert isclose(found.high, float(max(exact)), rel_tol=1e-15, abs_tol=1e-300)


@given(intervals(), intervals(POSITIVE), FRACTION, FRACTION)
def test_division_is_sound_and_tight(a: Bounds, b: Bounds, at: float, other: float) -> None:
    """A current from a power and a voltage would be shown too low."""
    found = a / b
    assert found.low <= inside(a, at) / inside(b, other) <= found.high
    quotients = [x / y for x in (a.low, a.high) for y in (b.low, b.high)]
    assert (found.low, found.high) == (min(quotients), max(quotients))


@pytest.mark.parametrize("divisor", [Bounds(0, 1), Bounds(-1, 1), Bounds(0, 0), Bounds(-2, -1)])
def test_division_by_what_may_be_zero_is_refused(divisor: Bounds) -> None:
    """An unbounded quotient would be printed as a number."""
    with pytest.raises(ValueError, match="zero"):
        Bounds(1, 2) / divisor


@given(intervals(st.floats(0, 1e6)), st.floats(0, 1e6), FRACTION, st.floats(0, 1e9))
def test_an_unknown_factor_covers_every_value_it_could_have(
    known: Bounds, low: float, at: float, beyond: float
) -> None:
    """An unknown limit (up to infinity) times a count would exclude a possible pack."""
    found = known * Bounds(low, inf)
    value = inside(known, at) * (low + beyond)
    assert found.low <= value <= found.high
    assert found.high == (0 if known.high == 0 else inf)


def test_zero_times_infinity_is_zero() -> None:
    """Nothing drawn from an unbounded element would be shown as not a number."""
    assert Bounds(0, 0) * UNKNOWN == Bounds(0, 0)
    nothing = UNKNOWN * 0
    assert nothing == Bounds(0, 0)
    unknown = UNKNOWN * UNKNOWN
    assert unknown == Bounds(0, inf)
    not_in_the_way = Bounds(inf, inf)
    assert Bounds(0, 2) * not_in_the_way == not_in_the_way * Bounds(0, 2) == Bounds(0, inf)


def test_infinite_ends_add_and_divide_without_turning_into_nonsense() -> None:
    """An unknown voltage would crash the check, or settle it."""
    assert Bounds(1, inf) + UNKNOWN == Bounds(1, inf)
    assert UNKNOWN - Bounds(1, 2) == Bounds(-2, inf)
    difference = UNKNOWN - UNKNOWN
    assert difference == Bounds(-inf, inf)
    assert Bounds(5, inf) / Bounds(2, 4) == Bounds(1.25, inf)
    assert Bounds(5, 10) / Bounds(2, inf) == Bounds(0, 5)
    assert Bounds(5, inf) / Bounds(2, inf) == Bounds(0, inf)


@given(st.lists(intervals(), min_size=1, max_size=5), st.lists(FRACTION, min_size=5, max_size=5))
def test_the_least_of_several_is_sound_and_tight(several: list[Bounds], at: list[float]) -> None:
    """The weakest element of a path would be passed over."""
    found = least(several)
    points = [inside(each, place) for each, place in zip(several, at, strict=False)]
    assert found.low <= min(points) <= found.high
    assert found.low == min(each.low for each in several)
    assert found.high == min(each.high for each in several)


@given(st.lists(intervals(), min_size=1, max_size=5))
def test_a_hull_holds_all_and_no_more(several: list[Bounds]) -> None:
    """A chemistry that is still possible would fall out of the bounds."""
    found = hull(several)
    assert all(found.low <= each.low and each.high <= found.high for each in several)
    assert found.low in {each.low for each in several}
    assert found.high in {each.high for each in several}


@given(intervals(), intervals(), FRACTION)
def test_two_quantities_meet_when_a_value_lies_in_both(a: Bounds, b: Bounds, at: float) -> None:
    """A claim would be called impossible although one value of it is not."""
    assert a.meets(b) == b.meets(a)
    point = inside(a, at)
    if b.low <= point <= b.high:
        assert a.meets(b)
    if a.high < b.low or b.high < a.low:
        assert not a.meets(b)


@pytest.mark.parametrize(("low", "high"), [(2, 1), (nan, 1), (1, nan), (inf, -inf), (inf, 0)])
def test_ends_out_of_order_are_refused(low: float, high: float) -> None:
    """A range the wrong way round would support a claim from both sides."""
    with pytest.raises(ValueError, match="order"):
        Bounds(low, high)


@given(intervals(), FRACTION, intervals(), FRACTION, st.sampled_from(sorted(OPERATIONS)))
def test_a_likely_value_stays_inside_its_bounds(
    a: Bounds, at: float, b: Bounds, other: float, sign: str
) -> None:
    """A report would print a likely value that it calls impossible in the same line."""
    likely_a, likely_b = inside(a, at), inside(b, other)
    found = applied(sign, Bounds(a.low, a.high, likely_a), Bounds(b.low, b.high, likely_b))
    assert found.likely is not None
    assert found.low <= found.likely <= found.high


@given(FINITE, FINITE)
def test_a_number_counts_as_bounds_of_no_width(a: float, b: float) -> None:
    """A plain factor such as a reserve would be applied to one end only."""
    assume(b != 0)
    assert as_bounds(a).exact
    assert (Bounds(1, 2) * b) == (b * Bounds(1, 2)) == (Bounds(1, 2) * as_bounds(b))
    assert (Bounds(1, 2) + b) == (b + Bounds(1, 2))
