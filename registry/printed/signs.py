"""One form of every digit, dash, comparison and blank, with the place of each in the text it came from."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import lru_cache

THIN_BLANK = "\u202f"
"""A narrow blank, which is only ever printed between groups of thousands."""

_SAME = (
    dict.fromkeys("‐‑‒–—―−﹣－", "-")
    | dict.fromkeys("～〜∼˜", "~")
    | dict.fromkeys("º˚", "°")
    | dict.fromkeys("\u202f\u2009\u2006", THIN_BLANK)
    | dict.fromkeys("’ʼ＇", "'")
    | {"≦": "≤", "⩽": "≤", "≧": "≥", "⩾": "≥", "×": "x", "✕": "x", "＊": "*", "µ": "μ", "٫": "."}
    | {"٬": ",", "…": "..."}
    | {"℃": "°C", "℉": "°F", "Ω": "Ω", "，": ", ", "、": ", ", "（": "(", "）": ")", "：": ":", "／": "/"}
)  # fmt: skip
# Read as they stand: spelled out by NFKC they would become digits of the number beside them.
_KEPT_KINDS = ("No",)


@lru_cache(maxsize=4096)
def _one(letter: str) -> str:
    if letter in _SAME:
        return _SAME[letter]
    kind = unicodedata.category(letter)
    if kind == "Nd":
        return str(unicodedata.decimal(letter))
    # Zero-width marks stand inside of copied numbers and show nothing.
    if kind in ("Cf", "Mn"):
        return "" if kind == "Cf" else letter
    return letter if kind in _KEPT_KINDS else unicodedata.normalize("NFKC", letter)


def one_form(text: str) -> tuple[str, Sequence[int]]:
    """Return text in one form, and for each of its letters and its end the place in the original."""
    if text.isascii():
        return text, range(len(text) + 1)
    letters: list[str] = []
    places: list[int] = []
    for place, letter in enumerate(text):
        same = letter if letter < "\x80" else _one(letter)
        letters.append(same)
        places.extend([place] * len(same))
    places.append(len(text))
    return "".join(letters), places
