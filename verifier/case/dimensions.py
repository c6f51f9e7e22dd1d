"""The outside of a pack as a listing prints it, and the room that it has: 300 x 90 x 80 mm."""

from __future__ import annotations

import re
import unicodedata
from math import prod
from typing import Annotated

from pydantic import AfterValidator

from registry.cell import rule
from registry.fields import Text

_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, '"': 25.4}
_SIDE = r"(?:[lwhdbtLWHDBT]\s?)?(\d{1,4}(?:[.,]\d{1,3})?)"
_UNIT = r"\s?(mm|cm|m|inch|in|\")"
_BY = r"\s?(?:\([a-zA-Z]\)\s?)?[xX×*]\s?"
_DIMENSIONS = re.compile(
    rf"{_SIDE}(?:{_UNIT})?{_BY}{_SIDE}(?:{_UNIT})?{_BY}{_SIDE}{_UNIT}(?:\s?\([a-zA-Z]\))?"
)
_LEAST_MM, _MOST_MM = 15, 2000


def sides_of(text: str) -> tuple[str, ...] | None:
    """Return the three sides and their unit as printed; None for any other text, and for the sides of no pack."""
    found = _DIMENSIONS.fullmatch(unicodedata.normalize("NFKC", text).strip())
    if found is None or any(found[place] not in (None, found[6]) for place in (2, 4)):
        return None
    sides = tuple(found[place].replace(",", ".") for place in (1, 3, 5))
    if not all(_LEAST_MM <= float(side) * _MM[found[6]] <= _MOST_MM for side in sides):
        return None
    return (*sides, found[6])


def litres(text: str | None) -> float | None:
    """Return the room of these dimensions as printed. [l]."""
    return _room(text, 0.0)


def most_litres(text: str | None) -> float | None:
    """Return the most room that these dimensions leave: each side half of its last printed place more. [l]."""
    return _room(text, 0.5)


def _room(text: str | None, of_last_place: float) -> float | None:
    found = None if text is None else sides_of(text)
    if found is None:
        return None
    *sides, unit = found
    more = [of_last_place * 10.0 ** -len(side.partition(".")[2]) for side in sides]
    return prod((float(side) + each) * _MM[unit] for side, each in zip(sides, more, strict=True)) / 1e6


def in_figures(sides: tuple[str, ...]) -> str:
    """Return sides and their unit as they are written in a case: ``300 x 90 x 80 mm``."""
    return f"{' x '.join(sides[:3])} {sides[3]}"


def _dimensions(value: str) -> str:
    found = sides_of(value)
    if found is None:
        raise rule("must be three sides and their unit, such as 300 x 90 x 80 mm")
    return in_figures(found)


Dimensions = Annotated[Text, AfterValidator(_dimensions)]
