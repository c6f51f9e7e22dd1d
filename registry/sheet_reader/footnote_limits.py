"""A footnote of a current taken apart: the further limits that it gives, and what of it is not understood."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from registry.sheet_reader.lines import LEVELS, is_end_of_charge, sentences, without_relations
from registry.sheet_reader.quantities import Quantity, normal, quantities
from registry.sheet_reader.temperatures import Temperatures, masked, temperatures
from registry.sheet_reader.vocabulary import meanings

_CURRENTS = frozenset({"current", "rate"})
_CLAUSE = re.compile(r";\s*|,(?=\D)\s*")
_UNDERSTOOD = frozenset({
    "ambient", "surface", "temperature", "operating", "maximum", "limit_speech", "continuous", "charge",
    "discharge", "current", "temperature_cut", "cutoff", "pulse", "bare", "verb",
})  # fmt: skip
"""What a footnote may say beside its temperatures and currents without changing how they are read."""
_BESIDE = LEVELS | {"nothing", "voltage", "storage"}
_READ_ELSEWHERE = frozenset({"voltage", "", "months"})
_SMALL = re.compile(
    r"\b(?:the|and|cell|der|die|das|dem|den|und|bis|zelle|les|des|une|cellule|los|las|una|celda|del|het|een"
    r"|à|é|only|nur|seulement|uniquement|solo|sólo|soltanto|alleen|tylko|apenas|somente"
    r"|仅|僅|只|のみ|时|時|为|為|の|で)\b",
    re.I,
)
_BRACKETS = re.compile(r"\(([^()]*)\)")
_WORD = re.compile(r"[\u3040-\u9fff\uac00-\ud7af]+|[^\W\d_]+")
_SHORTEST = 3
"""A shorter word in Latin letters, such as "at" or "de", says nothing by itself."""
_PHRASES = frozenset({"limit_speech", "temperature_cut", "method"})
_LONGEST_PHRASE = 4


@dataclass(frozen=True, slots=True)
class FootnoteLimit:
    """A current with the band that it holds in, and the words of the footnote that say so."""

    band: Temperatures
    current: Quantity
    words: str


@dataclass(frozen=True, slots=True)
class FootnoteParts:
    """What a footnote says of its figure: the further limits, and the words beside them."""

    limits: tuple[FootnoteLimit, ...]
    rest: str
    """The clauses without a current, which are of the figure itself."""
    unread: bool
    """Whether a word or a number stands in it that was taken for nothing."""


@lru_cache(maxsize=512)
def footnote_parts(note: str) -> FootnoteParts:
    """Return a footnote taken apart.

    A clause with one band and one current gives a limit; where commas part them otherwise, bands and
    currents that take turns belong together. What fits neither is unread, never guessed.
    """
    limits: list[FootnoteLimit] = []
    rest: list[str] = []
    unread = False
    plain = _without_ends_of_charge(normal(note))
    for sentence in sentences(plain):
        clauses = list(_clauses(sentence))
        if "pulse" in meanings(sentence):
            unread = unread or any(_currents(each) for each in clauses)
            rest += [each for each in clauses if not _currents(each)]
            continue
        alone = [each for each in clauses if not _currents(each)]
        given = [_limits(each) for each in clauses if _currents(each)]
        whole = _limits(sentence)
        if all(given):
            limits += [each for some in given for each in some]
            rest += alone
        elif whole:
            limits += whole
        else:
            unread = True
    unread = unread or _has_unread_words(plain)
    return FootnoteParts(tuple(limits), ". ".join(rest), unread)


def unread_condition(texts: Sequence[str], footnotes: Sequence[str]) -> str | None:
    """Return the first footnote, or bracket with a temperature band, that says more than was read."""
    for note in footnotes:
        if footnote_parts(note).unread:
            return note
    for inside in (found[1] for text in texts for found in _BRACKETS.finditer(text)):
        banded = any(not each.single for each in temperatures(inside))
        if banded and _has_unread_words(inside):
            return inside
    return None


def _clauses(sentence: str) -> Iterator[str]:
    begin = 0
    for found in _CLAUSE.finditer(sentence):
        yield sentence[begin : found.start()].strip()
        begin = found.end()
    yield sentence[begin:].strip()


def _without_ends_of_charge(text: str) -> str:
    """Return a footnote without the clauses that only say where a charge ends: "CC/CV, finished at 0.05C"."""
    kept = (
        ", ".join(each for each in _clauses(sentence) if not is_end_of_charge(each))
        for sentence in sentences(text)
    )
    return ". ".join(filter(None, kept))


def _currents(text: str) -> Sequence[Quantity]:
    found = quantities(masked(text, temperatures(text)))
    return [each for each in found if each.dimension in _CURRENTS]


def _limits(text: str) -> list[FootnoteLimit]:
    """Return the limits of a text in which bands and currents take turns; none where they do not."""
    bands = [each for each in temperatures(text) if not each.single and not each.twin]
    currents = _currents(text)
    found: list[Temperatures | Quantity] = [*bands, *currents]
    in_order = sorted(found, key=lambda each: each.start)
    turns = all(len(list(same)) == 1 for _, same in groupby(in_order, key=type))
    if not turns or len(bands) != len(currents):
        return []
    pairs = list(zip(bands, currents, strict=True))
    starts = [0, *(min(band.start, current.start) for band, current in pairs[1:]), len(text)]
    return [
        FootnoteLimit(band, current, text[low:high].strip(" ,;") if len(pairs) > 1 else text.strip())
        for (band, current), low, high in zip(pairs, starts, starts[1:], strict=False)
    ]


def unread_beside(label: str, value: str, note: str) -> str | None:
    """Return what stands in brackets in a label, or beside the number of a limit, where it says more than was read.

    "20 A (with forced air)" does not hold without. What a voltage beside a current says is read elsewhere.
    """
    inside = [found[1] for found in _BRACKETS.finditer(label)]
    return next(
        (text for text in (*inside, value, note) if _has_unread_words(text, _BESIDE, _READ_ELSEWHERE)), None
    )


def _has_unread_words(
    text: str, more: frozenset[str] = frozenset(), dimensions: frozenset[str] = frozenset()
) -> bool:
    """Whether a word of no known meaning, or a number that is no current, time or temperature, stands there.

    ``more`` are further meanings, and ``dimensions`` further kinds of number, that change nothing.
    """
    plain = masked(text, temperatures(text))
    understood = _UNDERSTOOD | more
    for each in quantities(plain):
        if each.dimension not in _CURRENTS | {"seconds"} | dimensions:
            return True
        plain = plain[: each.start] + " " * (each.end - each.start) + plain[each.end :]
    words = _WORD.findall(_SMALL.sub(" ", plain))
    at = 0
    while at < len(words):
        taken = _phrase_length(words[at:], understood)
        silent = words[at].isascii() and len(words[at]) < _SHORTEST
        if not taken and not silent and not meanings(words[at]) & understood:
            return True
        at += max(taken, 1)
    return False


def _phrase_length(words: Sequence[str], understood: frozenset[str]) -> int:
    """Return how many words make the limit or relation that the words begin with: "at most" makes two."""
    counts = range(1, min(_LONGEST_PHRASE, len(words)) + 1)
    for count in counts:
        shorter = _limits_phrase(words[1:count]) or _limits_phrase(words[: count - 1])
        if _limits_phrase(words[:count]) and not shorter:
            return count
    relations = (count for count in counts if not _WORD.search(without_relations(" ".join(words[:count]))))
    return next(
        relations, next((count for count in counts[1:] if _means_together(words[:count], understood)), 0)
    )


def _means_together(words: Sequence[str], understood: frozenset[str]) -> bool:
    """Whether words say something together that none of them says alone: "cut off"."""
    alone = frozenset().union(*map(meanings, words))
    return bool(meanings(" ".join(words)) & understood - alone)


def _limits_phrase(words: Sequence[str]) -> bool:
    return bool(meanings(" ".join(words)) & _PHRASES)
