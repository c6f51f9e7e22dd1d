"""The texts of the page, one catalogue a language; what cases and reports say comes from `verifier.words`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from verifier.words import language_of

ENGLISH = "en"
LANGUAGES = ("en", "de", "zh")
_FOLDER = Path(__file__).parent / "texts"


class Texts:
    """The words of one language, by dotted name: ``texts("start.title")``."""

    def __init__(self, language: str, words: Mapping[str, Any]) -> None:
        self.language, self._words = language, words

    def __call__(self, name: str, /, **slots: Any) -> str:
        """Return a text with its slots filled. Raises ``KeyError`` for a name that the catalogue lacks."""
        inside: Any = self._words
        for part in name.split("."):
            inside = inside[part]
        return str(inside).format(**slots) if slots else str(inside)

    def word(self, group: str, name: str) -> str | None:
        """Return a word of a group, None where the catalogue leaves it to the one of the fields."""
        found = self.group(group).get(name)
        return None if found is None else str(found)

    def group(self, name: str) -> Mapping[str, str]:
        """Return all words of a group by their names: the page's own, else those of the reports; none of no group."""
        found: Mapping[str, str] = self._words.get(name, {})
        return found if found else language_of(self.language).group(name)


@cache
def texts(language: str) -> Texts:
    """Return the texts of a language."""
    return Texts(language, tomllib.loads((_FOLDER / f"{language}.toml").read_text(encoding="utf-8")))


def preferred(asked: str | None, accepted: str) -> str:
    """Return the language to show: the one asked for, else the first that a browser accepts, else English.

    Parameters
    ----------
    asked : str or None
        What the reader chose before.
    accepted : str
        The header Accept-Language.
    """
    if asked in LANGUAGES:
        return asked
    for part in accepted.split(","):
        code = part.partition(";")[0].strip().lower().partition("-")[0]
        if code in LANGUAGES:
            return code
    return ENGLISH
