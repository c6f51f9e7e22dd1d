"""Which chemistries the cells may be of, where no registered cell says."""

from __future__ import annotations

from collections.abc import Iterable
from math import inf
from typing import Any

from registry.chemistry import CHEMISTRIES, VOLTAGES
from verifier.quantities import Names, Quantity, both, either, where

# A full voltage is printed to within half a percent: 54.6 V for 13 x 4.2 V.
PRINTED = (0.995, 1.005)
# A charge limit is kept to about one percent; common practice, no source.
OVER_FULL = 1.01
ANY = (1 << len(CHEMISTRIES)) - 1


# Full voltages further apart are those of different counts or kinds of cells; common practice, no source.
_ONE_KIND = 1.02


def of_one_kind(low_v: float, high_v: float) -> bool:
    """Whether charge voltages are those of one kind of cells: 3.6 and 3.65 V of iron phosphate are both in use."""
    return 0 < low_v <= high_v < low_v * _ONE_KIND


def is_full(low_v: float, high_v: float, count: float, full_v: tuple[float, float]) -> bool:
    """Whether a voltage is, as printed, the one of so many full cells in series. [V]."""
    least, most = full_v
    return count * least * PRINTED[0] <= high_v and low_v <= count * most * PRINTED[1]


def possible_chemistries(
    named: Iterable[tuple[Any, Names]], series: Quantity, full_v: Quantity, cell_at_rest_v: Quantity
) -> tuple[Any, Names]:
    """Return the set of chemistries that are possible, and the facts that it rests on.

    Where nobody names one, a full voltage over the cells in series tells: 54.6 V on 13 is 4.2 V a cell. The
    unusual ones are left to whoever names them.

    Parameters
    ----------
    named
        What is named and the fact that it rests on, what goes before everything else last: a place in
        `CHEMISTRIES` from 1, 0 where nobody names one.
    series
        Cells in series.
    full_v
        Of the pack when it is full. [V]
    cell_at_rest_v
        Of a cell in the pack at rest, by groups that were counted, within the error of the meter: no cell stands above
        its full voltage hours after its charge. [V]
    """
    found, rests_on = _by_full_voltage(series, full_v)
    found, rests_on = _not_above_full(found, rests_on, cell_at_rest_v)
    for choice, fact in named:
        # A shift by minus one is none; it is chosen only where something is named.
        of_name = where(choice > 0, 1 << where(choice > 0, choice - 1, 0), 0)
        found = where(choice > 0, of_name, found)
        rests_on = where(choice > 0, fact, rests_on)
    return found, rests_on


def _by_full_voltage(series: Quantity, full_v: Quantity) -> tuple[Any, Names]:
    stated = both(series.known, full_v.known)
    fitting: Any = 0
    for place, name in enumerate(CHEMISTRIES):
        if name == "other":
            continue
        low_v, high_v = VOLTAGES[name].full_v
        fits = both(
            series.low * low_v * PRINTED[0] <= full_v.high, full_v.low <= series.high * high_v * PRINTED[1]
        )
        fitting = fitting | where(both(stated, fits), 1 << place, 0)
    # A range holds voltages of unusual cells beside those of the usual ones.
    inexact = either(series.low < series.high, full_v.low < full_v.high)
    fitting = where(both(inexact, fitting > 0), fitting | 1 << CHEMISTRIES.index("other"), fitting)
    rests = where(fitting > 0, series.rests_on | full_v.rests_on, 0)
    return where(fitting > 0, fitting, ANY), rests


def _not_above_full(found: Any, rests_on: Names, cell_v: Quantity) -> tuple[Any, Names]:
    """Return the chemistries of which a cell may stand at rest as it was measured; all where none of them may."""
    above: Any = 0
    for place, name in enumerate(CHEMISTRIES):
        over = both(cell_v.high < inf, cell_v.low > VOLTAGES[name].full_v[1] * OVER_FULL)
        above = above | where(over, 1 << place, 0)
    left = found & ~above
    narrows = both(left > 0, left != found)
    return where(narrows, left, found), where(narrows, rests_on | cell_v.rests_on, rests_on)
