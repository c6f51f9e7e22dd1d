"""How the cells of a parallel group share a current that leaves their busbars where the lead is fixed.

Cells stand in a row between two busbars. A gap is the strip from one cell to the next in one bar.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from verifier.electrical.elementary import (
    Value,
    asinh,
    by_distinct,
    check_not_negative,
    check_positive,
    exp,
    maximum,
    sqrt,
)

TAKE_OFFS = ("end", "middle", "middle_one", "every_cell")
# How the current reaches a row: through one bar, the other being held level (by the links of a long pack);
# through both, the other lead at the same end or place; or through both, the other lead at the opposite one.
FEEDS = ("one_bar", "both_bars", "opposite_ends")
# Fall of the open-circuit voltage over a full discharge, on the line from 90 to 20 % of charge. [V].
# Measured on 18650 cells: nickel-rich 4.083 to 3.484 V, LFP 3.341 to 3.241 V; Sunil, Pattipati and
# Balasingam, IEEE Trans. Instrum. Meas. 2025, open data, read. LFP is so flat that a group shares unevenly
# almost to the end.
OPEN_CIRCUIT_SLOPE_V = {"nickel_rich": 0.856, "lfp": 0.143}


def take_off_positions(*, where: str, parallel: int) -> tuple[int, ...]:
    """Return the cells at which the lead leaves, counted from 1.

    Parameters
    ----------
    where : str
        "end", "middle", "middle_one" or "every_cell". In a row of even length the tab of "middle" joins both
        middle cells, that of "middle_one" sits on one of them.
    parallel : int
        Cells in the row.

    Raises
    ------
    ValueError
        If there is no such take-off, or no cell.

    Examples
    --------
    >>> take_off_positions(where="middle", parallel=4), take_off_positions(where="middle_one", parallel=4)
    ((2, 3), (2,))
    """
    if where not in TAKE_OFFS:
        raise ValueError(f"where is {where!r}; it must be one of {', '.join(TAKE_OFFS)}")
    if parallel < 1:
        raise ValueError(f"parallel is {parallel}; a row has one cell or more")
    if where == "end":
        return (1,)
    if where == "middle_one":
        return ((parallel + 1) // 2,)
    if where == "middle":
        return tuple(sorted({(parallel + 1) // 2, parallel // 2 + 1}))
    return tuple(range(1, parallel + 1))


def taps_of(
    *, parallel: int, where: str | None = None, positions: Sequence[int] | None = None
) -> tuple[int, ...]:
    """Return the cells at which the lead leaves, from a place by name or from the cells themselves.

    Parameters
    ----------
    parallel : int
        Cells in the row.
    where : str, optional
        As in `take_off_positions`.
    positions : sequence of int, optional
        Cells counted from 1, joined outside without resistance; give one of the two.

    Raises
    ------
    ValueError
        If both or neither are given, a position lies outside the row, or as `take_off_positions`.

    Examples
    --------
    >>> taps_of(parallel=6, positions=[3, 1])
    (1, 3)
    """
    if (where is None) == (not positions):
        raise ValueError(f"where is {where!r} and positions are {positions!r}; give one of them")
    if where is not None:
        return take_off_positions(where=where, parallel=parallel)
    taps = tuple(sorted(set(positions or ())))
    if taps[0] < 1 or taps[-1] > parallel:
        raise ValueError(f"positions are {list(positions or ())}; they must lie from 1 to {parallel}")
    return taps


def imbalance_factor(
    *,
    cell_mohm: Value,
    gap_mohm: Value,
    parallel: Value,
    where: str | None = None,
    positions: Sequence[int] | None = None,
    fed: str = "one_bar",
) -> Value:
    """Return the current of the hardest worked cell of a row over the mean, at the first instant. [-].

    Parameters
    ----------
    cell_mohm : float or array
        Resistance of each cell to direct current. [mohm]
    gap_mohm : float or array
        Of one bar from one cell to the next; zero for perfect bars. [mohm]
    parallel : float or array
        Cells in the row.
    where : str, optional
        "end", "middle", "middle_one" or "every_cell"; see `take_off_positions`.
    positions : sequence of int, optional
        Cells at which a lead leaves, counted from 1, joined outside without resistance.
    fed : str
        One of `FEEDS`.

    Raises
    ------
    ValueError
        If the cell resistance is not above zero, the gap is negative, the row, place or feed makes no sense,
        or several positions are fed at opposite ends, for which there is no closed form (`pack_shares`).

    Notes
    -----
    Validity: equal cells and gaps. It rises with the gap and with the cells in the row, and falls with the
    cells' resistance. It evens out as the group empties, see `group_currents_after`.

    Source: ladder network; between two taps, or beyond the last, the cells carry cosh(n a) with
    2 sinh(a/2) = sqrt(gaps of the bars fed / cell) and n counted from where the current turns. Derived here,
    and checked against a circuit simulator in the tests.

    Examples
    --------
    >>> row = {"cell_mohm": 20.0, "gap_mohm": 1.0, "parallel": 4, "where": "end"}
    >>> round(imbalance_factor(fed="both_bars", **row), 4), round(imbalance_factor(**row), 4)
    (1.3049, 1.1629)
    """

    def of_row(cells: float, cell: Any, gap: Any) -> Any:
        currents = row_shares(
            cell_mohm=cell, gap_mohm=gap, parallel=int(cells), where=where, positions=positions, fed=fed
        )
        # The greatest of some values lies at or above their mean, whatever the last binary digit says.
        return maximum(1.0, cells * greatest(currents))

    result: Value = by_distinct(of_row, (parallel,), (cell_mohm, gap_mohm))
    return result


def hardest_stretch_fraction(
    *,
    cell_mohm: Value,
    gap_mohm: Value,
    parallel: Value,
    where: str | None = None,
    positions: Sequence[int] | None = None,
    fed: str = "one_bar",
) -> Value:
    """Return the part of the pack current that the hardest worked stretch of a busbar carries. [-].

    Parameters
    ----------
    cell_mohm, gap_mohm, parallel, where, positions, fed
        As in `imbalance_factor`.

    Raises
    ------
    ValueError
        As `imbalance_factor`.

    Notes
    -----
    Validity: bars alike on both sides of the row, several leads joined outside without resistance: between
    two of them the current parts in the middle. It falls with the gap, so a gap of zero, cells that share
    evenly, gives the most. Source: as `imbalance_factor`.

    Examples
    --------
    >>> even = {"cell_mohm": 20.0, "gap_mohm": 0.0, "parallel": 8}
    >>> [hardest_stretch_fraction(**even, **each) for each in ({"where": "end"}, {"positions": [1, 8]})]
    [0.875, 0.375]
    """

    def of_row(cells: float, cell: Any, gap: Any) -> Any:
        currents = row_shares(
            cell_mohm=cell, gap_mohm=gap, parallel=int(cells), where=where, positions=positions, fed=fed
        )
        taps = taps_of(parallel=int(cells), where=where, positions=positions)
        return greatest(stretch_currents(currents, taps, tab_currents(currents, taps)))

    result: Value = by_distinct(of_row, (parallel,), (cell_mohm, gap_mohm))
    return result


def tab_imbalance(
    *,
    cell_mohm: Value,
    gap_mohm: Value,
    parallel: Value,
    positions: Sequence[int],
    fed: str = "one_bar",
) -> Value:
    """Return the current of the hardest worked tab of a row over the mean of its tabs. [-].

    Parameters
    ----------
    cell_mohm, gap_mohm, parallel, positions, fed
        As in `imbalance_factor`.

    Raises
    ------
    ValueError
        As `imbalance_factor`.

    Notes
    -----
    Validity: as `hardest_stretch_fraction`; a tab carries its own cell and what comes along the bar to it.

    Examples
    --------
    >>> round(tab_imbalance(cell_mohm=20.0, gap_mohm=2.0, parallel=6, positions=[1, 2, 3]), 2)
    1.82
    """

    def of_row(cells: float, cell: Any, gap: Any) -> Any:
        currents = row_shares(
            cell_mohm=cell, gap_mohm=gap, parallel=int(cells), where=None, positions=positions, fed=fed
        )
        taps = taps_of(parallel=int(cells), positions=positions)
        return len(taps) * greatest(tab_currents(currents, taps))

    result: Value = by_distinct(of_row, (parallel,), (cell_mohm, gap_mohm))
    return result


def row_shares(
    *,
    cell_mohm: Value,
    gap_mohm: Value,
    parallel: int,
    where: str | None = None,
    positions: Sequence[int] | None = None,
    fed: str = "one_bar",
) -> list[Value]:
    """Return each cell's part of the current of a row of equal cells, at the first instant. [-].

    Parameters
    ----------
    cell_mohm, gap_mohm, where, positions, fed
        As in `imbalance_factor`.
    parallel : int
        Cells in the row.

    Returns
    -------
    list of float or array
        Along the row, one together.

    Raises
    ------
    ValueError
        As `imbalance_factor`.

    Examples
    --------
    >>> [round(each, 3) for each in row_shares(cell_mohm=20.0, gap_mohm=2.0, parallel=4, where="end")]
    [0.326, 0.259, 0.217, 0.198]
    """
    check_positive(cell_mohm=cell_mohm)
    check_not_negative(gap_mohm=gap_mohm)
    if fed not in FEEDS:
        raise ValueError(f"fed is {fed!r}; it must be one of {', '.join(FEEDS)}")
    taps = taps_of(parallel=parallel, where=where, positions=positions)
    a = 2 * asinh(sqrt(gap_mohm * (1 if fed == "one_bar" else 2) / cell_mohm) / 2)
    if fed != "opposite_ends" or len(taps) == parallel:
        return _profile(parallel, taps, a)
    if len(taps) > 1 and taps != tuple(parallel + 1 - tap for tap in reversed(taps)):
        raise ValueError(f"positions are {list(taps)}; at opposite ends it takes one, or a symmetric row")
    if len(taps) > 1:
        return _profile(parallel, taps, a)
    (crossed,) = crossed_profiles(parallel, taps[0], [parallel + 1 - taps[0]], a)
    return crossed


def crossed_profiles(
    parallel: int, minus: int, others: Sequence[int], attenuation: Value
) -> list[list[Value]]:
    """Return the cells' parts with the minus lead at one cell and the plus lead at each of some others. [-].

    The voltage between the bars falls by the currents of both; each lead alone brings half of what it would
    if it fed both bars.
    """
    at = {tap: _profile(parallel, (tap,), attenuation) for tap in dict.fromkeys((minus, *others))}
    return [
        [(first + second) / 2 for first, second in zip(at[minus], at[plus], strict=True)] for plus in others
    ]


def _profile(parallel: int, taps: Sequence[int], a: Value) -> list[Value]:
    """Return the cells' parts, from hyperbolic cosines that are one at every tap."""
    shape = []
    for n in range(1, parallel + 1):
        before = max((tap for tap in taps if tap <= n), default=None)
        after = min((tap for tap in taps if tap >= n), default=None)
        # Where the current turns: beyond the end of the row, or half way between two taps.
        if before is None:
            turn, tap = 0.5, after
        elif after is None:
            turn, tap = parallel + 0.5, before
        else:
            turn, tap = (before + after) / 2, after
        shape.append(_cosh_over_cosh(a * abs(n - turn), a * abs((tap or n) - turn)))
    total = sum(shape)
    return [each / total for each in shape]


