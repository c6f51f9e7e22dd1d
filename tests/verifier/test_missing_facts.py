"""A missing fact never reads as a pass: whatever is taken away, nothing becomes better, sharper or settled.

Facts are those that were seen, the seller's on the build, those of the use, and every figure of the sheets.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from itertools import combinations_with_replacement
from math import inf
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.cell import Cell
from tests.effort import tried
from verifier.finding import Finding
from verifier.verdict import ON_SELLERS_WORD, PASSES, REFUTED, Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

# What is granted: a pass on the seller's word grants no more than what is open.
GRANTED = {
    Verdict.HOLDS_WITHOUT_RESERVE: 1,
    Verdict.HOLDS_WITH_RESERVE: 2,
    Verdict.HOLDS: 2,
    Verdict.CONSISTENT: 2,
}
COUNTS = {"claim.series", "claim.parallel", "claim.cell_count"}
CLAIMS = {
    "claim.peak_current_a": 30, "claim.peak_seconds": 5, "claim.power_w": 450, "claim.charge_voltage_v": 54.6,
    "claim.charge_current_a": 2, "claim.charge_hours": 8, "claim.mass_kg": 3.2, "claim.cycles": 250,
    "claim.range_km": 10,
}  # fmt: skip
SEEN = {
    "observed.bms.peak_a": 80, "observed.charger": {"voltage_v": 54.6, "current_a": 2},
    "observed.charge_leads": {"awg": 16, "conductor": "copper"}, "observed.fuse.fitted": True,
    "use.charge_temperature_c": [15, 30], "use.rider_kg": 80, "use.vehicle_kg": 25, "use.speed_km_h": 20,
}  # fmt: skip
# Packs as they truly are; the claims about the build are those of a seller who may lie about them.
TRUTHS: list[dict[str, Any]] = [
    {},
    {"observed.bms.continuous_a": 10, "observed.bms.peak_a": 20},
    {"observed.fuse.rating_a": 10},
    {"observed.parallel": 2},
    {"observed.series": 10, "observed.bms.series": 10},
    {"observed.cell": {"marking": "OSK 18650-L", "size": "18650", "chemistry": "LFP"}},
    {"observed.cell": {"marking": "TARN 18650-W", "size": "18650", "chemistry": "NMC"}},
    {"observed.cell": {"marking": "NOT REGISTERED", "size": "18650", "chemistry": "NMC"}},
    {"observed.charge_leads": {"awg": 38, "conductor": "copper"}},
    {"observed.charger.current_a": 0.5},
    {"observed.take_off": {"where": "end", "layers": 1}, "observed.strip.layers": 1},
    {"use.temperature_c": [-10, 40]},
]
GROUPS: list[tuple[str, ...]] = [
    ("observed.charger", "claim.charge_current_a"), ("observed.charge_leads",), ("observed.strip",),
]  # fmt: skip


def full_sheet(bench: Bench, **changes: Any) -> dict[str, Any]:
    """Return a sheet that states everything."""
    return bench.sheet(**{
        "capacity": [{"kind": "minimum", "value_ah": 2.6}, {"kind": "typical", "value_ah": 2.65}],
        "charge": [{"low_c": 0, "high_c": 55, "max_c": 0.5}],
        "pulse": [{"current_c": 5, "seconds": 5, "low_c": -20, "high_c": 60}],
        "resistance": {"dc_mohm": 32}, "mass_g": 46, "diameter_mm": 18.4, "length_mm": 65.0,
        "cycle_life": {
            "cycles": 300, "to_fraction": 0.8, "charge_a": 1.3, "discharge_a": 5.2, "temperature_c": 25,
        },
        **changes,
    })  # fmt: skip


def cells(bench: Bench) -> list[Cell]:
    weak = full_sheet(
        bench, discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": 2}],
        capacity=[{"kind": "minimum", "value_ah": 1.2}], c_rate_capacity_ah=1.2,
        charge=[{"low_c": 0, "high_c": 45, "max_a": 0.3}],
    )  # fmt: skip
    iron = full_sheet(bench, nominal_voltage_v=3.2, charge_voltage_v=3.65, cutoff_voltage_v=2.0)
    return [
        bench.cell("lyr-18650-26", full_sheet(bench)),
        bench.cell("tarn-18650-w", weak),
        bench.cell("osk-18650-l", iron, chemistry="LFP"),
    ]


def pack(bench: Bench, truth: dict[str, Any]) -> dict[str, Any]:
    return bench.seen_through(**{**CLAIMS, **SEEN, **truth})


def scaled(data: dict[str, Any], factor: float) -> dict[str, Any]:
    """Return the case with every advertised quantity multiplied."""
    data = deepcopy(data)
    for name in (
        "capacity_ah",
        "energy_wh",
        "continuous_current_a",
        "load_power_w",
        "peak_current_a",
        "power_w",
    ):
        data["claim"][name] *= factor
    return data


def improved(
    before: dict[str, Finding], after: dict[str, Finding], removed: tuple[str, ...]
) -> Iterator[tuple[str, str]]:
    """Yield the figures that pass, or pass better, once facts are not known, or fail that did not."""
    for name, then in before.items():
        now = after[name]
        if name == "configuration" and COUNTS & set(removed):
            continue  # then another claim is judged, not the same one on fewer facts
        if GRANTED.get(now.verdict, 0) > GRANTED.get(then.verdict, 0):
            yield name, f"{then.verdict} becomes {now.verdict}"
        # What the seller says may refute a claim that what was seen did not: then it rests on his word.
        on_word = any(fact.startswith("claim.") for fact in now.rests_on)
        if now.verdict in REFUTED and then.verdict not in REFUTED and not on_word:
            yield name, f"{then.verdict} becomes {now.verdict}"


def test_the_fully_observed_case_is_settled(bench: Bench) -> None:
    """The tests below would compare nothing with nothing."""
    found = bench.findings(pack(bench, {}), *cells(bench))
    judged = {name for name, each in found.items() if each.claimed}
    # A test at 25 C settles nothing of a use from 10 to 40 C.
    assert {name for name in judged if GRANTED.get(found[name].verdict) is None} == {"cycle_life"}
    assert len(judged) == 14
    for truth in (1, 2, 3, 4, 5, 6, 8):
        verdicts = {
            each.verdict for each in bench.findings(pack(bench, TRUTHS[truth]), *cells(bench)).values()
        }
        assert verdicts & REFUTED, TRUTHS[truth]


@pytest.mark.parametrize("truth", [0, 4, 7, 10])
def test_no_single_fact_reads_as_a_pass_when_missing(bench: Bench, truth: int) -> None:
    """A pack would pass because nobody looked at its fuse, its BMS or its cells."""
    data, registry = pack(bench, TRUTHS[truth]), cells(bench)
    before = bench.findings(data, *registry)
    paths = [*bench.facts(data), *(f"use.{name}" for name in data["use"])]
    told = {
        path: found
        for path in paths
        if (
            found := [
                *improved(before, bench.findings(bench.changed(data, {path: None}), *registry), (path,))
            ]
        )
    }
    assert told == {}


def test_no_two_groups_of_facts_read_as_a_pass_when_missing(bench: Bench) -> None:
    """A pack would pass because what tells of its cells in two places is missing in both."""
    data, registry = pack(bench, {}), cells(bench)
    before = bench.findings(data, *registry)
    for one, other in combinations_with_replacement([*bench.GROUPS, *GROUPS], 2):
        less = bench.changed(data, dict.fromkeys(one + other))
        assert [*improved(before, bench.findings(less, *registry), one + other)] == [], one + other


@given(st.integers(0, len(TRUTHS) - 1), st.sampled_from([1, 1, 0.5, 0.9, 1.1, 2]), st.data())
@settings(max_examples=tried(24, 60))
def test_no_facts_read_as_a_pass_when_missing(
    bench: Bench, truth: int, factor: float, draw: st.DataObject
) -> None:
    """A pack would pass because nobody looked; here by chance, of many packs and claims."""
    data, registry = scaled(pack(bench, TRUTHS[truth]), factor), cells(bench)
    removed = tuple(bench.some_facts(draw, data))
    less = bench.changed(data, dict.fromkeys(removed))
    found = improved(bench.findings(data, *registry), bench.findings(less, *registry), removed)
    assert [*found] == [], removed


# -- figures of the sheets -----------------------------------------------------------------------------------


def without(sheet: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield a sheet without each of its figures, and without each entry of each list of them."""
    for name, value in sheet.items():
        if name in ("title", "evidence"):
            continue
        yield name, {each: said for each, said in sheet.items() if each != name}
        if isinstance(value, list) and len(value) > 1:
            for place in range(len(value)):
                yield f"{name}[{place}]", {**sheet, name: [*value[:place], *value[place + 1 :]]}
        if isinstance(value, dict):
            for key in value:
                if key != "cycles":
                    rest = {each: said for each, said in value.items() if each != key}
                    yield f"{name}.{key}", {**sheet, name: rest or None}


