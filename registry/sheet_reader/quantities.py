"""Numbers with units as sheets print them, and the one form of their signs.

The numbers themselves are read by `registry.printed`, as everywhere; what is here is only of sheets: signs
that a lost font or a broken encoding put in the place of others, and a rate printed beside its current.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from registry.printed.finding import find_printed
from registry.printed.model import Printed
from registry.printed.units import vocabulary

_SAME = str.maketrans(
    dict.fromkeys("‐‑‒–—―−﹣－", "-") | dict.fromkeys("～〜∼˜", "~")
    | dict.fromkeys("º˚", "°") | {"≦": "≤", "≧": "≥", "⩽": "≤", "⩾": "≥", "×": "x", "＊": "*", "Ω": "Ω",
       "φ": "Φ",
       "Ø": "Φ", "ø": "Φ", "，": ", ", "；": ";", "、": ", ", "。": ". ", "（": "(", "）": ")", "：": ":"}
)  # fmt: skip
_REPAIRS = (
    (r"(?<=\d)\s?C\s+5\s?(?=m?A(?![A-Za-z]))", "C5"),
    (r"(?<=\d)(\s?C5?m?A?)\(", r"\1 ("),
    (r"(?i)(?<=[AhVg])\s?/\s?(?:cell|zelle|celda|cellule|cella|cel|ogniwo|电芯|셀)(?![a-z])", " "),
    (r"(?<=\d)x(?=\s?\()", " x "),
    (r"[-+]?\d+(?:\.\d+)?\s?°\s?F\s?\(\s?([-+]?\d+(?:\.\d+)?\s?°\s?C)\s?\)", r"\1"),
    (r"(?<=C)[₅5](?=\s?m?A?\b)", "5"),
    (r"¡æ|â„ƒ|Â°\s?C", "°C"),
    (r"¡À|(?<=\d)\s?¡\s?(?=\d)", "±"),
    (r"(?<=\d)\s?[\"”']\s?C\b", "°C"),
    (r"(?i)(?<=\d)\s*(?:deg(?:rees?|\.)?|grad|degrés?|grados?)\s*(?:celsius|C)\b", "°C"),
    (r"摄氏度|(?<=\d)\s*度", "°C"),
    (r"(?<=\d)\s*[o0]\s?C\b(?!\s?[\dm(])", lambda found: found[0] if "0" in found[0] else "°C"),
    (r"(?<=\d)\s*C\s[oº°](?=\W|$)", "°C"),
    (r"(?<=\d)\s*C°", "°C"),
    (r"°\s+(?=[CF]\b)", "°"),
    (r"(?<=\d)\s?\+\s?(?=0[.,]\d+\s?V)", " ± "),
    (r"±\s?(\d+[.,]\d+)\s+(?=0[.,]\d)", r"\1 ± "),
    (r"(?<![\d.])(\d{1,3})([.,])\s(?=\d{1,3}\s?(?:V|g|mm|A|m?Ah|mΩ)(?![A-Za-z]))", r"\1\2"),
    (r"\+\s?/\s?-|\+-", "±"),
    (r"<\s?=|=\s?<", "≤"),
    (r">\s?=|=\s?>", "≥"),
    (r"[ı£](?=\s?(?:\d|-\s?\d|T\b))", "≤"),
    (r"(?i)\bminus\s+(?=\d)", "-"),
    (r"(?<=[a-z]{4})(?=\d)", " "),
    (r"(?<=[\dCF°])\s?\.{3}\s?(?=[+-]?\s?\d)", " ~ "),
)


_NO_NUMBER = re.compile(r"\d{40,}")
"""No figure has as many digits, and the time that a pattern takes grows with the square of them."""


@lru_cache(maxsize=8192)
def normal(text: str) -> str:
    """Return text with one form of every dash, degree, comparison and unit sign."""
    text = _NO_NUMBER.sub("…", text).translate(_SAME).replace("\N{SUBSCRIPT FIVE}", "5")
    # What the signs of a symbol font become where its encoding is lost.
    text = re.sub(r"(?<!\w)[³‡](?=\s?\d)", "≥", text)
    text = unicodedata.normalize("NFKC", text).translate(_SAME)
    for pattern, replacement in _REPAIRS:
        text = re.sub(pattern, replacement, text)
    return re.sub(r"(?:- ){3,}|-{2,}(?=[\s\dA-Z]|$)|[.·_]{3,}|(?:\. ){3,}", "   ", text)


@dataclass(frozen=True, slots=True)
class Quantity:
    """One printed number and what it measures; ``dimension`` is empty for a number without a unit.

    ``value`` is in the fixed unit of its dimension (Ah, A, V, mohm, g, mm, months, C-rate as multiples).
    """

    dimension: str
    value: float
    start: int
    end: int
    printed: str
    rate: float | None = None
    sign: str = ""
    upper: float | None = None
    doubt: str | None = None
    unit: str = ""


_DIMENSIONS = {
    "Ah": "charge", "A": "current", "V": "voltage", "mohm": "resistance", "g": "mass", "kg": "mass",
    "mm": "length", "m": "metres", "cycles": "count", "percent": "percent", "Hz": "frequency", "s": "seconds",
    "S": "seconds", "h": "time", "months": "time", "It": "rate", "Wh": "energy", "W": "energy",
    "Pa": "pressure", "N": "pressure", "C": "degrees",
}  # fmt: skip
_FACTORS = {"kg": 1000.0}
_SIGNS = {"at_most": "≤", "at_least": "≥"}
_LARGEST = 1e9
"""A larger number is no figure of a cell, whatever it measures; hundreds of digits are no number at all."""
_MINUTES = re.compile(r"min|分|분", re.I)
_BROKEN_MW = re.compile(r"\s?m\s?[WF]$")
_DESIGNATION = re.compile(r"[A-Za-z]-$|\d-$")
"""What stands before the "18A" of "KPL-18A", which is no current."""
_IN_SERIES = "may be a count in series"
_THOUSANDS = re.compile(r"(?<![\d.,A-Za-z])\d{1,3}(?: \d{3})+(?=\s?mAh?(?![a-z]))")


@lru_cache(maxsize=8192)
def quantities(text: str) -> tuple[Quantity, ...]:
    """Return every number of a text, in order; a rate with its current beside it is one quantity.

    Parameters
    ----------
    text : str
        As ``normal`` returns it, temperatures masked.
    """
    # A blank before three digits and "mAh" parts thousands; a narrow blank says so.
    plain = _THOUSANDS.sub(lambda found: found[0].replace(" ", "\u202f"), text)
    found = [_quantity(text, each) for each in find_printed(plain) if abs(each.high) <= _LARGEST]
    return tuple(_paired([each for each in found if not _DESIGNATION.search(text[: each.start][-3:])], text))


@cache
def _relation_after() -> re.Pattern[str]:
    words = {word for name in ("at_most", "at_least") for word in vocabulary("relation")[name]}
    either = "|".join(re.escape(word) for word in sorted(words, key=len, reverse=True))
    return re.compile(rf"\s?[(,]?\s?(?i:{either})$")


def _quantity(text: str, found: Printed) -> Quantity:
    """Return a printed number as a quantity; the words "max" or "up to" beside it stay words of the line."""
    start, end = found.start, found.end
    first = re.search(r"[-+]?[\d½¼¾]|C\s?/", text[start:end])
    if first and not re.match(r"[≤≥<>]", text[start:end]):
        start += first.start()
    if found.relation in _SIGNS and (after := _relation_after().search(text[start:end])):
        end = start + after.start()
    printed = text[start:end].strip()
    dimension, factor, doubt = _measured(found, printed)
    low = found.centre if found.centre is not None else found.low
    upper = found.high * factor if found.relation == "range" else None
    return Quantity(
        dimension, float(f"{low * factor:.12g}"), start, end, printed,
        rate=low if dimension == "rate" else None, sign=_SIGNS.get(found.relation, ""), upper=upper,
        doubt=doubt, unit=found.unit or "",
    )  # fmt: skip


def _measured(found: Printed, printed: str) -> tuple[str, float, str | None]:
    """Return what a number measures, the factor to its fixed unit, and what is doubtful about it."""
    unit, doubt = found.unit or "", found.doubt or None
    if unit == "W" and _BROKEN_MW.search(printed):
        return "resistance", 1000.0, f"the unit '{printed[-2:]}' is a broken mohm"
    if unit == "s" and _MINUTES.search(printed):
        return "time", 1.0, doubt
    # A single cell has no cells in series, so 10S is ten seconds.
    doubt = None if doubt == _IN_SERIES else doubt
    return _DIMENSIONS.get(unit, "" if not unit else "other"), _FACTORS.get(unit, 1.0), doubt


_JOINS = re.compile(r"\s*[(=/]?\s*=?\s*")
_WORD_JOINS = re.compile(r"\s*[^\W\d]{2,12}\s*\(\s*")


def _paired(found: list[Quantity], text: str) -> list[Quantity]:
    """Join ``3C (7800mA)``, ``0.5C 1000mA`` and ``310A(10C)`` into one current that knows its rate.

    With a word between them, as in ``3C continuous (96 A)``, the word stays outside of what is joined.
    """
    joined: list[Quantity] = []
    for quantity in found:
        before = joined[-1] if joined else None
        pair = None if before is None else _pair(before, quantity, text)
        if pair is None:
            joined.append(quantity)
        else:
            joined[-1] = pair
    return joined


def _pair(before: Quantity, quantity: Quantity, text: str) -> Quantity | None:
    if {before.dimension, quantity.dimension} != {"rate", "current"}:
        return None
    if before.dimension == "current" and before.rate is not None:
        return None
    between = text[before.end : quantity.start]
    touching, with_word = _JOINS.fullmatch(between), _WORD_JOINS.fullmatch(between)
    if not touching and not with_word:
        return None
    current, rate = (before, quantity) if before.dimension == "current" else (quantity, before)
    end = quantity.end + (text[quantity.end : quantity.end + 1] == ")")
    return replace(
        current, rate=rate.value, start=before.start, end=end if touching else before.end,
        printed=text[before.start : end].strip(), sign=before.sign or current.sign,
        doubt=before.doubt or quantity.doubt,
    )  # fmt: skip
