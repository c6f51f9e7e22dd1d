"""The numbers of a text as they are printed: where each begins and ends, and which run of digits is none."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from registry.printed.numerals import DIGITS, LONGEST, MISREAD, VULGAR, Numeral, digits_for_letters, numeral
from registry.printed.units import LETTER, Unit, rate_or_degrees, unit_after

_LARGEST = 1e12
_NUMBER = re.compile(rf"(?<![0-9])(?<![0-9][.,'])(?:{DIGITS}(?:[ ]?[{VULGAR}])?|[{VULGAR}])")
# Dates, times, versions, IEC designations and counts in series and parallel are no figures.
_NO_FIGURE = re.compile(
    r"(?<![0-9])(?:(?:19|20)[0-9]{2}([-./])[0-9]{1,2}\1[0-9]{1,2}|[0-9]{1,2}([-./])[0-9]{1,2}\2(?:19|20)?[0-9]{2})(?![0-9.,])"
    r"|(?<![0-9:])[0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?(?![0-9:])"
    rf"|(?<![{LETTER}0-9.,])[0-9]{{1,3}}[ ]?[sS][ ]?[-x/]?[ ]?[0-9]{{1,3}}[ ]?[pP](?![{LETTER}0-9])"
    rf"|(?<![{LETTER}])[A-Z]{{2,4}}[0-9]{{2,3}}/[0-9]{{2,3}}(?:/[0-9]{{2,3}})?(?:-[0-9]+)*"
    r"|(?<![0-9.])[0-9]+(?:\.[0-9]+){2,}(?!,?[0-9])"
)
# A dash is a minus where nothing that could be joined stands before it: no word, number, unit or bracket.
_MINUS = re.compile(rf"(?:(?:^|[^{LETTER}0-9)%°\]])|(?<=[0-9C°])-)-\Z")
# No range goes from one cell of a row, which a tab parts, into the next.
RANGE_SIGN = re.compile(r"[^\S\n\t]?(?:-|~|\.{2,3}|÷)[^\S\n\t]?")


@dataclass(frozen=True, slots=True)
class Token:
    """A number as it is printed, before its unit is known."""

    printed: str
    start: int
    end: int
    negative: bool = False
    misread: bool = False

    def numeral(self, unit: Unit | None) -> Numeral | None:
        """Return its value as printed with a unit, None where it is none or is out of all bounds."""
        digits = digits_for_letters(self.printed) if self.misread else self.printed
        found = numeral(
            digits,
            thousands=unit.thousands if unit else False,
            unit=(unit.spelled or unit.name) if unit else "",
        )
        if found is None or found.value > _LARGEST:
            return None
        value = -found.value if self.negative else found.value
        letters = f"letters stand for digits in '{self.printed}'" if self.misread else ""
        return Numeral(value, letters or found.doubt)


class Tokens:
    """The numbers of one text, in its plain form."""

    def __init__(self, plain: str) -> None:
        self.plain = plain
        self.skipped = {place for found in _NO_FIGURE.finditer(plain) for place in range(*found.span())}
        self.units: dict[int, tuple[Unit, int] | None] = {}

    def candidates(self) -> list[Token]:
        """Return all that may be a number, in order; with letters for digits only before a unit."""
        misread = [
            Token(found.group(), *found.span(), misread=True)
            for found in MISREAD.finditer(self.plain)
            if self._ends_in_a_unit(found.end())
        ]
        within = {place for token in misread for place in range(token.start, token.end)}
        clean = [
            Token(found.group(), *found.span())
            for found in _NUMBER.finditer(self.plain)
            if found.start() not in within and len(found.group()) <= LONGEST
        ]
        return sorted(
            (token for token in misread + clean if token.start not in self.skipped),
            key=lambda token: token.start,
        )

    def _ends_in_a_unit(self, end: int) -> bool:
        """Say whether a unit follows, or another number that has one."""
        if self._has_unit(end):
            return True
        join = RANGE_SIGN.match(self.plain, end)
        other = MISREAD.match(self.plain, join.end()) if join else None
        return other is not None and self._has_unit(other.end())

    def _has_unit(self, end: int) -> bool:
        return self.unit(end) is not None or rate_or_degrees(self.plain, end) is not None

    def at(self, place: int) -> Token | None:
        """Return the number that begins at a place, a minus in front of it read."""
        sign = re.compile(r"[+-]?").match(self.plain, place)
        start = sign.end() if sign else place
        negative = self.plain[place : place + 1] == "-"
        misread = MISREAD.match(self.plain, start)
        if misread and self._ends_in_a_unit(misread.end()):
            return Token(misread.group(), place, misread.end(), negative, misread=True)
        match = re.compile(rf"{DIGITS}(?:[ ]?[{VULGAR}])?").match(self.plain, start)
        if match is None or start in self.skipped or len(match.group()) > LONGEST:
            return None
        return Token(match.group(), place, match.end(), negative)

    def signed(self, token: Token) -> Token:
        """Return a number with the minus that stands before it."""
        head = self.plain[max(0, token.start - 3) : token.start]
        if _MINUS.search(head) or head == "-":
            return replace(token, start=token.start - 1, negative=True)
        return token

    def unit(self, end: int) -> tuple[Unit, int] | None:
        """Return the unit behind a number and where it ends; asked several times, looked up once."""
        if end not in self.units:
            self.units[end] = unit_after(self.plain, end)
        return self.units[end]
