"""Arithmetic of quantities: nothing possible outside a result, nothing impossible inside, and no gap forgotten.

Everything holds for one pack, whose ends are floats, as for a column of packs, whose ends are arrays.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf, isclose
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.quantities import (
    Quantity,
    anything,
    by_choice,
    by_distinct,
    counts_in,
    exactly,
    first_known,
    hull,
    least,
    once_each,
    product,
    ratio,
    where,
)

POSITIVE = st.floats(1e-3, 1e6)
ENDS = st.sampled_from([0.0, 0.5, 2.0, 7.5, inf]) | st.floats(1e-6, 1e6)
FRACTION = st.floats(0, 1)
SETS = st.integers(0, 15)
Operation = Callable[[Quantity, Quantity], Quantity]
OPERATIONS: dict[str, Operation] = {"+": lambda a, b: a + b, "*": lambda a, b: a * b, "/": lambda a, b: a / b}


@st.composite
def quantities(draw: st.DrawFn, ends: st.SearchStrategy[float] = ENDS) -> Quantity:
    low, high = sorted((draw(ends), draw(ends)))
    return Quantity(low, high, draw(SETS), draw(SETS), draw(st.integers(0, 4)))


def inside(quantity: Quantity, at: float) -> float:
    """Return a point of a quantity; ``at`` runs from 0 to 1."""
    high = min(quantity.high, 1e9)
    return float(min(high, max(quantity.low, quantity.low + at * (high - quantity.low))))


def column(several: Sequence[Quantity]) -> Quantity:
    """Return quantities of single packs as one of a column of packs."""
    return Quantity(
        np.array([each.low for each in several]),
        np.array([each.high for each in several]),
        np.array([each.missing for each in several], dtype=np.int64),
        np.array([each.rests_on for each in several], dtype=np.int64),
        np.array([each.grade for each in several], dtype=np.int64),
    )


def at(quantity: Quantity, place: int, count: int) -> tuple[float, ...]:
    """Return one pack of a column, as plain numbers."""
    parts = (quantity.low, quantity.high, quantity.missing, quantity.rests_on, quantity.grade)
    return tuple(np.broadcast_to(each, (count,))[place].item() for each in parts)


def plain(quantity: Quantity) -> tuple[float, ...]:
    return (quantity.low, quantity.high, quantity.missing, quantity.rests_on, quantity.grade)


@given(st.sampled_from("+*/"), quantities(POSITIVE), quantities(POSITIVE), FRACTION, FRACTION)
def test_no_combination_of_values_leaves_the_result(
    sign: str, a: Quantity, b: Quantity, place: float, other: float
) -> None:
    """A pack beyond the printed bounds would be possible. Definition of interval arithmetic (IEEE 1788)."""
    found = OPERATIONS[sign](a, b)
    x, y = inside(a, place), inside(b, other)
    value = {"+": x + y, "*": x * y, "/": x / y}[sign]
    assert found.low <= value * (1 + 1e-15)
    assert value * (1 - 1e-15) <= found.high


@given(st.sampled_from("+*/"), quantities(POSITIVE), quantities(POSITIVE))
def test_both_ends_of_the_result_are_reached(sign: str, a: Quantity, b: Quantity) -> None:
    """Bounds wider than need be leave claims open that the figures settle."""
    found = OPERATIONS[sign](a, b)
    corners = [{"+": x + y, "*": x * y, "/": x / y}[sign] for x in (a.low, a.high) for y in (b.low, b.high)]
    assert isclose(found.low, min(corners), rel_tol=1e-15)
    assert isclose(found.high, max(corners), rel_tol=1e-15)


@given(st.sampled_from("+*/"), quantities(), quantities())
def test_what_is_missing_and_rested_on_is_never_lost(sign: str, a: Quantity, b: Quantity) -> None:
    """A pass would rest on a fact that nobody knows, or on a quoted figure, without saying so."""
    for found in (OPERATIONS[sign](a, b), hull(a, b), a.resting_on(b)):
        assert found.missing == a.missing | b.missing
        assert found.rests_on == a.rests_on | b.rests_on
        assert found.grade == max(a.grade, b.grade)


@given(st.lists(st.tuples(quantities(), quantities()), min_size=1, max_size=6))
def test_a_column_of_packs_gets_what_each_pack_gets(pairs: list[tuple[Quantity, Quantity]]) -> None:
    """A desk that screens a table would be told something else than a buyer who checks one pack of it."""
    a, b = column([pair[0] for pair in pairs]), column([pair[1] for pair in pairs])
    both: list[Callable[[Quantity, Quantity], Quantity]] = [
        *OPERATIONS.values(),
        hull,
        first_known,
        lambda x, y: least((x, y))[0],
    ]
    for operate in both:
        found = operate(a, b)
        for place, (one, other) in enumerate(pairs):
            assert at(found, place, len(pairs)) == plain(operate(one, other))


def test_zero_and_without_end_do_not_turn_into_nonsense() -> None:
    """Nothing drawn from an unbounded element would be shown as not a number, and settle a claim."""
    for nothing, endless in ((0.0, inf), (np.array([0.0]), np.array([inf]))):
        assert product(nothing, endless) == product(endless, nothing) == 0
        assert ratio(nothing, nothing) == ratio(nothing, endless) == 0
        assert ratio(endless, nothing) == ratio(endless, endless) == inf
    unknown = anything()
    assert plain(unknown * unknown)[:2] == (0, inf)
    assert plain(Quantity(5, 10) / Quantity(2, inf))[:2] == (0, 5)
    assert plain(Quantity(1, inf) + unknown)[:2] == (1, inf)


@given(st.lists(quantities(POSITIVE), min_size=1, max_size=5), st.lists(FRACTION, min_size=5, max_size=5))
def test_the_least_of_several_is_sound_and_tight(several: list[Quantity], points: list[float]) -> None:
    """The weakest element of a path would be passed over."""
    found, limiting = least(several)
    values = [inside(each, place) for each, place in zip(several, points, strict=False)]
    assert found.low <= min(values) <= found.high
    assert found.low == min(each.low for each in several)
    assert found.high == min(each.high for each in several) == several[limiting].high


def test_what_cannot_be_the_least_lacks_nothing() -> None:
    """A buyer would be sent to measure a lead that cannot limit, whatever it is."""
    cells, lead = Quantity(10, 20, missing=1), Quantity(30, inf, missing=2)
    assert least((cells, lead))[0].missing == 1
    # What may carry less, and what may carry as much as the best, matters.
    assert least((cells, Quantity(15, inf, missing=2)))[0].missing == 3
    assert least((Quantity(20, 20), Quantity(20, inf, missing=2)))[0].missing == 2
    # Where nothing can flow at all, nothing more need be known.
    assert least((Quantity(0, 0, missing=1), Quantity(0, inf, missing=2)))[0].missing == 0


def test_the_first_that_anybody_knows_is_taken_and_the_first_is_asked_for() -> None:
    """A seller's count would decide over the one that was made, or the wrong thing be asked for."""
    seen, said = Quantity(4, 4, rests_on=1), Quantity(5, 5, rests_on=2)
    assert first_known(seen, said) is seen
    assert first_known(anything(missing=8), said) is said
    assert first_known(anything(missing=8), anything(missing=16)).missing == 8


