"""Numbers with their units and exact places, as the listing's own words and languages have them.

Numbers and units are read in one place for the whole tool, ``registry.printed``. Here come in the words of the
languages read; the counts that only packs have (13S4P, 13串4并, "13 strings") are read in ``count_reader``.
"""

from __future__ import annotations

import re
from functools import cache

from registry.printed.finding import find_printed
from registry.printed.model import Printed
from registry.printed.units import vocabulary as printed_words
from verifier.listing.count_reader import CountReader
from verifier.listing.quantity import Quantity, number_value
from verifier.listing.source import LETTER
from verifier.listing.vocabulary import Unit, Vocabulary

_DIMENSIONS: dict[str, tuple[str, float]] = {
    "V": ("voltage", 1), "A": ("current", 1), "Ah": ("capacity", 1), "Wh": ("energy", 1), "W": ("power", 1),
    "kg": ("mass", 1), "g": ("mass", 0.001), "km": ("distance", 1), "h": ("hours", 1), "s": ("seconds", 1),
    "AWG": ("gauge", 1), "cycles": ("cycles", 1), "S": ("series", 1), "P": ("parallel", 1),
    "cells": ("cells", 1), "pieces": ("pieces", 1),
}  # fmt: skip
# Nobody prints these with three decimals, so that "1,500 Wh" is read in one way only.
_THOUSANDS = frozenset({"Wh", "W", "g", "cycles"})
_TIMES = re.compile(r"(?:times|次|回|x)\Z")
_BLANK_GROUP = re.compile(r"(?<![\d.,])([1-9]\d{0,2})[ \u00a0]\Z")
# A full pack over its nominal volts, see ``settling``.
_FULL_OVER_NOMINAL = (1.10, 1.22)
# A language may have a longer unit that begins so ("km/u", "Wh per km").
_MAY_BE_LONGER = ("A", "Wh", "km", "W")
_FIRST_NUMBER = re.compile(r"\d+(?:[.,]\d+)*")
_WHOLE_PERCENT = 100
_THOUSAND = 1000
_THOUSANDS_MEANT = re.compile(r"\A'.*' may be ([1-9]\d{3,5})\Z")
_THREE = re.compile(r"\d{3}")
_SCALED = frozenset({("A", "milliampere_hour"), ("W", "kilowatt_hour")})
_LONGEST_SECONDS = 1000
_OF_A_CODE = re.compile(rf"[{LETTER}]-\Z")
_OF_A_MODEL = re.compile(r"(?<![A-Za-z\d])[A-Z]{1,5}-\Z")
_TIMES_SIGN = re.compile(r"(?<=[A-Za-z])×(?=\d| )")
_NEW_SENTENCE = re.compile(r"\s[A-ZÀ-ÖØ-Þ][^\W\d_]")
_PLAIN = re.compile(r"[\d.,]+")
_NEW_CELL = re.compile(r"[|｜\t] *\Z")
_CELL_ENDS = re.compile(r" *(?:[|｜\t\r\n]|$)")
_FRACTION = re.compile(r"([1-3])/([2-4])(?!\d)")
_DIRECT = re.compile(rf"(?<![{LETTER}\d])dc\Z")
_MILLI = re.compile(r"\d\s?(?:ma(?![a-z]*x)|milli|毫)")
# "5時間30分", "5小时半".
_MINUTES = re.compile(
    r"\s?(?:(?:[^\W\d_]{1,3}\s)?(?P<minutes>\d{1,2})\s?(?:分钟?|分鐘|min(?:ut\w{0,3})?(?![^\W\d_]))|(?P<half>半))"
)
_MORE = re.compile(
    rf"\s(?P<more>\d{{1,3}})(?![\d.,]*\d|\s?[%°x×*]|\s?(?:v|m?ah?|k?wh?|k?g|k?m|s|p|h|mm|cm|min\w*)(?![{LETTER}]))"
)
_MULTIPLIER = re.compile(r"(?<![\d.,])(\d{1,3})\s?[x×*]\s?\Z")


