"""How a report names the sheet, page and line that a figure comes from."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from registry.cell import Cell, Figure, Sheet

GRADES = {
    "own_test": "own test",
    "maker": "maker's own sheet",
    "reseller": "reseller's copy of a sheet",
    "secondhand": "secondhand figure",
}


def sheet_name(cell: Cell, sheet: Sheet) -> str:
    """Return a sheet's name: its title, revision and date, else its number among the cell's sheets."""
    parts = [sheet.title, f"rev. {sheet.revision}" if sheet.revision else "", sheet.date or ""]
    number = cell.sheets.index(sheet) + 1
    named = " ".join(part for part in parts if part) or "untitled"
    return f"{cell.id} sheet {number} ({named}; {GRADES[sheet.evidence]})"


def place(cell: Cell, sheet: Sheet, figure: Figure | None) -> str:
    """Return where a figure stands: sheet, page and quoted line."""
    text = sheet_name(cell, sheet)
    if figure is not None and figure.page is not None:
        text += f", page {figure.page}"
    if figure is not None and figure.quote is not None:
        text += f', "{figure.quote}"'
    return text


def others_say(
    cell: Cell, deciding: Sequence[Sheet], figure: str, value: Callable[[Sheet], str | None], pick: str | None
) -> tuple[str, ...]:
    """Return a caution naming the sheets that do not decide and give another value, if there are any.

    `value` gives a sheet's figure in words, or None when the sheet does not state it. Nothing is said when
    the user picked the sheet.
    """
    if pick is not None or len(deciding) == len(cell.sheets):
        return ()
    decided = {value(sheet) for sheet in deciding}
    others = [
        f"{sheet_name(cell, sheet)} gives {said}"
        for sheet in cell.sheets
        if sheet not in deciding and (said := value(sheet)) is not None and said not in decided
    ]
    if not others:
        return ()
    return (f"sheets disagree on {figure}: {'; '.join(others)}; the best evidence decides",)
