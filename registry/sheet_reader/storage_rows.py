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
_FEWEST_TIMES = 2


def with_storage_named(rows: Sequence[Row]) -> Iterator[Row]:
    """Yield rows; one that begins with a duration, below heads of storage, has their words in its label."""
    rows = [*_from_columns(rows)]
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


def _from_columns(rows: Sequence[Row]) -> Iterator[Row]:
    """Yield rows; durations along the heads with a range of temperatures below each become a row each."""
    at = 0
    while at < len(rows):
        head, below = rows[at], rows[at + 1] if at + 1 < len(rows) else None
        made = [] if below is None else _turned(head, below, rows[max(0, at - _MOST_HEADS) : at])
        yield from made or [head]
        at += 2 if made else 1


def _turned(head: Row, row: Row, above: Sequence[Row]) -> list[Row]:
    """Return a row of durations and the one of temperatures below it as a row each; empty for other rows."""
    times = [cell for cell in head.filled if _is_time(cell.text)]
    if len(times) < _FEWEST_TIMES or head.page != row.page or head.filled[-len(times) :] != times:
        return []
    bands = [cell for cell in row.filled if is_band_only(normal(cell.text))]
    rest = [cell.text for cell in (*head.filled, *row.filled) if cell not in times and cell not in bands]
    if len(bands) != len(times) or row.filled[-len(bands) :] != bands or len(rest) > _FEWEST_TIMES:
        return []
    told = next((text for text in rest if "storage" in meanings(text)), "") or _storage(above, row)
    if not told:
        return []
    quote = f"{head.quote} ... {row.quote}"
    return [
        replace(row, cells=(replace(time, text=f"{told} {time.text}", column=0), replace(band, column=1)),
                quote=quote, ruled=False)
        for time, band in zip(times, bands, strict=True)
    ]  # fmt: skip


def _is_time(text: str) -> bool:
    """Whether a text is a number of months or years and nothing else."""
    plain = normal(text)
    lasts = months_in(plain)
    return len(lasts.values) == 1 and not lasts.unread and not NOUNS & meanings(plain)


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
