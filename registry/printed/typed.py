"""What a person types for a figure: a number, perhaps with a unit, or two ends."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from registry.errors import RegistryError
from registry.printed.signs import one_form
from registry.printed.units import DIMENSIONS, NAMES, converted, dimension_of

if TYPE_CHECKING:
    from registry.printed.model import Printed

_BARE = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_FRACTION = re.compile(r"([0-9]{1,4})\s?/\s?([1-9][0-9]{0,3})")
_SLASHED = re.compile(r"[+-]?[0-9][0-9.,]*\s?/\s?[+-]?[0-9][0-9.,]*")
_PAIR = re.compile(r"\[\s*([^\[\];]*?)\s*(?:,\s+|;|,(?=[^,]*\Z))\s*([^\[\];]*?)\s*\]")
_DOTS = re.compile(r"(.*?[^.])\s*\.\.\.?\s*([^.].*)")
# What people write behind a number and that changes nothing of it: what they have counted, or the kind of fuse.
_COUNTED = re.compile(
    r"([0-9]+(?:\s?(?:-|\.\.)\s?[0-9]+)?)\s?(?:[x×]|times|mal|-?fold|-?fach|pcs|pieces?|groups?|cells?|layers?|strips?"
    r"|links?|welds?|marks?|points?|spots?|gruppen?|zellen?|lagen?|streifen|verbinder|(?:schweiß)?punkte?|stück"
    r"|[组个层颗点条片节道])",
    re.IGNORECASE,
)
_FUSE = re.compile(
    r"(.*[0-9][^0-9]*?)[\s,]+(?:(?:blade|mini|maxi|midi|glass)(?:\s+fuse)?|fuse|(?:flach)?sicherung|保险丝|插片)",
    re.IGNORECASE,
)
_PRODUCT = re.compile(r"([^x×*]+?)\s?[x×*]\s?([^x×*]+)", re.IGNORECASE)
_UNKNOWN = frozenset({
    "?", "??", "???", "don't know", "don’t know", "dont know", "do not know", "not known", "unknown", "no idea",
    "weiß nicht", "weiss nicht", "weiß ich nicht", "keine ahnung", "unbekannt", "不知道", "不清楚", "未知", "？",
})  # fmt: skip

_TYPED = {
    "Ah": "14, 14Ah or 14000 mAh", "A": "30 or 30A", "V": "48 or 48V", "C": "25, 25 C or 0..35",
    "AWG": "12 or 12 AWG", "kg": "3.4 or 3400 g", "mm": "0.15 or 0.15 mm", "fraction": "0.66, 66% or 2/3",
    "h": "3.5, 3.5 h or 3h30", "W": "350 or 350W", "Wh": "480 or 0.48 kWh", "g": "47 or 47 g", "m": "0.3 or 30 cm",
    "mohm": "22 or 22 mohm", "mV": "15 or 15 mV", "km": "60 or 60 km", "s": "10 or 10 s", "mm2": "4 or 4 mm2",
}  # fmt: skip


class UnreadableQuantity(RegistryError):
    """What was typed is not a number in the figure's unit; the message says what would be right."""


def read_quantity(
    text_or_number: str | float | Sequence[str | float], unit: str | None, *, counts: bool = False
) -> tuple[float, float]:
    """Return the two ends of a typed quantity in ``unit``; equal for a single number.

    Parameters
    ----------
    text_or_number : str, float or two of them
        ``14``, ``"14Ah"``, ``"10900 mAh"``, ``"2,5"``, ``"12 AWG"``, ``"2/3"``, ``"66%"``, ``"10..20"``,
        ``[10, 20]`` or ``"[10, 20]"``. A bare number is in ``unit``.
    unit : str or None
        A unit of ``Printed``, ``fraction``, or None for a plain number.
    counts : bool
        Whether only whole numbers are right.

    Raises
    ------
    UnreadableQuantity
        No number, a number that can be read in two ways, a unit of another dimension, or ends in the wrong
        order.

    Examples
    --------
    >>> read_quantity("10900 mAh", "Ah")
    (10.9, 10.9)
    >>> read_quantity("10..20", "A")
    (10.0, 20.0)
    """
    shown = _shown(text_or_number)
    if isinstance(text_or_number, str):
        text = text_or_number.strip()
        beside = _COUNTED.fullmatch(text) if unit is None else _FUSE.fullmatch(text) if unit == "A" else None
        low, high = _of_text(text if beside is None else beside[1], unit)
    elif isinstance(text_or_number, Sequence):
        if len(text_or_number) != 2:
            raise UnreadableQuantity(
                "", f"{shown} holds {len(text_or_number)} values", "a range is [low, high]"
            )
        low, high = (_single(end, unit) for end in text_or_number)
    else:
        low = high = _number(text_or_number)
    if low > high:
        raise UnreadableQuantity("", f"{shown} runs from high to low", f"write {high:g}..{low:g}")
    for end in (low, high):
        if not math.isfinite(end):
            raise UnreadableQuantity("", f"{shown} is not a number", _example(unit))
        if counts and end != int(end):
            raise UnreadableQuantity("", f"{shown} is not a whole number", "this is counted: write 13")
    return low, high


