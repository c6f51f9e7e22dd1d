"""Columns of two figures, such as "cont./peak (A)", whose cells hold both: "20 / 40".

The heading is taken apart where the reader of listings finds two figures of one unit in it; nothing of it is in a list
here. Which number is which is said by the order of the heading alone.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, NamedTuple

from verifier.screening.heading_names import unit_apart
from verifier.screening.heading_words import meanings, placed_meanings, words_of
from verifier.screening.lines import claimed_in
from verifier.screening.values import says_nothing

# A load that holds, and one that does not or may not: common practice, no source.
_HELD, _SHORT = "continuous", ("peak", "max")
_UNITS = ("A", "W", "V")
_NUMBER = r"[+-]?[0-9]+(?:[.,][0-9]+)*"
_JOINED = re.compile(r"[/|&+、]")
_ENDS = re.compile(r"[\s/|&+,;:.()\[\]-]+\Z|\A[\s/|&+,;:.()\[\]-]+")
_ONE = re.compile(rf"\s*({_NUMBER})\s*([^\W\d_]{{1,3}})?\s*")
_BETWEEN = re.compile(r"\s*[/|;]\s*|(?<=[\w.])\s*[-–—]\s*(?=[0-9])")


class Part(NamedTuple):
    """One of the two figures of a heading: its words, and the field that they mean, None where no field is."""

    words: str
    field: str | None


class Divided(NamedTuple):
    """A column of two figures: each with its values, what could not be taken apart, and which cells hold one number."""

    parts: tuple[Part, Part]
    values: tuple[list[Any], list[Any]]
    odd: list[Any]
    lone: list[bool]


@lru_cache(maxsize=2_000)
def two_of(heading: str) -> tuple[Part, Part] | None:
    """Return the two figures that a heading names, in its order; None for any other heading."""
    words, unit = unit_apart(heading)
    words = words_of(words)
    names = meanings(words)
    if _HELD not in names or names.isdisjoint(_SHORT):
        return None
    places = placed_meanings(words)
    held = max((each for each in places if _HELD in each[2]), key=lambda each: each[1] - each[0])
    short = next((each for name in _SHORT for each in places if name in each[2] and _apart(each, held)), None)
    if short is None:
        return None
    first, second = sorted((held[:2], short[:2]))
    # "Max continuous current" is one figure.
    if not _JOINED.search(words, first[1], second[0]):
        return None
    halves = [
        " ".join(_ENDS.sub("", f"{words[: first[1]]} {words[second[1] :]}").split()),
        " ".join(_ENDS.sub("", f"{words[: first[0]]} {words[second[0] :]}").split()),
    ]
    for each in (unit,) if unit else _UNITS:
        one, two = (claimed_in(f"{half}: 10 {each}") for half in halves)
        if one != two and len(one) < 2 and len(two) < 2:
            return Part(halves[0], next(iter(one), None)), Part(halves[1], next(iter(two), None))
    return None


def _apart(one: tuple[int, int, frozenset[str]], other: tuple[int, int, frozenset[str]]) -> bool:
    return one[1] <= other[0] or other[1] <= one[0]


def two_in(value: Any) -> tuple[str | None, str | None] | None:
    """Return the two numbers of a cell, each as written with the unit of the last; None for what is no such cell.

    A lone number is the first, and the second is not stated: so is "50 / -".
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{value:.15g}", None
    if not isinstance(value, str):
        return None
    parts: Sequence[str] = [value] if _ONE.fullmatch(value) else _BETWEEN.split(value.strip())
    if len(parts) > 2:
        return None
    read = [None if says_nothing(each) else _ONE.fullmatch(each) for each in parts]
    if any(match is None and not says_nothing(each) for match, each in zip(read, parts, strict=True)):
        return None
    unit = next((match[2] for match in reversed(read) if match and match[2]), None)
    found = [None if match is None else match[1] + (f" {match[2] or unit}" if unit else "") for match in read]
    return found[0], found[1] if len(found) == 2 else None


def divided(heading: str, raw: Sequence[Any]) -> Divided | None:
    """Return the columns of a heading's two figures; None for any other heading.

    Parameters
    ----------
    heading : str
    raw : sequence of n_rows values
    """
    parts = two_of(heading)
    if parts is None:
        return None
    one: list[Any] = [None] * len(raw)
    two: list[Any] = [None] * len(raw)
    odd: list[Any] = [None] * len(raw)
    for row, value in enumerate(raw):
        if says_nothing(value):
            continue
        pair = two_in(value)
        if pair is None:
            odd[row] = value
        else:
            one[row], two[row] = pair
    lone = [one[row] is not None and not _BETWEEN.search(str(value).strip()) for row, value in enumerate(raw)]
    return Divided(parts, (one, two), odd, lone)
