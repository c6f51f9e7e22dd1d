"""A saved web page as rows of cells: its tables with merged cells, its term lists, and its lines of text."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from html.parser import HTMLParser

from registry.sheet_reader.files.text import LONGEST_LINE, MOST_ROWS, rows_of_text
from registry.sheet_reader.rows import Cell, Document, Row

MOST_SPAN = 60
_MOST_HEARD = 2000
_HIDDEN = frozenset({"script", "style", "template", "noscript", "svg", "nav", "select", "head"})
_LINES = frozenset({
    "p", "div", "li", "ul", "ol", "h1", "h2", "h3", "h4", "h5", "h6", "br", "section", "article", "header",
    "footer", "main", "caption", "dt", "dd", "dl", "pre", "blockquote", "figcaption", "hr", "form", "table",
    "body",
})  # fmt: skip
_LOOKS = re.compile(rb"<\s*(?:!doctype\s+html|html|body|table|div|dl|ul|tr)\b", re.I)

Field = tuple[str, int, int]
"""Text, rows and columns that a cell of a table takes."""


def looks_like_html(data: bytes) -> bool:
    """Whether the beginning of a file is that of a web page."""
    return bool(_LOOKS.search(data[:4000]))


def rows_of_html(text: str) -> Document:
    """Return the rows of a web page in their order; what is not shown there is left out."""
    reader = _Reader()
    reader.feed(text)
    reader.close()
    reader.end_line()
    return Document(
        tuple(reader.rows[:MOST_ROWS]), titles=tuple(reader.heard["title"] + reader.heard["h1"]),
        links=tuple(dict.fromkeys(reader.heard["a"])),
    )  # fmt: skip


class _Reader(HTMLParser):
    """Collects rows while a page is parsed; a table within a cell is read as a table of its own."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.rows: list[Row] = []
        self.hidden = 0
        self.aside = 0
        self.text: list[str] = []
        self.tables: list[list[list[Field]]] = []
        self.kept: list[list[str]] = []
        self.span = (1, 1)
        self.in_cell: list[bool] = []
        self.term = ""
        self.part = ""
        self.block = 0
        self.heard: dict[str, list[str]] = {"title": [], "h1": [], "a": []}
        """The texts of the title, the main headings and the links."""
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in self.heard and sum(map(len, self.heard.values())) < _MOST_HEARD:
            self.heard[tag].append("")
            self.open.append(tag)
        if tag in _HIDDEN:
            self.hidden += 1
        elif tag == "aside":
            self._break()
            self.aside += 1
        elif tag == "table":
            self._begin_table()
        elif tag == "tr" and self.tables:
            self._end_cell()
            self.tables[-1].append([])
        elif tag in {"td", "th"} and self.tables:
            self._begin_cell(dict(attrs))
        elif tag == "sup":
            self.text.append(" ^")
        elif tag in {"dt", "dd"} and not self._in_cell():
            self.end_line()
            self.part = tag
        elif tag in _LINES:
            self._break()

    def handle_endtag(self, tag: str) -> None:
        if tag in self.open:
            self.open.remove(tag)
        if tag in _HIDDEN:
            self.hidden = max(0, self.hidden - 1)
        elif tag == "aside":
            self._break()
            self.aside = max(0, self.aside - 1)
        elif tag in {"td", "th", "tr"}:
            self._end_cell()
        elif tag == "table" and self.tables:
            self._end_table()
        elif tag == "sup":
            self.text.append(" ")
        elif tag in _LINES:
            self._break()

    def handle_data(self, data: str) -> None:
        for tag in self.open:
            self.heard[tag][-1] = " ".join(f"{self.heard[tag][-1]} {data}".split())[:LONGEST_LINE]
        if not self.hidden and sum(map(len, self.text[-50:])) < LONGEST_LINE * 50:
            self.text.append(data)

    def _in_cell(self) -> bool:
        return bool(self.in_cell) and self.in_cell[-1]

    def _break(self) -> None:
        if self._in_cell():
            self.text.append("\n")
        else:
            self.end_line()

    def _taken(self) -> str:
        text = " ".join("".join(self.text).split())[:LONGEST_LINE]
        self.text.clear()
        return _marked(text)

    def _keep(self, rows: Iterable[Row]) -> None:
        """Keep rows; what stands aside from the page's own text is no statement of it (HTML, ``aside``)."""
        self.rows += [replace(row, unowned=True) if self.aside else row for row in rows]

    def end_line(self) -> None:
        """Take what was gathered outside of tables as lines of text."""
        if self._in_cell():
            return
        raw = "".join(self.text)
        text, part = self._taken(), self.part
        if not text:
            return
        self.part = ""
        if part == "dt":
            self.term = text
        elif part == "dd" and self.term:
            cells = (Cell(self.term, 0), Cell(text, 1))
            self._keep([Row(cells, None, f"{self.term}  {text}", self.block, ruled=True)])
        elif "\n" in raw.strip() and re.search(r"\S {2,}\S|\t", raw):
            # Lines set with blanks, as in <pre>.
            read = rows_of_text(raw).rows
            self._keep(Row(r.cells, None, r.quote, self.block + r.block, r.ruled) for r in read)
        else:
            self._keep([Row((Cell(text),), None, text, self.block)])

    def _begin_table(self) -> None:
        self.kept.append(self.text)
        self.text = []
        self.tables.append([])
        self.in_cell.append(False)

    def _begin_cell(self, attrs: dict[str, str | None]) -> None:
        self._end_cell()
        if not self.tables[-1]:
            self.tables[-1].append([])
        self.text = []
        self.span = (_span(attrs.get("rowspan")), _span(attrs.get("colspan")))
        self.in_cell[-1] = True

    def _end_cell(self) -> None:
        if not self.tables or not self.in_cell[-1]:
            return
        lines = (" ".join(line.split()) for line in "".join(self.text).split("\n"))
        text = "\n".join(line for line in lines if line)[:LONGEST_LINE]
        self.tables[-1][-1].append((_marked(text), *self.span))
        self.text = []
        self.in_cell[-1] = False

    def _end_table(self) -> None:
        self._end_cell()
        self.block += 1
        self._keep(table_rows(self.tables.pop(), self.block))
        self.block += 1
        self.in_cell.pop()
        self.text = self.kept.pop()


