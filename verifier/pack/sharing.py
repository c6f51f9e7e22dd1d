"""How unevenly the cells of a parallel row share the current, by where the lead leaves the row."""

from __future__ import annotations

from typing import Any

from verifier.electrical.sharing import imbalance_bounds
from verifier.facts import CHOICES, Facts
from verifier.finding import reference
from verifier.pack.counts import parallel, series
from verifier.pack.strip import cell_pitch_mm, strip, strip_mohm
from verifier.quantities import Number, Quantity, both, by_choice, either, larger, smaller, where

NETWORK = reference("resistor network of the row, first instant; it evens out as the group empties")


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


def by_place(facts: Facts, of: Any) -> Any:
    """Return what a function of a take-off gives, by the places noted or by the word for them.

    Parameters
    ----------
    of : callable
        Of ``where=...`` or ``positions=...``. Of a middle tab on an even row it is asked twice, because the tab
        may join both middle cells or sit on one.
    """
    positions = facts.tab_positions
    if positions:
        return of(positions=positions)

    def of_word(place: int) -> Any:
        # Where nobody noted it the caller chooses otherwise; any word gives numbers of the right kind.
        word = CHOICES["observed.take_off.where"][max(0, place - 1)]
        if word != "middle":
            return of(where=word)
        joined, alone = of(where="middle"), of(where="middle_one")
        return tuple(
            take(mine, theirs)
            for take, mine, theirs in zip((smaller, larger), joined, alone, strict=True)
        )

    return by_choice(facts.choice("observed.take_off.where"), of_word)


def imbalance_at(facts: Facts, count: Number) -> Quantity:
    """Return the hottest cell's current over the mean in rows of so many cells. [-].

    Where strip or take-off are not known a row may share evenly, or one cell may carry all.
    """
    seen = facts.find(row_is_seen)
    cell, gap, link = facts.of_cell("dc_mohm"), facts.find(gap_mohm), facts.find(link_mohm)
    links, groups = facts.number("observed.series_links.count"), facts.find(series)
    # Placeholders stand where nothing is known; the answer there is chosen below.
    in_series = where(groups.known, larger(groups.high, 1.0), 1.0)

    def of(**place: Any) -> tuple[Any, Any]:
        span = imbalance_bounds(
            cell_mohm=(where(seen, cell.low, 1.0), where(seen, cell.high, 1.0)),
            gap_mohm=(where(seen, gap.low, 1.0), where(seen, gap.high, 1.0)),
            link_mohm=(where(seen, link.low, 1.0), where(seen, link.high, 1.0)),
            parallel=count,
            series=in_series,
            links=where(links.known, links.low, count),
            **place,
        )
        return span[0], span[1]

    low, high = by_place(facts, of)
    take_off = facts.missing("observed.take_off.where")
    found = Quantity(low, high).resting_on(cell, gap, link)
    found = Quantity(found.low, found.high, found.missing, found.rests_on | facts.rests_on("observed.take_off"))
    strip_seen = facts.find(strip)
    missing = take_off | strip_seen.width_mm.missing | strip_seen.thickness_mm.missing
    open_ = Quantity(1.0, larger(count, 1.0), missing)
    return where(seen, found, where(count > 1, open_, Quantity(1.0, 1.0)))


def imbalance(facts: Facts) -> Quantity:
    """Return the hottest cell's current over the mean in a row of this pack, 1 to any where nothing is known."""
    count = facts.find(parallel)
    known = count.high < float("inf")
    fewest, most = where(known, count.low, 1.0), where(known, count.high, 1.0)
    first, last = imbalance_at(facts, fewest), imbalance_at(facts, most)
    found = Quantity(smaller(first.low, last.low), larger(first.high, last.high)).resting_on(first, last, count)
    return where(known, found, Quantity(1.0, float("inf"), found.missing, found.rests_on))
