"""The value of one printed number: decimal and thousands signs, fractions, letters that stand for digits."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from registry.printed.signs import THIN_BLANK

LONGEST = 15
"""Digits of the longest number that measures anything."""

_GROUPS = rf"[0-9]{{1,3}}(?:{THIN_BLANK}[0-9]{{3}})+(?![0-9])(?:[.,][0-9]+)?"
DIGITS = rf"(?:{_GROUPS}|[0-9]+(?:[.,'][0-9]+)*|(?<![0-9A-Za-z])\.[0-9]+)"
VULGAR = "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"


@dataclass(frozen=True, slots=True)
class Numeral:
    """A number and why it may be another one."""

    value: float
    doubt: str = ""


def numeral(printed: str, *, thousands: bool = False, unit: str = "") -> Numeral | None:
    """Return the value of a printed number, or None for what is no number ("1.2.3").

    Parameters
    ----------
    printed : str
        Digits with points, commas, apostrophes or thin blanks, perhaps a vulgar fraction behind them.
    thousands : bool
        Whether the unit behind it is never printed with three decimals ("1.500 mAh").
    unit : str
        As printed, for the words of a doubt.
    """
    if printed[-1] in VULGAR:
        whole = printed[:-1].strip()
        return Numeral((float(whole) if whole else 0.0) + unicodedata.numeric(printed[-1]))
    if THIN_BLANK in printed:
        return Numeral(float(printed.replace(THIN_BLANK, "").replace(",", ".")))
    signs = re.findall(r"[.,']", printed)
    groups = re.split(r"[.,']", printed)
    if not signs or not groups[0]:
        return Numeral(float(printed))
    if len(signs) == 1:
        return _one_sign(printed, signs[0], groups, thousands=thousands, unit=unit)
    if len(set(signs)) == 1:
        grouped = len(groups[0]) <= 3 and all(len(group) == 3 for group in groups[1:])
        return Numeral(float("".join(groups))) if grouped and groups[0] != "0" else None
    inner = len(groups[0]) <= 3 and all(len(group) == 3 for group in groups[1:-1])
    if len(set(signs[:-1])) == 1 and inner and signs[-1] not in (signs[0], "'"):
        return Numeral(float("".join(groups[:-1]) + "." + groups[-1]))
    return None


def _one_sign(printed: str, sign: str, groups: list[str], *, thousands: bool, unit: str) -> Numeral | None:
    whole, rest = groups
    decimal = float(f"{whole}.{rest}")
    if len(rest) != 3 or len(whole) > 3 or whole.startswith("0"):
        two = sign == "," and len(whole) > 3 and len(rest) > 2
        return None if sign == "'" else Numeral(decimal, f"may be {whole} and {rest}" if two else "")
    if sign == "'" or (thousands and unit.lower().startswith("m")) or unit.lower() in ("cycles", "times"):
        return Numeral(float(whole + rest))
    if sign == "," or thousands:
        return Numeral(float(whole + rest), f"'{printed}' may be {decimal:g}")
    return Numeral(decimal, "" if unit else f"'{printed}' may be {float(whole + rest):g}")


_LETTERS = str.maketrans({"O": "0", "o": "0", "l": "1", "I": "1", "|": "1"})
MISREAD = re.compile(
    r"(?<![A-Za-z0-9.,])(?=[0-9OolI|.,]{0,15}[0-9])(?=[0-9.,]{0,15}[OolI|])(?!\|)"
    r"[0-9OolI|]{1,12}(?:[.,][0-9OolI|]{1,6}){0,2}(?![0-9])"
)
"""Digits among which letters stand that a reader of pictures puts there: 2O, l8, 36.O."""


def digits_for_letters(printed: str) -> str:
    """Return digits in the place of the letters that look like them."""
    return printed.translate(_LETTERS)
