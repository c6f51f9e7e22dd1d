"""What the heading of a column may stand for by its name alone: a field, with the unit of its bare numbers.

The words are those of `headings.toml` and the names of the fields themselves.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from registry.printed.units import Unit, converted, unit_after
from verifier.case.fields import case_fields
from verifier.screening.columns import TEXT, fields
from verifier.screening.heading_words import VALUE_LEAVES, meanings, words_of
from verifier.screening.values import CURRENCY, PRICE, currency_of
from verifier.screening.word_parts import is_weight, names_seller

TITLE, SELLER, LINE, CARRIED = "title", "seller", "line", "-"
ROLES = (TEXT, TITLE, SELLER)
_OF_THE_OFFER = frozenset({TEXT, TITLE, SELLER, PRICE, CURRENCY})
_BRACKETED = re.compile(r"(.*\S)\s*[(\[]\s*(?:in\s+)?([^()\[\]]{1,12}?)\s*[)\]]\s*")
# "BMS (A cont.)", "Strom [A, dauernd]": the unit with what the figure is beside it.
_QUALIFIED = re.compile(r"(.*\S)\s*[(\[]\s*([^()\[\]]{3,24}?)\s*[)\]]\s*")
_PART = re.compile(r"[^\s,;]+")
_BEFORE = re.compile(r"([A-Za-z]{1,3})[\s.]+(.*\S)\s*")
# What may stand behind a unit that is all the name of its column: "V nom.", "A cont.", "Wh max".
_WHICH = frozenset({"nominal", "continuous", "peak", "max", "full", "charge", "discharge"})
_BEHIND = re.compile(r"(.*[^\s_,/])(?:\s+in\s+|[\s_,/]+)([^\s_,/]{1,8})\s*")


FULL_VOLTAGE, MASS = "claim.full_voltage_v", "claim.mass_kg"
# With these beside it a voltage is not that of the full pack.
_NOT_FULL = frozenset(
    {"charger", "discharge", "empty", "cell", "bms", "trip", "motor", "nominal", "min", "current"}
)


@dataclass(frozen=True, slots=True)
class Use:
    """What one column is used as, and the unit of bare numbers.

    ``text``, ``title``, ``seller``, ``line`` (with its heading a line of the listing), one end of the air, or a field.
    """

    heading: str
    target: str
    unit: str | None = None


def is_exact(name: str) -> bool:
    """Whether a heading is the full name of a field, or a role."""
    return name in fields() or name in ROLES


def normal(heading: str) -> str:
    """Return a heading without what does not matter: case, accents, signs, "ae" for "ä"."""
    plain = unicodedata.normalize("NFKD", heading.casefold().replace("ß", "ss"))
    plain = "".join(
        " " if not letter.isalnum() else letter for letter in plain if not unicodedata.combining(letter)
    )
    for two, one in (("ae", "a"), ("oe", "o"), ("ue", "u")):
        plain = plain.replace(two, one)
    return " ".join(plain.split())


@cache
def _file() -> dict[str, list[str]]:
    path = Path(__file__).with_name("headings.toml")
    found: dict[str, list[str]] = tomllib.loads(path.read_text(encoding="utf-8"))
    return found


@cache
def _own_words() -> tuple[frozenset[str], tuple[str, ...]]:
    words = list(map(normal, _file()[CARRIED]))
    return frozenset(words), tuple(each for each in words if not each.isascii())


def is_own(heading: str) -> bool:
    """Return whether a column is of the shop's own matters: numbers of articles, stock, links, dates, prices."""
    known, signs = _own_words()
    words = normal(words_of(heading))
    if "cell" in meanings(heading):
        # "Réf. cellules" is no number of the shop's own.
        return False
    return words in known or not known.isdisjoint(words.split()) or any(each in words for each in signs)


@cache
def vocabulary() -> dict[str, list[str]]:
    """Return the targets that a normal heading may stand for, the likeliest first."""
    found: dict[str, list[str]] = {}
    for target, words in _file().items():
        if target == CARRIED:
            continue
        for word in words:
            found.setdefault(normal(word), []).append(target)
    for name in fields():
        section, _, leaf = name.partition(".")
        known = found.setdefault(normal(leaf if section == "claim" else name), [])
        known.append(name)
    return found


def uses_by_name(heading: str) -> list[Use]:
    """Return what a heading may stand for by its name alone, best first."""
    if is_exact(heading):
        return [Use(heading, heading)]
    lower = heading.strip().casefold()
    if lower in fields() or lower in ROLES:
        return [Use(heading, lower)]
    if (inside := _inside(heading)) is not None:
        return [replace(use, heading=heading) for use in uses_by_name(inside) if use.target in _OF_THE_OFFER]
    words, unit = unit_apart(heading)
    known = vocabulary()
    whole = [Use(heading, target) for target in known.get(normal(heading), []) or _by_parts(heading)]
    if not whole and not known.get(normal(words)) and _of_full_pack(heading, unit):
        return [Use(heading, FULL_VOLTAGE, unit)]
    if unit is None:
        return whole or _price_in_currency(heading)
    of_unit = [
        Use(heading, target, unit)
        for target in known.get(normal(words), []) or _by_parts(words)
        if target in case_fields() and unit_fits(base_unit(unit), target)
    ]
    return of_unit or whole


