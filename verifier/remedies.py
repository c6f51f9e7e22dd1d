"""What would lift the limit of the current path, and what the pack would then carry."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from verifier.bounds import Bounds
from verifier.case.model import Leads, SeriesLinks, TakeOff
from verifier.case_facts import CaseFacts
from verifier.finding import Remedy
from verifier.pack.claimed_current import continuous_claim
from verifier.pack.counts import parallel
from verifier.pack.current import pack_current
from verifier.pack.leads import main_leads
from verifier.verdict import at_most

# Gauges sold as flexible leads, heavier ones first. Common practice, no source.
_OF_COPPER = ("copper", "tinned_copper")
_GAUGES = (6, 8, 10, 12, 14, 16, 18)
_THICKNESSES_MM = (0.15, 0.2, 0.3)
_WORTH_NAMING = 1.02

Change = tuple[str, str, dict[str, Any], dict[str, Any]]


def remedies(facts: CaseFacts, limited_by: str) -> tuple[Remedy, ...]:
    """Return the changes of the limiting element that let the pack carry more, the best first."""
    before = facts.find(pack_current)[0]
    found = []
    for code, field, numbers, observed in _changes(facts, limited_by):
        changed = facts.with_observed(**observed).find(pack_current)[0]
        if changed.low > before.low * _WORTH_NAMING or changed.high > before.high * _WORTH_NAMING:
            found.append(Remedy(code, field, Bounds(changed.low, changed.high), numbers))
    return tuple(sorted(found, key=lambda each: (-each.supported.low, -each.supported.high, each.code)))


def _changes(facts: CaseFacts, element: str) -> Iterator[Change]:
    if element == "take_off":
        yield from _take_off(facts)
    if element in ("take_off", "series_links"):
        yield from _strip(facts)
    links = facts.case.observed.series_links
    if element == "series_links" and links.layers is not None:
        more = links.model_copy(update={"layers": _one_more(links.layers)})
        yield "one_more_link_layer", "series_links.layers", {}, {"series_links": more}
    if element == "series_links":
        yield from _links(facts)
    if element == "leads":
        yield from _leads(facts)


def _take_off(facts: CaseFacts) -> Iterator[Change]:
    seen = facts.case.observed.take_off
    for place in ("every_cell", "middle"):
        if seen.where not in (place, "every_cell"):
            changed = TakeOff.model_validate({"where": place, "layers": seen.layers})
            yield f"take_off_{place}", "take_off.where", {}, {"take_off": changed}
    if seen.layers is not None:
        more = seen.model_copy(update={"layers": _one_more(seen.layers)})
        yield "one_more_tab_layer", "take_off.layers", {}, {"take_off": more}


def _one_more(count: Bounds) -> Bounds:
    return Bounds(count.low + 1, count.high + 1)


def _strip(facts: CaseFacts) -> Iterator[Change]:
    strip = facts.case.observed.strip
    if strip.layers is not None:
        more = strip.model_copy(update={"layers": _one_more(strip.layers)})
        yield "one_more_layer", "strip.layers", {}, {"strip": more}
    for thickness in _THICKNESSES_MM:
        if strip.thickness_mm is not None and thickness > strip.thickness_mm.high:
            thicker = strip.model_copy(update={"thickness_mm": Bounds(thickness, thickness)})
            yield "thicker_strip", "strip.thickness_mm", {"thickness_mm": thickness}, {"strip": thicker}
            break
    if strip.material in ("unknown", "plated_steel", None):
        nickel = strip.model_copy(update={"material": "nickel"})
        yield "nickel_strip", "strip.material", {}, {"strip": nickel, "material_test": None}


def _links(facts: CaseFacts) -> Iterator[Change]:
    count, row = facts.case.observed.series_links.count, facts.find(parallel)
    if count is None or row.high == float("inf"):
        return
    for code, links in (("link_at_every_cell", row.high), ("two_links_at_every_cell", 2 * row.high)):
        # More links than the model of a case allows are no build.
        if count.high < links <= 1000:
            seen = facts.case.observed.series_links
            changed = SeriesLinks.model_validate({"count": int(links), "layers": seen.layers})
            yield code, "series_links.count", {"links": links}, {"series_links": changed}
            return


def _leads(facts: CaseFacts) -> Iterator[Change]:
    """Yield the thinnest leads that surely carry the claim, and the thinnest that fuse or BMS protect as well."""
    leads = facts.case.observed.leads
    if leads.awg is None:
        return
    claim, fuse = continuous_claim(facts)[0], facts.number("observed.fuse.rating_a")
    board = facts.number("observed.bms.continuous_a")
    claimed_a = claim.high if claim.made else 0.0
    # What lets no more through than the leads carry: the fuse, else the BMS.
    let_through_a = fuse.high if fuse.known else board.high if board.known else 0.0
    # Leads of copper are what is put in; of the same gauge where what is there may be something else.
    copper = leads.conductor in _OF_COPPER
    most = leads.awg.low - 1 if copper else leads.awg.low
    heavier = [(gauge, _lead_change(leads, gauge)) for gauge in reversed(_GAUGES) if gauge <= most]
    carried = {gauge: facts.with_observed(leads=changed).find(main_leads).low for gauge, changed in heavier}
    wanted = {
        next((gauge for gauge, _ in heavier if at_most(amps, carried[gauge])), None)
        for amps in (claimed_a, max(claimed_a, let_through_a))
        if amps > 0
    } - {None}
    if not wanted:
        # None does all of it, or nothing is asked: the two next heavier ones for no claim, else the heaviest.
        wanted = {gauge for gauge, _ in (heavier[-1:] if claimed_a > 0 else heavier[:2])}
    for gauge, changed in heavier:
        if gauge in wanted:
            yield "heavier_leads", "leads.awg", {"awg": gauge}, {"leads": changed}


def _lead_change(leads: Leads, gauge: int) -> Leads:
    conductor = leads.conductor if leads.conductor in _OF_COPPER else "copper"
    fields = {"awg": Bounds(gauge, gauge), "conductor": conductor, "length_m": leads.length_m}
    return Leads.model_validate(fields)
