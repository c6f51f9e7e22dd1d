"""Charge voltage: is it that of so many cells in series, and is the charger for this pack?"""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from registry.chemistry import VOLTAGES, ChemistryName
from verifier.bounds import Bounds
from verifier.cell_figures import chemistries_in
from verifier.fact_names import RESTS_ON, SELLERS_WORD
from verifier.facts import CHOICES, Facts
from verifier.figures.common import Judged, answer, caution_of_grade, shown
from verifier.finding import remark
from verifier.pack.charger import CHARGE_VOLTAGES, ChargerFit, can_be_charged_to, charger_fit_of, made_for
from verifier.pack.counts import series
from verifier.pack.groups import groups
from verifier.pack.stated_voltages import named_together
from verifier.pack.voltage import cell_full_voltage, pack_full_voltage
from verifier.possible_chemistries import PRINTED
from verifier.quantities import Mask, Quantity, both, either, larger, narrowed, negated, where
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


_ABOVE_FULL = "observed.charged_above_full"
_NOBODY_KNOWS = CHOICES[_ABOVE_FULL].index("unknown") + 1


def _stated(facts: Facts, name: str) -> Quantity:
    """Return a voltage as it is claimed, also where it stands in a contradiction, or as it was seen. [V]."""
    if name.startswith("observed."):
        return facts.number(name)
    claim = facts.claim(name.removeprefix("claim."))
    return Quantity(where(claim.made, claim.low, 0.0), where(claim.made, claim.high, inf))


class Overcharging(NamedTuple):
    """A charge voltage that no pack like this may be charged to: where, and the quantities that its remark names.

    `holds` is for one pack or for each of a column, as are the quantities. [V, -]
    """

    code: str
    field: str
    holds: Mask
    volts: Quantity
    series: Quantity
    cell_v: Quantity
    limit_v: Quantity
    only_said: Mask


def overcharging(facts: Facts) -> list[Overcharging]:
    """Return every charge voltage, claimed or seen, that overcharges any such pack, or is that of none."""
    count, limit_v, found = facts.find(series), facts.find(cell_full_voltage), []
    for name in CHARGE_VOLTAGES:
        volts = _stated(facts, name)
        fit = charger_fit_of(facts, volts, count)
        about = (volts, count, volts / count, limit_v, count.rests_on & SELLERS_WORD != 0)
        found += [
            Overcharging(code, name, holds, *about) for code, holds in _misfits(fit) if code != "undercharges"
        ]
    return found


def doubted(facts: Facts, named: Mask) -> Mask:
    """Return whether a charge voltage may overcharge such packs, and is not the usual one of a chemistry left open.

    For one pack or for each of a column, of which some are ``named`` a chemistry; what is told of it hangs on what
    is known of the pack.
    """
    count, found = facts.find(series), False
    for name in CHARGE_VOLTAGES:
        volts = _stated(facts, name)
        fit = charger_fit_of(facts, volts, count)
        unusual = either(negated(_usual(volts, count)), either(facts.cell.known, named))
        found = either(found, both(both(fit.may_be_too_high, negated(fit.fits)), unusual))
    return found


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


def _misfits(fit: ChargerFit) -> tuple[tuple[str, Mask], ...]:
    """Return what may be wrong with a charge voltage, of which one at most holds for a pack."""
    high, low = fit.too_high, both(fit.too_low, negated(fit.too_high))
    return (
        ("overcharges", high), ("undercharges", low),
        ("charges_no_possible_pack", both(fit.cannot, negated(either(high, low)))),
    )  # fmt: skip


def _remarks(facts: Facts) -> None:
    asked, groups_read = facts.choice(_ABOVE_FULL), facts.find(groups).count > 0
    if asked == _NOBODY_KNOWS and not groups_read:
        facts.caution(remark("maybe_charged_above_full", _ABOVE_FULL))
    for said in facts.cell.said("charge_voltage_v"):
        facts.caution(said)
    caution_of_grade(facts, facts.find(cell_full_voltage))
    told = set()
    for name in CHARGE_VOLTAGES:
        volts = _stated(facts, name)
        _misfit(facts, name, volts)
        code = _right_for(facts, volts)
        if code and (code, volts.low, volts.high) not in told:
            told.add((code, volts.low, volts.high))
            facts.caution(remark(code, name, volts_of=name, **_numbers(facts, volts)))


def _numbers(facts: Facts, volts: Quantity) -> dict[str, Bounds | bool]:
    count = facts.find(series)
    return {
        "volts": shown(volts), "series": shown(count), "cell_v": shown(volts / count),
        "only_said": bool(count.rests_on & SELLERS_WORD),
    }  # fmt: skip


def _misfit(facts: Facts, name: str, volts: Quantity) -> None:
    found = charger_fit_of(facts, volts, facts.find(series))
    code = next((code for code, holds in _misfits(found) if holds), "")
    open_chemistry = not _chemistry_is_named(facts) and _usual(volts, facts.find(series))
    if not code and found.may_be_too_high and not found.fits and not open_chemistry:
        code = "may_overcharge"
    if not code:
        return
    limit = shown(facts.find(cell_full_voltage))
    over, right = _by_chemistry(facts, volts) if code == "may_overcharge" else ((), ())
    if over:
        code = "overcharges_most" if "other" in right and len(right) == 1 else "overcharges_some"
        facts.caution(remark(code, name, over=over, right=right, volts_of=name, **_numbers(facts, volts)))
    else:
        facts.caution(remark(code, name, limit_v=limit, volts_of=name, **_numbers(facts, volts)))
    counts = made_for(facts, volts) if over or found.cannot or found.too_low else ()
    if 0 < len(counts) <= _MOST_NAMED:
        facts.caution(
            remark(
                "charger_made_for", name, volts=shown(volts), counts=counts, volts_of=name, only_said=False
            )
        )


def _by_chemistry(facts: Facts, volts: Quantity) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return of which chemistries a voltage overcharges so many cells, and of which it does not.

    Nothing where the count or the voltage is open, or the cell is known: then the chemistry is not what decides.
    """
    count, slack = facts.find(series), facts.limits.number("charger_tolerance")
    if (
        facts.cell.known
        or count.low != count.high
        or volts.low != volts.high
        or inf in (volts.high, count.high)
    ):
        return (), ()
    names = chemistries_in(int(facts.cell.chemistries))
    right = tuple(
        each for each in names if can_be_charged_to(volts.low, volts.high, int(count.low), each, slack)
    )
    over = tuple(
        each
        for each in names
        if each not in right and volts.high > count.high * VOLTAGES[each].full_v[1]  # type: ignore[index]
    )
    return (over, right) if over and right else ((), ())


def _chemistry_is_named(facts: Facts) -> bool:
    stated = (facts.choice("observed.cell.chemistry"), facts.choice("claim.chemistry"))
    return bool(facts.cell.known or any(stated))


def _right_for(facts: Facts, volts: Quantity) -> str:
    """Return what a voltage is right for, where nobody names the chemistry and it is the usual one of some."""
    count = facts.find(series)
    if _chemistry_is_named(facts) or inf in (volts.high, count.high):
        return ""
    for chemistry, code in _RIGHT_FOR:
        low_v, high_v = VOLTAGES[chemistry].full_v
        if volts.high <= count.low * high_v * PRINTED[1] and count.high * low_v * PRINTED[0] <= volts.low:
            return code
    return ""
