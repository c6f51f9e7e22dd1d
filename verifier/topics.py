"""What ``packclaim explain`` tells beside figures, fields and limits: the words of a report, and the exit status."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from verifier.words import with_limits


@dataclass(frozen=True, slots=True)
class Topic:
    """A title, a sentence, words with their meanings, and what else is to be known."""

    name: str
    title: str
    before: str
    words: Mapping[str, str]
    after: tuple[str, ...]


@cache
def topics() -> Mapping[str, Topic]:
    """Return every topic by its name."""
    data = tomllib.loads((Path(__file__).parent / "topics.toml").read_text(encoding="utf-8"))
    return {
        name: Topic(
            name,
            given["title"],
            given["before"],
            {word: with_limits(meaning) for word, meaning in given["words"].items()},
            tuple(map(with_limits, given["after"])),
        )
        for name, given in data.items()
    }


def topics_of(word: str) -> tuple[Topic, ...]:
    """Return every topic that explains a word, holding only that word; as a report or its JSON writes it."""
    asked = _plain(word)
    return tuple(
        Topic(topic.name, topic.title, topic.before, {known: meaning}, ())
        for topic in topics().values()
        for known, meaning in topic.words.items()
        if _plain(known) == asked
    )


def _plain(word: str) -> str:
    return " ".join(word.casefold().replace("_", " ").replace("’", "'").strip(" .:").split())
