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
    Source: nodal analysis by Kirchhoff's laws. The 2 S P nodes are a grid of 2 S rows, of which each is joined to
    the next only, so that the rows are eliminated one after the other (block tridiagonal system).

    Examples
    --------
    >>> pack = pack_currents(series=2, parallel=2, cell_mohm=20.0, bar_gap_mohm=1.0, link_mohm=1.0, links=2,
    ...     take_off=[1], current_a=20.0)
    >>> [round(float(a), 2) for a in pack.cell_a[0]]
    [10.24, 9.76]
    """
    import numpy as np

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
    minus_places = _places("take_off", take_off, parallel)
    plus_places = _places("plus_take_off", take_off if plus_take_off is None else plus_take_off, parallel)

    # Rows of the grid: minus and plus of the first group, minus and plus of the next, ...
    down = np.empty((2 * series - 1, parallel))
    down[::2] = 1 / resistance
    down[1::2] = np.where(linked, 1000 / link_mohm, 0.0)
    along = np.full((2 * series, parallel - 1), 1000 / bar_gap_mohm)
    lead = np.zeros((2 * series, parallel))
    lead[-1, plus_places] = 1.0
    held = lead > 0
    held[0, minus_places] = True
    pushed = np.stack([-voltage / resistance, voltage / resistance], axis=1).reshape(lead.shape)
    # With the plus lead at no volt, and what one volt at it adds: the current then tells its voltage.
    shorted, of_a_volt = _node_volts(
        down, along, held, np.stack([0.0 * lead, lead]), np.stack([pushed, 0.0 * lead])
    ).reshape(2, series, 2, parallel)
    group_a = ((voltage[-1] - shorted[-1, 1] + shorted[-1, 0]) / resistance[-1]).sum()
    lead_v = (group_a - current_a) / ((of_a_volt[-1, 1] - of_a_volt[-1, 0]) / resistance[-1]).sum()
    node_v = shorted + lead_v * of_a_volt
    return PackCurrents(
        cell_a=(voltage - node_v[:, 1] + node_v[:, 0]) / resistance,
        link_a=np.where(linked, (node_v[:-1, 1] - node_v[1:, 0]) * (1000 / link_mohm), 0.0),
        linked=linked,
        node_v=node_v,
        drop_v=float(voltage.mean(axis=1).sum() - lead_v),
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


def _node_volts(
    down: NDArray[np.float64],
    along: NDArray[np.float64],
    held: NDArray[np.bool_],
    held_v: NDArray[np.float64],
    into_a: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the voltages of the nodes of a grid of R rows and C columns, for each of K sets of sources.

    Parameters
    ----------
    down : array of shape (R - 1, C)
        Conductance from each node to the one below it. [S]
    along : array of shape (R, C - 1)
        Conductance from each node to the next of its row. [S]
    held : array of bool of shape (R, C)
        Which nodes have a voltage of their own.
    held_v : array of shape (K, R, C)
        That voltage; zero elsewhere. [V]
    into_a : array of shape (K, R, C)
        Current pushed into each node that is not held. [A]
    """
    import numpy as np

    rows, columns = held.shape
    if columns > rows:
        # Time and memory go by the length of a row, so the shorter side is taken for it.
        turned = _node_volts(along.T, down.T, held.T, held_v.swapaxes(1, 2), into_a.swapaxes(1, 2))
        return turned.swapaxes(1, 2)
    given = np.where(held, held_v, into_a + _from_neighbours(down, along, held_v))
    own = np.where(held, 1.0, _from_neighbours(down, along, np.ones(held.shape)))
    down = np.where(held[:-1] | held[1:], 0.0, down)
    along = np.where(held[:, :-1] | held[:, 1:], 0.0, along)
    place = np.arange(columns)
    blocks = np.zeros((rows, columns, columns))
    blocks[:, place, place] = own
    blocks[:, place[:-1], place[1:]] = blocks[:, place[1:], place[:-1]] = -along
    # Of each row, once solved: how it follows the row below, and what it is beside that.
    sides = np.zeros((rows, columns, columns + len(given)))
    sides[:-1, place, place] = down
    sides[:, :, columns:] = np.moveaxis(given, 0, -1)
    for row in range(rows):
        if row:
            above = down[row - 1, :, None] * sides[row - 1]
            blocks[row] -= above[:, :columns]
            sides[row, :, columns:] += above[:, columns:]
        # The matrix is positive definite, so no other order is better.
        sides[row] = np.linalg.solve(blocks[row], sides[row])
    for row in reversed(range(rows - 1)):
        sides[row, :, columns:] += sides[row, :, :columns] @ sides[row + 1, :, columns:]
    return np.moveaxis(sides[:, :, columns:], -1, 0)


def _from_neighbours(
    down: NDArray[np.float64], along: NDArray[np.float64], volts: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the sum of conductance times voltage over the neighbours of each node. [A]"""
    import numpy as np

    found = np.zeros(volts.shape)
    found[..., :-1, :] += down * volts[..., 1:, :]
    found[..., 1:, :] += down * volts[..., :-1, :]
    found[..., :-1] += along * volts[..., 1:]
    found[..., 1:] += along * volts[..., :-1]
    return found
