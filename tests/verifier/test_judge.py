"""Judging whole cases: every figure in every report, faults that show, and what to rely on."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from verifier import judge as judging
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.facts import Facts
from verifier.figures import FIGURES
from verifier.finding import Citation
from verifier.report import as_json
from verifier.report.as_json import report_data
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def test_what_to_rely_on_is_nothing_while_the_seller_is_the_only_witness(bench: Bench) -> None:
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


def test_the_sellers_word_is_told_by_field_names(bench: Bench) -> None:
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


def test_what_to_rely_on_keeps_the_reserve(bench: Bench) -> None:
    """The current to rely on would be the cells' very limit. 2/3 of 31.2 A is 20.8 A (common practice)."""
    rely = bench.judge(bench.seen_through()).rely_on
    half = bench.judge(bench.seen_through(**{"limits.reserve": 0.5})).rely_on
    assert rely.continuous_current_a.low == pytest.approx(20.8)
    assert half.continuous_current_a.low == pytest.approx(15.6)


def test_every_figure_is_in_every_report(bench: Bench) -> None:
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
def test_a_claim_that_no_figure_judges_is_named(bench: Bench, name: str, value: float) -> None:
    """A 58.8 V charger for 13 in series, claimed and never judged, would read as fine."""
    data = bench.build(**{f"claim.{name}": value})
    with_it = report_data(bench.judge(data))
    without = report_data(bench.judge(bench.changed(data, {f"claim.{name}": None})))
    for report in (with_it, without):
        del report["inputs"]
    assert with_it != without


