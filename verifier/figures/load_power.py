"""Load power: what motor the pack can feed, at the voltage that is left when it is nearly empty."""

from __future__ import annotations

from verifier.bounds import Bounds
from verifier.facts import Facts
from verifier.figures.common import Judged, at_least, caution_of_default_air, caution_of_grade
from verifier.finding import ELEMENTS, remark
from verifier.pack.current import pack_current, sure_limit
from verifier.pack.power import load_power, motor_takes
from verifier.verdict import PASSES, VERDICTS, Claim

LIMITS = ELEMENTS


def judge(facts: Facts) -> Judged:
    """Judge the motor power that the seller says the pack suits. [W at the motor].

    "Suits 200 to 1000 W" is said of every motor in that span, so the claim is its upper end.
    """
    span = facts.claim("load_power_w")
    claim = Claim(span.high, span.high, span.made)
    _, limited_by = facts.find(pack_current)
    supported = facts.find(load_power)
    judged = at_least(
        facts, claim, supported, limited_by, facts.find(sure_limit), reserve=facts.limits.number("reserve")
    )
    if facts.single:
        _remarks(facts, judged, span)
    return judged


def _remarks(facts: Facts, judged: Judged, span: Claim) -> None:
    caution_of_grade(facts, judged.supported)
    caution_of_default_air(facts, judged)
    if not span.made:
        return
    if span.low != span.high:
        facts.caution(remark("motor_span", "claim.load_power_w", low_w=span.low, high_w=span.high))
    takes = motor_takes(facts, Bounds(span.high, span.high))
    if takes is not None:
        facts.caution(remark("motor_takes", "claim.load_power_w", motor_w=span.high, **takes.numbers))
    if not facts.number("use.efficiency").known and VERDICTS[judged.outcome.verdict] in PASSES:
        usual = facts.limits["drive_efficiency"]
        facts.caution(remark("default_efficiency", "use.efficiency", low=usual.low, high=usual.high))
