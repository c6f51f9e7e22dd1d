"""The words that listings use: one file a language in ``vocabulary/``, named by the language's code.

A language gives parts of words by what they mean ("lade" charges, "schluss" is an end, "spannung" a voltage).
What several of them mean together is decided in one table for all languages, see ``meanings``. An entry
``word`` stands for itself, ``word*`` for every word that begins so, ``*word`` for the end of a compound and
``*word*`` for any place in one. ``common.toml`` holds what languages share, ``unread.toml`` what tells the
languages apart that are not read. The small words between figures and names stand in a language's ``linking``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from verifier.listing.linking import Linking
from verifier.listing.source import LETTER, folded

FOLDER = Path(__file__).parent / "vocabulary"

# What may stand before a part of a compound: a syllable, and no "W" as before the "ende" of "Wendel".
_MEMBER = re.compile(r"[aeiouyà-åæè-ïò-öøù-ýœ]" + f"[{LETTER}]*$")
_LONGEST_MEMBER = 12
_OTHER_SPACE = re.compile(r"[^\S ]")
_NOT_LANGUAGES = ("common", "unread")


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
class Entry:
    """One entry of a language: what it means, and whether more letters may stand before or behind it."""

    meaning: str
    inside: bool
    begins: bool


class Words:
    """The entries of one language, ready to be found in folded text.

    They are looked up by their first two signs: a pattern of a thousand words takes longer to compile than a listing
    takes to read, and a heading is looked up in every language.
    """

    def __init__(self, parts: Mapping[str, Iterable[str]]) -> None:
        self.entries: dict[str, list[Entry]] = {}
        for meaning, written in parts.items():
            for each in written:
                word = folded(each.strip("*"))
                self.entries.setdefault(word, []).append(
                    Entry(meaning, each.startswith("*"), each.endswith("*"))
                )
        begins = {word: any(entry.begins for entry in found) for word, found in self.entries.items()}
        inner = {
            word: any(entry.begins for entry in found if entry.inside)
            for word, found in self.entries.items()
            if any(entry.inside for entry in found)
        }
        signs = {word: True for word in begins if not _is_letter(word[0])}
        # Where no letter stands before, and within a word: there signs that are part of no word begin one too.
        self._first = _ByStart(begins | signs)
        self._within = (_ByStart(inner), _ByStart(signs))
        self._starts = frozenset(word[:2] for word in begins)

    def find(self, text: str, start: int, end: int) -> Iterable[tuple[int, int, frozenset[str]]]:
        """Yield (start, end, meanings) of every entry between two places, the longest at each place."""
        window = _OTHER_SPACE.sub(" ", text[start:end])
        within, signs = self._within
        at, starts = 0, self._starts
        while at < len(window):
            if window[at : at + 2] not in starts and window[at] not in starts:
                at += 1
                continue
            before = window[at - 1] if at else text[start - 1 : start]
            inside = before and _is_letter(before)
            word = within.at(window, at) or signs.at(window, at) if inside else self._first.at(window, at)
            behind = at + len(word)
            if word and (meanings := self._meanings(word, text, start + at, start + behind)):
                yield start + at, start + behind, meanings
            at = behind if word else at + 1

    def _meanings(self, word: str, text: str, start: int, end: int) -> frozenset[str]:
        """Return what a word means at its place."""
        if not _is_letter(word[0]):
            return frozenset(entry.meaning for entry in self.entries[word])
        first = start == 0 or not _is_letter(text[start - 1])
        inner = not first and _MEMBER.search(text, max(0, start - _LONGEST_MEMBER), start)
        last = end >= len(text) or not _is_letter(text[end])
        return frozenset(
            entry.meaning
            for entry in self.entries[word]
            if (first or (inner and entry.inside)) and (last or entry.begins)
        )


class _ByStart:
    """Words by their first two signs, the longest first; the value of each tells whether more letters may follow."""

    def __init__(self, words: Mapping[str, bool]) -> None:
        self._words: dict[str, list[tuple[str, bool]]] = {}
        for word in sorted(words, key=len, reverse=True):
            self._words.setdefault(word[:2], []).append((word, words[word] or not _is_letter(word[-1])))

    def at(self, text: str, at: int) -> str:
        """Return the longest of the words that stands at a place, none as an empty one."""
        for start in (text[at : at + 2], text[at]):
            for word, begins in self._words.get(start, ()):
                behind = at + len(word)
                if text.startswith(word, at) and (
                    begins or behind >= len(text) or not _is_letter(text[behind])
                ):
                    return word
        return ""


@dataclass(frozen=True, slots=True)
class Language:
    """One language that is read."""

    code: str
    name: str
    words: Words
    function: frozenset[str]
    # Letters and signs that none of the other languages read has.
    letters: frozenset[str]
    # What stands between the old and the new ("for", "gegen", "par").
    into: frozenset[str]
    # What packs told of one by one are called: in rows of a size and in order ("small", "large"; "the first").
    sizes: tuple[dict[str, re.Pattern[str]], ...]
    # The kinds of words that head a shop's other goods.
    shop: dict[str, re.Pattern[str]]
    # What heads the old and the new in a table.
    states: dict[str, re.Pattern[str]]
    # What advises to take another pack.
    advice: dict[str, re.Pattern[str]]
    # What tells of another article: that there is one, what it is called, where it is offered.
    apart: dict[str, re.Pattern[str]]
    # What says whether a pack is new or used.
    condition: dict[str, re.Pattern[str]]
    known: frozenset[str]
    beginnings: tuple[str, ...]
    insides: tuple[str, ...]
    abbreviations: frozenset[str]
    # Its own small words, see ``linking``.
    linking: Linking


@dataclass(frozen=True, slots=True)
class Unread:
    """The languages that are not read: their words, and the signs of other scripts."""

    words: dict[str, frozenset[str]]
    scripts: dict[str, re.Pattern[str]]


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """All languages, and what they share."""

    languages: dict[str, Language]
    shared: Words
    unread: Unread
    units: dict[str, Unit]
    chemistries: dict[str, str]
    abbreviations: frozenset[str]
    unit_pattern: re.Pattern[str]
    chemistry: Words
    range_pattern: re.Pattern[str]
    certificate_pattern: re.Pattern[str]
    ingress_pattern: re.Pattern[str]
    largest_cell_ah: dict[str, float]
    currencies: dict[str, str]
    numerals: dict[str, int]
    # Times that are written in words, as phrases ("half a minute"). [s]
    spans: dict[str, int]
    linking: Linking

    @property
    def sizes(self) -> frozenset[str]:
        """The size codes of cells."""
        return frozenset(self.largest_cell_ah)


def _is_letter(sign: str) -> bool:
    """Whether a sign is one of ``LETTER``; asked for every sign of a listing, where a pattern would take long."""
    return "a" <= sign <= "z" or "ß" <= sign <= "ɏ"


def _longest_of(phrases: Iterable[str]) -> str:
    """Return a pattern that finds the longest phrase at a place that no more letters follow, however many there are."""
    root: dict[str, Any] = {}
    for phrase in phrases:
        node = root
        for letter in phrase:
            node = node.setdefault(letter, {})
        node[""] = {}

    def pattern(node: dict[str, Any]) -> str:
        branches = [
            (r"\s" if letter == " " else re.escape(letter)) + pattern(inside)
            for letter, inside in sorted(node.items())
            if letter
        ]
        if "" in node:
            branches.append("")
        return branches[0] if len(branches) == 1 else f"(?:{'|'.join(branches)})"

    return pattern(root) + f"(?:(?<![{LETTER}])|(?![{LETTER}]))"


_SIZES = (("small", "middle", "large"), ("first", "second", "third"))


def _sizes(given: Mapping[str, Iterable[str]]) -> tuple[dict[str, re.Pattern[str]], ...]:
    return tuple({name: _any_of(given[name]) for name in names if name in given} for names in _SIZES)


def _any_of(written: Iterable[str]) -> re.Pattern[str]:
    """Return the pattern of any of some words, each whole unless it ends with a star.

    Signs need nothing between: "15Ah版" holds the word for a version.
    """
    return re.compile("|".join(map(_whole, written)))


def _longest_first(written: Iterable[str]) -> list[str]:
    return sorted(written, key=lambda word: (-len(word), word))


def _whole(written: str) -> str:
    word = folded(written.strip("*"))
    before = f"(?<![{LETTER}])" if _is_letter(word[:1]) else ""
    behind = f"(?![{LETTER}])" if _is_letter(word[-1:]) and "*" not in written else ""
    return before + re.escape(word) + behind


def _language(code: str, data: dict[str, Any], shared: frozenset[str]) -> Language:
    parts = data.get("parts", {})
    written = [word for words in parts.values() for word in words]
    # What only heads a shop's goods or tells packs apart tells of the language too.
    more = [
        word
        for section in ("shop", "sizes", "states")
        for words in data.get(section, {}).values()
        for word in words
    ]
    known = {folded(word) for word in (*written, *more) if "*" not in word and " " not in word}
    return Language(
        code,
        data["language"],
        Words(parts),
        frozenset(map(folded, data.get("function", ()))),
        frozenset(data.get("letters", "")),
        frozenset(map(folded, data.get("into", ()))),
        _sizes(data.get("sizes", {})),
        {name: _any_of(words) for name, words in data.get("shop", {}).items()},
        {name: _any_of(words) for name, words in data.get("states", {}).items()},
        {name: _any_of(words) for name, words in data.get("advice", {}).items()},
        {name: _any_of(words) for name, words in data.get("apart", {}).items()},
        {name: _any_of(_longest_first(words)) for name, words in data.get("condition", {}).items()},
        frozenset(known - shared),
        tuple({folded(word.strip("*")) for word in written if word.endswith("*")} - shared),
        tuple({folded(word.strip("*")) for word in written if word.startswith("*")}),
        frozenset(map(folded, data.get("abbreviations", ()))),
        Linking([data.get("linking", {})]),
    )


def _numerals(files: Iterable[dict[str, Any]]) -> dict[str, int]:
    """Return the number words of all languages, with those put together of tens and ones."""
    found: dict[str, int] = {}
    for each in files:
        given = each.get("numerals", {})
        ones = given.get("words", ())
        found |= {folded(word): value for value, word in enumerate(ones, 1)}
        # "Forty-two", "zweiundvierzig": where the ones stand is as the language joins them.
        tens = {int(value): word for value, word in given.get("tens", {}).items()}
        for ten, word in tens.items():
            found[folded(word)] = ten
            joined = given["joined"]
            ones_of = {
                value: given.get("one", one) if value == 1 else one for value, one in enumerate(ones[:9], 1)
            }
            found |= {
                folded(way.format(ten=word, one=one)): ten + value
                for value, one in ones_of.items()
                for way in joined
            }
        # "Z szesnastu ogniw": inflected.
        found |= {
            folded(word): int(value) for value, words in given.get("forms", {}).items() for word in words
        }
        # "Three thousand", "dreitausend", "tres mil".
        for size, way in (each.get("numerals", {}).get("powers", {})).items():
            alone = given.get("alone", {}).get(size, way.format(one=""))
            found |= {folded(way.format(one=one)): int(size) * value for value, one in enumerate(ones, 1)}
            found[folded(alone.strip())] = int(size)
    return found


def _unread(data: dict[str, Any]) -> Unread:
    return Unread(
        {name: frozenset(map(folded, words)) for name, words in data.get("languages", {}).items()},
        {name: re.compile(f"[{signs}]") for name, signs in data.get("scripts", {}).items()},
    )


def load_vocabulary(folder: Path = FOLDER) -> Vocabulary:
    """Read every language of a folder.

    Parameters
    ----------
    folder : Path
        Holds ``common.toml``, ``unread.toml`` and one file a language.
    """
    # A default that is left out and one that is given would be kept apart, and the same files be read twice.
    return _loaded(folder)


@cache
def _loaded(folder: Path) -> Vocabulary:
    data = {
        path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(folder.glob("*.toml"))
    }
    common = data["common"]
    shared = frozenset(folded(word) for words in common["parts"].values() for word in words)
    known = {name: Unit(name, **given) for name, given in common["unit"].items()}
    units: dict[str, str] = {}
    chemistries: dict[str, list[str]] = {}
    between: set[str] = set()
    abbreviations: set[str] = set()
    for each in data.values():
        for name, words in each.get("units", {}).items():
            units.update((folded(word), name) for word in words)
        for name, words in each.get("chemistry", {}).items():
            chemistries.setdefault(name, []).extend(words)
        between.update(folded(word) for words in each.get("range", {}).values() for word in words)
        abbreviations.update(map(folded, each.get("abbreviations", ())))
    codes = common["codes"]
    return Vocabulary(
        languages={
            code: _language(code, each, shared) for code, each in data.items() if code not in _NOT_LANGUAGES
        },
        shared=Words(common["parts"]),
        unread=_unread(data.get("unread", {})),
        units={word: known[name] for word, name in units.items()},
        chemistries={folded(word.strip("*")): name for name, words in chemistries.items() for word in words},
        abbreviations=frozenset(abbreviations),
        unit_pattern=re.compile(r"\+?[ \-]?(?P<word>" + _longest_of(units) + ")"),
        chemistry=Words(chemistries),
        range_pattern=re.compile(r"\s?(?:" + "|".join(re.escape(word) for word in sorted(between)) + r")\s?"),
        certificate_pattern=re.compile(
            r"(?<![A-Za-z])(?:"
            + "|".join(sorted(codes["certificates"], key=len, reverse=True))
            + r")(?![A-Za-z0-9])"
        ),
        ingress_pattern=re.compile(r"(?<![A-Za-z])" + codes["ingress"] + r"(?![A-Za-z0-9])"),
        largest_cell_ah=common["largest_cell_ah"],
        numerals=_numerals(data.values()),
        spans={
            folded(word): int(seconds)
            for each in data.values()
            for seconds, words in each.get("spans", {}).items()
            for word in words
        },
        linking=Linking(each.get("linking", {}) for each in data.values()),
        currencies={folded(sign): code for code, signs in common["currency"].items() for sign in signs},
    )
