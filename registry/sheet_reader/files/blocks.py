"""Lines of placed pieces as blocks: what stands side by side on a page is parted by its gaps alone.

A gap that runs down several lines parts two blocks when both sides are complete by themselves (each a label
with its value) or when one side is only numbers, as the ticks of a chart are. A gap between labels and
their values parts nothing. No word is looked up here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from registry.sheet_reader.rows import Cell

FEWEST_LINES = 4
"""Fewer lines side by side are one table row with several pairs, not two blocks."""
_MOST_LINES = 400
_TICK = re.compile(r"[-+\d.,%\s°CVAhm]*\d[-+\d.,%\s°CVAhm]*")
_COMPLETE = re.compile(
    r"[^\W\d_][^:：]{0,60}[:：]\s*\S|[^\W\d_]{2}.{0,60}?\s[≤<±~-]?\s?\d[\d.,]*\s?[^\W\d_%°]"
)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a page, its pieces from left to right; ``size`` is the height of its letters.

    ``text`` is the line as it is printed; only its pieces are left of a line that a gap has cut.
    """

    top: float
    cells: tuple[Cell, ...]
    size: float = 1.0
    text: str = ""
    aside: bool = False
    """Whether it stands at the right of another block."""
    whole: bool = False
    """Whether it is a row of its own, as the rules above and below it say."""


def parted(lines: Sequence[Line], gap: float) -> list[list[Line]]:
    """Return lines as blocks in reading order.

    Parameters
    ----------
    lines
        Lines from top to bottom.
    gap
        The least width of a gap that may part blocks, in the unit of the cells' places.
    """
    blocks: list[list[Line]] = []
    at, plain = 0, 0
    while at < len(lines):
        found = _side_by_side(lines, at, gap)
        if found is None:
            at += 1
            continue
        end, place = found
        if plain < at:
            blocks.append(list(lines[plain:at]))
        blocks += parted(_side(lines[at:end], place, left=True), gap)
        blocks += parted(_side(lines[at:end], place, left=False), gap)
        at = plain = end
    if plain < len(lines):
        blocks.append(list(lines[plain:]))
    return blocks


def _side(lines: Iterable[Line], place: float, *, left: bool) -> list[Line]:
    sides = (
        Line(
            line.top,
            tuple(c for c in line.cells if (c.right <= place) == left),
            line.size,
            aside=not left,
            whole=line.whole,
        )
        for line in lines
    )
    return [line for line in sides if line.cells]


def _side_by_side(lines: Sequence[Line], at: int, gap: float) -> tuple[int, float] | None:
    """Return where a run of lines side by side that begins here ends, and where it is parted."""
    first = lines[at].cells
    for before, after in pairwise(first):
        if after.left - before.right < gap:
            continue
        place = after.left - gap / 4
        end = at
        low, high = before.right, after.left
        while end < len(lines) and end - at < _MOST_LINES:
            free = _free(lines[end], low, high)
            if free[1] - free[0] < 0.4 * gap:
                break
            low, high = free
            place = high - min(gap / 4, (high - low) / 2)
            end += 1
        if end - at >= FEWEST_LINES and _parts(lines[at:end], place):
            return end, place
    return None


def _free(line: Line, low: float, high: float) -> tuple[float, float]:
    """Return the widest part of ``low``..``high`` that no piece of a line reaches into."""
    edges = [low]
    for cell in line.cells:
        if cell.right > low and cell.left < high:
            edges += [max(low, cell.left), min(high, cell.right)]
    gaps = list(zip(edges[::2], [*edges[1::2], high], strict=True))
    return max(gaps, key=lambda each: each[1] - each[0])


def _parts(lines: Sequence[Line], place: float) -> bool:
    left, right = _side(lines, place, left=True), _side(lines, place, left=False)
    if min(len(left), len(right)) < FEWEST_LINES - 1:
        return False
    if _is_running_text(left) and _share_complete(right) > 0.6:
        return True
    if _share_complete(left) < 0.6:
        return False
    worded = [line for line in right if not _is_tick(line)]
    both = len({line.top for line in left} & {line.top for line in right})
    if len(worded) < 0.3 * len(right):
        # The ticks of a chart do not stand on the lines of a table; the columns of a table do.
        return both < len(right) / 2
    return both >= FEWEST_LINES - 1 and _share_complete(worded) > 0.5


def _is_running_text(lines: Sequence[Line]) -> bool:
    """Whether lines are those of sentences: one piece each, and many begin with a small letter."""
    if len(lines) < FEWEST_LINES or any(len(line.cells) > 1 for line in lines):
        return False
    texts = [line.cells[0].text for line in lines]
    small = sum(bool(re.match(r"[^\W\d_A-ZÀ-Þ]", text)) for text in texts)
    return small >= 0.3 * len(texts) and sum(len(text.split()) for text in texts) >= 3 * len(texts)


def _share_complete(lines: Sequence[Line]) -> float:
    return sum(_is_complete(line) for line in lines) / len(lines)


def _is_tick(line: Line) -> bool:
    return all(_TICK.fullmatch(cell.text) for cell in line.cells)


def _is_complete(line: Line) -> bool:
    """Whether a side of a line is a label with its value: two pieces, or a piece that is both."""
    first = line.cells[0].text
    if not re.match(r"[^\W\d_]|\d{1,2}(?:\.\d{1,2})*[.)]?\s+[^\W\d_]|[(•*-]", first):
        return False
    return bool(_COMPLETE.search(first)) or (
        len(line.cells) > 1 and bool(re.search(r"\d", line.cells[1].text)) and not re.search(r"\d", first)
    )
