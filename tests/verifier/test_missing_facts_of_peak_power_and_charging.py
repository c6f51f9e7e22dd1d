"""A missing fact never reads as a pass, and knowing less covers more: peak, power and charging together."""

from __future__ import annotations

from itertools import combinations_with_replacement
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from verifier.finding import Finding
from verifier.judge import judge_figure
from verifier.verdict import PASSES, Verdict

JUDGED = ("peak_current", "power", "charge_voltage", "charge_current", "charge_time")
ORDER = {
    Verdict.DOES_NOT_HOLD: 0, Verdict.INCONSISTENT: 0, Verdict.NOT_SETTLED: 1,
    Verdict.HOLDS_WITHOUT_RESERVE: 2, Verdict.HOLDS_WITH_RESERVE: 3, Verdict.HOLDS: 3, Verdict.CONSISTENT: 3,
}  # fmt: skip
EVERYTHING = {
    "claim.peak_current_a": 30, "claim.peak_seconds": 5, "claim.power_w": 600, "claim.charge_voltage_v": 54.6,
    "claim.charge_current_a": 2, "claim.charge_hours": 8, "observed.bms.peak_a": 80,
    "observed.charger": {"voltage_v": 54.6, "current_a": 2},
    "observed.charge_leads": {"awg": 16, "conductor": "copper"},
}  # fmt: skip
# Packs as they truly are, of which the seller claims the same.
TRUTHS: list[dict[str, Any]] = [
    {},
    {"observed.bms.peak_a": 20, "observed.bms.continuous_a": 15},
    {"observed.fuse.rating_a": 10},
    {"observed.parallel": 2},
    {"observed.series": 14, "observed.bms.series": 14},
    {"observed.cell": {"marking": "OSK 18650-L", "size": "18650", "chemistry": "LFP"}},
    {"observed.cell": {"marking": "TARN 18650-W", "size": "18650", "chemistry": "NMC"}},
    {"observed.cell": {"marking": "NOT REGISTERED", "size": "18650", "chemistry": "NMC"}},
    {"observed.charge_leads": {"awg": 34, "conductor": "copper"}},
    {"observed.charger.current_a": 0.5},
    {"use.temperature_c": [-10, 40]},
    {"use.temperature_c": [-30, 40]},
]
GROUPS = [("observed.charger", "claim.charge_current_a"), ("observed.charge_leads",), ("claim.peak_seconds",)]


def cells(bench: Any) -> list[Any]:
    charge = [{"low_c": 0, "high_c": 55, "max_c": 0.5}]
    pulse = [{"current_c": 5, "seconds": 5, "low_c": -20, "high_c": 60}]
    weak = bench.sheet(
        discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": 2}],
        capacity=[{"kind": "minimum", "value_ah": 1.2}], c_rate_capacity_ah=None,
        charge=[{"low_c": 0, "high_c": 45, "max_a": 0.3}], pulse=[{**pulse[0], "current_c": 2}],
    )  # fmt: skip
    iron = bench.sheet(
        nominal_voltage_v=3.2, charge_voltage_v=3.65, cutoff_voltage_v=2.0, charge=charge, pulse=pulse
    )
    return [
        bench.cell("lyr-18650-26", bench.sheet(charge=charge, pulse=pulse, resistance={"dc_mohm": 32})),
        bench.cell("tarn-18650-w", weak),
        bench.cell("osk-18650-l", iron, chemistry="LFP"),
    ]


def judged(bench: Any, data: dict[str, Any]) -> dict[str, Finding]:
    return {name: bench.figure(name, data, *cells(bench)) for name in (*JUDGED, "load_power")}


def stated(bench: Any, data: dict[str, Any]) -> dict[str, Finding]:
    """Return the figures with every fact as stated: a point inside a range may exclude another fact."""
    facts = bench.known(data, *cells(bench))
    return {name: judge_figure(name, facts) for name in (*JUDGED, "load_power")}


def better(bench: Any, data: dict[str, Any], removed: tuple[str, ...]) -> list[str]:
    """Return the figures that pass once facts are removed and did not before, or pass better."""
    before = judged(bench, data)
    after = judged(bench, bench.changed(data, dict.fromkeys(removed)))
    return [
        name
        for name in JUDGED
        if after[name].verdict in PASSES
        and not after[name].sellers_word
        and ORDER[after[name].verdict] > ORDER[before[name].verdict]
    ]


