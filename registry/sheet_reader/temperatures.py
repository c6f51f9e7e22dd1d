"""Temperatures as sheets print them: ranges with every dash and degree form, comparisons, Fahrenheit."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

_T = r"[-+]?\s?\d{1,3}(?:[.,]\d+)?"
_UNIT = r"\s?°?\s?[CF](?![a-zA-Z\d])|\s?°(?![CF])"
_TO = (
    r"\s*(?:~|\.\.\.?|-|up to|to|bis zu|bis|至|から|à|(?-i:a)|hasta|への|and|et|und|y|e|tot|do|até|ate|에서)"
    r"\s*"
)
_LESS = r"\s*[<≤]\s*"
_MORE = r"\s*[>≥]\s*"
_NAME = r"(?:Ta|Tc|T|t|temp(?:erature)?\.?|温度)"
_RANGE = re.compile(
    rf"(?<![\d.A-Za-z])(?<!\d,)(?P<low>{_T})(?P<one>{_UNIT})?(?P<to>{_TO})(?P<high>{_T})(?P<two>{_UNIT})?"
    rf"(?!\d|\.[\d.]|\s?%|\s?(?:m?A|V|g|mm|mΩ|s|min|h|months?|monat\w*|mois|mes\w*|years?|jahr\w*|个月|か月|개월)\b)",
    re.I,
)
_RISING = re.compile(rf"(?P<low>{_T})(?:{_UNIT})?{_LESS}{_NAME}{_LESS}(?P<high>{_T})(?:{_UNIT})?")
_FALLING = re.compile(rf"(?P<high>{_T})(?:{_UNIT})?{_MORE}{_NAME}{_MORE}(?P<low>{_T})(?:{_UNIT})?")
_BELOW = re.compile(
    rf"(?:低于|\bbelow|\bunder|unter|en dessous de|por debajo de|{_NAME}\s?[<≤])\s*"
    rf"(?P<high>{_T})(?:{_UNIT})",
    re.I,
)
_ABOVE = re.compile(
    rf"(?:高于|(?<!not )\babove|\bover|über|au-dessus de|por encima de|{_NAME}\s?[>≥])\s*"
    rf"(?P<low>{_T})(?:{_UNIT})",
    re.I,
)
_BELOW_AFTER = re.compile(rf"(?P<high>{_T})(?:{_UNIT})\s*(?:以下|以内|未満|or less|or below)", re.I)
_ABOVE_AFTER = re.compile(rf"(?P<low>{_T})(?:{_UNIT})\s*(?:以上|or more|or above)", re.I)
_SINGLE = re.compile(
    rf"(?<![\d.A-Za-z±])(?<!\d,)(?<!±\s)(?P<low>{_T})(?:\s?±\s?\d+(?:\.\d+)?)?(?P<one>\s?°\s?[CF](?![a-zA-Z])|\s?°(?!\w))",
    re.I,
)
_BARE_SINGLE = re.compile(
    r"(?:@|\bat|ambient(?: temperature)?(?: of)?|\bbei|\btemp\w*)\s*"
    r"(?P<low>[-+]?\d{2})(?:\s?±\s?\d+)?\s?C(?![a-zA-Z\d])",
    re.I,
)
_CUT = re.compile(
    r"(?<![\d.,A-Za-z])(?P<low>\d{2,3})\s?°?\s?C(?=[\s-]*(?:cut|temperature cut|limit|ambient))", re.I
)


@dataclass(frozen=True, slots=True)
class Temperatures:
    """A range or a single temperature of a text, in C; an open end is ``None``."""

    low: float | None
    high: float | None
    start: int
    end: int
    single: bool = False
    derived: str | None = None
    doubt: str | None = None
    twin: bool = False


def _value(text: str) -> float:
    return float(re.sub(r"\s", "", text).replace(",", ".").lstrip("+")) + 0.0


def _unit(text: str | None) -> str:
    return (text or "").strip().upper().replace(" ", "")


@lru_cache(maxsize=8192)
def temperatures(text: str, *, about_temperature: bool = False) -> tuple[Temperatures, ...]:
    """Return every temperature of a text in order; a Fahrenheit twin of a Celsius range is marked.

    Parameters
    ----------
    text : str
        As ``quantities.normal`` returns it.
    about_temperature : bool
        Whether a range without any degree sign is one of temperatures.
    """
    found: list[Temperatures] = []
    for pattern, read in _READERS:
        for match in pattern.finditer(text):
            if all(match.end() <= each.start or match.start() >= each.end for each in found):
                one = read(match, about_temperature)
                found += [one] if one is not None else []
    if not about_temperature and any(not each.single and not each.derived for each in found):
        # Where one range says its degrees, the others of the line need not.
        found += _of_the_same_kind(text, found)
    celsius = any(not each.single and not each.derived for each in found)
    found = [replace(each, twin=celsius and each.derived is not None) for each in found]
    return tuple(sorted(found, key=lambda each: each.start))


def _of_the_same_kind(text: str, found: Sequence[Temperatures]) -> list[Temperatures]:
    more = []
    for match in _RANGE.finditer(text):
        if any(match.start() < each.end and match.end() > each.start for each in found):
            continue
        whole = match["to"].strip().lower() in {"~", "to", "bis", "...", "-", "à", "至"} and not re.search(
            r"[.,]", match["low"] + match["high"]
        )
        one = _range(match, True) if whole and not re.match(r"\s?[A-Za-z%Ω]", text[match.end() :]) else None
        more += [one] if one is not None else []
    return more


def _compared(match: re.Match[str], about_temperature: bool) -> Temperatures:
    low, high = sorted((_value(match["low"]), _value(match["high"])))
    return Temperatures(low, high, *match.span())


def _open_ended(match: re.Match[str], about_temperature: bool) -> Temperatures:
    ends = match.groupdict()
    low, high = (None if ends.get(end) is None else _value(ends[end]) for end in ("low", "high"))
    return Temperatures(low, high, *match.span())


def _one_alone(match: re.Match[str], about_temperature: bool) -> Temperatures:
    value = _value(match["low"])
    if "F" in _unit(match.groupdict().get("one")):
        value = round((value - 32) / 1.8, 1)
    return Temperatures(value, value, *match.span(), single=True)


def _range(match: re.Match[str], about_temperature: bool) -> Temperatures | None:
    first, second = _unit(match["one"]), _unit(match["two"])
    said = bool(first or second)
    low_text, to = match["low"], match["to"].strip().lower()
    signed = bool(re.match(r"[-+]", low_text.strip())) or bool(re.match(r"[-+]", match["high"].strip()))
    if to in {"a", "and", "et", "und", "y", "à", "e", "do", "tot", "até", "ate"} and not (
        said or about_temperature
    ):
        return None
    if not said and not about_temperature and not (signed and to in {"~", "to", "bis", "...", ".."}):
        return None
    low, high = _value(low_text), _value(match["high"])
    doubt = None
    if (
        re.match(r"-\s", low_text)
        and re.search(r"[^\W\d_]\s$", match.string[: match.start()])
        and -low < high
    ):
        doubt = "the dash before it may be no minus"
    if to == "への":
        low, high = high, low
    if low > high:
        if not said:
            return None
        low, high, doubt = high, low, "the range is printed from high to low"
    if first == "F" or second == "F" or first == "°F" or second == "°F":
        derived = f"{low:g} to {high:g} F"
        low, high = round((low - 32) / 1.8, 1), round((high - 32) / 1.8, 1)
        return Temperatures(low, high, *match.span(), derived=derived, doubt=doubt)
    return Temperatures(low, high, *match.span(), doubt=doubt)


def masked(text: str, found: Sequence[Temperatures]) -> str:
    """Return the text with its temperatures blotted out, every other letter in its place."""
    for each in found:
        text = text[: each.start] + "\x00" * (each.end - each.start) + text[each.end :]
    return text


_READERS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str], bool], Temperatures | None]], ...] = (
    (_RISING, _compared), (_FALLING, _compared), (_RANGE, _range),
    (_BELOW, _open_ended), (_ABOVE, _open_ended),
    (_BELOW_AFTER, _open_ended), (_ABOVE_AFTER, _open_ended), (_CUT, _one_alone),
    (_SINGLE, _one_alone), (_BARE_SINGLE, _one_alone),
)  # fmt: skip
