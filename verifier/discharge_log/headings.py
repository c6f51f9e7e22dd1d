"""What a heading says of its column: quantity, unit, and of what. Words in several languages.

The words stand in ``vocabulary/headings.toml``. A heading only proposes; the values confirm it elsewhere.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

from verifier.discharge_log.entries import tidy

VOCABULARY = Path(__file__).parent / "vocabulary" / "headings.toml"
_BRACKETED = re.compile(r"[\[({]\s*([^\])}]*?)\s*[\])}]")
# "Amp Hours" is one unit: its "Hours" is no time.
_TWO_WORDS = re.compile(r"([^\W\d_]+)[\s\-_]+([^\W\d_]+)\s*$")
# "V x10", "Current (x100)", "T*10", "U /10": registers hold whole numbers, so many times the figure; "V x0.1" says the
# same.
_TIMES = re.compile(
    r"[\s_]*[\[(]?\s*(?:[x×*·]\s*(?P<times>10{1,4}|0[.,]0{0,3}1)|/\s*(?P<parts>10{1,4}))\s*[\])]?\s*$",
    re.IGNORECASE,
)
_LONGEST_HEADING = 200
_PLAIN_UNITS = {
    "voltage": "V", "current": "A", "capacity": "Ah", "energy": "Wh", "power": "W", "temperature": "C", "time": "s",
}  # fmt: skip
_BEHIND = re.compile(r"(?:/|\bin\b|,|_|:|\s-\s|\s)\s*([^\s/,_:]+(?:\s?[CF])?)\s*$")
_SCALED = re.compile(r"(\d+(?:[.,]\d+)?)\s*[x×*·]?\s*(°?\s?[^\W\d]+)")
# A shunt's voltage, with the current that makes it: "shunt 50A/75mV (mV)".
_SHUNT = re.compile(r"(\d+(?:[.,]\d+)?)\s*A\s*[/:=@-]\s*(\d+(?:[.,]\d+)?)\s*mV", re.IGNORECASE)
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z][a-z])|(?<=[a-z]{2})(?=[A-Z])")
_SENSOR = re.compile(r"(?:[tT]emps|[tTθϑ])[\s_.\-]*(\w[\w\s_.\-]*)")
_NUMBERED_T = re.compile(r"[tTθϑ][\s_.\-]*\d{1,2}")
_PARTS = re.compile(r"[^\W\d_]+|\d+")
# "(h:min:s)" says how a time is written: its "min" is no minimum.
_CLOCK_FORM = re.compile(r"[\[({]?\b(?:d+[.:\s])?h+:m\w*(?::s\w*(?:[.,:]\w+)?)?[\])}]?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Unit:
    """What a unit measures, and the factor to V, A, Ah, Wh, W, s or C."""

    name: str
    quantity: str
    factor: float


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a heading says: a quantity, of what, its unit where stated, the number of a group or sensor."""

    quantity: str
    about: str = ""
    unit: Unit | None = None
    number: int | None = None


@cache
def _vocabulary() -> Mapping[str, Mapping[str, Sequence[str]]]:
    return tomllib.loads(VOCABULARY.read_text(encoding="utf-8"))


@cache
def known_words() -> tuple[str, ...]:
    """Return all words of headings and states, by which the encoding of a log is told."""
    tables = _vocabulary()
    lists = [
        each for name in ("quantity", "about", "extreme", "bms", "says") for each in tables[name].values()
    ]
    return tuple(
        {word for words in lists for word in words} | {unit for unit in tables["unit"] if len(unit) > 2}
    )


@cache
def _units_by_writing() -> tuple[Mapping[str, str], Mapping[str, str]]:
    """Return the units by how they are written, and by that in small letters; of two alike the first counts."""
    as_written: dict[str, str] = {}
    in_small_letters: dict[str, str] = {}
    for known in _vocabulary()["unit"]:
        as_written.setdefault(unicodedata.normalize("NFKC", known).replace("μ", "µ"), known)
        in_small_letters.setdefault(known.lower(), known)
    return as_written, in_small_letters


