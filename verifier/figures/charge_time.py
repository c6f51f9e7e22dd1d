"""Charge time: is the pack full within the hours claimed, with this charger and these cells?"""

from __future__ import annotations

from dataclasses import replace

from verifier.figures.common import with_sellers_word
from verifier.finding import Finding
from verifier.pack import Pack
from verifier.support.charging import pack_charge_time
from verifier.verdict import PASSES, judge_at_most, margin_at_most_percent


def judge(pack: Pack) -> Finding:
    """Judge a claim of "full within so many hours" against capacity over current and the tail. [h].

    Supported is the time that it takes, so a claim holds at or above it, and the margin is above zero there.
    """
    time, claim = pack_charge_time(pack), pack.claim.charge_hours
    support = time.support
    verdict, between = judge_at_most(claim, support.value)
    finding = with_sellers_word(
        pack,
        Finding(
            "charge_time", "h", claim, support.value, verdict, between,
            margin_at_most_percent(claim, support.value), support.limited_by, support.evidence,
            steps=support.steps, unknown=support.unknown, cautions=support.cautions,
        ),
    )  # fmt: skip
    return _with_charger(finding, time.on_sellers_word)


def _with_charger(finding: Finding, fields: tuple[str, ...]) -> Finding:
    """Mark a pass that rests on a charger which only the seller has named."""
    if finding.verdict not in PASSES or not fields:
        return finding
    caution = f"only if the seller's word holds: {', '.join(fields)}; not seen yet"
    return replace(
        finding,
        cautions=(*finding.cautions, caution),
        sellers_word=(*finding.sellers_word, *fields),
    )
