"""Text laid out for a terminal: tables and paragraphs within 80 columns, without colour."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterable, Sequence

from registry.plain_text import printable as printable

WIDTH = 80
GAP = "  "
NARROWEST = 6
# Below so many columns a table whose words do not fit is written row by row, each cell on a line of its own.
STACKED_BELOW = 60


def counted(number: int, noun: str) -> str:
    """Return a number of things: ``1 cell``, ``3 cells``."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def display_width(text: str) -> int:
    """Return how many columns a terminal gives the text: wide letters take two, combining marks none."""
    return sum(_letter_width(letter) for letter in text)


def _letter_width(letter: str) -> int:
    if unicodedata.combining(letter):
        return 0
    return 2 if unicodedata.east_asian_width(letter) in "WF" else 1


def wrap(text: str, width: int, *, cut: bool = True) -> list[str]:
    """Return the text broken at blanks into lines of at most ``width`` columns.

    A longer word is cut, or stands alone on a line that is too long.
    """
    lines: list[str] = []
    line = ""
    for word in printable(" ".join(text.split())).split(" "):
        joined = f"{line} {word}" if line else word
        if display_width(joined) <= width:
            line = joined
            continue
        if line:
            lines.append(line)
        *full, line = _cut(word, width) if cut else [word]
        lines.extend(full)
    return [*lines, line]


def _cut(word: str, width: int) -> list[str]:
    pieces = [""]
    for letter in word:
        if display_width(pieces[-1] + letter) > width and pieces[-1]:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def paragraph(text: str, *, indent: str = "", width: int = WIDTH) -> str:
    """Return the text wrapped to the width, every line but the first set in by ``indent``.

    A path or a digest longer than a line stays whole, so that it can be copied.
    """
    first, *others = wrap(text, width - display_width(indent), cut=False)
    return "\n".join([first, *(indent + line for line in others)])


def block(text: str, *, indent: str = "", width: int = WIDTH) -> str:
    """Return the text wrapped like a paragraph, with every word cut that does not fit."""
    first, *others = wrap(text, width - display_width(indent))
    return "\n".join([first, *(indent + line for line in others)])


def table(
    header: Sequence[str], rows: Iterable[Sequence[str]], right: Collection[int] = (), *, width: int = WIDTH
) -> str:
    """Return an aligned table: a header, a rule, and one or more lines a row.

    Parameters
    ----------
    header : sequence of n_columns texts
    rows : iterable of sequences of n_columns texts
    right : collection of column numbers, from 0
        Columns set to the right, as numbers are.
    width : int
        The widest line. A table that is too wide wraps its widest columns; on a narrow page its rows are written one
        cell a line, where else words would be broken. [columns]
    """
    body = [[printable(" ".join(text.split())) for text in row] for row in rows]
    if width < STACKED_BELOW and not _words_fit([list(header), *body], width):
        return "\n".join(_stacked(header, row, width) for row in body)
    widths = _column_widths([list(header), *body], width)
    lines = [*_row_lines(header, widths, right), GAP.join("-" * columns for columns in widths)]
    for row in body:
        lines.extend(_row_lines(row, widths, right))
    return "\n".join(lines)


def _words_fit(rows: list[list[str]], width: int) -> bool:
    longest = (
        max(display_width(word) for text in column for word in text.split() or [""])
        for column in zip(*rows, strict=True)
    )
    return sum(longest) + len(GAP) * (len(rows[0]) - 1) <= width


def _stacked(header: Sequence[str], row: Sequence[str], width: int) -> str:
    """Return a row as its first cell, and below it each other with its heading."""
    (_, first), *others = zip(header, row, strict=True)
    below = (GAP + block(f"{head}: {text}", indent=GAP * 2, width=width) for head, text in others if text)
    return "\n".join([block(first, indent=GAP, width=width), *below])


def _column_widths(rows: list[list[str]], width: int) -> list[int]:
    """Return a width for each column, taking from the widest column until the row fits."""
    columns = list(zip(*rows, strict=True))
    widths = [max(1, *(display_width(text) for text in column)) for column in columns]
    # A column keeps its longest word whole for as long as another column can still give way.
    longest_words = [
        max(display_width(word) for text in column for word in (text.split() or [""])) for column in columns
    ]
    room = width - len(GAP) * (len(widths) - 1)
    for smallest in (longest_words, [NARROWEST] * len(widths)):
        while sum(widths) > room:
            shrinkable = [at for at, columns in enumerate(widths) if columns > smallest[at]]
            if not shrinkable:
                break
            widths[max(shrinkable, key=lambda at: widths[at])] -= 1
    return widths


def _row_lines(row: Sequence[str], widths: list[int], right: Collection[int]) -> list[str]:
    cells = [wrap(text, columns) for text, columns in zip(row, widths, strict=True)]
    height = max(len(lines) for lines in cells)
    return [
        GAP.join(
            _pad(lines[at] if at < len(lines) else "", widths[column], to_right=column in right)
            for column, lines in enumerate(cells)
        ).rstrip()
        for at in range(height)
    ]


def _pad(text: str, columns: int, *, to_right: bool) -> str:
    blanks = " " * (columns - display_width(text))
    return blanks + text if to_right else text + blanks


def not_judged(left_out: Sequence[str]) -> str:
    """Return the line of a report on several files that says which of them are not in it."""
    return f"Not judged, and so not in this report: {', '.join(map(printable, left_out))}."
