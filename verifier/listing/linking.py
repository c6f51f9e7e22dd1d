"""The small words that link figures and names, of all languages: conjunctions, prepositions, articles.

Each language's file gives its own under ``linking``; a text may mix languages, so that all are known at once.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from verifier.listing.source import LETTER, folded


class Linking:
    """Words by what they link, folded, of all languages together.

    Parameters
    ----------
    files : iterable of mapping
        Of each language: words by ``and``, ``but``, ``or``, ``from``, ``of``, ``article`` and the like.
    """

    def __init__(self, files: Iterable[Mapping[str, Iterable[str]]]) -> None:
        self._words: dict[str, set[str]] = {}
        for each in files:
            for name, words in each.items():
                self._words.setdefault(name, set()).update(map(folded, words))
        self._either: dict[tuple[str, ...], str] = {}
        self.conjunctions = self.of("and", "but")

    def of(self, *names: str) -> frozenset[str]:
        """Return the words of one or more kinds."""
        return frozenset().union(*(self._words.get(name, ()) for name in names))

    def beginning(self, *names: str) -> str:
        """Return a pattern of any of the words as the beginning of more, a blank in it or none."""
        words = sorted(self.of(*names), key=lambda word: (-len(word), word))
        written = "|".join(re.escape(word).replace(r"\ ", r"\s?") for word in words)
        return f"(?:{written or '(?!)'})"

    def either(self, *names: str) -> str:
        """Return a pattern of any of the words, the longest first, each whole."""
        if names not in self._either:
            words = sorted(self.of(*names), key=lambda word: (-len(word), word))
            letters = "|".join(re.escape(word) for word in words if word.isascii())
            signs = "|".join(re.escape(word) for word in words if not word.isascii())
            whole = rf"(?<![{LETTER}])(?:{letters})(?![{LETTER}])" if letters else ""
            self._either[names] = f"(?:{'|'.join(filter(None, (whole, signs))) or '(?!)'})"
        return self._either[names]
