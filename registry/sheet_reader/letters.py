"""Digits that reading from a picture turned into letters: ``48OOmAh``, ``1O s``, ``O.2C``, ``-2O``."""

from __future__ import annotations

import re

_TOKEN = re.compile(
    r"(?<![A-Za-z0-9])(?<![A-Za-z0-9]-)(?=[OolI|.,\d]*\d)(?=[\d.,|]*[OolI|])(?!\|)[\dOolI|]+(?:[.,][\dOolI|]+)?"
    r"(?=\s?(?:m?Ah?|V|g|kg|mm|m?Ω|mQ|C|s|[Cc]ycles|%|x|°)(?![a-z])|[\s,;~/)\"'±+-]|$)"
)
_DIGITS = str.maketrans({"O": "0", "o": "0", "l": "1", "I": "1", "|": "1"})
_DIAMETER = re.compile(r"\(b(?=\s?\d)")
WHY = "letters stand where digits should be"


def with_digits(text: str) -> str:
    """Return a text with those letters as the digits that they must be; a model's name stays as it is."""
    return _DIAMETER.sub("Φ", _TOKEN.sub(lambda found: found[0].translate(_DIGITS), text))
