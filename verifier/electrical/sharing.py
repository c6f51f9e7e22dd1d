"""How the cells of a parallel group share a current that leaves their busbars where the lead is fixed.

Cells stand in a row between two busbars. A gap is the strip from one cell to the next in one bar.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
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

# Less between two cells is no gap at all.
SMALLEST_GAP_MOHM = 1e-15

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
    return crossed_profile(parallel, taps[0], parallel + 1 - taps[0], a)


def crossed_profile(parallel: int, minus: int, plus: int, attenuation: Value) -> list[Value]:
    """Return the cells' parts with the minus lead at one cell and the plus lead at another. [-].

    The voltage between the bars falls by the currents of both; each lead alone brings half of what it would
    if it fed both bars.
    """
    one, other = (_profile(parallel, (tap,), attenuation) for tap in (minus, plus))
    return [(first + second) / 2 for first, second in zip(one, other, strict=True)]


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


def group_currents(
    *,
    cell_mohm: Sequence[float],
    gap_mohm: float | Sequence[float],
    take_off: Sequence[int],
    current_a: float,
    open_circuit_v: Sequence[float] | None = None,
) -> list[float]:
    """Return each cell's current for any cells, gaps and take-off. [A].

    Parameters
    ----------
    cell_mohm : sequence of float
        Resistance of each cell to direct current, along the row. [mohm]
    gap_mohm : float or sequence of float
        From one cell to the next, both bars together: one for all, or one fewer than cells. [mohm]
    take_off : sequence of int
        Cells at which the lead leaves, counted from 1; several are joined outside without resistance.
    current_a : float
        Of the group. [A]
    open_circuit_v : sequence of float, optional
        Of each cell; all the same if left out. [V]

    Returns
    -------
    list of float
        Along the row; negative where a cell is being charged by its neighbours. [A]

    Raises
    ------
    ValueError
        If a resistance is not above zero (a gap: below zero), a take-off lies outside the row, or the lengths
        do not fit.

    Notes
    -----
    Source: Kirchhoff's laws, the tridiagonal system solved by elimination (Thomas).

    Examples
    --------
    >>> tired = [20.0, 40.0, 20.0, 20.0]
    >>> [round(a, 2) for a in group_currents(cell_mohm=tired, gap_mohm=2.0, take_off=[1], current_a=40.0)]
    [14.61, 6.04, 10.14, 9.22]
    """
    cells, gaps = _row(cell_mohm, gap_mohm, take_off)
    check_not_negative(current_a=current_a)
    voltages = [0.0] * len(cells) if open_circuit_v is None else list(open_circuit_v)
    if len(voltages) != len(cells):
        raise ValueError(f"open_circuit_v has {len(voltages)} values; the row has {len(cells)} cells")
    return _solve(cells, gaps, take_off, voltages, current_a)[0]


def group_currents_after(
    *,
    cell_mohm: Sequence[float],
    gap_mohm: float | Sequence[float],
    take_off: Sequence[int],
    current_a: float,
    capacity_ah: Sequence[float],
    open_circuit_slope_v: float,
    fraction: float = 0.6,
    steps: int = 60,
) -> list[float]:
    """Return each cell's current after part of a discharge from full. [A].

    A cell that gives more falls in voltage sooner, and so hands over to the others.

    Parameters
    ----------
    cell_mohm, gap_mohm, take_off
        As in `group_currents`.
    current_a : float
        Of the group, throughout. [A]
    capacity_ah : sequence of float
        Of each cell. [Ah]
    open_circuit_slope_v : float
        Fall of the open-circuit voltage over a full discharge, see `OPEN_CIRCUIT_SLOPE_V`. [V]
    fraction : float
        Part of the group's capacity that has been given, 0 to 1.
    steps : int
        Steps of equal length to get there.

    Returns
    -------
    list of float
        Along the row. [A]

    Raises
    ------
    ValueError
        As `group_currents`, or if the current, a capacity or the number of steps is not above zero, the slope
        is negative, or the fraction is outside 0 to 1.

    Notes
    -----
    Validity: open-circuit voltage straight in charge, resistance constant, cells equally full at the start;
    the knee at the end of a discharge evens the sharing out further. Implicit midpoint steps, which no length
    of step makes unstable.

    Examples
    --------
    >>> row = {"cell_mohm": [20.0] * 4, "gap_mohm": 2.0, "take_off": [1], "current_a": 40.0}
    >>> later = group_currents_after(capacity_ah=[3.0] * 4, open_circuit_slope_v=0.9, **row)
    >>> [round(a, 1) for a in later]
    [10.3, 10.1, 9.9, 9.8]
    """
    cells, gaps = _row(cell_mohm, gap_mohm, take_off)
    check_positive(current_a=current_a, steps=steps)
    check_not_negative(open_circuit_slope_v=open_circuit_slope_v)
    if len(capacity_ah) != len(cells):
        raise ValueError(f"capacity_ah has {len(capacity_ah)} values; the row has {len(cells)} cells")
    for each in capacity_ah:
        check_positive(capacity_ah=each)
    if not 0 <= fraction <= 1:
        raise ValueError(f"fraction is {fraction:g}; it must lie from 0 to 1")
    hours = fraction * sum(capacity_ah) / current_a / steps
    fall_per_a = [open_circuit_slope_v * hours / each for each in capacity_ah]
    # Over a step the fall of a cell's voltage acts as a resistance; half of it by the middle of the step.
    midway = [each + 1000 * fall / 2 for each, fall in zip(cells, fall_per_a, strict=True)]
    voltages = [0.0] * len(cells)
    for _ in range(steps):
        currents = _solve(midway, gaps, take_off, voltages, current_a)[0]
        voltages = [v - fall * i for v, fall, i in zip(voltages, fall_per_a, currents, strict=True)]
    return _solve(cells, gaps, take_off, voltages, current_a)[0]


def _row(
    cell_mohm: Sequence[float], gap_mohm: float | Sequence[float], take_off: Sequence[int]
) -> tuple[list[float], list[float]]:
    cells = list(cell_mohm)
    gaps = [float(gap_mohm)] * (len(cells) - 1) if isinstance(gap_mohm, (float, int)) else list(gap_mohm)
    if not cells:
        raise ValueError("cell_mohm is empty; a row has one cell or more")
    if len(gaps) != len(cells) - 1:
        raise ValueError(f"gap_mohm has {len(gaps)} values; {len(cells)} cells have {len(cells) - 1} gaps")
    if not take_off:
        raise ValueError("take_off is empty; the current leaves at one cell or more")
    for position in take_off:
        if position not in range(1, len(cells) + 1):
            raise ValueError(f"take_off is {position}; it must be a whole number from 1 to {len(cells)}")
    for each in cells:
        check_positive(cell_mohm=each)
    for each in gaps:
        check_not_negative(gap_mohm=each)
    return cells, gaps


def _solve(
    cells: list[float], gaps: list[float], take_off: Sequence[int], voltages: list[float], current_a: float
) -> tuple[list[float], float]:
    """Return the cells' currents [A] and the voltage between the leads [V]."""
    node_of, between = _nodes(gaps)
    conductance = [0.0] * (len(between) + 1)
    source = [0.0] * (len(between) + 1)
    for node, mohm, volt in zip(node_of, cells, voltages, strict=True):
        conductance[node] += 1000 / mohm
        source[node] += 1000 / mohm * volt
    held = {node_of[position - 1] for position in take_off}
    # Every node's voltage is `fixed + carried x` the one between the leads, which the current then tells.
    fixed, carried = _eliminate(conductance, source, between, held)
    free_a = sum(j - g * v for j, g, v in zip(source, conductance, fixed, strict=True))
    lead_v = (free_a - current_a) / sum(g * v for g, v in zip(conductance, carried, strict=True))
    currents = [
        (volt - fixed[node] - carried[node] * lead_v) * 1000 / mohm
        for node, mohm, volt in zip(node_of, cells, voltages, strict=True)
    ]
    return currents, lead_v