def test_an_array_in_place_of_a_condition_is_refused() -> None:
    """A branch on a column would give every pack the answer of one. Source: numpy's truth value of an array."""
    with pytest.raises(ValueError, match="truth value"):
        assert Quantity(np.array([1.0, 5.0]), np.array([1.0, 5.0])).low > 3
    assert where(np.array([True, False]), 1, 2).tolist() == [1, 2]
    assert where(True, 1, 2) == 1


def test_counts_in_a_range_are_each_looked_at_once() -> None:
    """A row of 5 of possible 4 to 6 would be left out, and it may share worst."""
    assert [count for count, here in counts_in(Quantity(4.0, 6.0), 40) if here] == [4, 5, 6]
    several = counts_in(Quantity(np.array([4.0, 2.0]), np.array([6.0, 2.0])), 40)
    reached = [np.broadcast_to(here, (2,)).tolist() for _, here in several]
    assert reached == [[True, True], [True, False], [True, False]]
    assert [count.tolist() for count, _ in several] == [[4, 2], [5, 2], [6, 2]]


def test_a_function_of_single_numbers_is_asked_once_for_each_combination() -> None:
    """A table of a million rows would be judged a thousand times slower, or rows get each other's answer."""
    asked = []

    def function(a: float, b: float) -> tuple[float, float]:
        asked.append((a, b))
        return a + b, a * b

    sums, products = by_distinct(function, np.array([1.0, 2.0, 1.0]), 3.0)
    assert (sums.tolist(), products.tolist()) == ([4, 5, 4], [3, 6, 3])
    assert sorted(asked) == [(1, 3), (2, 3)]
    assert by_distinct(function, 2.0, 5.0) == [7, 10]


def test_a_choice_is_asked_for_where_it_was_made() -> None:
    """A strip of nickel would be judged as copper because the row above it is."""
    resistivity = {0: 70.0, 1: 17.0}
    found = by_choice(np.array([1, 0, 1]), lambda choice: resistivity[choice])
    assert found.tolist() == [17, 70, 17]
    assert by_choice(0, lambda choice: exactly(resistivity[choice])).low == 70
    pairs = by_choice(np.array([1, 0]), lambda choice: (choice, resistivity[choice]))
    assert [each.tolist() for each in pairs] == [[1, 0], [17, 70]]


def test_what_is_not_asked_is_not_worked_out() -> None:
    """Otherwise a number that nobody stated is judged as if it were one. Rule: elsewhere stands what is said."""
    seen: list[float] = []

    def halves(value: float) -> tuple[float, float]:
        seen.append(value)
        return value / 2, value

    column, asked = np.array([4.0, np.inf, 4.0, 6.0]), np.array([True, False, True, True])
    half, whole = by_distinct(halves, column, asked=asked, otherwise=(-1.0, 0.0))
    assert half.tolist() == [2.0, -1.0, 2.0, 3.0]
    assert whole.tolist() == [4.0, 0.0, 4.0, 6.0]
    assert sorted(seen) == [4.0, 6.0]
    half, _ = by_distinct(halves, column, asked=np.zeros(4, dtype=bool), otherwise=(-1.0, 0.0))
    assert half.tolist() == [-1.0] * 4
    assert len(seen) == 2
    assert by_distinct(halves, 4.0, asked=True, otherwise=(-1.0, 0.0)) == [2.0, 4.0]


def test_a_function_of_columns_is_given_each_row_once() -> None:
    """Otherwise rows get the results of other rows. Rule: as row by row."""
    given: list[int] = []

    def sums(first: Any, second: Any) -> tuple[Any, Any]:
        given.append(np.size(first))
        return first + second, 0.0

    first, second = np.array([1.0, 2.0, 1.0, 1.0]), np.array([5.0, 5.0, 5.0, 7.0])
    total, nothing = once_each(sums, first, second)
    assert total.tolist() == [6.0, 7.0, 6.0, 8.0]
    assert nothing.tolist() == [0.0] * 4
    assert given == [3]
    assert once_each(sums, 1.0, 2.0) == [3.0, 0.0]