@lru_cache(maxsize=4096)
def unit_named(text: str) -> Unit | None:
    """Return the unit of a text, None where it names none; ``mAh`` and ``MAH`` are the same, ``mA`` too."""
    units = _vocabulary()["unit"]
    as_written, in_small_letters = _units_by_writing()
    entry = unicodedata.normalize("NFKC", tidy(text)).replace("µ", "µ").replace("μ", "µ")
    entry = entry.strip("[](){}<> ").removesuffix(".")
    if (known := as_written.get(entry)) is not None:
        return Unit(known, *units[known])  # type: ignore[arg-type]
    if re.fullmatch(r"s{1,2}[.,]?x*", entry):
        return Unit("s", *units["s"])  # type: ignore[arg-type]
    if (known := in_small_letters.get(entry.lower())) is not None:
        return Unit(known, *units[known])  # type: ignore[arg-type]
    # "0.1 V" and "10 mA": what one count stands for.
    scaled = _SCALED.fullmatch(entry)
    of = unit_named(scaled[2]) if scaled is not None else None
    if scaled is None or of is None or not (part := float(scaled[1].replace(",", "."))):
        return None
    return Unit(f"{scaled[1]} {of.name}", of.quantity, of.factor * part)


def _plain(heading: str) -> str:
    """Return a heading with one blank between words: of blanks in a row a pattern would be tried from each."""
    return " ".join(heading.split())


def scale_in(heading: str) -> tuple[float, str]:
    """Return by what the numbers of a column are to be multiplied by its heading, and the heading without that.

    A number that its heading says to be "x10" is ten times the figure, as registers hold tenths of a volt.
    """
    heading = _plain(heading)
    found = _TIMES.search(heading) if len(heading) <= _LONGEST_HEADING else None
    if found is None:
        return 1.0, heading
    number = float((found["times"] or found["parts"]).replace(",", "."))
    return (number if number < 1 else 1 / number), heading[: found.start()].strip()


def _scaled(heading: str, unit_below: str) -> Meaning | None:
    """Return the meaning of a heading that names a scale; None where it names none, or nothing with a unit."""
    scale, rest = scale_in(heading)
    meaning = meaning_of(rest, unit_below) if scale != 1 and rest else None
    name = _PLAIN_UNITS.get(meaning.quantity) if meaning is not None else None
    if meaning is None or name is None:
        return None
    unit = meaning.unit or Unit(name, meaning.quantity, 1.0)
    told = Unit(f"{scale:g} {unit.name}", unit.quantity, unit.factor * scale)
    return Meaning(meaning.quantity, meaning.about, told, meaning.number)


def unit_in(heading: str) -> tuple[Unit | None, str]:
    """Return the unit that a heading holds and what is left of the heading."""
    for found in reversed(list(_BRACKETED.finditer(heading))):
        unit = unit_named(found[1])
        if unit is not None:
            return unit, (heading[: found.start()] + " " + heading[found.end() :]).strip()
    two = _TWO_WORDS.search(heading)
    spoken = unit_named(f"{two[1]} {two[2]}") if two is not None else None
    if two is not None and spoken is not None:
        return spoken, heading[: two.start()].strip()
    behind = _BEHIND.search(heading)
    if behind is not None:
        unit = unit_named(behind[1])
        # "Cell C" is a cell's name, "Zeit in s" is not.
        if unit is not None and (
            len(unit.name) > 1 or behind[0].strip()[:1] in "/,_:" or " in " in behind[0]
        ):
            return unit, heading[: behind.start()].strip()
        rest = heading[: behind.start()].strip()
        if unit is not None and unit.name in ("V", "A", "W", "s", "h"):
            return unit, rest
        # "Temp F" is a temperature in F, "Cell C" a cell's name.
        if unit is not None and unit.quantity == "temperature" and _is_temperature(rest):
            return unit, rest
    whole = unit_named(heading) if heading.strip().lower() not in _vocabulary()["clock"]["alone"] else None
    # One letter alone is the symbol of a quantity as often as a unit: U, I, t, T are asked for below.
    if whole is not None and (len(heading.strip()) > 1 or heading.strip() in ("V", "A", "W")):
        return whole, ""
    return None, heading


def _is_temperature(text: str) -> bool:
    return text == "T" or says(words_of(text), "quantity", "temperature")


def words_of(text: str) -> list[str]:
    """Return the words and numbers of a heading in lower case: ``AhAccu`` is ah, accu; ``T1`` is t, 1."""
    words: list[str] = []
    for part in re.split(r"[\s_\-./:;,\[\](){}<>#|°*+=]+", unicodedata.normalize("NFKC", text)):
        pieces = [part] if unit_named(part) is not None and part else _CAMEL.split(part)
        for piece in pieces:
            words += [each.lower() for each in _PARTS.findall(piece)]
    return words


