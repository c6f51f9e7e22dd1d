"""Every number of a running text, with its unit, what the signs beside it say, and where it stands.

Nothing is repaired and nothing is made up: dates and part numbers are left out, and what can be read in two
ways carries a doubt.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache

from registry.printed.model import Printed, Relation
from registry.printed.numerals import DIGITS, LONGEST, MISREAD, VULGAR, Numeral, digits_for_letters, numeral
from registry.printed.signs import one_form
from registry.printed.units import LETTER, Unit, rate_or_degrees, unit_after, vocabulary

_LARGEST = 1e12
_HIGHEST_RATE = 12.0
_NUMBER = re.compile(rf"(?<![0-9])(?<![0-9][.,'])(?:{DIGITS}(?:[ ]?[{VULGAR}])?|[{VULGAR}])")
# Dates, times, versions, IEC designations and counts in series and parallel are no figures.
_NO_FIGURE = re.compile(
    r"(?<![0-9])(?:(?:19|20)[0-9]{2}([-./])[0-9]{1,2}\1[0-9]{1,2}|[0-9]{1,2}([-./])[0-9]{1,2}\2(?:19|20)?[0-9]{2})(?![0-9.,])"
    r"|(?<![0-9:])[0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?(?![0-9:])"
    rf"|(?<![{LETTER}0-9.,])[0-9]{{1,3}}[ ]?[sS][ ]?[-x/]?[ ]?[0-9]{{1,3}}[ ]?[pP](?![{LETTER}0-9])"
    rf"|(?<![{LETTER}])[A-Z]{{2,4}}[0-9]{{2,3}}/[0-9]{{2,3}}(?:/[0-9]{{2,3}})?(?:-[0-9]+)*"
    r"|(?<![0-9.])[0-9]+(?:\.[0-9]+){2,}(?!,?[0-9])"
)
_SIGNS: dict[str, Relation] = {"≤": "at_most", "<": "at_most", "≥": "at_least", ">": "at_least", "≈": "about"}
_SIGN_BEFORE = re.compile(r"(?:(<[^\S\n]?=|=[^\S\n]?<|≤|<)|(>[^\S\n]?=|=[^\S\n]?>|≥|>)|(≈))[^\S\n]?\Z")
# A dash is a minus where nothing that could be joined stands before it: no word, number, unit or bracket.
_MINUS = re.compile(rf"(?:(?:^|[^{LETTER}0-9)%°\]])|(?<=[0-9C°])-)-\Z")
_TOLERANCE = re.compile(rf"[^\S\n]?(?:±|\+[^\S\n]?/[^\S\n]?-|\+-)[^\S\n]?(?P<number>{DIGITS})")
_UNEVEN = re.compile(rf"[^\S\n]?\+[^\S\n]?(?P<up>{DIGITS})[^\S\n]?/[^\S\n]?-[^\S\n]?(?P<down>{DIGITS})")
_BETWEEN_LIMITS = re.compile(r"[^\S\n]?[≤<]=?[^\S\n]?[A-Za-z]{1,4}\.?[^\S\n]?[≤<]=?[^\S\n]?")
# No range goes from one cell of a row, which a tab parts, into the next.
_RANGE_SIGN = re.compile(r"[^\S\n\t]?(?:-|~|\.{2,3}|÷)[^\S\n\t]?")
_LIST = re.compile(r"[^\S\n]?/[^\S\n]?")
_TIMES = re.compile(r"[^\S\n]?[x*][^\S\n]?")
_OVER = re.compile(rf"(?<![{LETTER}°0-9])C[^\S\n]?/[^\S\n]?([0-9]{{1,3}})(?![0-9.,]*[{LETTER}0-9%])")
_AWG_AUGHT = re.compile(r"([1-4])/0(?=[ -]?(?i:awg))")
_UNIT_BEFORE = re.compile(
    rf"(?:[(\[][^\S\n]?([{LETTER}°%Ω]{{1,9}})[^\S\n]?[)\]][^\S\n]?[:=\t|]?[^\S\n]?|(?<![^\s\t|])((?i:m?ah|k?wh|v|kg|mm|awg))[^\S\n]?[:=\t|][^\S\n]?)\Z"
)
_GAUGE_BEFORE = re.compile(r"(?<![A-Za-z])(?i:awg)[ \-#:]{0,2}\Z")
_BLANK_GROUP = re.compile(r"(?<![0-9.,])([1-9][0-9]?) ([0-9]{3})(?![0-9.,])")
_WORD_BEFORE = re.compile(rf"[{LETTER}0-9]+-?\Z")
_PART_NUMBER = re.compile(rf"(?=[{LETTER}0-9]*[{LETTER}])(?=[{LETTER}0-9]*[0-9])[{LETTER}0-9]+-\Z")
_QUANTITY_BEFORE = re.compile(r".*[0-9](?:V|v|Ah|AH|ah|A|W|Wh|x)-?")
_LOOSE_DASH = re.compile(r"-[^\S\n]?\Z")
_DIAMETER_BEFORE = re.compile(r"[ΦφØø⌀][^\S\n]?\Z")
# "3h30" and "4kg5": the second number counts minutes, or is the first decimal of the first.
_AND_SMALLER = re.compile(rf"(?P<more>[0-9]{{1,2}})(?:[^\S\n]?(?:min|mn|m))?(?![{LETTER}0-9.,/])")
_HOURS_MINUTES = re.compile(r"[^\S\n]?(?P<more>[0-9]{1,2})[^\S\n]?(?i:min|mn)\b\.?")
_COMMON_FRACTION = re.compile(r"(?<![0-9/.,])([1-7])[^\S\n]?/[^\S\n]?([2-8])(?![0-9/]|[.,][0-9])")


@dataclass(frozen=True, slots=True)
class _Token:
    """A number as it is printed, before its unit is known."""

    printed: str
    start: int
    end: int
    negative: bool = False
    misread: bool = False

    def numeral(self, unit: Unit | None) -> Numeral | None:
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


def find_printed(text: str) -> list[Printed]:
    """Return every number of a text with its unit, in order.

    Parameters
    ----------
    text : str
        In any language; digits, signs and units in any width.

    Examples
    --------
    >>> [(found.low, found.high, found.unit) for found in find_printed("48V 20Ah, 5-6 h")]
    [(48.0, 48.0, 'V'), (20.0, 20.0, 'Ah'), (5.0, 6.0, 'h')]
    """
    plain, places = one_form(text)
    return [
        replace(found, text=text[start:end], start=start, end=end, doubt=found.doubt or _barred(plain, found))
        for found in _Finder(plain).all()
        for start, end in [(places[found.start], places[found.end - 1] + 1)]
    ]


def _barred(plain: str, found: Printed) -> str:
    """Return the doubt that a bar right before a number makes, which parts columns or is a misread 1."""
    return "the bar before it may be a 1" if plain[: found.start].endswith("|") else ""


@dataclass(frozen=True, slots=True)
class _Words:
    """The words between, in front of and behind numbers, ready to match."""

    joins: re.Pattern[str]
    joins_behind_between: re.Pattern[str]
    between: re.Pattern[str]
    relations: tuple[tuple[Relation, re.Pattern[str], re.Pattern[str]], ...]


@cache
def _words() -> _Words:
    def either(words: list[str]) -> str:
        return "|".join(
            re.escape(word).replace(r"\ ", r"\s") for word in sorted(words, key=len, reverse=True)
        )

    def beside(name: Relation) -> tuple[Relation, re.Pattern[str], re.Pattern[str]]:
        words = either(vocabulary("relation")[name])
        before = re.compile(rf"(?<![{LETTER}])(?i:{words})[ \t.:=]{{0,2}}\Z")
        # Behind a comma, or with a number to come, the word belongs to what follows.
        after = re.compile(rf"[^\S\n]?\(?[^\S\n]?(?i:{words})(?![{LETTER}0-9])(?!\.?[^\n,;|/()]*[0-9])")
        return name, before, after

    ranges = vocabulary("range")
    # A capital A is the unit, and no word between two ends.
    latin = either([word for word in ranges["words"] if word[0] < "\u0250" and word != "a"])
    other = either([word for word in ranges["words"] if word[0] >= "\u0250"])
    return _Words(
        re.compile(rf"[^\S\n\t](?:(?i:{latin})|a)[^\S\n\t]|[^\S\n\t]?(?:{other})[^\S\n\t]?"),
        re.compile(rf"[^\S\n]?(?i:{either(ranges['and'])})[^\S\n]?"),
        re.compile(rf"(?<![{LETTER}])(?i:{either(ranges['between'])})[^\S\n]?\Z"),
        (beside("at_most"), beside("at_least"), beside("about")),
    )


class _Finder:
    """Finds the numbers of one text, from left to right."""

    def __init__(self, plain: str) -> None:
        self.plain = plain
        self.skipped = {place for found in _NO_FIGURE.finditer(plain) for place in range(*found.span())}
        self.units: dict[int, tuple[Unit, int] | None] = {}
        self.rates = {found.start(1): found for found in _OVER.finditer(plain)}

    def all(self) -> Iterator[Printed]:
        """Yield what is printed; places are those of the plain text."""
        place = 0
        for token in self._candidates():
            if token.start >= place:
                found, place = self._read(self._signed(token))
                yield from found

    # What is a number.

    def _candidates(self) -> list[_Token]:
        """Return all that may be a number, in order; with letters for digits only before a unit."""
        misread = [
            _Token(found.group(), *found.span(), misread=True)
            for found in MISREAD.finditer(self.plain)
            if self._ends_in_a_unit(found.end())
        ]
        within = {place for token in misread for place in range(token.start, token.end)}
        clean = [
            _Token(found.group(), *found.span())
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
        join = _RANGE_SIGN.match(self.plain, end)
        other = MISREAD.match(self.plain, join.end()) if join else None
        return other is not None and self._has_unit(other.end())

    def _has_unit(self, end: int) -> bool:
        return self._unit(end) is not None or rate_or_degrees(self.plain, end) is not None

    def _token_at(self, place: int) -> _Token | None:
        """Return the number that begins at a place, a minus in front of it read."""
        sign = re.compile(r"[+-]?").match(self.plain, place)
        start = sign.end() if sign else place
        negative = self.plain[place : place + 1] == "-"
        misread = MISREAD.match(self.plain, start)
        if misread and self._ends_in_a_unit(misread.end()):
            return _Token(misread.group(), place, misread.end(), negative, misread=True)
        match = re.compile(rf"{DIGITS}(?:[ ]?[{VULGAR}])?").match(self.plain, start)
        if match is None or start in self.skipped or len(match.group()) > LONGEST:
            return None
        return _Token(match.group(), place, match.end(), negative)

    def _signed(self, token: _Token) -> _Token:
        head = self.plain[max(0, token.start - 3) : token.start]
        if _MINUS.search(head) or head == "-":
            return replace(token, start=token.start - 1, negative=True)
        return token

    # What it says.

    def _read(self, token: _Token) -> tuple[list[Printed], int]:
        for form in self._forms():
            found = form(token)
            if found is not None:
                return found
        return self._single(token)

    def _forms(self) -> tuple[Callable[[_Token], tuple[list[Printed], int] | None], ...]:
        return (
            self._over_rate,
            self._aught,
            self._blank_grouped,
            self._tolerance,
            self._range,
            self._list,
            self._compound,
        )

    def _blank_grouped(self, token: _Token) -> tuple[list[Printed], int] | None:
        """Read "2 600 mAh", whose unit nobody prints so small, as one number that may be two."""
        match = _BLANK_GROUP.match(self.plain, token.start)
        unit = self._unit(match.end()) if match else None
        if match is None or unit is None or not unit[0].thousands or self._behind_letter(token):
            return None
        if len(match[1]) > 1 and unit[0].name not in ("Ah", "cycles"):
            return None
        value = float(match[1] + match[2])
        doubt = f"may be {match[1]} and {match[2]}"
        return [self._made(token, value, value, unit[0], unit[1], doubt)], unit[1]

    def _over_rate(self, token: _Token) -> tuple[list[Printed], int] | None:
        over = self.rates.get(token.start)
        if over is None or not int(over[1]):
            return None
        value = float(f"{1 / int(over[1]):.12g}")
        return [Printed(value, value, "It", "exact", "", over.start(), over.end())], over.end()

    def _aught(self, token: _Token) -> tuple[list[Printed], int] | None:
        """Read 2/0 AWG: each aught counts one below 1."""
        match = _AWG_AUGHT.match(self.plain, token.start)
        before = _GAUGE_BEFORE.search(self.plain, max(0, token.start - 6), token.start)
        if match is None and before:
            match = re.compile(r"([1-4])/0(?![0-9])").match(self.plain, token.start)
        if match is None:
            return None
        unit = self._unit(match.end())
        end = unit[1] if unit and unit[0].name == "AWG" else match.end()
        start = before.start() if before else token.start
        value = 1.0 - int(match[1])
        return [Printed(value, value, "AWG", "exact", "", start, end)], end

    def _tolerance(self, token: _Token) -> tuple[list[Printed], int] | None:
        unit = self._unit(token.end)
        for place in [token.end] + ([unit[1]] if unit else []):
            match = _TOLERANCE.match(self.plain, place) or _UNEVEN.match(self.plain, place)
            if match is None:
                continue
            after = self._unit(match.end())
            of = after or unit
            scale = 1.0
            if after and unit and after[0].name == unit[0].name:
                # "4.2 V ± 30 mV": the number keeps its own unit.
                of, scale = unit, after[0].value(1) / unit[0].value(1)
            parts = [_Token(each, 0, 0).numeral(of[0] if of else None) for each in match.groups() if each]
            main = token.numeral(of[0] if of else None)
            if main is None or any(part is None for part in parts):
                return None
            up, down = parts[0], parts[-1]
            if of and of[0].name == "percent" and unit and unit[0].name != "percent":
                share = (up.value if up else 0) / 100
                low, high, of = main.value * (1 - share), main.value * (1 + share), (unit[0], match.end())
            else:
                low = main.value - (down.value if down else 0) * scale
                high = main.value + (up.value if up else 0) * scale
            low, high = float(f"{low:.12g}"), float(f"{high:.12g}")
            end = after[1] if after else match.end()
            made = self._made(token, low, high, of[0] if of else None, end, main.doubt)
            centre = of[0].value(main.value) if of else main.value
            return [replace(made, relation="about", centre=centre)], end
        return None

    def _range(self, token: _Token) -> tuple[list[Printed], int] | None:
        first = self._unit(token.end)
        second = self._second(token, first[1] if first else token.end)
        if second is None:
            return None
        last = self._unit(second.end)
        if first and (last is None or first[0].name != last[0].name):
            return None
        if token.negative and last and last[0].name != "C":
            token = replace(token, negative=False, start=token.start + 1)
        high_unit = last[0] if last else None
        low_unit = first[0] if first else high_unit
        low, high = token.numeral(low_unit), second.numeral(high_unit)
        if low is None or high is None:
            return None
        ends = self._in_unit(low.value, low_unit), self._in_unit(high.value, high_unit)
        if ends[0] >= ends[1] or self._is_size(token, second, first is not None or last is not None):
            return None
        doubt = low.doubt or high.doubt
        if last is not None:
            made = replace(self._made(token, low.value, low.value, low_unit, last[1], doubt), high=ends[1])
            return [replace(made, relation="range")], last[1]
        degrees = rate_or_degrees(self.plain, second.end)
        if degrees is not None:
            return [self._lone_c(token, *ends, degrees, doubt)], degrees
        if self._is_code(second.end):
            return None
        return [replace(self._made(token, *ends, None, second.end, doubt), relation="range")], second.end

    def _is_size(self, token: _Token, second: _Token, measured: bool) -> bool:
        """Say whether the first of two numbers is a code such as a cell's size, and no end of a range."""
        digits = token.printed.isdigit() and len(token.printed) >= 5
        return digits and (not measured or len(second.printed) < 5)

    def _second(self, token: _Token, place: int) -> _Token | None:
        """Return the number at the other end of a range that may begin with a token."""
        words = _words()
        join = words.joins.match(self.plain, place) or _BETWEEN_LIMITS.match(self.plain, place)
        if join is None:
            join = _RANGE_SIGN.match(self.plain, place)
        if join is None and words.between.search(self.plain, max(0, token.start - 12), token.start):
            join = words.joins_behind_between.match(self.plain, place)
        return self._token_at(join.end()) if join else None

    def _list(self, token: _Token) -> tuple[list[Printed], int] | None:
        """Read "36/48V" and "410*90*110mm": several numbers that share the unit of the last."""
        if self._unit(token.end) is not None:
            return None
        if fraction := self._fraction(token):
            return fraction
        for sign in (_LIST, _TIMES):
            tokens = self._chain(token, sign)
            unit = self._unit(tokens[-1].end)
            if len(tokens) == 1 or unit is None:
                continue
            if sign is _TIMES and unit[0].name not in ("mm", "m"):
                return self._times(tokens, unit) if len(tokens) == 2 else None
            if sign is _TIMES or not re.fullmatch(r"[0-9]{5}", token.printed):
                return self._sharing(tokens, unit)
        return None

    def _chain(self, token: _Token, sign: re.Pattern[str]) -> list[_Token]:
        """Return the numbers that hang together by a sign, up to the first with a unit."""
        tokens = [token]
        while len(tokens) < 6 and (join := sign.match(self.plain, tokens[-1].end)):
            following = self._token_at(join.end())
            if following is None or following.negative:
                break
            tokens.append(following)
            if self._unit(following.end) is not None:
                break
        return tokens

    def _sharing(self, tokens: list[_Token], unit: tuple[Unit, int]) -> tuple[list[Printed], int] | None:
        found = []
        for token in tokens:
            number = token.numeral(unit[0])
            if number is None:
                return None
            end = unit[1] if token is tokens[-1] else token.end
            found.append(self._made(token, number.value, number.value, unit[0], end, number.doubt))
        return found, unit[1]

    def _times(self, tokens: list[_Token], unit: tuple[Unit, int]) -> tuple[list[Printed], int] | None:
        count, number = tokens[0].numeral(None), tokens[1].numeral(unit[0])
        if count is None or number is None or count.value != int(count.value) or len(tokens[0].printed) > 3:
            return None
        made = self._made(tokens[1], number.value, number.value, unit[0], unit[1], number.doubt)
        return [replace(made, start=tokens[0].start, times=count.value)], unit[1]

    def _fraction(self, token: _Token) -> tuple[list[Printed], int] | None:
        match = _COMMON_FRACTION.match(self.plain, token.start)
        if match is None or int(match[1]) >= int(match[2]) or token.negative:
            return None
        value = float(f"{int(match[1]) / int(match[2]):.12g}")
        unit = self._unit(match.end())
        if unit is None and self._is_code(match.end()):
            return None
        end = unit[1] if unit else match.end()
        made = self._made(token, value, value, unit[0] if unit else None, end, "")
        return [replace(made, doubt=f"may be {match[1]} and {match[2]}")], end

    def _compound(self, token: _Token) -> tuple[list[Printed], int] | None:
        touching = re.compile(r"(kg|KG|Kg|h|H)").match(self.plain, token.end)
        unit = self._unit(token.end)
        if touching:
            more = _AND_SMALLER.match(self.plain, touching.end())
            if more and (number := token.numeral(None)) is not None and number.value == int(number.value):
                return self._made_compound(token, number.value, touching[1].lower(), more)
        if unit and unit[0].name == "h" and unit[0].factor == 1:
            more = _HOURS_MINUTES.match(self.plain, unit[1])
            if more and (number := token.numeral(None)) is not None:
                return self._made_compound(token, number.value, "h", more)
        return None

    def _made_compound(
        self, token: _Token, value: float, unit: str, more: re.Match[str]
    ) -> tuple[list[Printed], int] | None:
        part = int(more["more"])
        if unit == "h":
            if part >= 60:
                return None
            value += part / 60
        else:
            value = float(f"{value:g}.{more['more']}")
        value = float(f"{value:.12g}")
        return [self._made(token, value, value, Unit(unit), more.end(), "")], more.end()

    def _single(self, token: _Token) -> tuple[list[Printed], int]:
        unit = self._unit(token.end)
        if unit is None and (degrees := rate_or_degrees(self.plain, token.end)) is not None:
            number = token.numeral(None)
            found = (
                []
                if number is None
                else [self._lone_c(token, number.value, number.value, degrees, number.doubt)]
            )
            return found, degrees
        before = None if unit else self._unit_before(token)
        end = unit[1] if unit else token.end
        of = unit[0] if unit else before[0] if before else None
        if of is None and (self._is_code(token.end) or self._behind_letter(token)):
            return [], token.end
        if self._in_part_number(token):
            return [], end
        if token.negative and of is not None and of.name != "C":
            token = replace(token, negative=False, start=token.start + 1)
        number = token.numeral(of)
        if number is None:
            return [], max(end, token.end)
        doubt = number.doubt or self._blank_doubt(token, of)
        made = self._made(token, number.value, number.value, of, end, doubt)
        if before and before[0].name == "AWG":
            made = replace(made, start=before[1])
        return [made], end

    def _blank_doubt(self, token: _Token, unit: Unit | None) -> str:
        """Return a doubt where a blank may stand inside of a number, as in "1 500 mAh" and "2. 5 V"."""
        head = self.plain[max(0, token.start - 5) : token.start]
        if re.search(r"(?<![0-9])[0-9]{1,2}\. \Z", head):
            return "may be the decimals of the number before the blank"
        group = re.search(r"(?<![0-9.,])([1-9][0-9]{0,2}) \Z", head)
        if unit and unit.thousands and group and re.fullmatch(r"[0-9]{3}", token.printed):
            return f"may be {group[1]}{token.printed}"
        return ""

    def _made(
        self, token: _Token, low: float, high: float, unit: Unit | None, end: int, doubt: str
    ) -> Printed:
        low, high = self._in_unit(low, unit), self._in_unit(high, unit)
        relation, start, end = self._relation(token.start, end, measured=unit is not None)
        doubt = doubt or (unit.doubt if unit else "") or self._code_doubt(token, unit)
        if unit and unit.name == "C" and _LOOSE_DASH.search(self.plain, max(0, token.start - 3), token.start):
            doubt = doubt or "the dash before it may be a minus"
        if (
            unit
            and unit.name == "s"
            and relation == "exact"
            and self.plain[token.end : end].rstrip(")") == "s"
            and low == int(low)
            and low > 2
        ):
            doubt = doubt or "may be a count in series"
        if unit and unit.name == "A" and re.fullmatch(r" A", self.plain[token.end : end]):
            hours = re.compile(r" [0-9]{1,2} ?(?i:h|horas?|km|kg)\b").match(self.plain, end)
            doubt = doubt or ("the A may be the word between two ends" if hours else "")
        return Printed(low, high, unit.name if unit else None, relation, "", start, end, doubt)

    def _lone_c(self, token: _Token, low: float, high: float, end: int, doubt: str) -> Printed:
        """Read a lone C: multiples of the capacity up to a few, degrees where the number is none of them."""
        touching = self.plain[end - 2 : end - 1] != " "
        rate = low > 0 and high <= _HIGHEST_RATE
        sure = (rate and touching and self.plain[end - 1] == "C") or (rate and low != int(low)) or low <= 0
        unclear = "" if sure else "the C may be degrees" if rate else "the C may be multiples of the capacity"
        made = self._made(token, low, high, Unit("It" if rate else "C"), end, doubt or unclear)
        return replace(made, relation="range") if low < high else made

    # What stands around it.

    def _unit(self, end: int) -> tuple[Unit, int] | None:
        """Return the unit behind a number and where it ends; asked several times, looked up once."""
        if end not in self.units:
            self.units[end] = unit_after(self.plain, end)
        return self.units[end]

    def _unit_before(self, token: _Token) -> tuple[Unit, int] | None:
        if gauge := _GAUGE_BEFORE.search(self.plain, max(0, token.start - 6), token.start):
            return Unit("AWG"), gauge.start()
        if _DIAMETER_BEFORE.search(self.plain, max(0, token.start - 2), token.start):
            return Unit("mm"), token.start
        match = _UNIT_BEFORE.search(self.plain, max(0, token.start - 16), token.start)
        if match is None:
            return None
        found = unit_after(match[1] or match[2], 0)
        return (found[0], token.start) if found else None

    def _relation(self, start: int, end: int, *, measured: bool) -> tuple[Relation, int, int]:
        sign = _SIGN_BEFORE.search(self.plain, max(0, start - 4), start)
        if sign:
            return ("at_most" if sign[1] else "at_least" if sign[2] else "about"), sign.start(), end
        for name, before, after in _words().relations:
            if found := before.search(self.plain, max(0, start - 20), start):
                return name, found.start(), end
            # "7 Maximum current" is a heading with its number.
            heading = not measured and re.search(
                r"(?:\A|\n)[^\S\n]*\Z", self.plain[max(0, start - 9) : start]
            )
            if name != "about" and not heading and (found := after.match(self.plain, end)):
                return name, start, found.end()
        return "exact", start, end

    def _is_code(self, end: int) -> bool:
        """Say whether letters that are no unit run on from a number: it is a part number or a count."""
        return re.compile(rf"[{LETTER}]|-[{LETTER}0-9]").match(self.plain, end) is not None

    def _behind_letter(self, token: _Token) -> bool:
        return (
            re.compile(rf"[{LETTER}]-?\Z").search(self.plain, max(0, token.start - 2), token.start)
            is not None
        )

    def _in_part_number(self, token: _Token) -> bool:
        """Say whether a number hangs on letters and digits that are no quantity, as in 21700-40H."""
        before = _PART_NUMBER.search(self.plain, max(0, token.start - 16), token.start)
        if before is None and re.search(r"(?<![0-9])[0-9]{5}-\Z", self.plain[: token.start][-7:]):
            return True
        return before is not None and _QUANTITY_BEFORE.fullmatch(before.group()) is None

    def _code_doubt(self, token: _Token, unit: Unit | None) -> str:
        if unit is None or unit.name == "AWG":
            return ""
        word = _WORD_BEFORE.search(self.plain, max(0, token.start - 12), token.start)
        if word is None or re.search(r"(?i)(?:[ΦφØø⌀]|DC|AC|BMS|[A-Z][a-z]{4,}-)\Z", word.group()):
            return ""
        if _QUANTITY_BEFORE.fullmatch(word.group()):
            return ""
        return "may be part of a part number"

    def _in_unit(self, value: float, unit: Unit | None) -> float:
        return unit.value(value) if unit else value
