"""Cycle life: the sheet's cycles under the sheet's own conditions: 300 to 80 % at 1.3 A and 2.6 A, 25 C.

What a sheet counts is "at least so many": it grants, and refutes nothing.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.cell import Cell
from verifier.finding import Finding
from verifier.verdict import PASSES, Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

LIFE = {"cycles": 300, "to_fraction": 0.8, "charge_a": 1.3, "discharge_a": 2.6, "temperature_c": 25}
# Four in parallel: 10.4 A and 5.2 A are the test's own currents.
GENTLE = {"claim.continuous_current_a": 10.4, "observed.charger.current_a": 5.2}


def cell(bench: Bench, *sheets: dict[str, Any], **life: Any) -> Cell:
    """Return a cell with one sheet that leaves out conditions given as None, or with sheets that differ."""
    kept = {name: value for name, value in {**LIFE, **life}.items() if value is not None}
    made = [
        bench.sheet(title=f"sheet of {at}", **each)
        for at, each in enumerate(sheets or ({"cycle_life": kept},))
    ]
    found: Cell = bench.cell("lyr-18650-26", *made)
    return found


def judged(bench: Bench, cells: Cell | None = None, /, **changes: Any) -> Finding:
    data = bench.build(**{**GENTLE, "claim.cycles": 300, **changes})
    found: Finding = bench.figure("cycle_life", data, cells or cell(bench))
    return found


@pytest.mark.parametrize(
    ("changes", "verdict", "low"),
    [
        ({}, Verdict.HOLDS, 300),
        # The sheet counted to 300 and stopped: more is open. Both did not hold before.
        ({"claim.cycles": 301}, Verdict.NOT_SETTLED, 300),
        ({"claim.cycles": 9000}, Verdict.NOT_SETTLED, 300),
        ({"claim.continuous_current_a": 10.5}, Verdict.NOT_SETTLED, 0),
        ({"use.controller_current_a": 12}, Verdict.NOT_SETTLED, 0),
        ({"use.controller_current_a": 8}, Verdict.HOLDS, 300),
        ({"use.controller_current_a": 8, "claim.continuous_current_a": None}, Verdict.HOLDS, 300),
        ({"observed.charger.current_a": 6}, Verdict.NOT_SETTLED, 0),
        ({"claim.cycles": 9000, "claim.continuous_current_a": 30}, Verdict.NOT_SETTLED, 0),
        ({"claim.cycles": None}, Verdict.NOT_CLAIMED, 300),
    ],
)
def test_the_sheets_cycles_hold_under_its_own_conditions(
    bench: Bench, changes: dict[str, Any], verdict: Verdict, low: float
) -> None:
    """Cycles of a gentle test would be granted to a pack that works its cells harder."""
    found = judged(bench, **changes)
    assert (found.verdict, found.supported.low, found.supported.high) == (verdict, low, inf)


def test_gentle_use_is_not_refuted_by_a_hard_test(bench: Bench) -> None:
    """500 cycles at 10 A a cell refuted 600 of a pack that takes 1 A of each."""
    hard = cell(bench, cycles=500, discharge_a=10)
    found = judged(bench, hard, **{"claim.cycles": 600, "claim.continuous_current_a": 4})
    assert found.verdict is Verdict.NOT_SETTLED
    assert (
        judged(bench, hard, **{"claim.cycles": 500, "claim.continuous_current_a": 4}).verdict is Verdict.HOLDS
    )


@pytest.mark.parametrize(
    ("life", "code"),
    [
        ({"to_fraction": None}, None),
        ({"temperature_c": None}, None),
        ({"charge_a": None}, "cycle_use_unknown"),
        ({"discharge_a": None}, "cycle_use_unknown"),
        # A count down to 60 % says nothing of cycles that a seller counts down to 80 %.
        ({"to_fraction": 0.6}, "cycles_end_lower"),
        ({"temperature_c": 45}, "cycles_at_other_temperature"),
    ],
)
def test_what_a_test_leaves_open_or_did_otherwise_grants_nothing(
    bench: Bench, life: dict[str, Any], code: str | None
) -> None:
    """Cycles of a test at an unnamed current, temperature or end would be granted at any."""
    found = judged(bench, cell(bench, **life))
    assert (found.verdict, found.supported.low) == (Verdict.NOT_SETTLED, 0)
    if None in life.values():
        assert "sheet.cycle_conditions" in found.unknown
    if code is not None:
        assert bench.told(found, code) is not None


@pytest.mark.parametrize(
    ("air_c", "verdict"),
    [
        (25, Verdict.HOLDS),
        ([15, 35], Verdict.HOLDS),
        ([14, 25], Verdict.NOT_SETTLED),
        ([25, 36], Verdict.NOT_SETTLED),
        # From 0 to 40 C by default: a test at 25 C says nothing of frost.
        (None, Verdict.NOT_SETTLED),
    ],
)
def test_the_air_of_use_lies_near_the_tests(bench: Bench, air_c: Any, verdict: Verdict) -> None:
    """Cycles counted in a room would be granted in frost and heat. Within 10 K: common practice, no source."""
    found = judged(bench, **{"use.temperature_c": air_c})
    assert found.verdict is verdict
    assert (bench.told(found, "cycles_at_other_temperature") is None) is (verdict is Verdict.HOLDS)
    if air_c is None:
        assert "use.temperature_c" in found.unknown


def test_a_wider_air_that_the_user_allows_is_told_as_our_default(bench: Bench) -> None:
    """A pass over air that nobody stated would not say so."""
    found = judged(bench, **{"use.temperature_c": None, "limits.cycle_temperature_k": 30})
    assert found.verdict is Verdict.HOLDS
    assert bench.told(found, "default_air") is not None


def test_the_conditions_are_told(bench: Bench) -> None:
    """A user would read 300 cycles and not that they end at 80 % and were made at half the current."""
    assert bench.remark(judged(bench), "cycle_conditions").numbers == {**LIFE}
    left_out = bench.remark(judged(bench, cell(bench, to_fraction=None)), "cycle_conditions")
    assert left_out.numbers["to_fraction"] is None


@pytest.mark.parametrize(
    ("changes", "code", "cell_a", "test_a"),
    [
        ({"claim.continuous_current_a": 20}, "discharges_harder", 5, 2.6),
        # Of a range what the pack may be worked at.
        ({"claim.continuous_current_a": [5, 20]}, "discharges_harder", 5, 2.6),
        ({"use.controller_current_a": 24}, "discharges_harder", 6, 2.6),
        ({"observed.charger.current_a": 8}, "charges_harder", 2, 1.3),
    ],
)
def test_what_is_harder_is_told_with_its_arithmetic(
    bench: Bench, changes: dict[str, Any], code: str, cell_a: float, test_a: float
) -> None:
    """A user would not see why cycles are not granted: 20 A / 4 = 5 A a cell against 2.6 A."""
    found = judged(bench, **changes)
    assert (found.verdict, found.supported.low) == (Verdict.NOT_SETTLED, 0)
    assert bench.remark(found, code).numbers == {"cell_a": cell_a, "test_a": test_a}


@pytest.mark.parametrize(
    "missing",
    ["observed.parallel", "observed.cell", "claim.continuous_current_a", "observed.charger.current_a"],
)
def test_a_missing_fact_never_passes(bench: Bench, missing: str) -> None:
    """Cycles would pass although nobody knows the cell, its count or the currents."""
    assert judged(bench).verdict in PASSES
    found = judged(bench, **{missing: None})
    assert found.verdict is Verdict.NOT_SETTLED
    assert any(name.startswith(missing) for name in found.unknown)


def test_without_the_parallel_count_everything_else_that_is_missing_is_named_too(bench: Bench) -> None:
    """The charger would be asked for only after the case has been opened."""
    found = judged(bench, **{"observed.parallel": None, "observed.charger.current_a": None})
    assert {"observed.parallel", "observed.charger.current_a"} <= set(found.unknown)
    assert "claim.continuous_current_a" not in found.unknown


def test_nothing_is_asked_of_a_claim_that_holds(bench: Bench) -> None:
    """The user would be sent for facts that change nothing: 9 to 10.4 A are all within the test's."""
    found = judged(bench, **{"claim.continuous_current_a": [9, 10.4], "observed.parallel": [4, 5]})
    assert (found.verdict, found.unknown) == (Verdict.HOLDS, ())


