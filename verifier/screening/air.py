"""Columns that state in which air a pack is to work: one with both ends, or one for each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pydantic import ValidationError

from verifier.screening.columns import fields
from verifier.screening.lines import as_written, meanings
from verifier.screening.values import says_nothing

AIR, AIR_FROM, AIR_TO = "use.temperature_c", "air from", "air to"
_CELSIUS = "C"
_SAMPLE = 200
_MOST = 0.8
# Temperatures of something else than discharging.
_OTHERWISE = frozenset(
    {"charge", "charger", "cell", "trip", "protect", "bms", "end", "connector", "lead", "fuse"}
)


def air_of(heading: str, unit: str | None, values: Sequence[Any]) -> str | None:
    """Return what a column says of the air: `AIR`, `AIR_FROM`, `AIR_TO`, or None for a column of something else.

    Parameters
    ----------
    heading : str
    unit : str or None
        The unit in the heading.
    values : sequence
        The first values of the column.
    """
    stated = [str(each) for each in values[:_SAMPLE] if not says_nothing(each)]
    marked = unit == _CELSIUS or sum(
        any(sign in each for sign in ("°C", "℃")) for each in stated
    ) > _MOST * len(stated)
    if not stated or not marked:
        return None
    names = meanings(heading)
    if names & _OTHERWISE and "discharge" not in names:
        return None
    read = [ends for each in stated if (ends := _ends(each)) is not None]
    if len(read) <= _MOST * len(stated):
        return None
    low, high = "min" in names, "max" in names
    if low != high:
        return AIR_FROM if low else AIR_TO
    return AIR if any(first != last for first, last in read) else None


def _ends(text: str) -> tuple[float, float] | None:
    try:
        _, read = fields()[AIR].read(text)
    except ValidationError:
        return None
    return None if read is None else (read.low, read.high)


def both_ends(lowest: Sequence[Any], highest: Sequence[Any]) -> list[str | None]:
    """Return ranges of two columns; nothing where either end is not stated, for the other would have to be guessed."""
    found: list[str | None] = []
    for low, high in zip(lowest, highest, strict=True):
        ends = [None if each is None else _ends(each) for each in (as_written(low), as_written(high))]
        first, last = ends
        found.append(
            None if first is None or last is None or first[0] > last[1] else f"{first[0]:g}..{last[1]:g}"
        )
    return found
