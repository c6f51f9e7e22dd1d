"""How a report names the sheet, page and line that a figure comes from."""

from __future__ import annotations

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
