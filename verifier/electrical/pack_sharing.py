"""How the current of a whole pack spreads over its cells, series links, tabs and strips, and its bounds.

A pack of equal cells with a link at every cell has a closed solution: along the row the currents are sums of
cosine waves, and each wave passes from bar to bar through the pack as along a ladder.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property
from itertools import combinations, pairwise, product
from math import ceil, cos, floor, log2, pi, sqrt
from typing import Any, Generic, NamedTuple, NotRequired, TypedDict, Unpack

from verifier.electrical.elementary import (
    Span,
    Value,
    anywhere,
    asinh,
    by_distinct,
    check_not_negative,
    check_positive,
    choose,
    hull,
    log,
    maximum,
    minimum,
    power,
)
from verifier.electrical.elementary import sqrt as root
from verifier.electrical.sharing import (
    crossed_profiles,
    greatest,
    hardest_stretch_fraction,
    imbalance_factor,
    stretch_currents,
    tab_imbalance,
    taps_of,
)

# A longer row, or a pack of more groups, is bounded by the closed forms of a row alone.
LONGEST_ROW = 60
# Where a figure is least or most between the ends of its ranges, so many pairs of cell and gap are looked at,
# and the bounds are widened by what random packs in the tests show to be enough.
SEARCHED, WIDENED = 7, 1.01
# A figure of a gap over a cell's resistance alone is looked at where their ratio is a power of two, the same in every
# pack, and at both ends; between two neighbours it exceeds them by no more than this times the square of the
# logarithm of their ratio. So less known never means narrower bounds. Random packs in the tests show it to be enough.
BEND = 0.04
# Beyond so many groups the far lead changes nothing that counts.
MOST_GROUPS = 60


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
        shares = _Shares(_Waves(groups, int(cells), cell, gap, link), taps, opposite)
        return PackShares(
            shares.hottest_cell, shares.hottest_link, shares.hottest_tab, shares.hardest_stretch
        )

    found = by_distinct(of_pack, (parallel,), (series, cell_mohm, gap_mohm, link_mohm), results=4)
    return PackShares(*found)


class _Shares:
    """What one take-off makes of the waves of a pack; the figures of `PackShares`, each when it is asked for."""

    def __init__(self, waves: _Waves, taps: tuple[int, ...], opposite: bool) -> None:
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
            [_sum(shape[a - 1] * shape[b - 1] * mohm for shape, mohm in zip(shapes, at_leads, strict=True))
             for b in self.taps]
            for a in self.taps
        ]  # fmt: skip
        return _equal_voltage(between, waves.zero)

    @cached_property
    def _pushed(self) -> list[Any]:
        """What the tabs make of each wave."""
        return [
            _sum(shape[tap - 1] * part for tap, part in zip(self.taps, self._tabs, strict=True))
            for shape in self.waves.shapes
        ]

    def _along_the_row(self, passing: Sequence[Any]) -> list[Any]:
        """Return what passes at each cell, from the part of each wave that does."""
        parts = [push * part for push, part in zip(self._pushed, passing, strict=True)]
        count = self.waves.parallel
        return [
            1 / count + _sum(shape[n] * part for shape, part in zip(self.waves.shapes, parts, strict=True))
            for n in range(count)
        ]

    @cached_property
    def _cells(self) -> list[Any]:
        return self._along_the_row(
            [passed.first + self._far(k) * passed.last for k, passed in enumerate(self.waves.passed)]
        )

    @property
    def hottest_cell(self) -> Any:
        if self.even:
            return 1.0 + self.waves.zero
        return self.waves.parallel * greatest(self._cells) + self.waves.zero

    @property
    def hottest_link(self) -> Any:
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
        return 1.0 + self.waves.zero if self.even else len(self.taps) * greatest(self._tabs)

    @property
    def hardest_stretch(self) -> Any:
        if self.even:
            return self.waves.zero
        return greatest(stretch_currents(self._cells, self.taps, self._tabs)) + self.waves.zero


class _Waves:
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


def _sum(values: Any) -> Any:
    total: Any = 0.0
    for value in values:
        total = total + value
    return total


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
        known = _sum(matrix[i][len(right) - 1 - n] * value for n, value in enumerate(found))
        found.append((right[i] - known) / matrix[i][i])
    return [1.0 - _sum(found) + zero, *reversed(found)]


class PackRow(TypedDict):
    """What the bounds of a pack are asked for; every function below takes these by keyword.

    cell_mohm, gap_mohm, link_mohm : (low, high) of float or array
        Of a cell to direct current, of one bar from a cell to the next, and of one series link. [mohm]
    series : (low, high) of float or array
        Groups.
    parallel : float or array
        Cells in a group.
    links : float, array or None
        Links from each group to the next; None where nobody counted them. Where fewer links than cells
        stand is never known.
    where, positions
        Where the lead leaves, one of the two, as in `sharing.imbalance_factor`. "middle" of an even row
        covers a tab on one and on both of the middle cells.
    """

    cell_mohm: tuple[Any, Any]
    gap_mohm: tuple[Any, Any]
    link_mohm: tuple[Any, Any]
    series: tuple[Any, Any]
    parallel: Any
    links: Any
    where: NotRequired[str | None]
    positions: NotRequired[Sequence[int] | None]


def imbalance_bounds(**row: Unpack[PackRow]) -> Span[Any]:
    """Return between what the hardest worked cell's current over the mean lies, at the first instant. [-].

    Parameters
    ----------
    **row
        See `PackRow`.

    Raises
    ------
    ValueError
        If a resistance or count is not above zero, or the take-off makes no sense.

    Notes
    -----
    Covers the other lead at the same and at the opposite place. The factor rises with the bars' resistance
    and falls with the cells' and the links'. With fewer links than cells, or links that nobody counted, an
    inner group may be fed through one end of both its bars. A row of more than `LONGEST_ROW` cells is
    bounded by a row alone. Source: as `pack_shares`.

    Examples
    --------
    >>> row = {"cell_mohm": (20.0, 40.0), "gap_mohm": (1.5, 2.0), "link_mohm": (1.5, 2.0), "series": (10, 10)}
    >>> [round(end, 2) for end in imbalance_bounds(parallel=4, links=4, where="end", **row)]
    [1.12, 1.28]
    """

    def of_pack(pack: _Pack) -> Span[Any]:
        end = pack.taps[0] in ((1,), (pack.parallel,))
        if pack.linked and pack.parallel <= LONGEST_ROW:
            several = pack.positions is not None and len(pack.taps[0]) > 1
            return pack.searched("hottest_cell", []) if several else pack.corners("hottest_cell")
        if pack.linked:
            fed = "both_bars" if pack.single[0] else "one_bar"
            high = greatest([pack.alone(imbalance_factor, "uneven", taps, fed) for taps in pack.taps])
        else:
            high = pack.alone(imbalance_factor, "uneven", (1,), "both_bars")
        low = pack.alone(imbalance_factor, "even", pack.taps[0], "opposite_ends") if end else 1.0
        return Span(low + 0 * high, high)

    return _bounds(of_pack, row)


def link_imbalance_bounds(**row: Unpack[PackRow]) -> Span[Any]:
    """Return between what the hardest worked series link's current over the mean of the links lies. [-].

    Parameters
    ----------
    **row
        See `PackRow`.

    Raises
    ------
    ValueError
        As `imbalance_bounds`.

    Notes
    -----
    More links than cells count as one place a cell. With m links, fewer than P cells, the worst placing
    counts, all side by side at one end: the last of them serves P - m + 1 cells, of which none carries more
    than the hottest cell at a lead. Links that nobody counted: from evenly shared to all in one of P.
    Source: as `pack_shares`; the bound for fewer links derived here, checked on random packs in the tests.

    Examples
    --------
    >>> row = {"cell_mohm": (29.0, 29.0), "gap_mohm": (1.7272, 1.7272), "link_mohm": (1.7272, 1.7272)}
    >>> found = link_imbalance_bounds(series=(10, 10), parallel=6, links=6, where="end", **row)
    >>> [round(end, 3) for end in found]
    [1.184, 1.184]
    """

    def of_pack(pack: _Pack) -> Span[Any]:
        even = 1.0 + 0 * pack.gap.high
        if pack.single[1] or pack.parallel == 1:
            return Span(even, even)
        if pack.linked and pack.parallel <= LONGEST_ROW:
            return pack.corners("hottest_link")
        if pack.linked:
            high = greatest([pack.alone(imbalance_factor, "uneven", taps, "one_bar") for taps in pack.taps])
            return Span(even, high)
        if pack.links == NOT_COUNTED:
            return Span(even, pack.parallel * even)
        served = pack.links * (pack.parallel - pack.links + 1) / pack.parallel
        hottest = pack.alone(imbalance_factor, "uneven", (1,), "one_bar")
        return Span(even, minimum(pack.links * even, served * hottest))

    return _bounds(of_pack, row)


def tab_imbalance_bounds(**row: Unpack[PackRow]) -> Span[Any]:
    """Return between what the hardest worked tab's current over the mean of the tabs lies. [-].

    Parameters
    ----------
    **row
        See `PackRow`. A take-off at the end or in the middle is one tab; at every cell it is as many as
        cells; positions are as many as there are.

    Raises
    ------
    ValueError
        As `imbalance_bounds`.

    Notes
    -----
    Tabs joined outside without resistance; least and most are searched between the ends. With fewer links
    than cells, or links that nobody counted, one tab may carry all. Source: as `pack_shares`.

    Examples
    --------
    >>> row = {"cell_mohm": (20.0, 20.0), "gap_mohm": (1.0, 1.0), "link_mohm": (1.0, 1.0), "series": (10, 10)}
    >>> [round(end, 2) for end in tab_imbalance_bounds(parallel=6, links=6, positions=[1, 2, 3], **row)]
    [1.89, 2.0]
    """

    def of_pack(pack: _Pack) -> Span[Any]:
        taps, even = pack.taps[0], 1.0 + 0 * pack.gap.high
        if pack.where != "every_cell" and len(taps) == 1:
            return Span(even, even)
        if pack.where == "every_cell":
            uneven = even if pack.linked else pack.alone(imbalance_factor, "uneven", (1,), "one_bar")
            return Span(even, uneven)
        if not pack.linked:
            return Span(even, len(taps) * even)
        found = pack.searched("hottest_tab", [pack.alone(tab_imbalance, "level", taps, "both_bars")])
        return Span(found.low, minimum(found.high, len(taps) * even))

    return _bounds(of_pack, row)


def hardest_stretch_bounds(**row: Unpack[PackRow]) -> Span[Any]:
    """Return between what the hardest stretch's part of the pack current lies, in the bar a lead leaves. [-].

    Parameters
    ----------
    **row
        See `PackRow`.

    Raises
    ------
    ValueError
        As `imbalance_bounds`.

    Notes
    -----
    Bars alike on both sides of the row. Cells that share evenly load the bar most, unless the other side of
    the group is fed at one end, as with fewer links than cells: that is looked at too. Zero at the low end
    where nothing is sure. Source: as `pack_shares`.

    Examples
    --------
    >>> row = {"cell_mohm": (20.0, 20.0), "gap_mohm": (1.0, 1.0), "link_mohm": (1.0, 1.0), "series": (10, 10)}
    >>> [round(end, 3) for end in hardest_stretch_bounds(parallel=8, links=8, positions=[1, 8], **row)]
    [0.337, 0.375]
    """

    def of_pack(pack: _Pack) -> Span[Any]:
        nothing = 0 * pack.gap.high
        if pack.where == "every_cell":
            return Span(nothing, nothing)
        single = all(len(taps) == 1 for taps in pack.taps)
        if not pack.linked and not single:
            # Between several leads no closed form says how much less or more.
            return Span(nothing, nothing + 1)
        found = [
            pack.alone(hardest_stretch_fraction, gap, taps, "both_bars")
            for taps in pack.taps
            for gap in ("uneven", "level")
        ]
        if pack.positions is not None and not single:
            span = pack.searched("hardest_stretch", found)
        else:
            span = hull(*found, *(each for taps in pack.taps for each in pack.crossed_stretches(taps)))
        return Span(span.low, minimum(span.high, nothing + 1))

    return _bounds(of_pack, row)


# In the place of a number of links.
NOT_COUNTED = 0.0


class _Pack(NamedTuple):
    """One structure of a pack, and the spans of groups and resistances of all packs that have it.

    ``single`` is whether they may have one group, and whether they surely have; ``counted`` whether both ends
    of the groups are the same.
    """

    single: tuple[bool, bool]
    counted: bool
    parallel: int
    links: float
    where: str | None
    positions: Sequence[int] | None
    series: Span[Any]
    cell: Span[Any]
    gap: Span[Any]
    link: Span[Any]

    @property
    def linked(self) -> bool:
        """Whether there is surely a link at every cell, or nothing to link."""
        return self.single[1] or self.links >= self.parallel

    @property
    def taps(self) -> list[tuple[int, ...]]:
        """Return what the take-off can mean: in an even row one or both of the middle cells."""
        places = ("middle", "middle_one") if self.where == "middle" else (self.where,)
        found = [taps_of(parallel=self.parallel, where=each, positions=self.positions) for each in places]
        return list(dict.fromkeys(found))

    @property
    def take_offs(self) -> list[tuple[tuple[int, ...], bool]]:
        """Return what the take-off can mean, with the other lead at the same place and at the opposite one."""
        return list(product(self.taps, (False, True)))

    def groups(self, least: float) -> list[Any]:
        """Return the fewest and the most groups that are looked at, once where they are the same."""
        ends = self.series[:1] if self.counted else self.series
        return [minimum(maximum(each, least), float(MOST_GROUPS)) for each in ends]

    def alone(self, function: Callable[..., Any], gap: str, taps: Sequence[int], fed: str) -> Any:
        """Return a figure of a row alone: "uneven" and "even" by the spans, "level" with perfect bars."""
        mohm = {"uneven": self.gap.high, "even": self.gap.low, "level": 0 * self.gap.high}[gap]
        cell = self.cell.high if gap == "even" else self.cell.low
        return function(cell_mohm=cell, gap_mohm=mohm, parallel=float(self.parallel), positions=taps, fed=fed)

    def corners(self, figure: str) -> Span[Any]:
        """Return the bounds of a figure of `pack_shares`, over the corners at which it is least and most."""
        groups = self.groups(2.0 if figure == "hottest_link" else 1.0)
        even = [(series, self.cell.high, self.gap.low, self.link.high) for series in groups]
        uneven = [(series, self.cell.low, self.gap.high, self.link.low) for series in groups]
        found = self.looked_at(figure, [*even, *uneven])
        return Span(
            hull(*(each for every in found for each in every[: len(groups)])).low,
            hull(*(each for every in found for each in every[len(groups) :])).high,
        )

    def looked_at(self, figure: str, points: list[tuple[Any, Any, Any, Any]]) -> list[Any]:
        """Return a figure of `pack_shares` at some points of groups, cell, gap and link, for each take-off.

        A list of as many values as points for each; of columns, an array of as many rows.
        """
        if isinstance(points[0][1], (float, int)):
            waves = [_Waves(series, self.parallel, *mohm) for series, *mohm in points]
            return [
                [getattr(_Shares(each, *take_off), figure) for each in waves] for take_off in self.take_offs
            ]
        import numpy as np

        # All points at once: the first axis of the columns.
        series, *mohm = (np.stack(each) for each in zip(*points, strict=True))
        at_once = _Waves(series, self.parallel, *mohm)
        return [getattr(_Shares(at_once, *take_off), figure) for take_off in self.take_offs]

    def between(self) -> list[tuple[Any, Any]]:
        """Return cell and gap from the most even pair to the most uneven one, in steps of equal ratio."""
        steps = [step / (SEARCHED - 1) for step in range(SEARCHED)]
        return [
            (
                self.cell.high * power(self.cell.low / self.cell.high, part),
                self.gap.low * power(self.gap.high / self.gap.low, part),
            )
            for part in steps
        ]

    def searched(self, figure: str, more: list[Any]) -> Span[Any]:
        """Return the bounds of a figure of `pack_shares` that is least and most somewhere between corners."""
        if self.parallel > LONGEST_ROW:
            return hull(*more)
        points = [
            (series, cell, gap, link)
            for series, (cell, gap), link in product(self.groups(1.0), self.between(), self.link)
        ]
        found = [each for every in self.looked_at(figure, points) for each in every]
        return hull(*more, *self.widened(hull(*found)))

    def crossed_stretches(self, taps: tuple[int, ...]) -> list[Any]:
        """Return the hardest stretch of a row whose other side is fed somewhere else than this one."""
        if len(taps) > 1 or (self.linked and not self.single[0]):
            return []
        tap = taps[0]
        others = [self.parallel + 1 - tap] if self.linked else [1, tap, self.parallel]
        ratios = self.ratios()
        looked_at = self._stretches_at(ratios, tap, others)
        found = [*looked_at[0]] if len(ratios) == 1 else []
        for (ratio, here), (next_ratio, there) in pairwise(zip(ratios, looked_at, strict=True)):
            bend = 1 + BEND * log(next_ratio / ratio) ** 2
            found += [minimum(here.low, there.low) / bend, maximum(here.high, there.high) * bend]
        return found

    def _stretches_at(self, ratios: list[Any], tap: int, others: Sequence[int]) -> list[Span[Any]]:
        """Return between what the hardest stretch lies at each gap over a cell."""
        if isinstance(ratios[0], (float, int)):
            return [hull(*self._crossed_at(ratio, tap, others)) for ratio in ratios]
        import numpy as np

        # All at once: the first axis of the columns. A row of one cell has no stretch, whatever its bars.
        column = np.stack(ratios)
        ends = (end + 0 * column for end in hull(*self._crossed_at(column, tap, others)))
        return [Span(*each) for each in zip(*ends, strict=True)]

    def ratios(self) -> list[Any]:
        """Return a gap over a cell from its least to its most: both ends, and every power of two between."""
        low, high = self.gap.low / self.cell.high, self.gap.high / self.cell.low
        if not anywhere(high > low):
            return [low]
        first, last = (low, high) if isinstance(low, (float, int)) else (float(low.min()), float(high.max()))
        powers = (2.0**exponent for exponent in range(ceil(log2(first)), floor(log2(last)) + 1))
        return [low, *(minimum(maximum(each + 0 * low, low), high) for each in powers), high]

    def _crossed_at(self, ratio: Any, tap: int, others: Sequence[int]) -> list[Any]:
        """Return the hardest stretch at one gap over a cell, fed at any of the other places or in part at two."""
        found, sides = [], []
        for cells in crossed_profiles(self.parallel, tap, others, 2 * asinh(root(2 * ratio) / 2)):
            sides.append((_sum(cells[: tap - 1]), _sum(cells[tap:])))
            found.append(maximum(*sides[-1]))
        # Fed in part here, in part there, the two sides of the tap may come out alike.
        for (left, right), (left_2, right_2) in combinations(sides, 2):
            apart, apart_2 = left - right, right_2 - left_2
            crossing = apart * apart_2 > 0
            part = apart_2 / choose(crossing, apart + apart_2, 1.0)
            found.append(choose(crossing, part * left + (1 - part) * left_2, found[-1]))
        return found

    @staticmethod
    def widened(span: Span[Any]) -> Span[Any]:
        """Return a span that holds what lies between the points that were looked at."""
        return Span(span.low / WIDENED, span.high * WIDENED)


def _bounds(function: Callable[[_Pack], Span[Any]], row: PackRow) -> Span[Any]:
    """Return the bounds of a figure, worked out once for each structure of pack."""
    cell, gap, link = (Span(*each) for each in (row["cell_mohm"], row["gap_mohm"], row["link_mohm"]))
    low_series, high_series = row["series"]
    links = NOT_COUNTED if row["links"] is None else row["links"]
    check_positive(
        cell_mohm=cell.low, highest_cell_mohm=cell.high, gap_mohm=gap.low, highest_gap_mohm=gap.high
    )
    check_positive(link_mohm=link.low, highest_link_mohm=link.high)
    check_positive(series=low_series, highest_series=high_series, parallel=row["parallel"])
    check_not_negative(links=links)

    def of_structure(
        one: float, surely_one: float, counted: float, parallel: float, links: float, *ends: Any
    ) -> Span[Any]:
        spans = (Span(*ends[0:2]), Span(*ends[2:4]), Span(*ends[4:6]), Span(*ends[6:8]))
        take_off = row.get("where"), row.get("positions")
        single = (bool(one), bool(surely_one))
        return function(_Pack(single, bool(counted), int(parallel), links, *take_off, *spans))

    # How many groups there are is a number like any other, but for a single one; so are more links than cells.
    fewest, most = low_series // 1, high_series // 1
    keys = (
        1.0 * (fewest == 1), 1.0 * (most == 1), 1.0 * (fewest == most), row["parallel"],
        minimum(links, row["parallel"]),
    )  # fmt: skip
    values = (1.0 * fewest, 1.0 * most, *cell, *gap, *link)
    return Span(*by_distinct(of_structure, keys, values, results=2))
