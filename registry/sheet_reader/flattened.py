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
    QUALIFIERS,
    figure_quantities,
    fitting_dimensions,
    in_brackets,
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
_MODES = frozenset({"charge", "discharge"})
_CURRENTS = frozenset({"current", "rate"})
_TOLERANCE = re.compile(r"\(?(?:±|\+\s?/\s?[-−–])")
_Kind = Literal["value", "heat", "time", "rate", "word", "note", "aside", ""]
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
    """Return the label, or the sub-item with a value, that a line of one piece begins with, or ``None``."""
    text = _alone(row)
    if not text or is_prose(text):
        return None
    label, rest = label_and_value(text)
    if not label and (level := _level_before(text)):
        label, rest = level, text[len(level) :].strip()
    fitting = fitting_dimensions(label)
    dims = figure_quantities(rest)
    if dims and dims[0] not in fitting and _narrows(label):
        # "Maximum 0.8 A" below "Charge current": what it is of stands above.
        fitting = _CURRENTS if dims[0] in _CURRENTS else frozenset(dims[:1])
    if not fitting or is_band_only(label) or temperatures(label):
        return None
    return _Head(label, rest, fitting)


def _level_before(text: str) -> str:
    """Return the words such as "Maximum" that a value begins with; empty where it begins otherwise."""
    words = re.match(r"[^\W\d_]+\.?(?=\s)", text)
    return words[0] if words and _is_level(words[0]) else ""


def _narrows(label: str) -> bool:
    """Whether a label only says which figure of the one above it is, such as "Maximum"."""
    return bool(meanings(label) & QUALIFIERS) and not NOUNS & meanings(label)


def _alone(row: Row) -> str:
    """Return the text of a line of one piece in its one form, without its number; empty for any other row."""
    if row.ruled or row.unowned or len(row.filled) != 1 or "\n" in row.filled[0].text:
        return ""
    text = normal(row.filled[0].text).strip()
    # "0 °C ≤ T" and "(10 s)" begin with no number of a line.
    return text if is_band_only(text) or in_brackets(text) else without_item_number(text).strip()


def _kind(text: str, fitting: frozenset[str]) -> _Kind:
    """Return whether a text is a value of a label, a condition and of what kind, or something else."""
    if in_brackets(text) and len(text) < _LONGEST and {*figure_quantities(text)} <= {"temperature"}:
        return "word" if _is_word(text) else "aside"
    if is_band_only(text):
        return "value" if fitting == {"temperature"} else "heat"
    dims = figure_quantities(text)
    if len(text) < _LONGEST and not dims and not NOUNS & meanings(text):
        plain = masked(text, temperatures(text))
        times = [each for each in quantities(plain) if each.dimension in {"time", "seconds"}]
        if len(times) == 1 and (is_duration(text) or not re.search(r"[^\W\d_]{3}", text)):
            return "time"
        if _is_word(text):
            return "word"
    named = re.search(r"[^\W\d_]", without_relations(label_and_value(text)[0])) or _level_before(text)
    if named or not dims or dims[0] not in fitting or len(text) > _LONGEST_VALUE:
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
    head, word = _without_mode(head)
    if word:
        found.append(("word", word, rows[at]))
    if head.rest:
        kind = _kind(head.rest, head.fitting)
        if not kind:
            return [], at
        found.append((kind, head.rest, rows[at]))
    end = at + 1
    while end < len(rows) and end - at <= _MOST:
        row, text = rows[end], _alone(rows[end])
        kind = _kind(text, head.fitting) if text and row.page == rows[at].page else ""
        if not kind and not found and _is_note(text) and _is_value_at(rows, end + 1, head):
            kind = "note"
        if not kind or (kind == "word" and _begins_another(rows, end, found)):
            break
        if found and found[-1][0] == "value" and re.match(r"\s*" + _TOLERANCE.pattern, text):
            before = found[-1][2]
            joined = replace(before, quote=f"{before.quote} ... {row.quote}")
            found[-1] = ("value", f"{found[-1][1]} {text}", joined)
        else:
            found.append((kind, text, row))
        end += 1
    found = _with_asides(_with_rates_apart(found))
    if sum(each[0] == "value" for each in found) == 1:
        while found[-1][0] == "word" and not _is_level(found[-1][1]) and found[-1][2] is not rows[at]:
            # "Discharge" below one value may as well be the heading of what follows.
            found.pop()
            end -= 1
    return _paired(rows[at], head, found), end


def _without_mode(head: _Head) -> tuple[_Head, str]:
    """Return a label without the mode that it ends with, and that: "Operating temperature Charge"."""
    label, _, last = head.label.rpartition(" ")
    if head.rest or head.fitting != {"temperature"} or not _is_word(last) or not meanings(last) & _MODES:
        return head, ""
    return (_Head(label, "", head.fitting), last) if NOUNS & meanings(label) else (head, "")


