"""Tables of a page whose cells reach over several rows or columns, as plain rows of cells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

_MOST_COLUMNS = 60
_MOST_ROWS = 2000
_DEEPEST_HEAD = 4


@dataclass(slots=True)
class GridCell:
    """A cell: where its words begin among the page's, and how far it reaches."""

    start: int
    head: bool
    columns: int = 1
    rows: int = 1


@dataclass(slots=True)
class Grid:
    """A table as it is read, from the place among the page's words where it begins."""

    start: int
    nested: bool = False
    rows: list[list[GridCell]] = field(default_factory=list)

    def add(self, start: int, *, head: bool, columns: str | None, rows: str | None) -> None:
        """Add a cell to the last row."""
        if not self.rows:
            self.rows.append([])
        self.rows[-1].append(GridCell(start, head, _span(columns, _MOST_COLUMNS), _span(rows, _MOST_ROWS)))

    def is_uneven(self, parts: Sequence[str]) -> bool:
        """Return whether cells would lose their columns: one covers several, or the first of a row is empty."""
        if self.nested or len(self.rows) > _MOST_ROWS:
            return False
        empty = any(
            len(row) > 1 and not "".join(parts[row[0].start : row[1].start]).strip() for row in self.rows
        )
        return empty or any(cell.columns > 1 or cell.rows > 1 for row in self.rows for cell in row)

    def plain(self, parts: Sequence[str]) -> list[list[str]]:
        """Return the rows, each cell's words at every place it covers, and rows of heads made one.

        Parameters
        ----------
        parts : sequence of str
            The words of the page, up to the table's end.
        """
        rows = self._expanded(parts)
        captions = 0
        while captions < len(rows) and len(self.rows[captions]) == 1 < len(rows[captions]):
            captions += 1
        depth = self._depth(captions)
        head = [_joined(column) for column in zip(*_filled(rows[captions : captions + depth]), strict=True)]
        return [[row[0]] for row in rows[:captions]] + [head] * bool(head) + rows[captions + depth :]

    def _expanded(self, parts: Sequence[str]) -> list[list[str]]:
        starts = [cell.start for row in self.rows for cell in row]
        ends = iter([*starts[1:], len(parts)])
        above: dict[int, tuple[int, str]] = {}
        found: list[list[str]] = []
        for cells in self.rows:
            row: list[str] = []

            def reached(row: list[str] = row) -> None:
                while (kept := above.get(len(row))) is not None and kept[0] > 0:
                    above[len(row)] = kept[0] - 1, kept[1]
                    row.append(kept[1])

            for cell in cells:
                reached()
                words = " ".join("".join(parts[cell.start : next(ends)]).split())
                for _ in range(min(cell.columns, _MOST_COLUMNS - len(row))):
                    above[len(row)] = cell.rows - 1, words
                    row.append(words)
            reached()
            found.append(row)
        return found

    def _depth(self, first: int) -> int:
        """Return how many rows are heads."""
        rows = self.rows[first:]
        if not rows or not any(cell.columns > 1 or cell.rows > 1 for cell in rows[0]):
            return 1
        deepest = max((cell.rows for cell in rows[0]), default=1)
        if deepest > 1 and all(cell.head for cell in rows[0]):
            return min(deepest, _DEEPEST_HEAD)
        both = len(rows) > 1 and all(cell.head for row in rows[:2] for cell in row)
        return 2 if both else 1


def _span(written: str | None, most: int) -> int:
    digits = (written or "").strip()
    return max(1, min(int(digits), most)) if digits.isdecimal() and len(digits) < 6 else 1


def _filled(rows: list[list[str]]) -> list[list[str]]:
    width = max((len(row) for row in rows), default=0)
    return [row + [""] * (width - len(row)) for row in rows]


def _joined(column: Sequence[str]) -> str:
    return " ".join(dict.fromkeys(words for words in column if words))
