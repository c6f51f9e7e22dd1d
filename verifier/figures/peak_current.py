"""Peak current: for the seconds claimed, the least of what each element of the path carries."""

from __future__ import annotations

from verifier.facts import Facts
from verifier.figures.common import Judged, at_least, caution_of_default_air, caution_of_grade
from verifier.finding import ELEMENTS, remark
from verifier.pack.claimed_current import peak_claim
from verifier.pack.current import pack_peak, sure_peak_limit

LIMITS = ELEMENTS


def judge(facts: Facts) -> Judged:
    """Judge the peak current for its time, element by element. A peak is never a continuous current. [A]."""
    claim, only_a_maximum = peak_claim(facts)
    supported, limited_by = facts.find(pack_peak)
    judged = at_least(
        facts,
        claim,
        supported,
        limited_by,
        facts.find(sure_peak_limit),
        reserve=facts.limits.number("reserve"),
    )
    if facts.single:
        if claim.made:
            if only_a_maximum:
                facts.caution(remark("called_a_maximum", "claim.max_current_a"))
            else:
                facts.caution(remark("peak_says_nothing_of_continuous"))
            if not facts.number("claim.peak_seconds").known:
                facts.caution(remark("peak_without_seconds", "claim.peak_seconds"))
        caution_of_default_air(facts, judged)
        caution_of_grade(facts, supported)
    return judged
