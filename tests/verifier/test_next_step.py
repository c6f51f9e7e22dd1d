"""What to find out next: the single observation that could settle what is open, least effort first."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from registry.opening import open_registry
from verifier.case.case_field import EFFORTS
from verifier.case.reading import parse_case
from verifier.case_report import Report
from verifier.judge import judge
from verifier.observations import OBSERVATIONS, as_observed
from verifier.verdict import ON_SELLERS_WORD, Verdict

SAMPLES = Path(__file__).parents[2] / "samples"
REGISTRY = open_registry(SAMPLES / "registry.jsonl")
CASES = sorted((SAMPLES / "cases").glob("*.yaml"))

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def report_of(path: Path) -> Report:
    return judge(parse_case(path.read_text(encoding="utf-8"), path.name).case, REGISTRY)


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_every_step_named_really_settles_what_it_says(path: Path) -> None:
    """Otherwise a user opens a case for an observation that could settle nothing."""
    case = parse_case(path.read_text(encoding="utf-8"), path.name).case
    report = judge(case, REGISTRY)
    for step in report.next_steps:
        for figure in step.settles:
            tried = [out for out in step.outcomes if out.figure == figure]
            before = report.finding(figure).verdict
            settled = [out for out in tried if out.verdict not in (Verdict.NOT_SETTLED, before)]
            assert settled
            assert step.chance >= round(len(settled) / len(tried), 3)
    for step in report.next_steps[:2]:
        if step.settles and step.observe.endswith("continuous_a"):
            out = next(out for out in step.outcomes if out.verdict != Verdict.NOT_SETTLED)
            then = judge(as_observed(case, step.observe, float(out.value)), REGISTRY)
            assert then.finding(out.figure).verdict == out.verdict


def test_a_settled_case_asks_nothing_and_an_open_one_something() -> None:
    """Otherwise a user is sent on to look for what changes nothing, or left without a way on."""
    settled, current_open = [], []
    for path in CASES:
        report = report_of(path)
        unsettled = [each.figure for each in report.findings if each.verdict is Verdict.NOT_SETTLED]
        if not unsettled:
            settled.append((path.stem, bool(report.next_steps)))
        if "continuous_current" in unsettled:
            current_open.append((path.stem, bool(report.next_steps)))
    assert [stem for stem, asked in settled if asked] == []
    assert [stem for stem, asked in current_open if not asked] == []
    assert settled
    assert current_open


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_least_effort_comes_first_among_those_that_can_settle(path: Path) -> None:
    """Otherwise the report tells a buyer to cut a strip before asking to read a label."""
    steps = [step for step in report_of(path).next_steps if step.settles]
    assert [EFFORTS.index(step.effort) for step in steps] == sorted(
        EFFORTS.index(step.effort) for step in steps
    )


def test_a_board_that_decides_is_the_step(bench: Bench) -> None:
    """Otherwise the one thing that is missing is not named."""
    report = bench.judge(bench.seen_through(**{"observed.bms": {"series": 13}}))
    assert report.finding("continuous_current").verdict is Verdict.NOT_SETTLED
    first = report.next_steps[0]
    assert (first.observe, first.chance) == ("observed.bms.continuous_a", 1.0)
    assert "continuous_current" in first.settles


def test_an_observation_fits_the_case_it_is_put_into(bench: Bench) -> None:
    """Otherwise a what-if changes the user's case, or writes a field that no case has."""
    case = bench.case(bench.build())
    before = case.model_dump()
    fields = {each.field for each in OBSERVATIONS}
    assert len(fields) == len(OBSERVATIONS)
    for field, value in (("observed.strip.layers", 2), ("observed.take_off.where", "end")):
        assert field in fields
        part = as_observed(case, field, value)
        for name in field.split("."):
            part = getattr(part, name)
        assert part in (value, bench.case(bench.build(**{field: value})).observed.strip.layers)
    assert case.model_dump() == before


