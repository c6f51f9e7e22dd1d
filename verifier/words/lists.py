"""Names in a row."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.words.filling import phrase
from verifier.words.language import ENGLISH, Language


def joined(names: Sequence[str], language: Language = ENGLISH) -> str:
    """Return names one after another."""
    return phrase("comma", language).join(names)


def listed(names: Sequence[str], language: Language = ENGLISH) -> str:
    """Return names in a row, all of them: whoever passes the sentence on cannot say which "2 more" are."""
    if len(names) < 2:
        return "".join(names)
    return phrase("names_and", language, names=joined(names[:-1], language), last=names[-1])


def either_of(names: Sequence[str], language: Language = ENGLISH) -> str:
    """Return names in a row of which one holds."""
    if len(names) < 2:
        return "".join(names)
    return phrase("names_or", language, names=joined(names[:-1], language), last=names[-1])
