"""Labels that stand one a line with their values one a line behind them, and labels listed with strokes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from registry.sheet_reader.lines import (
    NOUNS,
    QUALIFIERS,
    figure_quantities,
    fitting_dimensions,
    in_some_bracket,
    is_band_only,
    label_and_value,
    without_item_number,
)  # fmt: skip
from registry.sheet_reader.quantities import Quantity, normal, quantities
from registry.sheet_reader.rows import Cell, Row
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings

_HEAT = frozenset({"temperature", "ambient", "surface", "bare"})
_OF_SOME = "temperatures stand below the values, and of which of them they are is not told"
_BELOW = "its label stands on the line below it"
_FEWEST = 3
"""Fewer labels in a run may each be a heading."""
_MOST = 60
_CURRENTS = frozenset({"current", "rate"})
_SIDES = frozenset({"length", "width", "thickness", "size"})
_SIDE_NAMES = {
    "D": "diameter",
    "Ø": "diameter",
    "Φ": "diameter",
    "L": "length",
    "H": "length",
    "W": "width",
    "T": "thickness",
}
"""What drawings call the sides of a cell."""
_LISTS = (
    frozenset({"nominal", "minimum", "typical", "rated", "maximum"}),
    frozenset({"standard", "maximum", "fast"}), frozenset({"ac", "dc"}), frozenset({"continuous", "pulse"}),
    frozenset({"nominal", "full", "cutoff", "charge", "discharge"}),
)  # fmt: skip


def in_order(rows: Sequence[Row]) -> list[Row]:
    """Return rows; labels that stand one a line and their values that follow one a line become pairs.

    They are paired only where both runs are of one length and each value is of the kind of its label. A
    line of one digit, as a lowered 5 leaves it, is left out.
    """
    rows = [row for row in rows if not re.fullmatch(r"\s*\d?\s*", " ".join(c.text for c in row.filled))]
    made: list[Row] = []
    at = 0
    while at < len(rows):
        paired, end = _side_by_side(rows, at)
        if not paired:
            paired, end = _paired(rows, at)
        if not paired:
            paired, end = _values_first(rows, at)
        made += paired or rows[at : at + 1]
        at = end if paired else at + 1
    return made


def _paired(rows: Sequence[Row], at: int) -> tuple[list[Row], int]:
    """Return the pairs that a run of labels from here on makes with the values behind it, and their end."""
    labels = _run(rows, at, values=False)
    if labels < _FEWEST:
        return [], at
    first_value = at + labels
    if first_value < len(rows) and _is_filler(rows[first_value]):
        first_value += 1
    count = _run(rows, first_value, values=True)
    heat, end = _heat_behind(rows, first_value, count, labels)
    count -= heat
    first = at + labels - count
    pairs = list(zip(rows[first : first + count], rows[first_value : first_value + count], strict=False))
    if count < _FEWEST or first < at or not all(_fit(label, value) for label, value in pairs):
        return [], at
    told = rows[first_value + count : end] if heat else []
    return [*rows[at:first], *(_pair(label, value, told) for label, value in pairs)], end


def _values_first(rows: Sequence[Row], at: int) -> tuple[list[Row], int]:
    """Return the pairs of a run in which each label stands on the line below its value, and their end.

    Each value has to be of the kind of the label below it, and not each of that of the label above it. What decides
    is their kinds alone, so all of them are to be confirmed.
    """
    end = at
    while end + 1 < len(rows) and end - at < _MOST and _run(rows, end, values=True) == 1:
        if _run(rows, end + 1, values=False) == 0 or not _fit(rows[end + 1], rows[end]):
            break
        end += 2
    pairs = list(zip(rows[at:end:2], rows[at + 1 : end : 2], strict=True))
    otherwise = [_fit(label, value) for (_, label), (value, _) in pairwise(pairs)]
    before = rows[at - 1] if at else None
    led = before is not None and _run(rows, at - 1, values=False) > 0 and _fit(before, rows[at])
    if len(pairs) < _FEWEST or led or all(otherwise):
        return [], at
    return [replace(_pair(label, value, ()), doubt=_BELOW) for value, label in pairs], end


def _heat_behind(rows: Sequence[Row], first: int, count: int, labels: int) -> tuple[int, int]:
    """Return how many of the last values of a run are temperatures that no label is left for, and where these end.

    They are conditions of values above them, and it is not told of which.
    """
    end = first + count
    behind = rows[first + labels : end] if count > labels else ()
    surplus = bool(behind) and all(is_band_only(normal(row.quote)) for row in behind)
    return len(behind) if surplus else 0, end


def _side_by_side(rows: Sequence[Row], at: int) -> tuple[list[Row], int]:
    """Return the pairs of a line of labels and one of values, the one above the other, and their end.

    Each value must stand over or under its label and be of its kind; a second line of values under the
    labels makes a table, which is read otherwise.
    """
    two = rows[at : at + 2]
    if len(two) < 2 or len(two[0].filled) < 2 or len(two[0].filled) != len(two[1].filled):
        return [], at
    kinds = [_kind(row) for row in two]
    if sorted(kinds) != ["label", "value"]:
        return [], at
    label, value = two if kinds[0] == "label" else two[::-1]
    if is_band_only(normal(value.filled[0].text)) and meanings(label.filled[0].text) <= _HEAT:
        # One row of a matrix: the temperatures at its left hold for the currents beside them.
        return [], at
    fits = all(map(_goes_with, label.filled, value.filled))
    after = rows[at + 2] if at + 2 < len(rows) else None
    table = kinds[0] == "label" and after is not None and _kind(after) == "value"
    if not fits or table:
        return [], at
    return [
        replace(
            value,
            cells=(replace(a, column=0), replace(b, column=1)),
            quote=f"{a.text} ... {b.text}",
            ruled=True,
        )
        for a, b in zip(label.filled, value.filled, strict=True)
    ], at + 2


def _kind(row: Row) -> str:
    """Return whether all cells of a row are labels, or all of them values."""
    texts = [normal(cell.text) for cell in row.filled]
    if all(meanings(text) & NOUNS and not figure_quantities(text) for text in texts):
        return "label"
    bare = all(figure_quantities(text) and not NOUNS & meanings(text) for text in texts)
    return "value" if bare and texts else ""


def _goes_with(label: Cell, value: Cell) -> bool:
    beside = (label.left <= value.right and label.right >= value.left) or label.column == value.column
    dims = set(figure_quantities(normal(value.text)))
    return beside and bool(fitting_dimensions(normal(label.text)) & dims)


def _pair(label: Row, value: Row, heat: Sequence[Row]) -> Row:
    """Return a label with its value as a row, to be confirmed where temperatures below may be of the value."""
    cells = (replace(label.filled[0], column=0), replace(value.filled[0], column=1))
    doubt = _OF_SOME if heat and _CURRENTS & set(figure_quantities(normal(value.quote))) else value.doubt
    quote = " ... ".join((value.quote, *(row.quote for row in heat))) if doubt else value.quote
    return replace(value, cells=cells, quote=f"{label.quote} ... {quote}", ruled=True, doubt=doubt)


def _fit(label: Row, value: Row) -> bool:
    return bool(fitting_dimensions(normal(label.quote)) & set(figure_quantities(normal(value.quote))))


def _run(rows: Sequence[Row], at: int, *, values: bool) -> int:
    """Return how many rows from here on hold one cell each: a label without a value, or a value."""
    count = 0
    for row in rows[at : at + _MOST]:
        if len(row.filled) != 1:
            break
        text = without_item_number(normal(row.filled[0].text))
        if not (_is_value(text) if values else _is_label(text)):
            break
        count += 1
    return count


def _is_label(text: str) -> bool:
    return bool(meanings(text) & (NOUNS | QUALIFIERS)) and not figure_quantities(text)


def _is_value(text: str) -> bool:
    """Whether a line is a value, or names its own parts: "Height 65 mm max, Diameter 18 mm"."""
    if not figure_quantities(text):
        return False
    label = label_and_value(text)[0].partition("(")[0]
    return not NOUNS & meanings(label) or not meanings(text) & {"voltage", "current", "capacity"}


def _is_filler(row: Row) -> bool:
    """Whether a line between labels and values is only their heading, such as "Specification"."""
    headed = meanings(row.quote) & {"h_value", "h_note", "h_unit", "ratings"}
    return len(row.filled) == 1 and not re.search(r"\d", row.quote) and bool(headed)


def listed(label: str, value: str) -> list[tuple[str, str]]:
    """Part "Capacity nom. / min." with "2500 / 2450 mAh" into one label and one value for each.

    What stands in brackets is no number of the list, and of each number it stands behind.
    """
    if sides := _sides(label, value):
        return sides
    if banded := _banded(label, value):
        return banded
    names = _names(label)
    fitting = fitting_dimensions(label) or {"voltage"}
    masked_value = masked(value, temperatures(value))
    inside = in_some_bracket(value)
    found = [
        each for each in quantities(masked_value)
        if not inside[each.start] and (each.dimension in fitting or not each.dimension)
    ]  # fmt: skip
    if not names or len(found) != len(names):
        return []
    if len({each.dimension for each in found}) != 1 or not found[0].dimension:
        return []
    return list(zip(names, _each_with_unit(value, found), strict=True))


def _banded(label: str, value: str) -> list[tuple[str, str]]:
    """Part "Max. current (0 to 10 °C / 10 to 45 °C)" with "0.9 / 2.8 A" into one value for each band."""
    listing = re.fullmatch(r"(?P<stem>[^()]*)\((?P<list>[^()/]+(?:/[^()/]+)+)\)(?P<rest>[^()]*)", label)
    bands = [part.strip() for part in listing["list"].split("/")] if listing else []
    if listing is None or not all(is_band_only(band) for band in bands):
        return []
    heat = temperatures(listing["list"])
    found = quantities(value)
    fitting = {*_CURRENTS, ""}
    if (
        len(found) != len(bands)
        or len(heat) != len(bands)
        or any(each.dimension not in fitting for each in found)
    ):
        return []
    if value.count("/") != len(bands) - 1 or found[-1].dimension not in _CURRENTS:
        return []
    stem = f"{listing['stem'].strip()} {listing['rest'].strip()}".strip()
    ranges = [listing["list"][each.start : each.end].strip() for each in heat]
    degrees = [each if re.search(r"[°℃]", each) else f"{each} °C" for each in ranges]
    values = _each_with_unit(value, found)
    return [(stem, f"{each} ({band})") for each, band in zip(values, degrees, strict=True)]


def _names(label: str) -> list[str]:
    """Return the whole label of each part of a list: "Voltage, nominal / full / empty" makes three.

    What all of them are stands before the first part, behind the last one, or outside of brackets.
    """
    bracketed = re.fullmatch(r"(?P<stem>[^()]+)\((?P<list>[^()/]+/[^()]+)\)\s*:?", label.strip())
    parts = [part.strip() for part in re.split(r"\s?/\s?", bracketed["list"] if bracketed else label)]
    if len(parts) < 2 or not all(parts):
        return []
    words = parts[0].split()
    stem = bracketed["stem"].strip() if bracketed else " ".join(words[:-1])
    own = [parts[0] if bracketed else words[-1], *parts[1:]]
    group = next((each for each in _LISTS if _tells_apart(own, each)), None)
    if group is None and not bracketed and len(words) > 1:
        # "Nominal voltage / full charge voltage": each part is whole.
        own = parts
        group = next((each for each in _LISTS if _tells_apart(own, each)), None)
    if group is None:
        return []
    if NOUNS & meanings(stem) or not NOUNS & meanings(parts[-1]):
        return [f"{stem} {part}".strip() for part in own]
    last = parts[-1].split()
    at = max(n for n, word in enumerate(last) if meanings(word) & group) + 1
    tail = " ".join(last[at:])
    return [*(part if NOUNS & meanings(part) else f"{part} {tail}" for part in parts[:-1]), parts[-1]]


def _tells_apart(parts: Sequence[str], group: frozenset[str]) -> bool:
    """Whether every part says something of a group, and no two say the same."""
    said = [meanings(part) & group for part in parts]
    return all(said) and len(set(said)) == len(said)


def _sides(label: str, value: str) -> list[tuple[str, str]]:
    """Part "Thickness x width x length" with "8 x 60 x 150 mm" into one label and one value for each side.

    A round cell, whose diameter is named, is no box; its two sides are read together.
    """
    names = re.split(r"\s[x*]\s|\s?/\s?", label.replace("(", " ").replace(")", " ").strip())
    said = meanings(label) & NOUNS
    found = quantities(value)
    letters = [name.split()[-1] if name.split() else "" for name in names]
    if all(letter in _SIDE_NAMES for letter in letters):
        # "Size (D x L)": each side is called by its letter.
        spoken = [_SIDE_NAMES[letter] for letter in letters]
        names = spoken if len({*spoken}) == len(spoken) else names
    if len(names) < 2 or len(found) != len(names) or not said or said - _SIDES:
        return []
    # "7.2 ± 0.2 x 64 ± 1 x 151 ± 1 mm" has the unit of all behind the last.
    if found[-1].dimension != "length" or any(each.dimension not in {"", "length"} for each in found):
        return []
    return list(zip(names, _each_with_unit(value, found), strict=True))


def _each_with_unit(value: str, found: Sequence[Quantity]) -> list[str]:
    """Return each number of a list with what follows it; the last one's unit is that of all."""
    ends = [*(each.start for each in found[1:]), len(value)]
    shown = [value[each.start : end].strip(" /,;x*") for each, end in zip(found, ends, strict=True)]
    unit = re.sub(r"^[\d.,\s±+-]+", "", found[-1].printed)
    return [text if re.search(r"[^\W\d_]", text) else f"{text} {unit}" for text in shown]
