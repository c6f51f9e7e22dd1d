"""The title above a table by temperature: what it says once of all columns is said at the head of each.

"Maximum continuous currents" above "Cell temperature | Charge | Discharge" makes the columns limits; a title
"Maximum charge current (A)" says all of a column that is headed by the name of a model only.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from registry.sheet_reader.lines import LEVELS, NOUNS, figure_quantities, without_item_number
from registry.sheet_reader.names import codes
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Row
from registry.sheet_reader.units_at_values import parted_head, unit_of
from registry.sheet_reader.vocabulary import meanings, without_words

_MODES = frozenset({"charge", "discharge"})
_LASTS = frozenset({"continuous", "pulse", "not_continuous"})
_LIMITS = LEVELS | {"limit_speech"}
_ELSE = NOUNS - {"current", "temperature"}
"""What a title or head names besides a current makes it one of another figure."""
_OTHER = _ELSE | {"storage", "not_rating", "endpoint", "precharge"}
_OF_UNITS = ("A", "mA", "C")
_LONGEST = 100
_FARTHEST = 80
_MOST_BETWEEN = 2
"""So many lines that only add to a title may stand below it, such as "measured on the can"."""


@dataclass(frozen=True, slots=True)
class Title:
    """What a title above a table says, and the unit of the values below it; both may be empty."""

    words: str = ""
    unit: str = ""


def title_above(rows: Sequence[Row], at: int) -> Title:
    """Return the title of currents above the head of a table; an empty one where none stands there.

    What stands beside it, or in a block at the right of the page, may come between a title and its table.
    """
    head, unit, between, left_aside = rows[at], "", 0, False
    for row in reversed(rows[max(0, at - _FARTHEST) : at]):
        texts = {cell.text for cell in _over(row, head)}
        if row.page != head.page or between > _MOST_BETWEEN:
            break
        aside = row.aside and not head.aside
        if not texts or (aside and left_aside):
            continue
        text = without_item_number(normal(texts.pop())).strip(" :") if len(texts) == 1 else ""
        words, own = _with_unit_parted(text)
        if is_title(words):
            return Title(words, unit or own)
        if aside:
            left_aside = True
            continue
        if not _only_adds(text, own):
            break
        unit, between = unit or own, between + 1
    return Title()


def _over(row: Row, head: Row) -> list[Cell]:
    """Return the cells of a row that stand over a table, as far as places are known: all where they are not."""
    if row.block == head.block and row.ruled:
        return row.filled
    low, high = min(cell.left for cell in head.cells), max(cell.right for cell in head.cells)
    if high <= low or any(cell.right <= cell.left for cell in row.filled):
        return row.filled
    return [cell for cell in row.filled if cell.left < high and cell.right > low]


def _with_unit_parted(text: str) -> tuple[str, str]:
    """Return a line without the unit that it names, and that unit: "Unit: A", "Max. charge current (A)"."""
    words, unit = parted_head(text)
    if unit:
        return words, unit
    for found in re.finditer(r"[(\[]?([^()\[\]:]{2,12}):\s?(\S{1,3}?)[)\]]?$", text):
        if "h_unit" in meanings(found[1]) and unit_of(found[2]):
            return text[: found.start()].strip(), unit_of(found[2])
    return text, ""


def is_title(text: str) -> bool:
    """Whether a line is of currents: it names them, or says of which mode and that it is their limit."""
    said = meanings(text)
    if len(text) > _LONGEST or figure_quantities(text) or said & _OTHER:
        return False
    return "current" in said or bool(said & _MODES and said & (_LASTS | {"maximum", "limit_speech"}))


def _only_adds(text: str, unit: str) -> bool:
    """Whether a line below a title adds a unit, a model, or on what the temperature is measured."""
    said = meanings(text)
    if figure_quantities(text) or said & (_OTHER | _MODES | _LASTS):
        return False
    return bool(unit) or text.startswith("(") or bool(said & {"surface", "ambient"}) or bool(codes(text))


def completed(head: str, title: Title) -> str:
    """Return the head of a column with what its title says and the head leaves open; its own words win."""
    words, unit = parted_head(head)
    said, over = meanings(words), meanings(title.words)
    if not title.words or said & _OTHER or "temperature" in said or said & {"h_note", "h_unit"}:
        return head
    modes = over & _MODES
    if said & _MODES and len(modes) == 1 and modes != said & _MODES:
        return head
    own: set[str] = set()
    own |= _MODES if said & _MODES and modes != said & _MODES else set()
    own |= _LASTS if said & _LASTS or (said & _LIMITS) - over else set()
    own |= _LIMITS if said & _LIMITS else set()
    kept = "" if unit_of(words) else words
    unit = unit or unit_of(words) or title.unit
    # A name of a model, or "Value", says nothing of what stands below it.
    kept = kept if said - {"h_value", "model"} else ""
    whole = " ".join(filter(None, (kept, without_words(title.words, own))))
    return f"{whole} ({unit})" if unit in _OF_UNITS else whole


def may_be_current(head: str, values: Sequence[str], title: Title) -> bool:
    """Whether the title may say what a column holds: all its values are currents, or numbers of the title's unit."""
    words, unit = parted_head(head)
    said = meanings(words)
    known = bool(said & (_MODES | _LASTS | _LIMITS | {"current", "h_value", "model"}))
    if not known and not codes(words) and not unit_of(words) and words.strip():
        return False
    unit = unit or unit_of(words) or title.unit
    plain = [normal(each) for each in values if re.search(r"\d", each)]
    dims = [figure_quantities(each) for each in plain]
    return bool(plain) and all(
        set(each) <= {"current", "rate"} if each else unit in _OF_UNITS and _is_number(text)
        for each, text in zip(dims, plain, strict=True)
    )


def _is_number(text: str) -> bool:
    return bool(re.fullmatch(r"[≤<]?\s?\d+(?:[.,]\d+)?\W{0,3}", text))
