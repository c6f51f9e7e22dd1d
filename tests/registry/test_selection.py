"""Which registered cells could meet a pack current."""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.bundle import write_bundle
from registry.cell import Capacity, Cell, DischargeBand, Sheet
from registry.cells import InMemory
from registry.errors import InvalidRecord, StoreProblem
from registry.input_bounds import Bound
from registry.opening import open_registry
from registry.selection import OUTCOMES_BEST_FIRST, Choice, shortlist, which_cells
from registry.sqlite import catalogue
from registry.sqlite.catalogue import SqliteCells
from registry.sqlite.store import Store

NOTHING = Bound(-1, "cells", "so that no registry is read whole")


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


REGISTRY = InMemory((
    cell("none", None), cell("weak", 5.0), cell("open", None, open_a=15.0), cell("even", 7.5),
    cell("strong", 20.0), cell("b-good", 12.0), cell("a-good", 12.0), cell("gone", 30.0, retired="withdrawn"),
))  # fmt: skip


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
    exact = which_cells(InMemory([cell("seven", 7.0)]), current_a=19.6, low_c=0, high_c=35, reserve=0.7)[0]
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
        InMemory([cell("two", None, sheets=two)]), current_a=40, low_c=0, high_c=35, reserve=1, parallel=4
    )[0]
    assert choice.pack_current_a == (32.0, 32.0)
    assert choice.verdict == "does not hold"
    assert "first: 8 A" in choice.note


def test_a_limit_of_next_to_nothing_needs_no_countable_number_of_cells() -> None:
    """Otherwise one odd figure in a sheet ends the whole list in a traceback."""
    for amperes in (5e-324, 1e-308):
        (choice,) = which_cells(
            InMemory([cell("tiny", amperes)]), current_a=30, low_c=0, high_c=35, reserve=2 / 3
        )
        assert (choice.parallel_needed, choice.verdict) == (None, "not settled")


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("current", {"current_a": 0.0}), ("current", {"current_a": float("inf")}),
        ("current", {"current_a": 1.1e6}), ("series", {"series": 10_001}),
        ("reserve", {"reserve": 0.0}), ("reserve", {"reserve": 1.5}),
        ("temperature", {"low_c": 40}), ("series", {"series": 0}), ("parallel", {"parallel": 0}),
    ],
)  # fmt: skip
def test_a_parameter_out_of_range_is_named(name: str, wrong: dict[str, Any]) -> None:
    """Otherwise a slip of the keyboard gives a list of cells as if it were sound."""
    with pytest.raises(InvalidRecord, match=f"^{name}:"):
        choose(**wrong)


# The best of very many -----------------------------------------------------------------------------------


