"""A quantity known only to lie between two ends, with what it rests on: one number, or a column of numbers.

Figures are written once, over quantities whose ends are a float or a numpy array. A single check passes floats
and loads no numpy; a table passes columns. There are no branches on a quantity: `where` chooses, element by
element, and ``if`` on an array raises at once.

Every operation is sound (no combination of values inside the inputs leaves the result) and tight (both ends
are reached), as long as each uncertain quantity enters an expression once. What a quantity rests on and what
is missing travel with it, so that no figure can forget them: the operations join the two sets.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING, Any, TypeAlias, overload

if TYPE_CHECKING:
    from verifier.bounds import Bounds

# A float, or a numpy array of shape (n_packs,).
Number: TypeAlias = Any
# A bool, or a numpy array of bool.
Mask: TypeAlias = Any
# A set of facts as bits of an int, or of an int64 array: see `verifier.fact_names`.
Names: TypeAlias = Any


@overload
def where(condition: Mask, chosen: Quantity, otherwise: Quantity) -> Quantity: ...
@overload
def where(condition: Mask, chosen: Any, otherwise: Any) -> Any: ...
def where(condition: Mask, chosen: Any, otherwise: Any) -> Any:
    """Return one of two values by a condition, element by element. Both have been worked out before."""
    if isinstance(condition, bool):
        return chosen if condition else otherwise
    if isinstance(chosen, Quantity):
        return Quantity(
            where(condition, chosen.low, otherwise.low),
            where(condition, chosen.high, otherwise.high),
            where(condition, chosen.missing, otherwise.missing),
            where(condition, chosen.rests_on, otherwise.rests_on),
            where(condition, chosen.grade, otherwise.grade),
        )
    if chosen is otherwise:
        return chosen
    import numpy as np

    return np.where(condition, chosen, otherwise)


def smaller(first: Number, second: Number) -> Number:
    """Return the lesser of two numbers, element by element."""
    return where(first < second, first, second)


def larger(first: Number, second: Number) -> Number:
    """Return the greater of two numbers, element by element."""
    return where(first > second, first, second)


def smallest(*numbers: Number) -> Number:
    """Return the least of several numbers, element by element."""
    found = numbers[0]
    for number in numbers[1:]:
        found = smaller(found, number)
    return found


def largest(*numbers: Number) -> Number:
    """Return the greatest of several numbers, element by element."""
    found = numbers[0]
    for number in numbers[1:]:
        found = larger(found, number)
    return found


def product(first: Number, second: Number) -> Number:
    """Return a product of two numbers that are not negative; zero times without end is zero."""
    if isinstance(first, (float, int)) and isinstance(second, (float, int)):
        return 0.0 if first == 0 or second == 0 else first * second
    import numpy as np

    with np.errstate(invalid="ignore"):
        found = np.multiply(first, second)
    return np.where((np.equal(first, 0)) | (np.equal(second, 0)), 0.0, found)


def ratio(first: Number, second: Number) -> Number:
    """Return a quotient of two numbers that are not negative.

    Nothing over anything is nothing, anything over nothing is without end, and so is without end over without
    end: only upper ends meet that case.
    """
    if isinstance(first, (float, int)) and isinstance(second, (float, int)):
        if first == 0:
            return 0.0
        if second == 0:
            return inf
        return inf if first == inf and second == inf else first / second
    import numpy as np

    with np.errstate(divide="ignore", invalid="ignore"):
        found = np.divide(first, second)
    found = np.where(np.isinf(first) & np.isinf(second), inf, found)
    return np.where(np.equal(first, 0), 0.0, found)


def both(first: Mask, second: Mask) -> Mask:
    """Whether two conditions hold, element by element."""
    return (first and second) if isinstance(first, bool) and isinstance(second, bool) else first & second


def either(first: Mask, second: Mask) -> Mask:
    """Whether one of two conditions holds, element by element."""
    return (first or second) if isinstance(first, bool) and isinstance(second, bool) else first | second


def negated(condition: Mask) -> Mask:
    """Whether a condition does not hold, element by element."""
    return (not condition) if isinstance(condition, bool) else ~condition


def anywhere(condition: Mask) -> bool:
    """Whether a condition holds for the one pack, or for any pack of a table."""
    return condition if isinstance(condition, bool) else bool(condition.any())


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity from `low` to `high`, never negative, and what it rests on.

    Attributes
    ----------
    low, high
        The two ends; `high` is infinite where nothing bounds it.
    missing
        Facts that nobody knows and that would narrow it.
    rests_on
        Facts of the case that were used.
    grade
        The worst evidence among the sheets that were used: 0 for none, see `verifier.fact_names.GRADES`.
    """

    low: Number
    high: Number
    missing: Names = 0
    rests_on: Names = 0
    grade: Any = 0

    @property
    def known(self) -> Mask:
        """Whether anything at all bounds it."""
        return either(self.low > 0, self.high < inf)

    @property
    def settled(self) -> Mask:
        """Whether no fact is missing that would narrow it."""
        return self.missing == 0

    def _join(self, other: Quantity, low: Number, high: Number) -> Quantity:
        return Quantity(
            low,
            high,
            self.missing | other.missing,
            self.rests_on | other.rests_on,
            larger(self.grade, other.grade),
        )

    def _ends(self, low: Number, high: Number) -> Quantity:
        return Quantity(low, high, self.missing, self.rests_on, self.grade)

    def __add__(self, other: Quantity | Number) -> Quantity:
        if not isinstance(other, Quantity):
            return self._ends(self.low + other, self.high + other)
        return self._join(other, self.low + other.low, self.high + other.high)

    def __mul__(self, other: Quantity | Number) -> Quantity:
        if not isinstance(other, Quantity):
            return self._ends(product(self.low, other), product(self.high, other))
        return self._join(other, product(self.low, other.low), product(self.high, other.high))

    __radd__ = __add__
    __rmul__ = __mul__

    def __truediv__(self, other: Quantity | Number) -> Quantity:
        if not isinstance(other, Quantity):
            return self._ends(ratio(self.low, other), ratio(self.high, other))
        return self._join(other, ratio(self.low, other.high), ratio(self.high, other.low))

    def at_most(self, high: Number) -> Quantity:
        """Return the quantity with both ends no higher than a number."""
        return self._ends(smaller(self.low, high), smaller(self.high, high))

    def with_ends(self, low: Number, high: Number) -> Quantity:
        """Return other ends that rest on the same facts."""
        return self._ends(low, high)

    def resting_on(self, *others: Quantity) -> Quantity:
        """Return the quantity resting on what others rest on too, and lacking what they lack."""
        missing, rests_on, grade = self.missing, self.rests_on, self.grade
        for other in others:
            missing, rests_on = missing | other.missing, rests_on | other.rests_on
            grade = larger(grade, other.grade)
        return Quantity(self.low, self.high, missing, rests_on, grade)

    def lacking(self, names: Names, condition: Mask = True) -> Quantity:
        """Return the quantity with facts noted as missing, where a condition holds."""
        missing = where(condition, self.missing | names, self.missing)
        return Quantity(self.low, self.high, missing, self.rests_on, self.grade)


