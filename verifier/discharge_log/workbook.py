"""A workbook's log written out as text divided by tabs, a row at a time."""

from __future__ import annotations

import datetime as dt
import zipfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from verifier.errors import UnreadableInput

_MOST_BYTES = 3_000_000_000
_MOST_SHARED_TEXT_BYTES = 150_000_000
_LOOK_ROWS = 400


def as_text(path: Path, target: Path, place: str) -> tuple[Path, tuple[str, ...]]:
    """Write the sheet with the log to a text file; return it and remarks on the sheets left out.

    The sheet with the most rows of figures is taken; sheets with the same headings go on where it ends.

    Raises
    ------
    UnreadableInput
        If it is no workbook, is too large, or has no sheet with figures.
    """
    _refuse_huge(path, place)
    from openpyxl import load_workbook

    try:
        book = load_workbook(path, read_only=True, data_only=True)
        sheets = [sheet for sheet in book.worksheets if hasattr(sheet, "iter_rows")]
        looks = {sheet.title: _look(sheet) for sheet in sheets}
        best = max(sheets, key=lambda sheet: looks[sheet.title][0], default=None)
        if best is None or not looks[best.title][0]:
            raise UnreadableInput(
                place, "has no sheet with rows of figures", "a log has time, voltage and current"
            )
        heading = looks[best.title][1]
        same = [each for each in sheets if each is best or (heading and looks[each.title][1] == heading)]
        with target.open("w", encoding="utf-8", newline="") as file:
            for number, sheet in enumerate(same):
                for row in _rows(sheet, skip_headings=number > 0):
                    file.write("\t".join(row) + "\n")
    except UnreadableInput:
        raise
    except Exception as error:
        raise UnreadableInput(
            place, "is a workbook that cannot be read", "save it again, or as CSV"
        ) from error
    left = [sheet.title for sheet in sheets if sheet not in same and looks[sheet.title][0]]
    remarks = [f"sheet '{best.title}' was read"] if len(sheets) > 1 else []
    if left:
        remarks.append(f"other sheets with figures were not read: {', '.join(left[:8])}")
    return target, tuple(remarks)


def _refuse_huge(path: Path, place: str) -> None:
    try:
        with zipfile.ZipFile(path) as archive:
            inside = archive.infolist()
            names = {each.filename for each in inside}
            if "xl/workbook.xml" not in names:
                raise UnreadableInput(place, "is an archive, not a workbook", "unpack it first")
            size = sum(each.file_size for each in inside)
            words = sum(each.file_size for each in inside if "sharedStrings" in each.filename)
    except zipfile.BadZipFile as error:
        raise UnreadableInput(
            place, "is a damaged archive or workbook", "save it again, or as CSV"
        ) from error
    if size > _MOST_BYTES or words > _MOST_SHARED_TEXT_BYTES:
        raise UnreadableInput(place, "is a workbook too large to read", "save the sheet with the log as CSV")


def _look(sheet: Any) -> tuple[int, tuple[str, ...]]:
    """Return how many rows of figures a sheet seems to have, and its row of headings."""
    figures = 0
    heading: tuple[str, ...] = ()
    for row in sheet.iter_rows(max_row=_LOOK_ROWS, values_only=True):
        numbers = sum(isinstance(each, (int, float, dt.datetime, dt.time)) for each in row)
        words = tuple(str(each).strip() for each in row if isinstance(each, str))
        if numbers >= 2:
            figures += 1
        elif not figures and len(words) >= 2:
            heading = words
    if figures == 0:
        # Some exports keep every number as text.
        figures = sum(
            sum(isinstance(each, str) and any(letter.isdigit() for letter in each) for each in row) >= 2
            for row in sheet.iter_rows(max_row=_LOOK_ROWS, values_only=True)
        )
    rows = sheet.max_row if isinstance(sheet.max_row, int) else _LOOK_ROWS
    return (figures * max(rows, 1) if figures > 2 else 0), heading


def _rows(sheet: Any, *, skip_headings: bool) -> Iterator[Sequence[str]]:
    begun = not skip_headings
    for row in sheet.iter_rows(values_only=True):
        if not begun and sum(isinstance(each, (int, float, dt.datetime)) for each in row) < 2:
            continue
        begun = True
        yield [_written(each) for each in row]


def _written(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, dt.datetime):
        return value.strftime("%Y-%m-%d %H:%M:%S.%f")
    if isinstance(value, dt.date):
        return value.strftime("%Y-%m-%d")
    if isinstance(value, dt.time):
        return value.strftime("%H:%M:%S.%f")
    if isinstance(value, dt.timedelta):
        seconds = value.total_seconds()
        return f"{int(seconds // 3600)}:{int(seconds % 3600 // 60):02d}:{seconds % 60:09.6f}"
    if isinstance(value, float):
        return repr(value)
    return " ".join(str(value).split())
