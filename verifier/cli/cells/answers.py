"""How a figure is typed: a value with its unit, then where it stands on the sheet.

The same notation serves the options and the guided questions::

    3.35Ah   3350mAh                 a number; without a unit it is in the unit of the option
    3350mAh at 0.67A, 25degC         a capacity and the conditions it holds at
    8A   0.5C                        a limit in A, or in multiples of C
    -20..0=0.5C   0..45 surface=8A   a limit over a temperature band
    15A/5s                           a pulse and how long it lasts
    45A/80C                          a current until the cell has reached a temperature
    300 to 80% at 3.4A discharge     cycles, what is left after them, and how they were run
    3 months -20..45 to 90%          storage, and what is left after it
    8A page 3 "Max. continuous 8A"   the page and the line the figure was read from
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from registry.printed import UnreadableQuantity, likely_slip, read_quantity
from registry.sheet_figures import POSSIBLE_MOHM

Values = dict[str, Any]

_CITED = re.compile(r'(?P<value>.*?)(?:\s+(?:page|p\.?)\s*(?P<page>\d+))?(?:\s+"(?P<quote>[^"]*)")?\s*', re.S)
_NUMBER = r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?"
_BAND = re.compile(
    rf"(?P<low>{_NUMBER})\s*\.\.\s*(?P<high>{_NUMBER})\s*(?:deg\s?C|°C|C)?\s*(?P<basis>[a-z]*)"
)
_STORED = re.compile(rf"(?:(?P<months>{_NUMBER})\s*months?\s+)?(?P<band>.+?)(?:\s+to\s+(?P<left>\S+))?")
# A bare number outside of these is more likely in another unit, so the unit is asked for; common practice,
# no source.
_USUAL = {
    "Ah": (0.01, 500.0),
    "A": (0.001, 500.0),
    "V": (0.5, 100.0),
    "g": (0.2, 15_000.0),
    "mm": (1.0, 600.0),
    "mohm": POSSIBLE_MOHM,
}


class BadAnswer(ValueError):
    """What was typed is not a figure; the message says what is right."""


def amount(text: str, unit: str, *, bare: bool = True) -> float:
    """Return a typed number in ``unit``.

    Parameters
    ----------
    text : str
        Such as ``3350mAh`` or ``2,5``.
    unit : str
        A unit of ``registry.printed``.
    bare : bool
        Whether the number may stand without a unit.

    Raises
    ------
    BadAnswer
        The text is not a number with a unit that can be turned into ``unit``.
    """
    text = text.strip()
    is_bare = re.fullmatch(_NUMBER, text) is not None
    if is_bare and not bare:
        raise BadAnswer(f"'{text}' needs its unit: {text}{'%' if unit == 'percent' else unit}")
    try:
        low, high = read_quantity(text, unit)
    except UnreadableQuantity as error:
        raise BadAnswer(str(error)) from error
    if low != high:
        raise BadAnswer(f"'{text}' is a range; a sheet's figure is one number")
    if is_bare and unit in _USUAL and (slip := likely_slip(low, unit, *_USUAL[unit])):
        raise BadAnswer(f"{slip}; write the unit with it")
    return low


def split_citation(text: str) -> tuple[str, Values]:
    """Return a typed figure without its page and quoted line, and those two."""
    found = _CITED.fullmatch(text.strip())
    if not found or '"' in found["value"]:
        raise BadAnswer("the quoted line stands last, between two double quotes")
    cited: Values = {}
    if found["page"]:
        cited["page"] = int(found["page"])
    if found["quote"]:
        cited["quote"] = found["quote"]
    # One form of each sign: the ohm sign is a Greek omega, the one-letter degree sign is two letters.
    return unicodedata.normalize("NFKC", found["value"]), cited


def several(text: str) -> Iterator[str]:
    """Yield the figures of an answer that gives several, separated by ``;`` outside of quotes."""
    for piece in re.findall(r'(?:"[^"]*"|[^;])+', text):
        if piece.strip():
            yield piece.strip()


def number_of(unit: str) -> Callable[[str], Values]:
    """Return a reader of a plain number, as ``{"value": number}``."""
    return lambda text: {"value": amount(text, unit)}


def capacity(text: str) -> Values:
    """Read ``3350mAh at 0.67A, 25degC``."""
    stated, _, conditions = text.partition(" at ")
    return {
        "value_ah": amount(stated, "Ah"),
        **_conditions(conditions, {"A": "current_a", "V": "cutoff_voltage_v", "degC": "temperature_c"}),
    }


def cycles(text: str) -> Values:
    """Read ``300 to 80% at 1.7A charge, 3.4A discharge, 25degC``."""
    stated, _, conditions = text.partition(" at ")
    count, _, fraction = (part.strip() for part in stated.partition(" to "))
    if not count.isdecimal():
        raise BadAnswer(f"'{count}' is not a number of cycles; write 300, or 300 to 80%")
    values: Values = {"cycles": int(count)}
    if fraction:
        values["to_fraction"] = amount(fraction, "percent", bare=False) / 100
    places = {"A charge": "charge_a", "A discharge": "discharge_a", "degC": "temperature_c"}
    return values | _conditions(conditions, places)


def _conditions(text: str, places: Mapping[str, str]) -> Values:
    values: Values = {}
    # "0,67A" holds a decimal comma, and "0.67A,25degC" two conditions.
    for condition in filter(None, (part.strip() for part in re.split(r",\s+|(?<=[A-Za-z]),", text))):
        name, value = _condition(condition, places)
        if name in values:
            raise BadAnswer(f"'{condition}' gives a condition a second time")
        values[name] = value
    return values


def _condition(text: str, places: Mapping[str, str]) -> tuple[str, float]:
    if re.fullmatch(rf"{_NUMBER}\s*C", text):
        raise BadAnswer(f"'{text}' may be a temperature or a rate; write 25degC, or the current in A")
    found = re.fullmatch(rf"({_NUMBER}\s*[^\d\s]+)(\s+[a-z]+)?", text)
    for unit in ("A", "V", "C") if found else ():
        name = places.get(("degC" if unit == "C" else unit) + ((found[2] or "") if found else ""))
        if name and found:
            try:
                return name, amount(found[1], unit, bare=False)
            except BadAnswer:
                continue
    raise BadAnswer(
        f"'{text}' is not a condition of this figure; write {', '.join('25' + at for at in places)}"
    )


def band(text: str) -> tuple[Values, str]:
    """Return the band of ``-20..0 surface=0.5C`` and the limit that follows it, or no band and the text."""
    stated, equals, limit = text.rpartition("=")
    if not equals:
        if ".." in text:
            raise BadAnswer(f"'{text}' has no limit; write 0..45=8A")
        return {}, text
    found = _BAND.fullmatch(stated.strip())
    if not found:
        raise BadAnswer(f"'{stated.strip()}' is not a temperature band; write 0..45=8A or -20..0=0.5C")
    values: Values = {"low_c": amount(found["low"], "C"), "high_c": amount(found["high"], "C")}
    if values["low_c"] > values["high_c"]:
        raise BadAnswer(f"'{stated.strip()}' does not run from low to high")
    if found["basis"]:
        if found["basis"] not in {"ambient", "surface"}:
            raise BadAnswer(
                f"'{found['basis']}' is not 'ambient' or 'surface', what the temperature is measured on"
            )
        values["basis"] = found["basis"]
    return values, limit


def limit(text: str, amperes: str, multiples: str) -> Values:
    """Read ``8A`` into the field named by ``amperes``, or ``0.5C`` into the one named by ``multiples``."""
    text = text.strip()
    if re.fullmatch(_NUMBER, text):
        raise BadAnswer(f"'{text}' needs its unit: {text}A, or {text}C for multiples of the capacity")
    if re.fullmatch(rf"{_NUMBER}\s*C|C\s?/\s?\d+", text):
        return {multiples: amount(text, "It")}
    return {amperes: amount(text, "A", bare=False)}


def banded(amperes: str, multiples: str) -> Callable[[str], Values]:
    """Return a reader of a limit that may stand over a temperature band."""

    def read(text: str) -> Values:
        where, stated = band(text)
        return where | limit(stated, amperes, multiples)

    return read


def discharge_maximum(text: str) -> Values:
    """Read ``0..45=10A``, or ``45A/80C`` for a current until the cell has reached 80 C."""
    where, stated = band(text)
    stated, slash, cutoff = stated.partition("/")
    values = where | limit(stated, "max_unspecified_a", "max_unspecified_c")
    if slash:
        values["cutoff_temperature_c"] = amount(cutoff, "C")
    return values


def pulse(text: str) -> Values:
    """Read ``15A/5s``, ``3C`` or ``0..45=15A/5s``."""
    where, stated = band(text)
    if "basis" in where:
        raise BadAnswer("a pulse band has no basis; write 0..45=15A/5s")
    stated, slash, seconds = stated.partition("/")
    values = where | limit(stated, "current_a", "current_c")
    if slash:
        values["seconds"] = amount(seconds, "s")
    return values


def resistance(part: str) -> Callable[[str], Values]:
    """Return a reader of ``22mohm``, and of ``32mohm/10s`` for a dc resistance by a pulse of 10 s."""

    def read(text: str) -> Values:
        stated, slash, seconds = text.partition("/")
        values: Values = {part: amount(stated, "mohm")}
        if slash and not part.startswith("dc"):
            raise BadAnswer("a resistance at 1 kHz has no pulse; write 22mohm")
        if slash:
            values["dc_seconds"] = amount(seconds, "s")
        return values

    return read


def temperature_range(text: str) -> Values:
    """Read ``-20..60``, ``-20..60 ambient`` or ``-20..60 surface``."""
    where, _ = band(f"{text}=")
    return where


def storage(text: str) -> Values:
    """Read ``3 months -20..45 to 90%``: how long, at which temperatures, and what is left of the capacity."""
    found = _STORED.fullmatch(text.strip())
    if not found:
        raise BadAnswer(f"'{text}' is no range of storage; write 3 months -20..45 to 90%")
    values = temperature_range(found["band"])
    if found["months"]:
        values["months"] = amount(found["months"], "months")
    if found["left"]:
        values["recovery_fraction"] = amount(found["left"], "percent", bare=False) / 100
    return values
