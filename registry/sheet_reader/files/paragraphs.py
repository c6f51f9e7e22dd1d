"""Paragraphs of a text that was wrapped at a width: their lines as one, so that a sentence is read as a whole."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from registry.sheet_reader.lines import figure_quantities, fitting_dimensions, is_prose, label_and_value
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Row

_NARROWEST = 50
"""Text is wrapped at no less than so many letters a line."""
_FEWEST_WORDS = 6
_LONGEST_LABEL = 40
_ITEM = re.compile(r"\s*(?:[(\[]?\d{1,2}(?:\.\d{1,2})*[.)\]]?\s|[•·*†‡※-])")
_LABELLED = re.compile(r"[^:：]{1,40}[:：]|.*\s{3,}|.*\.{3,}")


def with_paragraphs(rows: Sequence[Row]) -> list[Row]:
    """Return rows; a line goes on with the one above where its first word had no room there.

    Lines of a label with its value end where they end, and so do items of a list.
    """
    width = max((_end(row) for row in rows if _is_text(row)), default=0)
    joins = [width >= _NARROWEST and _goes_on(above, row, width) for above, row in pairwise(rows)]
    made: list[Row] = []
    for row, joined in zip(rows, [False, *joins], strict=True):
        if joined:
            above = made[-1]
            cell = replace(above.filled[0], text=f"{above.filled[0].text} {row.filled[0].text}")
            made[-1] = replace(above, cells=(cell,), quote=f"{above.quote} {row.quote}")
        else:
            made.append(row)
    return made


def _is_text(row: Row) -> bool:
    """Whether a line is one piece of several words."""
    return len(row.cells) == 1 and len(re.findall(r"[^\W\d_]{2,}", row.cells[0].text)) >= _FEWEST_WORDS


def _goes_on(above: Row, row: Row, width: float) -> bool:
    if not _is_text(above) or len(row.cells) != 1:
        return False
    text, over = row.cells[0].text, above.cells[0]
    if (
        re.search(r"[.!?:;。]\W*$", over.text)
        or _ITEM.match(text)
        or _LABELLED.match(text)
        or _LABELLED.match(over.text)
        or _is_figure(text)
    ):
        return False
    # The second line of an item may stand under its words.
    under = row.cells[0].left == over.left or (row.cells[0].left > over.left and bool(_ITEM.match(over.text)))
    return under and _end(above) + 1 + len(text.split()[0]) > width


def _is_figure(text: str) -> bool:
    """Whether a line is the name of a figure with its value and nothing else: "Nominal voltage 3.2 V"."""
    label, value = label_and_value(normal(text))
    named = label[:1].isupper() and len(label) < _LONGEST_LABEL and not re.search(r"[,;.]\s", label)
    return (
        named and bool(fitting_dimensions(label) & {*figure_quantities(value)}) and not is_prose(normal(text))
    )


def _end(row: Row) -> float:
    return row.cells[0].right if row.cells else 0.0