def says_unknown(text: str) -> bool:
    """Whether what was typed for a figure says that nobody knows it, in English, German or Chinese."""
    return " ".join(text.casefold().split()).rstrip(".!") in _UNKNOWN


def read_two_sides(text: str, unit: str) -> tuple[float, float] | None:
    """Return the two sides of "0,15 x 8 mm" in ``unit``, the smaller first; None where it is no two numbers."""
    sides = _PRODUCT.fullmatch(one_form(text)[0].strip())
    if sides is None:
        return None
    try:
        first, second = _two_ends(sides[1], sides[2], unit)
    except UnreadableQuantity:
        return None
    return min(first, second), max(first, second)


def _shown(value: object) -> str:
    text = f"'{value}'" if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else f"{text[:57]}..."


def _single(value: str | float, unit: str | None) -> float:
    low, high = read_quantity(value, unit)
    if low != high:
        raise UnreadableQuantity("", f"{_shown(value)} is itself a range", "an end of a range is one number")
    return low


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise UnreadableQuantity("", f"{_shown(value)} is not a number", "write a number or low-high")
    try:
        return float(value)
    except OverflowError:
        return math.inf


def _of_text(text: str, unit: str | None) -> tuple[float, float]:
    plain = one_form(text)[0].strip()
    # A code that lost its unit, or a slip of the decimal sign.
    if re.match(r"[+-]?0[0-9]", plain):
        raise UnreadableQuantity("", f"'{text}' begins with a zero", "write 500, or 0.5 where that is meant")
    if _BARE.fullmatch(plain):
        return _bare(plain, unit)
    if pair := _PAIR.fullmatch(plain):
        return _single(pair[1], unit), _single(pair[2], unit)
    if ends := _DOTS.fullmatch(plain):
        return _two_ends(ends[1].strip(), ends[2].strip(), unit)
    if unit == "AWG" and re.fullmatch(r"[1-4]/0", plain):
        return _of_text(f"{plain} AWG", unit)
    if unit == "fraction" and (fraction := _FRACTION.fullmatch(plain)):
        value = int(fraction[1]) / int(fraction[2])
        return value, value
    # Sellers write "45 / 100" for two figures of one kind, such as continuous and peak: divided it would be 0.45 A.
    if _SLASHED.fullmatch(plain):
        raise UnreadableQuantity("", f"'{text}' is two numbers", "write the one that is meant")
    return _printed(text, plain, unit)


def _bare(plain: str, unit: str | None) -> tuple[float, float]:
    thousands = re.fullmatch(r"[+-]?([1-9][0-9]{0,2}),([0-9]{3})", plain)
    if thousands:
        raise UnreadableQuantity(
            "",
            f"'{plain}' may be {plain.replace(',', '.')} or {plain.replace(',', '')}",
            "write the one that is meant, without the comma",
        )
    value = float(plain.replace(",", "."))
    return value, value


def _two_ends(first: str, second: str, unit: str | None) -> tuple[float, float]:
    """Read "5..45 C": the unit of the second end is that of the first when the first has none."""
    high = _single(second, unit)
    if _BARE.fullmatch(first) and not _BARE.fullmatch(second):
        tail = re.sub(r"^[\s+-]*[0-9.,]+", "", second)
        return _single(first + tail, unit), high
    return _single(first, unit), high


def _printed(text: str, plain: str, unit: str | None) -> tuple[float, float]:
    # Most cases hold bare numbers, and the patterns of running text take a while to make.
    from registry.printed.finding import find_printed

    found = find_printed(text)
    if unit == "C" and re.fullmatch(r"[^A-Za-z]*[cC]", plain):
        # In a field of degrees a lone C is degrees.
        return _of_text(plain[:-1].strip(), unit)
    if unit == "It" and re.fullmatch(r"[^A-Za-z]*[cC]", plain):
        return _of_text(plain[:-1].strip(), unit)
    if len(found) != 1 or found[0].text.strip("()[] ") != text.strip("()[] "):
        raise UnreadableQuantity("", f"'{text}' is not a number{_in(unit)}", _example(unit))
    return _fitting(found[0], text, unit)


