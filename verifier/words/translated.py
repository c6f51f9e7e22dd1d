"""What the program says in English alone, in the reader's language: by the patterns of its catalogue.

Refusals, remarks on a listing and the lines of a datasheet or a log are made where they are found out, in English.
Each has a pattern with slots in the group "said" of a language; what has none is shown as it is, marked as English.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import cache, lru_cache
from string import Formatter

from registry.errors import PlacedError
from verifier.case.fields import case_fields
from verifier.words.language import Language, language_of

_BETWEEN = "; "


def translated(text: str, language: Language) -> str | None:
    """Return an English sentence in the reader's language; None where a part of it has no pattern there."""
    return _translated(text, language.code)


@lru_cache(maxsize=4096)
def _translated(text: str, code: str) -> str | None:
    # The rows of a table have the same few faults.
    language = language_of(code)
    whole = _part(text, language)
    return _joined(text.split(_BETWEEN), _BETWEEN, language) if whole is None else whole


def in_readers_words(text: str, language: Language) -> str:
    """Return an English sentence in the reader's language, where it has a pattern; for what cannot be marked."""
    found = None if language.english else translated(text, language)
    return text if found is None else found


def translated_error(error: PlacedError, language: Language) -> str | None:
    """Return an error in the reader's language: its place too, where that is a word and no name."""
    told = translated(_BETWEEN.join(filter(None, (error.found, error.expected))), language)
    if told is None or not error.place:
        return told
    return f"{_place(error.place, language)}: {told}"


def _place(place: str, language: Language) -> str:
    """Return a place: in words where it is one, a field after a file's name as it is called; else as it is."""
    whole = _part(place, language)
    if whole is not None:
        return whole
    file, _, last = place.rpartition(" ")
    return f"{_place(file, language)} {language.group('fields').get(last, last)}" if file else place


def _joined(parts: Iterable[str], between: str, language: Language) -> str | None:
    found = [_part(each, language) for each in parts]
    return None if None in found else between.join(each for each in found if each is not None)


def _part(text: str, language: Language) -> str | None:
    for pattern, said in _patterns(language.code):
        match = pattern.fullmatch(text)
        if match is not None:
            slots = {slot: _slot(slot, value, language) for slot, value in match.groupdict().items()}
            if None not in slots.values():
                return said.format(**slots)
    return None


def _slot(slot: str, value: str, language: Language) -> str | None:
    translate = _SLOTS.get(slot)
    return value if translate is None else translate(value, language)


def _field(name: str, language: Language) -> str:
    found = language.group("fields").get(f"claim.{name}")
    if found is not None:
        return found
    field = case_fields().get(f"claim.{name}")
    return name if field is None else field.words


def _called(words: str, language: Language) -> str | None:
    """Return what a field is called that an English sentence names by its words; None of other words."""
    names = (name for name, field in case_fields().items() if field.words == words)
    found = (language.group("fields").get(name) for name in names)
    return next((each for each in found if each is not None), None)


def _choices(value: str, language: Language) -> str:
    found = [language.group("choices").get(each.replace(" ", "_")) for each in value.split(", ")]
    return ", ".join(
        english if each is None else each for each, english in zip(found, value.split(", "), strict=True)
    )


def _kept(value: str, language: Language) -> str:
    found = _part(value, language)
    return value if found is None else found


def _conditions(value: str, language: Language) -> str:
    return ", ".join(_kept(each, language) for each in value.split(", "))


def _examples(value: str, language: Language) -> str:
    return value.replace(" or ", f" {_kept('or', language)} ")


_SLOTS: dict[str, Callable[[str, Language], str | None]] = {
    "field": _field, "other_field": _field, "called": _called, "choices": _choices, "conditions": _conditions,
    "examples": _examples, "problem": translated, "word": _part,
    **dict.fromkeys(("unit", "why", "kind", "how", "held", "band", "chemistry", "pack", "state", "minutes"), _kept),
}  # fmt: skip
"""What is done to what stands in a slot, by its name; any other is a number or somebody's own words."""


# A part ends where the next begins; only what is quoted may hold anything. What was typed stands in quotes or is short,
# and so are numbers: else a pattern that begins with one would take half a sentence for it.
_ANYTHING = r"(?:(?!; ).)+?"
_SHORT = r"[^\s']+(?: [^\s']+)"
_IN_SLOTS = {
    "quote": ".+?",
    "typed": rf"'.*?'|{_SHORT}{{0,2}}",
    "low": r"[^\s']+",
    "number": r"\S+",
    "high": rf"{_SHORT}?",
}


@cache
def _patterns(language: str) -> tuple[tuple[re.Pattern[str], str], ...]:
    return tuple(
        (re.compile(_expression(english)), said)
        for english, said in language_of(language).group("said").items()
    )


def _expression(english: str) -> str:
    parts = []
    for plain, slot, _, _ in Formatter().parse(english):
        parts.append(re.escape(plain))
        if slot is not None:
            parts.append(f"(?P<{slot}>{_IN_SLOTS.get(slot, _ANYTHING)})")
    return "".join(parts)
