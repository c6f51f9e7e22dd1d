"""Which units are known, how they are spelled behind a number, and how they convert."""

from __future__ import annotations

import re
from functools import cache
from typing import Any, NamedTuple

LETTER = "A-Za-zÀ-ÖØ-öø-ɏͰ-ϿЀ-ӿ"
"""Letters that run together into words; Chinese, Japanese and Korean signs do not."""

# Behind these a number may follow at once: "48V20Ah". "13S4P" and "4kg5" are read otherwise.
_MAY_TOUCH_A_NUMBER = frozenset({"V", "A", "Ah", "Wh", "W"})

# Each unit of a dimension, and how many of the first one it is.
DIMENSIONS: dict[str, dict[str, float]] = {
    "voltage": {"V": 1, "mV": 0.001},
    "current": {"A": 1},
    "charge": {"Ah": 1},
    "energy": {"Wh": 1},
    "power": {"W": 1},
    "time": {"h": 1, "s": 1 / 3600, "months": 730.5, "years": 8766},
    "mass": {"kg": 1, "g": 0.001},
    "length": {"m": 1, "mm": 0.001, "km": 1000},
    "area": {"mm2": 1},
    "temperature": {"C": 1},
    "resistance": {"mohm": 1},
    "share": {"percent": 1, "fraction": 100},
    "count of cycles": {"cycles": 1},
    "multiple of the capacity": {"It": 1},
    "wire gauge": {"AWG": 1},
    "speed": {"km/h": 1},
}
NAMES = {"C": "degrees Celsius", "It": "multiples of the capacity (0.5C)"}


class Unit(NamedTuple):
    """A unit as it is spelled: value = (printed + offset) * factor, in ``name``."""

    name: str
    factor: float = 1
    offset: float = 0
    thousands: bool = False
    doubt: str = ""
    spelled: str = ""

    def value(self, printed: float) -> float:
        """Return a printed number in the unit's canonical form, with what the arithmetic adds cut off."""
        if self.factor == 1 and not self.offset:
            return printed
        return float(f"{(printed + self.offset) * self.factor:.12g}")


class _Spellings(NamedTuple):
    """For each first letter a pattern of its spellings with the unit of each group, and the other words."""

    by_letter: dict[str, tuple[re.Pattern[str], tuple[Unit, ...]]]
    vocabulary: dict[str, Any]


def _spelled(word: str) -> str:
    text = r"[ -]?".join(re.escape(part) for part in word.split(" ")).replace("·", "[·.•]")
    return text + (rf"(?![{LETTER}])" if re.match(f"[{LETTER}]", word[-1]) else "")


@cache
def _spellings() -> _Spellings:
    import tomllib
    from importlib.resources import files

    vocabulary = tomllib.loads((files("registry.printed") / "units.toml").read_text(encoding="utf-8"))
    found: list[tuple[int, str, str, Unit]] = []
    for entry in vocabulary["spelling"]:
        about = {key: entry[key] for key in ("offset", "thousands", "doubt") if key in entry}
        unit = Unit(entry["unit"], entry["factor"], **about)
        # A spelling in its exact case comes before the same one in any case; a lone small letter is a unit
        # only where it touches its number.
        for key, form in (("exact", "{}"), ("attached", "(?<=[0-9]){}"), ("words", "(?i:{})")):
            for word in entry.get(key, ()):
                found.append((-len(word), word[0].casefold(), form.format(_spelled(word)), unit))
    found.sort(key=lambda each: (each[0], each[2].startswith("(?i:")))
    by_letter = {}
    for letter in {letter for _, letter, *_ in found}:
        those = [(pattern, unit) for _, first, pattern, unit in found if first == letter]
        pattern = re.compile("|".join(f"({spelling})" for spelling, _ in those))
        by_letter[letter] = (pattern, tuple(unit for _, unit in those))
    return _Spellings(by_letter, vocabulary)


def vocabulary(table: str) -> dict[str, list[str]]:
    """Return a table of words of ``units.toml``: per, range or relation."""
    words: dict[str, list[str]] = _spellings().vocabulary[table]
    return words


@cache
def _per_pattern() -> re.Pattern[str]:
    words = sorted(vocabulary("per")["words"], key=len, reverse=True)
    # "12Ah / cells: ..." are two entries of a list.
    apart = rf"\s/\s?(?![{LETTER}]+\s?[:：])"
    return re.compile(rf"(?:/\s?|{apart})(?:{'|'.join(map(re.escape, words))})(?![{LETTER}0-9])")


_GAP = re.compile(r"[ \t\u202f]{0,2}")
_HYPHEN = re.compile(r"-(?![0-9 ])")
_BRACKET = re.compile(r"[ ]?[(\[][ ]?")
_DEGREES = re.compile(r"C(?![A-Za-z0-9°(/])|c(?![A-Za-z0-9°(/])")


def unit_after(plain: str, at: int) -> tuple[Unit, int] | None:
    """Return the unit that stands behind a number ending at ``at``, and where the unit ends.

    Parameters
    ----------
    plain : str
        In the form that ``signs.one_form`` gives.
    at : int
        Where the number ends.
    """
    for gap in (_GAP, _HYPHEN):
        before = gap.match(plain, at)
        if before and (found := _match(plain, before.end())):
            return found
    bracket = _BRACKET.match(plain, at)
    found = _match(plain, bracket.end()) if bracket else None
    if found is None or plain[found[1] : found[1] + 1] not in (")", "]"):
        return None
    return found[0], found[1] + 1


def _match(plain: str, at: int) -> tuple[Unit, int] | None:
    known = _spellings().by_letter.get(plain[at : at + 1].casefold())
    match = known[0].match(plain, at) if known else None
    if known is None or match is None or match.lastindex is None:
        return None
    unit, end = known[1][match.lastindex - 1], match.end()
    if plain[end : end + 1].isdigit() and unit.name not in _MAY_TOUCH_A_NUMBER:
        return None
    if unit.name == "A" and re.match(r"[ -]?(?:grade|class|quality|级|類)", plain[end:], re.I):
        return None
    per = _per_pattern().match(plain, end)
    spelled = match.group()
    if per:
        return Unit(
            plain[at : per.end()].replace(" ", ""), doubt="", spelled=plain[at : per.end()]
        ), per.end()
    return Unit(unit.name, unit.factor, unit.offset, unit.thousands, unit.doubt, spelled), end


def rate_or_degrees(plain: str, at: int) -> int | None:
    """Return where a lone C behind a number ends, multiples of the capacity or degrees; None without one."""
    match = _DEGREES.match(plain, at + plain.startswith(" ", at))
    if match is None or (match.group() == "c" and match.start() != at):
        return None
    return match.end()


def dimension_of(unit: str) -> str | None:
    """Return what a unit measures, or None for one that converts to no other."""
    return next((name for name, units in DIMENSIONS.items() if unit in units), None)


def converted(value: float, unit: str, into: str) -> float | None:
    """Return a value of one canonical unit in another, or None when they measure different things."""
    if unit == into:
        return value
    dimension = dimension_of(unit)
    if dimension is None or into not in DIMENSIONS[dimension]:
        return None
    units = DIMENSIONS[dimension]
    return float(f"{value * units[unit] / units[into]:.12g}")
