"""Numbers with units as sheets print them: thousands and decimal signs, C-rates, tolerances, lost signs."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

_SAME = str.maketrans(
    dict.fromkeys("‐‑‒–—―−﹣－", "-") | dict.fromkeys("～〜∼˜", "~")
    | dict.fromkeys("º˚", "°") | {"≦": "≤", "≧": "≥", "⩽": "≤", "⩾": "≥", "×": "x", "＊": "*", "Ω": "Ω",
       "φ": "Φ",
       "Ø": "Φ", "ø": "Φ", "，": ",", "；": ";", "、": ",", "。": ". ", "（": "(", "）": ")", "：": ":"}
)  # fmt: skip
_REPAIRS = (
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
    (r"\+\s?/\s?-|\+-", "±"),
    (r"<\s?=|=\s?<", "≤"),
    (r">\s?=|=\s?>", "≥"),
    (r"[ı£](?=\s?(?:\d|-\s?\d|T\b))", "≤"),
    (r"(?i)\bminus\s+(?=\d)", "-"),
    (r"(?<=[a-z]{4})(?=\d)", " "),
    (r"(?<=[\dCF°])\s?\.{3}\s?(?=[+-]?\s?\d)", " ~ "),
)


def normal(text: str) -> str:
    """Return text with one form of every dash, degree, comparison and unit sign."""
    text = text.translate(_SAME).replace("\N{SUBSCRIPT FIVE}", "5")
    # What the signs of a symbol font become where its encoding is lost.
    text = re.sub(r"(?<!\w)[³‡](?=\s?\d)", "≥", text)
    text = unicodedata.normalize("NFKC", text).translate(_SAME)
    for pattern, replacement in _REPAIRS:
        text = re.sub(pattern, replacement, text)
    return re.sub(r"(?:- ){3,}|-{2,}(?=[\s\dA-Z]|$)|[.·_]{3,}|(?:\. ){3,}", "   ", text)


@dataclass(frozen=True, slots=True)
class Quantity:
    """One printed number and what it measures; ``dimension`` is empty for a number without a unit.

    ``value`` is in the fixed unit of its dimension (Ah, A, V, mohm, g, mm, C-rate as multiples).
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


@cache
def _units() -> tuple[re.Pattern[str], tuple[dict[str, Any], ...]]:
    """Return one pattern of every unit, the longest spelling first, and the unit of each of its groups."""
    held = (files("registry.sheet_reader") / "vocabulary" / "units.toml").read_text(encoding="utf-8")
    spelled = [(spelling, unit) for unit in tomllib.loads(held)["unit"] for spelling in unit["spellings"]]
    spelled.sort(key=lambda each: -len(each[0]))
    groups = "|".join(
        rf"({spelling})(?![a-zäéΩ\d])" if unit.get("exact") else rf"(?i:({spelling})(?![a-zäéΩ\d]))"
        for spelling, unit in spelled
    )
    return re.compile(rf"\s*\(?\s*(?:{groups})"), tuple(unit for _, unit in spelled)


_NUMBER = r"\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d{1,3}(?: \d{3})+(?=\s?m)|\d+[.,]\s?\d+|\d+|(?<![\d.])\.\d+"
NUMBERED = re.compile(rf"(?P<sign>[≤≥<>±]\s*)?(?<!\d[.,/])(?<![\d.A-Za-z])(?<![A-Za-z]-)(?P<number>{_NUMBER})")
_TOLERANCE = re.compile(rf"\s*(?P<sign>[±+])\s*(?P<tolerance>{_NUMBER})(?:\s*/?\s*-\s*(?:{_NUMBER}))?")
_UPPER = re.compile(rf"\s*(?:~|-|to\b|bis\b|至)\s*(?P<upper>{_NUMBER})")
_C_RATE = re.compile(
    r"\s*(?:C\s?\(A\)|C\s?[mA]*\s?5(?!\d)\s?m?A?"
    r"|C\s?5(?!\d)\s?m?A(?![h])|C\s?m?A(?!\s?h)|I\s?t\s?A?|C-?rate|C)(?![a-zA-Z°Ω])"
)
_RATE_OVER = re.compile(r"(?<![A-Za-z°\d])C\s?/\s?(\d{1,4})(?!\d)(?![\d.]*\s?[A-Za-z%])")
_LARGEST = 1e9
"""A larger number is no figure of a cell, whatever it measures; hundreds of digits are no number at all."""


