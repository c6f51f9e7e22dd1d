"""How numbers and spans are written for people: a unit on every number, no false precision, no exponents."""

from __future__ import annotations

from math import floor, isinf, log10

from verifier.bounds import Bounds

# Tables keep three figures; more is noise at a bench.
FIGURES = 3


def digits(value: float, figures: int = FIGURES) -> str:
    """Return a number with so many significant digits and no exponent: 31.2, 655, 0.0172, 12450."""
    if isinf(value):
        return "unlimited"
    if value == int(value) and abs(value) < 1e15 and len(str(abs(int(value)))) <= figures + 1:
        return str(int(value))
    text = f"{value:.{figures}g}"
    if "e" not in text:
        return text
    if abs(value) >= 1:
        return f"{float(text):.0f}"
    places = figures - 1 - floor(log10(abs(value)))
    return f"{float(text):.{places}f}".rstrip("0")


def amount(value: float, unit: str) -> str:
    """Return a number with its unit: ``31.2 A``."""
    return _of(digits(value), unit)


def _of(number: str, unit: str) -> str:
    unit = unit.removesuffix("s") if number == "1" and unit in ("cells", "cycles") else unit
    return f"{number} {unit}".rstrip()


def span(bounds: Bounds, unit: str) -> str:
    """Return bounds in words: ``31.2 A``, ``0 to 140 A``, ``5.2 A or more``, ``not known``."""
    if isinf(bounds.low):
        return "no limit"
    if isinf(bounds.high):
        return "not known" if bounds.low <= 0 else f"{_of(digits(bounds.low), unit)} or more"
    low, high = digits(bounds.low), digits(bounds.high)
    return _of(low, unit) if low == high else f"{low} to {_of(high, unit)}"


def percent(margin: Bounds | None) -> str:
    """Return a margin in words, to a tenth of a percent; nothing where nothing is known: ``+24.8 %``."""
    if margin is None or (isinf(margin.high) and margin.low <= -100):
        return ""
    low = _tenth(margin.low)
    if isinf(margin.high):
        return f"{low} % or more"
    high = _tenth(margin.high)
    return f"{low} %" if low == high else f"{low} to {high} %"


def _tenth(value: float) -> str:
    if isinf(value):
        return "+"
    text = f"{value:+.0f}" if abs(value) >= 100 else f"{value:+.1f}".removesuffix(".0")
    return "+0" if text == "-0" else text


def temperatures(low_c: float, high_c: float) -> str:
    """Return temperatures in words: ``-5 to 35 C``, ``25 C``."""
    low, high = digits(low_c), digits(high_c)
    return f"{low} C" if low == high else f"{low} to {high} C"


def part(fraction: float) -> str:
    """Return a part in words: ``two thirds``, ``all``, ``70 %``."""
    known = {2 / 3: "two thirds", 1.0: "all", 0.5: "half", 0.75: "three quarters"}
    named = next((words for value, words in known.items() if abs(value - fraction) < 0.004), None)
    return named or f"{digits(100 * fraction, 2)} %"


def step_value(value: Bounds, unit: str) -> str:
    """Return the value of a step: a temperature may lie below zero, and what has no unit shows none."""
    return temperatures(value.low, value.high) if unit == "C" else span(value, unit.strip("-"))
