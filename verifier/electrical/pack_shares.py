"""How the current of a whole pack of equal cells spreads over its cells, series links, tabs and strips.

A pack of equal cells with a link at every cell has a closed solution: along the row the currents are sums of
cosine waves, and each wave passes from bar to bar through the pack as along a ladder.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from math import cos, pi, sqrt
from typing import Any, Generic, NamedTuple

from verifier.electrical.elementary import (
    Value,
    by_distinct,
    check_positive,
    choose,
)
from verifier.electrical.sharing import (
    greatest,
    stretch_currents,
    taps_of,
)


class PackShares(NamedTuple, Generic[Value]):
    """How unevenly a pack shares its current at the first instant.

    Hottest cell, link and tab over the mean of their kind, and the part of the pack current in the hardest
    worked stretch of the bar that a lead leaves.
    """

    hottest_cell: Value
    hottest_link: Value
    hottest_tab: Value
    hardest_stretch: Value


def pack_shares(
    *,
    cell_mohm: Value,
    gap_mohm: Value,
    link_mohm: Value,
    series: Value,
    parallel: Value,
    where: str | None = None,
    positions: Sequence[int] | None = None,
    opposite: bool = False,
) -> PackShares[Value]:
    """Return how unevenly a pack of equal cells with a link at every cell shares its current.

    Parameters
    ----------
    cell_mohm, gap_mohm, link_mohm : float or array
        Of a cell, of one bar from a cell to the next, and of a link from a group to the next. [mohm]
    series, parallel : float or array
        Groups, and cells in each.
    where, positions
        Where the lead leaves the row, as in `sharing.imbalance_factor`.
    opposite : bool
        Whether the other lead leaves its row at the mirrored cells, rather than at the same.

    Raises
    ------
    ValueError
        If a resistance is not above zero, or the row or place makes no sense.

    Notes
    -----
    Source: nodal analysis in the cosine waves that diagonalise a row of equal gaps; exact. Derived here, and
    checked against a sparse nodal solution and a circuit simulator in the tests. The work grows with the
    square of the row, and with the groups.

    Examples
    --------
    >>> pack = {"cell_mohm": 29.0, "gap_mohm": 1.7272, "link_mohm": 1.7272, "series": 10, "parallel": 6}
    >>> found = pack_shares(where="end", **pack)
    >>> round(found.hottest_cell, 3), round(found.hottest_link, 3)
    (1.431, 1.184)
    """
    check_positive(cell_mohm=cell_mohm, gap_mohm=gap_mohm, link_mohm=link_mohm)

    def of_pack(cells: float, groups: Any, cell: Any, gap: Any, link: Any) -> PackShares[Any]:
        taps = taps_of(parallel=int(cells), where=where, positions=positions)
        shares = Shares(Waves(groups, int(cells), cell, gap, link), taps, opposite)
        return PackShares(
            shares.hottest_cell, shares.hottest_link, shares.hottest_tab, shares.hardest_stretch
        )

    found = by_distinct(of_pack, (parallel,), (series, cell_mohm, gap_mohm, link_mohm), results=4)
    return PackShares(*found)


class Shares:
    """What one take-off makes of the waves of a pack; the figures of `PackShares`, each when it is asked for."""

    def __init__(self, waves: Waves, taps: tuple[int, ...], opposite: bool) -> None:
        self.waves, self.taps, self.opposite = waves, taps, opposite
        # Every cell has its own tab and its own links: nothing runs along the rows.
        self.even = len(taps) == waves.parallel

    def _far(self, wave: int) -> int:
        # The far lead's currents come through the pack the other way; mirrored, every other wave turns over.
        return 1 if wave % 2 or not self.opposite else -1

    @cached_property
    def _tabs(self) -> list[Any]:
        """What each tab carries of one ampere."""
        waves, shapes = self.waves, self.waves.shapes
        at_leads = [
            passed.mohm - self._far(k) * passed.last / passed.along for k, passed in enumerate(waves.passed)
        ]
        between = [
            [total(shape[a - 1] * shape[b - 1] * mohm for shape, mohm in zip(shapes, at_leads, strict=True))
             for b in self.taps]
            for a in self.taps
        ]  # fmt: skip
        return _equal_voltage(between, waves.zero)

    @cached_property
    def _pushed(self) -> list[Any]:
        """What the tabs make of each wave."""
        return [
            total(shape[tap - 1] * part for tap, part in zip(self.taps, self._tabs, strict=True))
            for shape in self.waves.shapes
        ]

    def _along_the_row(self, passing: Sequence[Any]) -> list[Any]:
        """Return what passes at each cell, from the part of each wave that does."""
        parts = [push * part for push, part in zip(self._pushed, passing, strict=True)]
        count = self.waves.parallel
        return [
            1 / count + total(shape[n] * part for shape, part in zip(self.waves.shapes, parts, strict=True))
            for n in range(count)
        ]

    @cached_property
    def _cells(self) -> list[Any]:
        return self._along_the_row(
            [passed.first + self._far(k) * passed.last for k, passed in enumerate(self.waves.passed)]
        )

    @property
    def hottest_cell(self) -> Any:
        """The hottest cell's current over the mean."""
        if self.even:
            return 1.0 + self.waves.zero
        return self.waves.parallel * greatest(self._cells) + self.waves.zero

    @property
    def hottest_link(self) -> Any:
        """The hottest link's current over the mean."""
        if self.even:
            return 1.0 + self.waves.zero
        links = self._along_the_row(
            [
                choose(
                    self.waves.series > 1, passed.second + self._far(k) * passed.last_but_one, self.waves.zero
                )
                for k, passed in enumerate(self.waves.passed)
            ]
        )
        return self.waves.parallel * greatest(links) + self.waves.zero

    @property
    def hottest_tab(self) -> Any:
        """The hottest tab's current over the mean."""
        return 1.0 + self.waves.zero if self.even else len(self.taps) * greatest(self._tabs)

    @property
    def hardest_stretch(self) -> Any:
        """The part of the pack current in the hardest stretch of the bar that a lead leaves."""
        if self.even:
            return self.waves.zero
        return greatest(stretch_currents(self._cells, self.taps, self._tabs)) + self.waves.zero


