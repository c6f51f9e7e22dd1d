"""The title of a listing: its first line, unless that is prose, a row, or the first of several packs."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

from verifier.listing.labels import Label
from verifier.listing.layout import Line
from verifier.listing.turns import Turns

_LONGEST_TITLE = 220
_FIRST = 6
_PROSE = re.compile(r"[^\W\d_]{2}[.!?]\s+[^\W\d_a-z][^\W\d_]+\s+\S+\s|[。！？].")
_OFFER = re.compile(r"\s?[a-h1-9]\s?[:：)]")


def title_of(
    text: str,
    lines: Sequence[Line],
    labels: list[Label],
    voices: list[Label],
    turns: Turns,
    menus: Collection[int] = (),
) -> tuple[int, int]:
    """Return the place of the title, or an empty place where there is none.

    Parameters
    ----------
    text : str
        The listing.
    lines : sequence of Line
        Its lines.
    labels, voices : list of Label
        The known words in order of place.
    turns : Turns
        A chat has no title.
    menus : collection of int
        The lines that are menus, which head no listing.
    """
    lines = [line for line in lines[:_FIRST] if line.number not in menus]
    if not lines or lines[0].number in turns.of_line:
        return 0, 0
    line = lines[0]
    words = text[line.start : line.end]
    start = line.start + len(words) - len(words.lstrip())
    if len(words) > _LONGEST_TITLE or _PROSE.search(words) or line.is_row or _is_label(text, start, labels):
        return start, start
    following = lines[1] if len(lines) > 1 else None
    both = following is not None and (
        all(_offers(text, each.start, voices, labels) for each in (line, following))
        or all(_OFFER.match(text[each.start : each.start + 6].lower()) for each in (line, following))
    )
    return (start, start) if both else (start, line.end)


def _is_label(text: str, start: int, labels: list[Label]) -> bool:
    """Return whether a line begins with a label and its colon, as a list of figures does."""
    first = next((label for label in labels if label.start >= start), None)
    if first is None or first.start - start > 2 or "pack" in first.names:
        return False
    return re.match(r"\s?[:：=\t|]", text[first.end : first.end + 2]) is not None


def _offers(text: str, start: int, voices: list[Label], labels: list[Label]) -> bool:
    """Return whether a line begins with "option", "pack" or the like and its letter or number."""
    words = sorted((*voices, *labels), key=lambda each: each.start)
    first = next((each for each in words if each.start >= start), None)
    if first is None or first.start - start > 2 or not first.names & {"pack", "variant"}:
        return False
    return _OFFER.match(text[first.end : first.end + 6].lower()) is not None
