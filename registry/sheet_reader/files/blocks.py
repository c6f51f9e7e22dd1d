"""Lines of placed pieces as blocks: what stands side by side on a page is parted by its gaps alone.

A gap that runs down several lines parts two blocks when both sides are complete by themselves (each a label
with its value) or when one side is only numbers, as the ticks of a chart are. A gap between labels and
their values parts nothing. No word is looked up here but units: a column of them is no side of its own.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from registry.printed.finding import find_printed
from registry.sheet_reader.rows import Cell

FEWEST_LINES = 4
"""Fewer lines side by side are one table row with several pairs, not two blocks."""
_ONE_LINE = 0.12
"""Letters of one line stand on one height within this times their own."""
_MOST_LINES = 400
_LONGEST_HEADING = 40
_LONGEST_HEAD = 25
_MOST_GAPS = 12
_TICK = re.compile(r"[-+\d.,%\s°CVAhm]*\d[-+\d.,%\s°CVAhm]*")
_BAND = re.compile(
    r"[-+−–]?\s?\d{1,2}\s?(?:°\s?C|℃)?\s?(?:to|bis|à|a|~|…|\.\.\.?|–|-)\s?[-+−–]?\d{1,2}\s?(?:°\s?C|℃)"
)
_NUMBERED_UNIT = re.compile(r"[≤≥<>±~]?\s?[-+]?\d[\d.,]*(?:\s?±\s?[\d.,]+)?\s?(?:m?Ah|m?A|V|mΩ|mOhm|g|kg|mm)")
_TRAILING_VALUE = re.compile(r"[^\W\d_]{2}.*\s[≤<±~-]?\s?\d[\d.,]*\s?(?:m?Ah|m?A|V|mΩ|mOhm|g|kg|mm)\s*$")
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
    for before, after in pairwise(lines[at].cells):
        if after.left - before.right < gap or _is_pair(lines[at]):
            continue
        for end, low, high in _runs(lines, at, (before.right, after.left), gap):
            place = high - min(gap / 4, (high - low) / 2)
            if not _under_one_head(lines, at, place) and _parts(lines[at:end], place):
                return end, place
    return None


def _is_pair(line: Line) -> bool:
    """Whether a line is one label with one value, which a gap between the two never parts."""
    if len(line.cells) != 2 or any(cell.base is None for cell in line.cells):
        return False
    label, value = line.cells
    on_one = abs((label.base or 0.0) - (value.base or 0.0)) <= _ONE_LINE * line.size
    alone = bool(_NUMBERED_UNIT.fullmatch(value.text)) and not _COMPLETE.search(label.text)
    return on_one and _is_worded(label.text) and (alone or bool(_BAND.fullmatch(value.text)))


def _is_worded(text: str) -> bool:
    return bool(re.match(r"[^\W\d_]{2}", text))


def _runs(
    lines: Sequence[Line], at: int, between: tuple[float, float], gap: float
) -> list[tuple[int, float, float]]:
    """Return how far each gap runs down that lies between two places of a line: its end, left and right.

    A gap of one line may hold two of the next, before and behind a piece of it. The longest come first.
    """
    running, ended = [between], []
    end = at
    while running and end < len(lines) and end - at < _MOST_LINES:
        going = []
        for low, high in running:
            parts = [part for part in _free(lines[end], low, high) if part[1] - part[0] >= 0.4 * gap]
            going += parts
            ended += [] if parts else [(end, low, high)]
        running = going[:_MOST_GAPS]
        end += 1
    ended += [(end, low, high) for low, high in running]
    return sorted((run for run in ended if run[0] - at >= FEWEST_LINES), key=lambda run: -run[0])


def _free(line: Line, low: float, high: float) -> list[tuple[float, float]]:
    """Return the parts of ``low``..``high`` that no piece of a line reaches into."""
    edges = [low]
    for cell in line.cells:
        if cell.right > low and cell.left < high:
            edges += [max(low, cell.left), min(high, cell.right)]
    return list(zip(edges[::2], [*edges[1::2], high], strict=True))


def _parts(lines: Sequence[Line], place: float) -> bool:
    left, right = _side(lines, place, left=True), _side(lines, place, left=False)
    if min(len(left), len(right)) < FEWEST_LINES - 1 or _are_rows(lines, place):
        return False
    if _on_lines_of_their_own(lines, place) and max(_share_complete(left), _share_complete(right)) >= 0.6:
        return True
    if _is_running_text(left) and _share_complete(right) > 0.6:
        return True
    if _share_complete(left) < 0.6:
        return False
    worded = [line for line in right if not _is_tick(line)]
    both = len({line.top for line in left} & {line.top for line in right})
    if len(worded) < 0.3 * len(right):
        # The ticks of a chart do not stand on the lines of a table; the columns of a table do.
        return both < len(right) / 2
    # "Not allowed | 15" among rows of bare numbers is a row of theirs, and no block of labels.
    return min(both, len(worded)) >= FEWEST_LINES - 1 and _share_complete(worded) > 0.5


def _are_rows(lines: Sequence[Line], place: float) -> bool:
    """Whether most lines are rows only with both sides of a place: a label or a value before it, its value behind it.

    A label that lacks its value and the values on its height are one table, however wide the gap is. So are two
    values of one unit on one height, such as those of two models.
    """
    rows, others = 0, 0
    for line in lines:
        left = [cell for cell in line.cells if cell.right <= place]
        right = [cell for cell in line.cells if cell.right > place]
        if left and right:
            needs = _begins_with_a_number(right[0].text) and (
                _is_label(left[-1].text) or _are_of_one_unit(left[-1].text, right[0].text)
            )
            rows += needs and _on_one_height(left[-1], right[0], line.size)
            others += not needs
    return rows >= FEWEST_LINES - 1 and rows > others


def _is_label(text: str) -> bool:
    """Whether a piece is words that lack a value; the temperatures of a sub-item are no value."""
    return bool(_BAND.fullmatch(text)) or (
        bool(re.match(r"[^\W\d_]{2}|[(•*-]\s?[^\W\d_]", text)) and not re.search(r"[:：]\s*\S", text)
        and not _TRAILING_VALUE.search(text)
    )  # fmt: skip


def _begins_with_a_number(text: str) -> bool:
    return bool(re.match(r"[≤≥<>±~Φ+\-−–]?\s?\d", text))


def _are_of_one_unit(one: str, other: str) -> bool:
    """Whether two pieces are values that differ in nothing but their numbers."""
    units = [re.sub(r"[\d.,\s≤≥<>±~Φ+\-−–]", "", text) for text in (one, other)]
    return _begins_with_a_number(one) and units[0] == units[1] != ""


def _on_one_height(one: Cell, other: Cell, size: float) -> bool:
    if one.base is None or other.base is None:
        return one.base is other.base
    return abs(one.base - other.base) <= _ONE_LINE * size


def _under_one_head(lines: Sequence[Line], at: int, place: float) -> bool:
    """Whether a line of heads stands over the lines here, and the right side of a place is one of its columns."""
    for line in reversed(lines[max(0, at - _MOST_LINES) : at + 1]):
        short = all(len(cell.text) < _LONGEST_HEAD and not re.search(r"\d", cell.text) for cell in line.cells)
        if len(line.cells) > 2 and short:
            return sum(cell.right > place for cell in line.cells) == 1
        if any(cell.left < place < cell.right for cell in line.cells):
            return False
    return False


def _on_lines_of_their_own(lines: Sequence[Line], place: float) -> bool:
    """Whether the two sides of a gap stand on lines of their own; a value stands on the line of its label.

    Where a value is set at the middle of its label's lines it does not, so most of the sides have to differ.
    """
    if any(cell.base is None for line in lines for cell in line.cells):
        return False
    alone, apart, on_one = 0, 0, 0
    for line in lines:
        left = [cell.base for cell in line.cells if cell.right <= place]
        right = [cell.base for cell in line.cells if cell.right > place]
        if not right:
            continue
        if not left:
            alone += 1
        elif min(abs((a or 0) - (b or 0)) for a in left for b in right) > _ONE_LINE * line.size:
            apart += 1
        else:
            on_one += 1
    return alone + apart >= FEWEST_LINES and apart > 0 and alone + apart > 2 * on_one


def _is_running_text(lines: Sequence[Line]) -> bool:
    """Whether lines are those of sentences: one piece each, and many begin with a small letter."""
    if len(lines) < FEWEST_LINES or any(len(line.cells) > 1 for line in lines):
        return False
    texts = [line.cells[0].text for line in lines]
    small = sum(bool(re.match(r"[^\W\d_A-ZÀ-Þ]", text)) for text in texts)
    return small >= 0.3 * len(texts) and sum(len(text.split()) for text in texts) >= 3 * len(texts)


def _share_complete(lines: Sequence[Line]) -> float:
    """Return how many lines are complete; a heading over complete lines is neither."""
    complete = sum(map(_is_complete, lines))
    headings = sum(map(_is_heading, lines)) if complete >= FEWEST_LINES - 1 else 0
    return complete / max(1, len(lines) - headings)


def _is_heading(line: Line) -> bool:
    """Whether a line is one short piece without a number."""
    return len(line.cells) == 1 and len(line.cells[0].text) < _LONGEST_HEADING and not re.search(
        r"\d", line.cells[0].text
    )  # fmt: skip


def _is_tick(line: Line) -> bool:
    return all(_TICK.fullmatch(cell.text) for cell in line.cells)


def _is_complete(line: Line) -> bool:
    """Whether a side of a line is a label with its value: two pieces, or a piece that is both."""
    first = line.cells[0].text
    if _is_unit(first):
        # "mAh" with the digit of a note behind it belongs to the number at its left.
        return False
    if _BAND.match(first):
        # A row of a table by temperature: "0 to 25 °C" before its values.
        return len(line.cells) > 1 and _is_value(line.cells[1].text)
    if not re.match(r"[^\W\d_]|\d{1,2}(?:\.\d{1,2})*[.)]?\s+[^\W\d_]|[(•*-].*[^\W\d_]", first):
        return False
    if len(line.cells) < 2 or _COMPLETE.search(first):
        return bool(_COMPLETE.search(first))
    value = line.cells[1].text
    if re.search(r"\d", first):
        return not _is_value(first) and _is_value(value)
    return bool(re.search(r"\d", value))


def _is_value(text: str) -> bool:
    """Whether a piece is a number with what it is counted in, and no label."""
    return bool(re.match(r"[≤≥<>±~+-]?\s?\d", text))


@lru_cache(maxsize=1024)
def _is_unit(text: str) -> bool:
    """Whether a piece is a unit and nothing else, as in a column of units."""
    if re.search(r"\d", text):
        return False
    found = find_printed(f"1 {text}")
    return len(found) == 1 and bool(found[0].unit) and found[0].end == len(text) + 2