def _by_parts(words: str) -> list[str]:
    """Return what the parts of a heading say that is no known name as a whole."""
    if names_seller(words, normal):
        return [SELLER]
    return [MASS] if is_weight(words, normal) else []


def _of_full_pack(heading: str, unit: str | None) -> bool:
    """Return whether a heading says in words that it holds the voltage of the full pack: "Spanning vol", "V (full)"."""
    names = meanings(heading)
    of_voltage = "voltage" in names if unit is None else base_unit(unit) == "V"
    return of_voltage and "full" in names and names.isdisjoint(_NOT_FULL)


def is_end_voltage(heading: str) -> bool:
    """Return whether a heading names an end voltage and leaves open of which end, as "Endspannung" does."""
    names = meanings(heading)
    named = "voltage" in names or "spann" in heading.casefold()
    return named and "end" in names and names.isdisjoint(_NOT_FULL | {"charge", "full", "low"})


def _inside(heading: str) -> str | None:
    """Return what an object's key says of the offer: "shop.name" is the shop, "offer.title" its title."""
    parts = heading.split(".")
    if len(parts) < 2 or not all(parts):
        return None
    leaf = parts[-1].casefold()
    if leaf in ("name", "label", *VALUE_LEAVES):
        return parts[-2]
    of_seller = SELLER in vocabulary().get(normal(parts[-2]), [])
    return parts[-1] if leaf in ("title", "description", "currency") and not of_seller else None


def _price_in_currency(heading: str) -> list[Use]:
    """Return the use of "Price GBP" or "Preis in EUR": a price, and in what."""
    for form in (_BRACKETED, _BEHIND):
        match = form.fullmatch(heading.strip())
        currency = currency_of(match[2]) if match else None
        if match and currency and PRICE in vocabulary().get(normal(re.sub(r"\s+in\Z", "", match[1])), []):
            return [Use(heading, PRICE, currency)]
    return []


def unit_fits(unit: str, target: str) -> bool:
    """Whether numbers of a unit can be those of a field."""
    own = case_fields()[target].unit
    return bool(own) and converted(0.0, unit, own) is not None


def unit_apart(heading: str) -> tuple[str, str | None]:
    """Return a heading without the unit behind it, and how the unit is spelled."""
    if unit_of(heading.strip()) is not None:
        return heading, canonical_unit(heading.strip())
    for form in (_BRACKETED, _BEHIND):
        match = form.fullmatch(heading.strip())
        if match is None:
            continue
        for spelled in (match[2], match[2].capitalize(), match[2].upper()):
            unit = unit_of(spelled)
            if unit is not None:
                return re.sub(r"\s+in\Z", "", match[1]), canonical_unit(spelled)
    if qualified := _qualified(heading.strip()):
        return qualified
    first = _BEFORE.fullmatch(heading.strip())
    if first and unit_of(first[1]) is not None and (names := meanings(first[2])) and names <= _WHICH:
        # The unit is the name too, and stays.
        return heading, canonical_unit(first[1])
    return heading, None


def _qualified(heading: str) -> tuple[str, str] | None:
    """Return "BMS cont." and the ampere of "BMS (A cont.)"; None for any other heading."""
    match = _QUALIFIED.fullmatch(heading)
    if match is None:
        return None
    unit, *words = _PART.findall(match[2]) or [""]
    *others, last = _PART.findall(match[2]) or [""]
    for spelled, rest in ((unit, " ".join(words)), (last, " ".join(others))):
        if rest and unit_of(spelled) is not None and (names := meanings(rest)) and names <= _WHICH:
            return f"{match[1]} {rest}", canonical_unit(spelled)
    return None


def unit_of(spelled: str) -> Unit | None:
    """Return the unit that a word spells behind a number, where some are units that are none alone."""
    found = unit_after(f"1{spelled}", 1)
    return found[0] if found and found[1] == len(spelled) + 1 else None


def canonical_unit(spelled: str) -> str:
    """Return how a unit is written behind a number so that it is read back: `spelled`, or its plain name."""
    unit = unit_of(spelled)
    assert unit is not None  # noqa: S101 - the caller has read it
    return unit.name if unit.factor == 1 and not unit.offset else spelled


def base_unit(spelled: str) -> str:
    """Return the plain name of the unit that a word spells; the word itself where it spells none."""
    unit = unit_of(spelled)
    return unit.name if unit else spelled
