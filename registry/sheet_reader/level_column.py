"""One column of values under a head such as "Maximum value": that level is said at the label of each row.

Only a row whose own words name no level takes it, and only where a level says something: what a cell weighs,
measures, resists or carries at most, and which capacity is printed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from registry.sheet_reader.columns import apart
from registry.sheet_reader.lines import LEVELS, NOUNS, figure_quantities, is_band_only
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Row
from registry.sheet_reader.units_at_values import parted_head
from registry.sheet_reader.vocabulary import meanings

_LONGEST_HEAD = 40
_MODES = frozenset({"charge", "discharge"})
_OF_THE_CELL = frozenset({"mass", "diameter", "length", "width", "thickness", "size", "resistance"})
_OWN = LEVELS | {"limit_speech", "continuous", "pulse", "endpoint"}
"""What of a row's own words leaves nothing to say for the head of its column."""
_BESIDE = frozenset({"h_unit", "h_note", "h_item"})


def with_level_named(rows: Sequence[Row]) -> Iterator[Row]:
    """Yield rows; those below a head with one column of a level have it in their labels."""
    head: Row | None = None
    level: Cell | None = None
    for row in rows:
        found = _level_of(row)
        if found is not None:
            head, level = row, found
        elif head is not None and level is not None:
            if not _is_below(head, row):
                head = level = None
            else:
                row = _with_level(row, level)
        yield row


def _level_of(row: Row) -> Cell | None:
    """Return the head of the one column of values in a row of heads, where it is a level; else ``None``."""
    filled = row.filled
    if len(filled) < 2 or any(
        re.search(r"\d", cell.text) or len(cell.text) > _LONGEST_HEAD for cell in filled
    ):
        return None
    levels = [cell for cell in filled[1:] if _level(cell.text)]
    others = [cell for cell in filled[1:] if cell not in levels]
    if len(levels) != 1 or _level(filled[0].text) or meanings(filled[0].text) & (_MODES | {"temperature"}):
        return None
    return levels[0] if all(meanings(cell.text) & _BESIDE for cell in others) else None


def _level(head: str) -> str:
    """Return the level that a head is and nothing else, its unit left out: "Max. (mm)"; empty for another head."""
    said = meanings(parted_head(head)[0])
    own = said & {"maximum", "minimum", "typical"}
    return next(iter(own)) if len(own) == 1 and not said & (NOUNS | _MODES | {"continuous", "pulse"}) else ""


def _is_below(head: Row, row: Row) -> bool:
    """Whether a row is one of values below a head, or a caption within its ruled table."""
    if head.block != row.block or head.ruled != row.ruled:
        return False
    if head.ruled and len(row.cells) != len(head.cells):
        return False
    values = len(row.filled) > 1 and any(re.search(r"\d", cell.text) for cell in row.filled[1:])
    return values or (head.ruled and len({cell.text for cell in row.filled}) == 1)


def _with_level(row: Row, level: Cell) -> Row:
    """Return a row with the level of its column in its label, where its value lies there and takes it."""
    filled = row.filled
    if row.ruled:
        value = next((cell for cell in filled[1:] if cell.column == level.column), None)
    else:
        value = min(filled[1:], key=lambda cell: apart(cell, level), default=None)
    if value is None or not re.search(r"\d", value.text) or is_band_only(normal(value.text)):
        return row
    said, name = meanings(filled[0].text), _level(level.text)
    of_current = bool(said & _MODES) and set(figure_quantities(normal(value.text))) <= {"current", "rate"}
    of_cell = bool(said & _OF_THE_CELL)
    takes = of_cell or (of_current and name == "maximum") or ("capacity" in said and name != "maximum")
    if not takes or said & _OWN or meanings(value.text) & LEVELS:
        return row
    named = replace(filled[0], text=f"{filled[0].text}, {parted_head(level.text)[0]}")
    return replace(row, cells=tuple(named if cell is filled[0] else cell for cell in row.cells))
