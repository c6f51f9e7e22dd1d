"""Sentences that say where a number is only the seller's, and remedies that carry what is claimed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from verifier.judge import judge
from verifier.report import as_markdown, as_text
from verifier.words import remedy_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def _said(bench: Bench, case: dict[str, Any]) -> str:
    """Return the report of a case as one line of words."""
    return " ".join(as_text.render([bench.judge(case)], width=200).split())


@pytest.mark.parametrize(("side", "told"), [("claim", True), ("observed", False)])
def test_a_count_that_only_the_seller_states_is_told_beside_an_alarm(
    bench: Bench, side: str, told: bool
) -> None:
    """Ten in series that nobody counted would be read as counted. Rule: what only the seller says is told so."""
    case: dict[str, Any] = {
        "claim": {"nominal_voltage_v": 36, "chemistry": "NMC"}, "observed": {"charger": {"voltage_v": 54.6}},
    }  # fmt: skip
    case[side]["series"] = 10
    said = _said(bench, case)
    assert "WRONG CHARGER: it is marked 54.6 V, on 10 in series" in said
    assert ("on 10 in series (only the seller says so)" in said) is told


@pytest.mark.parametrize("renderer", [as_text.render, as_markdown.render])
def test_the_voltage_that_an_alarm_is_about_has_its_row(bench: Bench, renderer: Any) -> None:
    """A reader of a charger's alarm would look in vain for the voltage it should have. By hand: 10 x 4.2 V."""
    case = {
        "claim": {"nominal_voltage_v": 36, "chemistry": "NMC"},
        "observed": {"series": 10, "charger": {"voltage_v": 54.6}},
    }
    rows = [line for line in renderer([bench.judge(case)]).splitlines() if "charge voltage" in line]
    assert any("42 V" in row for row in rows)


def test_cells_whose_count_is_only_said_are_not_shown_bare(bench: Bench) -> None:
    """A current of four in parallel that nobody counted would be read as what the pack carries."""
    case = bench.seen_through(**{"observed.parallel": None, "claim.parallel": 4})
    report = bench.judge(case)
    said = " ".join(as_text.render([report], width=200).split())
    assert "only the seller says 4 in parallel" in said
    counted = bench.seen_through(**{"observed.parallel": 4, "claim.parallel": 4})
    assert "only the seller says" not in as_text.render([bench.judge(counted)], width=200)


def test_a_gauge_named_as_a_remedy_surely_carries_the_claim(bench: Bench) -> None:
    """New leads would be bought that still do not carry the claim, or that the fuse still does not protect.

    Rule: the low end of what the pack carries then is the claim or more; the leads carry the fuse's rating.
    """
    case = bench.seen_through(
        **{"claim.continuous_current_a": 24, "observed.leads.awg": 20, "observed.fuse.rating_a": 40,
           "observed.leads.conductor": "copper"}
    )  # fmt: skip
    report = bench.judge(case)
    finding = report.finding("continuous_current")
    assert finding.limited_by == "leads"
    assert finding.remedies
    assert all(each.supported.low >= 24 for each in finding.remedies)
    for each in finding.remedies[:1]:
        case["observed"]["leads"]["awg"] = each.numbers["awg"]
        assert "fuse_above_leads" not in [alarm.code for alarm in bench.judge(case).alarms]


def test_leads_of_aluminium_are_lifted_by_copper(bench: Bench) -> None:
    """Thicker leads of the poor conductor would be bought. Copper of the same gauge carries more, at its own price."""
    case = bench.seen_through(
        **{"claim.continuous_current_a": 24, "observed.leads.awg": 14,
           "observed.leads.conductor": "copper_clad_aluminium"}
    )  # fmt: skip
    finding = bench.judge(case).finding("continuous_current")
    assert finding.limited_by == "leads"
    gauges = [each.numbers["awg"] for each in finding.remedies if each.code == "heavier_leads"]
    assert gauges
    for gauge in gauges:
        case["observed"]["leads"] |= {"awg": gauge, "conductor": "copper"}
        remedied = next(each for each in finding.remedies if each.numbers.get("awg") == gauge)
        assert bench.judge(case).finding("continuous_current").supported == remedied.supported
    assert all("copper" in remedy_text(each) for each in finding.remedies if each.code == "heavier_leads")


