"""Every known word of a text, in the languages it is read in."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from verifier.listing.labels import Label
from verifier.listing.languages import Tongues
from verifier.listing.layout import Line, Places
from verifier.listing.quantity import Quantity
from verifier.listing.source import LETTER
from verifier.listing.vocabulary import Language, Vocabulary

_SPACED = re.compile(r"[^\w\n]{0,4}(?P<word>[一-鿿](?:[ \t\u3000]{1,6}[一-鿿]){1,3})(?=[ \t\u3000]?[:：])")
_CODE = re.compile(rf"(?<![{LETTER}])[{LETTER}]{{2,6}}-\Z")
_REST = re.compile(rf"[{LETTER}]*")


def known_words(
    lower: str, rest: str, lines: Sequence[Line], tongues: Tongues, vocabulary: Vocabulary
) -> list[Label]:
    """Return every known word outside of what was taken out, the longest at each place.

    Parameters
    ----------
    lower, rest : str
        The folded text, and the same without what was taken out.
    lines : sequence of Line
        Its lines.
    tongues : Tongues
        The languages it is read in.
    vocabulary : Vocabulary
        The words.
    """
    found: dict[int, tuple[int, frozenset[str]]] = {}
    spoken = [vocabulary.languages[code] for code in tongues.codes if code in vocabulary.languages]
    for line in lines:
        for start, end, names in vocabulary.shared.find(rest, line.start, line.end):
            _keep(found, start, end, names)
    for language in spoken:
        for line in lines:
            if line.number in tongues.unread_lines:
                continue
            builds = _builds_sentences(lower[line.start : line.end], spoken[0], language)
            for start, end, names in language.words.find(rest, line.start, line.end):
                if lower[start:end] not in builds:
                    _keep(found, start, end, names)
        for start, end, names in _spaced_out(rest, lines, language):
            _keep(found, start, end, names)
    return list(_apart(lower, found, Places(list(lines))))


def _spaced_out(
    rest: str, lines: Sequence[Line], language: Language
) -> Iterator[tuple[int, int, frozenset[str]]]:
    """Yield labels whose signs are set apart to fill a column ("容　　量：60Ah")."""
    for line in lines:
        match = _SPACED.match(rest, line.start, line.end)
        if match is None:
            continue
        word = re.sub(r"[ \t\u3000]+", "", match["word"])
        for start, end, names in language.words.find(word, 0, len(word)):
            if (start, end) == (0, len(word)):
                yield match.start("word"), match.end("word"), names


def _builds_sentences(line: str, main: Language, other: Language) -> frozenset[str]:
    """Return the words that only build the main language's sentences, in a line that is not the other's.

    "No" denies in English, and is "in the" in Portuguese.
    """
    if other is main:
        return frozenset()
    words = re.findall(rf"[{LETTER}]+", line)
    counts = [sum(word in language.function for word in words) for language in (main, other)]
    return main.function - main.known if counts[0] >= counts[1] else frozenset()


def _keep(found: dict[int, tuple[int, frozenset[str]]], start: int, end: int, names: frozenset[str]) -> None:
    before = found.get(start)
    if before is None or before[0] < end:
        found[start] = end, names
    elif before[0] == end:
        found[start] = end, before[1] | names


def _apart(lower: str, found: dict[int, tuple[int, frozenset[str]]], places: Places) -> Iterator[Label]:
    """Yield words that do not overlap, each to the end of the letters it is part of."""
    last = -1
    for start in sorted(found):
        end, names = found[start]
        if start < last or _ends_a_code(lower, start, end):
            continue
        following = _REST.match(lower, end)
        whole = following.end() if following else end
        # The parts of a compound follow one another.
        nearest = next((place for place in range(end, whole) if place in found), whole)
        last = end
        yield Label(start, nearest, names, places.line(start))


def _ends_a_code(lower: str, start: int, end: int) -> bool:
    """Return whether a word is the letter at the end of a code ("KV-A"), and no word."""
    return (
        end - start == 1
        and lower[start].isascii()
        and _CODE.search(lower, max(0, start - 8), start) is not None
    )


def outside_numbers(known: Sequence[Label], quantities: Sequence[Quantity]) -> list[Label]:
    """Return the words that are no part of a number with its unit."""
    taken: list[Label] = []
    index = 0
    for word in known:
        while index < len(quantities) and quantities[index].end <= word.start:
            index += 1
        if index == len(quantities) or quantities[index].start >= word.end:
            taken.append(word)
    return taken
