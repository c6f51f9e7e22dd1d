"""Tables of several models that lost their columns: copied one cell a line, or with one blank between the cells.

Only the order of the values tells which is of which model, so nothing of such a table is sure. A label with more
or fewer values than there are models is seen, and no figure is made of it: an empty cell leaves nothing behind.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from registry.sheet_reader.lines import (
    figure_places,
    figure_quantities,
    fitting_dimensions,
    is_band_only,
    label_and_value,
    without_item_number,
)
from registry.sheet_reader.names import codes
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.vocabulary import meanings

BY_ORDER = "which model it is of was told by the order of the lines alone"
_FEWEST_MODELS = 2
_MOST_MODELS = 8
_FEWEST_ROWS = 2
_MOST_WORDS = 3
"""Of a value with its unit, such as "-20 °C to 60 °C"."""
_EMPTY = re.compile(r"[-–—−/]+|n/?a", re.I)


def with_flattened_models(document: Document) -> Document:
    """Return a document whose lines of several models, one cell each, are a table with a column a model."""
    rows = document.rows
    for at in range(len(rows)):
        count = _names(rows, at)
        if count >= _FEWEST_MODELS:
            body = _body(rows[at + count :], count)
            if sum(len(row.filled) > count for row in body) >= _FEWEST_ROWS:
                head = replace(
                    rows[at], cells=_cells("Item", *(row.filled[0].text for row in rows[at : at + count])),
                    quote="  ".join(row.quote for row in rows[at : at + count]), ruled=True,
                )  # fmt: skip
                return replace(document, rows=(*rows[:at], head, *body), unsure=document.unsure or BY_ORDER)
            return document
    return _with_spaced_models(document)


def _with_spaced_models(document: Document) -> Document:
    """Return a document whose lines hold a label and a value a model, below a line that names them, as a table."""
    rows = document.rows
    for at, row in enumerate(rows):
        named = list(dict.fromkeys(codes(_alone(row)))) if _alone(row) else []
        if len(named) < _FEWEST_MODELS:
            continue
        parted = [_parted(each, len(named)) for each in rows[at + 1 :]]
        whole = [place for place, texts in enumerate(parted) if texts]
        if len(whole) < _FEWEST_ROWS + 1:
            return document
        last = whole[-1] + 1
        body = [
            replace(each, cells=_cells(*texts), ruled=True) if texts else
            replace(each, cells=_cells(_alone(each), *[""] * len(named)), ruled=True, unowned=_holds_value(each))
            for each, texts in zip(rows[at + 1 : at + 1 + last], parted, strict=False)
        ]  # fmt: skip
        head = replace(row, cells=_cells("Item", *named), ruled=True)
        return replace(
            document,
            rows=(*rows[:at], head, *body, *rows[at + 1 + last :]),
            unsure=document.unsure or BY_ORDER,
        )
    return document


def _holds_value(row: Row) -> bool:
    return bool(figure_quantities(normal(row.quote)))


def _parted(row: Row, count: int) -> tuple[str, ...]:
    """Return the label of a line and its values, one a model, all in one unit; empty for any other line."""
    text = without_item_number(normal(_alone(row)))
    places = [start for start, _ in figure_places(text)]
    first = places[-count] if len(places) >= count else 0
    label = text[:first].strip(" ≤≥<>~±")
    if not label or len(places) > count + is_band_only(label):
        return ()
    ends = [*places[-count:], len(text)]
    values = [text[begin:end].strip() for begin, end in pairwise(ends)]
    dims = {tuple(figure_quantities(each)) for each in values}
    bare = all(
        len(re.findall(r"[^\W\d_]+", each)) <= _MOST_WORDS and not re.search(r"[/;,]", each)
        for each in values
    )
    named = bool(fitting_dimensions(label)) or is_band_only(label)
    return (label, *values) if len(dims) == 1 and bare and named else ()


def _alone(row: Row) -> str:
    return row.filled[0].text.strip() if len(row.filled) == 1 and not row.ruled else ""


def _names(rows: Sequence[Row], at: int) -> int:
    """Return how many lines from here on are the name of another model each, and nothing else."""
    seen: list[str] = []
    for row in rows[at : at + _MOST_MODELS]:
        text = _alone(row)
        if not text or text in seen or codes(text) != [text]:
            break
        seen.append(text)
    return len(seen)


def _body(rows: Sequence[Row], count: int) -> list[Row]:
    """Return lines as rows; a label with a value a model below it is one of the table.

    What stands behind the last values is no part of the table.
    """
    made: list[Row] = []
    label = ""
    at = last = size = 0
    while at < len(rows):
        own = normal(_alone(rows[at]))
        label = own if _is_label(own, label) else label
        end = at + 1
        while end < len(rows) and _is_value(rows[end], fitting_dimensions(label)):
            end += 1
        lines = rows[at:end]
        texts = ["" if _EMPTY.fullmatch(_alone(row)) else _alone(row) for row in lines]
        plain = bool(own) and (is_band_only(own) or not label_and_value(own)[1])
        whole, told = plain and len(lines) == count + 1, plain and len(lines) == 1
        cells = _cells(*(texts if whole else [" ".join(texts), *[""] * count]))
        quote = " ... ".join(row.quote for row in lines)
        made.append(replace(lines[0], cells=cells, quote=quote, ruled=True, unowned=not (whole or told)))
        at = end
        if len(lines) > 1:
            last, size = at, len(made)
    return [*made[:size], *rows[last:]]


def _is_label(text: str, above: str) -> bool:
    """Whether a line is a label of its own; "Charge" below "Operating temperature" is a part of that."""
    fitting = fitting_dimensions(text)
    part = fitting_dimensions(above) == {"temperature"} and meanings(text) <= {"charge", "discharge"}
    return bool(fitting) and not part and not is_band_only(text)


def _is_value(row: Row, fitting: frozenset[str]) -> bool:
    """Whether a line is a value and nothing else; temperatures below a current are a sub-item."""
    text = normal(_alone(row))
    if not text or is_band_only(text):
        return bool(text) and fitting == {"temperature"}
    return bool(_EMPTY.fullmatch(text)) or (bool(figure_quantities(text)) and not label_and_value(text)[0])


def _cells(*texts: str) -> tuple[Cell, ...]:
    return tuple(Cell(text, column) for column, text in enumerate(texts))
