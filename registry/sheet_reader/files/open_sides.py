"""Ruled tables with open sides: rules run on where no vertical line closes the outer columns or merged cells."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any

Box = tuple[float, float, float, float]
Span = tuple[float, float, float]
"""A drawn horizontal line: height, left end, right end. [pt]."""
_NEAR = 2.0
"""Drawn ends this close are one. [pt]."""
_NARROWEST = 15.0
"""A narrower strip holds no column. [pt]."""


def spans_of(page: Any) -> list[Span]:
    """Return the drawn horizontal lines of a page, edges of boxes among them; pieces that touch are one."""
    drawn = sorted((round(e["top"], 1), e["x0"], e["x1"]) for e in page.edges if e["orientation"] == "h")
    made: list[Span] = []
    for top, left, right in drawn:
        at = len(made) - 1
        while at >= 0 and top - made[at][0] <= _NEAR and not _touch(made[at], (top, left, right)):
            at -= 1
        if at < 0 or top - made[at][0] > _NEAR:
            made.append((top, left, right))
        else:
            made[at] = (made[at][0], min(made[at][1], left), max(made[at][2], right))
    return made


def _touch(one: Span, other: Span) -> bool:
    return abs(one[0] - other[0]) <= _NEAR and other[1] <= one[2] + _NEAR and one[1] <= other[2] + _NEAR


def closed(boxes: Sequence[Box], spans: Sequence[Span]) -> list[Box]:
    """Return the cells of a table with those that rules above and below bound, but no line at their side.

    Parameters
    ----------
    boxes
        The closed cells: left, top, right, bottom. [pt]
    spans
        The horizontal lines of the page.

    Returns
    -------
    list
        The cells, the closed ones first. Where all rules of a table run on beyond its last vertical line to one
        end, what lies between them is a column as well.
    """
    heights = _heights(boxes)
    left, right = _ends(boxes, heights, spans)
    made = list(boxes)
    for top, bottom in pairwise(heights):
        beside = sorted(box for box in boxes if box[1] - _NEAR <= top and bottom <= box[3] + _NEAR)
        if not beside:
            continue
        for start, end in _uncovered(beside, left, right):
            above = [y for y in heights if y <= top + _NEAR and _reaches(spans, y, start, end)]
            below = [y for y in heights if y >= bottom - _NEAR and _reaches(spans, y, start, end)]
            if above and below:
                box = (start, max(above), end, min(below))
                made += [] if any(_overlap(box, other) for other in made) else [box]
    return made


def _heights(boxes: Iterable[Box]) -> list[float]:
    heights: list[float] = []
    for height in sorted(y for box in boxes for y in (box[1], box[3])):
        if not heights or height - heights[-1] > _NEAR:
            heights.append(height)
    return heights


def _ends(boxes: Sequence[Box], heights: Sequence[float], spans: Sequence[Span]) -> tuple[float, float]:
    """Return the left and right end of a table: of its cells, or further out where every rule of it ends."""
    left, right = min(box[0] for box in boxes), max(box[2] for box in boxes)
    own = [
        next((s for s in spans if abs(s[0] - y) <= _NEAR and s[1] < right and s[2] > left), None)
        for y in heights
    ]
    rules = [span for span in own if span is not None]
    if len(rules) < len(own) or len(rules) < 2:
        return left, right
    lefts, rights = [span[1] for span in rules], [span[2] for span in rules]
    if max(lefts) - min(lefts) <= _NEAR:
        left = min(left, *lefts)
    if max(rights) - min(rights) <= _NEAR:
        right = max(right, *rights)
    return left, right


def _uncovered(beside: Sequence[Box], left: float, right: float) -> Iterator[tuple[float, float]]:
    """Yield where a row of cells leaves room for a column from one end of the table to the other."""
    at = left
    for box in beside:
        if box[0] - at > _NARROWEST:
            yield at, box[0]
        at = max(at, box[2])
    if right - at > _NARROWEST:
        yield at, right


def _reaches(spans: Sequence[Span], height: float, start: float, end: float) -> bool:
    return any(
        abs(span[0] - height) <= _NEAR and span[1] <= start + _NEAR and span[2] >= end - _NEAR
        for span in spans
    )


def _overlap(one: Box, other: Box) -> bool:
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    return wide > _NEAR and high > _NEAR
