"""Strips: words and numbers by turns with nothing between ("18A continuous BMS 25A charger 3A").

Where no word stands before a number, the words behind it are its own, up to the word for another thing that
has a number of its own. So the habit of a strip is found number by number, from its beginning.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from verifier.listing.labels import VOICES, Label
from verifier.listing.quantity import Quantity
from verifier.listing.source import LETTER

_QUALIFIES = frozenset({"continuous", "peak", "max", "usual", "working"})
_THINGS = frozenset({"bms", "charger", "charge"})
_WORD = re.compile(rf"[{LETTER}]+")
_BLANK = re.compile(r"[\s.:=-]*")


def cuts_of_strips(
    lower: str, words: Sequence[Label], taken: Sequence[Quantity], fillers: frozenset[str]
) -> frozenset[int]:
    """Return the places where a label must begin anew, although the word before stands against it.

    Parameters
    ----------
    lower : str
        The folded text.
    words : sequence of Label
        Every known word in order of place.
    taken : sequence of Quantity
        The numbers in order of place.
    fillers : frozenset of str
        Words that may stand between the parts of a label.
    """
    named = [word for word in words if word.names - VOICES]
    found: set[int] = set()
    headed, index = False, 0
    line = -1
    for first, second in pairwise(taken):
        if first.line != line:
            line = first.line
            while index < len(named) and named[index].end <= first.start:
                index += 1
            last = named[index - 1] if index else None
            headed = (
                last is not None
                and last.line == line
                and _is_blank(lower, [], last.end, first.start, fillers)
            )
        if second.line != line:
            continue
        between: list[Label] = []
        while index < len(named) and named[index].end <= second.start:
            if named[index].start >= first.end:
                between.append(named[index])
            index += 1
        joined = bool(between) and _is_blank(lower, between, first.end, second.start, fillers)
        owned = joined and not headed and first.dimension == "current"
        if owned and between[0].names & _QUALIFIES and not between[0].names & _THINGS:
            thing = next((word for word in between[1:] if word.names & _THINGS), None)
            if thing is not None and second.dimension in ("current", "voltage"):
                found.add(thing.start)
            headed = thing is not None
        else:
            headed = bool(between) and not owned
    return frozenset(found)


def _is_blank(lower: str, words: Sequence[Label], start: int, end: int, fillers: frozenset[str]) -> bool:
    """Return whether nothing but known words and words of no weight stands between two places."""
    rest = lower[start:end]
    for word in words:
        rest = rest[: word.start - start] + " " * (word.end - word.start) + rest[word.end - start :]
    rest = _WORD.sub(lambda match: "" if match.group() in fillers else match.group(), rest)
    return _BLANK.fullmatch(rest) is not None
