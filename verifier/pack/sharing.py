"""How unevenly the cells of a parallel row share the current, by where the lead leaves the row."""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from typing import Any

from verifier.electrical.elementary import Span
from verifier.electrical.pack_corners import MOST_GROUPS, NOT_COUNTED
from verifier.electrical.pack_sharing import imbalance_bounds
from verifier.facts import CHOICES, Facts
from verifier.finding import reference
from verifier.pack.counts import parallel, series
from verifier.pack.strip import cell_pitch_mm, link_layers, strip, strip_mohm
from verifier.quantities import (
    Mask,
    Names,
    Number,
    Quantity,
    anywhere,
    both,
    counts_in,
    either,
    hull,
    larger,
    only_where,
    smaller,
    spread_out,
    where,
)  # fmt: skip

NETWORK = reference("resistor network of the row, first instant; it evens out as the group empties")


_LEAST_MOHM, _MOST_MOHM = 1e-6, 1e6
# Counts in a range of the parallel count that are each looked at.
MOST_COUNTS = 40


def take_off_is_seen(facts: Facts) -> Any:
    """Whether anybody knows where the lead leaves the row."""
    return either(facts.choice("observed.take_off.where") > 0, facts.tab_positions != ())


def take_off_missing(facts: Facts) -> Names:
    """Return the place of the take-off as a missing fact, where nobody knows it."""
    missing: Names = where(take_off_is_seen(facts), 0, facts.missing("observed.take_off.where"))
    return missing


def row_is_seen(facts: Facts) -> Any:
    """Whether strip and take-off are known well enough to tell how a row shares."""
    return both(facts.find(strip).known, take_off_is_seen(facts))


def gap_mohm(facts: Facts) -> Quantity:
    """Return the resistance of one bar from cell to cell. [mohm]."""
    seen = facts.find(strip)
    return strip_mohm(facts, facts.find(cell_pitch_mm), seen.layers)


def link_mohm(facts: Facts) -> Quantity:
    """Return the resistance of one link from group to group; one layer is sure. [mohm]."""
    return strip_mohm(facts, facts.find(cell_pitch_mm), facts.find(link_layers))


def by_place(facts: Facts, bounds: Callable[..., Span[Any]], count: Number, needed: Mask = True) -> Quantity:
    """Return what a function of the row and its take-off gives, by the places noted or the word for them.

    Parameters
    ----------
    bounds
        One of the bounds of `verifier.electrical.pack_sharing`.
    count
        Cells in the row.
    needed
        Where the answer matters. Elsewhere, and where strip and take-off are not seen, it is 1: the caller
        chooses otherwise there.
    """
    cell, gap, link = facts.of_cell("dc_mohm"), facts.find(gap_mohm), facts.find(link_mohm)
    links, groups = facts.number("observed.series_links.count"), facts.find(series)
    counted = both(groups.known, groups.high < inf)
    positions, asked = facts.tab_positions, both(facts.find(row_is_seen), needed)
    row: dict[str, Any] = {
        "cell_mohm": _finite(cell),
        "gap_mohm": _finite(gap),
        "link_mohm": _finite(link),
        # Of groups that nobody counted there may be one or many.
        "series": (
            where(counted, larger(groups.low, 1.0), 1.0),
            where(counted, larger(groups.high, 1.0), MOST_GROUPS),
        ),
        # A row has the cells at which tabs were seen, whatever else is said of it.
        "parallel": larger(count, float(max(positions, default=1))),
        "links": where(links.known, links.low, NOT_COUNTED),
    }
    places: list[tuple[dict[str, Any], Mask]] = [({"positions": positions}, asked)]
    if not positions:
        choice = facts.choice("observed.take_off.where")
        words = CHOICES["observed.take_off.where"]
        places = [({"where": word}, both(asked, choice == place)) for place, word in enumerate(words, 1)]
    low: Any = 1.0
    high: Any = 1.0
    for place, here in places:
        if anywhere(here):
            found = bounds(**place, **{name: _at(here, value) for name, value in row.items()})
            low = where(here, spread_out(here, found[0], 1.0), low)
            high = where(here, spread_out(here, found[1], 1.0), high)
    rests = Quantity(low, high).resting_on(cell, gap, link, links, groups)
    # A row of one cell shares nothing, whatever is not known of it.
    missing = where(row["parallel"] > 1, rests.missing, 0)
    return Quantity(low, high, missing, rests.rests_on | facts.rests_on("observed.take_off"))


def _at(here: Mask, value: Any) -> Any:
    if isinstance(value, tuple):
        return tuple(only_where(here, end) for end in value)
    return only_where(here, value)


def _finite(quantity: Quantity) -> tuple[Any, Any]:
    # In a frost that nobody measured a cell's resistance has no upper end; the network wants a number.
    low, high = larger(quantity.low, _LEAST_MOHM), smaller(quantity.high, _MOST_MOHM)
    return low, larger(low, high)


def rows(facts: Facts) -> list[tuple[Number, Mask, Quantity]]:
    """Return every count of cells that the rows may have, where it is one, and the hottest cell over the mean.

    Of rows that nobody counted one count of one cell is returned. Where strip or take-off are not known a row
    may share evenly, or one cell may carry all.
    """
    count = facts.find(parallel)
    known = count.high < inf
    counted = Quantity(where(known, count.low, 1.0), where(known, count.high, 1.0))
    return [
        (cells, here, _imbalance_at(facts, cells, here)) for cells, here in counts_in(counted, MOST_COUNTS)
    ]


def _imbalance_at(facts: Facts, count: Number, needed: Mask) -> Quantity:
    seen, strip_seen = facts.find(row_is_seen), facts.find(strip)
    # The hottest cell carries the mean at least, however widely the bounds were searched.
    searched = by_place(facts, imbalance_bounds, count, needed)
    found = searched.with_ends(larger(searched.low, 1.0), larger(searched.high, 1.0))
    missing = take_off_missing(facts) | strip_seen.width_mm.missing | strip_seen.thickness_mm.missing
    open_ = Quantity(1.0, larger(count, 1.0), missing)
    # A row of one cell shares nothing, and nothing of it is missing.
    return where(count > 1, where(seen, found, open_), Quantity(1.0, 1.0))


def imbalance(facts: Facts) -> Quantity:
    """Return the hottest cell's current over the mean in a row of this pack, 1 to any where nothing is known."""
    count = facts.find(parallel)
    several = facts.find(rows)
    found = several[0][2]
    for _, here, factor in several[1:]:
        found = where(here, hull(found, factor), found)
    wide = count.high - count.low > MOST_COUNTS
    high = where(wide, larger(found.high, where(count.high < inf, count.high, 1.0)), found.high)
    found = found.with_ends(where(wide, 1.0, found.low), high).resting_on(count)
    return where(count.high < inf, found, Quantity(1.0, inf, found.missing, found.rests_on))
