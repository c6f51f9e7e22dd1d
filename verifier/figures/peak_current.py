"""Peak current: for the seconds claimed, the least of what each element of the path supports."""

from __future__ import annotations

from dataclasses import replace

from verifier.figures.common import at_least, by_default_temperature
from verifier.finding import Finding
from verifier.pack import Pack
from verifier.support.pulse import pack_peak


def judge(pack: Pack) -> Finding:
    """Judge the peak current for its time, element by element. A peak is never a continuous current. [A]."""
    claim = pack.claim.peak_current_a
    path = pack_peak(pack)
    finding = at_least(pack, "peak_current", "A", claim, path.support, pack.limits.number("reserve"))
    unknown, cautions = finding.unknown, list(finding.cautions)
    if claim is not None:
        cautions.append("a peak says nothing of what the pack delivers continuously")
        if pack.claim.peak_seconds is None:
            unknown = ("claim.peak_seconds", *unknown)
            cautions.append("no time is claimed for the peak; a peak without its seconds cannot be compared")
    finding = replace(finding, elements=path.elements, unknown=unknown, cautions=tuple(cautions))
    return by_default_temperature(pack, finding)
