"""Temperatures as sheets print them: ranges with every dash and degree form, comparisons, Fahrenheit."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

_T = r"[-+]?\s?\d{1,3}(?:[.,]\d+)?"
_UNIT = r"\s?°?\s?[CF](?![a-zA-Z\d])|\s?°(?![CF])"
_TO = r"\s*(?:~|\.\.\.?|-|to|bis|至|から|à|a|hasta|への|and|et|und|y)\s*"
_LESS = r"\s*[<≤]\s*"
_MORE = r"\s*[>≥]\s*"
_NAME = r"(?:Ta|Tc|T|t|temp(?:erature)?\.?|温度)"
_RANGE = re.compile(rf"(?<![\d.,A-Za-z])(?P<low>(?:-\s)?{_T})(?P<one>{_UNIT})?(?P<to>{_TO})(?P<high>{_T})(?P<two>{_UNIT})?(?![\d.]|\s?(?:m?A|V|g|mm|mΩ)\b)", re.I)
_RISING = re.compile(rf"(?P<low>{_T})(?:{_UNIT})?{_LESS}{_NAME}{_LESS}(?P<high>{_T})(?:{_UNIT})?")
_FALLING = re.compile(rf"(?P<high>{_T})(?:{_UNIT})?{_MORE}{_NAME}{_MORE}(?P<low>{_T})(?:{_UNIT})?")
_BELOW = re.compile(rf"(?:\bbelow|\bunder|unter|en dessous de|por debajo de|{_NAME}\s?[<≤])\s*(?P<high>{_T})(?:{_UNIT})", re.I)
_ABOVE = re.compile(rf"(?:\babove|\bover|über|au-dessus de|por encima de|{_NAME}\s?[>≥])\s*(?P<low>{_T})(?:{_UNIT})", re.I)
_SINGLE = re.compile(rf"(?<![\d.,A-Za-z])(?P<low>{_T})(?:\s?±\s?\d+(?:\.\d+)?)?(?P<one>\s?°\s?[CF](?![a-zA-Z])|\s?°(?!\w))", re.I)
_BARE_SINGLE = re.compile(rf"(?:@|\bat|ambient(?: temperature)?(?: of)?|\bbei|\btemp\w*)\s*(?P<low>[-+]?\d{{2}})(?:\s?±\s?\d+)?\s?C(?![a-zA-Z\d])", re.I)
_CUT = re.compile(r"(?<![\d.,A-Za-z])(?P<low>\d{2,3})\s?°?\s?C(?=[\s-]*(?:cut|temperature cut|limit|ambient))", re.I)


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
    return float(re.sub(r"\s", "", text).replace(",", ".").lstrip("+"))


def _unit(text: str | None) -> str:
    return (text or "").strip().upper().replace(" ", "")


def temperatures(text: str, *, about_temperature: bool = False) -> list[Temperatures]:
    """Return every temperature of a text in order; a Fahrenheit twin of a Celsius range is marked.

    Parameters
    ----------
    text : str
        As ``quantities.normal`` returns it.
    about_temperature : bool
        Whether a range without any degree sign is one of temperatures.
    """
    found: list[Temperatures] = []
    fahrenheit: list[Temperatures] = []
    taken: list[tuple[int, int]] = []

    def free(match: re.Match[str]) -> bool:
        return all(match.end() <= start or match.start() >= end for start, end in taken)

    for pattern in (_RISING, _FALLING):
        for match in pattern.finditer(text):
            if free(match):
                taken.append(match.span())
                low, high = sorted((_value(match["low"]), _value(match["high"])))
                found.append(Temperatures(low, high, *match.span()))
    for match in _RANGE.finditer(text):
        read = _range(match, about_temperature) if free(match) else None
        if read is not None:
            taken.append(match.span())
            (fahrenheit if read.derived else found).append(read)
    for pattern, open_end in ((_BELOW, "high"), (_ABOVE, "low")):
        for match in pattern.finditer(text):
            if free(match):
                taken.append(match.span())
                value = _value(match[open_end])
                ends = (value, None) if open_end == "low" else (None, value)
                found.append(Temperatures(*ends, *match.span()))
    for match in (*_CUT.finditer(text), *_SINGLE.finditer(text), *_BARE_SINGLE.finditer(text)):
        if free(match):
            taken.append(match.span())
            value = _value(match["low"])
            if "F" in _unit(match.groupdict().get("one")):
                value = round((value - 32) / 1.8, 1)
            found.append(Temperatures(value, value, *match.span(), single=True))
    twins = any(not each.single for each in found)
    found += [replace(each, twin=twins) for each in fahrenheit]
    return sorted(found, key=lambda each: each.start)


def _range(match: re.Match[str], about_temperature: bool) -> Temperatures | None:
    first, second = _unit(match["one"]), _unit(match["two"])
    said = bool(first or second)
    low_text, to = match["low"], match["to"].strip().lower()
    signed = bool(re.match(r"[-+]", low_text.strip())) or bool(re.match(r"[-+]", match["high"].strip()))
    if to in {"a", "and", "et", "und", "y", "à"} and not said:
        return None
    if not said and not about_temperature and not (signed and to in {"~", "to", "bis", "...", ".."}):
        return None
    low, high = _value(low_text), _value(match["high"])
    doubt = None
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


def masked(text: str, found: list[Temperatures]) -> str:
    """Return the text with its temperatures blotted out, every other letter in its place."""
    for each in found:
        text = text[: each.start] + "\x00" * (each.end - each.start) + text[each.end :]
    return text
