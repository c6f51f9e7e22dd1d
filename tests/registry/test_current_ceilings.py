"""What the columns of a SQLite registry leave possible of a cell's current, against what its sheets grant."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.cell import Cell
from registry.sheet_limits import granted
from registry.sqlite.catalogue import SqliteCells
from registry.sqlite.connection import open_to_read
from registry.sqlite.store import Store
from tests.effort import tried


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A registry for the tests of this file to fill."""
    place = tmp_path_factory.mktemp("ceilings") / "r.sqlite"
    with Store.open(place, create=True):
        yield place


@settings(max_examples=tried(12, 30), deadline=None)
@given(data=st.data())
def test_no_sheet_grants_more_than_the_columns_leave_possible(
    data: st.DataObject, any_cell: st.SearchStrategy[Cell], path: Path
) -> None:
    """Otherwise a cell that could do it is left out of a registry of very many, and nobody sees it.

    Source: registry.sheet_limits, which every check goes by.
    """
    drawn = data.draw(any_cell).model_copy(update={"id": "any", "retired": None})
    with Store.open(path, create=False) as store:
        store.take([drawn], who="Quay Street", why="drawn")
    ends = {-20.0, 0.0, 20.0, 25.0, 40.0}
    for sheet in drawn.sheets:
        for span in (*sheet.discharge, sheet.discharge_temperature):
            if span is not None and span.low_c is not None and span.high_c is not None:
                ends |= {span.low_c, span.high_c, span.high_c + 0.5, (span.low_c + span.high_c) / 2}
    catalogue = SqliteCells(open_to_read(path), str(path))
    for _ in range(6):
        low_c, high_c = sorted(data.draw(st.sampled_from(sorted(ends))) for _ in range(2))
        ((_, _, stated, cold, hot, cold_most, hot_most, most),) = catalogue.current_ceilings(
            low_c, high_c, None, None
        )
        found = granted(drawn, "discharge", low_c, high_c, current_for_rise=lambda *_: (inf, inf))
        # A sheet with a figure that no cell has grants nothing, which the columns need not know.
        assert stated or found is None
        if found is None:
            continue
        rounding = 1 + 1e-12
        assert found.low_a <= min(cold or 0.0, hot or 0.0) * rounding
        # Of air in which the sheets are silent the columns leave open what is possible.
        if not found.silent:
            assert (
                found.high_a <= min(inf if end is None else end for end in (cold_most, hot_most)) * rounding
            )
        assert found.top_a <= most * rounding or found.top_a == inf
