"""Elementary functions of a float or of a numpy array, and the checks of what is passed in.

A float goes through `math`, so that judging one pack never loads numpy; an array goes through numpy.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, Generic, NamedTuple, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Value = TypeVar("Value", float, "NDArray[np.float64]")


class Span(NamedTuple, Generic[Value]):
    """The two ends between which a quantity lies; floats, or arrays of one length."""

    low: Value
    high: Value


def _either(name: str, numpy_name: str = "") -> Callable[[Value], Value]:
    of_a_float = getattr(math, name)

    def function(value: Value) -> Value:
        if isinstance(value, (float, int)):
            return of_a_float(value)  # type: ignore[no-any-return]
        import numpy as np

        return getattr(np, numpy_name or name)(value)  # type: ignore[no-any-return]

    function.__name__ = name
    return function


exp = _either("exp")
expm1 = _either("expm1")
log = _either("log")
log1p = _either("log1p")
sqrt = _either("sqrt")
sin = _either("sin")
cos = _either("cos")
sinh = _either("sinh")
cosh = _either("cosh")
asinh = _either("asinh", "arcsinh")


def power(base: Value, exponent: float) -> Value:
    """Return the base raised to a fixed exponent."""
    result: Value = base**exponent
    return result


def choose(condition: Any, chosen: Any, otherwise: Any) -> Any:
    """Return one of two values by a condition, element by element; both have been worked out before."""
    if isinstance(condition, bool) or condition.ndim == 0:
        return chosen if condition else otherwise
    import numpy as np

    return np.where(condition, chosen, otherwise)


def minimum(first: Value, second: Value) -> Value:
    """Return the lesser of two values, element by element."""
    result: Value = choose(first < second, first, second)
    return result


def maximum(first: Value, second: Value) -> Value:
    """Return the greater of two values, element by element."""
    result: Value = choose(first > second, first, second)
    return result


def hull(*values: Value) -> Span[Value]:
    """Return the least and the greatest of some values, element by element."""
    low = high = values[0]
    for value in values[1:]:
        low, high = minimum(low, value), maximum(high, value)
    return Span(low, high)


def between_points(place: Any, points: Sequence[float], values: Sequence[Any]) -> Any:
    """Return what lies at a place on straight lines between points, and beyond them what lies at the ends."""
    result = values[0] + 0 * place
    for left, right, before, after in zip(points, points[1:], values, values[1:], strict=False):
        part = (place - left) / (right - left)
        result = choose(place > left, before + minimum(part, 1.0 + 0 * part) * (after - before), result)
    return result


def by_distinct(
    function: Callable[..., Any], keys: tuple[Any, ...], values: tuple[Any, ...] = (), *, results: int = 1
) -> Any:
    """Call a function once for each distinct set of keys, with the values of the rows that have them.

    For what has no closed form over the keys, as a row of so many cells.

    Parameters
    ----------
    function : callable
        Takes the keys as floats, then the values of those rows; returns a value, or a tuple of values.
    keys, values : tuple of float or array
        Arrays of one length, or floats, which go for every row. All floats: the function is just called.
    results : int
        How many values the function returns; with more than one they come as a tuple.
    """
    if all(isinstance(each, (float, int)) for each in (*keys, *values)):
        return function(*keys, *values)
    import numpy as np

    if all(isinstance(each, (float, int)) for each in keys):
        # The same keys for every row.
        return function(*keys, *np.broadcast_arrays(*values))
    rows = np.broadcast_arrays(*keys, *values)
    flat = [each.reshape(-1) for each in rows]
    distinct, which, counts = np.unique(
        np.stack(flat[: len(keys)]), axis=1, return_inverse=True, return_counts=True
    )
    groups = np.split(np.argsort(which.reshape(-1), kind="stable"), np.cumsum(counts)[:-1])
    found = [np.empty(flat[0].shape) for _ in range(results)]
    for at, chosen in enumerate(groups[: distinct.shape[1]]):
        of_these = function(*distinct[:, at].tolist(), *(each[chosen] for each in flat[len(keys) :]))
        for whole, part in zip(found, of_these if results > 1 else (of_these,), strict=True):
            whole[chosen] = part
    shaped = tuple(whole.reshape(rows[0].shape) for whole in found)
    return shaped if results > 1 else shaped[0]


def anywhere(condition: Any) -> bool:
    """Whether a condition holds for a float, or for any element of an array."""
    return condition if isinstance(condition, bool) else bool(condition.any())


def everywhere(condition: Any) -> bool:
    """Whether a condition holds for a float, or for every element of an array."""
    return condition if isinstance(condition, bool) else bool(condition.all())


def check_positive(**quantities: Any) -> None:
    """Refuse a quantity that is zero, negative, infinite or no number.

    Raises
    ------
    ValueError
        Names the quantity and the value found.
    """
    for name, value in quantities.items():
        _check(name, value, (value > 0) & (value < math.inf), "must be above zero and finite")


def check_not_negative(**quantities: Any) -> None:
    """Refuse a quantity that is negative, infinite or no number.

    Raises
    ------
    ValueError
        Names the quantity and the value found.
    """
    for name, value in quantities.items():
        _check(name, value, (value >= 0) & (value < math.inf), "must be zero or above, and finite")


def check_between(low: float, high: float, **quantities: Any) -> None:
    """Refuse a quantity outside the range in which a formula holds.

    Raises
    ------
    ValueError
        Names the quantity, the value found and the range.
    """
    for name, value in quantities.items():
        _check(name, value, (value >= low) & (value <= high), f"must lie from {low:g} to {high:g}")


def _check(name: str, value: Any, right: Any, expected: str) -> None:
    if not everywhere(right):
        found = value if isinstance(right, bool) or right.ndim == 0 else value[~right][0]
        raise ValueError(f"{name} is {found:g}; it {expected}")


def solve_rise(imbalance: Callable[[Value], Value], start_k: Value) -> Value:
    """Return the temperature rise at which a heat balance closes. [K].

    A secant search in the logarithm of the rise: heat losses go nearly with a power of the rise between 1
    and 4, so the imbalance is almost a straight line there and three or four steps are enough.

    Parameters
    ----------
    imbalance : callable
        Logarithm of (what the rise gives / what is asked for), rising with the rise.
    start_k : float or array
        First guess, above zero. [K]

    Raises
    ------
    ArithmeticError
        If the search does not settle.
    """
    place = log(start_k)
    slope: Any = 1.2
    found = imbalance(start_k)
    for _ in range(60):
        step = found / slope
        place = place - step
        if everywhere(abs(step) < 1e-7):
            break
        before, found = found, imbalance(exp(place))
        moved = abs(step) > 1e-9
        slope = choose(moved, (before - found) / choose(moved, step, 1.0), slope)
    else:
        raise ArithmeticError("the heat balance does not close")
    rise: Value = exp(place)
    return rise