@pytest.mark.parametrize("factor", [1, 1.2])
def test_no_figure_of_a_sheet_reads_as_a_pass_when_missing(bench: Bench, factor: float) -> None:
    """A cell whose sheet says less would be granted more, or refuted by what the sheet does not say.

    Nothing possible is excluded either: what is known with the figure lies inside what is known without it.
    """
    sheet = full_sheet(bench)
    data = scaled(pack(bench, {"use.temperature_c": [0, 40], "claim.cell_capacity_ah": 2.65}), factor)
    before = bench.findings(data, bench.cell("lyr-18650-26", sheet))
    for removed, less in without(sheet):
        after = bench.findings(data, bench.cell("lyr-18650-26", {**less}))
        if removed.startswith("discharge["):
            # A sheet that is silent on some air allows no use there, and may refute a claim by that.
            assert [each for each in improved(before, after, ()) if "not hold" not in each[1]] == [], removed
            continue
        assert [*improved(before, after, ())] == [], removed
        for name, then in before.items():
            low, high = after[name].supported.low, after[name].supported.high
            assert low <= then.supported.low * (1 + 1e-9) + 1e-9, f"{name} without {removed}"
            assert high >= then.supported.high * (1 - 1e-9) - 1e-9, f"{name} without {removed}"


@pytest.mark.parametrize(
    "section", ["bms", "connector", "fuse", "cell", "leads", "take_off", "series_links", "strip"]
)
def test_a_current_is_open_while_an_element_is_not_known(bench: Bench, section: str) -> None:
    """A pack whose fuse, BMS, connector or cells nobody has seen would be granted its current."""
    claims = dict.fromkeys(f"claim.{name}" for name in bench.BUILD_CLAIMS)
    data = bench.seen_through(**claims, **{f"observed.{section}": None})
    report = bench.judge(data)
    found = report.finding("continuous_current")
    assert found.verdict is Verdict.NOT_SETTLED
    assert any(section in name for name in found.unknown)
    assert report.rely_on.continuous_current_a.low == 0
    assert report.answer.use_at_most == ()
    assert report.finding("load_power").verdict not in PASSES
    assert report.answer.at_best is None or report.answer.at_best.continuous_a < inf


@pytest.mark.parametrize(
    ("path", "figure"), [("use.temperature_c", "continuous_current"), ("use.efficiency", "load_power")]
)
def test_a_pass_by_a_default_names_what_was_not_stated(bench: Bench, path: str, figure: str) -> None:
    """A pack for the winter would pass for the default summer, and the figure itself not say so."""
    data = bench.seen_through(**{"claim.continuous_current_a": 3, "claim.load_power_w": 90, path: None})
    found = bench.findings(data)[figure]
    assert found.verdict in PASSES - ON_SELLERS_WORD
    named = {*found.unknown, *(field for each in found.cautions for field in each.fields)}
    assert path in named
