"""A capacity test that is noted and settles nothing is told of, and nothing is said to speak for the pack beside it."""

from __future__ import annotations

from typing import Any

import pytest

from registry.cell import Cell
from tests.verifier.conftest import Bench
from verifier.case_report import Report
from verifier.report import as_text
from verifier.verdict import Verdict
from verifier.words import language_of, remark_text, sentence

CLAIM = {"nominal_voltage_v": 48, "capacity_ah": 12, "series": 13, "parallel": 4, "full_voltage_v": 54.6}
TEST = {"capacity_ah": 3, "capacity_current_a": 6, "capacity_temperature_c": 22, "capacity_cutoff_v": 41}


def report_of(bench: Bench, *cells: Cell, **observed: Any) -> Report:
    case = {"case": {"stage": "tested"}, "claim": CLAIM, "observed": {"series": 13, **TEST, **observed}}
    return bench.judge(case, *(cells or bench.cells()))


def test_what_was_measured_and_down_to_where_is_said(bench: Bench) -> None:
    """Who has discharged the pack for half an hour reads "cannot tell" and nothing of the test.

    By hand: 41 V on 13 in series are 3.15 V a cell; a lithium-ion cell is empty at 2.5 to 3.0 V (common practice by
    chemistry, no source).
    """
    capacity = report_of(bench).finding("capacity")
    assert capacity.verdict is Verdict.NOT_SETTLED
    assert remark_text(bench.remark(capacity, "test_ended_early")) == (
        "measured: 3 Ah down to 41 V (3.15 V a cell); what is left below is not known: test down to the BMS's cut-off"
    )
    # A test that went to the end says what it says.
    assert (
        bench.told(report_of(bench, capacity_cutoff_v=32.5).finding("capacity"), "test_ended_early") is None
    )


def test_the_rest_of_the_test_is_asked_first(bench: Bench) -> None:
    """Asked for wrappers, he would open the pack; most of the test is done already."""
    first = report_of(bench).answer.ask_first[0]
    assert first.text == "the rest of the capacity test: on down to the BMS's cut-off, for it ended above"
    assert first.settles == ("capacity",)
    # Under an alarm nobody discharges anything.
    asked = [each.text for each in report_of(bench, resting_voltage_v=20).answer.ask_first]
    assert not any("rest of the capacity test" in each for each in asked)


@pytest.mark.parametrize(("capacity_ah", "little"), [(3, True), (9.5, True), (9.7, False)])
def test_far_less_than_is_claimed_is_said_in_the_first_sentence(
    bench: Bench, capacity_ah: float, little: bool
) -> None:
    """ "Nothing claimed is shown to be false, registered cells could make this" over a quarter of the claim.

    By hand: 80 % of 12 Ah are 9.6 Ah (limit worn_out_capacity: common practice, no source).
    """
    report = report_of(bench, capacity_ah=capacity_ah)
    said = report.answer.sentence
    assert ("nothing claimed is shown to be false" in said) is not little
    assert ("what a test gave is far less than what is claimed" in said) is little
    for code in ("de", "zh"):
        told = sentence(
            report.answer.conclusion.value, report.findings, [], (), 3, used=False,
            gave_far_less=report.answer.gave_far_less, unreadable=False, language=language_of(code),
        )  # fmt: skip
        nothing_false = {"de": "als falsch erwiesen ist keine Angabe", "zh": "没有一项标称被证明是假的"}[code]
        assert (nothing_false in told) is not little


def test_part_of_new_is_said_of_what(bench: Bench) -> None:
    """ "23 % of new" leaves open what new is, and whether the right cell was taken for it.

    By hand: four cells of 2.6 Ah are 10.4 Ah; 3 of them are 29 %.
    """
    report = report_of(bench, parallel=4, cell={"marking": bench.MARKING}, capacity_current_a=2)
    assert report.answer.worn_out is not None
    assert report.answer.worn_out.new_ah == pytest.approx(10.4)
    assert "gave 3 Ah, 29 % of the 10.4 Ah of new cells" in " ".join(as_text.render([report]).split())


def test_cells_that_nobody_knows_have_lost_nothing_that_the_best_of_their_size_hold(bench: Bench) -> None:
    """A pack that gave all that is claimed was called worn out, for the best 18650 ever made holds half as much again.

    By hand: 10 of 4 x 4.2 Ah are 60 %.
    """
    observed = {"parallel": 4, "cell": {"size": "18650", "chemistry": "NMC"}, "capacity_current_a": 2}
    report = report_of(bench, **observed, capacity_ah=12.1, capacity_cutoff_v=32.5)
    assert report.finding("capacity").verdict is Verdict.HOLDS
    assert report.answer.worn_out is None
    assert report.answer.use_at_most == ()
