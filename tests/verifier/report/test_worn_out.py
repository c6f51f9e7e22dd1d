"""A pack that is worn out has one verdict on its current, in every line, and its arithmetic can be done again."""

from __future__ import annotations

from typing import Any

import pytest

from tests.verifier.conftest import Bench
from verifier.case_report import Report
from verifier.report import as_html, as_markdown, as_text
from verifier.report.opening import lines
from verifier.words import remark_text

# 4 cells of 2.6 Ah make 10.4 Ah new, of which 80 % are 8.32 Ah (limit worn_out_capacity, common practice, no source).
TEST = {
    "observed.capacity_ah": 7.9, "observed.capacity_temperature_c": 22, "observed.capacity_current_a": 2.08,
    "observed.capacity_cutoff_v": 32.5, "case.condition": "used", "use.load_power_w": 350,
    "claim.capacity_ah": 10.4, "observed.leads.awg": 8,
}  # fmt: skip


def worn(bench: Bench, **changes: Any) -> Report:
    return bench.judge(bench.seen_through(**{**TEST, **changes}))


@pytest.mark.parametrize(
    ("cutoff_v", "load"),
    [
        (32.5, "not with these cells"),
        # 39 V are 3 V a cell: a tenth may be left, 7.9 x 1.005 / 0.977 / 0.9 = 9.03 Ah, and another test may show it.
        (39, "not before that discharge shows that they hold enough"),
    ],
)
def test_no_line_of_a_worn_out_pack_grants_or_leaves_open_a_current(
    bench: Bench, cutoff_v: float, load: str
) -> None:
    """Who reads "none", "never", "unless" and "at best 40 A" of one pack takes the one that suits him."""
    report = worn(bench, **{"observed.capacity_cutoff_v": cutoff_v})
    assert report.answer.worn_out is not None
    assert report.answer.worn_out.surely is (cutoff_v == 32.5)
    told = " ".join(text for _, text in lines(report))
    assert load in told
    assert ("whatever else is measured" in told) is report.answer.worn_out.surely
    assert ("unless another full discharge" in told) is not report.answer.worn_out.surely
    for text in (as_text.render([report]), as_markdown.render([report]), as_html.render([report])):
        assert "worn out" in text
        assert "the cells bear at most" not in text
    text = as_text.render([report])
    assert "at best" not in text
    (row,) = [each for each in text.splitlines() if each.startswith("continuous current")]
    assert row.split()[3:] == ["A", "none", "cells", "?", "worn", "out"]


def test_a_test_without_its_conditions_says_no_more_than_it_shows(bench: Bench) -> None:
    """ "None is granted" would stand beside "if all turns out well": a test in the cold gives as little."""
    report = worn(bench, **{"observed.capacity_temperature_c": None, "observed.capacity_current_a": None})
    assert report.answer.worn_out is None
    codes = [each.code for each in report.finding("continuous_current").cautions]
    assert "perhaps_worn_out" in codes
    assert "worn_out_capacity" not in codes


def test_the_capacity_left_below_a_cut_off_can_be_worked_out_again(bench: Bench) -> None:
    """A buyer in a dispute could not do the sum: a tenth that may be left was in no step. Rule: show all factors."""
    report = worn(bench, **{"observed.capacity_cutoff_v": 39})
    steps = {each.symbol: each for each in report.finding("capacity").steps}
    measured, meter, test, left, found = (
        steps[name].value for name in ("Q_measured", "k_meter", "k_test", "k_left", "Q_tested")
    )
    assert found.low == pytest.approx(measured.low * (1 - meter.high) / test.high)
    assert found.high == pytest.approx(measured.high * (1 + meter.high) / test.low * left.high)
    assert left.high == pytest.approx(1 / 0.9)
    assert "k_left" in steps["Q_tested"].formula


@pytest.mark.parametrize("measured_ah", [7.9, 9.4, 10.6])
@pytest.mark.parametrize("condition", ["new", "used"])
def test_what_was_measured_is_never_said_not_to_be(bench: Bench, condition: str, measured_ah: float) -> None:
    """ "Nobody has measured what is left" beside "measured 7.9 Ah: worn" makes a reader doubt both."""
    report = worn(bench, **{"observed.capacity_ah": measured_ah, "case.condition": condition})
    told = " ".join(remark_text(each) for finding in report.findings for each in finding.cautions)
    assert "nobody has measured" not in told
    untested = worn(bench, **{name: None for name in TEST if name.startswith("observed.capacity")})
    assert "nobody has measured" in " ".join(
        remark_text(each) for each in untested.finding("capacity").cautions
    )
