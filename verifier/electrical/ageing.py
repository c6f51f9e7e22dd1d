"""What use and years take from a cell: the capacity left and the resistance grown, as bounds to be expected."""

from __future__ import annotations

from math import sqrt

from verifier.electrical.elementary import Span

# End of life is at 80 % of the capacity, or at twice the resistance: common practice, no source.
END_CAPACITY, END_RESISTANCE = 0.8, 2.0


def left_after_cycles(*, cycles: float, tested_cycles: float, to_fraction: float) -> Span[float]:
    """Return between what part of its capacity a cell has left after so many cycles. [-].

    Parameters
    ----------
    cycles : float
        That it has had.
    tested_cycles, to_fraction : float
        Of the sheet's test: how many cycles, and the part of the capacity left after them.

    Raises
    ------
    ValueError
        If the cycles are negative, or a test has none or ends at no part of the capacity.

    Notes
    -----
    A straight line through the end of the test, and beyond it; all of it for a cell that was worked gently.
    Validity: a cell that was worked no harder and no warmer than in the test. Common practice, no source.

    Examples
    --------
    >>> left_after_cycles(cycles=150, tested_cycles=300, to_fraction=0.8)
    Span(low=0.9, high=1.0)
    """
    if cycles < 0 or tested_cycles <= 0 or not 0 < to_fraction <= 1:
        raise ValueError(
            "cycles must not be negative, and a test has some and ends at a part of the capacity"
        )
    return Span(max(0.0, 1 - (1 - to_fraction) * cycles / tested_cycles), 1.0)


def left_after_years(*, years: tuple[float, float], lost_in_a_year: tuple[float, float]) -> Span[float]:
    """Return between what part of its capacity a cell has left after years on a shelf. [-].

    Parameters
    ----------
    years : (low, high) of float
        [years]
    lost_in_a_year : (low, high) of float
        Part that is lost in the first. [-]

    Raises
    ------
    ValueError
        If a number is negative.

    Notes
    -----
    The loss grows with the square root of time, as a layer on the anode does (from memory, not checked).
    Validity: in a room, at a medium charge; warm and full cells lose more.

    Examples
    --------
    >>> left_after_years(years=(4, 4), lost_in_a_year=(0.01, 0.05))
    Span(low=0.9, high=0.98)
    """
    if min(*years, *lost_in_a_year) < 0:
        raise ValueError("years and losses must not be negative")
    return Span(
        max(0.0, 1 - lost_in_a_year[1] * sqrt(years[1])), max(0.0, 1 - lost_in_a_year[0] * sqrt(years[0]))
    )


def resistance_grown(*, capacity_left: tuple[float, float]) -> Span[float]:
    """Return between how many times a new cell's resistance is to be expected with a part of the capacity left. [-].

    Parameters
    ----------
    capacity_left : (low, high) of float
        Part of a new cell's. [-]

    Raises
    ------
    ValueError
        Outside 0 to 1.

    Notes
    -----
    It may not have grown at all; at most it doubles where a fifth of the capacity is gone, in proportion. Common
    practice, no source.

    Examples
    --------
    >>> resistance_grown(capacity_left=(0.9, 1.0))
    Span(low=1.0, high=1.5)
    """
    if not 0 <= capacity_left[0] <= capacity_left[1] <= 1:
        raise ValueError("a part of the capacity lies from 0 to 1")
    most = 1 + (1 - capacity_left[0]) / (1 - END_CAPACITY) * (END_RESISTANCE - 1)
    return Span(1.0, round(most, 12))