def _cosh_over_cosh(x: Value, y: Value) -> Value:
    """Return cosh(x) / cosh(y) for 0 <= x <= y, so that a long row does not overflow."""
    return exp(x - y) * (1 + exp(-2 * x)) / (1 + exp(-2 * y))


def tab_currents(cells: Sequence[Value], taps: Sequence[int]) -> list[Value]:
    """Return what each tab carries of a row's currents; of the cells between two taps, each gets half."""
    found = []
    for at, tap in enumerate(taps):
        own = cells[tap - 1]
        left = sum(cells[: tap - 1]) if at == 0 else sum(cells[taps[at - 1] : tap - 1]) / 2
        right = sum(cells[tap:]) if at == len(taps) - 1 else sum(cells[tap : taps[at + 1] - 1]) / 2
        found.append(own + left + right)
    return found


def stretch_currents(cells: Sequence[Value], taps: Sequence[int], tabs: Sequence[Value]) -> list[Value]:
    """Return the size of the current from each cell to the next along the bar that the tabs leave."""
    carried: Any = 0 * cells[0]
    found: list[Any] = [carried]
    leaving = dict(zip(taps, tabs, strict=True))
    for n, current in enumerate(cells[:-1], 1):
        carried = carried + current - leaving.get(n, 0.0)
        found.append(abs(carried))
    return found


def greatest(values: Sequence[Value]) -> Value:
    """Return the greatest of some values, element by element."""
    most = values[0]
    for value in values[1:]:
        most = maximum(most, value)
    return most
