"""The words that listings use, by language, read from the files in ``vocabulary/``.

A language is one TOML file with any of these tables: ``words`` (unit words by unit name), ``range`` (what
stands between the two ends of a range), ``labels`` (words by what they make of a number) and ``chemistry``.
All languages are searched at once, as listings mix them.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "vocabulary"

# Letters that run together into words; Chinese signs stand for themselves and need no blank around them.
LETTER = r"a-zß-ɏ"


@dataclass(frozen=True, slots=True)
class Unit:
    """What a unit measures and how to turn it into the unit of the claim field."""

    name: str
    dimension: str
    factor: float
    thousands: bool = False
    slip: str = ""
    machine: bool = False


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """All languages together, ready to search lower-case text."""

    units: dict[str, Unit]
    labels: dict[str, frozenset[str]]
    chemistries: dict[str, str]
    abbreviations: frozenset[str]
    unit_pattern: re.Pattern[str]
    label_pattern: re.Pattern[str]
    chemistry_pattern: re.Pattern[str]
    range_pattern: re.Pattern[str]
    certificate_pattern: re.Pattern[str]
    ingress_pattern: re.Pattern[str]
    sizes: frozenset[str]


def _trie_pattern(phrases: dict[str, Any]) -> str:
    """Return a pattern that finds the longest phrase at a place, however many there are."""
    root: dict[str, Any] = {}
    for phrase in phrases:
        node = root
        for letter in phrase:
            node = node.setdefault(letter, {})
        node[""] = re.match(f"[{LETTER}]", phrase[-1]) is not None

    def pattern(node: dict[str, Any]) -> str:
        branches = [
            (r"\s" if letter == " " else re.escape(letter)) + pattern(inside)
            for letter, inside in sorted(node.items())
            if letter
        ]
        if "" in node:
            branches.append(f"(?![{LETTER}])" if node[""] else "")
        return branches[0] if len(branches) == 1 else f"(?:{'|'.join(branches)})"

    return pattern(root) if root else r"(?!)"


def _search_pattern(phrases: dict[str, Any]) -> re.Pattern[str]:
    words = {phrase: None for phrase in phrases if re.match(f"[{LETTER}]", phrase)}
    signs = {phrase: None for phrase in phrases if phrase not in words}
    return re.compile(f"(?<![{LETTER}])(?:{_trie_pattern(words)})|(?:{_trie_pattern(signs)})")


@cache
def load_vocabulary(folder: Path = FOLDER) -> Vocabulary:
    """Read every language of a folder.

    Parameters
    ----------
    folder : Path
        Holds ``common.toml`` and one file a language.
    """
    common: dict[str, Any] = {}
    units: dict[str, str] = {}
    labels: dict[str, set[str]] = {}
    chemistries: dict[str, str] = {}
    between: list[str] = []
    abbreviations: set[str] = set()
    for path in sorted(folder.glob("*.toml")):
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        if path.name == "common.toml":
            common = data
        for name, words in data.get("words", {}).items():
            units.update(dict.fromkeys(words, name))
        for name, words in data.get("labels", {}).items():
            for word in words:
                labels.setdefault(word, set()).add(name)
        for name, words in data.get("chemistry", {}).items():
            chemistries.update(dict.fromkeys(words, name))
        between += [word for words in data.get("range", {}).values() for word in words]
        abbreviations.update(data.get("abbreviations", ()))
    known = {name: Unit(name, **given) for name, given in common["unit"].items()}
    codes = common["codes"]
    return Vocabulary(
        units={word: known[name] for word, name in units.items()},
        labels={word: frozenset(names) for word, names in labels.items()},
        chemistries=chemistries,
        abbreviations=frozenset(abbreviations),
        unit_pattern=re.compile(r"\+?[ \-]?(?P<word>" + _trie_pattern(units) + ")"),
        label_pattern=_search_pattern(labels),
        chemistry_pattern=_search_pattern(chemistries),
        range_pattern=re.compile(r"\s?(?:" + "|".join(re.escape(word) for word in between) + r")\s?"),
        certificate_pattern=re.compile(
            r"(?<![A-Za-z])(?:"
            + "|".join(sorted(codes["certificates"], key=len, reverse=True))
            + r")(?![A-Za-z0-9])"
        ),
        ingress_pattern=re.compile(r"(?<![A-Za-z])" + codes["ingress"] + r"(?![A-Za-z0-9])"),
        sizes=frozenset(codes["sizes"]),
    )