def _is_note(text: str) -> bool:
    """Whether a text is conditions with numbers and no figure: "10 s, SOC > 50 %"."""
    plain = bool(text) and len(text) < _LONGEST and not figure_quantities(text)
    return plain and not NOUNS & meanings(text) and bool(quantities(text))


def _is_value_at(rows: Sequence[Row], at: int, head: _Head) -> bool:
    text = _alone(rows[at]) if at < len(rows) else ""
    return bool(text) and _kind(text, head.fitting) == "value"


def _begins_another(rows: Sequence[Row], at: int, found: Sequence[_Line]) -> bool:
    """Whether a word such as "Max." is the first line of the label that the next line goes on with, or a heading.

    "Discharging:" is a heading where the values before it had no such word each.
    """
    text = _alone(rows[at])
    if text.endswith(":"):
        values = sum(each[0] == "value" for each in found)
        return values != sum(each[0] == "word" and each[1].endswith(":") for each in found)
    following = _alone(rows[at + 1]) if at + 1 < len(rows) else ""
    goes_on = bool(re.match(r"[a-zà-ÿ]", following)) and bool(fitting_dimensions(following))
    return goes_on and text[:1].isupper()


def _with_rates_apart(found: Sequence[_Line]) -> list[_Line]:
    """Return lines; where values are amperes, a rate alone is only a remark beside one of them."""
    amperes = any(kind == "value" and "current" in figure_quantities(text) for kind, text, _ in found)
    return [
        ("rate", text, row) if amperes and kind == "value" and {*figure_quantities(text)} == {"rate"} else
        (kind, text, row)
        for kind, text, row in found
    ]  # fmt: skip


def _with_asides(found: Sequence[_Line]) -> list[_Line]:
    """Return lines; a word in brackets is as any text in brackets where there are others."""
    several = any(kind == "aside" for kind, *_ in found)
    return [
        ("aside" if several and kind == "word" and in_brackets(text) else kind, text, row)
        for kind, text, row in found
    ]


def _paired(row: Row, head: _Head, found: Sequence[_Line]) -> list[Row]:
    """Return a row for each value with the conditions that are of it; none where there is nothing to pair."""
    values = [each for each in found if each[0] == "value"]
    told = {kind: [each for each in found if each[0] == kind] for kind, *_ in found if kind != "value"}
    wider = any(_TOLERANCE.search(text) and " ... " in line.quote for _, text, line in values)
    if not values or not (told or wider):
        return []
    doubt = ""
    beside: list[tuple[_Line, ...]] = [()] * len(values)
    if any(len(each) != len(values) for each in told.values()) or _have_bands(values, [*told]):
        doubt = _NOT_TOLD
    elif told:
        beside = [*zip(*told.values(), strict=True)]
        doubt = "" if _in_turn([each[0] for each in found], len(values)) else BY_ORDER
    quote = " ... ".join(dict.fromkeys((row.quote, *(each[2].quote for each in found))))
    return [_row(row, head, value, of_it, doubt, quote) for value, of_it in zip(values, beside, strict=True)]


def _in_turn(kinds: Sequence[str], values: int) -> bool:
    """Whether each value has its conditions right beside it, all in one way."""
    size = len(kinds) // values
    return all(kinds[at : at + size] == kinds[:size] for at in range(0, len(kinds), size))


def _have_bands(values: Sequence[_Line], kinds: Sequence[str]) -> bool:
    """Whether a value has temperatures in its own line already, and further ones stand in lines of their own."""
    return "heat" in kinds and any(temperatures(each[1]) for each in values)


def _row(row: Row, head: _Head, value: _Line, beside: Sequence[_Line], doubt: str, quote: str) -> Row:
    """Return a label with one value and its conditions as a row of a table; words go to the label."""
    words = [text.strip("()") for kind, text, _ in beside if kind == "word"]
    own = " ".join((value[1], *(text for kind, text, _ in beside if kind == "aside")))
    notes = (text for kind, text, _ in beside if kind not in {"word", "aside"})
    texts = [" ".join((head.label, *words)), own, *notes]
    if not doubt:
        first = row.quote if value[2] is row or not head.rest else head.label
        others = (each[2].quote for each in (value, *beside) if each[2] is not row)
        quote = " ... ".join(dict.fromkeys((first, *others)))
    cells = tuple(Cell(text, column) for column, text in enumerate(texts))
    return replace(value[2], cells=cells, quote=quote, ruled=True, doubt=doubt)
