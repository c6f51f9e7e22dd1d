"""Judging whole cases: every figure in every report, faults that show, and what to rely on."""

from __future__ import annotations

import re
from typing import Any

import pytest

from verifier import judge as judging
from verifier.figures import FIGURES, FigureEntry
from verifier.finding import Finding
from verifier.pack import Pack
from verifier.report import as_json
from verifier.report.as_json import report_data
from verifier.verdict import PASSES, Verdict


def test_what_to_rely_on_is_nothing_while_the_seller_is_the_only_witness(bench: Any) -> None:
    """A rider would draw the current of a pack that only the listing describes."""
    claims = {
        "claim.series": 13, "claim.parallel": 4, "claim.cell_marking": bench.MARKING,
        "observed.bms.continuous_a": 40, "observed.connector.continuous_a": 40,
        "observed.fuse.rating_a": 40, "use.temperature_c": 25,
    }  # fmt: skip
    rely = bench.judge(bench.changed({}, claims)).rely_on
    seen = bench.judge(bench.seen_through()).rely_on
    assert rely.continuous_current_a.low == rely.continuous_power_w.low == rely.load_power_w.low == 0
    assert set(rely.on_sellers_word) >= {"claim.series", "claim.parallel", "claim.cell_marking"}
    assert seen.continuous_current_a.low > 0
    assert seen.on_sellers_word == ()


def test_the_sellers_word_is_told_by_field_names(bench: Any) -> None:
    """A program that reads the report could not tell which facts to look for; half a sentence is no field."""
    for claims in (
        {"claim.nominal_voltage_v": 48, "observed.parallel": 4, "claim.chemistry": "NMC"},
        {"claim.full_voltage_v": 54.6, "observed.parallel": 4},
        {"claim.cell_count": 52, "claim.parallel": 4},
        {"claim.designation": "13INR19/66-4"},
        {"claim.series": 13, "claim.parallel": 4, "claim.cell_marking": bench.MARKING},
    ):
        rely = bench.judge(bench.changed({}, claims)).rely_on
        assert rely.on_sellers_word
        assert [name for name in rely.on_sellers_word if not re.fullmatch(r"claim\.[a-z_]+", name)] == []


def test_what_to_rely_on_keeps_the_reserve(bench: Any) -> None:
    """The current to rely on would be the cells' very limit. 2/3 of 31.2 A is 20.8 A (common practice)."""
    rely = bench.judge(bench.seen_through()).rely_on
    half = bench.judge(bench.seen_through(**{"limits.reserve": 0.5})).rely_on
    assert rely.continuous_current_a.low == pytest.approx(20.8)
    assert half.continuous_current_a.low == pytest.approx(15.6)


def test_every_figure_is_in_every_report(bench: Any) -> None:
    """A figure that is missing from a report looks like one that nobody claimed."""
    for data in ({}, bench.build(), bench.seen_through(), {"claim": {"capacity_ah": 14}}):
        assert [each.figure for each in bench.judge(data).findings] == list(FIGURES)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("charge_voltage_v", 58.8),
        ("charge_current_a", 20),
        ("max_charge_current_a", 30),
        ("charge_hours", 0.5),
        ("peak_current_a", 500),
        ("power_w", 20_000),
        ("mass_kg", 0.9),
        ("cycles", 9000),
        ("range_km", 900),
        ("lead_awg", 24),
    ],
)
def test_a_claim_that_no_figure_judges_is_named(bench: Any, name: str, value: float) -> None:
    """A 58.8 V charger for 13 in series, claimed and never judged, would read as fine."""
    data = bench.build(**{f"claim.{name}": value})
    with_it = report_data(bench.judge(data))
    without = report_data(bench.judge(bench.changed(data, {f"claim.{name}": None})))
    for report in (with_it, without):
        del report["inputs"]
    assert with_it != without


