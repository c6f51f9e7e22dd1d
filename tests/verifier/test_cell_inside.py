"""Which registered cell is inside: only a whole marking or an id names one, and what speaks against it is told."""

from __future__ import annotations

from typing import Any

import pytest

from registry.errors import PlacedError
from tests.verifier.conftest import Bench
from verifier.cell_inside import look_inside
from verifier.verdict import PASSES, Verdict


def inside(bench: Bench, data: dict[str, Any], *cells: Any) -> Any:
    return look_inside(bench.case(data), bench.registry(*(cells or [bench.cell()])))


@pytest.mark.parametrize(
    ("marking", "kind"),
    [
        ("LYR 18650-26", "exact"),
        ("lyr 18650 26", "exact"),
        ("LYR18650-26", "exact"),
        ("LYR 18650-26A", "none"),
        ("LYR 18650-2", "none"),
        ("18650", "none"),
        ("LYR", "none"),
        ("?", "none"),
        ("LYR 18650-26 LYR 18650-26", "none"),
    ],
)
def test_only_a_whole_marking_names_a_cell(bench: Bench, marking: str, kind: str) -> None:
    """A twin that differs by one letter, and by half the current, would be taken for the cell inside."""
    found = inside(bench, {"observed": {"cell": {"marking": marking}}})
    assert found.match.kind == kind
    assert (found.cell is not None) == (kind == "exact")


def test_a_marking_that_two_cells_share_names_none(bench: Bench) -> None:
    """One of two cells would be picked, and its current granted to the other."""
    twins = [bench.cell(each, markings=["PN 2600"]) for each in ("brume-b26", "osk-o26")]
    found = inside(bench, {"observed": {"cell": {"marking": "PN 2600"}}}, *twins)
    assert (found.match.kind, found.cell) == ("none", None)
    assert {each.cell_id for each in found.match.suggestions} == {"brume-b26", "osk-o26"}


def test_a_retired_cell_that_a_seller_names_is_not_matched(bench: Bench) -> None:
    """A sheet that was withdrawn as wrong would go on granting its current."""
    found = inside(
        bench, {"claim": {"cell_marking": "LYR 18650-26"}}, bench.cell(retired="the sheet was misread")
    )
    assert (found.match.kind, found.cell) == ("none", None)
    assert "misread" in found.match.note


@pytest.mark.parametrize("seen", [{"id": "lyr-18650-26"}, {"marking": "LYR 18650-26"}])
def test_a_retired_cell_named_by_what_was_seen_grants_nothing(bench: Bench, seen: dict[str, str]) -> None:
    """A sheet that was withdrawn as wrong would go on granting its current, because a case names the cell.

    By its id and by its marking alike; somebody would be sent for the datasheet that the registry has withdrawn.
    """
    data = bench.build(**{"claim.capacity_ah": 10, "observed.cell": seen})
    report = bench.judge(data, bench.cell(retired="the sheet was misread"))
    assert [each.code for each in report.contradictions] == ["cell_retired"]
    assert report.finding("capacity").verdict is Verdict.NOT_SETTLED
    assert report.rely_on.continuous_current_a.low == 0
    assert not report.cell.used


def test_the_marking_seen_decides_over_the_one_claimed(bench: Bench) -> None:
    """A wrapper that cannot be read would be replaced by what the seller says."""
    data = {"claim": {"cell_marking": "LYR 18650-26"}, "observed": {"cell": {"marking": "TARN X"}}}
    assert inside(bench, data).cell is None


def test_an_id_that_the_registry_does_not_hold_is_refused(bench: Bench) -> None:
    """A misspelt id would count as an unknown cell, and the case as judged by it."""
    with pytest.raises(PlacedError, match=r"observed\.cell\.id.*lyr-18650-62"):
        inside(bench, {"observed": {"cell": {"id": "lyr-18650-62"}}})


def test_an_id_and_a_marking_that_name_different_cells_are_told(bench: Bench) -> None:
    """The case would be judged by the id, while the wrapper says that another cell is inside."""
    cells = [bench.cell(), bench.cell("tarn-18650-31")]
    data = bench.build(**{"observed.cell": {"id": "lyr-18650-26", "marking": "TARN 18650-31"}})
    (told,) = bench.judge(data, *cells).contradictions
    assert (told.code, told.numbers["other"]) == ("two_cells_named", "tarn-18650-31")
    claimed = bench.changed(data, {"claim.capacity_ah": 5})
    assert bench.judge(claimed, *cells).finding("capacity").verdict not in PASSES


def test_the_size_seen_decides_over_the_one_claimed(bench: Bench) -> None:
    """Cells seen to be 18650 would be bounded as the 21700 that the listing promises, or the other way."""
    data = {
        "claim": {"cell_size": "21700", "capacity_ah": 20},
        "observed": {"parallel": 4, "cell": {"size": "18650"}},
    }
    assert bench.finding("capacity", data).verdict is Verdict.DOES_NOT_HOLD
    swapped = bench.changed(data, {"claim.cell_size": "18650", "observed.cell.size": "21700"})
    assert bench.finding("capacity", swapped).verdict is Verdict.NOT_SETTLED


@pytest.mark.parametrize(
    ("field", "value", "code"),
    [
        ("observed.cell.size", "21700", "cell_size"),
        ("observed.cell.size", "INR18650", None),
        ("observed.cell.chemistry", "LFP", "cell_chemistry"),
        ("observed.cell.chemistry", "NCA", None),
        ("observed.cell.mass_g", 33, "cell_of_other_mass"),
        ("observed.cell.mass_g", 44, None),
        ("observed.cell.mass_g", 60, "cell_of_other_mass"),
    ],
)
def test_what_was_seen_of_a_cell_may_speak_against_its_wrapper(
    bench: Bench, field: str, value: Any, code: str | None
) -> None:
    """A re-wrapped cell would be granted the wrapper's current; an honest one be called another.

    Nobody sees NCA from NMC; a cell off by a tenth of its sheet's mass is another: common practice, no source.
    """
    cell = bench.cell("lyr-18650-26", bench.sheet(mass_g=46))
    report = bench.judge(bench.build(**{"claim.capacity_ah": 9, field: value}), cell)
    told = [each.code for each in report.contradictions]
    assert told == ([] if code is None else [code])
    assert (report.finding("capacity").verdict in PASSES) == (code is None)
    assert report.cell.used == (code is None)


@pytest.mark.parametrize(
    ("field", "value", "code"),
    [
        ("claim.chemistry", "LFP", "chemistry_not_of_cell"),
        ("claim.chemistry", "NCA", None),
        ("claim.cell_size", "21700", "size_not_of_cell"),
        ("claim.cell_size", "INR18650", None),
    ],
)
def test_a_seller_may_name_a_cell_that_is_not_what_he_says(
    bench: Bench, field: str, value: str, code: str | None
) -> None:
    """ "LiFePO4, with LYR 18650-26 cells" names an NMC cell: one of the two is untrue, and nobody would be told."""
    claims = {"claim.cell_marking": Bench.MARKING, "observed.cell": None, field: value}
    report = bench.judge(bench.build(**{"claim.capacity_ah": 9, **claims}), bench.cell("lyr-18650-26"))
    assert [each.code for each in report.contradictions] == ([] if code is None else [code])
    assert (report.answer.conclusion == "contradicts itself") is (code is not None)
    assert report.cell.used is (code is None)
