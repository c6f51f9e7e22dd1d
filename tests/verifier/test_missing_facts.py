"""A missing fact never reads as a pass: whatever is taken away from a case, no verdict becomes better."""

from __future__ import annotations

from copy import deepcopy
from itertools import combinations_with_replacement
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from verifier.finding import Finding
from verifier.verdict import PASSES, Verdict

ORDER = {
    Verdict.DOES_NOT_HOLD: 0, Verdict.INCONSISTENT: 0, Verdict.NOT_SETTLED: 1,
    Verdict.HOLDS_WITHOUT_RESERVE: 2, Verdict.HOLDS_WITH_RESERVE: 3, Verdict.HOLDS: 3, Verdict.CONSISTENT: 3,
}  # fmt: skip
COUNTS = {"claim.series", "claim.parallel", "claim.cell_count"}


def says_sellers_word(finding: Finding) -> bool:
    return any("seller's word" in text for text in finding.cautions)


def scaled(data: dict[str, Any], factor: float) -> dict[str, Any]:
    """Return the case with every advertised quantity multiplied."""
    data = deepcopy(data)
    for name in ("capacity_ah", "energy_wh", "continuous_current_a", "load_power_w", "nominal_voltage_v"):
        if name in data["claim"]:
            data["claim"][name] *= factor
    return data


# Packs as they truly are; the claims about the build are those of a seller who may lie about them.
TRUTHS: list[dict[str, Any]] = [
    {},
    {"observed.bms.continuous_a": 10},
    {"observed.fuse.rating_a": 10},
    {"observed.connector.continuous_a": 10},
    {"observed.parallel": 2},
    {"observed.series": 10, "observed.bms.series": 10},
    {"observed.cell": {"marking": "OSK 18650-L", "size": "18650", "chemistry": "LFP"}},
    {"observed.cell": {"marking": "TARN 18650-W", "size": "18650", "chemistry": "NMC"}},
    {"observed.cell": {"marking": "NOT REGISTERED", "size": "18650", "chemistry": "NMC"}},
    {"use.temperature_c": [-10, 40]},
    {"use.temperature_c": [-30, 40]},
]


@pytest.mark.parametrize("truth", range(len(TRUTHS)))
def test_the_fully_observed_case_is_settled(bench: Any, truth: int) -> None:
    """The tests of missing facts below would compare nothing with nothing."""
    data = bench.seen_through(**TRUTHS[truth])
    found = bench.by_figure(bench.judge(data, *bench.cells()))
    if not truth:
        assert {name for name, each in found.items() if each.claimed and each.verdict not in PASSES} == set()
    elif "NOT REGISTERED" not in str(data):
        assert Verdict.DOES_NOT_HOLD in {each.verdict for each in found.values()} or Verdict.INCONSISTENT in {
            each.verdict for each in found.values()
        }


@given(st.integers(0, len(TRUTHS) - 1), st.sampled_from([1, 1, 0.5, 0.9, 1.1, 2]), st.data())
@settings(max_examples=150)
def test_a_missing_fact_never_reads_as_a_pass(
    bench: Any, truth: int, factor: float, draw: st.DataObject
) -> None:
    """A pack would pass because nobody looked at its fuse, its BMS or its cells."""
    data = scaled(bench.seen_through(**TRUTHS[truth]), factor)
    removed = bench.some_facts(draw, data)
    less = bench.changed(data, dict.fromkeys(removed))
    cells = bench.cells()
    before, after = bench.by_figure(bench.judge(data, *cells)), bench.by_figure(bench.judge(less, *cells))
    if COUNTS & set(removed):
        del before["configuration"]  # then another claim is judged, not the same one on fewer facts
    for name, then in before.items():
        now = after[name]
        if now.verdict in PASSES and not says_sellers_word(now):
            assert then.verdict in PASSES, f"{name} passes once {removed} are not known"
            assert ORDER[now.verdict] <= ORDER[then.verdict], f"{name} is better without {removed}"


@pytest.mark.parametrize("truth", range(len(TRUTHS)))
def test_no_single_fact_and_no_two_groups_of_facts_read_as_a_pass_when_missing(
    bench: Any, truth: int
) -> None:
    """A pack would pass because nobody looked at its fuse, its BMS or its cells; here without chance."""
    data = bench.seen_through(**TRUTHS[truth])
    cells = bench.cells()
    removals = [(path,) for path in bench.facts(data)]
    removals += [one + other for one, other in combinations_with_replacement(bench.GROUPS, 2)]
    better = []
    before = bench.by_figure(bench.judge(data, *cells))
    for removed in removals:
        after = bench.by_figure(bench.judge(bench.changed(data, dict.fromkeys(removed)), *cells))
        better += [
            (name, removed)
            for name, then in before.items()
            if not (name == "configuration" and COUNTS & set(removed))
            and after[name].verdict in PASSES
            and not says_sellers_word(after[name])
            and ORDER[after[name].verdict] > ORDER[then.verdict]
        ]
    assert better == []


@pytest.mark.parametrize("section", ["bms", "connector", "fuse", "cell", "series", "parallel"])
def test_a_current_is_open_while_an_element_is_not_known(bench: Any, section: str) -> None:
    """A pack whose fuse, BMS, connector or cells nobody has seen would be granted its current."""
    claims = dict.fromkeys(f"claim.{name}" for name in bench.BUILD_CLAIMS)
    removed = {"series": ("observed.series", "observed.bms.series")}.get(section, (f"observed.{section}",))
    data = bench.seen_through(**claims, **dict.fromkeys(removed))
    report = bench.judge(data)
    found = bench.by_figure(report)
    if section != "series":
        assert found["continuous_current"].verdict is Verdict.NOT_SETTLED
        assert report.rely_on.continuous_current_a.low == 0
        assert any(section in name for name in found["continuous_current"].unknown)
    else:
        assert found["nominal_voltage"].verdict is Verdict.NOT_SETTLED
        assert any("series" in name for name in found["nominal_voltage"].unknown)
    assert found["load_power"].verdict not in PASSES or section == "series"


@pytest.mark.parametrize("path", ["use.temperature_c", "use.efficiency"])
def test_a_pass_by_a_default_names_what_was_not_stated(bench: Any, path: str) -> None:
    """A pack for the winter would pass for the default summer, and the figure itself not say so."""
    data = bench.seen_through(**{"claim.continuous_current_a": 3, "claim.load_power_w": 90, path: None})
    found = bench.by_figure(bench.judge(data))
    figure = found["continuous_current" if "temperature" in path else "load_power"]
    said = [*figure.unknown, *figure.cautions, *(step.source for step in figure.steps)]
    assert figure.verdict in PASSES
    assert any(path in text or "limits" in text for text in said)
