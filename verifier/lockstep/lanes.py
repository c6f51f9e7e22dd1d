"""Numbers of many packs, one a lane, that stand in for a number in code written for one pack."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from verifier.lockstep.gathering import combinations, found_by
from verifier.lockstep.parting import Parting, Truth
from verifier.numbers import Many

Numbers = NDArray[np.float64]


class Lanes(Many):
    """A number for every pack, in the order of the packs.

    Parameters
    ----------
    values : numpy array of shape (n_packs,)
    """

    __slots__ = ("values",)

    def __init__(self, values: Numbers) -> None:
        self.values = values

    def at(self, places: Any) -> Lanes:  # noqa: D102
        return Lanes(self.values[places])

    # -- arithmetic, pack by pack ----------------------------------------------------------------------------

    def __add__(self, other: float) -> Lanes:
        return Lanes(self.values + _array(other))

    __radd__ = __add__

    def __sub__(self, other: float) -> Lanes:
        return Lanes(self.values - _array(other))

    def __rsub__(self, other: float) -> Lanes:
        return Lanes(_array(other) - self.values)

    def __mul__(self, other: float) -> Lanes:
        return Lanes(self.values * _array(other))

    __rmul__ = __mul__

    def __truediv__(self, other: float) -> Lanes:
        return Lanes(self.values / _divisor(other))

    def __rtruediv__(self, other: float) -> Lanes:
        return Lanes(_array(other) / _divisor(cast(float, self)))

    def __mod__(self, other: float) -> Lanes:
        return Lanes(self.values % _divisor(other))

    def __round__(self, digits: int | None = None) -> Lanes:
        # To whole numbers only: numpy rounds decimals otherwise than Python does.
        if digits is not None:
            raise TypeError("many numbers are rounded to whole ones only")
        return Lanes(np.rint(self.values))

    def times(self, number: float) -> float:  # noqa: D102
        other = _array(number)
        found = self.values * other
        found[(self.values == 0) | (other == 0)] = 0.0
        return cast(float, Lanes(found))

    def smallest_of(self, numbers: tuple[float, ...]) -> float:  # noqa: D102
        # fmin leaves out what is no number: infinity over infinity.
        return _reduced(np.fmin, numbers)

    def largest_of(self, numbers: tuple[float, ...]) -> float:  # noqa: D102
        return _reduced(np.fmax, numbers)

    # -- comparison, pack by pack ----------------------------------------------------------------------------

    def __lt__(self, other: float) -> Truth:
        return Truth(self.values < _array(other))

    def __le__(self, other: float) -> Truth:
        return Truth(self.values <= _array(other))

    def __gt__(self, other: float) -> Truth:
        return Truth(self.values > _array(other))

    def __ge__(self, other: float) -> Truth:
        return Truth(self.values >= _array(other))

    def __eq__(self, other: object) -> Any:
        return Truth(self.values == _array(cast(float, other)))

    def __ne__(self, other: object) -> Any:
        return Truth(self.values != _array(cast(float, other)))

    def __bool__(self) -> bool:
        return bool(Truth(self.values != 0))

    def is_above(self, number: float) -> bool:  # noqa: D102
        return not bool((self.values <= _array(number)).all())

    def is_below(self, number: float) -> bool:  # noqa: D102
        return not bool((_array(number) <= self.values).all())

    # -- one number for all, or the packs part ---------------------------------------------------------------

    def __float__(self) -> float:
        first = self.values[0]
        if bool((self.values == first).all()):
            return float(first)
        raise Parting(self.values)

    def __int__(self) -> int:
        return int(float(self))

    def __hash__(self) -> int:
        return hash(float(self))

    def __format__(self, form: str) -> str:
        # Texts of many packs are not shown; they only have to be made.
        return "..."

    def __repr__(self) -> str:
        return f"Lanes({self.values!r})"

    def apply(self, function: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:  # noqa: D102
        combined = combinations(arguments, len(self.values))
        found = found_by(function)
        places = [found.place(key, function, key) for key in combined.keys]
        return found.gather(np.asarray(places)[combined.which], Lanes)


def _array(number: float) -> Any:
    return number.values if isinstance(number, Lanes) else number


def _divisor(number: float) -> Any:
    values = _array(number)
    zero = values == 0
    if np.any(zero):
        if not np.all(zero):
            raise Parting(zero)
        raise ZeroDivisionError("float division by zero")
    return values


def _reduced(compare: Callable[[Any, Any], Any], numbers: tuple[float, ...]) -> float:
    found = _array(numbers[0])
    for number in numbers[1:]:
        found = compare(found, _array(number))
    return cast(float, Lanes(found))
