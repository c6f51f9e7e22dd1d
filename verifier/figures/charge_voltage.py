"""Charge voltage: is it that of so many cells in series, and is the charger for this pack?"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import Any

from registry.chemistry import VOLTAGES, ChemistryName
from verifier.cell_figures import chemistries_in, chemistry_set
from verifier.fact_names import RESTS_ON, SELLERS_WORD
from verifier.facts import CHOICES, Facts
from verifier.figures.common import Judged, answer, caution_of_grade
from verifier.finding import RemarkWhere
from verifier.pack.charger import CHARGE_VOLTAGES, can_be_charged_to, charger_fit_of, made_for
from verifier.pack.chemistry import chemistry_is_named
from verifier.pack.counts import series
from verifier.pack.groups import groups
from verifier.pack.named_chemistry import named_chemistry
from verifier.pack.stated_voltages import named_together
from verifier.pack.voltage import cell_full_voltage, pack_full_voltage
from verifier.possible_chemistries import PRINTED
from verifier.quantities import (
    Mask,
    Names,
    Quantity,
    anywhere,
    both,
    by_distinct,
    either,
    larger,
    narrowed,
    negated,
    where,
)
from verifier.verdict import Claim, settle

LIMITS = ("series",)

# A count in series that was worked out from one of these is no word for a charge voltage, and none against it.
_VOLTAGES = RESTS_ON.bit("claim.charge_voltage_v", "claim.full_voltage_v", "claim.nominal_voltage_v")
# More counts than these say nothing of what a charger was made for.
_MOST_NAMED = 3
# By the voltage of a full cell, what one pack is right for and another wrong.
_RIGHT_FOR: tuple[tuple[ChemistryName, str], ...] = (
    ("NMC", "right_for_lithium_ion"),
    ("LFP", "right_for_iron_phosphate"),
    ("LTO", "right_for_titanate"),
)


def judge(facts: Facts) -> Judged:
    """Judge the charge voltage, else the full voltage, against series x charge limit. [V].

    A count in series that was worked out from a voltage cannot confirm it. What is believed on the seller's word:
    a nominal voltage that names the same pack and, where nobody names the chemistry, the usual voltage of one. The
    charger that was seen is compared too: a wrong one is dangerous, whatever the seller claims.
    """
    charge, full = facts.claim("charge_voltage_v"), facts.claim("full_voltage_v")
    claim = Claim(
        where(charge.made, charge.low, full.low),
        where(charge.made, charge.high, full.high),
        either(charge.made, full.made),
    )
    supported, count = facts.find(pack_full_voltage), facts.find(series)
    found = charger_fit_of(facts, Quantity(claim.low, claim.high), count)
    together = facts.find(named_together)
    circular = both(count.rests_on & _VOLTAGES != 0, negated(together.holds))
    outcome = settle(
        claim, supported, either(either(negated(found.cannot), circular), together.holds),
        both(either(negated(found.fits), circular), negated(together.holds)),
    )  # fmt: skip
    supported = where(together.holds, narrowed(together.full_v, supported), supported)
    supported = supported.lacking(facts.missing("observed.series"), circular)
    judged = answer(facts, claim, supported, outcome, where(count.known, 0, -1))
    if facts.single:
        _remarks(facts)
    return judged


_WHEN_FULL = "claim.full_voltage_v"
_ABOVE_FULL = "observed.charged_above_full"
_NOBODY_KNOWS = CHOICES[_ABOVE_FULL].index("unknown") + 1


def _stated(facts: Facts, name: str) -> Quantity:
    """Return a voltage as it is claimed, also where it stands in a contradiction, or as it was seen. [V]."""
    if name.startswith("observed."):
        return facts.number(name)
    claim = facts.claim(name.removeprefix("claim."))
    return Quantity(where(claim.made, claim.low, 0.0), where(claim.made, claim.high, inf))


def dangers(facts: Facts, _supported: Quantity) -> list[RemarkWhere]:
    """Return every charge voltage, claimed or seen, that may overcharge such a pack, and a charge that may have."""
    return [
        _charged_above_full(facts),
        *(each for name in CHARGE_VOLTAGES for each in _misfits(facts, name)),
    ]


def _charged_above_full(facts: Facts) -> RemarkWhere:
    """Return that nobody knows whether the pack was charged above full, of which no group tells."""
    nobody = facts.choice(_ABOVE_FULL) == _NOBODY_KNOWS
    unread = facts.find(groups).count <= 0
    return RemarkWhere("maybe_charged_above_full", (_ABOVE_FULL,), both(nobody, unread))


def _usual(volts: Quantity, count: Quantity) -> Mask:
    """Return whether a voltage is the usual one of a common chemistry, at any of the counts in series it may be."""
    found: Mask = False
    most_v = where(volts.high < inf, volts.high, 0.0)
    for chemistry, _ in _RIGHT_FOR:
        low_v, high_v = VOLTAGES[chemistry].full_v
        # The fewest cells that it does not overcharge, rounded up.
        fewest = larger(count.low, -(-most_v // (high_v * PRINTED[1])))
        found = either(found, both(fewest <= count.high, fewest * low_v * PRINTED[0] <= volts.low))
    return both(found, both(volts.high < inf, count.high < inf))


def _remarks(facts: Facts) -> None:
    facts.tell([_charged_above_full(facts)])
    for said in facts.cell.said("charge_voltage_v"):
        facts.caution(said)
    caution_of_grade(facts, facts.find(cell_full_voltage))
    told = set()
    for name in CHARGE_VOLTAGES:
        volts, wrong = _stated(facts, name), [each for each in _misfits(facts, name) if each.holds]
        facts.tell([*wrong, *_made_for(facts, name, volts, wrong)])
        code = _right_for(facts, volts)
        if code and (code, volts.low, volts.high) not in told:
            told.add((code, volts.low, volts.high))
            facts.tell([RemarkWhere(code, (name,), True, _numbers(facts, name, volts))])


def _numbers(facts: Facts, name: str, volts: Quantity) -> dict[str, Any]:
    count = facts.find(series)
    return {
        "volts_of": name, "volts": volts, "series": count, "cell_v": volts / count,
        "only_said": count.rests_on & SELLERS_WORD != 0,
    }  # fmt: skip


def _misfits(facts: Facts, name: str) -> list[RemarkWhere]:
    """Return what may be wrong with one charge voltage, of which one at most holds for a pack."""
    volts, count = _stated(facts, name), facts.find(series)
    fit = charger_fit_of(facts, volts, count)
    high, low = fit.too_high, both(fit.too_low, negated(fit.too_high))
    none = both(fit.cannot, negated(either(high, low)))
    # The usual voltage of one chemistry is no doubt of a pack whose chemistry nobody names.
    open_ = both(negated(chemistry_is_named(facts)), _usual(volts, count))
    doubted = both(
        both(fit.may_be_too_high, negated(fit.fits)), negated(either(open_, either(high, either(low, none))))
    )
    over, right = _by_chemistry(facts, volts, doubted)
    some = both(doubted, both(over > 0, right > 0))
    # What no table names is right for most of what is common wrong.
    most = both(some, right == chemistry_set(["other"]))
    numbers = _numbers(facts, name, volts)
    with_limit = {**numbers, "limit_v": facts.find(cell_full_voltage)}
    by_chemistry = {**numbers, "over": over, "right": right}
    return [
        # What a pack is said to read when full is no charger at hand.
        RemarkWhere("full_above_limit" if name == _WHEN_FULL else "overcharges", (name,), high, with_limit),
        RemarkWhere("undercharges", (name,), low, with_limit),
        RemarkWhere("charges_no_possible_pack", (name,), none, with_limit),
        RemarkWhere("overcharges_most", (name,), most, by_chemistry),
        RemarkWhere("overcharges_some", (name,), both(some, negated(most)), by_chemistry),
        RemarkWhere("may_overcharge", (name,), both(doubted, negated(some)), with_limit),
    ]


def _made_for(facts: Facts, name: str, volts: Quantity, wrong: Sequence[RemarkWhere]) -> list[RemarkWhere]:
    """Return of one pack which counts a charge voltage that is wrong for it was made for."""
    if not wrong:
        return []
    fit = charger_fit_of(facts, volts, facts.find(series))
    if not (fit.cannot or fit.too_low or "over" in wrong[0].numbers):
        return []
    counts = made_for(facts, volts)
    told = 0 < len(counts) <= _MOST_NAMED
    numbers = {"volts": volts, "counts": counts, "volts_of": name, "only_said": False}
    return [RemarkWhere("charger_made_for", (name,), told, numbers)]


def _by_chemistry(facts: Facts, volts: Quantity, asked: Mask) -> tuple[Names, Names]:
    """Return of which chemistries a voltage overcharges so many cells, and of which it does not.

    Nothing where the count or the voltage is open, or the cell is known: then the chemistry is not what decides.
    """
    count, slack = facts.find(series), facts.limits.number("charger_tolerance")
    exact = both(both(count.known, count.low == count.high), both(volts.known, volts.low == volts.high))
    asked = both(asked, both(exact, negated(facts.cell.known)))
    if not anywhere(asked):
        return 0, 0

    def of_one(volts_v: float, series_count: float, possible: float) -> tuple[int, int]:
        names = chemistries_in(int(possible))
        right = [
            each for each in names if can_be_charged_to(volts_v, volts_v, int(series_count), each, slack)
        ]
        over = [
            each
            for each in names
            if each not in right and volts_v > series_count * VOLTAGES[each].full_v[1]  # type: ignore[index]
        ]
        return chemistry_set(over), chemistry_set(right)

    over, right = by_distinct(
        of_one, volts.low, count.low, facts.cell.chemistries, asked=asked, otherwise=(0.0, 0.0)
    )
    return over, right


def _right_for(facts: Facts, volts: Quantity) -> str:
    """Return what a voltage is right for, where nobody names the chemistry and it is the usual one of some."""
    count = facts.find(series)
    if chemistry_is_named(facts) or inf in (volts.high, count.high):
        return ""
    named = facts.find(named_chemistry)
    if named.holds and volts.high > named.full_high_v * PRINTED[1]:
        # Right for some, and not for those that the nominal voltage names.
        return ""
    for chemistry, code in _RIGHT_FOR:
        low_v, high_v = VOLTAGES[chemistry].full_v
        if volts.high <= count.low * high_v * PRINTED[1] and count.high * low_v * PRINTED[0] <= volts.low:
            return code
    return ""
