"""How unlike cells of a parallel group share a current: the resistor ladder solved, at once and after a while."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from verifier.electrical.elementary import (
    check_not_negative,
    check_positive,
)

# Less between two cells is no gap at all.
SMALLEST_GAP_MOHM = 1e-15


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
