"""The two ends of one range on a row each: "Charge temperature, min." above "Charge temperature, max."."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import takewhile

from registry.sheet_reader.lines import label_and_value
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Row
from registry.sheet_reader.vocabulary import meanings

_TOKEN = re.compile(r"[\u3040-\u9fff]|[^\W\d_]+\.?|\d+|\S")
_END = re.compile(
    r"(?P<number>[-+−–]?\s?\d{1,3}(?:[.,]\d+)?)\s?(?:°\s?C|℃|ºC)?(?:\s*(?P<more>\([^()\d]*\)|\([^()°]*\)))?"
)
_DEGREES = re.compile(r"°|℃|ºC")
_ABOUT = frozenset({"temperature", "storage", "operating"})
_OTHER_END = {"minimum": "maximum", "maximum": "minimum"}
LOW = re.compile(r"(?i)\b(?:from|min(?:imum)?|low(?:er|est)?|von|de|desde|da|van)\b\.?")
HIGH = re.compile(r"(?i)\b(?:to|max(?:imum)?|upper|high(?:est)?|bis|à|hasta|fino|tot)\b\.?|(?<!\w)à(?!\w)")
"""What names the low and the high end of a range at the head of a column or row."""


def joined_ends(rows: Sequence[Row]) -> Iterator[Row]:
    """Yield rows; two neighbours that are the ends of one temperature range become one row with the range."""
    at = 0
    while at < len(rows):
        joined = _joined(rows[at], rows[at + 1]) if at + 1 < len(rows) else None
        yield rows[at] if joined is None else joined
        at += 1 if joined is None else 2


def _joined(one: Row, other: Row) -> Row | None:
    """Return two rows as one, or ``None`` where they are not the two ends of one range."""
    if one.block != other.block or one.ruled != other.ruled or not _DEGREES.search(one.quote + other.quote):
        return None
    one, other = _parted(one), _parted(other)
    if len(one.filled) != len(other.filled) or len(one.filled) < 2:
        return None
    stem, first = _stem(normal(one.filled[0].text), normal(other.filled[0].text))
    if not meanings(stem) & _ABOUT:
        return None
    ends = (one, other) if first == "minimum" else (other, one)
    cells = [replace(one.filled[0], text=stem)]
    ranges = 0
    for low, high in zip(ends[0].filled[1:], ends[1].filled[1:], strict=True):
        if low.column != high.column and one.ruled:
            return None
        text = _range(low, high)
        ranges += text != ""
        if not text and low.text != high.text:
            return None
        cells.append(replace(low, text=text or low.text))
    return replace(one, cells=tuple(cells), quote=f"{one.quote} ... {other.quote}") if ranges else None


def _parted(row: Row) -> Row:
    """Return a row of one cell as label and value, where it is both."""
    if len(row.filled) != 1:
        return row
    cell = row.filled[0]
    label, value = label_and_value(normal(cell.text))
    if not label or not value:
        return row
    return replace(row, cells=(replace(cell, text=label), replace(cell, text=value, column=cell.column + 1)))


def _stem(one: str, other: str) -> tuple[str, str]:
    """Return what two labels share, and which end the first one is of; empty where they are no two ends."""
    places = [[*_TOKEN.finditer(text)] for text in (one, other)]
    mine, theirs = ([found[0] for found in each] for each in places)
    before = _shared(mine, theirs)
    after = _shared(mine[before:][::-1], theirs[before:][::-1])
    # "最低" and "最高" differ in their second letter only.
    for left, right in ((0, 0), (1, 0), (0, 1)):
        if left > before or right > after:
            continue
        parts = [each[before - left : len(each) - after + right] for each in places]
        cut = [(each[0].start(), each[-1].end()) if each else (0, 0) for each in parts]
        levels = [_level(text[low:high]) for text, (low, high) in zip((one, other), cut, strict=True)]
        if levels[0] and levels[1] == _OTHER_END[levels[0]]:
            stem = f"{one[: cut[0][0]]} {one[cut[0][1] :]}"
            return re.sub(r"\(\s*\)", " ", stem).strip(" ,;:-/"), levels[0]
    return "", ""


def _shared(one: Sequence[str], other: Sequence[str]) -> int:
    return len(
        list(takewhile(lambda pair: pair[0].lower() == pair[1].lower(), zip(one, other, strict=False)))
    )


def _level(words: str) -> str:
    """Return which end of a range words name and nothing else, or an empty text."""
    said = meanings(words)
    named = {level for level in _OTHER_END if level in said}
    named |= {"minimum"} if LOW.fullmatch(words) else {"maximum"} if HIGH.fullmatch(words) else set()
    return named.pop() if len(named) == 1 and not said & _ABOUT else ""


def _range(low: Cell, high: Cell) -> str:
    """Return two ends as one range of temperatures; empty where they are none."""
    one, other = (_END.fullmatch(normal(cell.text).strip()) for cell in (low, high))
    if one is None or other is None:
        return ""
    ends = [re.sub(r"[\s+]", "", each["number"]).replace("−", "-").replace("–", "-") for each in (one, other)]
    values = [float(each.replace(",", ".")) for each in ends]
    more = " ".join(dict.fromkeys(each["more"] for each in (one, other) if each["more"]))
    return f"{ends[0]} ~ {ends[1]} °C {more}".strip() if values[0] < values[1] else ""
