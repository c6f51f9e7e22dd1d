"""What cycles and years let one expect of a used pack: told, and granting nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from registry.cell import Cell
from verifier.electrical.ageing import left_after_cycles, left_after_years, resistance_grown
from verifier.pack.expected_wear import expected_wear
from verifier.verdict import Verdict
from verifier.words import remark_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

LIFE = {"cycles": 300, "to_fraction": 0.8, "charge_a": 1.3, "discharge_a": 2.6, "temperature_c": 25}
TEST = {"observed.capacity_temperature_c": 25, "observed.capacity_current_a": 2}


def cell(bench: Bench, **changes: Any) -> Cell:
    return bench.cell("lyr-18650-26", bench.sheet(**{"cycle_life": LIFE, **changes}))


def test_years_take_what_a_published_sheet_says() -> None:
    """An old pack reads as young. Source: 6 Ah iron phosphate sheet, 5.7, 5.6, 5.5 Ah after 3, 6, 12 months (read)."""
    for years, left_ah in ((0.25, 5.7), (0.5, 5.6), (1.0, 5.5)):
        found = left_after_years(years=(years, years), lost_in_a_year=(0.01, 0.1))
        assert found.low * 6 <= left_ah < found.high * 6


def test_cycles_take_what_the_sheets_test_took() -> None:
    """A pack at the end of its cycles reads as half used. Rule: the line goes through the end of the test."""
    assert left_after_cycles(cycles=300, tested_cycles=300, to_fraction=0.8).low == pytest.approx(0.8)
    assert left_after_cycles(cycles=0, tested_cycles=300, to_fraction=0.8) == (1, 1)
    assert left_after_cycles(cycles=9000, tested_cycles=300, to_fraction=0.8).low == 0
    # End of life at 80 % or twice the resistance: common practice, no source.
    assert resistance_grown(capacity_left=(0.8, 1)).high == pytest.approx(2)


@pytest.mark.parametrize(
    ("function", "arguments"),
    [
        (left_after_cycles, {"cycles": -1, "tested_cycles": 300, "to_fraction": 0.8}),
        (left_after_cycles, {"cycles": 1, "tested_cycles": 0, "to_fraction": 0.8}),
        (left_after_years, {"years": (-1, 1), "lost_in_a_year": (0, 0.1)}),
        (resistance_grown, {"capacity_left": (0.9, 1.1)}),
    ],
)
def test_nonsense_is_refused(function: Any, arguments: dict[str, Any]) -> None:
    """A slip gives a cell that gains capacity with age."""
    with pytest.raises(ValueError, match=r"must not|from 0 to 1"):
        function(**arguments)


def test_cycles_and_years_multiply(bench: Bench) -> None:
    """A pack that is old and much used is expected to be only one of both."""
    seen = {"observed.cycles": 150, "observed.age_years": 4, "case.condition": "used"}
    found = expected_wear(bench.known(bench.build(**seen), cell(bench)))
    assert found is not None
    # 1 - 0.2 x 150 / 300 = 0.9, and 1 - 0.1 x 2 = 0.8; 1 - 0.01 x 2 = 0.98 at most.
    assert (found.left.low, found.left.high) == pytest.approx((0.9 * 0.8, 0.98))
    assert found.grown.high == pytest.approx(1 + (1 - 0.9 * 0.8) / 0.2)
    assert expected_wear(bench.known(bench.build(**{"case.condition": "used"}), cell(bench))) is None
    # A sheet without a cycle test says nothing of cycles.
    silent = cell(bench, cycle_life=None)
    assert expected_wear(bench.known(bench.build(**{"observed.cycles": 150}), silent)) is None


def test_what_is_expected_grants_nothing(bench: Bench) -> None:
    """A used pack passes by what one expects of it. Rule: nothing is granted by a gap."""
    known = {"claim.capacity_ah": 7, "claim.continuous_current_a": 5, "case.condition": "used"}
    without = bench.judge(bench.build(**known), cell(bench))
    told = bench.judge(bench.build(**known, **{"observed.cycles": 20, "observed.age_years": 1}), cell(bench))
    for report in (without, told):
        assert report.finding("capacity").verdict is Verdict.NOT_SETTLED
        assert report.finding("capacity").supported.low == 0
        assert report.rely_on.continuous_current_a.low == 0
    said = bench.remark(told.finding("capacity"), "expected_wear")
    assert "expected, not measured" in remark_text(said)
    assert told.finding("capacity").supported == without.finding("capacity").supported


def test_a_pack_of_many_cycles_is_no_new_one(bench: Bench) -> None:
    """A BMS counts 400 cycles, and the pack is granted what new cells hold."""
    claim = {"claim.capacity_ah": 10}
    fresh = bench.finding("capacity", bench.build(**claim, **{"observed.cycles": 3}), cell(bench))
    assert fresh.verdict is Verdict.HOLDS
    for condition in (None, "new"):
        seen = {**claim, "observed.cycles": 400, "case.condition": condition}
        tired = bench.finding("capacity", bench.build(**seen), cell(bench))
        assert tired.verdict is Verdict.NOT_SETTLED
        assert tired.supported.low == 0


@pytest.mark.parametrize(
    ("measured_ah", "code", "words"),
    [
        # 4 x 2.6 = 10.4 Ah new; 90 % expected at least after 150 of 300 cycles: 9.36 Ah.
        (9.7, "worn_as_expected", "no less than its cycles let one expect: 90 to 100 % of new"),
        (7.0, "worn_beyond_expected", "misused, older than said, or not these cells"),
    ],
)
def test_wear_is_told_apart_from_falsehood(bench: Bench, measured_ah: float, code: str, words: str) -> None:
    """An honest tired pack is called a fake, or a fake is excused by its age."""
    seen = {"observed.cycles": 150, "case.condition": "used", "observed.capacity_ah": measured_ah, **TEST}
    found = bench.finding("capacity", bench.build(**seen), cell(bench))
    assert words in remark_text(bench.remark(found, code))


def test_a_full_pack_needs_no_excuse(bench: Bench) -> None:
    """A pack that holds all that new cells do is said to be as worn as expected."""
    seen = {"observed.cycles": 150, "case.condition": "used", "observed.capacity_ah": 10.6, **TEST}
    found = bench.finding("capacity", bench.build(**seen), cell(bench))
    assert {each.code for each in found.cautions} & {"worn_as_expected", "worn_beyond_expected"} == set()
