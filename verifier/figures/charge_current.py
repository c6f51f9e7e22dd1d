"""Charge current: what the cells' sheets allow over the temperatures of use, and the charge leads carry."""

from __future__ import annotations

from dataclasses import replace

from verifier.bounds import Bounds
from verifier.figures.common import at_least, by_default_temperature
from verifier.finding import Finding
from verifier.pack import Pack
from verifier.support.charging import ChargePath, pack_charge
from verifier.verdict import judge_claim


def judge(pack: Pack) -> Finding:
    """Judge the charge current, the larger of the charger's and the largest claimed. [A]."""
    stated = (pack.claim.max_charge_current_a, pack.claim.charge_current_a)
    claims = [each for each in stated if each is not None]
    claim = max(claims, key=lambda each: (each.high, each.low)) if claims else None
    reserve = pack.limits.number("reserve")
    path = pack_charge(pack)
    bands = (
        replace(each, verdict=judge_claim(claim, each.supported, reserve)[0]) for each in path.by_temperature
    )
    finding = at_least(pack, "charge_current", "A", claim, path.support, reserve)
    finding = replace(
        finding,
        elements=path.elements,
        by_temperature=tuple(bands),
        cautions=(*finding.cautions, *(() if pack.many else _charger(pack.observed.charger.current_a, path))),
    )
    return by_default_temperature(pack, finding)


def _charger(current: Bounds | None, path: ChargePath) -> tuple[str, ...]:
    """Return the caution that the charger as seen gives more than the pack supports."""
    supported = path.support.value
    if current is None or current.high <= supported.low or not path.support.value.known:
        return ()
    sure = "gives" if current.low > supported.high else "may give"
    words = f"the charger as seen {sure} more than the pack takes: {current.high:g} A against at most"
    return (f"{words} {supported.high:.3g} A",)
