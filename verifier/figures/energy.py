"""Energy: capacity times nominal voltage, as transport rules define the watt-hour rating."""

from __future__ import annotations

from math import inf

from verifier.facts import Facts
from verifier.figures.common import Judged, answer, caution_of_grade, told_of_rounding, told_of_the_cold
from verifier.finding import reference, remark
from verifier.pack.capacity import pack_capacity
from verifier.pack.mass import most_wh_per_kg, weighed_energy
from verifier.pack.named_voltage import named_voltage
from verifier.pack.voltage import pack_nominal_voltage
from verifier.quantities import Quantity, both, smaller, where
from verifier.verdict import CODE, PASSES, VERDICTS, Outcome, Verdict, judge_claim

LIMITS = ("parallel", "cells", "as measured", "mass")
_MASS = 3
_OPEN = CODE[Verdict.NOT_SETTLED]


def judge(facts: Facts) -> Judged:
    """Judge the energy: rated capacity x nominal voltage (49 CFR 171.8, watt-hour rating). [Wh].

    Packs are sold by the product of two printed figures: 48 V, which is the trade's name of 46.8 V, x 14 Ah,
    which 13.8 Ah are rounded to. A claim that this product covers holds by its label; what is reported as
    supported is the energy of the cells.
    """
    claim = facts.claim("energy_wh")
    (capacity, place), voltage = facts.find(pack_capacity), facts.find(pack_nominal_voltage)
    by_cells = capacity * voltage
    facts.step("E_pack", "Q_pack x U_pack", by_cells, "Wh", reference("49 CFR 171.8, watt-hour rating"))
    weighed = facts.find(weighed_energy)
    too_light = weighed.high < by_cells.high
    supported = Quantity(
        smaller(by_cells.low, weighed.high),
        smaller(by_cells.high, weighed.high),
        by_cells.missing,
        by_cells.rests_on | where(too_light, weighed.rests_on, 0),
        by_cells.grade,
    )
    tolerance = facts.limits.number("print_rounding")
    surely, perhaps = facts.find(named_voltage)
    by_label = supported.with_ends(
        smaller(capacity.low * surely.low, weighed.high), smaller((capacity * perhaps).high, weighed.high)
    )
    plain = judge_claim(claim, supported, None, tolerance)
    labelled = judge_claim(claim, by_label, None, tolerance)
    outcome = Outcome(
        labelled.verdict, labelled.worst, labelled.best, plain.margin_low_percent, plain.margin_high_percent
    )
    # What the seller calls the pack decides where only some of its names cover the claim: a range is no name.
    unnamed = facts.number("claim.nominal_voltage_v").missing != 0
    known = both(by_cells.low > 0, by_cells.high < inf)
    by_name = both(both(unnamed, labelled.verdict == _OPEN), known)
    supported = supported.lacking(facts.missing("claim.nominal_voltage_v"), by_name)
    judged = answer(facts, claim, supported, outcome, where(too_light, _MASS, place))
    if facts.single:
        _remarks(facts, judged, plain, capacity)
    return judged


def _remarks(facts: Facts, judged: Judged, plain: Outcome, capacity: Quantity) -> None:
    for said in facts.cell.said("nominal_voltage_v"):
        facts.caution(said)
    caution_of_grade(facts, judged.supported)
    by_cells, claim = judged.supported, judged.claim
    if not claim.made:
        return
    told_of_the_cold(facts, claim)
    if VERDICTS[judged.outcome.verdict] in PASSES and VERDICTS[plain.verdict] not in PASSES:
        facts.caution(
            remark(
                "holds_by_label", "claim.energy_wh", "claim.nominal_voltage_v", claimed_wh=claim.high,
                cells_low_wh=by_cells.low, cells_high_wh=by_cells.high,
                name_v=facts.number("claim.nominal_voltage_v").high,
                nominal_v=facts.find(pack_nominal_voltage).low, capacity_ah=capacity.low,
            )
        )  # fmt: skip
    elif VERDICTS[plain.verdict] in PASSES:
        told_of_rounding(facts, "claim.energy_wh", claim.high, by_cells.low, "Wh")
    if judged.limited_by == _MASS:
        weighed = facts.number("observed.mass_kg")
        facts.caution(
            remark(
                "mass_bounds_energy", "observed.mass_kg", mass_kg=weighed.high, most_wh=by_cells.high,
                most_wh_per_kg=most_wh_per_kg(facts).high,
            )
        )  # fmt: skip
