"""Tables with horizontal rules only: what stands beyond the ends of their rules, such as a chart, is none of them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from registry.sheet_reader.files.blocks import Line
from registry.sheet_reader.files.open_sides import Span

_NEAR = 2.0
_SHORTEST = 150.0
"""Of a rule over a whole table. [pt]."""
_FEWEST_RULES = 3
"""One above the heads, one below them, and one at the end."""
_GAP = 12.0
"""What belongs to a table stands no further beyond its rules. [pt]."""
_WHOLE_ROWS = 0.6
"""At least this part of the lines between the rules of a table is a label with a value."""
_FEWEST_OUTSIDE = 4
_MOSTLY_TICKS = 0.6
_TICK = re.compile(r"[-+−–]?\d[\d.,]*\s?(?:°\s?C|m?Ah?|C|V|%)?")


def outside_rules(lines: Sequence[Line], spans: Sequence[Span]) -> tuple[list[Line], list[Line]]:
    """Return lines without what stands beside a table with rules of one width, and that as lines of its own."""
    inside, outside = list(lines), list[Line]()
    regions = _regions(spans)
    for left, right, top, bottom in regions:
        if any(each[2] < bottom and top < each[3] for each in regions if each != (left, right, top, bottom)):
            # Two tables side by side are columns of the page.
            continue
        here = [line for line in inside if top - _NEAR < line.top + line.size / 2 < bottom + _NEAR]
        split = {
            id(line): _split(line, left, right)
            for line in here
            if not any(
                c.left < left - _NEAR < c.right or c.left < right + _NEAR < c.right for c in line.cells
            )
        }
        own = [pair[0] for pair in split.values() if pair[0].cells]
        beside = [pair[1] for pair in split.values() if pair[1].cells]
        whole = sum(len(line.cells) > 1 for line in own)
        if (
            len(split) < len(here)
            or len(beside) < _FEWEST_OUTSIDE
            or whole < _WHOLE_ROWS * len(own)
            or not whole
            or not _is_chart(beside)
        ):
            continue
        inside = [
            part for line in inside for part in ((split[id(line)][0],) if id(line) in split else (line,))
        ]
        inside = [line for line in inside if line.cells]
        outside += beside
    return inside, sorted(outside, key=lambda line: line.top)


def _is_chart(lines: Sequence[Line]) -> bool:
    """Whether most pieces are numbers, as the ticks and the curves' names of a chart are, without labels."""
    pieces = [cell.text for line in lines for cell in line.cells]
    return sum(bool(_TICK.fullmatch(text)) for text in pieces) >= _MOSTLY_TICKS * len(pieces)


def _regions(spans: Sequence[Span]) -> list[tuple[float, float, float, float]]:
    """Return the left, right, top and bottom of each table that several rules of one width bound."""
    groups: list[list[Span]] = []
    for span in spans:
        if span[2] - span[1] < _SHORTEST:
            continue
        group = next((g for g in groups if _are_even(g[0], span)), None)
        if group is None:
            groups.append([span])
        else:
            group.append(span)
    return [
        (group[0][1], group[0][2], min(s[0] for s in group), max(s[0] for s in group))
        for group in groups
        if len(group) >= _FEWEST_RULES
    ]


def _are_even(one: Span, other: Span) -> bool:
    return abs(one[1] - other[1]) <= _NEAR and abs(one[2] - other[2]) <= _NEAR


def _split(line: Line, left: float, right: float) -> tuple[Line, Line]:
    """Return what of a line stands within the ends of rules, and what beyond them."""
    beyond = [cell for cell in line.cells if cell.left > right + _GAP or cell.right < left - _GAP]
    within = tuple(cell for cell in line.cells if cell not in beyond)
    cells = tuple(replace(cell, column=n) for n, cell in enumerate(within))
    others = tuple(replace(cell, column=n) for n, cell in enumerate(beyond))
    return replace(line, cells=cells, text=""), replace(line, cells=others, text="", aside=True)
