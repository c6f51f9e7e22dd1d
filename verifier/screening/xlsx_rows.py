"""Reading a sheet of a spreadsheet, a row at a time; openpyxl takes the file apart.

The head of the table is the first row with at least two cells: a title may stand above it. Each row travels as
one line of JSON, so that a chunk of a sheet is like a chunk of any other table.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zipfile import BadZipFile, ZipFile

from registry.input_bounds import LISTING_COLUMNS, PARQUET_RATIO, SHEET_UNPACKED
from verifier.errors import UnreadableInput
from verifier.screening.rows import HOLDS_NUL, LARGEST_CHUNK, LONGEST_ROW, TOO_LONG, Rows

if TYPE_CHECKING:
    from openpyxl.worksheet._read_only import ReadOnlyWorksheet

_MOST_SHEETS = 6
_ERRORS = frozenset({"#N/A", "#REF!", "#VALUE!", "#NAME?", "#DIV/0!", "#NUM!", "#NULL!"})


@contextmanager
def open_sheet(path: str, sheet_name: str | None) -> Iterator[ReadOnlyWorksheet]:
    """Open a sheet, the one that is named or the first.

    Raises
    ------
    UnreadableInput
        When the file is missing, no spreadsheet, too large unpacked, or has no such sheet.
    """
    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    _refuse_bomb(path)
    try:
        book = load_workbook(path, read_only=True, data_only=True)
    except (InvalidFileException, BadZipFile, KeyError, ValueError, OSError, TypeError) as error:
        raise UnreadableInput(path, "is no .xlsx file, or a damaged one", "save it anew as .xlsx") from error
    try:
        names = [sheet.title for sheet in book.worksheets]
        if not names:
            raise UnreadableInput(path, "holds no sheet of rows")
        if sheet_name is not None and sheet_name not in names:
            raise UnreadableInput(
                "--sheet-name", f"there is no sheet '{sheet_name}'", f"choose one of: {', '.join(names)}"
            )
        yield book[sheet_name or names[0]]
    finally:
        book.close()


def which_sheet(sheet: Any) -> str:
    """Return which sheet is read and which others there are, in words; nothing where there is one."""
    others = other_sheets(sheet)
    return f"sheet '{sheet.title}' is read, and not {others} (--sheet-name for another)" if others else ""


def other_sheets(sheet: Any) -> str:
    """Return the names of the other sheets of a workbook, nothing where there is none."""
    others = [f"'{each.title}'" for each in sheet.parent.worksheets if each.title != sheet.title]
    more = f" and {len(others) - _MOST_SHEETS} more" if len(others) > _MOST_SHEETS else ""
    return ", ".join(others[:_MOST_SHEETS]) + more


def _refuse_bomb(path: str) -> None:
    """Refuse, before anything is unpacked, a file of which a few bytes would fill the memory."""
    try:
        with ZipFile(path) as packed:
            size = sum(each.file_size for each in packed.infolist())
    except (BadZipFile, OSError) as error:
        reason = getattr(error, "strerror", None)
        found = f"cannot be read ({reason})" if reason else "is no .xlsx file, or a damaged one"
        raise UnreadableInput(path, found, "" if reason else "save it anew as .xlsx") from error
    if size > SHEET_UNPACKED.most or size > PARQUET_RATIO.most * max(100_000, Path(path).stat().st_size):
        raise UnreadableInput(
            path,
            f"unpacks to {size / 1e6:,.0f} MB",
            f"save it as CSV; a spreadsheet may have {SHEET_UNPACKED}",
        )


def lines(sheet: Any, place: str) -> Iterator[list[Any]]:
    """Yield the rows of a sheet from the head of the table on, empty ones left out."""
    first: list[Any] | None = None
    begun = False
    try:
        for cells in sheet.iter_rows(values_only=True, max_col=LISTING_COLUMNS.most):
            values = [_value(each) for each in cells]
            while values and values[-1] is None:
                values.pop()
            if not values:
                continue
            if not begun and len([each for each in values if each is not None]) < 2:
                first = first or values
                continue
            begun = True
            yield values
    except (BadZipFile, KeyError, ValueError, OSError, TypeError) as error:
        raise UnreadableInput(place, "is damaged; not all of its rows can be read") from error
    if not begun and first is not None:
        yield first


def _value(value: Any) -> Any:
    """Return a cell as plain data; nothing for an empty one and for one that holds an error."""
    if isinstance(value, str):
        text = value.strip()
        return None if not text or text in _ERRORS else value
    if isinstance(value, datetime) and value.time() == time():
        value = value.date()
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, timedelta):
        return str(value)
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return int(value)
    return value


def in_chunks(rows: Iterator[list[Any]], sizes: Iterator[int], total: int | None) -> Iterator[Any]:
    """Yield rows as lines of JSON, in chunks, each with the part of the sheet's rows that it holds."""
    held: list[bytes] = []
    size, most = 0, next(sizes)
    for values in rows:
        line = json.dumps(values, ensure_ascii=False).encode(errors="replace") + b"\n"
        held.append(line)
        size += len(line)
        if len(held) == most or size >= LARGEST_CHUNK:
            yield held, len(held) / total if total else None
            held, size, most = [], 0, next(sizes)
    if held:
        yield held, len(held) / total if total else None


def read(raw: Sequence[bytes], names: Sequence[str]) -> Rows:
    """Return rows by column; a cell beyond the head makes its row unreadable."""
    columns: dict[str, list[Any]] = {name: [] for name in names}
    faults: list[str | None] = []
    for line in raw:
        cells, fault = _cells(line, len(names))
        faults.append(fault)
        for name, value in zip(names, cells, strict=True):
            columns[name].append(value)
    return Rows(columns, faults)


def _cells(line: bytes, width: int) -> tuple[list[Any], str | None]:
    if len(line) > LONGEST_ROW:
        return [None] * width, TOO_LONG
    cells = json.loads(line)
    if len(cells) > width:
        return [None] * width, f"the row has {len(cells)} cells where the header has {width}"
    fault = HOLDS_NUL if b"\\u0000" in line else None
    return cells + [None] * (width - len(cells)), fault
