"""Reading CSV (RFC 4180) with any usual separator: finding where each row ends, and what its cells are.

Own code, because one quotation mark too many makes the readers of pandas, Arrow and the standard library take
everything up to the next one for a single cell, or drop the row. Here such a row is at fault alone, and the
rows that it would have swallowed are read as rows.
"""

from __future__ import annotations

import csv
import re
import threading
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from functools import cache

from verifier.screening.rows import HOLDS_NUL, LONGEST_ROW, TOO_LONG, Lines, Rows

COMMA = ","
SEPARATORS = (COMMA, ";", "\t", "|")
_REST_OF_CELL = re.compile(rb'[^"]*+(?:""[^"]*+)*+("?)')
_WHOLE_LINE, _GOES_ON, _BROKEN = range(3)
_LIMIT = threading.Lock()


@cache
def _whole(separator: bytes) -> re.Pattern[bytes]:
    """Return what matches a line that is a row by itself."""
    mark = re.escape(separator)
    cell = rb'(?:"[^"]*+(?:""[^"]*+)*+"|[^"' + mark + rb"\r\n]*+)"
    return re.compile(cell + rb"(?:" + mark + cell + rb")*+\r?\n?")


def separator_of(header: bytes) -> str:
    """Return what divides the cells of a header: of the usual separators the one that stands in it most."""
    bare = re.sub(rb'"[^"]*"', b"", header).decode(errors="replace")
    counts = {each: bare.count(each) for each in SEPARATORS}
    best = max(SEPARATORS, key=lambda each: counts[each])
    return best if counts[best] else COMMA


class Records:
    """The rows of a CSV file as bytes, the header first. Empty lines are no rows.

    ``cells`` is how many a row has, to be set once the header is known.
    """

    def __init__(self, lines: Lines, separator: str = COMMA) -> None:
        self.cells: int | None = None
        self._separator = separator
        self._mark = separator.encode()
        self._lines = lines
        self._again: deque[bytes] = deque()

    def __iter__(self) -> Iterator[bytes]:
        while line := self._next():
            if b'"' not in line or len(line) > LONGEST_ROW or _whole(self._mark).fullmatch(line):
                if not _is_blank(line):
                    yield line
            else:
                yield from self._over_lines(line)

    def _next(self) -> bytes:
        return self._again.popleft() if self._again else self._lines.next()

    def _over_lines(self, line: bytes) -> Iterator[bytes]:
        """Yield the row that begins on a line with a quotation mark, with the lines over which it goes on."""
        taken, size, state = [line], len(line), _state(line, self._mark, inside=False)
        while state == _GOES_ON and size <= LONGEST_ROW and (following := self._next()):
            taken.append(following)
            size += len(following)
            state = _state(following, self._mark, inside=True)
        record = b"".join(taken)
        if len(taken) == 1 or (state == _WHOLE_LINE and not self._swallowed_rows(record, taken)):
            yield record
            return
        # The quotation mark on the first line began no cell. What followed are rows of their own; only on the
        # last of them a cell over several lines may begin.
        self._again.appendleft(taken.pop())
        yield from (each for each in taken if not _is_blank(each))

    def _swallowed_rows(self, record: bytes, taken: Sequence[bytes]) -> bool:
        if self.cells is None or len(cells_of(record, self._separator)[0]) == self.cells:
            return False
        return any(b'"' not in each and each.count(self._mark) == self.cells - 1 for each in taken[1:])


def _is_blank(line: bytes) -> bool:
    return not line.strip(b"\r\n")


def _state(line: bytes, mark: bytes, *, inside: bool) -> int:
    """Return whether a row ends with this line, goes on in the next, or cannot be a row."""
    at = 0
    while True:
        if inside:
            found = _REST_OF_CELL.match(line, at)
            at = found.end() if found else at
            if not (found and found[1]):
                return _GOES_ON
            if not line.startswith(mark, at):
                return _WHOLE_LINE if _is_blank(line[at:]) else _BROKEN
            at += 1
        inside = line.startswith(b'"', at)
        if inside:
            at += 1
        elif (comma := line.find(mark, at)) < 0:
            return _WHOLE_LINE
        else:
            at = comma + 1


def cells_of(record: bytes, separator: str = COMMA) -> tuple[list[str], str | None]:
    """Return the cells of a row, and what makes it unreadable."""
    if len(record) > LONGEST_ROW:
        return [], TOO_LONG
    try:
        text, fault = record.decode(), None
    except UnicodeDecodeError as error:
        text, fault = record.decode(errors="replace"), f"byte {error.start + 1} of the row is not UTF-8"
    if "\0" in text:
        text, fault = text.replace("\0", "\N{REPLACEMENT CHARACTER}"), fault or HOLDS_NUL
    try:
        (cells,) = _parsed([text], separator)
    except (csv.Error, ValueError):
        quoted = "a quotation mark is not closed, or text follows a closing one"
        return [], fault or (quoted if '"' in text else "a carriage return stands in the row")
    return cells, fault


def _parsed(texts: Iterable[str], separator: str) -> list[list[str]]:
    """Return the cells of texts; each is to be one row, and a line end outside of quotes is refused."""
    # The library has one limit for the whole process, which others rely on too.
    with _LIMIT:
        usual = csv.field_size_limit(LONGEST_ROW)
        try:
            return list(csv.reader(texts, delimiter=separator, strict=True))
        finally:
            csv.field_size_limit(usual)


def read(records: Sequence[bytes], names: Sequence[str], separator: str = COMMA) -> Rows:
    """Return rows by column; what cannot be read of a row is None."""
    rows: Sequence[Sequence[str | None]] | None = _sound(records, len(names), separator)
    faults: list[str | None] = [None] * len(records)
    if rows is None:
        rows, faults = _one_by_one(records, len(names), separator)
    columns = zip(*rows, strict=True)
    return Rows({name: list(cells) for name, cells in zip(names, columns, strict=True)}, faults)


def _sound(records: Sequence[bytes], width: int, separator: str) -> list[list[str]] | None:
    """Return the rows when nothing is wrong with any of them, which is quick to see."""
    try:
        rows = _parsed(map(bytes.decode, records), separator)
    except (csv.Error, UnicodeDecodeError):
        return None
    # A row that took another with it would leave fewer of them.
    sound = len(rows) == len(records) and all(len(row) == width for row in rows)
    return rows if sound and not any(b"\0" in each or len(each) > LONGEST_ROW for each in records) else None


def _one_by_one(
    records: Sequence[bytes], width: int, separator: str
) -> tuple[list[Sequence[str | None]], list[str | None]]:
    rows: list[Sequence[str | None]] = []
    faults: list[str | None] = []
    for record in records:
        cells, fault = cells_of(record, separator)
        if len(cells) == width:
            rows.append(cells)
        elif fault is None and len(cells) == width - 1 > 1:
            # Many programs leave out what is empty at the end of a row.
            rows.append([*cells, ""])
        else:
            fault = fault or f"the row has {len(cells)} cells where the header has {width}"
            rows.append([None] * width)
        faults.append(fault)
    return rows, faults
