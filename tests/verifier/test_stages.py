"""One case at its four stages: what is supported only ever narrows as facts are added."""

from __future__ import annotations

from copy import deepcopy
from typing import TYPE_CHECKING, Any

import pytest

from verifier.finding import Finding

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

STAGES = ("listed", "arrived", "opened", "tested")

# What becomes known at each stage, in the order in which a pack is examined.
KNOWN: dict[str, tuple[str, ...]] = {
    "listed": (),
    "arrived": ("mass_kg", "resting_voltage_v", "leads", "charger", "connector", "fuse"),
    "opened": ("series", "parallel", "cell", "bms", "strip", "series_links", "take_off", "build"),
    "tested": ("material_test", "capacity_ah", "capacity_temperature_c", "capacity_current_a"),
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
        {
            "observed.capacity_ah": 10.5,
            "observed.capacity_temperature_c": 25,
            "observed.capacity_current_a": 2,
            "observed.strip.thickness_mm": [0.15, 0.2],
        },
        {"claim.series": None, "claim.parallel": None, "claim.cell_count": None, "claim.chemistry": None},
        {"observed.take_off.where": "end", "observed.series_links.count": 2},
    ],
)
def test_support_only_narrows_from_stage_to_stage(bench: Bench, changes: dict[str, Any]) -> None:
    """Otherwise a fact seen on the bench would make a figure less certain than the listing alone."""
    data = bench.seen_through(**changes)
    data["observed"].setdefault("mass_kg", 3.4)
    before: dict[str, Finding] = {}
    compared = 0
    for stage in STAGES:
        for name, finding in bench.findings(at_stage(data, stage)).items():
            earlier = before.get(name)
            if earlier is not None:
                assert finding.supported.low >= earlier.supported.low * (1 - 1e-9), (stage, name)
                assert finding.supported.high <= earlier.supported.high * (1 + 1e-9), (stage, name)
                compared += finding.supported != earlier.supported
            before[name] = finding
    assert compared >= 5, "facts narrow something"
