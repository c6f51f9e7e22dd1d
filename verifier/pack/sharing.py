"""How unevenly the cells of a parallel row share the current, by where the lead leaves the row."""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from typing import Any

from verifier.electrical.elementary import Span
from verifier.electrical.pack_sharing import MOST_GROUPS, NOT_COUNTED, imbalance_bounds
from verifier.facts import CHOICES, Facts
from verifier.finding import reference
from verifier.pack.counts import parallel, series
from verifier.pack.strip import cell_pitch_mm, strip, strip_mohm
from verifier.quantities import Number, Quantity, both, by_choice, either, larger, smaller, where

NETWORK = reference("resistor network of the row, first instant; it evens out as the group empties")


_LEAST_MOHM, _MOST_MOHM = 1e-6, 1e6


def row_is_seen(facts: Facts) -> Any:
    """Whether strip and take-off are known well enough to tell how a row shares."""
    placed = either(facts.choice("observed.take_off.where") > 0, facts.tab_positions != ())
    return both(facts.find(strip).known, placed)


def gap_mohm(facts: Facts) -> Quantity:
    """Return the resistance of one bar from cell to cell. [mohm]."""
    seen = facts.find(strip)
    return strip_mohm(facts, facts.find(cell_pitch_mm), seen.layers)


def link_mohm(facts: Facts) -> Quantity:
    """Return the resistance of one link from group to group; one layer is sure. [mohm]."""
    seen = facts.find(strip)
    layers = Quantity(1.0 + 0 * seen.layers.high, seen.layers.high, seen.layers.missing, seen.layers.rests_on)
    return strip_mohm(facts, facts.find(cell_pitch_mm), layers)


def by_place(facts: Facts, bounds: Callable[..., Span[Any]], count: Number) -> Quantity:
    """Return what a function of the row and its take-off gives, by the places noted or the word for them.

    Parameters
    ----------
    bounds
        One of the bounds of `verifier.electrical.pack_sharing`.
    count
        Cells in the row; where strip and take-off are not known any number stands, and the caller chooses.
    """
    seen = facts.find(row_is_seen)
    cell, gap, link = facts.of_cell("dc_mohm"), facts.find(gap_mohm), facts.find(link_mohm)
    links, groups = facts.number("observed.series_links.count"), facts.find(series)
    counted = both(groups.known, groups.high < inf)
    row: dict[str, Any] = dict(  # noqa: C408 - keywords of the bounds
        cell_mohm=_placed(seen, cell),
        gap_mohm=_placed(seen, gap),
        link_mohm=_placed(seen, link),
        # Of groups that nobody counted there may be one or many.
        series=(
            where(counted, larger(groups.low, 1.0), 1.0),
            where(counted, larger(groups.high, 1.0), MOST_GROUPS),
        ),
        parallel=count,
        links=where(links.known, links.low, NOT_COUNTED),
    )
    positions = facts.tab_positions
    if positions:
        # A row has the cells at which tabs were seen, whatever else is said of it.
        row["parallel"] = larger(count, float(max(positions)))
        span = bounds(positions=positions, **row)
        low, high = span[0], span[1]
    else:

        def of_word(place: int) -> tuple[Any, Any]:
            # Where nobody noted it any word gives numbers of the right kind.
            found = bounds(where=CHOICES["observed.take_off.where"][max(0, place - 1)], **row)
            return found[0], found[1]

        low, high = by_choice(facts.choice("observed.take_off.where"), of_word)
    found = Quantity(low, high).resting_on(cell, gap, link, links, groups)
    return Quantity(low, high, found.missing, found.rests_on | facts.rests_on("observed.take_off"))


def _placed(seen: Any, quantity: Quantity) -> tuple[Any, Any]:
    # In a frost that nobody measured a cell's resistance has no upper end; the network wants a number.
    low, high = larger(quantity.low, _LEAST_MOHM), smaller(quantity.high, _MOST_MOHM)
    return where(seen, low, 1.0), where(seen, larger(low, high), 1.0)


def imbalance_at(facts: Facts, count: Number) -> Quantity:
    """Return the hottest cell's current over the mean in rows of so many cells. [-].

    Where strip or take-off are not known a row may share evenly, or one cell may carry all.
    """
    seen, strip_seen = facts.find(row_is_seen), facts.find(strip)
    found = by_place(facts, imbalance_bounds, count)
    missing = (
        facts.missing("observed.take_off.where")
        | strip_seen.width_mm.missing
        | strip_seen.thickness_mm.missing
    )
    open_ = Quantity(1.0, larger(count, 1.0), missing)
    return where(seen, found, where(count > 1, open_, Quantity(1.0, 1.0)))


def imbalance(facts: Facts) -> Quantity:
    """Return the hottest cell's current over the mean in a row of this pack, 1 to any where nothing is known."""
    count = facts.find(parallel)
    known = count.high < float("inf")
    fewest, most = where(known, count.low, 1.0), where(known, count.high, 1.0)
    first, last = imbalance_at(facts, fewest), imbalance_at(facts, most)
    found = Quantity(smaller(first.low, last.low), larger(first.high, last.high)).resting_on(
        first, last, count
    )
    return where(known, found, Quantity(1.0, float("inf"), found.missing, found.rests_on))
