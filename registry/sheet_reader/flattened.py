"""Tables that were copied one cell a line: which condition, a line of its own, is of which value of a label.

A label with its values below it, one a line, may have their conditions between them or behind them: temperatures,
times, or words such as "max.". Where each value has its condition right beside it in turn, they go together. Where
a column of values stands before a column of conditions, only their order tells, and every value is to be confirmed;
where the two columns are not of one length, no value gets any condition.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from registry.sheet_reader.lines import (
    LEVELS,
    NOUNS,
    figure_quantities,
    fitting_dimensions,
    is_band_only,
    is_duration,
    is_prose,
    label_and_value,
    without_item_number,
    without_relations,
)  # fmt: skip
from registry.sheet_reader.quantities import normal, quantities
from registry.sheet_reader.rows import Cell, Row
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings

BY_ORDER = "which condition is of which value follows their order alone"
_NOT_TOLD = "several values and conditions stand below its label, and which go together is not told"
_MOST = 24
"""No label has more lines below it."""
_LONGEST = 40
"""Of a line that is only a condition. [letters]."""
_LONGEST_VALUE = 60
_FEWEST_LABELS = 3
"""So many labels one below the other are a column of labels, whose values follow as a column."""
_WORDS = LEVELS | {"charge", "discharge"}
"""What a line of words alone says of the value beside it."""
_Kind = Literal["value", "heat", "time", "word", ""]
_Line = tuple[_Kind, str, Row]
"""What a line is, its text in its one form, and its row."""


@dataclass(frozen=True, slots=True)
class _Head:
    """A label, what of its line is no label, and which dimensions its values may have."""

    label: str
    rest: str
    fitting: frozenset[str]


def with_conditions_beside(rows: Sequence[Row]) -> list[Row]:
    """Return rows; values that stand one a line below their label are rows of it, each with its condition."""
    made: list[Row] = []
    at = labels = 0
    while at < len(rows):
        head = _head_of(rows[at])
        labels = labels + 1 if head is not None and not head.rest else 0
        group, end = ([], at) if head is None or labels >= _FEWEST_LABELS else _group(rows, at, head)
        made += group or rows[at : at + 1]
        at, labels = (end, 0) if group else (at + 1, labels)
    return made


def _head_of(row: Row) -> _Head | None:
    """Return the label that a line of one piece begins with, or ``None``."""
    text = _alone(row)
    if not text or is_prose(text):
        return None
    label, rest = label_and_value(text)
    fitting = fitting_dimensions(label)
    if not fitting or is_band_only(label) or temperatures(label):
        return None
    return _Head(label, rest, fitting)


def _alone(row: Row) -> str:
    """Return the text of a line of one piece in its one form, without its number; empty for any other row."""
    if row.ruled or row.unowned or len(row.filled) != 1 or "\n" in row.filled[0].text:
        return ""
    return without_item_number(normal(row.filled[0].text)).strip()


def _kind(text: str, fitting: frozenset[str]) -> _Kind:
    """Return whether a text is a value of a label, a condition and of what kind, or something else."""
    said = meanings(text)
    if is_band_only(text):
        return "value" if fitting == {"temperature"} else "heat"
    if len(text) < _LONGEST and not figure_quantities(text) and not NOUNS & said:
        plain = masked(text, temperatures(text))
        times = [each for each in quantities(plain) if each.dimension in {"time", "seconds"}]
        if len(times) == 1 and (is_duration(text) or not re.search(r"[^\W\d_]{3}", text)):
            return "time"
        if _is_word(text):
            return "word"
    dims = figure_quantities(text)
    before = re.findall(r"[^\W\d_]+", without_relations(label_and_value(text)[0]))
    if not dims or dims[0] not in fitting or len(text) > _LONGEST_VALUE or not all(map(_is_level, before)):
        return ""
    return "value"


def _is_word(text: str) -> bool:
    """Whether a text only says which value of several it stands beside: "typ.", "max.", "charge"."""
    words = re.findall(r"[^\W\d_]+", text)
    alone = len(words) == 1 and bool(meanings(text) & _WORDS)
    return not re.search(r"\d", text) and (
        alone or (bool(words) and all(meanings(w) & LEVELS for w in words))
    )


def _is_level(text: str) -> bool:
    return _is_word(text) and bool(meanings(text) & LEVELS)


def _group(rows: Sequence[Row], at: int, head: _Head) -> tuple[list[Row], int]:
    """Return the rows that a label and the lines below it make, and where they end; none where they stay."""
    found: list[_Line] = []
    if head.rest:
        kind = _kind(head.rest, head.fitting)
        if not kind:
            return [], at
        found.append((kind, head.rest, rows[at]))
    end = at + 1
    while end < len(rows) and end - at <= _MOST:
        row, text = rows[end], _alone(rows[end])
        kind = _kind(text, head.fitting) if text and row.page == rows[at].page else ""
        if not kind or (kind == "word" and _begins_a_label(rows, end)):
            break
        found.append((kind, text, row))
        end += 1
    return _paired(rows[at], head, found), end


def _begins_a_label(rows: Sequence[Row], at: int) -> bool:
    """Whether a word such as "Max." is the first line of the label that the next line goes on with."""
    following = _alone(rows[at + 1]) if at + 1 < len(rows) else ""
    goes_on = bool(re.match(r"[a-zà-ÿ]", following)) and bool(fitting_dimensions(following))
    return goes_on and _alone(rows[at])[:1].isupper()


def _paired(row: Row, head: _Head, found: Sequence[_Line]) -> list[Row]:
    """Return a row for each value with the condition that is of it; none where there is nothing to pair."""
    values = [each for each in found if each[0] == "value"]
    told = [each for each in found if each[0] != "value"]
    if not values or not told or (len(values) == 1 and len(told) == 1 and not _is_level(told[0][1])):
        # "Discharge" below one value may as well be the heading of what follows.
        return []
    order = [each[0] == "value" for each in found]
    doubt = _NOT_TOLD
    pairs: list[tuple[_Line, _Line | None]] = [(each, None) for each in values]
    if len(values) == len(told) and len({each[0] for each in told}) == 1 and not _have_bands(values, told):
        pairs = [*zip(values, told, strict=True)]
        apart = len(values) > 1 and any(one == two for one, two in zip(order[::2], order[1::2], strict=True))
        doubt = BY_ORDER if apart else ""
    quote = " ... ".join(dict.fromkeys((row.quote, *(each[2].quote for each in found))))
    return [_row(row, head, value, condition, doubt, quote) for value, condition in pairs]


def _have_bands(values: Sequence[_Line], told: Sequence[_Line]) -> bool:
    """Whether a value has temperatures in its own line already, and further ones stand in lines of their own."""
    heat = any(each[0] == "heat" for each in told)
    return heat and any(temperatures(each[1]) for each in values)


def _row(
    row: Row,
    head: _Head,
    value: _Line,
    condition: _Line | None,
    doubt: str,
    quote: str,
) -> Row:
    """Return a label with one value and its condition as a row of a table; words go to the label."""
    kind, text, beside = condition if condition is not None else ("", "", row)
    label = f"{head.label} {text}" if kind == "word" else head.label
    cells = [Cell(label, 0), Cell(value[1], 1)] + ([Cell(text, 2)] if kind in {"heat", "time"} else [])
    if not doubt:
        first = row.quote if value[2] is row or not head.rest else head.label
        quote = " ... ".join(
            dict.fromkeys((first, *(each.quote for each in (value[2], beside) if each is not row)))
        )
    return replace(value[2], cells=tuple(cells), quote=quote, ruled=True, doubt=doubt)
