"""Rows that go on with the row above: a label or a remark of two lines, and a row that leaves out what it repeats.

A cell of two lines is two rows in a table of letters, a workbook or a page without rules. Its second half is
no row of its own, and what it says is lost or taken for a value where it is read as one.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from registry.sheet_reader.lines import (
    NOUNS,
    QUALIFIERS,
    figure_quantities,
    fitting_dimensions,
    in_brackets,
    is_band_only,
    is_duration,
    is_prose,
)  # fmt: skip
from registry.sheet_reader.quantities import normal, quantities
from registry.sheet_reader.rows import Cell, Row
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.units_at_values import parted_head, unit_of
from registry.sheet_reader.vocabulary import meanings

_MOST_OF_A_NAME = 2
"""So many words are the second line of a label that lacks its name."""
_SAME_PLACE = 2.5
"""Two lines begin at one place within this. [pt, or letters]."""
_LONGEST_LABEL = 60
_FEWEST_HEADS = 3
_LONGEST_HEAD = 40
_NUMBER = re.compile(r"[≤≥<>±~Φ+\-−–]{0,2}\s?\d")
_BARE = re.compile(
    r"\s*[≤≥<>±~]?\s*\d+(?:[.,]\d+)?\s*(?:±\s*\d+(?:[.,]\d+)?)?\s*(?:max|min|typ)?\.?\s*", re.I
)
_GOES_ON = re.compile(r"[(\[]|[a-zà-ÿ]")
_OPEN = re.compile(r"(?:[-,/&+]|\b(?:of|and|or|und|oder|et|ou|y|o|e|for|bei|at|with|mit))\s*$")


def with_continued(rows: Sequence[Row]) -> list[Row]:
    """Return rows; each that goes on with the one above is joined to it, or gets what it leaves out."""
    made: list[Row] = []
    for row in rows:
        if not made or not _follows(made[-1], row):
            made.append(row)
            continue
        joined = _joined(made[-1], row)
        if joined is None:
            made.append(_filled_in(made[-1], row))
        else:
            made[-1] = joined
    return made


def _follows(above: Row, row: Row) -> bool:
    """Whether two rows are neighbours of one block that may be one."""
    if above.block != row.block or above.page != row.page or above.ruled != row.ruled:
        return False
    if above.unowned or row.unowned or (row.ruled and len(row.cells) != len(above.cells)):
        return False
    return bool(above.filled and row.filled)


def _joined(above: Row, row: Row) -> Row | None:
    """Return two rows as one, where the second holds nothing but second lines of the cells of the first."""
    places = [_place(cell, above) for cell in row.filled]
    label = above.cells.index(above.filled[0])
    value = _value_place(above, label)
    if any(cell.carried for cell in row.filled):
        return None
    if value is None:
        return _label_alone(above, row) or _label_first(above, row, label) or _heads_of_two_lines(above, row)
    if None in places or len({*places}) < len(places):
        return None
    if value in places or not (
        _wraps(above, row, label, value) if label in places else _goes_on(above, row, value)
    ):
        return None
    return _merged(above, row, [place for place in places if place is not None])


def _place(cell: Cell, above: Row) -> int | None:
    """Return the place of the cell in the row above that a cell stands below, or ``None``."""
    for at, each in enumerate(above.cells):
        if not each.text:
            continue
        if above.ruled:
            if each.column == cell.column:
                return at
        elif abs(each.left - cell.left) <= _SAME_PLACE:
            return at
    return None


def _value_place(above: Row, label: int) -> int | None:
    """Return the place of the first cell behind a label that begins with a number."""
    return next((at for at, cell in enumerate(above.cells) if at > label and _NUMBER.match(cell.text)), None)


def _wraps(above: Row, row: Row, label: int, value: int) -> bool:
    """Whether the first cell of a row is the second line of the label above it."""
    first, own = above.cells[label].text, row.filled[0].text
    if len(own) > _LONGEST_LABEL or figure_quantities(normal(own)) or re.search(r"\d", own.strip("()")):
        return False
    if first.count("(") > first.count(")") or _OPEN.search(first) or unit_of(own):
        return True
    if not _GOES_ON.match(own):
        return False
    said, whole = meanings(first), meanings(f"{first} {own}")
    dims = set(figure_quantities(normal(above.cells[value].text)))
    needed = not dims & fitting_dimensions(normal(first)) or not NOUNS & said
    return (needed and bool(NOUNS & whole)) or len(row.filled) > 1


def _goes_on(above: Row, row: Row, value: int) -> bool:
    """Whether every cell of a row is the second line of a remark."""
    for cell in row.filled:
        at = _place(cell, above)
        before = above.cells[at] if at is not None else None
        if at is None or before is None or at < value or before.carried or is_duration(cell.text):
            return False
        if _BARE.fullmatch(before.text) or unit_of(before.text):
            return False
        if is_band_only(normal(before.text)) or (_is_whole(before.text) and _is_whole(cell.text)):
            return False
    return True


def _is_whole(text: str) -> bool:
    """Whether a remark is a value with its unit and nothing else."""
    return bool(_NUMBER.match(text)) and bool(figure_quantities(normal(text)))


def _label_alone(above: Row, row: Row) -> Row | None:
    """Return two lines of one piece each that are one label: "Max. continuous discharging", then "current".

    The first says of what it is and names no figure, the second is the name alone.
    """
    if row.ruled or len(above.filled) > 1 or len(row.filled) > 1:
        return None
    first, own = above.filled[0], row.filled[0]
    said, named = meanings(first.text), meanings(own.text)
    words = re.findall(r"[^\W\d_]+", own.text)
    whole = not re.search(r"\d", own.text) and not figure_quantities(normal(first.text))
    if not whole or not NOUNS & named or NOUNS & said or is_prose(first.text):
        return None
    if not fitting_dimensions(normal(first.text)):
        # "max." alone may be of the value above it.
        return None
    if any(not meanings(word) for word in words) or named & QUALIFIERS - {"maximum", "minimum"} & said:
        return None
    level = bool(said & (QUALIFIERS - {"charge", "discharge", "storage", "operating"}))
    if not level and not own.text[:1].islower():
        # "Charge" over "Voltage" may be the heading of several rows.
        return None
    if len(words) > _MOST_OF_A_NAME or first.text.rstrip().endswith((":", ".", ";")):
        return None
    return _merged(above, row, [above.cells.index(first)])


def _label_first(above: Row, row: Row, label: int) -> Row | None:
    """Return a label alone with the row below it that begins with the label's second line."""
    own = row.filled[0]
    if len(above.filled) > 1 or len(row.filled) < 2 or _place(own, above) != label:
        return None
    first = above.cells[label].text
    open_end = first.count("(") > first.count(")") or _OPEN.search(first)
    bracketed = in_brackets(own.text) and _NUMBER.match(row.filled[1].text)
    if is_prose(first) or not (unit_of(own.text) or open_end or bracketed) or not NOUNS & meanings(first):
        return None
    cells = tuple(replace(c, text=f"{first} {c.text}") if c is own else c for c in row.cells)
    return replace(row, cells=cells, quote=f"{above.quote}  {row.quote}")


