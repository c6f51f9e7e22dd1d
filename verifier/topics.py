"""What ``packclaim explain`` tells beside figures and fields: the verdicts and the exit status."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path


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
        name: Topic(name, given["title"], given["before"], given["words"], tuple(given["after"]))
        for name, given in data.items()
    }
