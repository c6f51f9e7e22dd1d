"""Charge current: what the cells' sheets allow in the air of charging, and the charge leads carry."""

from __future__ import annotations

from itertools import pairwise

from verifier.case_facts import CaseFacts
from verifier.facts import Facts
from verifier.figures.common import (
    Judged,
    at_least,
    caution_of_default_charging_air,
    caution_of_grade,
    shown,
    too_much,
)
from verifier.finding import BandSupport, RemarkWhere, remark
from verifier.pack.charging import ELEMENTS, cells_when_riding, charge_cells, pack_charge, sure_charge_limit
from verifier.quantities import Quantity, both, either, negated, where
from verifier.verdict import VERDICTS, Claim

# Charge leads are told from those that the pack is discharged through.
LIMITS = tuple("charge_leads" if each == "leads" else each for each in ELEMENTS)


def judge(facts: Facts) -> Judged:
    """Judge the charge current, the larger of the charger's and the largest claimed. [A]."""
    claim = _larger(facts.claim("charge_current_a"), facts.claim("max_charge_current_a"))
    supported, limiting = facts.find(pack_charge)
    judged = at_least(
        facts,
        claim,
        supported,
        limiting,
        facts.find(sure_charge_limit),
        reserve=facts.limits.number("reserve"),
    )
    if facts.single and isinstance(facts, CaseFacts):
        _remarks(facts, judged)
    return judged


def _bands(facts: CaseFacts, claim: Claim) -> None:
    """Note what may be charged in each band of the sheets, coldest first. [C, A].

    A band in whose heat the charge leads carry less than its cells take is told in parts: a lead at its hot end says
    nothing of a room.
    """
    for low_c, high_c in (part for each in facts.cell.charge_bands_c for part in _parts(facts, each)):
        there = facts.in_charging_air(low_c, high_c)
        supported, limiting = there.find(pack_charge)
        found = at_least(
            there,
            claim,
            supported,
            limiting,
            there.find(sure_charge_limit),
            reserve=facts.limits.number("reserve"),
        )
        cells = shown(there.find(charge_cells))
        verdict = VERDICTS[found.outcome.verdict]
        facts.band(BandSupport(low_c, high_c, shown(supported), cells, verdict, LIMITS[found.limited_by]))


def _parts(facts: CaseFacts, band: tuple[float, float]) -> list[tuple[float, float]]:
    """Return the parts of a band of the sheets in which the charge leads are judged: at usual ends of air. [C]."""
    there = facts.in_charging_air(*band)
    if there.quietly(pack_charge)[0].low >= there.quietly(charge_cells).low:
        return [band]
    room, use = facts.limits["charge_temperature_c"], facts.limits["use_temperature_c"]
    inner = {each for each in (room.high, use.high, facts.charging_air.high_c) if band[0] < each < band[1]}
    return list(pairwise(sorted({*band, *inner})))


def _larger(one: Claim, other: Claim) -> Claim:
    """Return the claim that asks for more: by its upper end, of equals by its lower one."""
    more = either(other.high > one.high, both(other.high == one.high, other.low > one.low))
    chosen = both(other.made, either(negated(one.made), more))
    return Claim(
        where(chosen, other.low, one.low), where(chosen, other.high, one.high), either(one.made, other.made)
    )


def _remarks(facts: CaseFacts, judged: Judged) -> None:
    for said in facts.cell.said("charge_a"):
        facts.caution(said)
    caution_of_grade(facts, judged.supported)
    caution_of_default_charging_air(facts, judged)
    _bands(facts, judged.claim)
    _cold(facts)
    facts.tell(dangers(facts, judged.supported))


def _cold(facts: CaseFacts) -> None:
    """Note from where on the sheets allow charging, where the pack is used or charged below it."""
    allowed = [
        low_c
        for low_c, high_c in facts.cell.charge_bands_c
        if facts.in_charging_air(low_c, high_c).of_cell("charge_a").low > 0
    ]
    if allowed and min(facts.air.low_c, facts.charging_air.low_c) < allowed[0]:
        facts.caution(remark("no_charging_below", "use.charge_temperature_c", start_c=allowed[0]))


def dangers(facts: Facts, supported: Quantity) -> list[RemarkWhere]:
    """Return what charges the cells with more than they take."""
    return [*_charger(facts, supported), *_regeneration(facts)]


def _charger(facts: Facts, supported: Quantity) -> list[RemarkWhere]:
    """Return that the charger as seen gives more than the pack takes, surely or perhaps."""
    field = "observed.charger.current_a"
    charger = facts.number(field)
    more = both(both(charger.known, supported.known), charger.high > supported.low)
    surely = charger.low > supported.high
    numbers = {"charger_a": charger, "sure_a": supported.low, "most_a": supported.high}
    return too_much(("charger_too_strong", "charger_may_be_too_strong"), field, more, surely, numbers)


def _regeneration(facts: Facts) -> list[RemarkWhere]:
    """Return that braking charges the cells, at riding temperatures, with more than they take there."""
    field = "use.regeneration_a"
    current, riding = facts.number(field), facts.quietly(cells_when_riding)
    more, surely = both(current.low > 0, current.high > riding.low), current.low > riding.high
    numbers = {
        "current_a": current, "cells_a": riding, "low_c": facts.air.low_c, "high_c": facts.air.high_c
    }  # fmt: skip
    codes = ("regeneration_too_strong", "regeneration_may_be_too_strong")
    return too_much(codes, field, more, surely, numbers)