def _fitting(found: Printed, text: str, unit: str | None) -> tuple[float, float]:
    if found.relation in ("at_most", "at_least"):
        end = "a lower end" if found.relation == "at_most" else "an upper end"
        raise UnreadableQuantity("", f"'{text}' has no {end[2:]}", "write low-high, or the number alone")
    if found.doubt and not _settled(found, unit):
        raise UnreadableQuantity(
            "", f"'{text}' can be read in two ways: {found.doubt}", "write the one that is meant"
        )
    if found.times is not None:
        raise UnreadableQuantity("", f"'{text}' is a product", "write its value")
    if found.unit is None or unit is None:
        if found.unit is not None:
            raise UnreadableQuantity(
                "", f"'{text}' has a unit and this figure has none", "write the number alone"
            )
        return found.low, found.high
    low, high = converted(found.low, found.unit, unit), converted(found.high, found.unit, unit)
    if low is None or high is None:
        raise UnreadableQuantity("", f"'{text}' is {_kind(found.unit)}", _example(unit))
    return low, high


def _settled(found: Printed, unit: str | None) -> bool:
    """Say whether the figure's own unit settles what the text alone leaves open."""
    if found.unit is None or unit is None or converted(0, found.unit, unit) is None:
        return False
    return found.doubt in (
        "may be a count in series", "a degree sign without C", "the C may be degrees",
        "the C may be multiples of the capacity",
    )  # fmt: skip


def _kind(unit: str) -> str:
    dimension = dimension_of(unit)
    return f"a {dimension} in {unit}" if dimension else f"in {unit}"


def _in(unit: str | None) -> str:
    return f" in {NAMES.get(unit, unit)}" if unit else ""


def typed_examples(unit: str | None) -> str:
    """Return how a quantity of a unit may be typed, such as "14, 14Ah or 14000 mAh"."""
    return _TYPED.get(unit or "", f"a number in {NAMES.get(unit, unit)}" if unit else "a number")


def _example(unit: str | None) -> str:
    return f"write {typed_examples(unit)}, or low-high"


# What is mistaken for the unit of a figure, and how many of the figure's unit it makes.
_SLIPS: dict[str, tuple[tuple[str, float], ...]] = {
    "Ah": (("mAh", 0.001),), "A": (("mA", 0.001),), "V": (("mV", 0.001),),
    "Wh": (("kWh", 1000.0), ("mWh", 0.001)), "W": (("kW", 1000.0), ("mW", 0.001)),
    "kg": (("g", 0.001), ("lb", 0.45359237)), "g": (("kg", 1000.0), ("mg", 0.001)),
    "mm": (("cm", 10.0), ("m", 1000.0), ("um", 0.001)), "m": (("mm", 0.001), ("cm", 0.01)),
    "km": (("m", 0.001),), "h": (("min", 1 / 60), ("s", 1 / 3600)), "s": (("ms", 0.001), ("min", 60.0)),
    "mohm": (("ohm", 1000.0), ("uohm", 0.001)), "C": (("F", 5 / 9),),
    "percent": (("fraction", 100.0),), "fraction": (("percent", 0.01),),
}  # fmt: skip


def likely_slip(value: float, unit: str, usual_low: float, usual_high: float) -> str | None:
    """Return "10900 Ah? did you mean 10900 mAh" for a number outside what is usual that fits in another unit.

    Parameters
    ----------
    value : float
        In ``unit``.
    unit : str
        The figure's unit.
    usual_low, usual_high : float
        What such figures lie between. [unit]

    Returns
    -------
    str or None
        None for a usual number, and for an unusual one that no other unit explains.
    """
    if usual_low <= value <= usual_high:
        return None
    for other, factor in _SLIPS.get(unit, ()):
        meant = (value - 32) * factor if other == "F" else value * factor
        if usual_low <= meant <= usual_high:
            return f"{value:g} {_sign(unit)}? did you mean {value:g} {_sign(other)}"
    return None


def _sign(unit: str) -> str:
    return {"percent": "%", "fraction": "(a fraction)", "C": "°C", "F": "°F"}.get(unit, unit)


assert set(_SLIPS) <= {unit for units in DIMENSIONS.values() for unit in units}  # noqa: S101 - a slip in this table
