"""Threads: posts below a line with a name and a time, and talks whose names stand alone on their lines.

Who opens a thread sells; what all others write is no word of the seller's.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from verifier.listing.layout import Line

_CLOCK = r"\d{1,2}[:.h]\d{2}(?:[:.]\d{2})?(?:\s?[ap]\.?m\.?)?"
_DAY, _MONTH = r"(?:0?[1-9]|[12]\d|3[01])", r"(?:0?[1-9]|1[0-2])"
_DATE = (
    rf"(?:\d{{4}}[./\-]{_MONTH}[./\-]{_DAY}|{_DAY}[./\-]{_MONTH}[./\-](?:\d{{4}}|\d{{2}})|{_DAY}/{_MONTH}"
    rf"|{_DAY}\.{_MONTH}\.|{_DAY}\.?\s[^\W\d]{{3,10}}\.?(?:\s\d{{4}})?|{_MONTH}月{_DAY}日)"
)
# "Da: jo » 14/03 ore 21:40", "#3 Jo, 2 May 2026 21:40", "Jo wrote on 14.03.2026:"; nothing stands behind.
_HEAD = re.compile(
    r"\W*(?:[^\W\d]{2,12}:\s)?(?:#?\d{1,3}[.)]?\s)?(?P<name>[^\W\d][\w.'&\-]{1,24}(?:\s[^\W\d][\w.'&\-]{1,24})?)"
    rf"[^\d\n]{{1,28}}?(?:{_DATE}(?:[^\d\n]{{1,8}}{_CLOCK})?|{_CLOCK}(?:[^\d\n]{{1,6}}{_DATE})?)"
    r"(?:\s?(?:uhr|h|時|点))?\W*"
)
_LONGEST_HEAD = 80
_LONGEST_NAME = 28
_FEWEST_TURNS = 4
_MOST_SPEAKERS = 4
_ASKS = re.compile(r"[?？]")


@dataclass(frozen=True, slots=True)
class Post:
    """What one person writes: the lines from the one behind a name up to the next name."""

    name: str
    first: int
    stop: int


def posts_of(
    lower: str,
    lines: Sequence[Line],
    is_name: Callable[[int, int, Line], bool],
    wrote: Mapping[int, int],
) -> list[Post]:
    """Return the posts of a thread in order; empty where the text is none.

    Parameters
    ----------
    lower : str
        The folded text.
    lines : sequence of Line
        Its lines.
    is_name : callable
        Whether a stretch of a line can be somebody's name, and names no figure.
    wrote : mapping of int to int
        By line, where a word for having written stands ("Jo wrote:").
    """
    heads = (
        _dated(lower, lines, is_name)
        or _written(lower, lines, is_name, wrote)
        or _alone(lower, lines, is_name)
    )
    if not heads:
        return _in_rows(lower, lines, is_name)
    ends = [number for number, _ in heads[1:]] + [len(lines)]
    return [Post(name, number + 1, stop) for (number, name), stop in zip(heads, ends, strict=True)]


def _in_rows(lower: str, lines: Sequence[Line], is_name: Callable[[int, int, Line], bool]) -> list[Post]:
    """Return the rows of a talk whose speakers stand in the first cell."""
    rows = [line for line in lines if line.is_row and len(line.cells) == 2]
    first = {line.number: lower[slice(*line.cells[0])].strip() for line in rows}
    names = _names_again(first.values())
    spoken = [line for line in rows if first[line.number] in names and is_name(*line.cells[0], line)]
    speakers = {first[line.number] for line in spoken}
    talks = 2 <= len(speakers) <= _MOST_SPEAKERS and len(spoken) >= _FEWEST_TURNS
    if not talks or not any(_ASKS.search(lower, line.start, line.end) for line in spoken):
        return []
    return [Post(first[line.number], line.number, line.number + 1) for line in spoken]


def _names_again(words: Iterable[str]) -> set[str]:
    """Return what may be names and comes more than once."""
    often = Counter(each for each in words if 1 < len(each) <= _LONGEST_NAME)
    return {
        each for each, count in often.items()
        if count >= 2 and not any(letter.isdigit() or letter in ".?!:：？。" for letter in each)
    }  # fmt: skip


def _dated(
    lower: str, lines: Sequence[Line], is_name: Callable[[int, int, Line], bool]
) -> list[tuple[int, str]]:
    found: list[tuple[int, str]] = []
    for line in lines:
        words = lower[line.start : line.end].strip()
        match = _HEAD.fullmatch(words) if len(words) <= _LONGEST_HEAD and not line.is_row else None
        if match is not None:
            start = lower.index(words, line.start) + match.start("name")
            if is_name(start, start + len(match["name"]), line):
                found.append((line.number, match["name"]))
    return found if len({name for _, name in found}) >= 2 else []


def _written(
    lower: str, lines: Sequence[Line], is_name: Callable[[int, int, Line], bool], wrote: Mapping[int, int]
) -> list[tuple[int, str]]:
    """Return the lines that are a name, a word for having written, and a colon."""
    found: list[tuple[int, str]] = []
    for line in lines:
        place = wrote.get(line.number)
        words = lower[line.start : line.end].strip()
        if place is None or not words.endswith((":", "：")) or len(words) > _LONGEST_HEAD:
            continue
        name = lower[line.start : place].strip()
        if 1 < len(name) <= _LONGEST_NAME and is_name(line.start, place, line):
            found.append((line.number, name))
    return found if len({name for _, name in found}) >= 2 else []


def _alone(
    lower: str, lines: Sequence[Line], is_name: Callable[[int, int, Line], bool]
) -> list[tuple[int, str]]:
    """Return the lines that are a name alone, where such names come again and somebody asks."""
    words = {line.number: lower[line.start : line.end].strip() for line in lines if not line.is_row}
    names = _names_again(words.values())
    found = [
        (line.number, words[line.number])
        for line in lines
        if words.get(line.number) in names and is_name(line.start, line.end, line)
    ]
    speakers = {name for _, name in found}
    talks = 2 <= len(speakers) <= _MOST_SPEAKERS and len(found) >= _FEWEST_TURNS
    # Each of them says something, and one of them asks.
    talks = talks and all(after - before > 1 for (before, _), (after, _) in pairwise(found))
    inside = lower[lines[found[0][0]].start :] if found else ""
    return found if talks and _ASKS.search(inside) else []
