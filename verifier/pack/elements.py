"""The elements that the pack current passes, and what each of them carries continuously."""

from __future__ import annotations

from math import inf
from typing import Any

from verifier.bounds import Bounds
from verifier.electrical.pack_sharing import (
    hardest_stretch_bounds,
    link_imbalance_bounds,
    tab_imbalance_bounds,
)
from verifier.fact_names import RESTS_ON, SELLERS_WORD
from verifier.facts import CHOICES, NO, Facts
from verifier.finding import ARITHMETIC, Remark, of_fields, remark
from verifier.fuses import FUSE_FOR_HOURS
from verifier.pack.bms import below_its_trip
from verifier.pack.counts import parallel, series
from verifier.pack.sharing import (
    MOST_COUNTS,
    NETWORK,
    by_place,
    row_is_seen,
    rows,
    take_off_is_seen,
    take_off_missing,
)
from verifier.pack.strip import link_layers, strip, strip_limit
from verifier.pack.strip_heat import links_warm, tab_warms
from verifier.pack.surface import surface_steps
from verifier.pack.wear import current_left
from verifier.quantities import (
    Number,
    Quantity,
    both,
    counts_in,
    exactly,
    hull,
    larger,
    negated,
    product,
    ratio,
    smaller,
    where,
)

NOT_IN_THE_WAY = Quantity(inf, inf)


# -- cells ---------------------------------------------------------------------------------------------------


def cells_carry(facts: Facts, of_one: Quantity) -> Quantity:
    """Return what the cells of a row carry together, when one carries so much. [A].

    More cells do not always carry more, because a longer row may share worse, so every count in a range is
    looked at. However a row shares, one cell's limit can always be drawn from it. Worn cells carry less.
    """
    of_one = of_one * facts.find(current_left)
    count = facts.find(parallel)
    found: Quantity | None = None
    for cells_in_row, here, factor in facts.find(rows):
        carried = exactly(cells_in_row) * of_one / factor
        found = carried if found is None else where(here, hull(found, carried), found)
    assert found is not None  # noqa: S101 - there is one count at least
    wide = both(count.high < inf, count.high - count.low > MOST_COUNTS)
    most = where(count.high < inf, count.high, 1.0)
    found = where(wide, Quantity(of_one.low, product(most, of_one.high)).resting_on(found), found)
    unknown = Quantity(
        of_one.low, where(of_one.high > 0, inf, 0.0), of_one.missing, of_one.rests_on, of_one.grade
    )
    return where(count.high < inf, found, unknown).resting_on(count)


def cells(facts: Facts) -> Quantity:
    """Return what the cells carry continuously over the air of use. [A]."""
    one = facts.of_cell("continuous_a")
    found = cells_carry(facts, one)
    if facts.single:
        facts.find(parallel)
        surface_steps(facts, "continuous_a")
        facts.step(
            "I_cell",
            "what one cell's sheet grants over the air of use",
            one,
            "A",
            facts.cell.source("continuous_a"),
        )
        sharing_step(facts)
        facts.step("I_cells", "P x I_cell / f_share", found, "A", ARITHMETIC)
        facts.element("cells", found, notes=_of_cells(facts, found))
    return found


def _of_cells(facts: Facts, found: Quantity) -> list[Remark]:
    """Return what to know beside the current of the cells: what of it is only said, and what was not seen."""
    notes = [] if facts.find(row_is_seen) else [remark("row_not_seen")]
    count = facts.find(parallel)
    if count.high < inf and count.rests_on & SELLERS_WORD:
        notes.append(remark("parallel_only_said", parallel=Bounds(count.low, count.high)))
    if found.rests_on & RESTS_ON.bit("claim.cell_marking"):
        notes.append(remark("cells_only_said"))
    return notes


def cells_at_best(facts: Facts) -> Quantity:
    """Return what the cells carry in the air where their sheets grant the most: in the cold they bear less. [A]."""
    return cells_carry(facts, facts.of_cell("discharge_best_a"))


def sharing_step(facts: Facts) -> None:
    """Note how unevenly the shortest possible row shares."""
    count = facts.find(parallel)
    if count.high < inf:
        factor = facts.find(rows)[0][2]
        facts.step("f_share", "hottest cell over the mean of its row", factor, "-", NETWORK)


# -- links between groups ------------------------------------------------------------------------------------


