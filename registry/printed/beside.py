"""What stands beside a number: a unit in front of it, a sign or word that bounds it, letters that it hangs on."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from registry.printed.model import Relation
from registry.printed.tokens import Token
from registry.printed.units import LETTER, Unit, unit_after, vocabulary

_SIGN_BEFORE = re.compile(r"(?:(<[^\S\n]?=|=[^\S\n]?<|≤|<)|(>[^\S\n]?=|=[^\S\n]?>|≥|>)|(≈))[^\S\n]?\Z")
_UNIT_BEFORE = re.compile(
    rf"(?:[(\[][^\S\n]?([{LETTER}°%Ω]{{1,9}})[^\S\n]?[)\]][^\S\n]?[:=\t|]?[^\S\n]?|(?<![^\s\t|])((?i:m?ah|k?wh|v|kg|mm|awg))[^\S\n]?[:=\t|][^\S\n]?)\Z"
)
GAUGE_BEFORE = re.compile(r"(?<![A-Za-z])(?i:awg)[ \-#:]{0,2}\Z")
_WORD_BEFORE = re.compile(rf"[{LETTER}0-9]+-?\Z")
_PART_NUMBER = re.compile(rf"(?=[{LETTER}0-9]*[{LETTER}])(?=[{LETTER}0-9]*[0-9])[{LETTER}0-9]+-\Z")
_QUANTITY_BEFORE = re.compile(r".*[0-9](?:V|v|Ah|AH|ah|A|W|Wh|x)-?")
_DIAMETER_BEFORE = re.compile(r"[ΦφØø⌀][^\S\n]?\Z")


@dataclass(frozen=True, slots=True)
class Words:
    """The words between, in front of and behind numbers, ready to match."""

    joins: re.Pattern[str]
    joins_behind_between: re.Pattern[str]
    between: re.Pattern[str]
    relations: tuple[tuple[Relation, re.Pattern[str], re.Pattern[str]], ...]


@cache
def words() -> Words:
    """Return these words in every language, longest first."""

    def either(words: list[str]) -> str:
        return "|".join(
            re.escape(word).replace(r"\ ", r"\s") for word in sorted(words, key=len, reverse=True)
        )

    def beside(name: Relation) -> tuple[Relation, re.Pattern[str], re.Pattern[str]]:
        any_word = either(vocabulary("relation")[name])
        before = re.compile(rf"(?<![{LETTER}])(?i:{any_word})[ \t.:=]{{0,2}}\Z")
        # Behind a comma, or with a number to come, the word belongs to what follows.
        after = re.compile(rf"[^\S\n]?\(?[^\S\n]?(?i:{any_word})(?![{LETTER}0-9])(?!\.?[^\n,;|/()]*[0-9])")
        return name, before, after

    ranges = vocabulary("range")
    # A capital A is the unit, and no word between two ends.
    latin = either([word for word in ranges["words"] if word[0] < "\u0250" and word != "a"])
    other = either([word for word in ranges["words"] if word[0] >= "\u0250"])
    return Words(
        re.compile(rf"[^\S\n\t](?:(?i:{latin})|a)[^\S\n\t]|[^\S\n\t]?(?:{other})[^\S\n\t]?"),
        re.compile(rf"[^\S\n]?(?i:{either(ranges['and'])})[^\S\n]?"),
        re.compile(rf"(?<![{LETTER}])(?i:{either(ranges['between'])})[^\S\n]?\Z"),
        (beside("at_most"), beside("at_least"), beside("about")),
    )


def unit_before(plain: str, token: Token) -> tuple[Unit, int] | None:
    """Return the unit in front of a number, and where the two begin."""
    if gauge := GAUGE_BEFORE.search(plain, max(0, token.start - 6), token.start):
        return Unit("AWG"), gauge.start()
    if _DIAMETER_BEFORE.search(plain, max(0, token.start - 2), token.start):
        return Unit("mm"), token.start
    match = _UNIT_BEFORE.search(plain, max(0, token.start - 16), token.start)
    if match is None:
        return None
    found = unit_after(match[1] or match[2], 0)
    return (found[0], token.start) if found else None


def relation(plain: str, start: int, end: int, *, measured: bool) -> tuple[Relation, int, int]:
    """Return how a number is bounded, and from where to where that is said."""
    sign = _SIGN_BEFORE.search(plain, max(0, start - 4), start)
    if sign:
        return ("at_most" if sign[1] else "at_least" if sign[2] else "about"), sign.start(), end
    for name, before, after in words().relations:
        if found := before.search(plain, max(0, start - 20), start):
            return name, found.start(), end
        # "7 Maximum current" is a heading with its number.
        heading = not measured and re.search(r"(?:\A|\n)[^\S\n]*\Z", plain[max(0, start - 9) : start])
        if name != "about" and not heading and (found := after.match(plain, end)):
            return name, start, found.end()
    return "exact", start, end


def is_code(plain: str, end: int) -> bool:
    """Say whether letters that are no unit run on from a number: it is a part number or a count."""
    return re.compile(rf"[{LETTER}]|-[{LETTER}0-9]").match(plain, end) is not None


def behind_letter(plain: str, token: Token) -> bool:
    """Say whether a letter stands right before a number."""
    return re.compile(rf"[{LETTER}]-?\Z").search(plain, max(0, token.start - 2), token.start) is not None


def in_part_number(plain: str, token: Token) -> bool:
    """Say whether a number hangs on letters and digits that are no quantity, as in 21700-40H."""
    before = _PART_NUMBER.search(plain, max(0, token.start - 16), token.start)
    if before is None and re.search(r"(?<![0-9])[0-9]{5}-\Z", plain[: token.start][-7:]):
        return True
    return before is not None and _QUANTITY_BEFORE.fullmatch(before.group()) is None


def code_doubt(plain: str, token: Token, unit: Unit | None) -> str:
    """Return a doubt where a number hangs on a word that is no quantity."""
    if unit is None or unit.name == "AWG":
        return ""
    word = _WORD_BEFORE.search(plain, max(0, token.start - 12), token.start)
    if word is None or re.search(r"(?i)(?:[ΦφØø⌀]|DC|AC|BMS|[A-Z][a-z]{4,}-)\Z", word.group()):
        return ""
    if _QUANTITY_BEFORE.fullmatch(word.group()):
        return ""
    return "may be part of a part number"