def says(words: Sequence[str], table: str, key: str) -> bool:
    """Whether words name a thing of the vocabulary: short words alone, long ones inside compounds too."""
    line = " ".join(words)
    for known in _vocabulary()[table][key]:
        if len(known) >= 4 or not known.isascii():
            if known in line:
                return True
        elif known in words or (" " in known and known in line):
            return True
    return False


def meaning_of(heading: str, unit_below: str = "") -> Meaning | None:
    """Return what a heading says of its column, None where it says nothing known.

    Parameters
    ----------
    heading : str
    unit_below : str
        The unit from a row of units, where there is one.
    """
    heading = _plain(heading)
    # Nobody heads a column with a page.
    if len(heading) > _LONGEST_HEADING:
        return None
    special = _shunt(heading, unit_below) or _scaled(heading, unit_below)
    if special is not None:
        return special
    unit, rest = unit_in(_CLOCK_FORM.sub(" ", heading))
    below = unit_named(unit_below) if unit_below else None
    unit = below if below is not None else unit
    # T1 is a sensor, if its values are those of one, and never a time; "T1 avg" is one too.
    if unit is None and _NUMBERED_T.fullmatch(_without_extremes(rest)):
        return None
    words = words_of(rest)
    number = next((int(each) for each in words if each.isdigit() and len(each) < 4), None)
    if unit is not None and unit.quantity in ("percent", "resistance"):
        return Meaning("other", unit=unit)
    quantity = _quantity(rest, words, unit)
    if quantity is None:
        named = (
            number is not None
            and bool(words)
            and all(each.isdigit() or says([each], "about", "group") for each in words)
        )
        return Meaning("voltage", "group", unit, number) if named else None
    # The mean or the most of a temperature between two rows is a temperature all the same.
    meant = words
    if quantity == "temperature":
        # So is that of an auxiliary channel, which is where a cycler has its thermocouples.
        meant = [each for each in words_of(_without_extremes(rest)) if each != "aux"]
    if says(meant, "about", "other_meaning"):
        return Meaning("other", _extreme(words, quantity), unit)
    if unit is not None and unit.quantity != quantity:
        unit = None
    return Meaning(quantity, _about(words, quantity, number), unit, number)


def _shunt(heading: str, unit_below: str) -> Meaning | None:
    """Return the current that a shunt's voltage stands for, where the heading says what it makes of how many A."""
    found = _SHUNT.search(heading)
    if found is None:
        return None
    unit, _ = unit_in(heading[: found.start()] + heading[found.end() :])
    unit = unit_named(unit_below) or unit
    amps, millivolts = (float(each.replace(",", ".")) for each in found.groups())
    if unit is None or unit.quantity != "voltage" or not millivolts:
        return None
    factor = unit.factor * 1000 * amps / millivolts
    return Meaning("current", "", Unit(f"{unit.name} over the shunt", "current", factor))


def _without_extremes(heading: str) -> str:
    """Return a heading without the words for least, largest and mean."""
    spoken = _vocabulary()["extreme"]
    known = {word for words in spoken.values() for word in words}
    return " ".join(
        each for each in re.split(r"[\s_]+", heading.strip()) if each.lower().strip(".") not in known
    )


def _quantity(rest: str, words: Sequence[str], unit: Unit | None) -> str | None:
    """Return the quantity: the unit's, else that of the words."""
    if unit is not None:
        # "Time (h:m:s)" and "Date" have no unit that misleads; all others say what they measure.
        return unit.quantity
    if rest.strip() == "T":
        return "temperature"
    for quantity in (
        "date", "temperature", "energy", "capacity", "power", "voltage", "current", "status", "time", "step",
        "cycle",
    ):  # fmt: skip
        if quantity == "date" and says(words, "quantity", "time"):
            if says(words, "quantity", "date") or "stamp" in " ".join(words):
                return "moment"
            continue
        if says(words, "quantity", quantity):
            if quantity == "temperature" and "temps" in words and "temp" not in words:
                continue
            if quantity == "temperature" and "tempo" in words:
                continue
            return quantity
    return None


