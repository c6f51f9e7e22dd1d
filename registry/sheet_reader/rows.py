"""What every reader of a file hands over: rows of cells, each with the page and the line they stand on."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Cell:
    """A piece of text in a row; ``column`` is its place in a ruled table, ``left``..``right`` on the page."""

    text: str
    column: int = 0
    left: float = 0.0
    right: float = 0.0
    carried: bool = False
    """Whether the text stands in a merged cell that began in an earlier row or column."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a text or one row of a table."""

    cells: tuple[Cell, ...]
    page: int | None
    quote: str
    table: int | None = None
    """Number of the ruled table the row belongs to; ``None`` for a line of text."""
    placed: bool = False
    """Whether the cells' places on the page mean anything."""


@dataclass(frozen=True, slots=True)
class Document:
    """All rows of a file; ``scanned`` are the pages without text out of ``pages``."""

    rows: tuple[Row, ...]
    pages: int = 1
    scanned: tuple[int, ...] = ()
    remarks: tuple[str, ...] = field(default=())
