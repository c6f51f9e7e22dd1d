"""Continuous current: the least of what each element of the path supports at the temperature of use."""

from __future__ import annotations

from dataclasses import replace

from verifier.figures.common import at_least, by_default_temperature
from verifier.finding import Finding
from verifier.pack import Pack
from verifier.support.current import Path, by_temperature, pack_current
from verifier.support.heat import cell_heat


def judge(pack: Pack) -> Finding:
    """Judge the continuous current over the temperatures of use, element by element. [A]."""
    claim = pack.claim.continuous_current_a
    reserve = pack.limits.number("reserve")
    path = pack_current(pack)
    finding = by_default_temperature(
        pack, at_least(pack, "continuous_current", "A", claim, path.support, reserve)
    )
    if pack.many:
        return finding
    heat = cell_heat(pack, path.current_a) if path.current_a is not None else None
    cautions = [*finding.cautions, *_path_cautions(pack, path)]
    if heat is not None and heat.caution:
        cautions.append(heat.caution)
    return replace(
        finding,
        elements=path.elements,
        by_temperature=by_temperature(pack, path.elements, claim, reserve),
        steps=(*finding.steps, *(heat.steps if heat is not None else ())),
        cautions=tuple(cautions),
        path_current_a=path.current_a,
    )


def _path_cautions(pack: Pack, path: Path) -> list[str]:
    cautions = []
    unknown = [each.element.replace("_", " ") for each in path.elements if each.state == "unknown"]
    if unknown:
        cautions.append(f"not known, and so never a pass: {', '.join(unknown)}")
    links, parallel = pack.observed.series_links.count, pack.parallel
    if links is not None and parallel is not None and links.high < parallel.value.low:
        counts = f"{links.high:g} links for {parallel.value.low:g} cells in parallel"
        cautions.append(f"{counts}: one link a cell is common practice")
    peak = pack.claim.peak_current_a
    if pack.claim.continuous_current_a is None and peak is not None:
        cautions.append(f"a peak of {peak.high:g} A is claimed; a peak is never a continuous current")
    return cautions
