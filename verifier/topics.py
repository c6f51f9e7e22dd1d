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
    """A title, a sentence, words with their meanings, and what else is to be known.

    ``also`` gives other names of a word, as JSON writes them.
    """

    name: str
    title: str
    before: str
    words: Mapping[str, str]
    after: tuple[str, ...]
    also: Mapping[str, str]


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
            given.get("also", {}),
        )
        for name, given in data.items()
    }


def topics_of(word: str) -> tuple[Topic, ...]:
    """Return every topic that explains a word, holding only that word; as a report or its JSON writes it."""
    asked = _plain(word)
    return tuple(
        Topic(topic.name, topic.title, topic.before, {known: meaning}, (), {})
        for topic in topics().values()
        for known, meaning in topic.words.items()
        if asked in (_plain(known), *(_plain(other) for other, of in topic.also.items() if of == known))
    )


def _plain(word: str) -> str:
    """Return a word without case, signs at its ends, and the shape that a report prints before a verdict."""
    text = word.casefold().replace("_", " ").replace("’", "'").strip(" .:+?~")
    return " ".join(text.removeprefix("x ").split())
