"""The numbers of notes in a column of a table: "1" under "Note" refers to the note 1 below the table."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from registry.sheet_reader.lines import LEVELS, NOUNS, figure_quantities
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.vocabulary import meanings

_FEWEST_COLUMNS = 3
_LONGEST_HEAD = 40
_HEADS = frozenset({"h_item", "h_value", "h_unit", "h_note"}) | LEVELS
_NUMBERS = re.compile(r"\s*[(\[]?(?:1?\d|20)[)\].]?(?:\s*[,;&+/]\s*[(\[]?(?:1?\d|20)[)\].]?)*\s*")
"""Numbers of notes and nothing else; a table has no more than twenty of them."""


def notes_by_name(document: Document) -> Document:
    """Return a document in which the numbers of notes in a column of notes stand as "note 1"."""
    return replace(document, rows=tuple(_rows(document)))


def _rows(document: Document) -> Iterator[Row]:
    head: Row | None = None
    for row in document.rows:
        if _heads_notes(row):
            head = row
        elif head is not None and row.ruled == head.ruled and _fits(row, head):
            row = _named(row, head)
        yield row


def _fits(row: Row, head: Row) -> bool:
    return not row.ruled or len(row.cells) == len(head.cells)


def _heads_notes(row: Row) -> bool:
    """Whether a row heads the columns of a table, one of which is of notes and of nothing else."""
    filled = row.filled
    if len(filled) < _FEWEST_COLUMNS or any(len(cell.text) > _LONGEST_HEAD for cell in filled):
        return False
    texts = [normal(cell.text) for cell in filled]
    if any(figure_quantities(text) for text in texts):
        return False
    told = [meanings(text) & _HEADS for text in texts]
    return sum(map(bool, told)) > 1 and any(each == {"h_note"} for each in told[1:])


def _named(row: Row, head: Row) -> Row:
    cells = [
        replace(cell, text=" ".join(f"note {number}" for number in re.findall(r"\d+", cell.text)))
        if at and _NUMBERS.fullmatch(cell.text) and _is_under_notes(cell, row, head)
        else cell
        for at, cell in enumerate(row.cells)
    ]
    return row if cells == [*row.cells] else replace(row, cells=tuple(cells))


def _is_under_notes(cell: Cell, row: Row, head: Row) -> bool:
    if row.ruled:
        over = head.cells[row.cells.index(cell)]
    else:
        middle = (cell.left + cell.right) / 2
        over = min(head.filled, key=lambda each: abs((each.left + each.right) / 2 - middle))
    said = meanings(normal(over.text))
    return said & _HEADS == {"h_note"} and not said & NOUNS
