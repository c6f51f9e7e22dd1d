"""How the current of a whole pack spreads over its cells, series links, tabs and strips, and its bounds.

A pack of equal cells with a link at every cell has a closed solution: along the row the currents are sums of
cosine waves, and each wave passes from bar to bar through the pack as along a ladder.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations, product
from math import cos, pi, sqrt
from typing import Any, Generic, NamedTuple, NotRequired, TypedDict, Unpack

from verifier.electrical.elementary import (
    Span,
    Value,
    asinh,
    by_distinct,
    check_not_negative,
    check_positive,
    choose,
    hull,
    maximum,
    minimum,
    power,
)
from verifier.electrical.elementary import sqrt as root
from verifier.electrical.sharing import (
    crossed_profile,
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

    def of_pack(groups: float, cells: float, cell: Any, gap: Any, link: Any) -> PackShares[Any]:
        taps = taps_of(parallel=int(cells), where=where, positions=positions)
        return _shares(int(groups), int(cells), taps, opposite, cell, gap, link)

    found = by_distinct(of_pack, (series, parallel), (cell_mohm, gap_mohm, link_mohm), results=4)
    return PackShares(*found)


def _shares(
    series: int, parallel: int, taps: tuple[int, ...], opposite: bool, cell: Any, gap: Any, link: Any
) -> PackShares[Any]:
    if len(taps) == parallel:
        # Every cell has its own tab and its own links: nothing runs along the rows.
        even = 1.0 + 0 * cell
        return PackShares(even, even, even, 0 * cell)
    waves = [
        [sqrt(2 / parallel) * cos(pi * k * (n - 0.5) / parallel) for n in range(1, parallel + 1)]
        for k in range(1, parallel)
    ]
    rungs = [link if n % 2 else cell for n in range(2 * series - 1)]
    through_cells, through_links, at_leads = [], [], []
    for k in range(1, parallel):
        along = (2 - 2 * cos(pi * k / parallel)) / gap
        mohm, passed = _ladder(along, rungs)
        # The far lead's currents come through the pack the other way; mirrored, every other wave turns over.
        far = -1 if opposite and k % 2 else 1
        through_cells.append(passed[0] + far * passed[-1])
        through_links.append(passed[1] + far * passed[-2] if series > 1 else 0 * passed[0])
        at_leads.append(mohm - far * passed[-1] / along)
    between_taps = [
        [_sum(waves[k][a - 1] * waves[k][b - 1] * at_leads[k] for k in range(parallel - 1)) for b in taps]
        for a in taps
    ]
    tabs = _equal_voltage(between_taps, 0 * cell)
    pushed = [_sum(wave[tap - 1] * tab for tap, tab in zip(taps, tabs, strict=True)) for wave in waves]
    cells, links = (
        [
            1 / parallel
            + _sum(wave[n] * push * part for wave, push, part in zip(waves, pushed, passed, strict=True))
            for n in range(parallel)
        ]
        for passed in (through_cells, through_links)
    )
    return PackShares(
        parallel * greatest(cells) + 0 * cell,
        parallel * greatest(links) + 0 * cell,
        len(taps) * greatest(tabs),
        greatest(stretch_currents(cells, taps, tabs)) + 0 * cell,
    )


def _sum(values: Any) -> Any:
    total: Any = 0.0
    for value in values:
        total = total + value
    return total


def _ladder(along: Any, rungs: Sequence[Any]) -> tuple[Any, list[Any]]:
    """Return the resistance that one wave meets at the lead, and the part that passes each rung."""
    behind = [along]
    for mohm in reversed(rungs):
        behind.append(along + 1 / (mohm + 1 / behind[-1]))
    behind.reverse()
    passed, part = [], 1.0
    for here in behind[:-1]:
        part = part * ((here - along) / here)
        passed.append(part)
    return 1 / behind[0], passed


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
            fed = "both_bars" if pack.series[0] == 1 else "one_bar"
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
        if pack.series[1] == 1 or pack.parallel == 1:
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
    """One structure of a pack, and the spans of the resistances of all packs that have it."""

    series: tuple[int, int]
    parallel: int
    links: float
    where: str | None
    positions: Sequence[int] | None
    cell: Span[Any]
    gap: Span[Any]
    link: Span[Any]

    @property
    def linked(self) -> bool:
        """Whether there is surely a link at every cell, or nothing to link."""
        return self.series[1] == 1 or self.links >= self.parallel

    @property
    def taps(self) -> list[tuple[int, ...]]:
        """Return what the take-off can mean: in an even row one or both of the middle cells."""
        places = ("middle", "middle_one") if self.where == "middle" else (self.where,)
        found = [taps_of(parallel=self.parallel, where=each, positions=self.positions) for each in places]
        return list(dict.fromkeys(found))

    def alone(self, function: Callable[..., Any], gap: str, taps: Sequence[int], fed: str) -> Any:
        """Return a figure of a row alone: "uneven" and "even" by the spans, "level" with perfect bars."""
        mohm = {"uneven": self.gap.high, "even": self.gap.low, "level": 0 * self.gap.high}[gap]
        cell = self.cell.high if gap == "even" else self.cell.low
        return function(cell_mohm=cell, gap_mohm=mohm, parallel=float(self.parallel), positions=taps, fed=fed)

    def corners(self, figure: str) -> Span[Any]:
        """Return the bounds of a figure of `pack_shares`, over the corners at which it is least and most."""
        lowest = 2 if figure == "hottest_link" else 1
        groups = {min(max(lowest, each), MOST_GROUPS) for each in self.series}
        lows, highs = [], []
        for series, taps, opposite in product(groups, self.taps, (False, True)):
            row = (series, self.parallel, taps, opposite)
            lows.append(getattr(_shares(*row, self.cell.high, self.gap.low, self.link.high), figure))
            highs.append(getattr(_shares(*row, self.cell.low, self.gap.high, self.link.low), figure))
        return Span(hull(*lows).low, hull(*highs).high)

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
        groups = {min(each, MOST_GROUPS) for each in self.series}
        found: list[Any] = []
        if self.parallel <= LONGEST_ROW:
            for series, taps, opposite in product(groups, self.taps, (False, True)):
                for (cell, gap), link in product(self.between(), self.link):
                    shares = _shares(series, self.parallel, taps, opposite, cell, gap, link)
                    found.append(getattr(shares, figure))
        return hull(*more, *(self.widened(hull(*found)) if found else ()))

    def crossed_stretches(self, taps: tuple[int, ...]) -> list[Any]:
        """Return the hardest stretch of a row whose other side is fed somewhere else than this one."""
        if len(taps) > 1 or (self.linked and self.series[0] > 1):
            return []
        tap = taps[0]
        others = [self.parallel + 1 - tap] if self.linked else [1, tap, self.parallel]
        found = []
        for cell, gap in self.between():
            sides = []
            for other in others:
                cells = crossed_profile(self.parallel, tap, other, 2 * asinh(root(2 * gap / cell) / 2))
                sides.append((_sum(cells[: tap - 1]), _sum(cells[tap:])))
                found.append(maximum(*sides[-1]))
            # Fed in part here, in part there, the two sides of the tap may come out alike.
            for (left, right), (left_2, right_2) in combinations(sides, 2):
                apart, apart_2 = left - right, right_2 - left_2
                crossing = apart * apart_2 > 0
                part = apart_2 / choose(crossing, apart + apart_2, 1.0)
                found.append(choose(crossing, part * left + (1 - part) * left_2, found[-1]))
        return list(self.widened(hull(*found)))

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

    def of_structure(fewest: float, most: float, parallel: float, count: float, *mohm: Any) -> Span[Any]:
        spans = (Span(*mohm[0:2]), Span(*mohm[2:4]), Span(*mohm[4:6]))
        take_off = row.get("where"), row.get("positions")
        return function(_Pack((int(fewest), int(most)), int(parallel), count, *take_off, *spans))

    keys = (low_series, high_series, row["parallel"], links)
    return Span(*by_distinct(of_structure, keys, (*cell, *gap, *link), results=2))
