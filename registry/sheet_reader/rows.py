"""The one grid that every file becomes: rows of cells, each with its place, its page and its printed line."""

from __future__ import annotations

from dataclasses import KW_ONLY, dataclass, field


@dataclass(frozen=True, slots=True)
class Cell:
    """A piece of text in a row.

    ``column`` counts in a table; ``left``..``right`` is the place on the page, in points or in letters.
    """

    text: str
    column: int = 0
    left: float = 0.0
    right: float = 0.0
    carried: bool = False
    """Whether the text stands in a merged cell that began in an earlier row or column."""
    base: float | None = None
    """The height on its page that its letters stand on, where that is known. [pt]."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a text or one row of a table; rows of one ``block`` belong together."""

    cells: tuple[Cell, ...]
    page: int | None
    quote: str
    block: int = 0
    ruled: bool = False
    """Whether the row is of a table, whose columns mean the same from row to row."""

    aside: bool = False
    """Whether it is of a block that stands at the right of another."""

    unowned: bool = False
    """Whether it cannot be told which model it is of: it is seen, and no figure is made of it."""

    place: tuple[float, float] | None = None
    """Top and bottom of a line that was recognised in a picture of its page, in parts of the page's height."""

    doubt: str = ""
    """Why what it says is to be confirmed, such as cells that were told together by their order alone."""

    @property
    def filled(self) -> list[Cell]:
        """The cells that hold a text."""
        return [cell for cell in self.cells if cell.text]


@dataclass(frozen=True, slots=True)
class Document:
    """All rows of a file out of ``pages`` pages.

    ``scanned`` are the pages without text and ``unread`` counts those that were not looked at: what is
    printed there is not known.
    """

    rows: tuple[Row, ...]
    pages: int = 1
    _: KW_ONLY
    scanned: tuple[int, ...] = ()
    unread: int = 0
    remarks: tuple[str, ...] = field(default=())
    running: tuple[str, ...] = field(default=())
    """The lines at the head and foot of pages, which may name the cell and hold no figure."""
    titles: tuple[str, ...] = ()
    """What a page of the web calls itself, and its main headings."""
    links: tuple[str, ...] = ()
    """The texts of its links, which say what stands elsewhere."""
    recognised: tuple[int, ...] = ()
    """The pages among the scanned ones whose text was recognised in their picture."""
    unsure: str = ""
    """Why nothing of it is sure, such as a table whose columns were told by their order alone."""
    keyed: bool = False
    """Whether each row holds the keys of a record that lead to its last cell."""
