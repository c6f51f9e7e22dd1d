"""The words of spec sheets, read from the data files beside this module; a language is one file."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from registry.sheet_reader.draft import FigureName

_NOT_LANGUAGES = {"figures.toml"}


@dataclass(frozen=True, slots=True)
class Rule:
    """Which words make which figure of a number of one dimension."""

    figure: FigureName
    dimension: str
    all: frozenset[str]
    any: tuple[frozenset[str], ...]
    none: frozenset[str]
    doubt: str | None
    weak: bool = False
    """Whether it speaks only where no label of its own gives the figure."""

    def fits(self, said: frozenset[str] | set[str]) -> bool:
        """Whether these words make the figure."""
        return self.all <= said and all(group & said for group in self.any) and not self.none & said


@dataclass(frozen=True, slots=True)
class SeenLabel:
    """Which words of a label speak of a figure, whether or not its value is read."""

    figure: FigureName
    all: frozenset[str]
    any: tuple[frozenset[str], ...]
    none: frozenset[str]

    def fits(self, said: frozenset[str]) -> bool:
        """Whether these words speak of the figure."""
        return self.all <= said and all(group & said for group in self.any) and not self.none & said


@cache
def seen_labels() -> tuple[SeenLabel, ...]:
    """Return which words speak of which figure."""
    return _told("label")


@cache
def seen_words() -> tuple[SeenLabel, ...]:
    """Return which words, wherever they stand, forbid to say that a sheet does not state a figure."""
    return _told("word")


def _told(name: str) -> tuple[SeenLabel, ...]:
    return tuple(
        SeenLabel(
            entry["figure"], frozenset(entry.get("all", ())),
            tuple(frozenset(group) for group in entry.get("any", ())), frozenset(entry.get("none", ())),
        )
        for entry in _held("figures.toml")[name]
    )  # fmt: skip


@cache
def _held(name: str) -> dict[str, Any]:
    return tomllib.loads((files("registry.sheet_reader") / "vocabulary" / name).read_text(encoding="utf-8"))


@cache
def rules() -> tuple[Rule, ...]:
    """Return the rules in the order in which they are tried."""
    return tuple(
        Rule(
            entry["figure"], entry["dimension"], frozenset(entry.get("all", ())),
            tuple(frozenset(group) for group in entry.get("any", ())),
            frozenset(entry.get("none", ())), entry.get("doubt"), entry.get("weak", False),
        )
        for entry in _held("figures.toml")["rule"]
    )  # fmt: skip


@cache
def numbers() -> dict[str, str]:
    """Return the numbers that are written as words beside months and years, each with its digits."""
    found: dict[str, str] = {}
    for table in _languages():
        for digits, words in table.get("numbers", {}).items():
            found |= dict.fromkeys(words, digits)
    return found


def _languages() -> Iterator[dict[str, Any]]:
    for file in sorted((files("registry.sheet_reader") / "vocabulary").iterdir(), key=lambda each: each.name):
        if file.name.endswith(".toml") and file.name not in _NOT_LANGUAGES:
            yield tomllib.loads(file.read_text(encoding="utf-8"))


@cache
def _patterns() -> tuple[tuple[tuple[str, re.Pattern[str]], ...], tuple[tuple[str, re.Pattern[str]], ...]]:
    phrases: dict[str, list[str]] = {}
    words: dict[str, list[str]] = {}
    for held in _languages():
        for target, table in ((phrases, "phrases"), (words, "words")):
            for meaning, spelled in held.get(table, {}).items():
                target.setdefault(meaning, []).extend(spelled)
    return _compiled(phrases), _compiled(words)


def _compiled(table: dict[str, list[str]]) -> tuple[tuple[str, re.Pattern[str]], ...]:
    return tuple(
        (
            meaning,
            re.compile("|".join(_expression(each) for each in sorted(set(spelled), key=len, reverse=True))),
        )
        for meaning, spelled in table.items()
    )


def _expression(phrase: str) -> str:
    if phrase.startswith("re:"):
        return f"(?:{phrase[3:]})"
    plain = folded(phrase)
    if not re.search(r"[a-zφ]", plain):
        # Chinese, Japanese and Korean write a word of several parts with or without blanks.
        return r"\s?".join(re.escape(word) for word in plain.split())
    begins, ends = not plain.startswith("*"), not plain.endswith("*")
    middle = r"[\s\-.'/]*".join(re.escape(word) for word in plain.strip("*").split())
    return (r"(?<![a-z])" if begins else "") + middle + (r"(?![a-z])" if ends else "")


def folded(text: str) -> str:
    """Return text in small letters without accents, with a blank wherever kinds of letters meet."""
    text = re.sub(r"(?<=[a-zà-ü]{3})(?=[A-Z][a-z])", " ", text)
    text = "".join(
        letter
        for letter in unicodedata.normalize("NFKD", text.casefold())
        if not unicodedata.combining(letter)
    )
    return text.translate(_LETTERS)


_LETTERS = str.maketrans({"ß": "ss", "ł": "l", "đ": "d", "ø": "o", "æ": "ae"})
"""Letters that no accent can be taken off."""


@lru_cache(maxsize=8192)
def meanings(text: str) -> frozenset[str]:
    """Return what the words of a text say, such as ``{'maximum', 'charge', 'current'}``."""
    plain = folded(text[:600])
    found: set[str] = set()
    phrases, words = _patterns()
    for meaning, pattern in phrases:
        shorter, count = pattern.subn(" ", plain)
        if count:
            found.add(meaning)
            plain = shorter
    found.update(meaning for meaning, pattern in words if pattern.search(plain))
    return frozenset(found)


def without_words(text: str, said: frozenset[str] | set[str]) -> str:
    """Return a text without its words that say one of these things; what is written without blanks loses letters."""
    kept = (
        word if not meanings(word) & said else " " if re.search(r"[a-z]", folded(word)) else _cut(word, said)
        for word in text.split()
    )
    return " ".join(" ".join(kept).split())


def _cut(word: str, said: frozenset[str] | set[str]) -> str:
    plain = folded(word)
    for meaning, pattern in _patterns()[1]:
        plain = pattern.sub(" ", plain) if meaning in said else plain
    return plain


def last_place(text: str, said: frozenset[str] | set[str]) -> int:
    """Return where the last word of a text begins that says one of these things, in letters; -1 where none does."""
    plain = folded(text)
    return max(
        (
            found.start()
            for meaning, pattern in _patterns()[1]
            if meaning in said
            for found in pattern.finditer(plain)
        ),
        default=-1,
    )
