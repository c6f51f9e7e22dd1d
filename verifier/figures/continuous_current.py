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
    shown,
)
from verifier.finding import ELEMENTS, remark
from verifier.pack.claimed_current import continuous_claim
from verifier.pack.counts import parallel
from verifier.pack.current import judged_continuous, lacking_of_a_peak, pack_current, sure_limit
from verifier.pack.elements import FUSE_FOR_HOURS, cells, connector, series_links, take_off
from verifier.pack.fuse_to_fit import fuse_to_fit, strip_of_all
from verifier.pack.leads import main_leads
from verifier.pack.strip import strip
from verifier.pack.wear import told_of_current
from verifier.quantities import Quantity
from verifier.verdict import at_most

LIMITS = ELEMENTS
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
    controller = facts.number("use.controller_current_a")
    if judged.supported.low < controller.high < inf:
        sure = controller.low > judged.supported.high
        facts.caution(
            remark(
                "controller_too_strong" if sure else "controller_may_be_too_strong",
                "use.controller_current_a", controller_a=shown(controller), sure_a=judged.supported.low,
                most_a=judged.supported.high,
            )
        )  # fmt: skip
    fuse = facts.number("observed.fuse.rating_a")
    if judged.claim.made and FUSE_FOR_HOURS * fuse.high < judged.claim.high <= fuse.high:
        facts.caution(
            remark(
                "fuse_near_its_rating", "observed.fuse.rating_a", claimed_a=judged.claim.high, rating_a=fuse.high,
                for_hours_a=FUSE_FOR_HOURS * fuse.high,
            )
        )  # fmt: skip
    for said in told_of_current(facts):
        facts.caution(said)
    _what_only_copper_carries(facts, judged)
    _what_nothing_stops(facts)
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


def _cells_in_a_room(facts: Facts, through_a: float) -> Quantity:
    """Return what the cells bear in that air of use that is nearest to a room; in the cold they overheat last. [A]."""
    found = facts.find(cells)
    if found.high >= through_a or not isinstance(facts, CaseFacts):
        return found
    air = facts.air
    room_c = min(max(_ROOM_C, air.low_c), air.high_c)
    return facts.in_air(room_c, room_c).find(cells)


def _fuse_above_strip(facts: Facts, fuse: Quantity) -> None:
    """Note a fuse that lets more through than the strip that carries all of the current, where that is the weaker.

    Where the leads carry no more, they are what the fuse is judged by.
    """
    carried, part = strip_of_all(facts)
    if fuse.low > carried.high and carried.high < facts.find(main_leads).high:
        facts.caution(
            remark(
                "fuse_above_strip", "observed.fuse.rating_a",
                "observed.take_off.where" if part == ELEMENTS.index("take_off") else "observed.series_links.count",
                rating_a=fuse.low, part=ELEMENTS[part], most_a=carried.high, **fuse_to_fit(facts),
            )
        )  # fmt: skip


def _what_nothing_stops(facts: Facts) -> None:
    """Note what BMS and fuse let more through than it carries, and a fuse that may be too large for its leads."""
    board, fuse = facts.number("observed.bms.continuous_a"), facts.number("observed.fuse.rating_a")
    through_a = min(board.low, fuse.low) if fuse.known else board.low
    strip, links, plug = facts.find(take_off), facts.find(series_links), facts.find(connector)
    of_cells = _cells_in_a_room(facts, through_a)
    # The weakest of them is told.
    most_a, sure_a, code, field = min(
        (strip.high, strip.low, "bms_above_strip", "observed.take_off.where"),
        (links.high, links.low, "bms_above_links", "observed.series_links.count"),
        (of_cells.high, of_cells.low, "bms_above_cells", "observed.cell.marking"),
        (plug.high, plug.low, "bms_above_connector", "observed.connector.continuous_a"),
    )
    if board.known and through_a > most_a:
        facts.caution(
            remark(
                code, "observed.bms.continuous_a", field, bms_a=board.low,
                fuse_a=fuse.low if fuse.known else None, most_a=most_a, sure_a=down(sure_a),
            )
        )  # fmt: skip
    elif fuse.known:
        _fuse_above_strip(facts, fuse)
    leads = facts.find(main_leads)
    # What surely is above them is an alarm.
    for code, field, through in (
        ("fuse_may_be_above_leads", "observed.fuse.rating_a", fuse),
        ("bms_may_be_above_leads", "observed.bms.continuous_a", board),
    ):
        if through.known and 0 < leads.low < through.low <= leads.high < inf:
            facts.caution(
                remark(
                    code, field, "observed.leads.awg", rating_a=through.low, sure_a=down(leads.low),
                    **fuse_to_fit(facts),
                )
            )  # fmt: skip
        if fuse.known:
            # Whatever the BMS lets through, the fuse stops, or is told.
            break
