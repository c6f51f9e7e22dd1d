"""A current that a seller calls a maximum: neither continuous nor peak, so it is judged as both."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from click.testing import CliRunner

from registry.opening import open_registry
from verifier.bounds import Bounds
from verifier.case.model import Case
from verifier.cli import packclaim
from verifier.judge import judge
from verifier.listing import cases_from_listing
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

REGISTRY = Path(__file__).parents[3] / "samples" / "registry.jsonl"


def codes(finding: Any) -> list[str]:
    """Return what a finding says, by its codes."""
    return [each.code for each in finding.cautions]


def test_a_maximum_is_judged_as_continuous_and_as_peak(bench: Bench) -> None:
    """A seller of 'max 60 A' would be called a liar for 31 A continuous, which nobody claimed.

    By hand: 4 in parallel of 3 C x 2.6 Ah carry 31.2 A at the most; what they carry for some seconds is open.
    Rule: a maximum is refuted only where it is neither continuous nor a peak.
    """
    report = bench.judge(
        bench.seen_through(**{"claim.continuous_current_a": None, "claim.peak_current_a": None,
                              "claim.max_current_a": 60})
    )  # fmt: skip
    continuous, peak = report.finding("continuous_current"), report.finding("peak_current")
    assert continuous.claimed == peak.claimed == Bounds(60, 60)
    assert continuous.verdict is Verdict.NOT_SETTLED
    assert continuous.between is not None
    assert continuous.between[0] is Verdict.DOES_NOT_HOLD
    assert report.answer.conclusion != "not as advertised"
    assert peak.verdict is not Verdict.NOT_CLAIMED
    assert "called_a_maximum" in codes(continuous)
    assert "called_a_maximum" in codes(peak)
    assert "peak_says_nothing_of_continuous" not in codes(peak)


def test_a_figure_of_its_own_goes_before_the_maximum(bench: Bench) -> None:
    """A seller who says 15 A continuous and 'max 40 A' claims 15 A continuous."""
    report = bench.judge(
        bench.seen_through(**{"claim.continuous_current_a": 15, "claim.peak_current_a": None,
                              "claim.max_current_a": 40})
    )  # fmt: skip
    continuous, peak = report.finding("continuous_current"), report.finding("peak_current")
    assert (continuous.claimed, peak.claimed) == (Bounds(15, 15), Bounds(40, 40))
    assert "called_a_maximum" not in codes(continuous)
    # It was judged as a peak alone, and the note must not say otherwise.
    assert "called_a_maximum" not in codes(peak)
    assert "maximum_beside_continuous" in codes(peak)
    both = bench.judge(
        bench.seen_through(**{"claim.continuous_current_a": 15, "claim.peak_current_a": 30,
                              "claim.max_current_a": 40})
    )  # fmt: skip
    assert both.finding("peak_current").claimed == Bounds(30, 30)


@pytest.mark.parametrize(
    ("peak_a", "verdict", "says"),
    [
        # By hand: the BMS bears 30 A for ever and 90 A for a moment: 60 A may be its peak.
        (90, Verdict.NOT_SETTLED, "Cannot tell yet"),
        # 45 A is the most it ever bears: 60 A is neither.
        (45, Verdict.DOES_NOT_HOLD, "maximum current 60 A claimed, at most 45 A possible (BMS)."),
    ],
)
def test_a_maximum_is_refuted_only_in_both_senses(
    bench: Bench, peak_a: float, verdict: Verdict, says: str
) -> None:
    """A peak would be held against a continuous rating, or a current that no BMS of the pack bears would pass."""
    case = {
        "claim": {"max_current_a": 60},
        "observed": {"series": 10, "parallel": 4, "bms": {"continuous_a": 30, "peak_a": peak_a}},
    }
    report = bench.judge(case)
    for figure in ("continuous_current", "peak_current"):
        assert report.finding(figure).verdict is verdict
    assert says in report.answer.sentence
    assert "continuous current 60 A claimed" not in report.answer.sentence


@pytest.mark.parametrize(("maximum_a", "clashes"), [(20, True), (30, False), (45, False)])
def test_a_maximum_below_the_continuous_current_is_a_contradiction(
    bench: Bench, maximum_a: float, clashes: bool
) -> None:
    """A listing of 30 A continuous and 20 A at most would pass. Rule: a maximum is never below what lasts."""
    report = bench.judge({"claim": {"continuous_current_a": 30, "max_current_a": maximum_a}})
    assert ("maximum_below_continuous" in [each.code for each in report.contradictions]) is clashes
    assert (report.answer.conclusion == "contradicts itself") is clashes


def test_a_maximum_is_judged_band_by_band_too(bench: Bench) -> None:
    """The table by temperature would say 'not claimed' beside a verdict."""
    report = bench.judge(
        bench.seen_through(**{"claim.continuous_current_a": None, "claim.max_current_a": 60})
    )
    bands = report.finding("continuous_current").by_temperature
    assert bands
    assert all(each.verdict is not Verdict.NOT_CLAIMED for each in bands)


@pytest.mark.parametrize("second", ["25A", "15A"])
def test_what_a_listing_states_twice_is_judged_at_both_values(bench: Bench, second: str) -> None:
    """A seller who states two figures would be judged by neither, and the claim listed as not made.

    Rule: a range must be supported to its upper end, and fails from its lower end on.
    """
    text = f"36V 14Ah e-bike pack, 10S4P\nContinuous discharge current: 20A\nRated continuous current: {second}\n"
    (case,) = cases_from_listing(text, "listing")
    ends = sorted([20, int(second.removesuffix("A"))])
    assert case.data["claim"]["continuous_current_a"] == ends
    finding = bench.judge(case.data).finding("continuous_current")
    assert finding.claimed == Bounds(*ends)
    assert finding.verdict is not Verdict.NOT_CLAIMED


def test_a_table_judges_a_maximum_as_a_check_does(tmp_path: Path) -> None:
    """The desk's table and the bench's report would answer the same listing differently. Source: `verifier.judge`."""
    rows = [
        {"claim.max_current_a": 60}, {"claim.max_current_a": 10}, {"claim.continuous_current_a": 15},
        {"claim.continuous_current_a": 15, "claim.max_current_a": 60}, {"claim.peak_current_a": 40}, {},
        {"claim.max_current_a": 60, "observed.bms.continuous_a": 30, "observed.bms.peak_a": 90},
        {"claim.max_current_a": 60, "observed.bms.continuous_a": 30, "observed.bms.peak_a": 45},
        {"claim.max_current_a": 60, "claim.peak_current_a": 80, "observed.bms.continuous_a": 30},
    ]  # fmt: skip
    seen = {"observed.series": 10, "observed.parallel": 4, "observed.cell.marking": "LYR 18650-35P"}
    table = tmp_path / "listings.jsonl"
    table.write_text("".join(json.dumps({**seen, **row}) + "\n" for row in rows), encoding="utf-8")
    out = tmp_path / "results.jsonl"
    words = [
        "screen",
        str(table),
        "--out",
        str(out),
        "--registry",
        str(REGISTRY),
        "--workers",
        "1",
        "--figures",
        "all",
    ]
    assert CliRunner().invoke(packclaim, words).exit_code == 0
    registry = open_registry(REGISTRY)
    for row, line in zip(rows, out.read_text(encoding="utf-8").splitlines(), strict=True):
        case: dict[str, Any] = {
            "observed": {"series": 10, "parallel": 4, "cell": {"marking": "LYR 18650-35P"}}
        }
        case["claim"] = {
            name.removeprefix("claim."): value for name, value in row.items() if name.startswith("claim.")
        }
        case["observed"]["bms"] = {
            name.removeprefix("observed.bms."): value for name, value in row.items() if "bms" in name
        }
        report, found = judge(Case.model_validate(case), registry), json.loads(line)
        for figure in ("continuous_current", "peak_current"):
            finding = report.finding(figure)
            assert found[f"{figure}.verdict"] == str(finding.verdict), (row, figure)
            claimed = None if finding.claimed is None else finding.claimed.high
            assert found.get(f"{figure}.claimed") == claimed, (row, figure)
