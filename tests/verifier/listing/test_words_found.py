"""Words are found where they stand: whole, at the end of a compound, and the longest of several.

The rule is the first paragraph of ``verifier/listing/vocabulary.py``; here it is written out once more, without any
search by beginnings, and both are given words strung together at random.
"""

from __future__ import annotations

import random
import re

import pytest

from verifier.listing.source import LETTER
from verifier.listing.vocabulary import Words, load_vocabulary

LANGUAGES = load_vocabulary().languages


def is_letter(sign: str) -> bool:
    """Whether a sign belongs to a word."""
    return re.match(f"[{LETTER}]", sign) is not None


def longest_at(words: Words, text: str, at: int) -> str:
    """Return the longest word at a place: whole, begun where that may be, or inside one where that may be."""
    before = at > 0 and is_letter(text[at - 1])
    fitting = [""]
    for word, entries in words.entries.items():
        asked = [entry for entry in entries if entry.inside] if before else entries
        if not text.startswith(word, at) or not (asked or not is_letter(word)):
            continue
        begins = any(entry.begins for entry in asked) or not is_letter(word)
        if begins or not is_letter(word[-1]) or not is_letter(text[at + len(word) :][:1]):
            fitting.append(word)
    return max(fitting, key=len)


@pytest.mark.parametrize("code", sorted(LANGUAGES))
def test_the_longest_word_is_found_at_each_place(code: str) -> None:
    """A shorter word read for a longer one gives a figure another meaning: "charging current" is no "current"."""
    words = LANGUAGES[code].words
    chance = random.Random(5)  # noqa: S311 - the same texts in every run
    known = sorted(words.entries)
    for _ in range(10):
        between = ["", " ", "\n", "s", "-", "\u00a0", ": 5 "]
        text = "".join(chance.choice(known) + chance.choice(between) for _ in range(12))
        found = {start: end for start, end, _ in words.find(text, 0, len(text))}
        spaced, at, expected = re.sub(r"\s", " ", text), 0, {}
        while at < len(text):
            if word := longest_at(words, spaced, at):
                expected[at] = at + len(word)
            at += len(word) or 1
        alone = {
            start
            for start, end in expected.items()
            if not is_letter((" " + text)[start]) and not is_letter((text + " ")[end])
        }
        assert found.items() <= expected.items()
        assert alone <= found.keys()


def test_a_word_at_the_edge_of_a_line_is_judged_by_its_neighbours() -> None:
    """A line that begins in the middle of a word would make a word of its end."""
    words = Words({"current": ["strom"], "voltage": ["*spannung"]})
    assert list(words.find("starkstrom", 5, 10)) == []
    assert list(words.find("ladespannung", 4, 12)) == [(4, 12, frozenset({"voltage"}))]
    assert list(words.find("ein strom", 4, 9)) == [(4, 9, frozenset({"current"}))]
