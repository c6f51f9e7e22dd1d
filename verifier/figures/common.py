"""Building a finding from a claim and a support, the same way for every figure."""

from __future__ import annotations

from dataclasses import replace

from verifier.bounds import Bounds
from verifier.finding import Finding
from verifier.pack import Pack
from verifier.support import Support
from verifier.verdict import PASSES, judge_claim, margin_percent


def at_least(
    pack: Pack, figure: str, unit: str, claim: Bounds | None, support: Support, reserve: float | None
) -> Finding:
    """Judge a claim of "at least this much", with `reserve` for currents and powers."""
    verdict, between = judge_claim(claim, support.value, reserve)
    finding = Finding(
        figure,
        unit,
        claim,
        support.value,
        verdict,
        between,
        margin_percent(claim, support.value),
        support.limited_by,
        support.evidence,
        steps=support.steps,
        unknown=support.unknown,
        cautions=support.cautions,
    )
    return with_sellers_word(pack, finding)


def by_default_temperature(pack: Pack, finding: Finding) -> Finding:
    """Add the caution that a pass rests on temperatures that nobody stated."""
    low_c, high_c, source = pack.temperature_c
    if finding.verdict not in PASSES or not source.startswith("limits use_temperature_c ("):
        return finding
    caution = f"judged from {low_c:g} to {high_c:g} C by {source}; use.temperature_c is not stated"
    return replace(finding, cautions=(*finding.cautions, caution))


def with_sellers_word(pack: Pack, finding: Finding) -> Finding:
    """Mark a pass that rests on what only the seller says."""
    if finding.verdict not in PASSES or not pack.sellers_word:
        return finding
    facts = ", ".join(pack.sellers_word)
    caution = f"only if the seller's word holds: {facts}; not seen yet"
    return replace(finding, cautions=(*finding.cautions, caution), sellers_word=tuple(pack.sellers_word))
