"""Peak current: for the seconds claimed, the least of what each element of the path carries."""

from __future__ import annotations

from dataclasses import replace

from verifier.facts import Facts
from verifier.figures.common import (
    Judged,
    answer,
    caution_of_default_air,
    caution_of_grade,
    naming_what_is_sure,
)
from verifier.finding import ELEMENTS, remark
from verifier.pack.claimed_current import peak_claim
from verifier.pack.current import judged_peak, lacking_of_a_continuous, pack_peak, sure_peak_limit

LIMITS = ELEMENTS


def judge(facts: Facts) -> Judged:
    """Judge the peak current for its time, element by element. A peak is never a continuous current. [A]."""
    claim, only_a_maximum = peak_claim(facts)
    outcome = judged_peak(facts)
    supported, limited_by = facts.find(pack_peak)
    supported = supported.lacking(lacking_of_a_continuous(facts))
    judged = answer(facts, claim, supported, outcome, limited_by)
    judged = replace(naming_what_is_sure(judged, facts.find(sure_peak_limit)), only_a_maximum=only_a_maximum)
    if facts.single:
        if claim.made:
            if only_a_maximum:
                beside = facts.claim("continuous_current_a").made
                code = "maximum_beside_continuous" if beside else "called_a_maximum"
                facts.caution(remark(code, "claim.max_current_a"))
            else:
                facts.caution(remark("peak_says_nothing_of_continuous"))
            if not facts.number("claim.peak_seconds").known:
                facts.caution(remark("peak_without_seconds", "claim.peak_seconds"))
            pulses, air = facts.cell.pulses, facts.air
            if pulses and not any(pulse.covers for pulse in pulses):
                facts.caution(
                    remark("no_pulse_limit", "use.temperature_c", low_c=air.low_c, high_c=air.high_c)
                )
        caution_of_default_air(facts, judged)
        caution_of_grade(facts, supported)
    return judged
