"""Which registered cells could meet a pack current."""

from __future__ import annotations

from typing import Any

import pytest

from registry.cell import Capacity, Cell, DischargeBand, Sheet
from registry.errors import InvalidRecord
from registry.selection import OUTCOMES_BEST_FIRST, Choice, which_cells


class Cells:
    """A registry of a few cells, in memory."""

    def __init__(self, *cells: Cell) -> None:
        self._cells = cells

    def cells(self) -> list[Cell]:
        return list(self._cells)


def cell(cell_id: str, amperes: float | None, *, open_a: float | None = None, **more: Any) -> Cell:
    bands = ()
    if amperes is not None or open_a is not None:
        bands = (DischargeBand(low_c=-20, high_c=60, max_continuous_a=amperes, max_unspecified_a=open_a),)
    sheet = Sheet(
        evidence="maker", discharge=bands, nominal_voltage_v=3.6, mass_g=48.0,
        capacity=(Capacity(kind="minimum", value_ah=3.4), Capacity(kind="typical", value_ah=3.5)),
    )  # fmt: skip
    return Cell(
        id=cell_id, maker="Lyr", model=cell_id, size=more.pop("size", "18650"), chemistry="NMC",
        sheets=more.pop("sheets", (sheet,)), **more,
    )  # fmt: skip


REGISTRY = Cells(
    cell("none", None), cell("weak", 5.0), cell("open", None, open_a=15.0), cell("even", 7.5),
    cell("strong", 20.0), cell("b-good", 12.0), cell("a-good", 12.0), cell("gone", 30.0, retired="withdrawn"),
)  # fmt: skip


def choose(**asked: Any) -> list[Choice]:
    figures: dict[str, Any] = {"current_a": 30.0, "low_c": 0, "high_c": 35, "reserve": 2 / 3, **asked}
    return which_cells(REGISTRY, **figures)


def test_cells_come_best_first_with_the_verdict_of_a_claim() -> None:
    """Otherwise a builder picks a cell that cannot carry the current.

    Rule: with reserve when current <= reserve x low, without when <= low, not at all when > high.
    """
    found = choose(parallel=4)
    assert [(choice.cell.id, choice.verdict) for choice in found] == [
        ("strong", "holds with reserve"),
        ("a-good", "holds with reserve"),
        ("b-good", "holds with reserve"),
        ("even", "holds without reserve"),
        ("none", "not settled"),
        ("open", "not settled"),
        ("weak", "does not hold"),
    ]
    strong, weak, opened = found[0], found[-1], found[-2]
    assert strong.pack_current_a == (80.0, 80.0)
    assert strong.margin_percent == (pytest.approx(100 * (80 / 30 - 1)), pytest.approx(100 * (80 / 30 - 1)))
    assert weak.margin_percent[0] == pytest.approx(-100 / 3)
    assert opened.pack_current_a == (0.0, 60.0)
    assert strong.evidence == "maker"
    assert set(OUTCOMES_BEST_FIRST) == {
        "holds with reserve", "holds without reserve", "not settled", "does not hold",
    }  # fmt: skip


def test_a_cell_without_a_stated_limit_never_passes() -> None:
    """Otherwise a cell of which nothing is known is recommended."""
    choice = next(each for each in choose(parallel=4, current_a=1.0) if each.cell.id == "none")
    assert (choice.verdict, choice.evidence) == ("not settled", None)
    assert "no sheet states a discharge limit" in choice.note
    far = next(each for each in choose(parallel=1, current_a=500.0) if each.cell.id == "none")
    assert far.verdict == "does not hold"


def test_the_parallel_count_needed_is_the_smallest_that_keeps_the_reserve() -> None:
    """Otherwise a pack is built one cell short of its reserve, or one too many."""
    needed = {choice.cell.id: choice for choice in choose()}
    assert needed["strong"].parallel_needed == 3  # 2/3 x 20 A = 13.3 A a cell
    assert needed["even"].parallel_needed == 6  # exactly 5 A a cell
    assert needed["weak"].parallel_needed == 9
    for choice in needed.values():
        count = choice.parallel_needed
        if count is None:
            assert choice.verdict == "not settled"
            continue
        assert choice.verdict == "holds with reserve"
        assert count * choice.limit.low_a * 2 / 3 >= 30 * (1 - 1e-9)
        assert (count - 1) * choice.limit.low_a * 2 / 3 < 30 * (1 - 1e-9)
    # 4 x 0.7 x 7 A is 19.6 A exactly, yet in binary 19.6 / 4.9 is above 4: no fifth cell is needed.
    exact = which_cells(Cells(cell("seven", 7.0)), current_a=19.6, low_c=0, high_c=35, reserve=0.7)[0]
    assert (exact.parallel_needed, exact.verdict) == (4, "holds with reserve")
    assert [choice.cell.id for choice in choose()][:3] == ["strong", "a-good", "b-good"]


def test_a_range_without_a_limit_supports_nothing_whatever_the_count() -> None:
    """Otherwise more cells in parallel seem to help where the sheet allows no current."""
    weak = next(choice for choice in choose(low_c=-40) if choice.cell.id == "weak")
    assert (weak.verdict, weak.parallel_needed, weak.pack_current_a) == ("does not hold", None, (0.0, 0.0))
    assert "from -40 to -20 C" in weak.note


def test_the_whole_pack_is_told_when_the_counts_are_known() -> None:
    """Otherwise the builder works out voltage, energy and mass by hand, with the typical capacity.

    Check: 13 series 4 parallel of 3.4 to 3.5 Ah at 3.6 V: 46.8 V, 636.5 to 655.2 Wh (Ah x V, 49 CFR 171.8).
    """
    strong = choose(series=13, parallel=4)[0]
    assert strong.pack_voltage_v == pytest.approx(46.8)
    assert strong.pack_energy_wh == (pytest.approx(636.48), pytest.approx(655.2))
    assert strong.cells_mass_kg == pytest.approx(13 * 4 * 0.048)
    assert choose(parallel=4)[0].pack_energy_wh is None


def test_sheets_that_disagree_are_taken_at_the_lower_and_said() -> None:
    """Otherwise the kinder of two sheets recommends the cell."""
    two = tuple(
        Sheet(
            evidence="maker",
            title=title,
            discharge=(DischargeBand(low_c=0, high_c=45, max_continuous_a=amperes),),
        )
        for title, amperes in (("first", 8.0), ("second", 12.0))
    )
    choice = which_cells(
        Cells(cell("two", None, sheets=two)), current_a=40, low_c=0, high_c=35, reserve=1, parallel=4
    )[0]
    assert choice.pack_current_a == (32.0, 32.0)
    assert choice.verdict == "does not hold"
    assert "first: 8 A" in choice.note


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("current", {"current_a": 0.0}), ("current", {"current_a": float("inf")}),
        ("reserve", {"reserve": 0.0}), ("reserve", {"reserve": 1.5}),
        ("temperature", {"low_c": 40}), ("series", {"series": 0}), ("parallel", {"parallel": 0}),
    ],
)  # fmt: skip
def test_a_parameter_out_of_range_is_named(name: str, wrong: dict[str, Any]) -> None:
    """Otherwise a slip of the keyboard gives a list of cells as if it were sound."""
    with pytest.raises(InvalidRecord, match=f"^{name}:"):
        choose(**wrong)