def test_the_order_of_the_figures_changes_nothing(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """One check would decide what another one sees."""
    data = bench.seen_through()
    before = bench.by_figure(bench.judge(data))
    monkeypatch.setattr(judging, "FIGURES", dict(reversed(FIGURES.items())))
    report = bench.judge(data)
    assert [each.figure for each in report.findings] == list(reversed(FIGURES))
    assert bench.by_figure(report) == before


def test_the_order_of_the_fields_changes_nothing(bench: Bench) -> None:
    """The same facts, written in another order, would be judged differently."""

    def turned(part: Any) -> Any:
        if not isinstance(part, dict):
            return part
        return {name: turned(value) for name, value in reversed(part.items())}

    data = bench.seen_through()
    assert bench.judge(turned(data)).findings == bench.judge(data).findings


@pytest.mark.parametrize("figure", FIGURES)
def test_a_check_that_crashes_shows_and_hides_no_other(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, figure: str
) -> None:
    """A fault of the program would read as a claim that nobody made, or take the whole report with it."""

    def crash(_: Facts) -> Any:
        raise RuntimeError("boom")

    data = bench.seen_through()
    before = bench.by_figure(bench.judge(data))
    monkeypatch.setitem(FIGURES, figure, replace(FIGURES[figure], judge=crash))
    report = bench.judge(data)
    after = bench.by_figure(report)
    assert after[figure].verdict is Verdict.CHECK_FAILED
    (told,) = after[figure].cautions
    assert (told.code, told.numbers["fault"]) == ("check_failed", "RuntimeError: boom")
    assert {name: each for name, each in after.items() if name != figure} == {
        name: each for name, each in before.items() if name != figure
    }
    assert report.failed
    assert not report.all_claims_hold
    assert report_data(report)["findings"][list(FIGURES).index(figure)]["verdict"] == "check failed"


def test_a_fault_in_what_figures_share_still_gives_a_report(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault in the current's path would end the run over a whole folder in a traceback, or grant a current."""

    def crash(*_: object, **__: object) -> None:
        raise ZeroDivisionError("boom")

    monkeypatch.setattr("verifier.pack.elements.strip_limit", crash)
    report = bench.judge(bench.seen_through())
    assert report.failed
    failed = {each.figure for each in report.findings if each.verdict is Verdict.CHECK_FAILED}
    assert {"continuous_current", "load_power"} <= failed
    assert not {"nominal_voltage", "capacity"} & failed
    assert report.rely_on.continuous_current_a.low == 0
    assert (report.answer.use_at_most, report.answer.at_best) == ((), None)


def test_two_runs_give_the_same_bytes(bench: Bench) -> None:
    """Two reports on the same pack could not be compared."""
    data = bench.seen_through()
    assert as_json.render([bench.judge(data)]) == as_json.render([bench.judge(data)])


def test_judging_changes_neither_case_nor_registry(bench: Bench) -> None:
    """The second case of a folder would be judged by what the first one left behind."""
    case, cells = bench.case(bench.seen_through()), bench.registry(*bench.cells())
    before = case.model_dump(), cells.digest
    judging.judge(case, cells)
    assert (case.model_dump(), cells.digest) == before


@pytest.mark.parametrize("name", ["capacity", "energy", "continuous_current", "load_power"])
def test_without_the_parallel_count_nothing_passes(bench: Bench, name: str) -> None:
    """A known cell would stand for the whole pack."""
    claims = {f"claim.{each.claims[0]}": 1 for figure, each in FIGURES.items() if figure == name}
    data = bench.seen_through(**claims)
    for path in ("observed.parallel", "claim.parallel", "claim.cell_count"):
        data = bench.changed(data, {path: None})
    found = bench.finding(name, data)
    assert found.verdict is Verdict.NOT_SETTLED
    assert "observed.parallel" in found.unknown


def test_the_reserve_of_the_case_decides(bench: Bench) -> None:
    """A careful fleet's own reserve would be ignored. 31.2 A x 0.5 = 15.6 A."""
    for reserve, verdict in ((0.5, Verdict.HOLDS_WITHOUT_RESERVE), (0.7, Verdict.HOLDS_WITH_RESERVE)):
        report = bench.judge(bench.seen_through(**{"limits.reserve": reserve}))
        assert report.finding("continuous_current").verdict is verdict
        assert report.limits.number("reserve") == reserve


def test_a_temperature_from_the_command_line_decides_over_the_case(bench: Bench) -> None:
    """--temperature 50 would be ignored. 4 x 2.6 A at 45..75 C, shared evenly by tabs at every cell."""
    limits = Limits({"use_temperature_c": Bounds(50, 50)})
    report = bench.judge(bench.seen_through(), limits=limits)
    cells = report.finding("continuous_current").elements[0].supported
    assert cells.low == pytest.approx(10.4)
    assert report.temperature_c == (50, 50)
    assert not report.temperature_assumed


def test_every_step_has_a_source_or_is_arithmetic(bench: Bench) -> None:
    """A number in a report could not be traced: sheet, page and quoted line, field, limits or arithmetic."""
    report = bench.judge(bench.seen_through())
    for finding in report.findings:
        if finding.claimed is not None:
            assert finding.steps, finding.figure
        for step in finding.steps:
            source = step.source
            given = [source.fields, source.limit, source.citations, source.reference]
            assert sum(map(bool, given)) <= 1, f"{finding.figure} {step.symbol}: one source, or none"
            assert step.formula
            assert source.limit is None or report.limits[source.limit]
    current = report.finding("continuous_current")
    (cited,) = next(step.source.citations for step in current.steps if step.symbol == "I_cell")
    assert cited == Citation("lyr-18650-26", 1, "Invented sheet", "maker", 3, "5 to 45 C: 3C")


def test_the_steps_give_the_result(bench: Bench) -> None:
    """The derivation would explain another number than the one reported."""
    report = bench.judge(bench.seen_through())
    for finding in report.findings:
        if finding.claimed is not None and finding.figure not in ("configuration", "continuous_current"):
            values = [
                (step.value.low, step.value.high) for step in finding.steps if step.unit == finding.unit
            ]
            assert (finding.supported.low, finding.supported.high) in values, finding.figure
    current = report.finding("continuous_current")
    ends = [each.supported for each in current.elements]
    assert current.supported == Bounds(min(each.low for each in ends), min(each.high for each in ends))


def test_a_figure_somebody_quoted_grants_nothing(bench: Bench) -> None:
    """A number from a forum would be ridden at. Rule: evidence secondhand is judged by, and not relied on."""
    quoted = bench.cell("lyr-18650-26", bench.sheet(evidence="secondhand"))
    report = bench.judge(bench.seen_through(), quoted)
    finding = report.finding("continuous_current")
    assert (finding.evidence, bench.told(finding, "secondhand") is not None) == ("secondhand", True)
    assert report.rely_on.continuous_current_a.low == 0
    assert report.answer.use_at_most == ()
    # The verdict is that of the numbers; the conclusion is no pass, so that nobody who filters on it takes it for one.
    assert finding.verdict is Verdict.HOLDS_WITH_RESERVE  # 20 A of 4 x 7.8 A x 2/3
    assert report.answer.conclusion == "not settled"
    assert "somebody quoted" in report.answer.sentence
    # It refutes: 4 x 7.8 A.
    refuted = bench.judge(bench.seen_through(**{"claim.continuous_current_a": 35}), quoted)
    assert refuted.finding("continuous_current").verdict is Verdict.DOES_NOT_HOLD
    assert bench.judge(bench.seen_through()).rely_on.continuous_current_a.low > 0


def test_hotter_air_is_granted_no_more_than_a_room(bench: Bench) -> None:
    """An own test that found less in a room would be undone by a weaker sheet that alone speaks of the heat."""
    own = bench.sheet(
        title="Own test", evidence="own_test", discharge=[{"low_c": 15, "high_c": 30, "max_continuous_a": 4}]
    )
    cell = bench.cell("lyr-18650-26", bench.sheet(), own)
    granted = bench.judge(bench.seen_through(), cell).answer.use_at_most
    in_a_room = next(each for each in granted if each.low_c <= 20 < each.high_c)
    assert in_a_room.continuous_a == 10  # 4 A x 4 in parallel x 2/3, to two figures: 10 A
    assert all(each.continuous_a <= 10 for each in granted if each.low_c >= 20)
