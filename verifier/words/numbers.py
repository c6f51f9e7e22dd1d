"""How numbers and spans are written for people: a unit on every number, no false precision, no exponents."""

from __future__ import annotations

import re
from math import floor, inf, isinf, log10

from verifier.bounds import Bounds
from verifier.words.language import ENGLISH, Language

# Tables keep three figures; more is noise at a bench.
FIGURES = 3
_A_NUMBER = re.compile(r"[-+\d.]+( \S+)?")


NUMBERS = {
    "point": ".",
    "unlimited": "unlimited",
    "no_limit": "no limit",
    "not_known": "not known",
    "or_more": "{low} or more",
    "from_to": "{low} to {high}",
    "at_best": "at best {high}",
    "at_worst": "{low} at worst",
    "above": "above {low}",
    "temperature": "{at} C",
    "temperatures": "{low} to {high} C",
    "two_thirds": "two thirds",
    "all": "all",
    "half": "half",
    "three_quarters": "three quarters",
    "percent": "{part} %",
}
# Units that are words; after 1 in the singular.
UNITS = {"cells": "cells", "cell": "cell", "cycles": "cycles", "cycle": "cycle"}


_LEAST = {"km": "at_worst", "kg": "above"}


def _say(code: str, language: Language, **slots: str) -> str:
    return language.text("numbers", code, NUMBERS).format_map(slots)


def digits(value: float, figures: int = FIGURES, language: Language = ENGLISH) -> str:
    """Return a number with so many significant digits and no exponent: 31.2, 655, 0.0172, 12450."""
    if isinf(value):
        return _say("unlimited", language)
    text = _digits(value, figures)
    return text if language.english else text.replace(".", _say("point", language))


def printed(text: str, language: Language = ENGLISH) -> str:
    """Return a number that is text already, with its unit, as a language writes it; any other text stays."""
    return text.replace(".", _say("point", language)) if _A_NUMBER.fullmatch(text) else text


def _digits(value: float, figures: int) -> str:
    # What is worked out twice is written alike: 11.249999999 as 11.25.
    value = float(f"{value:.12g}")
    if value == int(value) and abs(value) < 1e15 and len(str(abs(int(value)))) <= figures + 1:
        return str(int(value))
    text = f"{value:.{figures}g}"
    if "e" not in text:
        return text
    if abs(value) >= 1:
        return f"{float(text):.0f}"
    places = figures - 1 - floor(log10(abs(value)))
    return f"{float(text):.{places}f}".rstrip("0")


def amount(value: float, unit: str, language: Language = ENGLISH) -> str:
    """Return a number with its unit: ``31.2 A``."""
    return _of(digits(value, language=language), unit, language)


def _of(number: str, unit: str, language: Language) -> str:
    if unit in UNITS:
        unit = language.text("units", unit.removesuffix("s") if number == "1" else unit, UNITS)
    return f"{number} {unit}".rstrip()


def span(bounds: Bounds, unit: str, language: Language = ENGLISH) -> str:
    """Return bounds in words: ``31.2 A``, ``0 to 140 A``, ``5.2 A or more``, ``not known``."""
    if isinf(bounds.low):
        return _say("no_limit", language)
    low = digits(bounds.low, language=language)
    if isinf(bounds.high):
        known = bounds.low > 0
        return (
            _say("or_more", language, low=_of(low, unit, language)) if known else _say("not_known", language)
        )
    high = digits(bounds.high, language=language)
    if low == high:
        return _of(low, unit, language)
    return _say("from_to", language, low=low, high=_of(high, unit, language))


def support(bounds: Bounds, unit: str, language: Language = ENGLISH) -> str:
    """Return what supports a claim, in words, as `span`; nobody may read a grant where nothing is sure of.

    ``5 to 9 A``, and ``at best 9 A`` for a range that begins at nothing. A distance that the hardest ride leaves and a
    mass that the cells alone have are no promise of more: ``11 km at worst``, ``above 1.7 kg``.
    """
    if 0 < bounds.low < bounds.high == inf and unit in _LEAST:
        return _say(_LEAST[unit], language, low=amount(bounds.low, unit, language))
    if bounds.low <= 0 < bounds.high < inf:
        return _say("at_best", language, high=amount(bounds.high, unit, language))
    return span(bounds, unit, language)


def percent(margin: Bounds | None, language: Language = ENGLISH) -> str:
    """Return a margin in words, to a tenth of a percent; nothing where nothing is known: ``+24.8 %``."""
    if margin is None or (isinf(margin.high) and margin.low <= -100):
        return ""
    low = printed(_tenth(margin.low), language)
    if isinf(margin.high):
        return _say("or_more", language, low=f"{low} %")
    high = printed(_tenth(margin.high), language)
    return f"{low} %" if low == high else _say("from_to", language, low=low, high=f"{high} %")


def _tenth(value: float) -> str:
    if isinf(value):
        return "+"
    text = f"{value:+.0f}" if abs(value) >= 100 else f"{value:+.1f}".removesuffix(".0")
    return "+0" if text == "-0" else text


def temperatures(low_c: float, high_c: float, language: Language = ENGLISH) -> str:
    """Return temperatures in words: ``-5 to 35 C``, ``25 C``."""
    low, high = digits(low_c, language=language), digits(high_c, language=language)
    if low == high:
        return _say("temperature", language, at=low)
    return _say("temperatures", language, low=low, high=high)


_NAMED_PARTS = {2 / 3: "two_thirds", 1.0: "all", 0.5: "half", 0.75: "three_quarters"}


def part(fraction: float, language: Language = ENGLISH) -> str:
    """Return a part in words: ``two thirds``, ``all``, ``70 %``."""
    named = next((name for value, name in _NAMED_PARTS.items() if abs(value - fraction) < 0.004), None)
    if named is not None:
        return _say(named, language)
    return _say("percent", language, part=digits(100 * fraction, 2, language))


def step_value(value: Bounds, unit: str) -> str:
    """Return the value of a step: a temperature may lie below zero, and what has no unit shows none."""
    return temperatures(value.low, value.high) if unit == "C" else span(value, unit.strip("-"))


def places_in(bits: float) -> list[int]:
    """Return the places, from 1, that a number holds bit by bit."""
    number = int(bits)
    return [place for place in range(1, number.bit_length() + 1) if number >> (place - 1) & 1]
