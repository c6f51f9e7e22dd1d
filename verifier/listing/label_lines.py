"""Pages copied as text: a label on one line, its figure alone on the next."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Sequence
from typing import Protocol

_LINE = re.compile(r"\S[^\r\n]*")
_LONGEST_LABEL = 60
_MOST_OTHER_LETTERS = 14


class _Placed(Protocol):
    start: int
    end: int


class _Places:
    """What stands in a stretch of text."""

    def __init__(self, found: Sequence[_Placed]) -> None:
        self.found = found
        self.starts = [each.start for each in found]

    def between(self, start: int, end: int) -> Sequence[_Placed]:
        return self.found[bisect_left(self.starts, start) : bisect_left(self.starts, end)]


def _letters_left(lower: str, start: int, end: int, taken: Sequence[_Placed]) -> int:
    inside = sum(letter.isalpha() for each in taken for letter in lower[each.start : each.end])
    return sum(letter.isalpha() for letter in lower[start:end]) - inside


def label_lines(lower: str, numbers: Sequence[_Placed], labels: Sequence[_Placed]) -> list[tuple[int, int]]:
    """Return the stretches between a label's line and the line of its figure.

    In a text whose figures stand above their labels nothing is joined.

    Parameters
    ----------
    lower : str
        The text in lower case.
    numbers, labels : list
        What was found, in order of place.
    """
    number_places, label_places = _Places(numbers), _Places(labels)
    joined: list[tuple[int, int]] = []
    before = ""
    label_end = 0
    for match in _LINE.finditer(lower):
        start, end = match.span()
        inside = number_places.between(start, end)
        words = label_places.between(start, end)
        bare = bool(inside) and not words and _letters_left(lower, start, end, inside) == 0
        if bare and before == "label":
            joined.append((label_end, start))
            before = "joined"
        elif bare:
            before = "figure"
        elif not inside and words and before != "figure" and end - start <= _LONGEST_LABEL:
            few = _letters_left(lower, start, end, words) <= _MOST_OTHER_LETTERS
            before, label_end = ("label" if few else ""), end
        else:
            before = "" if before != "figure" or inside else "figure"
    return joined
