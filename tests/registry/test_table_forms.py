"""A cell as rows of texts: the same cell again, and the table's own rules for what is changed."""

from __future__ import annotations

from pathlib import Path

import pytest

from registry.bundle import validate_cell
from registry.errors import PlacedError
from registry.opening import open_registry
from registry.table_forms import cell_of, rows_of

FORMS = ("cylindrical", "prismatic", "pouch")
CELLS = open_registry(Path(__file__).parents[2] / "samples" / "registry.jsonl").cells(all=True)


@pytest.mark.parametrize("cell", CELLS, ids=lambda cell: cell.id)
def test_an_untouched_form_gives_the_same_cell(cell: object) -> None:
    """Otherwise looking at a cell changes it. Rule: what is written reads back as equal cells."""
    columns, rows = rows_of(cell)  # type: ignore[arg-type]
    assert cell_of(columns, rows, "x") == cell


def test_a_further_band_is_taken() -> None:
    """Otherwise a sheet's third temperature band cannot be typed in."""
    cell = next(each for each in CELLS if each.id == "lyr-18650-35p")
    columns, rows = rows_of(cell)
    for name, text in (("low_c", "45"), ("high_c", "60"), ("max_continuous_a", "5")):
        rows[0][columns.index(f"discharge_3_{name}")] = text
    assert cell_of(columns, rows, "x").sheets[0].discharge[2].max_continuous_a == 5


def test_the_sizes_that_are_offered_are_those_of_such_a_cell() -> None:
    """Otherwise nobody can type how wide a pouch is, or a round cell is given a width.

    Rule: a round cell has a diameter, any other a width and a thickness.
    """
    sheets = ({"evidence": "maker"},)
    sizes = {"diameter_mm", "width_mm", "thickness_mm"}
    record = {"id": "osk-1", "maker": "Osk", "model": "1", "chemistry": "NMC", "sheets": sheets}
    offered = {form: sizes & {*rows_of(validate_cell(record | {"form": form}, "x"))[0]} for form in FORMS}
    assert offered["cylindrical"] == {"diameter_mm"}
    assert offered["pouch"] == offered["prismatic"] == {"width_mm", "thickness_mm"}


@pytest.mark.parametrize(("column", "text"), [("mass_g", "heavy"), ("id", ""), ("evidence", "rumour")])
def test_a_wrong_text_is_told_with_its_column(column: str, text: str) -> None:
    """Otherwise a slip is stored, or nobody knows which of fifty fields is wrong."""
    columns, rows = rows_of(CELLS[0])
    rows[0][columns.index(column)] = text
    with pytest.raises(PlacedError, match=column):
        cell_of(columns, rows, "x")
