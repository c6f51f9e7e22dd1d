"""Plain text and CSV as rows of cells, and the encodings they come in."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from registry.errors import UnreadableFile
from registry.sheet_reader.files.blocks import Line, parted
from registry.sheet_reader.files.paragraphs import with_paragraphs
from registry.sheet_reader.rows import Cell, Document, Row
from registry.text_encoding import encoding_of

LONGEST_LINE = 4000
MOST_ROWS = 20_000
DEEP_INDENT = 10
"""A line of a text that begins this far in leaves its label to the line above."""
_WIDE_GAP = 5
"""So many blanks may part two blocks that stand side by side."""
_BARS = re.compile(r"\s*[|\t│┃]\s*")
_GAPS = re.compile(r"\s{2,}|\s*(?:\.\s?|…|·|_){4,}\s*|(?:^|\s)\s*-{4,}\s*")
_END = r"[-+−]?\d+(?:[.,]\d+)?\s?(?:°\s?C|℃)?"
_RANGE = re.compile(
    rf"(?i)(?<![\w.,]){_END}(?:\s*(?:\b(?:to|bis|à)\b|~|…|\.{{2,3}}|至|から)\s*|\s?[-–]\s+){_END}"
)
"""A range whose ends an aligned column may set apart, "10 to  45 °C"; a dash amid blanks is an empty column."""


def decoded(data: bytes, place: str) -> str:
    """Return the text of a file in whatever encoding it is (see `registry.text_encoding`).

    Raises
    ------
    UnreadableFile
        When the bytes are no text.
    """
    encoding = encoding_of(data)
    text = "" if encoding is None else data.decode(encoding, errors="replace")
    head = text[:20_000]
    odd = sum(1 for letter in head if ord(letter) < 32 and letter not in "\t\n\r\f\v\x1a")
    broken = head.count("\ufffd")
    if encoding is None or odd > len(head) // 200 or broken > len(head) // 20:
        raise UnreadableFile(
            place, "is not a text that can be read", "save it as UTF-8 text, CSV, .xlsx or PDF"
        )
    return text.removeprefix("\ufeff")


_MAIL = re.compile(r"(?:(?:From|To|Cc|Bcc|Reply-To|Sent|Date|Subject):[^\n]*\n){2,}")
"""The head of a mail as it is shown. Source: RFC 5322, 3.6."""
_QUOTED = re.compile(r"\s?>")
"""What begins a line of the mail that is answered. Source: RFC 3676, 4.5."""


def of_one_writer(text: str) -> tuple[str, str]:
    """Return a mail without its head, and what it quotes of the mail that it answers; any other text whole.

    Where the quote holds more numbers than the mail, the mail passes it on, and it is all one text.
    """
    head = _MAIL.match(text.lstrip("\ufeff\n"))
    if head is None:
        return text, ""
    # What it is about may name the cell.
    subject = re.findall(r"(?m)^Subject:(.*)", head[0])
    lines = [*subject, *text.lstrip("\ufeff\n")[head.end() :].splitlines()]
    quoted = [line for line in lines if _QUOTED.match(line)]
    own = [line for line in lines if not _QUOTED.match(line)]
    if sum(map(_has_number, quoted)) > sum(map(_has_number, own)):
        return "\n".join(re.sub(r"^\s?>\s?", "", line) for line in lines), ""
    return "\n".join(own), "\n".join(quoted)


def _has_number(line: str) -> bool:
    return re.search(r"\d", line) is not None


def rows_of_text(text: str) -> Document:
    """Return each line of a text as a row; bars and tabs make a table, wide gaps part the cells of others.

    What a mail quotes of another writer stands at the end, and is no statement of its own.
    """
    text, quoted = of_one_writer(text)
    document = _rows_of_lines_of(text)
    if not quoted:
        return document
    others = (replace(row, unowned=True) for row in _rows_of_lines_of(quoted).rows)
    return replace(document, rows=(*document.rows, *others))


def _rows_of_lines_of(text: str) -> Document:
    rows: list[Row] = []
    wide = _is_set_wide(text)
    pages = _with_brackets_closed(text).split("\f")
    for number, page in enumerate(pages, 1):
        shown = number if len(pages) > 1 else None
        plain: list[Line] = []
        for at, line in enumerate(page.splitlines()[:MOST_ROWS]):
            line = (
                line.rstrip()[:LONGEST_LINE].expandtabs(8)
                if _only_indents(line)
                else line.rstrip()[:LONGEST_LINE]
            )
            if re.fullmatch(r"[-:=+_*#|\s]*", line):
                plain += [Line(at, ())] if plain else []
            elif _BARS.search(line.strip()):
                rows += _rows_of_lines(plain, shown, _next(rows))
                plain = []
                rows.append(_barred(line.strip(), shown, _next(rows, table=True)))
            else:
                plain.append(Line(at, tuple(_pieces(line, wide=wide)), text=line.strip()))
        rows += _rows_of_lines(plain, shown, _next(rows))
    return Document(tuple(rows[:MOST_ROWS]), len(pages))


def _with_brackets_closed(text: str) -> str:
    """Return a text with a line that leaves a bracket open joined with the next one, where that closes it."""
    made: list[str] = []
    for line in text.split("\n"):
        above = made[-1] if made else ""
        opened = above.count("(") - above.count(")") == 1 and above.rfind("(") > above.rfind(")")
        closes = line.count(")") - line.count("(") == 1 and line.find(")") < (line + "(").find("(")
        plain = re.fullmatch(r"\s*[^\W\d_A-Z][^\t|]*", line) and not re.search(r"\S\s{2,}\S", line.rstrip())
        if opened and closes and plain and "|" not in above and "\t" not in above.strip():
            made[-1] = f"{above.rstrip()} {line.strip()}"
        else:
            made.append(line)
    return "\n".join(made)


def _only_indents(line: str) -> bool:
    return "\t" not in line.strip()


def _next(rows: list[Row], *, table: bool = False) -> int:
    """Return the number of the next block; rows of one table share theirs."""
    if not rows:
        return 0
    return rows[-1].block if table and rows[-1].ruled else rows[-1].block + 1


def _barred(line: str, page: int | None, block: int) -> Row:
    fields = _BARS.split(line)
    if line.startswith(("|", "│")) and line.endswith(("|", "│")) and len(fields) > 2:
        fields = fields[1:-1]
    cells = tuple(Cell(each.strip(), column) for column, each in enumerate(fields))
    return Row(cells, page, line, block, ruled=True)


def _is_set_wide(text: str) -> bool:
    """Whether the columns of a text stand one below the other where a letter of East Asia is as wide as two.

    Editors show them so; a program that pads by letters does not. Source: Unicode Standard Annex 11.
    """
    lines = [line.rstrip() for line in text.splitlines()[:MOST_ROWS] if "\t" not in line]
    if not any(_width(line) > len(line) for line in lines):
        return False
    starts = [
        {cell.left for line in lines for cell in list(_pieces(line[:LONGEST_LINE], wide=wide))[1:]}
        for wide in (False, True)
    ]
    return len(starts[1]) < len(starts[0])


def _width(text: str) -> int:
    return len(text) + sum(unicodedata.east_asian_width(letter) in "WF" for letter in text)


def _pieces(line: str, *, wide: bool = False) -> Iterator[Cell]:
    """Yield the pieces of a line that wide gaps and dotted leaders part, with their places in letters."""
    place = (lambda at: _width(line[:at])) if wide else (lambda at: at)
    at = len(line) - len(line.lstrip())
    if at >= DEEP_INDENT:
        # The label stands in a line above.
        yield Cell("", 0, 0, 0)
    begin = at
    ranges = [found.span() for found in _RANGE.finditer(line)]
    gaps = [
        gap
        for gap in _GAPS.finditer(line, at)
        if not any(low < gap.start() and gap.end() < high for low, high in ranges)
    ]
    for column, gap in enumerate([*gaps, None]):
        end = len(line) if gap is None else gap.start()
        text = line[begin:end].strip()
        if text:
            yield Cell(text, column, place(begin), place(end))
        begin = end if gap is None else gap.end()


def _rows_of_lines(lines: list[Line], page: int | None, first: int) -> list[Row]:
    """Return the rows of lines without bars; an empty line ends a run side by side."""
    whole = [line for line in lines if line.cells]
    filled = [Line(line.top, tuple(c for c in line.cells if c.text), text=line.text) for line in whole]
    indented = {line.top for line in whole if not line.cells[0].text}
    rows: list[Row] = []
    bound = [replace(line, cells=_bound(line)) for line in filled]
    printed = {
        id(b): c
        for one, line in zip(bound, filled, strict=True)
        for b, c in zip(one.cells, line.cells, strict=True)
    }
    for number, block in enumerate(parted(bound, _WIDE_GAP)):
        made = []
        margin = min(line.cells[0].left for line in block)
        for line in block:
            cells = tuple(printed[id(cell)] for cell in line.cells)
            if line.top in indented and line.cells[0].left >= margin + DEEP_INDENT:
                cells = (Cell("", 0, 0, 0), *cells)
            quote = line.text or "  ".join(cell.text for cell in line.cells)
            made.append(Row(cells, page, quote, first + number, aside=line.aside))
        rows += with_paragraphs(made)
    return rows


def _bound(line: Line) -> tuple[Cell, ...]:
    """Return the pieces of a line; one that dots lead on from reaches to the next: they are no two blocks."""
    at = 0
    made = []
    for cell, following in pairwise((*line.cells, Cell(""))):
        at = max(line.text.find(cell.text, at), 0) + len(cell.text)
        between = line.text[at : max(line.text.find(following.text, at), at)] if following.text else ""
        made.append(replace(cell, right=following.left) if between.strip() else cell)
    return tuple(made)


def rows_of_csv(text: str) -> Document:
    """Return the rows of a CSV text parted by commas, semicolons, tabs or bars."""
    sample = [line for line in text.splitlines()[:50] if line.strip()]
    separator = max(",;\t|", key=lambda sign: (sum(sign in line for line in sample), sign == ";"))
    # A decimal comma beside semicolons must not part cells.
    if sum(";" in line for line in sample) >= max(1, len(sample) // 2):
        separator = ";"
    lines = [line[:LONGEST_LINE] for line in text.splitlines()[:MOST_ROWS]]
    rows = []
    try:
        for fields in csv.reader(io.StringIO("\n".join(lines)), delimiter=separator):
            cells = tuple(Cell(" ".join(each.split()), column) for column, each in enumerate(fields))
            if any(cell.text for cell in cells):
                quote = f" {separator} ".join(cell.text for cell in cells if cell.text)
                rows.append(Row(cells, None, quote, 0, ruled=True))
    except csv.Error:
        return rows_of_text(text)
    return Document(tuple(rows))
