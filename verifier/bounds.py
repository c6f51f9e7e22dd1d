"""A number of a case or a report, known only to lie between two ends."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, floor, inf, log10


@dataclass(frozen=True, slots=True)
class Bounds:
    """A number from `low` to `high`, with a `likely` value where one is known.

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
        if not self.low <= self.high:
            raise ValueError(f"bounds out of order: {self.low} .. {self.high}")
        if self.likely is None and self.low == self.high:
            object.__setattr__(self, "likely", self.low)

    @property
    def exact(self) -> bool:
        """Whether it is one known value."""
        return self.low == self.high

    @property
    def known(self) -> bool:
        """Whether anything bounds it from above."""
        return self.high < inf

    def __mul__(self, other: Bounds | float) -> Bounds:
        other = as_bounds(other)
        ends = [a * b for a in (self.low, self.high) for b in (other.low, other.high)]
        return Bounds(min(ends), max(ends))

    __rmul__ = __mul__

    def __truediv__(self, other: Bounds | float) -> Bounds:
        other = as_bounds(other)
        if other.low <= 0:
            raise ValueError("division by bounds that reach zero")
        ends = [a / b for a in (self.low, self.high) for b in (other.low, other.high)]
        return Bounds(min(ends), max(ends))

    def meets(self, other: Bounds) -> bool:
        """Whether some value lies in both."""
        return self.low <= other.high and other.low <= self.high


UNKNOWN = Bounds(0.0, inf)


def hull(several: Iterable[Bounds]) -> Bounds:
    """Return the narrowest bounds that hold all of several."""
    found = list(several)
    return Bounds(min(each.low for each in found), max(each.high for each in found))


def as_bounds(value: Bounds | float) -> Bounds:
    """Return a number as bounds of no width."""
    return value if isinstance(value, Bounds) else Bounds(float(value), float(value))


def up(value: float, figures: int = 2) -> float:
    """Return a number rounded up to so many figures, so that nobody plans with less than is needed."""
    if value <= 0 or value == inf:
        return value
    unit = 10.0 ** (floor(log10(value)) - figures + 1)
    return float(f"{ceil(value / unit - 1e-9) * unit:.12g}")


def down(value: float) -> float:
    """Return a number rounded down to two figures, so that nobody is granted more than was found."""
    if value <= 0 or value == inf:
        return value
    unit = 10.0 ** (floor(log10(value)) - 1)
    # A whole number of units must not fall to the one below by the noise of its last binary digit.
    return float(f"{floor(value / unit + 1e-9) * unit:.12g}")