def test_the_fully_observed_case_passes(bench: Any) -> None:
    """The tests below would compare nothing with nothing."""
    found = judged(bench, bench.seen_through(**EVERYTHING))
    assert {name for name in JUDGED if found[name].verdict not in PASSES} == set()


@pytest.mark.parametrize("truth", range(len(TRUTHS)))
def test_no_single_fact_and_no_two_groups_read_as_a_pass_when_missing(bench: Any, truth: int) -> None:
    """A figure would pass because nobody looked at the charge leads, the BMS or the cells."""
    data = bench.seen_through(**EVERYTHING | TRUTHS[truth])
    removals = [(path,) for path in bench.facts(data)]
    removals += [one + other for one, other in combinations_with_replacement([*bench.GROUPS, *GROUPS], 2)]
    assert [(removed, found) for removed in removals if (found := better(bench, data, removed))] == []


@given(st.integers(0, len(TRUTHS) - 1), st.data())
@settings(max_examples=100)
def test_knowing_less_never_excludes_the_pack_as_it_is(bench: Any, truth: int, draw: st.DataObject) -> None:
    """A true pack would be called impossible as long as little is known of it."""
    data = bench.seen_through(**EVERYTHING | TRUTHS[truth])
    observed = [path for path in bench.facts(data) if path.startswith("observed")]
    removed = draw.draw(st.lists(st.sampled_from(observed), max_size=6, unique=True))
    # What the seller claims untruly is not there to be believed once nobody has looked.
    claims = dict.fromkeys(
        [f"claim.{name}" for name in bench.BUILD_CLAIMS]
        + [f"claim.{name}" for name in ("charge_voltage_v", "charge_current_a", "nominal_voltage_v")]
    )
    known = judged(bench, bench.changed(data, claims))
    less = judged(bench, bench.changed(data, {**claims, **dict.fromkeys(removed)}))
    for name in JUDGED:
        outer, inner = less[name].supported, known[name].supported
        slack = 1e-9
        assert outer.low <= inner.low * (1 + slack) + slack, (name, removed)
        assert inner.high <= outer.high * (1 + slack) + slack, (name, removed)


RANGED = {
    "observed.parallel": (1, 8), "observed.series": (7, 16), "observed.bms.peak_a": (5, 90),
    "observed.fuse.rating_a": (5, 60), "observed.capacity_ah": (5, 20),
    "observed.charger.current_a": (0.5, 12), "claim.peak_seconds": (1, 12),
    "observed.charge_leads.awg": (10, 36),
}  # fmt: skip
WHOLE = {"observed.parallel", "observed.series", "observed.charge_leads.awg"}


@given(st.data(), st.sampled_from(["LYR 18650-26", "TARN 18650-W", "OSK 18650-L"]))
@settings(max_examples=150)
def test_every_point_inside_the_given_ranges_lies_inside_the_bounds(
    bench: Any, draw: st.DataObject, marking: str
) -> None:
    """A possible pack would support less, or more, than the report calls possible."""
    ranges, points = {}, {}
    for path in draw.draw(st.lists(st.sampled_from(sorted(RANGED)), min_size=1, unique=True)):
        low, high = RANGED[path]
        number = st.integers(int(low), int(high)) if path in WHOLE else st.floats(low, high)
        ends = sorted((draw.draw(number), draw.draw(number)))
        ranges[path] = ends
        points[path] = draw.draw(st.integers(*ends) if path in WHOLE else st.floats(*ends))
    data = bench.seen_through(**{**EVERYTHING, "observed.cell.marking": marking, "claim.chemistry": None,
                                 "observed.cell.chemistry": None})  # fmt: skip
    wide = stated(bench, bench.changed(data, ranges))
    one = stated(bench, bench.changed(data, points))
    slack = 1e-9
    for name in (*JUDGED, "load_power"):
        outer, inner = wide[name].supported, one[name].supported
        assert outer.low <= inner.low * (1 + slack) + slack, name
        assert inner.high <= outer.high * (1 + slack) + slack, name
