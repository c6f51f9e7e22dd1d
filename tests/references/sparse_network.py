"""The nodal equations of a whole pack as a sparse matrix, written down branch by branch for scipy to solve.

Source: Kirchhoff's current law at every node. Nothing of the program is used.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array

# ("minus" or "plus", group, cell), counted from 0.
Node = tuple[str, int, int]


@dataclass(frozen=True)
class Pack:
    """A pack as `verifier.electrical.whole_pack.pack_currents` takes it; cells in `links` count from 1."""

    cell_mohm: NDArray[np.float64]
    open_circuit_v: NDArray[np.float64]
    links: Sequence[Sequence[int]]
    bar_gap_mohm: float
    link_mohm: float
    take_off: Sequence[int]
    plus_take_off: Sequence[int]
    current_a: float

    def nodes(self) -> Iterator[Node]:
        series, parallel = self.cell_mohm.shape
        for group in range(series):
            for side in ("minus", "plus"):
                yield from ((side, group, cell) for cell in range(parallel))

    def rows(self) -> dict[Node, int]:
        """Return the row of each node: 0 for those of the plus lead, -1 for those of the minus lead, at 0 V."""
        last = len(self.cell_mohm) - 1
        found = {node: row for row, node in enumerate(self.nodes(), 1)}
        found |= {("plus", last, cell - 1): 0 for cell in self.plus_take_off}
        return found | {("minus", 0, cell - 1): -1 for cell in self.take_off}

    def branches(self) -> Iterator[tuple[Node, Node, float]]:
        series, parallel = self.cell_mohm.shape
        for side, group, cell in self.nodes():
            if side == "minus":
                yield (side, group, cell), ("plus", group, cell), 1000 / self.cell_mohm[group, cell]
            if cell + 1 < parallel:
                yield (side, group, cell), (side, group, cell + 1), 1000 / self.bar_gap_mohm
            if side == "plus" and group + 1 < series and cell + 1 in self.links[group]:
                yield (side, group, cell), ("minus", group + 1, cell), 1000 / self.link_mohm


def equations(pack: Pack) -> tuple[Any, NDArray[np.float64]]:
    """Return the conductance matrix [S] and the currents pushed into its nodes [A], by `Pack.rows`."""
    row_of = pack.rows()
    size = max(row_of.values()) + 1
    pushed = np.zeros(size + 1)
    for (side, group, cell), row in row_of.items():
        cell_a = 1000 * pack.open_circuit_v[group, cell] / pack.cell_mohm[group, cell]
        pushed[row] += cell_a if side == "plus" else -cell_a
    pushed[0] -= pack.current_a
    entries: dict[tuple[int, int], float] = {}
    for a, b, siemens in pack.branches():
        for here, there in ((row_of[a], row_of[b]), (row_of[b], row_of[a])):
            if here != there:
                entries[here, here] = entries.get((here, here), 0.0) + siemens
                entries[here, there] = entries.get((here, there), 0.0) - siemens
    # A row that no node has any more, for it went to a lead, says that its voltage is nothing.
    entries |= {(row, row): 1.0 for row in set(range(size)) - set(row_of.values())}
    free = {places: value for places, value in entries.items() if min(places) >= 0}
    rows, columns = np.array(list(free)).T
    return coo_array((list(free.values()), (rows, columns)), shape=(size, size)).tocsc(), pushed[:size]
