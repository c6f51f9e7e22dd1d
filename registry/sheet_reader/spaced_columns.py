"""Tables whose cells are parted by one blank each, as a copied page gives them: "Capacity 4850 5000 - mAh".

Only a line of heads such as "Parameter Min. Typ. Max. Unit" tells how many columns there are. A line with a number
or a dash for each of them is a row; where some are left out, nothing tells which, and its figures are to be confirmed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice

from registry.sheet_reader.lines import LEVELS, figure_quantities
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Row
from registry.sheet_reader.units_at_values import unit_of
from registry.sheet_reader.vocabulary import meanings

_NOT_TOLD = "the table has several columns of values, and in which of them it stands is not told"
_FEWEST_LEVELS = 2
_FEWEST_ROWS = 2
_LONGEST_HEAD = 60
_NUMBER = re.compile(r"[≤≥<>~]?[-+−]?\d[\d.,]*(?:±[\d.,]+)?")
_EMPTY = re.compile(r"[-–—−/]+|n/?a", re.I)


@dataclass(frozen=True, slots=True)
class _Heads:
    """The heads of the values, and that of their unit where there is one."""

    item: str
    levels: tuple[str, ...]
    unit: str


def with_spaced_columns(rows: Sequence[Row]) -> list[Row]:
    """Return rows; lines below heads that one blank parts are rows of a table, each value below its head."""
    made: list[Row] = []
    at = 0
    while at < len(rows):
        heads = _heads_of(rows[at])
        body = [] if heads is None else _body(rows, at, heads)
        end = at + 1 + len(body)
        if heads is not None and sum(row.ruled for row in body) >= _FEWEST_ROWS:
            made += [_head_row(rows[at], heads), *body]
        else:
            made += rows[at:end]
        at = end
    return made


def _body(rows: Sequence[Row], at: int, heads: _Heads) -> list[Row]:
    """Return the lines below heads as rows; two lines one after the other that are none of them end the table."""
    body: list[Row] = []
    for row in islice(rows, at + 1, None):
        if not _goes_on(rows[at], row):
            break
        body.append(_told(row, heads))
        if len(body) > 1 and not any(each.ruled or each.doubt for each in body[-2:]):
            return body[:-2]
    return body


def _heads_of(row: Row) -> _Heads | None:
    """Return the heads that a line of one piece holds, or ``None``."""
    if row.ruled or len(row.filled) != 1 or len(row.quote) > _LONGEST_HEAD or re.search(r"\d", row.quote):
        return None
    words = row.filled[0].text.split()
    unit = words.pop() if words and "h_unit" in meanings(words[-1]) else ""
    levels: list[str] = []
    while words and meanings(words[-1]) & LEVELS and len(levels) < len(LEVELS):
        levels.insert(0, words.pop())
    apart = len({meanings(each) & LEVELS for each in levels}) == len(levels)
    return _Heads(" ".join(words), tuple(levels), unit) if apart and len(levels) >= _FEWEST_LEVELS else None


def _goes_on(head: Row, row: Row) -> bool:
    """Whether a line may be of the table of a head: of one piece, on its page, and no heads of another table."""
    return row.page == head.page and not row.ruled and len(row.filled) == 1 and _heads_of(row) is None


def _told(row: Row, heads: _Heads) -> Row:
    """Return a line as a row of the table; one with less values than heads is to be confirmed."""
    words = row.filled[0].text.split()
    unit = words.pop() if heads.unit and words and unit_of(words[-1]) else ""
    values: list[str] = []
    while words and (_NUMBER.fullmatch(words[-1]) or _EMPTY.fullmatch(words[-1])):
        values.insert(0, words.pop())
    label = " ".join(words)
    if len(values) == len(heads.levels) and bool(unit) == bool(heads.unit) and re.search(r"[^\W\d_]", label):
        texts = [
            label,
            *("" if _EMPTY.fullmatch(each) else each for each in values),
            *([unit] if unit else []),
        ]
        return replace(row, cells=_cells(texts), ruled=True)
    some = bool(values) and bool(unit) == bool(heads.unit)
    return replace(row, doubt=_NOT_TOLD) if some and figure_quantities(normal(row.quote)) else row


def _head_row(row: Row, heads: _Heads) -> Row:
    texts = [heads.item or "Item", *heads.levels, *([heads.unit] if heads.unit else [])]
    return replace(row, cells=_cells(texts), ruled=True)


def _cells(texts: Sequence[str]) -> tuple[Cell, ...]:
    return tuple(Cell(text, column) for column, text in enumerate(texts))
