"""Lines and the cells of rows: the structure of a listing before any word of it is known."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field

_LINE = re.compile(r"[^\r\n\u2028\u2029]+")
_RULE = re.compile(r"[\s|:+\-–—=_]*")
_WIDE = re.compile(r"(?<=\S)(?:\s{3,}|\s{2,}(?=\S))(?=\S)")
_BULLET = re.compile(r"\s*(?:[-–—•*·>✔✅✓►▶●■◆★☆○◦‣]|[^\w\s]\ufe0f?)\s*")
_SEPARATORS = "\t|｜"
_FRAMES = ("|", "｜")
_SEMICOLON = re.compile(r";")
# Commas without a blank, outside of quotes; five cells at least, as prose has none.
_COMMA = re.compile(r',(?=[^\s])(?=(?:[^"\n]*"[^"\n]*")*[^"\n]*$)', re.M)
_WIDER = re.compile(r"(?<=\S) {3,}(?=\S)")
# One semicolon between a label and its value; sentences that it parts are longer.
_SEMICOLON_BETWEEN = re.compile(r"(?<=\S)\s*[;；]\s*(?=\S)")
_LONGEST_PAIR = 110
_FEWEST_PAIRS = 3
_FAR_IN = 8
_LEAST_COLUMNS = 3
_LEAST_OF_COMMAS = 5
_LONGEST_ROW = 4000


@dataclass(slots=True)
class Line:
    """A line with words, the cells of it where it is a row, and its place among the others."""

    number: int
    start: int
    end: int
    block: int
    indent: int
    bullet: bool
    cells: list[tuple[int, int]] = field(default_factory=list)
    table: int = -1

    @property
    def is_row(self) -> bool:
        """Whether the line is a row of a table."""
        return len(self.cells) > 1


def lines_of(text: str) -> list[Line]:
    """Return the lines that hold anything, in order.

    Parameters
    ----------
    text : str
        The listing. Rows are told by tabs, by ``|``, or by wide gaps that stand under one another.
    """
    lines: list[Line] = []
    block = last_end = 0
    for match in _LINE.finditer(text):
        found = match.group()
        if text.count("\n", last_end, match.start()) > 1 or not found.strip():
            block += 1
        last_end = match.end()
        if not found.strip() or (len(found) > 3 and _RULE.fullmatch(found)):
            continue
        start = match.start() + len(found) - len(found.lstrip(" "))
        bullet = _BULLET.match(found) is not None and not found.lstrip()[:1].isalnum()
        line = Line(len(lines), match.start(), match.end(), block, start - match.start(), bullet)
        line.cells = list(_cells(text, line))
        lines.append(line)
    # Cells between semicolons may be padded with blanks.
    _mark_apart(text, lines, _SEMICOLON)
    _mark_apart(text, lines, _WIDE)
    _mark_pairs(text, lines, _WIDER)
    _mark_pairs(text, lines, _SEMICOLON_BETWEEN)
    _mark_apart(text, lines, _COMMA)
    _mark_tables(lines)
    return lines


def _cells(text: str, line: Line) -> Iterator[tuple[int, int]]:
    """Yield the places of a row's cells; a line without a separator is one cell."""
    start, end = line.start, line.end
    found = text[start:end]
    framed = _is_framed(text, line)
    place = start + len(found) - len(found.lstrip()) + 1 if framed else start
    if found.rstrip().endswith(_FRAMES) and framed:
        end = start + len(found.rstrip()) - 1
    cut = place
    for index in range(place, end):
        if text[index] in _SEPARATORS:
            yield cut, index
            cut = index + 1
    yield cut, max(cut, end)


def _is_framed(text: str, line: Line) -> bool:
    """Return whether a row stands in a frame: a bar at both ends, or before its neighbour too.

    Else a bar at its beginning leaves the first cell empty.
    """
    found = text[line.start : line.end].strip()
    if not found.startswith(_FRAMES):
        return False
    above, below = (
        text[: line.start].rstrip().rpartition("\n")[2],
        text[line.end :].lstrip("\r\n").partition("\n")[0],
    )
    return found.endswith(_FRAMES) or any(each.lstrip().startswith(_FRAMES) for each in (above, below))