def fails(choice: Choice) -> bool:
    return choice.verdict == "does not hold"


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A registry for the tests of this file to fill, which is asked by its columns as a large one is."""
    place = tmp_path_factory.mktemp("shortlist") / "r.sqlite"
    with Store.open(place, create=True), pytest.MonkeyPatch.context() as patch:
        patch.setattr(catalogue, "READ_WHOLE", NOTHING)
        yield place


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_the_columns_grant_what_the_sheets_grant(
    data: st.DataObject, any_cell: st.SearchStrategy[Cell], path: Path
) -> None:
    """Otherwise a cell is counted as able, or left out, against what its sheets say."""
    drawn = data.draw(any_cell).model_copy(update={"id": "any", "retired": None})
    with Store.open(path, create=False) as store:
        store.take([drawn], who="Quay Street", why="drawn")
    registry = open_registry(path)
    assert isinstance(registry, SqliteCells)
    ends = {-20.0, 0.0, 20.0, 25.0, 40.0}
    for sheet in drawn.sheets:
        for span in (*sheet.discharge, sheet.discharge_temperature):
            if span is not None and span.low_c is not None and span.high_c is not None:
                ends |= {span.low_c, span.high_c, (span.low_c + span.high_c) / 2}
    end = st.sampled_from(sorted(ends))
    currents = [
        amperes
        for sheet in drawn.sheets
        for band in sheet.discharge
        for amperes in (sheet.amperes(band.max_continuous_a, band.max_continuous_c), band.max_unspecified_a)
        if amperes
    ]
    for _ in range(6):
        low_c, high_c = sorted((data.draw(end), data.draw(end)))
        asked: dict[str, Any] = {
            "current_a": min(1e6, data.draw(st.sampled_from([1.0, 30.0, 1e6, *currents]))),
            "low_c": low_c, "high_c": high_c, "reserve": data.draw(st.sampled_from([2 / 3, 1.0])),
            "parallel": data.draw(st.sampled_from([None, 1, 4])),
        }  # fmt: skip
        every = which_cells(registry, **asked)
        found = shortlist(registry, most=10, **asked)
        assert found.choices == [choice for choice in every if not fails(choice)]
        assert found.counts == Counter(choice.verdict for choice in every)
    registry.close()


def test_the_shortlist_is_the_beginning_of_the_list(path: Path, tmp_path: Path) -> None:
    """Otherwise the best cell is missing from the table, or a worse one stands above it."""
    cells = [
        cell(f"c{number}", [None, 5.0, 7.5, 12.0, 20.0][number % 5], open_a=15.0 if number % 7 == 0 else None,
             size=["18650", "21700", None][number % 3], retired="gone" if number % 11 == 0 else None)
        for number in range(120)
    ]  # fmt: skip
    with Store.open(tmp_path / "r.sqlite", create=True) as store:
        store.add(cells, who="Quay Street", why="test")
    write_bundle(cells, tmp_path / "cells.jsonl")
    for place in ("r.sqlite", "cells.jsonl"):
        registry = open_registry(tmp_path / place)
        assert isinstance(registry, SqliteCells if place == "r.sqlite" else InMemory)
        for size, parallel, most in ((None, 4, 20), ("18650", 4, 20), ("21700", None, 7), (None, None, 1000)):
            asked: dict[str, Any] = {"current_a": 30.0, "low_c": 0, "high_c": 35, "reserve": 2 / 3}
            every = which_cells(InMemory(registry.fitting(size, None)), **asked, parallel=parallel, series=10)
            found = shortlist(registry, **asked, most=most, size=size, parallel=parallel, series=10)
            assert found.choices == [choice for choice in every if not fails(choice)][:most]
            assert found.counts == Counter(choice.verdict for choice in every)
            assert len(found.counts) > 1


@pytest.mark.parametrize("spoil", ["max_a = 80", "low_c = 'cold'"])
def test_columns_that_another_tool_has_changed_are_not_believed(
    spoil: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise a figure that no sheet states decides which cell is bought."""
    asked: dict[str, Any] = {
        "most": 5, "current_a": 30, "low_c": 0, "high_c": 35, "parallel": 4, "reserve": 1
    }  # fmt: skip
    with Store.open(tmp_path / "r.sqlite", create=True) as store:
        store.add([cell("strong", 20.0)], who="Quay Street", why="test")
    with closing(sqlite3.connect(tmp_path / "r.sqlite")) as connection:
        connection.execute(f"UPDATE limits SET {spoil}")  # noqa: S608
        connection.commit()
    damage = r"damaged \(cell strong: table limits differs from its record\).*cells verify"
    with pytest.raises(StoreProblem, match=damage):
        shortlist(open_registry(tmp_path / "r.sqlite"), **asked)
    monkeypatch.setattr(catalogue, "READ_WHOLE", NOTHING)
    with pytest.raises(StoreProblem, match=damage):
        shortlist(open_registry(tmp_path / "r.sqlite"), **asked)


def test_a_table_of_very_many_cells_holds_the_best_hundred_and_says_so(tmp_path: Path) -> None:
    """Otherwise thousands of rows run past, or rows are missing and nobody knows."""
    from click.testing import CliRunner

    from verifier.cli.which_cells import MOST_SHOWN
    from verifier.cli.which_cells import which_cells as command

    amperes = [5.0, *(10.0 + number / 100 for number in range(MOST_SHOWN + 50))]
    write_bundle([cell(f"c{a:.2f}", a) for a in amperes], tmp_path / "cells.jsonl")
    asked = ["--current", "30", "--parallel", "3", "--registry", str(tmp_path / "cells.jsonl")]
    text = CliRunner().invoke(command, asked).stdout
    first, *_, last = (line for line in text.splitlines() if line.startswith("c1"))
    assert (first.split()[0], last.split()[0]) == ("c11.49", "c10.50")
    assert "150 of 151 registered cells could supply" in " ".join(text.split())
    assert "Not shown: 50 more cells that rank lower and 1 cell that cannot; --all shows" in text
    marked = CliRunner().invoke(command, [*asked, "--format", "markdown"]).stdout
    assert "Not shown: 50 more cells" in marked
    every = CliRunner().invoke(command, [*asked, "--all"]).stdout
    assert "c5.00" in every
    assert "c10.00" in every
    assert "Not shown" not in every