def _extreme(words: Sequence[str], quantity: str) -> str:
    """Return which of several values a column holds, ``lowest voltage``, ``mean current`` or ``lowest group``."""
    keys = [key for key in ("lowest", "highest", "mean") if says(words, "extreme", key)]
    if len(keys) != 1 or quantity not in ("voltage", "current"):
        return ""
    rest = [each for each in words if not says([each], "extreme", keys[0])]
    if quantity == "voltage" and says(words, "about", "group"):
        return f"{keys[0]} group"
    return "" if says(rest, "about", "other_meaning") else f"{keys[0]} {quantity}"


def _about(words: Sequence[str], quantity: str, number: int | None) -> str:
    """Return what the quantity is of: a group, the air, a charge, a discharge, a step, the whole."""
    discharge = says(words, "about", "discharge")
    charge = not discharge and says(words, "about", "charge")
    if quantity == "voltage" and not says(words, "about", "total"):
        named = says(words, "about", "group") or set(words) - {str(number)} <= {
            "v",
            "u",
            "voltage",
            "volt",
            "spannung",
        }
        if number is not None and named:
            return "group"
    if quantity == "temperature":
        if says(words, "about", "air"):
            return "air"
        return "other part" if says(words, "about", "not_the_cell") else "cell"
    if quantity in ("time", "moment"):
        return (
            "step" if says(words, "about", "step_only") else "total" if says(words, "about", "total") else ""
        )
    if quantity in ("current", "capacity", "energy"):
        return "discharge" if discharge else "charge" if charge else ""
    return "total" if says(words, "about", "total") else ""


def report_of_bms(heading: str) -> str | None:
    """Return what a column tells of the BMS itself; None where its heading says nothing of it.

    ``discharge`` or ``charge`` for the switch of that way, ``protects`` for what it protects from, ``warns`` for what
    it only warns of.
    """
    spoken = _vocabulary()["bms"]
    words = words_of(heading)
    line, joined = " ".join(words), "".join(words)
    for key in ("protects", "warns"):
        if any(known in line for known in spoken[key]):
            return key
    for way in ("discharge", "charge"):
        if joined in spoken[f"{way}_alone"]:
            return way
    if any(known in line for known in spoken["switch"]):
        return next((way for way in ("discharge", "charge") if says(words, "about", way)), None)
    return None


def state_of_switch(entry: str) -> bool | None:
    """Return whether a switch conducts by what is written of it; None where that is not known."""
    spoken, word = _vocabulary()["bms"], tidy(entry).lower()
    return True if word in spoken["on"] else False if word in spoken["off"] else None


def stopped_itself(entry: str) -> bool:
    """Whether a state says that the instrument, or a BMS, stopped by itself: ``OTP LATCHED``, ``FAULT``."""
    return says(words_of(entry), "bms", "stopped_itself")


def is_quiet(entry: str) -> bool:
    """Whether an entry reports nothing: noughts only, or a word for none."""
    word = tidy(entry).lower()
    return not word.removeprefix("0x").strip("0., -[]") or word in _vocabulary()["bms"]["quiet"]


def place_of_sensor(heading: str) -> str | None:
    """Return what a heading such as ``T1``, ``T_MOS`` or ``temps 1`` may be the temperature of; None if none.

    Such a heading may be a time as well: only the values tell.
    """
    found = _SENSOR.fullmatch(_without_extremes(unicodedata.normalize("NFKC", heading)))
    if found is None:
        return None
    words = words_of(found[1])
    if says(words, "about", "air"):
        return "air"
    if says(words, "about", "not_the_cell"):
        return "other part"
    named = all(each.isdigit() or says([each], "about", "sensor_at") for each in words)
    return "cell" if words and named else None


def direction_of(word: str) -> int | None:
    """Return what a status says: -1 discharge, 1 charge, 0 rest, None where it is not known."""
    entry = " ".join(tidy(word).lower().replace("_", " ").split())
    spoken = _vocabulary()["says"]
    for key, direction in (("discharge", -1), ("charge", 1), ("rest", 0)):
        if entry in spoken[key] or entry.replace(" ", "_") in spoken[key]:
            return direction
    for key, direction in (("discharge", -1), ("charge", 1), ("rest", 0)):
        if any(len(known) >= 5 and known in entry for known in spoken[key]):
            return direction
    return None