class Waves:
    """The cosine waves of the rows of a pack, and how each passes through it, wherever the leads leave."""

    def __init__(self, series: Any, parallel: int, cell: Any, gap: Any, link: Any) -> None:
        self.series, self.parallel = series, parallel
        self.cell, self.gap, self.link = cell, gap, link
        self.zero = 0 * cell
        self.shapes = [
            [sqrt(2 / parallel) * cos(pi * k * (n - 0.5) / parallel) for n in range(1, parallel + 1)]
            for k in range(1, parallel)
        ]

    @cached_property
    def passed(self) -> list[_Ladder]:
        """How each wave passes through the groups and links."""
        along = [(2 - 2 * cos(pi * k / self.parallel)) / self.gap for k in range(1, self.parallel)]
        if isinstance(self.zero, float):
            return [_ladder(each, self.series, self.cell, self.link) for each in along]
        import numpy as np

        # All waves at once: the first axis of the columns.
        all_waves = _ladder(np.stack(along), self.series, self.cell, self.link)
        return [_Ladder(*each) for each in zip(*all_waves, strict=True)]


def total(values: Any) -> Any:
    """Return the sum of some values, element by element."""
    found: Any = 0.0
    for value in values:
        found = found + value
    return found


class _Ladder(NamedTuple):
    """What a wave meets along a bar and at the lead, and its parts that pass the first and last two rungs."""

    along: Any
    mohm: Any
    first: Any
    second: Any
    last_but_one: Any
    last: Any


def _ladder(along: Any, series: Any, cell: Any, link: Any) -> _Ladder:
    """Return how a wave passes through groups and the links between them, the groups counted row by row."""
    rungs = 2 * series - 1
    lengths = {rungs} if isinstance(rungs, (float, int)) else set(rungs.ravel().tolist())
    behind, passes, even = along, 1.0 + 0 * along, 1.0 + 0 * along
    last_but_one, last = even, even
    found: _Ladder | None = None
    # From the far end, as many rungs as the longest row has; a shorter one ends on its way.
    for rung in range(1, int(max(lengths)) + 1):
        behind = along + 1 / ((cell if rung % 2 else link) + 1 / behind)
        before, passes = passes, (behind - along) / behind
        last = last * passes
        last_but_one = last_but_one * passes if rung > 1 else even
        if rung in lengths:
            here = _Ladder(along, 1 / behind, passes, passes * before, last_but_one, last)
            pairs = zip(here, found or here, strict=True)
            found = _Ladder(*(choose(rungs == rung, each, already) for each, already in pairs))
    assert found is not None  # noqa: S101 - every row has a rung
    return found


def _equal_voltage(mohm: list[list[Any]], zero: Any) -> list[Any]:
    """Return how one ampere parts between tabs that are joined, from the resistances between them."""
    rest = range(1, len(mohm))
    matrix = [[mohm[i][j] - mohm[i][0] - mohm[0][j] + mohm[0][0] for j in rest] for i in rest]
    right = [mohm[0][0] - mohm[i][0] for i in rest]
    # Symmetric and positive, so that elimination needs no pivots.
    for i in range(len(right)):
        for below in range(i + 1, len(right)):
            times = matrix[below][i] / matrix[i][i]
            matrix[below] = [x - times * y for x, y in zip(matrix[below], matrix[i], strict=True)]
            right[below] = right[below] - times * right[i]
    found: list[Any] = []
    for i in reversed(range(len(right))):
        known = total(matrix[i][len(right) - 1 - n] * value for n, value in enumerate(found))
        found.append((right[i] - known) / matrix[i][i])
    return [1.0 - total(found) + zero, *reversed(found)]
