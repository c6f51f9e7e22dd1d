"""Columns that state in which air a pack is to work: one with both ends, or one for each."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from pydantic import ValidationError

from verifier.screening.columns import fields
from verifier.screening.heading_words import meanings, words_of
from verifier.screening.lines import as_written

AIR, AIR_FROM, AIR_TO = "use.temperature_c", "air from", "air to"
_DEGREES = re.compile(r"°\s?C\b|℃|º\s?C\b")
# "min_c": the unit behind a name of its own. Common practice, no source.
_UNIT_BEHIND = re.compile(r"[\s_](?:c|celsius)\Z", re.I)
_TEMPERATURE = re.compile(r"temp|温度|氣溫|気温|°|℃", re.I)
_SAMPLE = 200
_MOST = 0.8
# Temperatures of something else than discharging.
_OTHERWISE = frozenset(
    {"charge", "charger", "cell", "trip", "protect", "bms", "end", "connector", "lead", "fuse", "motor"}
)


def air_of(heading: str, values: Sequence[Any]) -> str | None:
    """Return what a column says of the air: `AIR`, `AIR_FROM`, `AIR_TO`, or None for a column of something else.

    Parameters
    ----------
    heading : str
    values : sequence
        The first values of the column.
    """
    stated = [each for each in map(as_written, values[:_SAMPLE]) if each is not None]
    marked = _DEGREES.search(heading) or (_TEMPERATURE.search(heading) and _UNIT_BEHIND.search(heading))
    if not stated or not (
        marked or sum(bool(_DEGREES.search(each)) for each in stated) > _MOST * len(stated)
    ):
        return None
    names = meanings(words_of(heading))
    if names & _OTHERWISE and "discharge" not in names:
        return None
    read = [ends for each in stated if (ends := _ends(each)) is not None]
    if len(read) <= _MOST * len(stated):
        return None
    low, high = "min" in names, "max" in names
    if low != high:
        return AIR_FROM if low else AIR_TO
    return AIR if any(first != last for first, last in read) else None


@lru_cache(maxsize=20_000)
def _ends(text: str) -> tuple[float, float] | None:
    try:
        _, read = fields()[AIR].read(text.replace("..", " to ") if _DEGREES.search(text) else text)
    except ValidationError:
        return None
    return None if read is None else (read.low, read.high)


def as_ranges(values: Sequence[Any]) -> list[Any]:
    """Return temperatures as ranges; what cannot be read stays as it is."""
    found: list[Any] = []
    for value in values:
        written = as_written(value)
        ends = None if written is None else _ends(written)
        found.append(written if ends is None else f"{ends[0]:g}..{ends[1]:g}")
    return found


def both_ends(lowest: Sequence[Any], highest: Sequence[Any]) -> list[str | None]:
    """Return ranges of two columns; nothing where either end is not stated, for the other would have to be guessed."""
    found: list[str | None] = []
    for low, high in zip(lowest, highest, strict=True):
        first, last = (None if each is None else _ends(each) for each in (as_written(low), as_written(high)))
        known = first is not None and last is not None and first[0] <= last[1]
        found.append(f"{first[0]:g}..{last[1]:g}" if known and first and last else None)
    return found


def first_stated(first: Sequence[Any] | None, second: Sequence[Any]) -> list[Any]:
    """Return what the first of two columns states, and of the second what it does not."""
    if first is None:
        return list(second)
    return [other if one is None else one for one, other in zip(first, second, strict=True)]