def test_a_charger_that_only_the_seller_names_rests_on_his_word(bench: Bench) -> None:
    """Taking the seen charger away would turn an open claim into one that holds, and nothing would say why."""
    seen = judged(bench, **{"observed.charger.current_a": 8, "claim.charge_current_a": 2})
    assert seen.verdict is Verdict.NOT_SETTLED
    said = judged(bench, **{"observed.charger.current_a": None, "claim.charge_current_a": 2})
    assert (said.verdict, said.sellers_word) == (Verdict.HOLDS_ON_SELLERS_WORD, ("claim.charge_current_a",))


def test_the_charger_as_seen_decides_over_the_one_claimed(bench: Bench) -> None:
    """A seller's faster charger, which is not the one in the box, would take away what the sheet grants."""
    assert judged(bench, **{"claim.charge_current_a": 20}).verdict is Verdict.HOLDS
    claimed = judged(bench, **{"claim.charge_current_a": 20, "observed.charger.current_a": None})
    assert bench.remark(claimed, "charges_harder").numbers["cell_a"] == 5


def test_a_sheet_without_a_cycle_life_leaves_it_open(bench: Bench) -> None:
    """A sheet that says nothing of cycles would refute, or support, any number of them."""
    found = judged(bench, bench.cell())
    assert found.verdict is Verdict.NOT_SETTLED
    assert "sheet.cycle_life" in found.unknown


def test_of_two_sheets_the_cautious_one_decides(bench: Bench) -> None:
    """The friendlier of two revisions would decide."""
    sheets = [{"cycle_life": {**LIFE, "cycles": cycles}} for cycles in (500, 300)]
    found = judged(bench, cell(bench, *sheets), **{"claim.cycles": 400})
    assert (found.verdict, found.supported.low) == (Verdict.NOT_SETTLED, 300)


@given(
    st.tuples(st.integers(1, 10), st.integers(1, 10)).map(sorted),
    st.tuples(st.floats(1, 60), st.floats(1, 60)).map(sorted),
    st.data(),
)
def test_no_pack_inside_the_ranges_leaves_the_bounds(
    bench: Bench, parallel: list[int], current: list[float], draw: st.DataObject
) -> None:
    """A pack that fits what is known would support fewer cycles than the report grants."""
    ranges: dict[str, Any] = {"observed.parallel": parallel, "claim.continuous_current_a": current}
    points: dict[str, Any] = {
        "observed.parallel": draw.draw(st.integers(*parallel)),
        "claim.continuous_current_a": draw.draw(st.floats(*current)),
    }
    wide, point = judged(bench, **ranges).supported, judged(bench, **points).supported
    assert wide.low <= point.low
    hardest = current[1] / parallel[0] <= 2.6 * (1 + 1e-9) and 5.2 / parallel[0] <= 1.3 * (1 + 1e-9)
    assert wide.low == (300 if hardest else 0)