def _span(text: str | None) -> int:
    return min(MOST_SPAN, int(text)) if text and text.isascii() and text.isdigit() and int(text) > 0 else 1


def _marked(text: str) -> str:
    """Return a text with its raised letters as footnote marks in brackets; ``^`` is what stood for them."""
    text = re.sub(r"\s?\^\s?[(\[]?([\w*†‡]{1,2})[)\]]?\s*", r" (\1) ", text)
    return text.replace("^", "").strip()


def table_rows(fields: Iterable[Iterable[Field]], block: int) -> list[Row]:
    """Return the rows of a table whose cells may take several places; a text stands in all of its places."""
    rows: list[Row] = []
    above: dict[int, tuple[str, int]] = {}
    for row in fields:
        cells, above = _placed(row, above)
        said = "  ".join(" ".join(cell.text.split()) for cell in cells if cell.text and not cell.carried)
        if said:
            rows.append(Row(tuple(cells), None, said, block, ruled=True))
    return rows


def _placed(
    row: Iterable[Field], above: dict[int, tuple[str, int]]
) -> tuple[list[Cell], dict[int, tuple[str, int]]]:
    """Return the cells of a row, those that reach down from rows above among them, and what reaches on down.

    ``above`` holds by column the text of each such cell and how many rows more it takes.
    """
    cells: list[Cell] = []
    below: dict[int, tuple[str, int]] = {}
    left = list(row)
    while left or len(cells) in above:
        if len(cells) in above:
            text, more = above[len(cells)]
            if more > 1:
                below[len(cells)] = (text, more - 1)
            cells.append(Cell(text, len(cells), carried=True))
            continue
        text, down, across = left.pop(0)
        for number in range(across):
            if down > 1:
                below[len(cells)] = (text, down - 1)
            cells.append(Cell(text, len(cells), carried=number > 0))
    return cells, below
