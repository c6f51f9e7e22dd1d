"""Continuous current: the least of what each element of the path carries at the temperature of use."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from verifier.bounds import down
from verifier.case_facts import CaseFacts
from verifier.facts import Facts
from verifier.figures.common import (
    Judged,
    answer,
    caution_of_default_air,
    caution_of_grade,
    naming_what_is_sure,
    too_much,
)
from verifier.finding import ELEMENTS, RemarkWhere, remark
from verifier.fuses import FUSE_FOR_HOURS
from verifier.pack.claimed_current import continuous_claim
from verifier.pack.counts import parallel
from verifier.pack.current import judged_continuous, lacking_of_a_peak, pack_current, sure_limit
from verifier.pack.elements import cells, connector, series_links, take_off
from verifier.pack.fuse_to_fit import fuse_to_fit, strip_of_all
from verifier.pack.leads import main_leads
from verifier.pack.strip import strip
from verifier.pack.wear import is_worn_out, told_of_current
from verifier.quantities import (
    Mask,
    Number,
    Quantity,
    anywhere,
    both,
    by_distinct,
    either,
    larger,
    negated,
    smaller,
    where,
)
from verifier.verdict import at_most

LIMITS = ELEMENTS
# A product that meets a claim exactly must not miss it by the last binary digit.
_ROUNDING = 1e-9
_ROOM_C = 20.0


def judge(facts: Facts) -> Judged:
    """Judge the continuous current over the air of use, element by element. [A]."""
    claim, only_a_maximum = continuous_claim(facts)
    outcome = judged_continuous(facts)
    supported, limited_by = facts.find(pack_current)
    supported = supported.lacking(lacking_of_a_peak(facts))
    judged = answer(facts, claim, supported, outcome, limited_by)
    judged = replace(naming_what_is_sure(judged, facts.find(sure_limit)), only_a_maximum=only_a_maximum)
    if facts.single:
        if only_a_maximum:
            beside = facts.claim("peak_current_a").made
            facts.caution(
                remark("maximum_beside_peak" if beside else "called_a_maximum", "claim.max_current_a")
            )
        _remarks(facts, judged)
    return judged


def _remarks(facts: Facts, judged: Judged) -> None:
    for said in facts.cell.said("continuous_a"):
        facts.caution(said)
    caution_of_default_air(facts, judged)
    caution_of_grade(facts, judged.supported)
    links, row = facts.number("observed.series_links.count"), facts.find(parallel)
    if links.known and links.high < row.low < inf:
        facts.caution(
            remark(
                "fewer_links_than_cells", "observed.series_links.count", links=links.high, parallel=row.low
            )
        )
    facts.tell(_controller(facts, judged.supported))
    facts.tell(_fuse_for_hours(facts))
    for said in told_of_current(facts):
        facts.caution(said)
    _what_only_copper_carries(facts, judged)
    facts.tell(_what_nothing_stops(facts))
    peak = facts.claim("peak_current_a")
    if peak.made and not judged.claim.made:
        facts.caution(remark("peak_is_not_continuous", "claim.peak_current_a", peak_a=peak.high))


def _what_only_copper_carries(facts: Facts, judged: Judged) -> None:
    """Note a claim that strip of nickel cannot carry, nor of steel, where nobody knows what the strip is made of."""
    claim = judged.claim
    if not isinstance(facts, CaseFacts) or not claim.made or not facts.find(strip).material_open:
        return
    nickel = facts.case.observed.strip.model_copy(update={"material": "nickel"})
    at_best = facts.with_observed(strip=nickel, material_test=None).find(pack_current)[0]
    if at_best.high < claim.low and at_most(claim.low, judged.supported.high):
        facts.caution(remark("only_copper", "observed.strip.material", claimed_a=claim.low))


def dangers(facts: Facts, supported: Quantity) -> list[RemarkWhere]:
    """Return what draws or lets through more than the pack carries."""
    return [*_controller(facts, supported), *_fuse_for_hours(facts), *_what_nothing_stops(facts)]


def _fuse_for_hours(facts: Facts) -> list[RemarkWhere]:
    """Return a fuse of which the rating reaches the claim, and what it carries for hours does not."""
    fuse, claim = facts.number("observed.fuse.rating_a"), facts.claim("continuous_current_a")
    for_hours_a = FUSE_FOR_HOURS * fuse.low
    near = both(claim.high > for_hours_a * (1 + _ROUNDING), claim.high <= fuse.high)
    numbers = {"claimed_a": claim.high, "rating_a": fuse.low, "for_hours_a": for_hours_a}
    return [
        RemarkWhere(
            "fuse_near_its_rating",
            ("observed.fuse.rating_a",),
            both(both(claim.made, fuse.known), near),
            numbers,
        )
    ]


def _controller(facts: Facts, supported: Quantity) -> list[RemarkWhere]:
    """Return that the controller draws more than the pack carries, surely or perhaps."""
    field = "use.controller_current_a"
    controller = facts.number(field)
    more, surely = (
        both(controller.high < inf, controller.high > supported.low),
        controller.low > supported.high,
    )
    numbers = {"controller_a": controller, "sure_a": supported.low, "most_a": supported.high}
    codes = ("controller_too_strong", "controller_may_be_too_strong")
    return too_much(codes, field, more, surely, numbers)


def _cells_in_a_room(facts: Facts, through_a: Number, board: Mask) -> Quantity:
    """Return what the cells bear in that air of use that is nearest to a room; in the cold they overheat last. [A]."""
    found = facts.find(cells)
    asked = both(board, found.high < through_a)
    if not anywhere(asked):
        return found
    room_c = smaller(larger(_ROOM_C, facts.air.low_c), facts.air.high_c)
    return where(asked, facts.in_air(room_c, room_c).find(cells), found)


def _fuse_above_strip(facts: Facts, fuse: Quantity, asked: Mask) -> list[RemarkWhere]:
    """Return a fuse that lets more through than the strip that carries all of the current, where that is the weaker.

    Where the leads carry no more, they are what the fuse is judged by.
    """
    carried, place = strip_of_all(facts)
    weaker = both(fuse.low > carried.high, carried.high < facts.find(main_leads).high)
    above = both(both(asked, fuse.known), weaker)
    if not anywhere(above):
        return []
    numbers = {"rating_a": fuse.low, "part": place, "most_a": carried.high, **fuse_to_fit(facts)}
    return [
        RemarkWhere(
            "fuse_above_strip", ("observed.fuse.rating_a", field), both(above, place == ELEMENTS.index(part)), numbers
        )
        for part, field in (
            ("take_off", "observed.take_off.where"), ("series_links", "observed.series_links.count"),
        )
    ]  # fmt: skip


def _what_nothing_stops(facts: Facts) -> list[RemarkWhere]:
    """Return what BMS and fuse let more through than it carries, and a fuse that may be too large for its leads."""
    board, fuse = facts.number("observed.bms.continuous_a"), facts.number("observed.fuse.rating_a")
    if not anywhere(either(board.known, fuse.known)):
        return []
    through_a = where(fuse.known, smaller(board.low, fuse.low), board.low)
    weak, above = _weakest_behind(facts, board, fuse, through_a)
    return [
        *weak,
        *_fuse_above_strip(facts, fuse, negated(above)),
        *_may_be_above_leads(facts, "fuse_may_be_above_leads", "observed.fuse.rating_a", fuse, True),
        # Whatever the BMS lets through, a fuse stops, or is told.
        *_may_be_above_leads(
            facts, "bms_may_be_above_leads", "observed.bms.continuous_a", board, negated(fuse.known)
        ),
    ]


def _weakest_behind(
    facts: Facts, board: Quantity, fuse: Quantity, through_a: Number
) -> tuple[list[RemarkWhere], Mask]:
    """Return the weakest of what is behind BMS and fuse where they let more through, and where they do. [A]."""
    parts = (
        ("bms_above_cells", "observed.cell.marking", _cells_in_a_room(facts, through_a, board.known)),
        ("bms_above_connector", "observed.connector.continuous_a", facts.find(connector)),
        ("bms_above_links", "observed.series_links.count", facts.find(series_links)),
        ("bms_above_strip", "observed.take_off.where", facts.find(take_off)),
    )
    _, _, first = parts[0]
    most_a, sure_a, lacking, weakest = first.high, first.low, first.missing, 0
    for place, (_, _, carried) in enumerate(parts[1:], 1):
        less = either(carried.high < most_a, both(carried.high == most_a, carried.low < sure_a))
        most_a, sure_a = where(less, carried.high, most_a), where(less, carried.low, sure_a)
        lacking, weakest = where(less, carried.missing, lacking), where(less, place, weakest)
    above = both(board.known, through_a > most_a)
    numbers = {
        "bms_a": board.low, "fuse_a": where(fuse.known, fuse.low, inf), "most_a": most_a,
        "sure_a": _rounded_down(sure_a, above), "lacking": lacking,
    }  # fmt: skip
    found = [
        RemarkWhere(code, ("observed.bms.continuous_a", field), both(above, weakest == place), numbers)
        for place, (code, field, _) in enumerate(parts)
    ]
    # What worn out cells bore new is nothing to be told of.
    of_cells = replace(found[0], holds=both(found[0].holds, negated(facts.find(is_worn_out))))
    return [of_cells, *found[1:]], above


def _may_be_above_leads(
    facts: Facts, code: str, field: str, through: Quantity, asked: Mask
) -> list[RemarkWhere]:
    """Return that more is let through than the leads surely carry; what surely is above them is an alarm."""
    leads = facts.find(main_leads)
    between = both(
        both(leads.low > 0, leads.high < inf), both(leads.low < through.low, through.low <= leads.high)
    )
    above = both(both(through.known, asked), between)
    if not anywhere(above):
        return []
    numbers = {"rating_a": through.low, "sure_a": _rounded_down(leads.low, above), **fuse_to_fit(facts)}
    return [RemarkWhere(code, (field, "observed.leads.awg"), above, numbers)]


def _rounded_down(amps: Number, asked: Mask) -> Number:
    """Return a current to the safe side, where it is asked for. [A]."""
    (found,) = by_distinct(lambda each: (down(each),), amps, asked=asked, otherwise=(0.0,))
    return found
