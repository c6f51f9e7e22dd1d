"""Which sheets of a cell decide a figure: the one picked, else those of the best evidence that state it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from registry.cell import EVIDENCE_BEST_FIRST, Cell, Sheet
from registry.envelope import beyond
from registry.errors import UnknownCell


def governing_sheets(
    cell: Cell, figure: str | Callable[[Sheet], object], pick: str | None = None
) -> list[Sheet]:
    """Return the sheets that decide one figure: those of the best evidence grade that state it.

    Parameters
    ----------
    cell
        The cell; all its sheets are kept, whatever decides.
    figure
        Name of a sheet's field, or a function that tells whether a sheet states the figure.
    pick
        Title or number, counted from 1, of the one sheet to go by. Nothing is then taken from another
        sheet, also where the picked one states nothing.

    Raises
    ------
    UnknownCell
        When `pick` is no sheet, or the title of several.
    """
    return best_stating(sheets_of(cell, pick), figure)


def best_stating(sheets: Sequence[Sheet], figure: str | Callable[[Sheet], object]) -> list[Sheet]:
    """Return those of some sheets that decide one figure; see `governing_sheets`."""
    if callable(figure):
        stating = [sheet for sheet in sheets if figure(sheet)]
    else:
        stating = [sheet for sheet in sheets if getattr(sheet, figure)]
    if len(stating) <= 1:
        return stating
    best = min(grade_of(sheet) for sheet in stating)
    return [sheet for sheet in stating if grade_of(sheet) == best]


def sheets_of(cell: Cell, pick: str | None = None) -> list[Sheet]:
    """Return the sheets of a cell, or the one that was picked; see `governing_sheets`.

    A sheet with a figure beyond the envelope of its size supports nothing: who knows what else in it is a slip.
    """
    sheets = cell.sheets if pick is None else (picked_sheet(cell, pick),)
    return [sheet for sheet in sheets if not beyond(sheet, cell.size)]


def grade_of(sheet: Sheet) -> int:
    """Return the place of a sheet's evidence among the grades, 0 for the best."""
    return EVIDENCE_BEST_FIRST.index(sheet.evidence)


def picked_sheet(cell: Cell, pick: str) -> Sheet:
    """Return the sheet with a number, counted from 1, or a title. Raises `UnknownCell` for any other."""
    wanted = pick.strip()
    if wanted.isdecimal() and 1 <= int(wanted) <= len(cell.sheets):
        return cell.sheets[int(wanted) - 1]
    found = [sheet for sheet in cell.sheets if wanted and sheet.title.casefold() == wanted.casefold()]
    if len(found) == 1:
        return found[0]
    titles = ", ".join(f"{number} '{sheet.title}'" for number, sheet in enumerate(cell.sheets, 1))
    what = f"{len(found)} sheets have the title" if found else "no sheet has the number or title"
    raise UnknownCell(f"cell {cell.id}", f"{what} '{pick}'", f"its sheets: {titles}")