def test_signs_are_explained_where_everything_is_shown(bench: Bench) -> None:
    """A reader would have to guess what '?' beside a verdict means."""
    report = bench.judge({"claim": {"nominal_voltage_v": 36, "series": 10}})
    assert "Signs: + holds; ~ holds without reserve; ?" in as_text.render([report], full=True)


def test_the_same_sentence_is_told_once(bench: Bench) -> None:
    """A reader would look for the difference between two contradictions that are one, written in two ways."""
    case = bench.changed({}, {"claim.configuration": "10S5P", "claim.parallel": 5, "observed.parallel": 4})
    told = bench.judge(case).answer.cannot_be_true
    assert [each.text for each in told] == ["claimed 5 in parallel, found 4 in parallel"]
    assert set(told[0].fields) == {"claim.configuration", "claim.parallel", "observed.parallel"}


def test_what_was_noted_and_is_in_doubt_is_asked_once_more(bench: Bench) -> None:
    """Somebody who has counted would read that he should count, and think that nobody read what he wrote."""
    case = bench.changed(
        {}, {"observed.series": 14, "observed.bms.series": 13, "claim.nominal_voltage_v": 52}
    )
    asked = {each.observe: each.text for each in bench.judge(case).answer.ask_first}
    assert asked["observed.series"].endswith("once more: it is in doubt")
    fresh = bench.changed({}, {"claim.nominal_voltage_v": 52})
    assert not any("once more" in each.text for each in bench.judge(fresh).answer.ask_first)


def test_a_voltage_is_told_alike_by_an_alarm_and_beside_what_excludes_it(bench: Bench) -> None:
    """Two voltages of one cell would be read as two measurements. By hand: 57 V / 13 = 4.385 V."""
    claimed = {"claim.series": 13, "claim.chemistry": "NMC", "claim.nominal_voltage_v": 48}
    case = bench.changed({}, {**claimed, "observed.resting_voltage_v": 57})
    said = _said(bench, case)
    assert "4.38 V a cell, is above a full pack" in said
    assert "4.38 V a cell at rest is above" in said


def test_a_size_is_told_as_it_was_read(bench: Bench) -> None:
    """21.5 mm would be told as 21.4, less what a calliper errs, and the reader would measure again."""
    sheet = bench.sheet(diameter_mm=18.5, length_mm=65)
    cell = bench.cell("lyr-18650-26", sheet, markings=[bench.MARKING])
    case = bench.changed({}, {"observed.cell.marking": bench.MARKING, "observed.cell.diameter_mm": 21.5})
    (against,) = bench.judge(case, cell).answer.cannot_be_true
    assert "diameter is 21.5 mm" in against.text


def test_what_is_lost_inside_stands_with_both_its_ends(bench: Bench) -> None:
    """A drop of 1.1 V would be read where 3 V may be lost. By hand: S x I / P x R, less than a tenth more in strips."""
    case = bench.seen_through(**{"use.temperature_c": [0, 30]})
    cell = bench.cell("lyr-18650-26", bench.sheet(resistance={"dc_mohm": 30}))
    report = judge(bench.case(case), bench.registry(cell), explain=True)
    assert report.whole_pack is not None
    amps = report.whole_pack.current_a / case["observed"]["parallel"]
    # 30 mohm in a room, up to 2.1 times as much at 0 C.
    least, most = (case["observed"]["series"] * amps * ohm for ohm in (0.030, 0.063))
    assert least <= report.whole_pack.drop_v.low <= least * 1.1 + 0.2
    assert most <= report.whole_pack.drop_v.high <= most * 1.1 + 0.5
