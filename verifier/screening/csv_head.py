"""Where a CSV table begins: what divides its cells, and what stands above its headings, such as a title."""

from __future__ import annotations

import re
from io import BytesIO
from itertools import islice

from verifier.screening import csv_rows
from verifier.screening.heading_names import is_own, uses_by_name
from verifier.screening.rows import Lines

# A sign or a tab, but not the quotation mark, which wraps cells.
_SEPARATOR_LINE = re.compile(rb"sep=([\t !#-/:-@\[-`{-~])\s*", re.I)
# How many lines are looked at; a price list has no longer preface. Common practice, no source.
_LOOKED_AT = 12
_FEWEST = 2
# How many rows below the headings are to have as many cells.
_ROWS = 2
_FIGURE = re.compile(r"[\W_]*[0-9]")


def begin(lines: Lines, separator: str | None) -> tuple[str, list[str]]:
    """Take what stands above the headings of a table; return what divides its cells, and the lines taken as text.

    As in a spreadsheet, the headings are the first row with at least two cells, where the rows below have as many.
    A table that does not clearly begin so begins with its first line.

    Parameters
    ----------
    lines : Lines
        At the start of the table; at its headings afterwards.
    separator : str, optional
        What divides the cells, where that is known.
    """
    _take_blank(lines)
    if separator is None and (told := _SEPARATOR_LINE.fullmatch(lines.ahead())):
        lines.next()
        separator = told[1].decode()
        _take_blank(lines)
    looked = lines.several_ahead(_LOOKED_AT)
    at = _head_in(looked, separator)
    taken = [lines.next() for _ in range(at)]
    found = separator or csv_rows.separator_of(lines.ahead())
    above = [" ".join(filter(None, map(str.strip, csv_rows.cells_of(each, found)[0]))) for each in taken]
    return found, [each for each in above if each]


def _take_blank(lines: Lines) -> None:
    while (line := lines.ahead()) and not line.strip(b"\r\n"):
        lines.next()


def _head_in(looked: list[bytes], told: str | None) -> int:
    """Return which of the first lines holds the headings; 0 where no other clearly does."""
    for at, line in enumerate(looked):
        separator = told or csv_rows.separator_of(line)
        if at and not all(_is_above(each, separator) for each in looked[:at]):
            return 0
        cells = [each.strip() for each in _cells(line, separator)]
        stated = [each for each in cells if each]
        if len(stated) < _FEWEST:
            continue
        rows = csv_rows.Records(Lines(BytesIO(b"".join(looked[at + 1 :])), ""), separator)
        below = [csv_rows.cells_of(each, separator)[0] for each in islice(rows, _ROWS)]
        agree = bool(below) and all(len(each) == len(cells) for each in below)
        names = len(set(stated)) == len(stated) and not any(map(_FIGURE.match, stated))
        if agree and names:
            return at
    return 0


def _is_above(line: bytes, separator: str) -> bool:
    """Return whether a line has one cell at most, and that is the heading of no column."""
    stated = [each.strip() for each in _cells(line, separator) if each.strip()]
    return len(stated) < _FEWEST and not any(
        uses_by_name(each) or (is_own(each) and len(each.split()) < _FEWEST) for each in stated
    )


def _cells(line: bytes, separator: str) -> list[str]:
    return csv_rows.cells_of(line.rstrip(b"\r\n") if b'"' not in line else line, separator)[0]