def exactly(value: Number) -> Quantity:
    """Return a quantity that is one number and rests on nothing."""
    return Quantity(value, value)


def between(bounds: Bounds) -> Quantity:
    """Return a default limit as a quantity."""
    return Quantity(bounds.low, bounds.high)


def anything(missing: Names = 0) -> Quantity:
    """Return a quantity of which nothing is known, for want of some facts."""
    return Quantity(0.0, inf, missing)


def first_known(*quantities: Quantity) -> Quantity:
    """Return the first of several that anybody knows, element by element, else the first with what it lacks.

    What comes first is asked for first: when none is known, the first is what is missing.
    """
    found = quantities[0]
    for other in quantities[1:]:
        found = where(either(found.known, negated(other.known)), found, other)
    return found


def narrowed(*quantities: Quantity) -> Quantity:
    """Return the first of several that anybody knows, within those after it that leave less open, element by element.

    All of them speak of one number. One that excludes what stands before it is a contradiction, to be told as such,
    and narrows nothing.
    """
    found = quantities[0]
    for other in quantities[1:]:
        low, high = larger(found.low, other.low), smaller(found.high, other.high)
        tells = both(low <= high, either(low > found.low, high < found.high))
        within = found._join(other, low, high)
        # What a range leaves open is asked for no more once it is one number.
        missing = where(low < high, within.missing, 0)
        narrower = Quantity(low, high, missing, within.rests_on, within.grade)
        found = where(
            both(found.known, other.known), where(tells, narrower, found), first_known(found, other)
        )
    return found


def hull(*quantities: Quantity) -> Quantity:
    """Return the narrowest quantity that holds all of several."""
    found = quantities[0]
    for other in quantities[1:]:
        found = found._join(other, smaller(found.low, other.low), larger(found.high, other.high))
    return found


def least(quantities: Sequence[Quantity]) -> tuple[Quantity, Any]:
    """Return the least of several quantities, and which of them limits: the place of the lowest upper end.

    Of equal upper ends the lowest lower end limits. A quantity that cannot be the least lacks nothing.
    """
    low = smallest(*(each.low for each in quantities))
    high = smallest(*(each.high for each in quantities))
    missing: Names = 0
    rests_on: Names = 0
    grade: Any = 0
    limiting: Any = 0
    best_high, best_low = quantities[0].high, quantities[0].low
    for place, each in enumerate(quantities):
        matters = either(each.low < high, both(each.low == high, each.low < each.high))
        missing = missing | where(both(matters, high > 0), each.missing, 0)
        rests_on = rests_on | each.rests_on
        grade = larger(grade, each.grade)
        nearer = either(each.high < best_high, both(each.high == best_high, each.low < best_low))
        limiting = where(nearer, place, limiting)
        best_high, best_low = where(nearer, each.high, best_high), where(nearer, each.low, best_low)
    return Quantity(low, high, missing, rests_on, grade), limiting


