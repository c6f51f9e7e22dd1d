"""Cycle life: the sheet's cycles under the sheet's own conditions: 300 to 80 % at 1.3 A and 2.6 A, 25 C."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.cell import Cell
from verifier.finding import Finding
from verifier.verdict import PASSES, Verdict

LIFE = {"cycles": 300, "to_fraction": 0.8, "charge_a": 1.3, "discharge_a": 2.6, "temperature_c": 25}
# Four in parallel: 10.4 A and 5.2 A are the test's own currents.
GENTLE = {"claim.continuous_current_a": 10.4, "observed.charger.current_a": 5.2}


def cell(bench: Any, **life: Any) -> Cell:
    kept = {name: value for name, value in {**LIFE, **life}.items() if value is not None}
    found: Cell = bench.cell("lyr-18650-26", bench.sheet(cycle_life=kept))
    return found


def judged(bench: Any, cells: Cell | None = None, **changes: Any) -> Finding:
    data = bench.build(**{**GENTLE, "claim.cycles": 300, **changes})
    found: Finding = bench.finding("cycle_life", data, cells or cell(bench))
    return found


@pytest.mark.parametrize(
    ("changes", "verdict", "low"),
    [
        ({}, Verdict.HOLDS, 300),
        ({"claim.cycles": 301}, Verdict.DOES_NOT_HOLD, 300),
        ({"claim.cycles": 9000}, Verdict.DOES_NOT_HOLD, 300),
        ({"claim.continuous_current_a": 10.5}, Verdict.NOT_SETTLED, 0),
        ({"use.controller_current_a": 12}, Verdict.NOT_SETTLED, 0),
        ({"observed.charger.current_a": 6}, Verdict.NOT_SETTLED, 0),
        ({"claim.cycles": 9000, "claim.continuous_current_a": 30}, Verdict.DOES_NOT_HOLD, 0),
        ({"claim.cycles": None}, Verdict.NOT_CLAIMED, 300),
    ],
)
def test_the_sheets_cycles_hold_under_its_own_conditions(
    bench: Any, changes: dict[str, Any], verdict: Verdict, low: float
) -> None:
    """Cycles of a gentle test would be granted to a pack that works its cells harder."""
    found = judged(bench, **changes)
    assert (found.verdict, found.supported.low, found.supported.high) == (verdict, low, 300)


def test_the_conditions_are_told(bench: Any) -> None:
    """A user would read 300 cycles and not that they end at 80 % and were made at half the current."""
    said = " ".join(judged(bench).cautions)
    assert all(part in said for part in ("300", "80 %", "1.3 A", "2.6 A", "25 C"))
    said = " ".join(judged(bench, cell(bench, to_fraction=None, temperature_c=None)).cautions)
    assert "a part not stated" in said
    assert "at C not stated" in said


def test_what_is_harder_is_told_with_its_arithmetic(bench: Any) -> None:
    """A user would not see why cycles are not granted: 20 A / 4 = 5 A a cell against 2.6 A."""
    said = " ".join(judged(bench, **{"claim.continuous_current_a": 20}).cautions)
    assert "5 A a cell" in said
    assert "2.6 A" in said


@pytest.mark.parametrize(
    "missing",
    [
        "observed.parallel", "observed.cell", "claim.continuous_current_a", "observed.charger.current_a",
    ],
)  # fmt: skip
def test_a_missing_fact_never_passes(bench: Any, missing: str) -> None:
    """Cycles would pass although nobody knows the cell, its count or the currents."""
    assert judged(bench).verdict in PASSES
    found = judged(bench, **{missing: None})
    assert found.verdict is Verdict.NOT_SETTLED
    assert any(name.startswith(missing) for name in found.unknown)


@pytest.mark.parametrize("condition", ["charge_a", "discharge_a"])
def test_a_sheet_that_leaves_a_current_out_grants_nothing(bench: Any, condition: str) -> None:
    """Cycles tested at an unnamed current would be granted at any current."""
    found = judged(bench, cell(bench, **{condition: None}))
    assert (found.verdict, found.supported.low) == (Verdict.NOT_SETTLED, 0)


def test_a_sheet_without_a_cycle_life_leaves_it_open(bench: Any) -> None:
    """A sheet that says nothing of cycles would refute, or support, any number of them."""
    found = judged(bench, bench.cell())
    assert found.verdict is Verdict.NOT_SETTLED
    assert "a sheet's cycle life" in found.unknown


def test_of_two_sheets_the_cautious_one_decides(bench: Any) -> None:
    """The friendlier of two revisions would decide."""
    sheets = [bench.sheet(title=str(cycles), cycle_life={**LIFE, "cycles": cycles}) for cycles in (500, 300)]
    found = judged(bench, bench.cell("lyr-18650-26", *sheets))
    assert found.supported.high == 300
    assert any("500" in text and "300" in text for text in found.cautions)


@given(
    st.tuples(st.integers(1, 10), st.integers(1, 10)).map(sorted),
    st.tuples(st.floats(1, 60), st.floats(1, 60)).map(sorted),
    st.data(),
)
def test_no_pack_inside_the_ranges_leaves_the_bounds(
    bench: Any, parallel: list[int], current: list[float], draw: st.DataObject
) -> None:
    """A pack that fits what is known would support fewer cycles than the report grants."""
    ranges = {"observed.parallel": parallel, "claim.continuous_current_a": current}
    points = {
        "observed.parallel": draw.draw(st.integers(*parallel)),
        "claim.continuous_current_a": draw.draw(st.floats(*current)),
    }
    wide, point = judged(bench, **ranges).supported, judged(bench, **points).supported
    assert wide.low <= point.low <= point.high <= wide.high
    hardest = current[1] / parallel[0] <= 2.6 * (1 + 1e-9) and 5.2 / parallel[0] <= 1.3 * (1 + 1e-9)
    assert wide.low == (300 if hardest else 0)
