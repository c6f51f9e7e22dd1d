"""Tables with the models down their side: one row a model, several rows a model, or models that take turns.

Each model gets the rows that name it, as a table without the column of models. A row that names none is of
the model above it only where the list is plainly grouped; where models take turns it is of nobody, and what it
states is not said to be missing either.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from registry.sheet_reader.lines import NOUNS, QUALIFIERS, figure_quantities
from registry.sheet_reader.names import clean_name, codes, looks_like_a_model
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.tables import same_table
from registry.sheet_reader.units_at_values import parted_head, with_unit
from registry.sheet_reader.vocabulary import meanings

_TELLING = NOUNS | {"charge", "discharge", "pulse"}
_FEWEST_COLUMNS = 3


@dataclass(frozen=True, slots=True)
class _Table:
    """Where a table with a column of models stands: its head, its rows, and the model that each row is of."""

    start: int
    first: int
    """The place of its first row behind the heads."""
    end: int
    head: Row
    column: int
    """The place of the models in a row."""
    names: tuple[str, ...]
    """The model of each row behind the head; empty where none can be told."""
    figures_down: bool
    """Whether each row holds one figure, and not one column a figure."""


def models_by_row(document: Document) -> list[tuple[str, Document]]:
    """Return each model of tables with a column of models, with its rows; none where there is no such table.

    What stands outside of these tables is of every model, but for rows that name another one.
    """
    tables = list(_tables(document.rows))
    names = list(dict.fromkeys(name for table in tables for name in table.names if name))
    if not names:
        return []
    inside = {at for table in tables for at in range(table.start, table.end)}
    made = []
    for name in names:
        others = [other for other in names if other != name and other not in name]
        rows: list[Row] = []
        for at, row in enumerate(document.rows):
            table = next((each for each in tables if each.start == at), None)
            if table is not None:
                rows += _rows_of(document.rows, table, name)
            elif at not in inside and not any(other in row.quote for other in others):
                rows.append(row)
        made.append((name, replace(document, rows=tuple(rows))))
    return made


def _tables(rows: Sequence[Row]) -> Iterator[_Table]:
    at = 0
    while at < len(rows):
        table = _table(rows, at)
        if table is not None:
            yield table
        at = at + 1 if table is None else table.end


def _table(rows: Sequence[Row], at: int) -> _Table | None:
    """Return the table that a row heads, if one of its columns names models."""
    head = rows[at]
    if not head.ruled or len(head.filled) < _FEWEST_COLUMNS - 1 or len(head.cells) < _FEWEST_COLUMNS:
        return None
    if any(
        figure_quantities(normal(re.sub(r"\([^)]*\)", "", cell.text))) == ["charge"] for cell in head.filled
    ):
        return None
    first = at + 1
    while first < len(rows) and _is_lower_head(head, rows[first]):
        head = _with_lower_head(head, rows[first])
        first += 1
    end = first
    while end < len(rows) and same_table(head, rows[end]) and len(rows[end].filled) > 1:
        end += 1
    body = rows[first:end]
    for column, cell in enumerate(head.cells):
        named = "model" in meanings(cell.text) or re.fullmatch(
            r"(?i)cells?|zelle|celda|cellule|电芯", cell.text
        )
        if not (named or (column == 0 and not NOUNS & meanings(cell.text))):
            continue
        names = _names(body, column, titled=bool(named))
        if names is None:
            continue
        figures_down = _figures_down(body, column)
        if figures_down or _heads_figures(head, column):
            return _Table(at, first, end, head, column, names, figures_down)
    return None


def _is_lower_head(head: Row, row: Row) -> bool:
    """Whether a row below a head says more of its columns: words in each of its cells and no number at the front."""
    texts = [cell.text for cell in row.filled if not cell.carried]
    return same_table(head, row) and len(texts) > 1 and all(
        not re.match(r"[-+−≤≥<>~±]?\s?\d", text) and meanings(text) & (_TELLING | QUALIFIERS) for text in texts
    )  # fmt: skip


def _with_lower_head(head: Row, row: Row) -> Row:
    cells = tuple(
        above
        if not cell.text or cell.text == above.text
        else replace(above, text=f"{above.text} {cell.text}".strip())
        for above, cell in zip(head.cells, row.cells, strict=True)
    )
    return replace(head, cells=cells)


def _names(body: Sequence[Row], column: int, *, titled: bool) -> tuple[str, ...] | None:
    """Return the model of each row, or ``None`` where the column does not hold models."""
    texts = [row.cells[column].text for row in body]
    filled = [text for text in texts if text]
    named = [text for text in filled if looks_like_a_model(text) and not NOUNS & meanings(text)]
    several = {clean_name(text) or text for text in named}
    if not named or len(named) < (0.6 if titled else 1) * len(filled):
        return None
    if not titled and (len(several) < 2 or not all(codes(text) for text in named)):
        return None
    # A word such as "both" in a column of models names none of them.
    names = [(clean_name(text) or text) if text in named else "" for text in texts]
    runs = [name for name, before in zip(names, ["", *names], strict=False) if name and name != before]
    grouped = len(runs) == len(several) and len(named) < len(body) and len(filled) == len(named)
    told: list[str] = []
    for name in names:
        told.append(name or (told[-1] if told and grouped else ""))
    return tuple(told)


def _figures_down(body: Sequence[Row], column: int) -> bool:
    """Whether nearly every row names its figure in a cell of its own."""
    naming = sum(
        any(
            _TELLING & meanings(cell.text) and not re.search(r"\d", cell.text)
            for at, cell in enumerate(row.cells)
            if at != column
        )
        for row in body
    )
    return naming > 0.6 * len(body)


def _heads_figures(head: Row, column: int) -> bool:
    """Whether the heads of the other columns name figures."""
    others = [cell for at, cell in enumerate(head.cells) if at != column and cell.text]
    telling = sum(bool(_TELLING & meanings(cell.text)) for cell in others)
    return telling >= max(2, len(others) // 2)


def _rows_of(rows: Sequence[Row], table: _Table, name: str) -> Iterator[Row]:
    """Yield the rows of one model of a table: a table of its own, or pairs of head and value."""
    body = list(zip(rows[table.first : table.end], table.names, strict=True))
    own = [row for row, of in body if of == name]
    yield from (replace(row, unowned=True) for row, of in body if not of)
    if table.figures_down or _is_of_temperatures(table):
        yield _without(table.head, table.column)
        yield from (_without(row, table.column) for row in own)
        return
    for row in own:
        for at, (top, cell) in enumerate(zip(table.head.cells, row.cells, strict=True)):
            if at != table.column and top.text and cell.text:
                words, unit = parted_head(top.text)
                value = with_unit(cell.text, unit)
                label = words if value != cell.text else top.text
                yield replace(row, cells=(Cell(label, 0), Cell(value, 1)))


def _is_of_temperatures(table: _Table) -> bool:
    """Whether a further column holds the temperatures at which each row holds."""
    said = [meanings(c.text) for at, c in enumerate(table.head.cells) if at != table.column and c.text]
    return any(
        "temperature" in each and not each & {"charge", "discharge", "storage", "operating"}
        for each in said[:1]
    )


def _without(row: Row, column: int) -> Row:
    cells = [cell for at, cell in enumerate(row.cells) if at != column]
    return replace(row, cells=tuple(replace(cell, column=at) for at, cell in enumerate(cells)))
