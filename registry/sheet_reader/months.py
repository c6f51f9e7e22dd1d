"""For how many months something holds, in digits or in words: "3 months", "half a year", "for one month"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from registry.printed.units import unit_after
from registry.sheet_reader.quantities import quantities
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import numbers

_TOKEN = re.compile(r"(?<![^\W\d_])[^\W\d_]{4,}|[月年년]|개월")
_AND_BEFORE = re.compile(r"\b(?:and|und|et|y|e|en|i)\s+(?:an?\s+|ein\w*\s+)?$", re.I)
_AND_HALF = re.compile(
    r"\b(?:and|und|et|y|e|en|i)\s+(?:an?\s+)?(?:half|halb\w*|demi\w*|medi\w*|mezzo|pol|meio)\b|半(?!年)", re.I
)


@dataclass(frozen=True, slots=True)
class Months:
    """The months that a text names in order, and whether it names more that was not read."""

    values: tuple[float, ...]
    unread: bool


@cache
def _number_words() -> re.Pattern[str]:
    either = "|".join(re.escape(word) for word in sorted(numbers(), key=len, reverse=True))
    return re.compile(
        rf"(?<![^\W\d_])(?:{either})(?=\s?[^\W\d_])|(?<![^\W\d_a-z])(?:{either})(?=[个個か月年년])", re.I
    )


@lru_cache(maxsize=2048)
def months_in(text: str) -> Months:
    """Return the months and years of a normal text as months."""
    text = masked(text, temperatures(text, about_temperature=True))

    def digits(found: re.Match[str]) -> str:
        unit = unit_after(text, found.end())
        counts = unit is not None and unit[0].name == "months"
        return (
            numbers()[found[0].lower()]
            if counts and not _AND_BEFORE.search(text[: found.start()])
            else found[0]
        )

    plain = _number_words().sub(digits, text)
    found = [each for each in quantities(plain) if each.unit == "months"]
    for each in found:
        plain = plain[: each.start] + " " * (each.end - each.start) + plain[each.end :]
    left = (unit_after(plain, each.start()) for each in _TOKEN.finditer(plain))
    unread = any(unit is not None and unit[0].name == "months" for unit in left) or bool(
        _AND_HALF.search(plain)
    )
    # "3 to 6 months" does not say for how many.
    ranges = any(each.upper is not None for each in found)
    return Months(tuple(each.value for each in found if each.upper is None), unread or ranges)
