"""What the program says in English alone, in the reader's language: by the patterns of the page's catalogue.

Refusals, remarks on a listing and the lines of a datasheet are made where they are found out, in English. Each has a
pattern with slots in the group "said" of a language; what has none is shown as it is, marked as English.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import cache
from string import Formatter

from registry.errors import PlacedError
from verifier import case_fields
from verifier.page.texts import Texts, texts

_BETWEEN = "; "


def translated(text: str, words: Texts) -> str | None:
    """Return an English sentence in the reader's language; None where a part of it has no pattern there."""
    whole = _part(text, words)
    return _joined(text.split(_BETWEEN), _BETWEEN, words) if whole is None else whole


def translated_error(error: PlacedError, words: Texts) -> str | None:
    """Return an error in the reader's language: its place too, where that is a word and no name."""
    told = translated(_BETWEEN.join(filter(None, (error.found, error.expected))), words)
    if told is None or not error.place:
        return told
    place = _part(error.place, words)
    return f"{error.place if place is None else place}: {told}"


def _joined(parts: Iterable[str], between: str, words: Texts) -> str | None:
    found = [_part(each, words) for each in parts]
    return None if None in found else between.join(each for each in found if each is not None)


def _part(text: str, words: Texts) -> str | None:
    for pattern, said in _patterns(words.language):
        match = pattern.fullmatch(text)
        if match is not None:
            slots = {slot: _slot(slot, value, words) for slot, value in match.groupdict().items()}
            if None not in slots.values():
                return said.format(**slots)
    return None


def _slot(slot: str, value: str, words: Texts) -> str | None:
    translate = _SLOTS.get(slot)
    return value if translate is None else translate(value, words)


def _field(name: str, words: Texts) -> str:
    found = words.word("fields", f"claim.{name}")
    if found is not None:
        return found
    field = case_fields().get(f"claim.{name}")
    return name if field is None else field.words


def _choices(value: str, words: Texts) -> str:
    found = [words.word("choices", each.replace(" ", "_")) for each in value.split(", ")]
    return ", ".join(
        english if each is None else each for each, english in zip(found, value.split(", "), strict=True)
    )


def _kept(value: str, words: Texts) -> str:
    found = _part(value, words)
    return value if found is None else found


def _conditions(value: str, words: Texts) -> str:
    return ", ".join(_kept(each, words) for each in value.split(", "))


def _examples(value: str, words: Texts) -> str:
    return value.replace(" or ", f" {_kept('or', words)} ")


_SLOTS: dict[str, Callable[[str, Texts], str | None]] = {
    "field": _field, "other_field": _field, "choices": _choices, "conditions": _conditions, "examples": _examples,
    "unit": _kept, "why": _kept, "kind": _kept, "word": _part,
}  # fmt: skip
"""What is done to what stands in a slot, by its name; any other is a number or somebody's own words."""


@cache
def _patterns(language: str) -> tuple[tuple[re.Pattern[str], str], ...]:
    return tuple(
        (re.compile(_expression(english)), said) for english, said in texts(language).group("said").items()
    )


def _expression(english: str) -> str:
    parts = []
    for plain, slot, _, _ in Formatter().parse(english):
        parts.append(re.escape(plain))
        if slot is not None:
            # A part ends where the next begins; only what is quoted may hold anything.
            parts.append(f"(?P<{slot}>.+?)" if slot == "quote" else f"(?P<{slot}>(?:(?!; ).)+?)")
    return "".join(parts)
