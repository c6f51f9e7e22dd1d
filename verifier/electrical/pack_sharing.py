"""Between what the shares of a pack's cells, series links, tabs and strips lie, by what is known of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NotRequired, TypedDict, Unpack

from verifier.electrical.elementary import (
    Span,
    by_distinct,
    check_not_negative,
    check_positive,
    hull,
    minimum,
)
from verifier.electrical.pack_corners import LONGEST_ROW, NOT_COUNTED, PackKind
from verifier.electrical.sharing import (
    greatest,
    hardest_stretch_fraction,
    imbalance_factor,
    tab_imbalance,
)


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

    def of_pack(pack: PackKind) -> Span[Any]:
        end = pack.taps[0] in ((1,), (pack.parallel,))
        if pack.linked and pack.parallel <= LONGEST_ROW:
            several = pack.positions is not None and len(pack.taps[0]) > 1
            if not several:
                return pack.corners("hottest_cell")
            found = pack.searched("hottest_cell", [])
            # No links share worse than those that nobody counted, however widely the bounds were searched.
            most = minimum(found.high, pack.alone(imbalance_factor, "uneven", (1,), "both_bars"))
            return Span(minimum(found.low, most), most)
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

    def of_pack(pack: PackKind) -> Span[Any]:
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

    def of_pack(pack: PackKind) -> Span[Any]:
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

    def of_pack(pack: PackKind) -> Span[Any]:
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


def _bounds(function: Callable[[PackKind], Span[Any]], row: PackRow) -> Span[Any]:
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
        return function(PackKind(single, bool(counted), int(parallel), links, *take_off, *spans))

    # How many groups there are is a number like any other, but for a single one; so are more links than cells.
    fewest, most = low_series // 1, high_series // 1
    keys = (
        1.0 * (fewest == 1), 1.0 * (most == 1), 1.0 * (fewest == most), row["parallel"],
        minimum(links, row["parallel"]),
    )  # fmt: skip
    values = (1.0 * fewest, 1.0 * most, *cell, *gap, *link)
    return Span(*by_distinct(of_structure, keys, values, results=2))
