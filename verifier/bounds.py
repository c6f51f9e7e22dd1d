"""A quantity known only to lie between two ends.

Every operation is sound (no combination of values inside the inputs leaves the result) and tight (both
ends are reached), as long as each uncertain quantity enters an expression once. A figure in which one
quantity enters twice has to see to its own ends.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import inf

from verifier.numbers import Many, largest, out_of_order, product, quotients, smallest


@dataclass(frozen=True, slots=True)
class Bounds:
    """A quantity from `low` to `high`, with a `likely` value where one is known.

    An unknown upper end is infinity inside the program and ``null`` in a report.

    Raises
    ------
    ValueError
        If the ends are out of order or not numbers.
    """

    low: float
    high: float
    likely: float | None = None

    def __post_init__(self) -> None:
        low, high = self.low, self.high
        if out_of_order(low, high):
            raise ValueError(f"bounds out of order: {low} .. {high}")
        # Of many packs no likely value is kept: no verdict rests on it.
        many = isinstance(low, Many) or isinstance(high, Many)
        if self.likely is None and not many and low == high:
            object.__setattr__(self, "likely", low)

    @property
    def exact(self) -> bool:
        """Whether the quantity is one known value."""
        return self.low == self.high

    @property
    def known(self) -> bool:
        """Whether anything bounds the quantity from above."""
        return self.high < inf

    def __mul__(self, other: Bounds | float) -> Bounds:
        other = as_bounds(other)
        if self.low is self.high and other.low is other.high:
            exact = product(self.low, other.low)
            return Bounds(exact, exact, _both(self, other, lambda a, b: a * b))
        ends = [product(a, b) for a in (self.low, self.high) for b in (other.low, other.high)]
        return Bounds(smallest(*ends), largest(*ends), _both(self, other, lambda a, b: a * b))

    __rmul__ = __mul__

    def __add__(self, other: Bounds | float) -> Bounds:
        other = as_bounds(other)
        return Bounds(self.low + other.low, self.high + other.high, _both(self, other, lambda a, b: a + b))

    __radd__ = __add__

    def __sub__(self, other: Bounds | float) -> Bounds:
        other = as_bounds(other)
        return Bounds(self.low - other.high, self.high - other.low, _both(self, other, lambda a, b: a - b))

    def __truediv__(self, other: Bounds | float) -> Bounds:
        other = as_bounds(other)
        if other.low <= 0:
            raise ValueError("division by bounds that reach zero")
        ends = quotients((self.low, self.high), (other.low, other.high))
        return Bounds(smallest(*ends), largest(*ends), _both(self, other, lambda a, b: a / b))

    def __rtruediv__(self, other: float) -> Bounds:
        return as_bounds(other) / self

    def without_likely(self) -> Bounds:
        """Return the same ends with no likely value."""
        return Bounds(self.low, self.high)

    def meets(self, other: Bounds) -> bool:
        """Whether some value lies in both."""
        return self.low <= other.high and other.low <= self.high


UNKNOWN = Bounds(0.0, inf)


def as_bounds(value: Bounds | float) -> Bounds:
    """Return a number as bounds of no width."""
    if isinstance(value, Bounds):
        return value
    if isinstance(value, Many):
        return Bounds(value, value)
    return Bounds(float(value), float(value), float(value))


def least(quantities: Iterable[Bounds]) -> Bounds:
    """Return the bounds of the smallest of several quantities."""
    several = list(quantities)
    likely = [each.likely for each in several if each.likely is not None]
    return Bounds(
        smallest(*(each.low for each in several)),
        smallest(*(each.high for each in several)),
        min(likely) if len(likely) == len(several) else None,
    )


def hull(quantities: Iterable[Bounds]) -> Bounds:
    """Return the narrowest bounds that hold all of several."""
    several = list(quantities)
    return Bounds(smallest(*(each.low for each in several)), largest(*(each.high for each in several)))


def _both(a: Bounds, b: Bounds, combine: Callable[[float, float], float]) -> float | None:
    if a.likely is None or b.likely is None or inf in (a.likely, b.likely):
        return None
    return combine(a.likely, b.likely)
