"""Tables: what stands at the head of a column speaks of the numbers below it."""

from __future__ import annotations

import re
from bisect import bisect_right

from verifier.listing.clauses import AFFINITY, Label
from verifier.listing.quantities import Quantity

_CELL = re.compile(r"[\t|]")


def cells_of(line: str) -> list[int]:
    """Return the places in a line where its cells begin; empty for a line that is no row."""
    signs = [match.end() for match in _CELL.finditer(line)]
    if not signs:
        return []
    if line.lstrip().startswith("|"):
        return [place for place in signs if line[place:].strip()]
    return [0, *signs]


def rows(text: str) -> list[tuple[int, list[int]]]:
    """Return (place of the line, places of its cells in the text) for every line that is a row."""
    found: list[tuple[int, list[int]]] = []
    place = 0
    for line in text.splitlines(keepends=True):
        found.append((place, [place + cell for cell in cells_of(line)]))
        place += len(line)
    return found


def bind_columns(lower: str, quantities: list[Quantity], labels: list[Label]) -> None:
    """Give the numbers of a table the labels at the head of their column."""
    if "\t" not in lower and "|" not in lower:
        return
    number_places = [q.start for q in quantities]
    label_places = [label.start for label in labels]
    head: list[frozenset[str]] = []
    lines = rows(lower)
    for index, (place, cells) in enumerate(lines):
        end = lines[index + 1][0] if index + 1 < len(lines) else len(lower)
        inside = quantities[bisect_right(number_places, place - 1) : bisect_right(number_places, end - 1)]
        if len(cells) < 3:
            head = []
            continue
        if not inside:
            head = [frozenset()] * len(cells)
            for label in labels[bisect_right(label_places, place - 1) : bisect_right(label_places, end - 1)]:
                at = max(0, bisect_right(cells, label.start) - 1)
                head[at] = head[at] | label.names
        elif len(head) == len(cells):
            for quantity in inside:
                at = max(0, bisect_right(cells, quantity.start) - 1)
                quantity.own |= {name for name in head[at] if quantity.dimension in AFFINITY.get(name, ())}