def series_links(facts: Facts) -> Quantity:
    """Return what the links from group to group carry: as many as there are, as unevenly as they share. [A]."""
    count, groups = facts.number("observed.series_links.count"), facts.find(series)
    row, layers = facts.find(parallel), facts.find(link_layers)
    one = strip_limit(facts, layers, "I_link")
    uneven = _link_imbalance(facts, count, row)
    found = where(count.known, count * one / uneven, Quantity(0.0, inf, count.missing | one.missing))
    found = found.resting_on(count)
    single_group = both(groups.low == 1, groups.high == 1)
    found = where(single_group, Quantity(inf, inf, 0, groups.rests_on), found)
    if facts.single:
        _links_shown(facts, count, uneven, found, row, layers)
    return found


def _links_shown(
    facts: Any, count: Quantity, uneven: Quantity, found: Quantity, row: Quantity, layers: Quantity
) -> None:
    if found.low == inf:
        facts.element("series_links", found, state="not fitted", notes=(remark("single_group"),))
        return
    notes = []
    if count.known:
        facts.step(
            "n_links", "links from group to group", count, "-", of_fields("observed.series_links.count")
        )
        facts.step("f_links", "hottest link over the mean of all", uneven, "-", NETWORK)
        facts.step("I_links", "n_links x I_link / f_links", found, "A", ARITHMETIC)
        if layers.low < layers.high < inf:
            notes.append(remark("link_layers_open", layers=layers.high))
        if uneven.high > _TOLD_UNEVEN:
            notes.append(remark("links_share", times=uneven.high))
        links_warm(facts, uneven / count, layers)
        if row.high < inf and count.high < row.low:
            notes.append(remark("fewer_links_than_cells", links=count.high, parallel=row.low))
    facts.element("series_links", found, notes=notes, share=1 / count.high if count.known else None)


# Links that share less evenly than this are told of.
_TOLD_UNEVEN = 1.1


def _link_imbalance(facts: Facts, count: Quantity, row: Quantity) -> Quantity:
    """Return the hottest link's current over the mean of all; one may carry all where nothing tells. [-]."""
    seen = both(both(facts.find(row_is_seen), count.known), both(row.known, row.high < inf))
    # Of every count that the row may have: a tab in the middle lies on one cell of an odd row, and between two of an
    # even one.
    counted = Quantity(where(seen, row.low, 2.0), where(seen, row.high, 2.0))
    several = [
        (here, by_place(facts, link_imbalance_bounds, cells, both(seen, here)))
        for cells, here in counts_in(counted, MOST_COUNTS)
    ]
    found = several[0][1]
    for here, factor in several[1:]:
        found = where(here, hull(found, factor), found)
    wide = row.high - row.low > MOST_COUNTS
    most = where(wide, larger(found.high, where(count.known, count.high, inf)), found.high)
    found = found.with_ends(where(wide, smaller(found.low, 1.0), found.low), most).resting_on(row)
    open_ = Quantity(
        1.0, where(count.known, larger(count.high, 1.0), inf), take_off_missing(facts) | row.missing
    )
    return where(seen, found, open_)


# -- take-off ------------------------------------------------------------------------------------------------


def take_off(facts: Facts) -> Quantity:
    """Return what the row and the tabs through which the current leaves it carry. [A].

    Layers of the take-off that nobody counted are not those of the rows.
    """
    seen, count = facts.find(strip), facts.find(parallel)
    layers = facts.number_within("observed.take_off.layers", "strip_layers")
    tab, row = strip_limit(facts, layers, "I_tab"), strip_limit(facts, seen.layers, "I_row")
    placed = take_off_is_seen(facts)
    known = both(both(placed, seen.known), both(count.known, count.high < inf))
    counted = Quantity(where(known, count.low, 1.0), where(known, count.high, 1.0))

    found: Quantity | None = None
    for cells_in_row, here in counts_in(counted, MOST_COUNTS):
        asked = both(known, here)
        # The more even the tabs share, the more they carry together.
        # The hottest tab carries the mean at least, however widely the bounds were searched.
        searched = by_place(facts, tab_imbalance_bounds, cells_in_row, asked)
        uneven = searched.with_ends(larger(searched.low, 1.0), larger(searched.high, 1.0))
        through_tabs = tab * _tabs(facts, cells_in_row) / uneven
        share = by_place(facts, hardest_stretch_bounds, cells_in_row, asked)
        along = Quantity(ratio(row.low, share.high), ratio(row.high, share.low)).resting_on(row)
        carried = Quantity(
            smaller(through_tabs.low, along.low), smaller(through_tabs.high, along.high)
        ).resting_on(through_tabs, along)
        found = carried if found is None else where(here, hull(found, carried), found)
    assert found is not None  # noqa: S101 - there is one count at least
    wide = counted.high - counted.low > MOST_COUNTS
    least = Quantity(smaller(tab.low, row.low), counted.high * tab.high).resting_on(tab, row)
    found = where(wide, least, found)
    found = Quantity(
        found.low,
        found.high,
        found.missing,
        found.rests_on | facts.rests_on("observed.take_off"),
        found.grade,
    )
    lacking = take_off_missing(facts) | tab.missing | row.missing | count.missing
    found = where(known, found, Quantity(0.0, inf, lacking, found.rests_on)).resting_on(count)
    if facts.single:
        _take_off_shown(facts, known, counted, found, layers)
    return found