def _heads_of_two_lines(above: Row, row: Row) -> Row | None:
    """Return the heads of a table without rules with their second lines, each below the one it goes on with."""
    if row.ruled or len(above.filled) < _FEWEST_HEADS or len(row.filled) < _FEWEST_HEADS - 1:
        return None
    own = [cell for cell in (*above.filled, *row.filled) if not _NUMBER.match(cell.text)]
    if len(own) < len(above.filled) + len(row.filled) or any(len(c.text) > _LONGEST_HEAD for c in own):
        return None
    if not all(meanings(cell.text) or unit_of(cell.text) for cell in row.filled):
        return None
    places = [
        [at for at, over in enumerate(above.cells) if over.text and _overlap(over, cell)]
        for cell in row.filled
    ]
    if any(len(each) != 1 for each in places) or len({each[0] for each in places}) < len(places):
        return None
    if [above.filled[0]] == [above.cells[each[0]] for each in places][:1]:
        return None
    said = [meanings(above.cells[each[0]].text) for each in places]
    return _merged(above, row, [each[0] for each in places]) if all(said) else None


def _overlap(one: Cell, other: Cell) -> bool:
    return one.left < other.right and other.left < one.right


def _merged(above: Row, row: Row, places: Sequence[int]) -> Row:
    cells = list(above.cells)
    for at, cell in zip(places, row.filled, strict=True):
        held = cells[at]
        hyphen = re.search(r"[^\W\d_]-$", held.text) and re.match(r"[a-zà-ÿ]", cell.text)
        text = f"{held.text[:-1]}{cell.text}" if hyphen else f"{held.text} {cell.text}"
        cells[at] = replace(held, text=text, right=max(held.right, cell.right))
    return replace(above, cells=tuple(cells), quote=f"{above.quote}  {row.quote}")


def _filled_in(above: Row, row: Row) -> Row:
    """Return a row with what it leaves out because the row above says it: what is stored, or the unit."""
    stored = _with_item(above, row)
    if stored is not None:
        return stored
    if not row.ruled or row.cells[0].text or not above.cells[0].text:
        return row
    cells = list(row.cells)
    unit = parted_head(above.cells[0].text)[1]
    for at, (over, cell) in enumerate(zip(above.cells, row.cells, strict=True)):
        if not cell.text and unit_of(over.text):
            cells[at] = replace(over, carried=False)
        elif at and unit and _BARE.fullmatch(cell.text) and _BARE.fullmatch(over.text):
            cells[at] = replace(cell, text=f"{cell.text} {unit}")
    return replace(row, cells=tuple(cells))


def _duration_first(text: str) -> tuple[str, str]:
    """Return the duration that a text begins with, and the rest of it; empty where it begins otherwise."""
    times = [each for each in quantities(masked(text, temperatures(text))) if each.dimension == "time"]
    if (
        not times
        or not is_duration(text[: times[0].end])
        or re.search(r"[^\W\d_]{3}.*\d", text[: times[0].end])
    ):
        return "", ""
    return text[: times[0].end].strip(), text[times[0].end :].strip(" :,;)")


def _with_item(above: Row, row: Row) -> Row | None:
    """Return a row that begins with a duration below another duration, with the item that both are of."""
    filled, over = row.filled, above.filled
    label, value = _duration_first(normal(filled[0].text))
    if len(filled) == 1 and label and value and not row.ruled:
        # "Up to 3 months -20 to 45 °C" may stand so close that it is one piece.
        first = filled[0]
        filled = [replace(first, text=label), replace(first, text=value, column=first.column + 1)]
    if (
        len(filled) >= len(over)
        or not is_duration(normal(filled[0].text))
        or figure_quantities(normal(filled[0].text))
    ):
        return None
    before, beside = over[: -len(filled)], over[-len(filled)]
    if not is_duration(normal(beside.text)) or not any(meanings(cell.text) for cell in before):
        return None
    if row.ruled:
        places = {cell.column: cell for cell in before}
        if any(cell.column in places for cell in filled):
            return None
        cells = tuple(replace(places[c.column], carried=True) if c.column in places else c for c in row.cells)
        return replace(row, cells=cells)
    return replace(row, cells=(*(replace(cell, carried=True) for cell in before), *filled))
