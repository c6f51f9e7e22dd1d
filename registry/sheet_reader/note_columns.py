"""The numbers of notes in a column of a table: "1" under "Note" refers to the note 1 below the table."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from registry.sheet_reader.footnotes import HEADS_NOTES
from registry.sheet_reader.lines import LEVELS, NOUNS, figure_quantities
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.tables import same_table
from registry.sheet_reader.vocabulary import meanings

_FEWEST_COLUMNS = 3
_LONGEST_HEAD = 40
_HEADS = frozenset({"h_item", "h_value", "h_unit", "h_note"}) | LEVELS
_NOTE = re.compile(r"\s*[(\[]?(\d{1,2})(?:[)\]:]{1,2}\s*(?=\S)|\.?\s+(?=[^\W\d_]))")
_FEWEST_MARKS = 2
_NUMBERS = re.compile(r"\s*[(\[]?(?:1?\d|20)[)\].]?(?:\s*[,;&+/]\s*[(\[]?(?:1?\d|20)[)\].]?)*\s*")
"""Numbers of notes and nothing else; a table has no more than twenty of them."""


def notes_by_name(document: Document) -> Document:
    """Return a document in which the numbers of notes in a column of notes stand as "note 1"."""
    return replace(document, rows=tuple(_rows(document)))


def _rows(document: Document) -> Iterator[Row]:
    head: Row | None = None
    explained = {
        found[1] for row in document.rows if (found := _NOTE.match(row.quote)) and len(row.filled) < 3
    }
    unheaded = _unheaded(document.rows, explained)
    for at, row in enumerate(document.rows):
        if at in unheaded:
            yield _with_marks(row, unheaded[at])
            continue
        if _heads_notes(row):
            head = row
        elif head is not None and row.ruled == head.ruled and _fits(row, head):
            row = _named(row, head, explained)
        yield row


def _unheaded(rows: Sequence[Row], explained: set[str]) -> dict[int, int]:
    """Return the last column of tables that holds nothing but numbers of notes, by the places of its rows.

    What heads such a column may be any word; its numbers are those that lines of the document begin with.
    """
    found: dict[int, int] = {}
    at = 0
    while at < len(rows):
        end = at + 1
        while end < len(rows) and same_table(rows[at], rows[end]):
            end += 1
        body = [row for row in rows[at + 1 : end] if len(row.filled) > 1]
        last = max((row.cells.index(row.filled[-1]) for row in body), default=0)
        held = [row.cells[last].text for row in body if row.cells[last].text]
        numbers = {number for text in held for number in re.findall(r"\d+", text)}
        if (
            last
            and len(held) >= _FEWEST_MARKS
            and all(map(_NUMBERS.fullmatch, held))
            and numbers <= explained
        ):
            found |= dict.fromkeys(range(at + 1, end), last)
        at = end
    return found


def _with_marks(row: Row, column: int) -> Row:
    cell = row.cells[column]
    named = " ; ".join(f"note {number}" for number in re.findall(r"\d+", cell.text))
    if not named or len(row.filled) < _FEWEST_COLUMNS - 1:
        return row
    return replace(row, cells=(*row.cells[:column], replace(cell, text=named), *row.cells[column + 1 :]))


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


def _named(row: Row, head: Row, explained: set[str]) -> Row:
    cells = list(row.cells)
    for at, cell in enumerate(row.cells):
        numbers = re.findall(r"\d+", cell.text) if at and _NUMBERS.fullmatch(cell.text) else []
        if numbers and _is_under_notes(cell, row, head, known=explained >= {*numbers}):
            cells[at] = replace(cell, text=" ; ".join(f"note {number}" for number in numbers))
    return replace(row, cells=tuple(cells))


def _is_under_notes(cell: Cell, row: Row, head: Row, *, known: bool) -> bool:
    """Whether a cell lies under the head of the notes; under "Condition" a number may be one by itself."""
    if row.ruled:
        over = head.cells[row.cells.index(cell)]
    else:
        middle = (cell.left + cell.right) / 2
        over = min(head.filled, key=lambda each: abs((each.left + each.right) / 2 - middle))
    said = meanings(normal(over.text))
    # "Condition (s)" heads seconds.
    if said & _HEADS != {"h_note"} or said & NOUNS or re.search(r"[(\[]", over.text):
        return False
    return known or HEADS_NOTES.fullmatch(over.text) is not None