def _mark_apart(text: str, lines: list[Line], gap: re.Pattern[str]) -> None:
    """Take lines for rows whose parts stand apart by a sign, where the next or last line has as many."""
    parts: dict[int, list[tuple[int, int]]] = {}
    for line in lines:
        # To tell commas within quotes takes long in a long line, and no row of a table is so long.
        if line.is_row or (gap is _COMMA and line.end - line.start > _LONGEST_ROW):
            continue
        cuts = [match.span() for match in gap.finditer(text, line.start + line.indent, line.end)]
        least = _LEAST_OF_COMMAS if gap is _COMMA else _LEAST_COLUMNS
        # A head may lack its first cell, see below.
        if len(cuts) >= least - 1 - (gap is _WIDE and line.indent >= _FAR_IN):
            starts = [line.start, *(end for _, end in cuts)]
            parts[line.number] = list(zip(starts, [*(start for start, _ in cuts), line.end], strict=True))
    _add_empty_first(lines, parts)
    for number, cells in parts.items():
        beside = any(len(parts.get(other, ())) == len(cells) for other in (number - 1, number + 1))
        if beside and len(cells) >= _LEAST_COLUMNS:
            lines[number].cells = cells


def _mark_pairs(text: str, lines: list[Line], gap: re.Pattern[str]) -> None:
    """Take lines for rows of two cells, where several that follow one another have one gap each."""
    going: list[tuple[Line, tuple[int, int]]] = []
    for line in [*lines, None]:
        gaps = (
            []
            if line is None or line.is_row or (gap is _SEMICOLON_BETWEEN and _is_long(line))
            else list(gap.finditer(text, line.start + line.indent, line.end))
        )
        if line is not None and len(gaps) == 1 and not (going and line.block != going[-1][0].block):
            going.append((line, gaps[0].span()))
            continue
        if len(going) >= _FEWEST_PAIRS:
            for row, (start, end) in going:
                row.cells = [(row.start, start), (end, row.end)]
        going = [(line, gaps[0].span())] if line is not None and len(gaps) == 1 else []


def _is_long(line: Line) -> bool:
    return line.end - line.start > _LONGEST_PAIR


def _add_empty_first(lines: list[Line], parts: dict[int, list[tuple[int, int]]]) -> None:
    """Give a head its empty first cell, where it stands far in above rows that have one cell more."""
    for number, cells in parts.items():
        below = parts.get(number + 1)
        far_in = lines[number].indent >= _FAR_IN
        if (
            below is not None
            and far_in
            and len(below) == len(cells) + 1
            and cells[0][0] == lines[number].start
        ):
            start = lines[number].start
            first = start + lines[number].indent
            parts[number] = [(start, start), (first, cells[0][1]), *cells[1:]]


def _mark_tables(lines: list[Line]) -> None:
    table = -1
    before: Line | None = None
    for line in lines:
        if not line.is_row:
            before = None
            continue
        joined = before is not None and before.number == line.number - 1
        if not joined or before is None or abs(len(before.cells) - len(line.cells)) > 1:
            table += 1
        line.table = table
        before = line


class Places:
    """Finds the line of a place in the text."""

    def __init__(self, lines: list[Line]) -> None:
        self.lines = lines
        self.starts = [line.start for line in lines]
        self.cells: dict[int, list[int]] = {}

    def line(self, place: int) -> int:
        """Return the number of the line that holds a place."""
        return max(0, bisect_right(self.starts, place) - 1)

    def cell(self, place: int) -> int:
        """Return the column of a place in its line."""
        number = self.line(place)
        if number not in self.cells:
            self.cells[number] = [start for start, _ in self.lines[number].cells]
        return max(0, bisect_right(self.cells[number], place) - 1)
