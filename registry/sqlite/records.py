"""Reading what a registry stores: nothing is taken for a cell or a change before it has been looked at."""

from __future__ import annotations

from dataclasses import dataclass

from registry.bundle import read_record
from registry.cell import Cell
from registry.errors import ManyProblems, RegistryError
from registry.sqlite.connection import Damage
from registry.sqlite.index_columns import COLUMNS, cell_row

ROW = ", ".join(COLUMNS["cells"])
"""The columns that `cell_of_row` takes, in their order."""
CHANGE = "number, action, at, who, why, before, after"
"""The columns that `change_of_row` takes, in their order."""


@dataclass(frozen=True, slots=True)
class Change:
    """One entry of the history: what was done to a cell, by whom, why, and the cell before and after."""

    number: int
    cell_id: str
    action: str
    at: str
    who: str
    why: str
    before: Cell | None
    after: Cell


def stored_cell(cell_id: object, record: object) -> Cell:
    """Return the cell of a record.

    Raises
    ------
    Damage
        When the record is no valid cell, or the cell of another id.
    """
    if not isinstance(cell_id, str) or not isinstance(record, str):
        raise Damage(f"cell {cell_id if isinstance(cell_id, str) else '?'}: its record is not text")
    place = f"cell {cell_id}"
    try:
        cell = read_record(record, place)
    except ManyProblems as several:
        first, *others = several.problems
        raise Damage(f"{first}" + (f"; and {len(others)} more" if others else "")) from several
    except RegistryError as problem:
        raise Damage(str(problem)) from problem
    if cell.id != cell_id:
        raise Damage(f"{place}: its record has the id '{cell.id}'")
    return cell


def cell_of_row(row: tuple[object, ...]) -> Cell:
    """Return the cell of a row of `ROW`. Raises ``Damage`` also when a column differs from the record."""
    cell = stored_cell(row[0], row[-1])
    if cell_row(cell, str(row[-1])) != row:
        raise Damage(f"cell {cell.id}: table cells differs from its record")
    return cell


def change_of_row(cell_id: str, row: tuple[object, ...]) -> Change:
    """Return the change of a row of `CHANGE`. Raises ``Damage`` when it is not as it was written."""
    number, action, at, who, why, before, after = row
    match number, action, at, who, why:
        case int(), str(), str(), str(), str():
            earlier = None if before is None else stored_cell(cell_id, before)
            return Change(number, cell_id, action, at, who, why, earlier, stored_cell(cell_id, after))
    raise Damage(f"cell {cell_id}: change {number if isinstance(number, int) else '?'} is not text")


def gap_before(cell_id: object, row: tuple[object, ...], last: object) -> str:
    """Return what is wrong where a change of `CHANGE` does not begin with the record that the one before left."""
    return (
        ""
        if row[-2] == last
        else f"cell {cell_id}: change {row[0]} does not begin where the change before it ended"
    )


def gap_at_end(cell_id: object, last: object, record: object) -> str:
    """Return what is wrong where the last change does not end with the record that stands; None for none."""
    if last == record:
        return ""
    return (
        f"cell {cell_id}: has no history"
        if last is None
        else f"cell {cell_id}: differs from the last change in its history"
    )