def surely_least(quantities: Sequence[Quantity]) -> Any:
    """Return the place of the quantity with the lowest lower end, of equals the first: it decides what is sure."""
    lowest, place = quantities[0].low, 0
    for number, each in enumerate(quantities[1:], 1):
        place = where(each.low < lowest, number, place)
        lowest = smaller(each.low, lowest)
    return place


def counts_in(count: Quantity, most: int) -> list[tuple[Number, Mask]]:
    """Return every whole count in a range, one after another, and where the range reaches so far.

    What a row of cells shares does not change steadily with its length, so the ends are not enough. Beyond
    `most` counts none are returned; the caller sees to the ends.
    """
    spread = count.high - count.low
    widest = spread if isinstance(spread, float) else float(spread.max()) if spread.size else 0.0
    found: list[tuple[Number, Mask]] = [(count.low, True)]
    for step in range(1, int(min(widest, most)) + 1):
        found.append((smaller(count.low + step, count.high), spread >= step))
    return found


def only_where(condition: Mask, value: Any) -> Any:
    """Return a number of the packs at which a condition holds; of one pack, the number."""
    if isinstance(condition, bool):
        return value
    import numpy as np

    return np.broadcast_to(value, condition.shape)[condition]


def spread_out(condition: Mask, value: Any, otherwise: float) -> Any:
    """Return numbers of the packs at which a condition holds as a column of all, with a number elsewhere."""
    if isinstance(condition, bool):
        return value if condition else otherwise
    import numpy as np

    found = np.full(condition.shape, otherwise)
    found[condition] = value
    return found


def by_choice(choice: Any, of: Callable[[int], Any]) -> Any:
    """Return what a function gives for a choice, element by element; each choice made is asked for once.

    Parameters
    ----------
    choice : int or array of int, shape (n_packs,)
    of : callable
        Of one choice; returns a number, a quantity or a tuple of numbers, of one pack or of the whole column.
    """
    if isinstance(choice, int):
        return of(choice)
    import numpy as np

    made = np.unique(choice)
    if not made.size:
        return of(0)
    found = of(int(made[0]))
    for each in made[1:]:
        other = of(int(each))
        if isinstance(found, tuple):
            found = tuple(
                where(choice == each, mine, theirs) for mine, theirs in zip(other, found, strict=True)
            )
        else:
            found = where(choice == each, other, found)
    return found


def by_distinct(
    function: Callable[..., Sequence[float]],
    *arguments: Any,
    asked: Mask = True,
    otherwise: Sequence[float] = (),
) -> list[Any]:
    """Return the results of a function of single numbers, for single numbers or for columns.

    Parameters
    ----------
    function : callable
        Of as many numbers as there are arguments; returns a fixed number of numbers.
    arguments
        Numbers or arrays of shape (n_packs,). Each distinct combination is worked out once.
    asked : bool or array of bool
        Where the results matter; a column holds ``otherwise`` elsewhere, as many numbers as there are results.

    Returns
    -------
    list of numbers or arrays, one for each number that the function returns
    """
    if not any(hasattr(each, "shape") and each.shape for each in arguments):
        return list(function(*arguments))
    import numpy as np

    if not isinstance(asked, bool):
        if not asked.any():
            return [np.full(asked.shape, float(each)) for each in otherwise]
        found = by_distinct(function, *(only_where(asked, each) for each in arguments))
        return [spread_out(asked, each, other) for each, other in zip(found, otherwise, strict=True)]
    columns = np.broadcast_arrays(*[np.asarray(each, dtype=np.float64) for each in arguments])
    first, which = distinct(columns)
    rows = zip(*(each[first].tolist() for each in columns), strict=True)
    results = np.array([list(function(*row)) for row in rows], dtype=np.float64)
    return [results[which, place] for place in range(results.shape[1])]


def once_each(function: Callable[..., Sequence[Number]], *arguments: Any) -> list[Any]:
    """Return the results of a function of numbers or columns, which is given each distinct row of columns once.

    Parameters
    ----------
    function : callable
        Of as many numbers or columns as there are arguments; returns a fixed number of either.
    arguments
        Numbers or arrays of shape (n_packs,).

    Returns
    -------
    list of numbers or arrays, one for each that the function returns
    """
    if not any(hasattr(each, "shape") and each.shape for each in arguments):
        return list(function(*arguments))
    import numpy as np

    columns = np.broadcast_arrays(*arguments)
    first, which = distinct(columns)
    return [
        np.broadcast_to(each, first.shape)[which] for each in function(*(column[first] for column in columns))
    ]


def distinct(columns: Sequence[Any]) -> tuple[Any, Any]:
    """Return the first row of each distinct combination of some columns, and which combination each row has."""
    import numpy as np

    table = np.stack([np.asarray(each, dtype=np.float64) for each in columns], axis=1)
    keys = np.ascontiguousarray(table).view(np.dtype((np.void, table.dtype.itemsize * table.shape[1])))
    _, first, which = np.unique(keys.ravel(), return_index=True, return_inverse=True)
    return first, which.ravel()


def total(quantities: Iterable[Quantity]) -> Quantity:
    """Return the sum of several quantities."""
    found = exactly(0.0)
    for each in quantities:
        found = found + each
    return found
