"""Which sheets of a cell decide a figure: the best evidence that states it, or the one that a user picks."""

from __future__ import annotations

import pytest

from registry.cell import Cell, DischargeBand, Evidence, Sheet
from registry.errors import UnknownCell
from registry.governing_sheets import governing_sheets, picked_sheet


def cell(*sheets: Sheet) -> Cell:
    return Cell(id="lyr-18650-35p", maker="Lyr", model="18650-35P", chemistry="NMC", sheets=sheets)


def graded(evidence: Evidence, title: str, amperes: float | None) -> Sheet:
    limit = () if amperes is None else (DischargeBand(low_c=0, high_c=45, max_continuous_a=amperes),)
    return Sheet(evidence=evidence, title=title, discharge=limit)


def test_only_the_best_grade_that_states_the_figure_decides() -> None:
    """Otherwise a secondhand figure decides beside a maker's sheet, or silence hides the maker's figure."""
    lyr = cell(
        graded("secondhand", "forum", 20.0),
        graded("own_test", "bench", None),
        graded("maker", "first", 8.0),
        graded("maker", "second", 10.0),
    )
    assert [each.title for each in governing_sheets(lyr, "discharge")] == ["first", "second"]
    assert [each.title for each in governing_sheets(lyr, lambda each: each.title == "forum")] == ["forum"]
    assert governing_sheets(lyr, "mass_g") == []


@pytest.mark.parametrize("pick", ["forum", "FORUM", "1", " 1 "])
def test_a_picked_sheet_decides_alone(pick: str) -> None:
    """Otherwise a user's own choice of sheet is overruled."""
    lyr = cell(graded("secondhand", "forum", 20.0), graded("maker", "first", 8.0))
    assert [each.title for each in governing_sheets(lyr, "discharge", pick)] == ["forum"]
    assert governing_sheets(lyr, "mass_g", pick) == []


@pytest.mark.parametrize("pick", ["second", "3", "0", "", "twin"])
def test_a_pick_that_is_no_one_sheet_is_an_error_that_names_the_sheets(pick: str) -> None:
    """Otherwise a mistyped sheet silently lets another decide."""
    lyr = cell(graded("maker", "twin", 20.0), graded("maker", "twin", 8.0))
    with pytest.raises(UnknownCell, match="1 'twin', 2 'twin'"):
        governing_sheets(lyr, "discharge", pick)


def test_a_title_of_several_sheets_and_of_none_are_told_apart() -> None:
    """Otherwise a user looks for a typing slip where two sheets merely share a title."""
    twins = cell(Sheet(evidence="maker", title="twin"), Sheet(evidence="maker", title="twin"))
    with pytest.raises(UnknownCell, match="2 sheets have the title 'twin'"):
        picked_sheet(twins, "twin")
    with pytest.raises(UnknownCell, match="no sheet has the number or title 'other'"):
        picked_sheet(twins, "other")
