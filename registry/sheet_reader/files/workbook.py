"""Workbooks as rows of cells, a sheet a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from registry.errors import UnreadableFile
from registry.sheet_reader.files.pages import Pages
from registry.sheet_reader.files.text import LONGEST_LINE, MOST_ROWS
from registry.sheet_reader.names import codes
from registry.sheet_reader.rows import Cell, Document, Row

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

MOST_COLUMNS = 60
MOST_UNPACKED_BYTES = 40_000_000


def rows_of_workbook(path: Path, pages: Pages | None = None) -> Document:
    """Return the rows of an .xlsx file; a merged cell's text stands in all of its places.

    A damaged file makes the libraries raise anything, from zip to XML.

    Raises
    ------
    UnreadableFile
        When it unpacks to very much.
    """
    from zipfile import ZipFile

    from openpyxl import load_workbook

    with ZipFile(path) as packed:
        unpacked = sum(part.file_size for part in packed.infolist())
    if unpacked > MOST_UNPACKED_BYTES:
        raise UnreadableFile(
            str(path), f"unpacks to {unpacked / 1e6:.0f} MB", "save the cells with the figures alone"
        )
    book = load_workbook(path, data_only=True)
    chosen = [n for n in range(1, len(book.worksheets) + 1) if pages is None or pages.holds(n)]
    rows = [
        row
        for number in chosen
        for row in (*_title(book.worksheets, number), *_sheet_rows(book.worksheets[number - 1], number))
    ]
    return Document(tuple(rows), len(book.worksheets), unread=len(book.worksheets) - len(chosen))


def _title(sheets: Sequence[Worksheet], number: int) -> Iterator[Row]:
    """Yield the name of a sheet as a row, where there are several and it is the name of a model."""
    title = sheets[number - 1].title.strip()
    if len(sheets) > 1 and codes(title) == [title]:
        yield Row((Cell(title),), number, title, number * 1000)


def _sheet_rows(sheet: Worksheet, page: int) -> Iterator[Row]:
    carried = _merged(sheet)
    most_rows, most_columns = min(sheet.max_row, MOST_ROWS // 10), min(sheet.max_column, MOST_COLUMNS)
    for number in range(1, most_rows + 1):
        cells = tuple(_cells(sheet, number, most_columns, carried))
        if any(cell.text for cell in cells):
            said = (" ".join(cell.text.split()) for cell in cells if cell.text and not cell.carried)
            yield Row(cells, page, "  ".join(said) or cells[0].text, page, ruled=True)


def _merged(sheet: Worksheet) -> dict[tuple[int, int], tuple[int, int]]:
    """Return the row and column of every merged place, with those of the cell that holds its text."""
    carried: dict[tuple[int, int], tuple[int, int]] = {}
    for area in list(sheet.merged_cells.ranges)[:2000]:
        if (area.max_row - area.min_row + 1) * (area.max_col - area.min_col + 1) <= 4000:
            for row in range(area.min_row, area.max_row + 1):
                for column in range(area.min_col, area.max_col + 1):
                    carried[row, column] = (area.min_row, area.min_col)
    return carried


def _cells(
    sheet: Worksheet, number: int, most_columns: int, carried: dict[tuple[int, int], tuple[int, int]]
) -> Iterator[Cell]:
    for column in range(1, most_columns + 1):
        origin = carried.get((number, column), (number, column))
        value = sheet.cell(*origin).value
        text = "" if value is None else f"{value:.12g}" if isinstance(value, float) else str(value)
        yield Cell(text.strip()[:LONGEST_LINE], column - 1, carried=origin != (number, column))
