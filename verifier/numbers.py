"""Numbers, one at a time or of many packs at once.

The judging code is written for one pack. To judge many packs together it is run with `Many` in the place of
numbers; what Python's own `min`, `max` and branches would do to a number, these functions do for either.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from typing import Any, TypeVar

Result = TypeVar("Result")


class Many:
    """The numbers of many packs, one a pack; it stands wherever one number could.

    Arithmetic goes pack by pack. A branch on numbers that lie on both sides of it parts the packs.
    """

    values: Any

    def at(self, places: Any) -> Many:
        """Return the numbers of some of the packs, by their places."""
        raise NotImplementedError

    def smallest_of(self, numbers: tuple[float, ...]) -> float:
        """Return the smallest of several numbers, pack by pack."""
        raise NotImplementedError

    def largest_of(self, numbers: tuple[float, ...]) -> float:
        """Return the largest of several numbers, pack by pack."""
        raise NotImplementedError

    def times(self, number: float) -> float:
        """Return the product, pack by pack; zero times infinity is zero."""
        raise NotImplementedError

    def is_above(self, number: float) -> bool:
        """Whether any pack's number lies above the other."""
        raise NotImplementedError

    def is_below(self, number: float) -> bool:
        """Whether any pack's number lies below the other."""
        raise NotImplementedError

    def apply(self, function: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
        """Return what a function of single numbers gives, pack by pack."""
        raise NotImplementedError


def smallest(*numbers: float) -> float:
    """Return the smallest of several numbers."""
    for number in numbers:
        if isinstance(number, Many):
            return number.smallest_of(numbers)
    return min(numbers)


def largest(*numbers: float) -> float:
    """Return the largest of several numbers."""
    for number in numbers:
        if isinstance(number, Many):
            return number.largest_of(numbers)
    return max(numbers)


def out_of_order(low: float, high: float) -> bool:
    """Whether a lower end lies above its upper end, or either is no number."""
    if isinstance(low, Many):
        return low.is_above(high)
    if isinstance(high, Many):
        return high.is_below(low)
    return not low <= high


def product(a: float, b: float) -> float:
    """Return a x b; zero cells of an unbounded limit still carry nothing."""
    if isinstance(a, Many):
        return a.times(b)
    if isinstance(b, Many):
        return b.times(a)
    return 0.0 if a == 0 or b == 0 else a * b


def quotients(numerators: tuple[float, ...], denominators: tuple[float, ...]) -> list[float]:
    """Return every quotient, infinity over infinity left out."""
    pairs = [(a, b) for a in numerators for b in denominators]
    # Of many packs, those with infinity over infinity are left out where the quotients are compared.
    return [a / b for a, b in pairs if isinstance(a, Many) or isinstance(b, Many) or not a == b == inf]


def each(function: Callable[..., Result], *arguments: Any) -> Result:
    """Return what a function of single numbers gives; for many packs, what it gives each of them.

    Parameters
    ----------
    function
        A pure function that knows single numbers only: an equation solver, a table.
    arguments
        Numbers and `Bounds`, of one pack or of many; anything else is the same for all packs.
    """
    for argument in arguments:
        for number in (argument, getattr(argument, "low", None), getattr(argument, "high", None)):
            if isinstance(number, Many):
                found: Result = number.apply(function, arguments)
                return found
    return function(*arguments)