def number(text: str, unit: str = "") -> tuple[float, str | None]:
    """Return a printed number and, where its signs can be read two ways, the doubt.

    Parameters
    ----------
    text : str
        Digits with points, commas or blanks.
    unit : str
        The unit that follows; a comma before three digits is a thousands sign in front of ``mAh``, ``mA``.
    """
    plain, doubt = re.sub(r"(?<=[.,])\s", "", text), None
    if plain != text and " " in text:
        doubt = None
    plain = plain.replace(" ", "")
    thousands = re.fullmatch(r"(\d{1,3})[.,](\d{3})", plain)
    if thousands and unit.lower().startswith("m") and not unit.lower().startswith("mm"):
        # 1.500 mA is one and a half ampere, and 0.500 mA is no thousand.
        return float(thousands[1] + thousands[2]), None
    if thousands and "," in plain:
        return float(f"{thousands[1]}.{thousands[2]}"), "the comma may be a thousands sign"
    if re.fullmatch(r"\d{1,3}(,\d{3})+(\.\d+)?", plain):
        return float(plain.replace(",", "")), None
    return float(plain.replace(",", ".")), doubt


def unit_after(text: str, at: int) -> tuple[dict[str, Any], int, str] | None:
    """Return the unit that stands at a place of a text, where it ends, and as it is printed."""
    pattern, units = _units()
    found = pattern.match(text, at)
    if found is None or found.lastindex is None:
        return None
    end = found.end() + ("(" in found[0] and text[found.end() : found.end() + 1] == ")")
    return units[found.lastindex - 1], end, found[0].strip(" ()")


@lru_cache(maxsize=8192)
def quantities(text: str) -> tuple[Quantity, ...]:
    """Return every number of a text, in order; a rate with its current beside it is one quantity.

    Parameters
    ----------
    text : str
        As ``normal`` returns it, temperatures masked.
    """
    found: list[Quantity] = []
    at = 0
    while True:
        match = NUMBERED.search(text, at)
        if not match:
            break
        quantity = _quantity(text, match)
        if quantity.value <= _LARGEST:
            found.append(quantity)
        at = max(quantity.end, match.end())
    for over in _RATE_OVER.finditer(text):
        if int(over[1]):
            rate = 1 / int(over[1])
            found = [each for each in found if each.end <= over.start() or each.start >= over.end()]
            found.append(Quantity("rate", rate, over.start(), over.end(), over[0], rate=rate))
    return tuple(_paired(sorted(found, key=lambda each: each.start), text))


def _quantity(text: str, match: re.Match[str]) -> Quantity:
    end, upper_text, doubt = match.end(), None, None
    sign = (match["sign"] or "").strip()
    tolerance = _TOLERANCE.match(text, end)
    if tolerance:
        # "4.20 + 0.03V" is a tolerance that lost its lower half.
        small = number(tolerance["tolerance"])[0] < 0.5 * max(number(match["number"])[0], 1e-9)
        if small:
            end = tolerance.end()
            doubt = (
                "the sign of the tolerance is broken"
                if tolerance["sign"] == "+" and "-" not in tolerance[0]
                else None
            )
    elif sign == "±":
        moved = re.compile(rf"\s+(?:{_NUMBER})(?=\s*[A-Za-z])").match(text, end)
        if moved:
            end, doubt = moved.end(), "the sign of the tolerance is displaced"
    else:
        upper = _UPPER.match(text, end)
        unit_first = unit_after(text, end)
        if unit_first and not upper:
            upper = _UPPER.match(text, unit_first[1])
            second = unit_after(text, upper.end()) if upper else None
            if second is None or second[0]["dimension"] != unit_first[0]["dimension"]:
                upper = None
        if upper:
            upper_text, end = upper["upper"], upper.end()
    return _with_unit(text, match, end, upper_text, doubt, sign)


def _with_unit(
    text: str, match: re.Match[str], end: int, upper_text: str | None, doubt: str | None, sign: str
) -> Quantity:
    start = match.start("number") if not sign else match.start()
    rate = _C_RATE.match(text, end)
    if rate and unit_after(text, end) is None:
        value, unclear = number(match["number"])
        upper = number(upper_text)[0] if upper_text else None
        printed = text[start : rate.end()].strip()
        return Quantity("rate", value, start, rate.end(), printed, value, sign, upper, doubt or unclear)
    unit = unit_after(text, end)
    spelled = unit[2] if unit else ""
    value, unclear = number(match["number"], spelled)
    upper = number(upper_text, spelled)[0] if upper_text else None
    if unit is None:
        return Quantity("", value, start, end, text[start:end].strip(), None, sign, upper, doubt or unclear)
    factor, stop = unit[0]["factor"], unit[1]
    if unit[0].get("broken"):
        doubt = doubt or f"the unit '{spelled}' is a broken mohm"
    value = float(f"{value * factor:.12g}")
    upper = None if upper is None else float(f"{upper * factor:.12g}")
    printed = text[start:stop].strip()
    return Quantity(unit[0]["dimension"], value, start, stop, printed, None, sign, upper, doubt or unclear)


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
