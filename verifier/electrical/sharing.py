"""How the cells of a parallel group share a current that leaves their busbars where the lead is fixed.

Cells stand in a row between two busbars. Plus and minus busbar carry the same current from cell to cell, so
the resistance of a gap is that of both bars together.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from verifier.electrical.elementary import (
    Value,
    asinh,
    check_not_negative,
    check_positive,
    choose,
    exp,
    expm1,
    sqrt,
)

# Less between two cells is no gap at all.
SMALLEST_GAP_MOHM = 1e-15

TAKE_OFFS = ("end", "middle", "every_cell")
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
        "end", "middle" or "every_cell". In a row of even length the tab joins both middle cells.
    parallel : int
        Cells in the row.

    Raises
    ------
    ValueError
        If there is no such take-off, or no cell.

    Examples
    --------
    >>> take_off_positions(where="middle", parallel=4)
    (2, 3)
    """
    _check_row(parallel, where)
    if where == "end":
        return (1,)
    if where == "middle":
        return tuple(sorted({(parallel + 1) // 2, parallel // 2 + 1}))
    return tuple(range(1, parallel + 1))


def sharing_factor(*, parallel: int, cell_mohm: Value, gap_mohm: Value, where: str) -> Value:
    """Return the current of the hardest worked cell over the mean, at the first instant. [-].

    Parameters
    ----------
    parallel : int
        Cells in the row.
    cell_mohm : float or array
        Resistance of each cell to direct current. [mohm]
    gap_mohm : float or array
        From one cell to the next, both bars together; zero for perfect bars. [mohm]
    where : str
        "end", "middle" or "every_cell".

    Raises
    ------
    ValueError
        If the cell resistance is not above zero, the gap is negative, or the row or take-off makes no sense.

    Notes
    -----
    Validity: equal cells, equal gaps, both leads at the same place. The factor falls as the group empties,
    see `group_currents_after`; a tired cell raises it, see `group_currents`.

    Source: ladder network; the cell n places from the far end carries cosh((n - 1/2) a), with
    2 sinh(a/2) = sqrt(gap / cell). Derived here, and checked against a circuit simulator in the tests.

    Examples
    --------
    >>> round(sharing_factor(parallel=4, cell_mohm=20.0, gap_mohm=2.0, where="end"), 4)
    1.3049
    """
    _check_row(parallel, where)
    a = _attenuation(cell_mohm, gap_mohm)
    if where == "every_cell":
        return 1 + 0 * a
    if where == "end":
        return _end_factor(parallel, a)
    if parallel % 2 == 0:
        return _end_factor(parallel // 2, a)
    side = (parallel + 1) // 2
    return parallel / (2 * side / _end_factor(side, a) - 1)


def _attenuation(cell_mohm: Value, gap_mohm: Value) -> Value:
    check_positive(cell_mohm=cell_mohm)
    check_not_negative(gap_mohm=gap_mohm)
    return 2 * asinh(sqrt(gap_mohm / cell_mohm) / 2)


def _end_factor(cells: int, a: Value) -> Value:
    if cells == 1:
        return 1 + 0 * a
    # n cosh((n - 1/2) a) / sum of cosh((j - 1/2) a), written so that a long row does not overflow.
    uneven = a > 0
    a = choose(uneven, a, 1.0)
    factor = cells * expm1(-a) * (1 + exp(-(2 * cells - 1) * a)) / expm1(-2 * cells * a)
    result: Value = choose(uneven, factor, 1.0)
    return result


def equal_cell_currents(
    *, parallel: int, cell_mohm: float, gap_mohm: float, where: str, current_a: float
) -> list[float]:
    """Return each cell's current in a row of equal cells and gaps, in closed form. [A].

    Parameters
    ----------
    parallel, cell_mohm, gap_mohm, where
        As in `sharing_factor`.
    current_a : float
        Of the group. [A]

    Returns
    -------
    list of float
        From the end at which the lead leaves. [A]

    Raises
    ------
    ValueError
        As `sharing_factor`, or if the current is negative.

    Examples
    --------
    >>> row = {"parallel": 4, "cell_mohm": 20.0, "gap_mohm": 2.0, "current_a": 40.0}
    >>> [round(each, 2) for each in equal_cell_currents(where="end", **row)]
    [13.05, 10.35, 8.69, 7.9]
    """
    check_not_negative(current_a=current_a)
    _check_row(parallel, where)
    a = _attenuation(cell_mohm, gap_mohm)
    if where == "every_cell":
        return [current_a / parallel] * parallel
    # Which cell each one is, counted from the far end of its side.
    back = list(range(parallel, 0, -1))
    if where == "middle":
        back = [min(n, parallel + 1 - n) for n in back]
    # Measured from the far end of the longest side, so that a long row does not overflow.
    longest = max(back)
    shape = [exp((n - longest) * a) * (1 + exp(-(2 * n - 1) * a)) for n in back]
    total = sum(shape)
    return [current_a * each / total for each in shape]


def stretch_share(*, parallel: int, where: str) -> float:
    """Return the part of the group's current that the hardest worked stretch of a busbar carries. [-].

    Parameters
    ----------
    parallel : int
        Cells in the row.
    where : str
        "end", "middle" or "every_cell".

    Raises
    ------
    ValueError
        If the row or take-off makes no sense.

    Notes
    -----
    Validity: cells that share evenly, which is the most that a stretch can see: far cells give less while the
    sharing is uneven. In a row of even length the tab may sit on either of the middle cells.

    Examples
    --------
    >>> stretch_share(parallel=4, where="end"), stretch_share(parallel=5, where="middle")
    (0.75, 0.4)
    """
    _check_row(parallel, where)
    if where == "end":
        return (parallel - 1) / parallel
    return (parallel // 2) / parallel if where == "middle" else 0.0


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


def group_resistance_mohm(
    *, cell_mohm: Sequence[float], gap_mohm: float | Sequence[float], take_off: Sequence[int]
) -> float:
    """Return the resistance of a group between its leads, cells and busbars. [mohm].

    Parameters
    ----------
    cell_mohm, gap_mohm, take_off
        As in `group_currents`.

    Raises
    ------
    ValueError
        As `group_currents`.

    Examples
    --------
    >>> round(group_resistance_mohm(cell_mohm=[20.0] * 4, gap_mohm=2.0, take_off=[1]), 4)
    6.5244
    """
    cells, gaps = _row(cell_mohm, gap_mohm, take_off)
    return -1000 * _solve(cells, gaps, take_off, [0.0] * len(cells), 1.0)[1]


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


def _check_row(parallel: int, where: str) -> None:
    if parallel < 1:
        raise ValueError(f"parallel is {parallel}; a row has one cell or more")
    if where not in TAKE_OFFS:
        raise ValueError(f"where is {where!r}; it must be one of {', '.join(TAKE_OFFS)}")


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


def positions_share(*, parallel: int, positions: Sequence[int]) -> float:
    """Return the part of the group's current in the hardest worked stretch, for any take-off positions. [-].

    Parameters
    ----------
    parallel : int
        Cells in the row.
    positions : sequence of int
        Cells at which a lead leaves, counted from 1.

    Raises
    ------
    ValueError
        If there is no position or one lies outside the row.

    Notes
    -----
    Validity: cells that share evenly. Between two leads the current can divide anywhere, so a stretch there
    is counted with all cells between them but the nearer one.

    Examples
    --------
    >>> positions_share(parallel=4, positions=[1]), positions_share(parallel=8, positions=[3, 6])
    (0.75, 0.25)
    """
    taps = sorted(set(positions))
    if not taps or taps[0] < 1 or taps[-1] > parallel:
        raise ValueError(f"positions are {list(positions)}; they must lie from 1 to {parallel}")
    outside = max(taps[0] - 1, parallel - taps[-1])
    between = max((taps[n] - taps[n - 1] - 1 for n in range(1, len(taps))), default=0)
    return max(outside, between) / parallel
