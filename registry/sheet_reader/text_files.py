"""Plain text, CSV and spreadsheets as rows of cells."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from registry.errors import UnreadableFile
from registry.sheet_reader.rows import Cell, Document, Row

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

LONGEST_LINE = 4000
MOST_ROWS = 20_000
MOST_COLUMNS = 60
MOST_UNPACKED_BYTES = 40_000_000
DEEP_INDENT = 10
"""A line of a text that begins this far in leaves its label to the line above."""
_BREAKS = re.compile(r"\s*[|\t│┃]\s*|\s{2,}|(?:\.\s?|…|·|_){4,}\s*")


def decoded(data: bytes, place: str) -> str:
    """Return the text of a file in UTF-8, UTF-16, GB 18030 or Windows-1252.

    Raises
    ------
    UnreadableFile
        When the bytes are no text.
    """
    marked = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    encodings = ["utf-16"] if marked else ["utf-8-sig", "gb18030", "cp1252"]
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        odd = sum(1 for letter in text[:20_000] if ord(letter) < 32 and letter not in "\t\n\r\f\v\x1a")
        # GB 18030 takes most single-byte text for rare Chinese letters.
        if encoding == "gb18030" and not _looks_chinese(text):
            continue
        if odd <= len(text[:20_000]) // 200:
            return text
    raise UnreadableFile(place, "is not a text that can be read", "save it as UTF-8 text, CSV, .xlsx or PDF")


def _looks_chinese(text: str) -> bool:
    common = sum(1 for letter in text if letter in "电池充放容量压流最大小标称型号温度重内阻额定的")
    return common >= 8


def rows_of_text(text: str) -> Document:
    """Return each line of a text as a row; bars, tabs, leaders and wide gaps part its cells."""
    rows: list[Row] = []
    pages = text.split("\f")
    for number, page in enumerate(pages, 1):
        for line in page.splitlines():
            if not line.strip() or len(rows) >= MOST_ROWS:
                continue
            line = line.rstrip()[:LONGEST_LINE]
            pieces = [piece.strip() for piece in _BREAKS.split(line.strip())]
            if "|" not in line and "\t" not in line:
                pieces = [piece for piece in pieces if piece]
            elif line.strip().startswith("|") and pieces and not pieces[0]:
                pieces = pieces[1:] if line.count("|") > 2 and line.strip().endswith("|") else pieces
            if all(re.fullmatch(r"[-:=+\s]*", piece) for piece in pieces):
                continue
            if len(pieces) > 1 and len(line) - len(line.lstrip()) >= DEEP_INDENT:
                # The label stands in the row above.
                pieces = ["", *pieces]
            cells = tuple(Cell(piece, column) for column, piece in enumerate(pieces))
            barred = "|" in line or "\t" in line
            rows.append(Row(cells, number if len(pages) > 1 else None, line.strip(), 0 if barred else None))
    return Document(tuple(rows), len(pages))


def rows_of_csv(text: str) -> Document:
    """Return the rows of a CSV text parted by commas, semicolons, tabs or bars."""
    sample = [line for line in text.splitlines()[:50] if line.strip()]
    separator = max(",;\t|", key=lambda sign: (sum(sign in line for line in sample), sign == ";"))
    # A decimal comma beside semicolons must not part cells.
    if sum(";" in line for line in sample) >= max(1, len(sample) // 2):
        separator = ";"
    lines = [line[:LONGEST_LINE] for line in text.splitlines()[:MOST_ROWS]]
    rows = []
    reader = csv.reader(io.StringIO("\n".join(lines)), delimiter=separator)
    try:
        for fields in reader:
            cells = tuple(Cell(" ".join(each.split()), column) for column, each in enumerate(fields))
            if any(cell.text for cell in cells):
                quote = f" {separator} ".join(cell.text for cell in cells if cell.text)
                rows.append(Row(cells, None, quote, 0))
    except csv.Error:
        return rows_of_text(text)
    return Document(tuple(rows))


def rows_of_workbook(path: Path) -> Document:
    """Return the rows of an .xlsx file, a sheet a page; a merged cell's text stands in all of its places.

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
    rows: list[Row] = []
    for page, sheet in enumerate(book.worksheets, 1):
        carried = _merged(sheet)
        most_rows, most_columns = min(sheet.max_row, MOST_ROWS // 10), min(sheet.max_column, MOST_COLUMNS)
        for number in range(1, most_rows + 1):
            cells = tuple(_workbook_cells(sheet, number, most_columns, carried))
            if any(cell.text for cell in cells):
                quote = "  ".join(
                    " ".join(cell.text.split()) for cell in cells if cell.text and not cell.carried
                )
                rows.append(Row(cells, page, quote or cells[0].text, page))
    return Document(tuple(rows), len(book.worksheets))


def _merged(sheet: Worksheet) -> dict[tuple[int, int], tuple[int, int]]:
    """Return the row and column of every merged place, with those of the cell that holds its text."""
    carried: dict[tuple[int, int], tuple[int, int]] = {}
    for area in list(sheet.merged_cells.ranges)[:2000]:
        if (area.max_row - area.min_row + 1) * (area.max_col - area.min_col + 1) <= 4000:
            for row in range(area.min_row, area.max_row + 1):
                for column in range(area.min_col, area.max_col + 1):
                    carried[row, column] = (area.min_row, area.min_col)
    return carried


def _workbook_cells(
    sheet: Worksheet, number: int, most_columns: int, carried: dict[tuple[int, int], tuple[int, int]]
) -> Iterator[Cell]:
    for column in range(1, most_columns + 1):
        origin = carried.get((number, column), (number, column))
        value = sheet.cell(*origin).value
        text = "" if value is None else f"{value:.12g}" if isinstance(value, float) else str(value)
        yield Cell(text.strip()[:LONGEST_LINE], column - 1, carried=origin != (number, column))
