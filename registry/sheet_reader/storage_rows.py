"""Storage by duration, a line each: what the heads above say once, that it is of storage, is said at each line."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from registry.sheet_reader.lines import NOUNS, figure_quantities, is_band_only, is_duration
from registry.sheet_reader.months import months_in
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Row
from registry.sheet_reader.vocabulary import meanings

_MOST_HEADS = 3
"""So many lines above the first duration may say that it is of storage."""
_LONGEST_HEAD = 60


def with_storage_named(rows: Sequence[Row]) -> Iterator[Row]:
    """Yield rows; one that begins with a duration, below heads of storage, has their words in its label."""
    named = ""
    heads: list[Row] = []
    for row in rows:
        if not _begins_with_duration(row):
            named = ""
            heads = [*heads, row][-_MOST_HEADS:]
            yield row
            continue
        named = named or _storage(heads, row)
        heads = []
        if not named:
            yield row
            continue
        first = row.filled[0]
        label = replace(first, text=f"{named} {first.text}")
        yield replace(row, cells=tuple(label if cell is first else cell for cell in row.cells))


def _begins_with_duration(row: Row) -> bool:
    """Whether a row is a number of months or years and a range of temperatures beside it."""
    filled = row.filled
    if len(filled) < 2:
        return False
    first = normal(filled[0].text)
    lasts = months_in(first)
    time = bool(lasts.values or lasts.unread) and not NOUNS & meanings(first) and not figure_quantities(first)
    if not time or (not is_duration(first) and re.search(r"\d.*\d", first)):
        return False
    return any(is_band_only(normal(cell.text)) for cell in filled[1:])


def _storage(heads: Sequence[Row], row: Row) -> str:
    """Return the words of the heads above a row that are of storage and its temperature; empty where none are."""
    for head in reversed(heads):
        if head.page != row.page or figure_quantities(normal(head.quote)):
            return ""
        for cell in reversed(head.filled):
            if "storage" in meanings(cell.text) and len(cell.text) <= _LONGEST_HEAD:
                return re.sub(r"[(\[][^()\[\]]*[)\]]", " ", cell.text).strip()
    return ""
