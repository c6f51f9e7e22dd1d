"""Continuous current: the least of what each element of the path supports at the temperature of use."""

from __future__ import annotations

from dataclasses import replace

from verifier.figures.common import at_least, by_default_temperature
from verifier.finding import Finding
from verifier.pack import Pack
from verifier.support.current import by_temperature, pack_current


def judge(pack: Pack) -> Finding:
    """Judge the continuous current over the temperatures of use, element by element. [A]."""
    claim = pack.claim.continuous_current_a
    reserve = pack.policy.number("reserve")
    support, elements = pack_current(pack)
    finding = at_least(pack, "continuous_current", "A", claim, support, reserve)
    finding = by_default_temperature(pack, finding)
    open_elements = [each.element for each in elements if each.state in ("unknown", "not judged yet")]
    cautions = list(finding.cautions)
    if open_elements:
        cautions.append(f"not known or not judged, and so never a pass: {', '.join(open_elements)}")
    peak = pack.claim.peak_current_a
    if claim is None and peak is not None:
        cautions.append(f"a peak of {peak.high:g} A is claimed; a peak is never a continuous current")
    return replace(
        finding,
        elements=elements,
        by_temperature=by_temperature(pack, elements, claim, reserve),
        cautions=tuple(cautions),
    )