def _nodes(gaps: list[float]) -> tuple[list[int], list[float]]:
    """Return the node of each cell, and the conductances between nodes; no gap means the same node."""
    node_of, between = [0], []
    for gap in gaps:
        if gap > SMALLEST_GAP_MOHM:
            between.append(1000 / gap)
        node_of.append(len(between))
    return node_of, between


def _eliminate(
    conductance: list[float], source: list[float], between: list[float], held: set[int]
) -> tuple[list[float], list[float]]:
    """Solve the tridiagonal system twice: held nodes at zero, and held nodes at one without sources."""
    last = len(conductance) - 1
    passed, fixed, carried = [0.0] * (last + 1), [0.0] * (last + 1), [0.0] * (last + 1)
    behind = 0.0
    for node in range(last + 1):
        if node in held:
            carried[node], behind = 1.0, inf
            continue
        before = between[node - 1] if node else 0.0
        after = between[node] if node < last else 0.0
        # All that lies behind, seen through the bar: in series, so that no small difference of large numbers
        # is taken.
        behind = conductance[node] + (before / (1 + before / behind) if node else 0.0)
        pivot = behind + after
        passed[node] = after / pivot
        if node:
            fixed[node] = before * fixed[node - 1] / pivot
            carried[node] = before * carried[node - 1] / pivot
        fixed[node] += source[node] / pivot
    for node in range(last - 1, -1, -1):
        fixed[node] += passed[node] * fixed[node + 1]
        carried[node] += passed[node] * carried[node + 1]
    return fixed, carried
