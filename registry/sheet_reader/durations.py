"""How long a current may last, told apart from the pause behind it: "5 s, then 30 s of rest" lasts 5 s.

A duration is of the pause where the nearest word at one of its sides speaks of one. What stands between
two durations and could belong to either, and words that nobody knows, make the reading doubtful.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from registry.sheet_reader.conditions import Reading, parts
from registry.sheet_reader.lines import blanked_relations
from registry.sheet_reader.quantities import Quantity, quantities
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings

_DURATIONS = frozenset({"seconds", "time"})
_WORD = re.compile(r"[\u3040-\u9fff\uac00-\ud7af]+|[^\W\d_]+(?:[-'][^\W\d_]+)*")
_PARTS = re.compile(r"[,;/|()\n\x00]|\.(?=\s+\S)")
_OF_THE_LOAD = frozenset({"lasting", "pulse", "discharge"})
_SHORTEST = 3
"""A shorter word in Latin letters, such as "at" or "de", says nothing by itself."""
UNCLEAR = "which of the times beside it is its own is not clear"
_UNKNOWN = "words beside its time were not understood"


@dataclass(frozen=True, slots=True)
class Lasting:
    """How long a current may last, and what is doubtful about that. [s]."""

    seconds: float | None = None
    doubt: str | None = None


@dataclass(frozen=True, slots=True)
class Times:
    """The durations of a text that are no pause, and what is doubtful about that."""

    own: tuple[Quantity, ...]
    doubt: str | None = None


@dataclass(frozen=True, slots=True)
class _Word:
    start: int
    end: int
    said: frozenset[str]
    small: bool
    """Whether it only joins: "of", "at least"."""


def lasting(reading: Reading, quantity: Quantity) -> Lasting:
    """Return how long a current may last: by its value, else its label, its note or its footnotes. [s]."""
    times = times_of(reading.text)
    own = _seconds(times)
    if own:
        seconds, unclear = _time_beside(reading, quantity, own)
        return Lasting(seconds, UNCLEAR if unclear else times.doubt)
    statement = reading.statement
    doubt = times.doubt
    for text in (statement.label, statement.note, *statement.footnotes):
        times = times_of(text)
        given = {each.value for each in _seconds(times)}
        if len(given) == 1:
            return Lasting(given.pop(), doubt or times.doubt)
        doubt = doubt or (UNCLEAR if given else times.doubt)
    return Lasting(None, doubt)


@lru_cache(maxsize=4096)
def times_of(text: str) -> Times:
    """Return the durations of a normal text without those of a pause."""
    plain = masked(text, temperatures(text))
    found = quantities(plain)
    durations = [each for each in found if each.dimension in _DURATIONS]
    if not durations:
        return Times(())
    words = _words(plain, found)
    left, right = ([_beside(plain, found, words, each, way) for each in durations] for way in (-1, 1))
    pauses: set[int] = set()
    bound: set[int] = set()
    doubt: str | None = None
    for at, word in enumerate(words):
        if "pause" not in word.said:
            continue
        before = next((n for n, each in enumerate(right) if each == at), None)
        after = next((n for n, each in enumerate(left) if each == at), None)
        if before is not None and after is not None:
            after, before = _of_two(words, left[before], right[after], before, after)
            doubt = UNCLEAR if after is None and before is None else doubt
        chosen = after if after is not None else before
        if chosen is None:
            continue
        bound.add(at)
        pauses.add(chosen)
        if any("pulse" in each.said for each in _between(words, word, durations[chosen])):
            # "Every pulse 8 s" speaks of the pulse, "interval between pulses 30 s" of the pause.
            doubt = UNCLEAR
    own = [each for number, each in enumerate(durations) if number not in pauses]
    unbound = any("pause" in each.said for at, each in enumerate(words) if at not in bound)
    if own and doubt is None and (unbound or _has_unknown(plain, found, words, own)):
        doubt = UNCLEAR if unbound else _UNKNOWN
    return Times(tuple(own), doubt)


def _between(words: Sequence[_Word], word: _Word, time: Quantity) -> Sequence[_Word]:
    low, high = sorted((word.start, time.start))
    return [each for each in words if low < each.start < high]


def _of_two(
    words: Sequence[_Word], outer_left: int | None, outer_right: int | None, before: int, after: int
) -> tuple[int | None, int | None]:
    """Return which of the durations at both sides of a word of pause it is of, as (after, before).

    "Pulse 5 s rest 30 s" leads each time with its word, "30 s rest 5 s pulse" lets it follow.
    """
    leads = outer_left is not None and bool(words[outer_left].said & _OF_THE_LOAD)
    follows = outer_right is not None and bool(words[outer_right].said & _OF_THE_LOAD)
    if leads == follows:
        return None, None
    return (after, None) if leads else (None, before)


def _words(plain: str, found: Sequence[Quantity]) -> list[_Word]:
    """Return the words of a text that are no part of a quantity."""
    for each in found:
        plain = plain[: each.start] + " " * (each.end - each.start) + plain[each.end :]
    words = []
    plain = blanked_relations(plain)
    for word in _WORD.finditer(plain):
        said = meanings(word[0])
        if "pause" in said and "cutoff" in meanings(plain[max(0, word.start() - 8) : word.end()]):
            said -= {"pause"}
        small = "pause" not in said and word[0].isascii() and len(word[0]) < _SHORTEST
        words.append(_Word(word.start(), word.end(), said, small))
    return words


def _beside(
    plain: str, found: Sequence[Quantity], words: Sequence[_Word], time: Quantity, way: int
) -> int | None:
    """Return the word that speaks of a duration at its left (-1) or right (1): the nearest within its part.

    Words that only join are passed over, and so is "time" of "rest time".
    """
    near = [n for n, each in enumerate(words) if (each.start - time.start) * way > 0]
    last: int | None = None
    for at in sorted(near, key=lambda n: words[n].start * way):
        low, high = sorted((time.start, words[at].start))
        between = plain[time.end if way > 0 else words[at].end : high if way > 0 else time.start]
        if _PARTS.search(between) or any(low < each.start < high for each in found):
            break
        word = words[at]
        if word.small:
            continue
        if "pause" in word.said or not word.said & {"lasting", "pulse"}:
            return at if "pause" in word.said or last is None else last
        last = at if last is None else last
    return last


def _has_unknown(
    plain: str, found: Sequence[Quantity], words: Sequence[_Word], own: Sequence[Quantity]
) -> bool:
    """Whether a word without any meaning stands in the part of a duration."""
    cuts = [0, *(each.start() for each in _PARTS.finditer(plain)), len(plain)]
    for time in own:
        low = max(cut for cut in cuts if cut <= time.start)
        high = min((cut for cut in cuts if cut >= time.end), default=len(plain))
        if any(low <= each.start < high and not each.small and not each.said for each in words):
            return True
    return False


def _seconds(times: Times) -> list[Quantity]:
    """Return the durations in seconds; one that is printed twice, such as "3 s (3 sec)", counts once."""
    kept: list[Quantity] = []
    for each in times.own:
        if each.dimension == "seconds" and not (kept and kept[-1].value == each.value):
            kept.append(each)
    return kept


def _time_beside(
    reading: Reading, quantity: Quantity, times: Sequence[Quantity]
) -> tuple[float | None, bool]:
    """Return the duration that goes with a current, and whether that is unclear.

    It is the only one of its part, else the one in its turn.
    """
    currents = reading.currents
    part = parts(reading.text)
    own = [each for each in times if part(each.start) == part(quantity.start)]
    if len(currents) == 1:
        if len(own) == 1:
            return own[0].value, False
        after = [each for each in times if each.start >= quantity.end]
        return (after or list(times)[::-1])[0].value, len({each.value for each in times}) > 1
    if len(times) == len(currents):
        # "30 s: 100 A; 10 s: 125 A" as well as "100 A (30 s); 125 A (10 s)": they take turns.
        return (times[currents.index(quantity)].value if quantity in currents else None), False
    rivals = [each for each in currents if part(each.start) == part(quantity.start)]
    if len(own) == len(rivals):
        return (own[rivals.index(quantity)].value if quantity in rivals else None), False
    if own:
        between = [
            each
            for each in own
            if each.start >= quantity.end
            and not any(quantity.end <= o.start < each.start for o in currents if o is not quantity)
        ]
        # Words lead to the time behind a current, unless the first of them stands before every current.
        found = between[0].value if between and own[0].start > rivals[0].start else None
        return found, found is None
    return None, False
