"""Charge voltage: is it that of so many cells in series, and is the charger for this pack?"""

from __future__ import annotations

from math import inf

from registry.chemistry import VOLTAGES
from verifier.fact_names import RESTS_ON
from verifier.facts import Facts
from verifier.figures.common import Judged, answer, caution_of_grade, shown
from verifier.finding import remark
from verifier.pack.charger import CHARGE_VOLTAGES, ChargerFit, charger_fit, made_for
from verifier.pack.chemistry import PRINTED
from verifier.pack.counts import series
from verifier.pack.voltage import cell_full_voltage, pack_full_voltage
from verifier.quantities import either, negated, where
from verifier.verdict import Claim, settle

LIMITS = ("series",)

_ITSELF = RESTS_ON.bit("claim.charge_voltage_v", "claim.full_voltage_v")
# More counts than these say nothing of what a charger was made for.
_MOST_NAMED = 3
# By the voltage of a full cell, what one pack is right for and another wrong.
_RIGHT_FOR = (
    ("NMC", "right_for_lithium_ion"),
    ("LFP", "right_for_iron_phosphate"),
    ("LTO", "right_for_titanate"),
)


def judge(facts: Facts) -> Judged:
    """Judge the charge voltage, else the full voltage, against series x charge limit. [V].

    A count in series that was worked out from the claim cannot confirm it. Where nobody names the chemistry,
    the usual voltage of one is believed on the seller's word. The charger that was seen is compared too: a
    wrong one is dangerous, whatever the seller claims.
    """
    charge, full = facts.claim("charge_voltage_v"), facts.claim("full_voltage_v")
    claim = Claim(
        where(charge.made, charge.low, full.low),
        where(charge.made, charge.high, full.high),
        either(charge.made, full.made),
    )
    supported, count = facts.find(pack_full_voltage), facts.find(series)
    of_charge, of_full = (charger_fit(facts, name) for name in CHARGE_VOLTAGES[:2])
    fits = where(charge.made, of_charge.fits, of_full.fits)
    cannot = where(charge.made, of_charge.cannot, of_full.cannot)
    circular = count.rests_on & _ITSELF != 0
    outcome = settle(claim, supported, either(negated(cannot), circular), either(negated(fits), circular))
    supported = supported.lacking(facts.missing("observed.series"), circular)
    judged = answer(facts, claim, supported, outcome, where(count.known, 0, -1))
    if facts.single:
        _remarks(facts)
    return judged


def _remarks(facts: Facts) -> None:
    for said in facts.cell.said("charge_voltage_v"):
        facts.caution(said)
    caution_of_grade(facts, facts.find(cell_full_voltage))
    for name in CHARGE_VOLTAGES:
        found = charger_fit(facts, name)
        if found.stated and not found.fits:
            _misfit(facts, name, found)
    _chemistry(facts)


def _misfit(facts: Facts, name: str, found: ChargerFit) -> None:
    volts, count, full = facts.number(name), facts.find(series), facts.find(cell_full_voltage)
    if found.cannot:
        code = (
            "overcharges"
            if found.too_high
            else "undercharges"
            if found.too_low
            else "charges_no_possible_pack"
        )
    elif found.may_be_too_high and not _usual(facts, name):
        code = "may_overcharge"
    else:
        return
    facts.caution(
        remark(
            code, name, volts=shown(volts), series=shown(count), cell_v=shown(volts / count),
            limit_v=shown(full),
        )
    )  # fmt: skip
    counts = made_for(facts, volts) if found.cannot else ()
    if 0 < len(counts) <= _MOST_NAMED:
        facts.caution(remark("charger_made_for", name, volts=shown(volts), counts=counts))


def _usual(facts: Facts, name: str) -> str:
    """Return what a voltage is right for where nobody names the chemistry and it is the usual one of some."""
    volts, count = facts.number(name), facts.find(series)
    named = facts.cell.known or facts.choice("observed.cell.chemistry") or facts.choice("claim.chemistry")
    if named or inf in (volts.high, count.high):
        return ""
    for chemistry, code in _RIGHT_FOR:
        low_v, high_v = VOLTAGES[chemistry].full_v  # type: ignore[index]
        if volts.high <= count.low * high_v * PRINTED[1] and count.high * low_v * PRINTED[0] <= volts.low:
            return code
    return ""


def _chemistry(facts: Facts) -> None:
    """Note that a voltage is the usual one of a chemistry that nobody has named, once for each voltage."""
    told = set()
    for name in CHARGE_VOLTAGES:
        code, volts = _usual(facts, name), shown(facts.number(name))
        if code and (code, volts) not in told:
            told.add((code, volts))
            cell_v = shown(facts.number(name) / facts.find(series))
            facts.caution(remark(code, name, volts=volts, series=shown(facts.find(series)), cell_v=cell_v))