@pytest.mark.parametrize(
    ("claims", "able", "grade", "names"),
    [
        ({"continuous_current_a": 40}, 1, "few", ("osk-o30",)),
        ({"continuous_current_a": 15}, 2, "ordinary", ("osk-o30", "tarn-t5")),
        ({"continuous_current_a": 100}, 0, "none registered", ()),
        ({"continuous_current_a": 1000}, 0, "none ever", ()),
        # One cell must meet all claims together: the strong one holds 2.6 Ah.
        ({"continuous_current_a": 40, "capacity_ah": 15}, 0, "none registered", ()),
        ({"continuous_current_a": 15, "capacity_ah": 13}, 1, "few", ("tarn-t5",)),
    ],
)
def test_for_an_unknown_cell_the_registered_ones_are_counted(
    bench: Bench, claims: dict[str, float], able: int, grade: str, names: tuple[str, ...]
) -> None:
    """Otherwise a buyer cannot tell a claim that some cell could meet from one that none could."""
    capacity = [{"kind": "minimum", "value_ah": 2.5}, {"kind": "typical", "value_ah": 2.6}]
    strong = bench.sheet(discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": 15}], capacity=capacity)
    weak = bench.sheet(
        discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": 5}],
        capacity=[{"kind": "minimum", "value_ah": 3.3}, {"kind": "typical", "value_ah": 3.4}],
    )
    data = bench.build(**{
        "observed.cell": {"size": "18650", "chemistry": "NMC"},
        **{f"claim.{name}": value for name, value in claims.items()},
    })  # fmt: skip
    report = bench.judge(data, bench.cell("osk-o30", strong), bench.cell("tarn-t5", weak))
    could = report.finding("continuous_current").could
    assert could is not None
    assert (could.registered_able, could.registered_possible) == (able, 2)
    assert (could.grade, could.names) == (grade, names)


def test_a_pass_on_the_sellers_word_is_settled_by_looking_and_never_by_asking_again() -> None:
    """Otherwise a buyer whom the seller's word satisfies is told of nothing that would show it to be true."""
    report = report_of(SAMPLES / "cases" / "seller-names-the-cell.yaml")
    said = {each.figure for each in report.findings if each.verdict in ON_SELLERS_WORD}
    assert said
    looked = [step for step in report.next_steps if said & set(step.settles)]
    assert looked
    assert not [step for step in looked if step.effort == EFFORTS[0]]
    assert looked[0].observe in {each.observe for each in report.answer.ask_first}


def test_a_refuted_pack_without_a_part_seen_is_told_what_its_use_waits_for() -> None:
    """Otherwise the owner of a pack that was oversold learns that it carries nothing, and not what would tell."""
    report = report_of(SAMPLES / "cases" / "quay-street-loaner-7.yaml")
    assert not report.answer.use_at_most
    assert [each.observe for each in report.answer.ask_first] == [
        "observed.connector.continuous_a", "observed.fuse.rating_a", "observed.leads.awg",
    ]  # fmt: skip


def test_nothing_is_to_be_found_out_that_the_case_gives(bench: Bench) -> None:
    """Somebody opens a pack to count the 13 groups that he has counted: the names of links begin with theirs."""
    for gone in ("observed.series_links", "observed.take_off", "observed.bms.continuous_a", "observed.cell"):
        report = bench.judge(bench.seen_through(**{gone: None, "claim.cell_marking": None}))
        asked = {each.observe for each in report.next_steps}
        assert asked
        assert "observed.series" not in asked, gone
        assert "observed.parallel" not in asked, gone


def test_the_makers_own_sheet_is_asked_for_where_only_a_quote_holds(bench: Bench) -> None:
    """Rows that hold by what somebody quotes end in "cannot tell", and nobody says what to ask for. (Rule.)"""
    data = {
        "case": {"stage": "opened"},
        "claim": {"capacity_ah": 10},
        "observed": {"series": 13, "parallel": 4, "cell": {"marking": "Lyr 18650-26"}},
    }
    quoted = bench.judge(data, bench.cell("lyr-18650-26", bench.sheet(evidence="secondhand"))).answer
    assert quoted.ask_first[0].text.startswith("the maker's own datasheet of Lyr 18650-26, or photos")
    assert "capacity" in quoted.ask_first[0].settles
    own = bench.judge(data).answer
    assert not any("maker's own datasheet" in each.text for each in own.ask_first)


def test_twins_of_a_name_half_read_are_both_named_once_it_is_open(bench: Bench) -> None:
    """ "No datasheet of this name" is said where two are registered, and one letter halves the current. (Rule.)"""
    data = {
        "case": {"stage": "opened"},
        "claim": {"capacity_ah": 10},
        "observed": {"series": 13, "parallel": 4, "cell": {"marking": "LYR 18650-31"}},
    }
    twins = [bench.cell("lyr-18650-31a"), bench.cell("lyr-18650-31b")]
    texts = [each.text for each in bench.judge(data, *twins).answer.ask_first]
    assert any("Lyr 18650-31A, Lyr 18650-31B" in each and "to the last letter" in each for each in texts)
    assert not any("registry has none" in each for each in texts)