@cache
def _beside() -> tuple[re.Pattern[str], re.Pattern[str]]:
    """Return what stands before and behind a number as part of what is printed, and is a label here."""
    words = [word for words in printed_words("relation").values() for word in words]
    either = "|".join(re.escape(word) for word in sorted(words, key=len, reverse=True))
    before = re.compile(rf"(?i:(?:{either}|[<>≤≥≈=~\s.:：])+)(?=[\dOolI|.½¼¾⅓⅔AaΦφØø-])")
    return before, re.compile(rf"\s?[(,]?\s?(?i:{either})\Z")


class NumberReader:
    """Finds the numbers of one listing."""

    def __init__(
        self, text: str, lower: str, words: Vocabulary, word_ends: frozenset[int] = frozenset()
    ) -> None:
        self.text = text
        self.word_ends = word_ends
        self.last_end = -1
        self.lower = lower
        self.words = words
        self.counts = CountReader(lower, words)
        self.or_ = re.compile(rf"\s?{words.linking.either('or')}\s?")
        # "Tra gli 80 e i 110 km", "tussen de 80 en de 110 km", "dai 40 ai 55 km".
        article = rf"(?:{words.linking.either('article', 'of_a_range')}\s)?"
        self.between = re.compile(rf"{words.linking.either('between')}\s{article}\Z")
        self.and_ = re.compile(rf"\s{words.linking.either('and')}\s{article}")
        self.to = re.compile(rf"{words.range_pattern.pattern}{article}|\s{words.linking.either('to_the')}\s")
        self.ambiguous: list[tuple[int, int]] = []

    def read(self) -> list[Quantity]:
        """Return every number with a unit, in order of place."""
        counts = list(self.counts.read())
        taken = {place for each in counts for place in range(each.start, each.end)}
        covered = [" " if place in taken else letter for place, letter in enumerate(self.text)]
        # "案1：48V" is no time of day, and the line of a table no digit.
        covered = ["\t" if letter in "：|" else letter for letter in covered]
        found: list[Quantity] = []
        before: Printed | None = None
        # "3000mAh×8並列": the sign parts a unit from what it is multiplied by.
        for printed in find_printed(_TIMES_SIGN.sub(" ", "".join(covered))):
            quantity = self._quantity(printed)
            if quantity is not None and quantity.value > 0 and not self._is_code(quantity):
                self.last_end = quantity.end
                self._extend(quantity)
                self._join_choice(before, quantity)
                self._join_fraction(before, printed, quantity)
                found += self._apart(quantity)
            before = printed
        return sorted([*counts, *found], key=lambda each: (each.start, each.end))

    # -- numbers ---------------------------------------------------------------------------------------------

    def _quantity(self, printed: Printed) -> Quantity | None:
        start, end = self._bounds(printed)
        # "7.8 kg | 445": the unit of one cell is not that of the next.
        if printed.text[-1:].isdigit() and printed.unit is not None and self._fills_a_cell(printed, start):
            return None
        # A word on the next line is no unit.
        broken = "\n" in self.text[start : printed.end].rstrip() and printed.unit in ("cells", "pieces")
        if start >= end or broken:
            return None
        # A percentage is no end of a range of counts ("700 to 80 %", "2.500 al 80 %").
        if printed.unit == "percent" and printed.relation == "range" and self._counts_first(printed):
            return None
        own = (
            self._own_unit(end, longer=printed.unit in _MAY_BE_LONGER)
            if self._may_be_words(printed, end)
            else None
        )
        last = (own[1] if own is not None else end) - 1
        if self.text[last] in "àÀáÁ" and self.text[last - 1] in " \u00a0":
            return None  # "800 à 80 %" is no ampere.
        if own is not None:
            # The milliamperes of a "milliampere hour" were taken for amperes, kilowatts in the same way for watts.
            scaled = (printed.unit, own[0].name) in _SCALED
            unit = Unit(own[0].name, own[0].dimension, 1) if scaled else own[0]
            return self._made(printed, unit, 1.0, start, own[1])
        if printed.unit is None or (printed.unit == "s" and printed.low >= _LONGEST_SECONDS):
            return None
        dimension, factor = _DIMENSIONS.get(printed.unit, ("nothing", 1.0))
        if printed.unit == "s" and "series" in printed.doubt:
            dimension = "seconds_or_series"
        if dimension == "cycles" and _TIMES.search(self.lower[start:end].rstrip()):
            dimension = "times"
        name = {"g": "gram", "months": "calendar"}.get(printed.unit, dimension)
        return self._made(printed, Unit(name, dimension, factor), factor, start, end)

    def _fills_a_cell(self, printed: Printed, start: int) -> bool:
        """Return whether a number alone fills a cell of a row, behind another cell."""
        return (
            _PLAIN.fullmatch(printed.text) is not None
            and _NEW_CELL.search(self.text, max(0, start - 4), start) is not None
            and _CELL_ENDS.match(self.text, printed.end) is not None
        )

    def _counts_first(self, printed: Printed) -> bool:
        """Return whether the first number of a range of percents is a count: above a hundred."""
        first = _FIRST_NUMBER.search(self.lower, printed.start, printed.end)
        value = number_value(first.group(), thousands=True) if first is not None else None
        return value is not None and value > _WHOLE_PERCENT

    def _may_be_words(self, printed: Printed, end: int) -> bool:
        return printed.unit in (None, "cells", "pieces", "S", "P", "cycles", *_MAY_BE_LONGER) and end <= len(
            self.lower
        )

    def _bounds(self, printed: Printed) -> tuple[int, int]:
        """Return the place of the number and its unit alone, without the words beside them."""
        before, after = _beside()
        start, end = printed.start, printed.end
        lead = before.match(self.text, start, end)
        if lead is not None and printed.unit != "AWG":
            start = lead.end()
        tail = after.search(self.text, start, end)
        if tail is not None and printed.relation in ("at_most", "at_least"):
            end = tail.start()
        # "It weighs 12 lb. Comes with …": the point ends the sentence too.
        if self.text[end - 1 : end] == "." and _NEW_SENTENCE.match(self.text, end):
            end -= 1
        line_end = self.text.find("\n", start, end)
        return start, start + len(self.text[start : line_end if line_end >= 0 else end].rstrip())

    def _own_unit(self, end: int, *, longer: bool) -> tuple[Unit, int] | None:
        """Return the unit that a language read writes behind a number, and where it ends."""
        digits = re.compile(r"[\d.,½¼¾]+\s?\Z").search(self.lower, max(0, end - 24), end)
        place = end if digits else self._number_end(end)
        match = self.words.unit_pattern.match(self.lower, place)
        if match is None or match.end() < end or (longer and match.end() == end):
            return None
        return self.words.units[re.sub(r"\s", " ", match["word"])], match.end()

    def _number_end(self, end: int) -> int:
        """Return where the digits end whose unit ends here."""
        digits = re.compile(r"\d(?=[^\d]*\Z)").search(self.lower, max(0, end - 30), end)
        return digits.end() if digits else end

    def _made(self, printed: Printed, unit: Unit, factor: float, start: int, end: int) -> Quantity | None:
        low, high = printed.low, printed.high
        if printed.centre is not None:
            low = high = printed.centre
        thousands = _THOUSANDS_MEANT.search(printed.doubt) if unit.thousands and low == high else None
        if thousands is not None:
            # "1.000 charges": nobody counts them with three decimals.
            low = high = float(thousands[1])
        elif self._is_ambiguous(printed) and not (unit.thousands and low >= _THOUSAND):
            self.ambiguous.append((start, end))
            return None
        quantity = Quantity(
            unit, _scaled(low, unit, factor), start, end, tolerance=printed.centre is not None
        )
        if high != low:
            quantity.high = _scaled(high, unit, factor)
            quantity.low_end, quantity.high_start = self._ends(start, end)
        quantity.doubt = printed.doubt if "letters stand for digits" in printed.doubt else ""
        quantity.milli = _MILLI.search(self.lower[start:end]) is not None
        quantity.attached = self.lower[start:end].replace(" ", "") == self.lower[start:end]
        before = self.lower[max(0, start - 8) : start]
        quantity.equals = before.rstrip().endswith("=")
        quantity.times = printed.times or self._multiplier(before)
        self._join_thousands(printed, quantity, unit)
        return quantity

    def _apart(self, quantity: Quantity) -> list[Quantity]:
        """Part "36V - 42V" where the second is the full voltage of the first: a name and its charger."""
        if quantity.dimension != "voltage" or quantity.high is None or quantity.high_start == quantity.start:
            return [quantity]
        low, high = _FULL_OVER_NOMINAL
        if not low <= quantity.high / quantity.value <= high:
            return [quantity]
        second = Quantity(quantity.unit, quantity.high, quantity.high_start, quantity.end, attached=True)
        quantity.high, quantity.end = None, quantity.low_end
        return [quantity, second]

    def _is_code(self, quantity: Quantity) -> bool:
        """Return whether a number runs on from letters that are neither a unit nor a known word ("V48Ah")."""
        start = quantity.start
        # "CV-36S" is a model.
        joined = quantity.dimension in ("series", "parallel", "seconds_or_series")
        if joined and _OF_A_CODE.search(self.lower, max(0, start - 2), start):
            return True
        # "XS-60A": so is this, unless the letters are a word for what the amperes are of ("BMS-60A").
        named = _OF_A_MODEL.search(self.text, max(0, start - 8), start) if quantity.attached else None
        if named is not None and quantity.dimension == "current" and start - 1 not in self.word_ends:
            return True
        touching = start > 0 and re.match(f"[{LETTER}]", self.lower[start - 1]) is not None
        if touching and _DIRECT.search(self.lower, max(0, start - 3), start):
            return False
        return touching and start != self.last_end and start not in self.word_ends

    def _extend(self, quantity: Quantity) -> None:
        """Read what people add behind a unit: "4 horas y media", "5 h 30", "4 kilos 6"."""
        if quantity.dimension == "cells":
            word = self.words.unit_pattern.match(self.lower, quantity.end)
            unit = self.words.units[word["word"]] if word else None
            if word is not None and unit is not None and unit.dimension in ("series", "parallel"):
                quantity.unit, quantity.end = unit, word.end()
        if quantity.dimension not in ("hours", "mass") or quantity.high is not None:
            return
        minutes = _MINUTES.match(self.lower, quantity.end) if quantity.dimension == "hours" else None
        if minutes is not None and quantity.value == int(quantity.value):
            more_hours = 0.5 if minutes["half"] else int(minutes["minutes"]) / 60
            quantity.value, quantity.end = round(quantity.value + more_hours, 9), minutes.end()
            return
        half = self.counts.half.match(self.lower, quantity.end)
        more = _MORE.match(self.lower, quantity.end)
        if half is not None:
            quantity.value, quantity.end = quantity.value + 0.5, half.end()
        elif more is not None and quantity.value == int(quantity.value):
            self._add_more(quantity, more)

    def _add_more(self, quantity: Quantity, more: re.Match[str]) -> None:
        printed = more["more"]
        if quantity.dimension == "hours" and len(printed) == 2 and int(printed) < 60:
            quantity.value = round(quantity.value + int(printed) / 60, 9)
        elif quantity.dimension == "mass" and quantity.unit.name != "gram" and self._in_words(quantity):
            quantity.value = float(f"{quantity.value:g}.{printed}")
        else:
            return
        quantity.end = more.end()

    def _in_words(self, quantity: Quantity) -> bool:
        return "kilo" in self.lower[quantity.start : quantity.end]

    def _join_choice(self, before: Printed | None, quantity: Quantity) -> None:
        """Read "4 or 5 hours" as a range: the first number has the unit of the second."""
        if (
            before is None
            or before.unit is not None
            or quantity.high is not None
            or before.low != before.high
        ):
            return
        gap = self.lower[before.end : quantity.start]
        joined = self.or_.fullmatch(gap) or self.to.fullmatch(gap)
        if self.and_.fullmatch(gap):
            joined = self.between.search(self.lower, max(0, before.start - 16), before.start)
        if (
            quantity.dimension in ("hours", "distance", "mass", "cycles")
            and joined
            and before.low < quantity.value
        ):
            quantity.high, quantity.value = quantity.value, before.low
            quantity.low_end, quantity.high_start, quantity.start = quantity.end, before.start, before.start

    @staticmethod
    def _join_fraction(before: Printed | None, printed: Printed, quantity: Quantity) -> None:
        """Read "5 1/2 lbs" as five and a half."""
        if before is None or before.unit is not None or before.end + 1 != printed.start:
            return
        match = _FRACTION.match(printed.text)
        if match is None or not before.text.isdigit() or quantity.high is not None:
            return
        part = int(match[1]) / int(match[2])
        quantity.value = round(quantity.value / part * (before.low + part), 9)
        quantity.start = before.start

    def _is_ambiguous(self, printed: Printed) -> bool:
        if " may be " not in printed.doubt or "letters" in printed.doubt or printed.unit in _THOUSANDS:
            return False
        return printed.doubt.startswith("'")

    @staticmethod
    def _multiplier(before: str) -> float | None:
        match = _MULTIPLIER.search(before)
        return float(match[1]) if match else None

    def _join_thousands(self, printed: Printed, quantity: Quantity, unit: Unit) -> None:
        """Read "2 600 mAh" as languages that part thousands by a blank print it (ISO 80000-1 7.3.1)."""
        meant = re.fullmatch(r"may be ([1-9]\d{3,5})", printed.doubt)
        group = _BLANK_GROUP.search(self.text, max(0, quantity.start - 5), quantity.start)
        if meant is None and unit.thousands and printed.unit is None and _THREE.fullmatch(printed.text):
            # "1 000 charges"
            meant = re.fullmatch(r"(\d+)", group[1] + printed.text) if group is not None else None
        if meant is None or group is None:
            return
        before = self.lower[max(0, group.start() - 1) : group.start()]
        longest = 1 if quantity.dimension == "power" else 3
        if len(group[1]) > longest or re.match(rf"[{LETTER}\-\x1f]", before):
            return
        milli = self.lower[quantity.start + 3 :].lstrip()[:1] == "m"
        quantity.value = _scaled(
            float(meant[1]) * (0.001 if milli else 1), quantity.unit, quantity.unit.factor
        )
        quantity.start = group.start()

    def _ends(self, start: int, end: int) -> tuple[int, int]:
        """Return where the low end of a range ends and its high end begins, for units printed at both."""
        numbers = list(re.compile(r"\d+(?:[.,]\d+)*").finditer(self.lower, start, end))
        if len(numbers) < 2:
            return end, start
        low, high = numbers[0], numbers[1]
        between = self.lower[low.end() : high.start()]
        letters = re.match(rf"\s?[{LETTER}]+", between)
        joined = re.search(rf"(?<![{LETTER}]){self.words.range_pattern.pattern}(?![{LETTER}])", between)
        if letters and joined and joined.start() >= letters.end() - 1:
            return low.end() + letters.end(), high.start()
        return end, start


def _scaled(value: float, unit: Unit, factor: float) -> float:
    return round(value * (unit.factor if factor == 1.0 else factor), 9)
