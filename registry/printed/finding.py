"""Every number of a running text, with its unit, what the signs beside it say, and where it stands.

Nothing is repaired and nothing is made up: dates and part numbers are left out, and what can be read in two
ways carries a doubt.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace

from registry.printed.beside import (
    GAUGE_BEFORE,
    behind_letter,
    code_doubt,
    in_part_number,
    is_code,
    relation,
    unit_before,
    words,
)
from registry.printed.model import Printed
from registry.printed.numerals import DIGITS
from registry.printed.signs import one_form
from registry.printed.tokens import RANGE_SIGN, Token, Tokens
from registry.printed.units import LETTER, Unit, rate_or_degrees

_HIGHEST_RATE = 12.0
_TOLERANCE = re.compile(rf"[^\S\n]?(?:±|\+[^\S\n]?/[^\S\n]?-|\+-)[^\S\n]?(?P<number>{DIGITS})")
_UNEVEN = re.compile(rf"[^\S\n]?\+[^\S\n]?(?P<up>{DIGITS})[^\S\n]?/[^\S\n]?-[^\S\n]?(?P<down>{DIGITS})")
_BETWEEN_LIMITS = re.compile(r"[^\S\n]?[≤<]=?[^\S\n]?[A-Za-z]{1,4}\.?[^\S\n]?[≤<]=?[^\S\n]?")
_LIST = re.compile(r"[^\S\n]?/[^\S\n]?")
_TIMES = re.compile(r"[^\S\n]?[x*][^\S\n]?")
_OVER = re.compile(rf"(?<![{LETTER}°0-9])C[^\S\n]?/[^\S\n]?([0-9]{{1,3}})(?![0-9.,]*[{LETTER}0-9%])")
_AWG_AUGHT = re.compile(r"([1-4])/0(?=[ -]?(?i:awg))")
_BLANK_GROUP = re.compile(r"(?<![0-9.,])([1-9][0-9]?) ([0-9]{3})(?![0-9.,])")
_LOOSE_DASH = re.compile(r"-[^\S\n]?\Z")
# "3h30" and "4kg5": the second number counts minutes, or is the first decimal of the first.
_AND_SMALLER = re.compile(rf"(?P<more>[0-9]{{1,2}})(?:[^\S\n]?(?:min|mn|m))?(?![{LETTER}0-9/]|[.,][0-9])")
_HOURS_MINUTES = re.compile(r"[^\S\n]?(?P<more>[0-9]{1,2})[^\S\n]?(?i:min|mn)\b\.?")
_COMMON_FRACTION = re.compile(r"(?<![0-9/.,])([1-7])[^\S\n]?/[^\S\n]?([2-8])(?![0-9/]|[.,][0-9])")


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


class _Finder:
    """Reads the numbers of one text, from left to right."""

    def __init__(self, plain: str) -> None:
        self.plain = plain
        self.tokens = Tokens(plain)
        self.rates = {found.start(1): found for found in _OVER.finditer(plain)}

    def all(self) -> Iterator[Printed]:
        """Yield what is printed; places are those of the plain text."""
        place = 0
        for token in self.tokens.candidates():
            if token.start >= place:
                found, place = self._read(self.tokens.signed(token))
                yield from found

    def _read(self, token: Token) -> tuple[list[Printed], int]:
        for form in self._forms():
            found = form(token)
            if found is not None:
                return found
        return self._single(token)

    def _forms(self) -> tuple[Callable[[Token], tuple[list[Printed], int] | None], ...]:
        return (
            self._over_rate,
            self._aught,
            self._blank_grouped,
            self._tolerance,
            self._range,
            self._list,
            self._compound,
        )

    def _blank_grouped(self, token: Token) -> tuple[list[Printed], int] | None:
        """Read "2 600 mAh", whose unit nobody prints so small, as one number that may be two."""
        match = _BLANK_GROUP.match(self.plain, token.start)
        unit = self.tokens.unit(match.end()) if match else None
        if match is None or unit is None or not unit[0].thousands or behind_letter(self.plain, token):
            return None
        if len(match[1]) > 1 and unit[0].name not in ("Ah", "cycles"):
            return None
        value = float(match[1] + match[2])
        doubt = f"may be {match[1]} and {match[2]}"
        return [self._made(token, value, value, unit[0], unit[1], doubt)], unit[1]

    def _over_rate(self, token: Token) -> tuple[list[Printed], int] | None:
        over = self.rates.get(token.start)
        if over is None or not int(over[1]):
            return None
        value = float(f"{1 / int(over[1]):.12g}")
        return [Printed(value, value, "It", "exact", "", over.start(), over.end())], over.end()

    def _aught(self, token: Token) -> tuple[list[Printed], int] | None:
        """Read 2/0 AWG: each aught counts one below 1."""
        match = _AWG_AUGHT.match(self.plain, token.start)
        before = GAUGE_BEFORE.search(self.plain, max(0, token.start - 6), token.start)
        if match is None and before:
            match = re.compile(r"([1-4])/0(?![0-9])").match(self.plain, token.start)
        if match is None:
            return None
        unit = self.tokens.unit(match.end())
        end = unit[1] if unit and unit[0].name == "AWG" else match.end()
        start = before.start() if before else token.start
        value = 1.0 - int(match[1])
        return [Printed(value, value, "AWG", "exact", "", start, end)], end

    def _tolerance(self, token: Token) -> tuple[list[Printed], int] | None:
        unit = self.tokens.unit(token.end)
        for place in [token.end] + ([unit[1]] if unit else []):
            match = _TOLERANCE.match(self.plain, place) or _UNEVEN.match(self.plain, place)
            if match is None:
                continue
            after = self.tokens.unit(match.end())
            of = after or unit
            scale = 1.0
            if after and unit and after[0].name == unit[0].name:
                # "4.2 V ± 30 mV": the number keeps its own unit.
                of, scale = unit, after[0].value(1) / unit[0].value(1)
            parts = [Token(each, 0, 0).numeral(of[0] if of else None) for each in match.groups() if each]
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

    def _range(self, token: Token) -> tuple[list[Printed], int] | None:
        first = self.tokens.unit(token.end)
        second = self._second(token, first[1] if first else token.end)
        if second is None:
            return None
        last = self.tokens.unit(second.end)
        if first and (last is None or first[0].name != last[0].name):
            return None
        if token.negative and last and last[0].name != "C":
            token = replace(token, negative=False, start=token.start + 1)
        high_unit = last[0] if last else None
        low_unit = first[0] if first else high_unit
        low, high = token.numeral(low_unit), second.numeral(high_unit)
        if low is None or high is None:
            return None
        ends = _in_unit(low.value, low_unit), _in_unit(high.value, high_unit)
        if ends[0] >= ends[1] or self._is_size(token, second, first is not None or last is not None):
            return None
        doubt = low.doubt or high.doubt
        if last is not None:
            made = replace(self._made(token, low.value, low.value, low_unit, last[1], doubt), high=ends[1])
            return [replace(made, relation="range")], last[1]
        degrees = rate_or_degrees(self.plain, second.end)
        if degrees is not None:
            return [self._lone_c(token, *ends, degrees, doubt)], degrees
        if is_code(self.plain, second.end):
            return None
        return [replace(self._made(token, *ends, None, second.end, doubt), relation="range")], second.end

    def _is_size(self, token: Token, second: Token, measured: bool) -> bool:
        """Say whether the first of two numbers is a code such as a cell's size, and no end of a range."""
        digits = token.printed.isdigit() and len(token.printed) >= 5
        return digits and (not measured or len(second.printed) < 5)

    def _second(self, token: Token, place: int) -> Token | None:
        """Return the number at the other end of a range that may begin with a token."""
        said = words()
        join = said.joins.match(self.plain, place) or _BETWEEN_LIMITS.match(self.plain, place)
        if join is None:
            join = RANGE_SIGN.match(self.plain, place)
        if join is None and said.between.search(self.plain, max(0, token.start - 12), token.start):
            join = said.joins_behind_between.match(self.plain, place)
        return self.tokens.at(join.end()) if join else None

    def _list(self, token: Token) -> tuple[list[Printed], int] | None:
        """Read "36/48V" and "410*90*110mm": several numbers that share the unit of the last."""
        if self.tokens.unit(token.end) is not None:
            return None
        if fraction := self._fraction(token):
            return fraction
        for sign in (_LIST, _TIMES):
            tokens = self._chain(token, sign)
            unit = self.tokens.unit(tokens[-1].end)
            if len(tokens) == 1 or unit is None:
                continue
            if sign is _TIMES and unit[0].name not in ("mm", "m"):
                return self._times(tokens, unit) if len(tokens) == 2 else None
            if sign is _TIMES or not re.fullmatch(r"[0-9]{5}", token.printed):
                return self._sharing(tokens, unit)
        return None

    def _chain(self, token: Token, sign: re.Pattern[str]) -> list[Token]:
        """Return the numbers that hang together by a sign, up to the first with a unit."""
        tokens = [token]
        while len(tokens) < 6 and (join := sign.match(self.plain, tokens[-1].end)):
            following = self.tokens.at(join.end())
            if following is None or following.negative:
                break
            tokens.append(following)
            if self.tokens.unit(following.end) is not None:
                break
        return tokens

    def _sharing(self, tokens: list[Token], unit: tuple[Unit, int]) -> tuple[list[Printed], int] | None:
        found = []
        for token in tokens:
            number = token.numeral(unit[0])
            if number is None:
                return None
            end = unit[1] if token is tokens[-1] else token.end
            found.append(self._made(token, number.value, number.value, unit[0], end, number.doubt))
        return found, unit[1]

    def _times(self, tokens: list[Token], unit: tuple[Unit, int]) -> tuple[list[Printed], int] | None:
        count, number = tokens[0].numeral(None), tokens[1].numeral(unit[0])
        if count is None or number is None or count.value != int(count.value) or len(tokens[0].printed) > 3:
            return None
        made = self._made(tokens[1], number.value, number.value, unit[0], unit[1], number.doubt)
        return [replace(made, start=tokens[0].start, times=count.value)], unit[1]

    def _fraction(self, token: Token) -> tuple[list[Printed], int] | None:
        match = _COMMON_FRACTION.match(self.plain, token.start)
        if match is None or int(match[1]) >= int(match[2]) or token.negative:
            return None
        value = float(f"{int(match[1]) / int(match[2]):.12g}")
        unit = self.tokens.unit(match.end())
        if unit is None and is_code(self.plain, match.end()):
            return None
        end = unit[1] if unit else match.end()
        made = self._made(token, value, value, unit[0] if unit else None, end, "")
        return [replace(made, doubt=f"may be {match[1]} and {match[2]}")], end

    def _compound(self, token: Token) -> tuple[list[Printed], int] | None:
        touching = re.compile(r"(kg|KG|Kg|h|H)").match(self.plain, token.end)
        unit = self.tokens.unit(token.end)
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
        self, token: Token, value: float, unit: str, more: re.Match[str]
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

    def _single(self, token: Token) -> tuple[list[Printed], int]:
        unit = self.tokens.unit(token.end)
        if unit is None and (degrees := rate_or_degrees(self.plain, token.end)) is not None:
            number = token.numeral(None)
            found = (
                []
                if number is None
                else [self._lone_c(token, number.value, number.value, degrees, number.doubt)]
            )
            return found, degrees
        before = None if unit else unit_before(self.plain, token)
        end = unit[1] if unit else token.end
        of = unit[0] if unit else before[0] if before else None
        if of is None and (is_code(self.plain, token.end) or behind_letter(self.plain, token)):
            return [], token.end
        if in_part_number(self.plain, token):
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

    def _blank_doubt(self, token: Token, unit: Unit | None) -> str:
        """Return a doubt where a blank may stand inside of a number, as in "1 500 mAh" and "2. 5 V"."""
        head = self.plain[max(0, token.start - 5) : token.start]
        if re.search(r"(?<![0-9])[0-9]{1,2}\. \Z", head):
            return "may be the decimals of the number before the blank"
        group = re.search(r"(?<![0-9.,])([1-9][0-9]{0,2}) \Z", head)
        if unit and unit.thousands and group and re.fullmatch(r"[0-9]{3}", token.printed):
            return f"may be {group[1]}{token.printed}"
        return ""

    def _made(
        self, token: Token, low: float, high: float, unit: Unit | None, end: int, doubt: str
    ) -> Printed:
        low, high = _in_unit(low, unit), _in_unit(high, unit)
        bound, start, end = relation(self.plain, token.start, end, measured=unit is not None)
        doubt = doubt or (unit.doubt if unit else "") or code_doubt(self.plain, token, unit)
        if unit and unit.name == "C" and _LOOSE_DASH.search(self.plain, max(0, token.start - 3), token.start):
            doubt = doubt or "the dash before it may be a minus"
        if (
            unit
            and unit.name == "s"
            and bound == "exact"
            and self.plain[token.end : end].rstrip(")") == "s"
            and low == int(low)
            and low > 2
        ):
            doubt = doubt or "may be a count in series"
        if unit and unit.name == "A" and re.fullmatch(r" A", self.plain[token.end : end]):
            hours = re.compile(r" [0-9]{1,2} ?(?i:h|horas?|km|kg)\b").match(self.plain, end)
            doubt = doubt or ("the A may be the word between two ends" if hours else "")
        return Printed(low, high, unit.name if unit else None, bound, "", start, end, doubt)

    def _lone_c(self, token: Token, low: float, high: float, end: int, doubt: str) -> Printed:
        """Read a lone C: multiples of the capacity up to a few, degrees where the number is none of them."""
        touching = self.plain[end - 2 : end - 1] != " "
        rate = low > 0 and high <= _HIGHEST_RATE
        sure = (rate and touching and self.plain[end - 1] == "C") or (rate and low != int(low)) or low <= 0
        unclear = "" if sure else "the C may be degrees" if rate else "the C may be multiples of the capacity"
        made = self._made(token, low, high, Unit("It" if rate else "C"), end, doubt or unclear)
        return replace(made, relation="range") if low < high else made


def _in_unit(value: float, unit: Unit | None) -> float:
    return unit.value(value) if unit else value