def _tabs(facts: Facts, cells: Number) -> Any:
    positions = facts.tab_positions
    if positions:
        return float(len(positions))
    every = CHOICES["observed.take_off.where"].index("every_cell") + 1
    return where(facts.choice("observed.take_off.where") == every, cells, 1.0)


def _take_off_shown(facts: Any, known: bool, counted: Quantity, found: Quantity, layers: Quantity) -> None:
    if not known:
        facts.element("take_off", found, state="unknown", notes=(remark("take_off_not_seen"),))
        return
    share = by_place(facts, hardest_stretch_bounds, counted.low)
    count = _tabs(facts, counted.low)
    facts.step("n_tabs", "tabs of the row", count, "-", of_fields("observed.take_off"))
    facts.step("k_row", "part of the current in the hardest stretch of the row", share, "-", NETWORK)
    facts.step("I_take_off", "least of n_tabs x I_tab and I_row / k_row", found, "A", ARITHMETIC)
    uneven = by_place(facts, tab_imbalance_bounds, counted.low)
    tab_warms(facts, uneven.with_ends(max(uneven.low, 1.0), max(uneven.high, 1.0)) / exactly(count), layers)
    facts.element("take_off", found, share=max(share.high, 1 / count))


# -- rated parts ---------------------------------------------------------------------------------------------


def bms(facts: Facts) -> Quantity:
    """Return the BMS's continuous rating; a listing's figure may be its peak or its trip and only bounds. [A]."""
    seen, said = facts.number("observed.bms.continuous_a"), facts.number("claim.bms_current_a")
    by_word = Quantity(0.0, said.high, seen.missing, said.rests_on)
    found = where(seen.known, seen, where(said.known, by_word, Quantity(0.0, inf, seen.missing)))
    found = below_its_trip(facts, found)
    if facts.single:
        field = "observed.bms.continuous_a" if seen.known else "claim.bms_current_a"
        if found.known:
            facts.step("I_bms", "continuous rating as printed", found, "A", of_fields(field))
        notes = () if seen.known else (remark("bms_only_said" if said.known else "rating_not_known"),)
        facts.element("bms", found, notes=notes, share=1.0)
    return found


def _rated(facts: Facts, element: str, rating: str) -> Quantity:
    """Return an element that carries what is printed on it; one that is not fitted is not in the way. [A]."""
    seen, fitted = facts.number(rating), facts.choice(f"observed.{element}.fitted")
    absent = both(fitted == NO, negated(seen.known))
    found = where(absent, NOT_IN_THE_WAY, seen)
    if facts.single:
        if absent:
            facts.element(element, found, state="not fitted", notes=(remark(f"no_{element}"),))
        else:
            if seen.known:
                facts.step(f"I_{element}", "rating as printed", seen, "A", of_fields(rating))
            notes = () if seen.known else (remark("rating_not_known"),)
            if element == "fuse" and seen.known:
                notes = (remark("fuse_for_hours", for_hours_a=FUSE_FOR_HOURS * seen.low),)
            facts.element(element, found, notes=notes, share=1.0)
    return found


def connector(facts: Facts) -> Quantity:
    """Return the connector's continuous rating. [A]."""
    return _rated(facts, "connector", "observed.connector.continuous_a")


def fuse(facts: Facts) -> Quantity:
    """Return the fuse's rating, the most that it is made to carry; as protection it is judged by the alarms. [A].

    For hours it is loaded with less: a fuse by UL 248-14 is tested for four hours at its rating and meant for three
    quarters of it (read on a trade page), and warm air takes more. What is granted for use has its reserve.
    """
    return _rated(facts, "fuse", "observed.fuse.rating_a")
