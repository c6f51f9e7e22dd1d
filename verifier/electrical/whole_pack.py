"""The currents of every cell and link of a whole pack, from its resistor network."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor
from typing import TYPE_CHECKING, Any

from verifier.electrical.elementary import check_not_negative, check_positive

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


# A network of more cells takes more memory and time than its answer is worth: `pack_sharing` has the bounds.
MOST_CELLS = 20_000


class TooManyCells(ValueError):
    """The pack is too large to solve as a network; the closed forms of `pack_sharing` still hold."""


@dataclass(frozen=True)
class PackCurrents:
    """A solved pack of S groups of P cells.

    Attributes
    ----------
    cell_a : array of shape (S, P)
        Current of each cell; negative where its neighbours charge it. [A]
    link_a : array of shape (S - 1, P)
        Current of each link from a group to the next; zero where there is none. [A]
    linked : array of bool of shape (S - 1, P)
        Where there is a link.
    node_v : array of shape (S, 2, P)
        Voltage over the pack's minus at each cell's minus (first) and plus end. [V]
    drop_v : float
        Open-circuit voltage, on average over each group, less the voltage between the leads. [V]
    """

    cell_a: NDArray[np.float64]
    link_a: NDArray[np.float64]
    linked: NDArray[np.bool_]
    node_v: NDArray[np.float64]
    drop_v: float


def link_columns(*, count: int, parallel: int) -> tuple[int, ...]:
    """Return the cells at which a number of links stand when spread evenly over a row, counted from 1.

    Parameters
    ----------
    count : int
        Links from one group to the next.
    parallel : int
        Cells in the row.

    Raises
    ------
    ValueError
        If there is no link, or there are more links than cells.

    Examples
    --------
    >>> link_columns(count=2, parallel=5)
    (2, 4)
    """
    if not 1 <= count <= parallel:
        raise ValueError(f"there are {count} links for a row of {parallel} cells; it takes 1 to {parallel}")
    centre = (parallel + 1) / 2
    places = [(n + 0.5) * parallel / count + 0.5 for n in range(count)]
    return tuple(floor(place + 0.5) if place <= centre else ceil(place - 0.5) for place in places)


def pack_currents(
    *,
    series: int,
    parallel: int,
    cell_mohm: float | NDArray[np.float64],
    bar_gap_mohm: float,
    link_mohm: float,
    links: int | Sequence[Sequence[int]],
    take_off: Sequence[int],
    current_a: float,
    plus_take_off: Sequence[int] | None = None,
    open_circuit_v: float | NDArray[np.float64] = 0.0,
) -> PackCurrents:
    """Return the currents of every cell and link of a pack, and its voltage drop.

    Parameters
    ----------
    series, parallel : int
        Groups S, and cells in each P.
    cell_mohm : float or array of shape (S, P)
        Resistance of each cell to direct current. [mohm]
    bar_gap_mohm : float
        Of one busbar from a cell to the next; half of what `sharing.group_currents` calls a gap. [mohm]
    link_mohm : float
        Of one link, from a plus bar to the minus bar of the next group. [mohm]
    links : int or sequence of sequences of int
        Links from each group to the next, spread evenly; or for each of the S - 1 steps the cells, counted
        from 1, at which they stand.
    take_off : sequence of int
        Cells of the first group at which the minus lead leaves, counted from 1; several are joined outside
        without resistance.
    current_a : float
        Of the pack. [A]
    plus_take_off : sequence of int, optional
        The same for the plus lead on the last group; as `take_off` if left out.
    open_circuit_v : float or array of shape (S, P)
        Of each cell; the same for all changes nothing but `node_v`. [V]

    Returns
    -------
    PackCurrents

    Raises
    ------
    TooManyCells
        If the pack has more than `MOST_CELLS` cells.
    ValueError
        If a resistance is not above zero, a link or take-off lies outside the row, a group has no link to the
        next, or the shapes do not fit.

    Notes
    -----
    Source: nodal analysis by Kirchhoff's laws; 2 S P nodes, solved as a sparse linear system.

    Examples
    --------
    >>> pack = pack_currents(series=2, parallel=2, cell_mohm=20.0, bar_gap_mohm=1.0, link_mohm=1.0, links=2,
    ...     take_off=[1], current_a=20.0)
    >>> [round(float(a), 2) for a in pack.cell_a[0]]
    [10.24, 9.76]
    """
    import numpy as np
    from scipy.sparse.linalg import splu

    if series < 1 or parallel < 1:
        raise ValueError(f"the pack is {series} x {parallel}; it takes one group of one cell or more")
    if series * parallel > MOST_CELLS:
        size = f"{series} x {parallel} = {series * parallel} cells"
        raise TooManyCells(
            f"the pack has {size}, too many to solve as a network; it takes up to {MOST_CELLS}"
        )
    check_positive(bar_gap_mohm=bar_gap_mohm, link_mohm=link_mohm)
    check_not_negative(current_a=current_a)
    resistance = _of_each_cell("cell_mohm", cell_mohm, (series, parallel)) / 1000
    check_positive(cell_mohm=1000 * resistance)
    voltage = _of_each_cell("open_circuit_v", open_circuit_v, (series, parallel))
    linked = _linked(links, series, parallel)
    node = _nodes(series, parallel, take_off, take_off if plus_take_off is None else plus_take_off)

    minus, plus = node[:, 0], node[:, 1]
    bars, joints = 2 * series * (parallel - 1), int(linked.sum())
    first = np.concatenate([minus.ravel(), node[..., :-1].ravel(), plus[:-1][linked]])
    last = np.concatenate([plus.ravel(), node[..., 1:].ravel(), minus[1:][linked]])
    conductance = np.concatenate(
        [1 / resistance.ravel(), np.full(bars, 1000 / bar_gap_mohm), np.full(joints, 1000 / link_mohm)]
    )
    ground = int(node.max())
    lead = plus[-1, (take_off if plus_take_off is None else plus_take_off)[0] - 1]
    pushed = (voltage / resistance).ravel()
    into = np.bincount(plus.ravel(), pushed, ground + 1) - np.bincount(minus.ravel(), pushed, ground + 1)
    into[lead] -= current_a

    matrix = _conductance_matrix(first, last, conductance, ground)
    # Symmetric and dominated by its diagonal, it needs no pivots, and so an ordering for symmetric matrices.
    factors = splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    volts = np.append(factors.solve(into[:ground]), 0.0)
    node_v = volts[node]
    return PackCurrents(
        cell_a=(voltage - node_v[:, 1] + node_v[:, 0]) / resistance,
        link_a=np.where(linked, (node_v[:-1, 1] - node_v[1:, 0]) * (1000 / link_mohm), 0.0),
        linked=linked,
        node_v=node_v,
        drop_v=float(voltage.mean(axis=1).sum() - volts[lead]),
    )


def _of_each_cell(name: str, value: Any, shape: tuple[int, int]) -> NDArray[np.float64]:
    import numpy as np

    array = np.asarray(value, dtype=float)
    if array.shape not in ((), shape):
        raise ValueError(f"{name} has the shape {array.shape}; it must be one number or {shape}")
    return np.broadcast_to(array, shape)


def _linked(links: int | Sequence[Sequence[int]], series: int, parallel: int) -> NDArray[np.bool_]:
    """Return where there is a link from each group to the next."""
    import numpy as np

    linked = np.zeros((series - 1, parallel), dtype=bool)
    if isinstance(links, int):
        linked[:, np.array(link_columns(count=links, parallel=parallel)) - 1] = True
        return linked
    if len(links) != series - 1:
        raise ValueError(f"links has {len(links)} rows; {series} groups have {series - 1} steps")
    for step, columns in enumerate(links):
        linked[step, _places(f"links[{step}]", columns, parallel)] = True
    return linked


def _places(name: str, columns: Sequence[int], parallel: int) -> list[int]:
    """Return places in a row, counted from 0."""
    if not len(columns):
        raise ValueError(f"{name} is empty; the current needs a way")
    for column in columns:
        if column not in range(1, parallel + 1):
            raise ValueError(f"{name} is {column}; it must be a whole number from 1 to {parallel}")
    return [column - 1 for column in columns]


def _nodes(
    series: int, parallel: int, take_off: Sequence[int], plus_take_off: Sequence[int]
) -> NDArray[np.int64]:
    """Return the node of each cell's minus and plus end, shape (S, 2, P); the minus lead has the last one."""
    import numpy as np

    node = np.arange(2 * series * parallel).reshape(series, 2, parallel)
    plus_places = _places("plus_take_off", plus_take_off, parallel)
    node[-1, 1, plus_places] = node[-1, 1, plus_places[0]]
    node[0, 0, _places("take_off", take_off, parallel)] = node.size
    return np.unique(node, return_inverse=True)[1].reshape(node.shape)


def _conductance_matrix(
    first: NDArray[np.int64], last: NDArray[np.int64], conductance: NDArray[np.float64], ground: int
) -> Any:
    """Return the nodal matrix of branches between nodes, without the row and column of the ground."""
    import numpy as np
    from scipy.sparse import coo_array

    # What joins a node to itself, as a busbar between two places of one lead, carries nothing that counts.
    apart = first != last
    first, last, conductance = first[apart], last[apart], conductance[apart]
    own = np.bincount(first, conductance, ground + 1) + np.bincount(last, conductance, ground + 1)
    free = (first != ground) & (last != ground)
    a, b, between, diagonal = first[free], last[free], -conductance[free], np.arange(ground)
    values = np.concatenate([own[:ground], between, between])
    places = (np.concatenate([diagonal, a, b]), np.concatenate([diagonal, b, a]))
    return coo_array((values, places), shape=(ground, ground)).tocsc()
