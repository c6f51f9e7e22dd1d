"""One case at its four stages: what is supported only ever narrows as facts are added."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from verifier.finding import Finding

STAGES = ("listed", "arrived", "opened", "tested")

# What becomes known at each stage, in the order in which a pack is examined.
KNOWN: dict[str, tuple[str, ...]] = {
    "listed": (),
    "arrived": ("mass_kg", "resting_voltage_v", "leads", "charger", "connector", "fuse"),
    "opened": ("series", "parallel", "cell", "bms", "strip", "series_links", "take_off", "build"),
    "tested": ("material_test", "capacity_ah"),
}


def at_stage(data: dict[str, Any], stage: str) -> dict[str, Any]:
    """Return the case as it was known at a stage."""
    known = [name for each in STAGES[: STAGES.index(stage) + 1] for name in KNOWN[each]]
    part = deepcopy(data)
    part["observed"] = {name: part["observed"][name] for name in known if name in part["observed"]}
    part["case"]["stage"] = stage
    return part


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"observed.strip.material": "unknown", "observed.material_test": {"kind": "spark", "sparks": True}},
        {"observed.capacity_ah": 10.5, "observed.strip.thickness_mm": [0.15, 0.2]},
        {"claim.series": None, "claim.parallel": None, "claim.cell_count": None, "claim.chemistry": None},
        {"observed.take_off.where": "end", "observed.series_links.count": 2},
    ],
)
def test_support_only_narrows_from_stage_to_stage(bench: Any, changes: dict[str, Any]) -> None:
    """Otherwise a fact seen on the bench would make a figure less certain than the listing alone."""
    data = bench.seen_through(**changes)
    data["observed"].setdefault("mass_kg", 3.4)
    before: dict[str, Finding] = {}
    for stage in STAGES:
        report = bench.judge(at_stage(data, stage))
        for finding in report.findings:
            earlier = before.get(finding.figure)
            if earlier is not None and not report.contradictions:
                assert finding.supported.low >= earlier.supported.low * (1 - 1e-9), (stage, finding.figure)
                assert finding.supported.high <= earlier.supported.high * (1 + 1e-9), (stage, finding.figure)
            before[finding.figure] = finding


def test_a_fact_that_does_not_fit_the_claim_is_shown(bench: Any) -> None:
    """Otherwise support moves away from the listing without a word."""
    data = bench.seen_through(**{"observed.parallel": 3})
    texts = [each.text for each in bench.judge(data).contradictions]
    assert any("parallel" in text and "4" in text and "3" in text for text in texts)
