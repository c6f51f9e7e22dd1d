"""Power: what the battery delivers continuously, at the voltage that is left under load."""

from __future__ import annotations

from verifier.facts import Facts
from verifier.figures.common import Judged, at_least, caution_of_default_air, caution_of_grade
from verifier.finding import ELEMENTS, remark
from verifier.pack.current import pack_current, sure_limit
from verifier.pack.power import battery_power, nominal_power
from verifier.verdict import at_most

LIMITS = ELEMENTS


def judge(facts: Facts) -> Judged:
    """Judge the power at the battery: current x voltage under load, nearly empty to full. [W]."""
    _, limited_by = facts.find(pack_current)
    supported = facts.find(battery_power)
    reserve = facts.limits.number("reserve")
    judged = at_least(
        facts, facts.claim("power_w"), supported, limited_by, facts.find(sure_limit), reserve=reserve
    )
    if facts.single:
        for said in facts.cell.said("dc_mohm"):
            facts.caution(said)
        caution_of_grade(facts, supported)
        caution_of_default_air(facts, judged)
        claim, nominal = judged.claim, facts.quietly(nominal_power)
        if claim.made and 0 < nominal.high < claim.low and at_most(claim.low, supported.high):
            facts.caution(
                remark("power_of_full_pack", "claim.power_w", claimed_w=claim.low, nominal_w=nominal.high)
            )
    return judged