def test_the_order_of_the_figures_changes_nothing(bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """One check would decide what another one sees."""
    data = bench.seen_through()
    before = bench.by_figure(bench.judge(data))
    monkeypatch.setattr(judging, "FIGURES", dict(reversed(FIGURES.items())))
    report = bench.judge(data)
    assert [each.figure for each in report.findings] == list(reversed(FIGURES))
    assert bench.by_figure(report) == before


def test_the_order_of_the_fields_changes_nothing(bench: Any) -> None:
    """The same facts, written in another order, would be judged differently."""

    def turned(part: Any) -> Any:
        if not isinstance(part, dict):
            return part
        return {name: turned(value) for name, value in reversed(part.items())}

    data = bench.seen_through()
    assert bench.judge(turned(data)).findings == bench.judge(data).findings


@pytest.mark.parametrize("figure", FIGURES)
def test_a_check_that_crashes_shows_and_hides_no_other(
    bench: Any, monkeypatch: pytest.MonkeyPatch, figure: str
) -> None:
    """A fault of the program would read as a claim that nobody made, or take the whole report with it."""

    def crash(_: Pack) -> Finding:
        raise RuntimeError("boom")

    data = bench.seen_through()
    before = bench.by_figure(bench.judge(data))
    monkeypatch.setitem(judging.FIGURES, figure, FigureEntry(FIGURES[figure].unit, crash))
    report = bench.judge(data)
    after = bench.by_figure(report)
    assert after[figure].verdict is Verdict.CHECK_FAILED
    assert any("boom" in text for text in after[figure].cautions)
    assert {name: each for name, each in after.items() if name != figure} == {
        name: each for name, each in before.items() if name != figure
    }
    assert report.failed
    assert not report.all_claims_hold
    assert report_data(report)["findings"][list(FIGURES).index(figure)]["verdict"] == "check failed"


@pytest.mark.parametrize("fault", ["discharge_limit", "capacity"])
def test_a_fault_in_what_figures_share_still_gives_a_report(
    bench: Any, monkeypatch: pytest.MonkeyPatch, fault: str
) -> None:
    """A fault in reading one sheet would end the run over a whole folder in a traceback."""
    from registry import sheet_limits

    def crash(*_: object) -> None:
        raise ZeroDivisionError("boom")

    monkeypatch.setattr(sheet_limits, fault, crash)
    report = bench.judge(bench.seen_through())
    assert report.failed
    failed = {each.figure for each in report.findings if each.verdict is Verdict.CHECK_FAILED}
    shared = {"continuous_current", "load_power"} if fault == "discharge_limit" else {"capacity", "energy"}
    assert shared <= failed
    assert "nominal_voltage" not in failed


def test_two_runs_give_the_same_bytes(bench: Any) -> None:
    """Two reports on the same pack could not be compared."""
    data = bench.seen_through()
    assert as_json.render([bench.judge(data)]) == as_json.render([bench.judge(data)])


def test_judging_changes_neither_case_nor_registry(bench: Any) -> None:
    """The second case of a folder would be judged by what the first one left behind."""
    case, cells = bench.case(bench.seen_through()), bench.registry(*bench.cells())
    before = case.model_dump(), cells.digest
    judging.judge(case, cells)
    assert (case.model_dump(), cells.digest) == before


def test_an_observation_that_is_not_that_cell_is_told_and_no_pass(bench: Any) -> None:
    """A wrapper of an 18650 on a cell of another size would be judged by the wrapper, and pass."""
    data = bench.build(
        **{"claim.capacity_ah": 10, "observed.cell.size": "21700", "observed.cell.chemistry": "LFP"}
    )
    report = bench.judge(data)
    told = [each.text for each in report.contradictions]
    assert len(told) == 2
    assert report.finding("capacity").verdict not in PASSES or any(
        "21700" in text for text in report.finding("capacity").cautions
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"claim.parallel": 5}, ("claimed parallel 5", "observed 4")),
        ({"claim.series": 14}, ("claimed series 14", "observed 13")),
        ({"claim.series": 12}, ("claimed series 12", "observed 13")),
        ({"claim.parallel": 3}, ("claimed parallel 3", "observed 4")),
        ({"claim.cell_size": "21700", "observed.cell.size": "18650"}, ("21700", "18650")),
        ({"claim.chemistry": "LFP", "observed.cell.chemistry": "NMC"}, ("LFP", "NMC")),
        ({"claim.capacity_ah": 20, "observed.capacity_ah": 9}, ("20", "9")),
        (
            {"claim.capacity_ah": 14, "claim.nominal_voltage_v": 48, "claim.energy_wh": 960},
            ("672 Wh", "960 Wh"),
        ),
        ({"claim.capacity_ah": 20, "claim.cell_capacity_ah": 2.6}, ("10.4 Ah", "20 Ah")),
        ({"claim.cell_marking": "TARN 18650-W"}, ("tarn-18650-w", "lyr-18650-26")),
        ({"claim.cell_count": 40}, ("40", "52")),
    ],
)
def test_a_claim_that_contradicts_itself_or_the_bench_is_told_with_its_arithmetic(
    bench: Any, changes: dict[str, Any], words: tuple[str, ...]
) -> None:
    """A listing that refutes itself would read as merely unproven."""
    report = bench.judge(bench.build(**changes), *bench.cells())
    told = [each.text for each in report.contradictions]
    told += [text for each in report.findings for text in each.cautions]
    assert any(all(word in text for word in words) for text in told), told


@pytest.mark.parametrize(
    "changes",
    [
        {"claim.capacity_ah": 9, "observed.capacity_ah": 10.4},
        {"claim.capacity_ah": 14, "claim.nominal_voltage_v": 48, "claim.energy_wh": 672},
        {"claim.capacity_ah": 14, "claim.nominal_voltage_v": 48, "claim.energy_wh": 655.2},
        {"claim.capacity_ah": 10.4, "claim.cell_capacity_ah": 2.6},
        {"claim.cell_marking": "LYR 18650-26"},
        {"claim.cell_marking": "LYR 18650-26 cells, A grade"},
        {"claim.cell_marking": "LYR"},
        {"claim.series": 13, "claim.parallel": 4, "claim.cell_count": 52},
    ],
)
def test_claims_that_agree_are_no_contradiction(bench: Any, changes: dict[str, Any]) -> None:
    """Honest sellers would be accused by rounding (5 %), or for a pack better than claimed."""
    assert bench.judge(bench.build(**changes)).contradictions == ()
