"""What is no figure of a pack and leaves the text before numbers are read.

Links, telephone numbers, dates, order and serial numbers, sizes in three directions, prices, the size codes
of cells and the designations of IEC 61960. Their letters are overwritten with a sign that belongs to no
number, so that places stay. Prices and designations are claims of their own.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from verifier.case.dimensions import in_figures, sides_of
from verifier.listing.linking import Linking
from verifier.listing.quantity import number_value
from verifier.listing.source import LETTER
from verifier.listing.vocabulary import Vocabulary

FILL = "\x1f"
# Nobody asks less for a pack, and no peak is given for longer (common practice, no source).
_LEAST_MONEY = 60
_NUMBER = r"\d{1,3}(?:[.,' ]\d{3})+(?:[.,]\d{1,2})?|\d+(?:[.,]\d{1,2})?"
_LINK = re.compile(r"(?:https?://|www\.)[^\s]{1,300}|[\w.+\-]{1,64}@[\w\-]{1,64}\.[\w.]{2,20}")
_DATE = re.compile(
    r"(?<![\d.,/])(?:(?:19|20)\d\d[-/.年]\s?(?:0?[1-9]|1[0-2])(?:[-/.月]\s?(?:[0-2]?\d|3[01])日?|月)?"
    r"|(?:[0-2]?\d|3[01])[-/.](?:0?[1-9]|1[0-2])[-/.](?:19|20)?\d\d|(?:0?[1-9]|1[0-2])/(?:19|20)\d\d)(?![\d.,/]|\s?(?:v|ah|mah|wh)\b)"
)
_THREE_WAY = re.compile(
    r"(?<![\d.,])(?:[lwhdbt]\s?)?\d+(?:[.,]\d+)?\s?(?:mm|cm)?\s?(?:\([a-z]\)\s?)?[x×*]\s?(?:[lwhdbt]\s?)?\d+(?:[.,]\d+)?\s?(?:mm|cm)?\s?(?:\([a-z]\)\s?)?"
    r"[x×*]\s?(?:[lwhdbt]\s?)?\d+(?:[.,]\d+)?\s?(?:mm|cm|m|inch|in|zoll|\")?(?![a-z\d])"
)
_TWO_WAY = re.compile(r"(?<![\d.,])\d+(?:[.,]\d+)?\s?[x×*]\s?\d+(?:[.,]\d+)?\s?(?:mm|cm)(?![a-z\d])")
_DESIGNATION = re.compile(
    rf"(?<![{LETTER}\d])(?P<series>\d{{1,2}})?i(?:n|f|c|m)[rp]\s?(?P<diameter>\d{{2}})/(?P<length>\d{{2,3}})"
    r"(?:-(?P<first>\d{1,3}))?(?:-(?P<second>\d{1,3}))?(?![\d/])"
)
# Round cells of IEC 61960: largest diameter and length in mm, rounded up, and the trade's code for the size.
_ROUND = {
    ("19", "66"): "18650",
    ("22", "71"): "21700",
    ("27", "66"): "26650",
    ("33", "71"): "32700",
    ("19", "50"): "18500",
}


def _named_numbers(linking: Linking) -> tuple[re.Pattern[str], ...]:
    """Return what finds telephone numbers, references, dates and years, by the words before them or their form."""
    telephone, reference, year = (linking.beginning(name) for name in ("telephone", "number_of", "year"))
    return (
        re.compile(
            rf"(?:{telephone}|[☎📞📱])[\s.:：]{{0,3}}[+(]?\d[\d\s()/\-.]{{5,20}}\d"
            r"|\+\d{2,3}[\s\-/()]{0,2}\d[\d\s()/\-]{6,16}\d|(?<![\d.,\-])0\d{2,4}[/\-]\d{5,9}(?!\d)"
        ),
        re.compile(rf"(?<![a-z]){reference}\.?\s?[:#.\-：]?\s?#?(?=[\w\-/]*\d)[a-z0-9][\w\-/]{{2,40}}"),
        _DATE,
        re.compile(rf"{year}\s?(?!2000)(?:19|20)\d\d(?!\s?(?:[a-z]|[.,]?\d))"),
    )


@dataclass(frozen=True, slots=True)
class Code:
    """A claim that stands in words or a code."""

    field: str
    value: str | float
    start: int
    end: int


@dataclass(slots=True)
class Price:
    """A price as printed."""

    value: float
    currency: str
    start: int
    end: int
    plus: bool


class TakenOut:
    """Finds what leaves the text, and returns the text without it."""

    def __init__(self, text: str, lower: str, vocabulary: Vocabulary) -> None:
        self.text = text
        self.vocabulary = vocabulary
        self.prices: list[Price] = []
        self.codes: list[Code] = []
        self.rest = self._without(lower, (_LINK, *_named_numbers(vocabulary.linking)))
        self._designations()
        self._dimensions()
        self.rest = self._without(self.rest, (_THREE_WAY, _TWO_WAY))
        self._prices()

    def take(self, places: Iterable[tuple[int, int]]) -> None:
        """Take out further stretches, in which no number is a figure of the pack."""
        rest = list(self.rest)
        for start, end in places:
            rest[start:end] = FILL * (end - start)
        self.rest = "".join(rest)

    @staticmethod
    def _without(lower: str, patterns: tuple[re.Pattern[str], ...]) -> str:
        for pattern in patterns:
            lower = pattern.sub(lambda match: FILL * len(match.group()), lower)
        return lower

    def _designations(self) -> None:
        for match in _DESIGNATION.finditer(self.rest):
            self.codes += _designation(match)
        self.rest = self._without(self.rest, (_DESIGNATION,))

    def _dimensions(self) -> None:
        """Note the sizes in three directions that may be a pack's, as printed."""
        for match in _THREE_WAY.finditer(self.rest):
            # The letter before it may end a word ("formaat 300 x ...").
            start = match.end() - len(match.group().lstrip("lwhdbt "))
            sides = sides_of(self.text[start : match.end()])
            if sides is not None:
                self.codes.append(Code("dimensions", in_figures(sides), start, match.end()))

    def _prices(self) -> None:
        signs = "|".join(
            re.escape(sign) + (rf"(?![{LETTER}])" if sign[-1].isalpha() and sign.isascii() else "")
            for sign in sorted(self.vocabulary.currencies, key=len, reverse=True)
        )
        # "三元18650": a sign that is a word stands behind its number.
        leading = "|".join(
            re.escape(sign) + (rf"(?![{LETTER}])" if sign[-1].isalpha() and sign.isascii() else "")
            for sign in sorted(self.vocabulary.currencies, key=len, reverse=True)
            if len(sign) > 1 or not sign.isalpha()
        )
        blank = "[ \u00a0]?"
        unit = r"(?:v|ah|wh|a|kg|w|mah)\b"
        before = re.compile(
            rf"(?P<plus>\+)?{blank}(?<![{LETTER}\d])(?<!\d[ \u00a0])(?P<sign>{leading}){blank}"
            rf"(?P<number>{_NUMBER})"
            rf"(?![.,]?\d|{blank}{unit})"
        )
        # "R$ 350 à vista", "1200 zł à": the letter with its accent is a word, and no ampere.
        accented = frozenset("àÀáÁ")
        after = re.compile(
            rf"(?P<plus>[+加])?{blank}(?<![\d.,])(?P<number>{_NUMBER})(?:,-|,–|\.-|\.–)?{blank}(?P<sign>{signs})"
            # "18650円筒形": a round cell.
            r"(?![筒柱形])"
        )
        found: list[Price] = []
        for pattern in (before, after):
            rest = list(self.rest)
            unaccented = "".join(
                FILL if sign in accented else letter
                for sign, letter in zip(self.text, self.rest, strict=True)
            )
            for match in pattern.finditer(unaccented):
                value = number_value(match["number"].replace(" ", "").replace("'", ""), thousands=True)
                if self._is_time(match, value):
                    continue
                if value is not None:
                    currency = self.vocabulary.currencies[match["sign"]]
                    place = (
                        match.start("plus")
                        if match["plus"]
                        else min(match.start("sign"), match.start("number"))
                    )
                    found.append(Price(value, currency, place, match.end(), match["plus"] is not None))
                rest[match.start() : match.end()] = FILL * (match.end() - match.start())
            self.rest = "".join(rest)
        self.prices = sorted(found, key=lambda price: price.start)

    def _is_time(self, match: re.Match[str], value: float | None) -> bool:
        """Return whether the letters of a currency are short for seconds here ("8 Sek.")."""
        unit = self.vocabulary.units.get(match["sign"])
        if unit is None or unit.dimension != "seconds":
            return False
        printed = self.text[match.start("sign") : match.end("sign")]
        return not printed.isupper() or value is None or value < _LEAST_MONEY

    def sizes(self) -> Iterator[re.Match[str]]:
        """Yield the size codes of cells that stand on their own, as places in the text."""
        for match in re.finditer(r"(?<![\d.,])\d{5}(?!\d|[.,]\d)", self.rest):
            if match.group() in self.vocabulary.sizes:
                yield match

    def without_sizes(self) -> str:
        """Return the text for the reader of numbers, the size codes of cells taken out as well."""
        parts: list[str] = []
        place = 0
        for match in self.sizes():
            # A size code before a unit is that unit's number ("18650 mAh" does not exist, "21700mAh" does).
            unit = re.match(r"\s?(?:mah|ma|mv|m?wh)(?![a-z])", self.rest[match.end() : match.end() + 6])
            code = re.match(r"-\d{2,3}[a-z]{1,2}(?![a-z])", self.rest[match.end() : match.end() + 8])
            if code is not None and not code.group().endswith("ah"):
                parts += [self.rest[place : match.start()], FILL * (5 + code.end())]
                place = match.end() + code.end()
            elif unit is None:
                parts += [self.rest[place : match.start()], FILL * 5]
                place = match.end()
        return "".join([*parts, self.rest[place:]])

    def text_without_sizes(self) -> str:
        """Return the same of the text as it is printed, for units that differ by capitals."""
        return "".join(
            sign if sign == FILL else letter
            for letter, sign in zip(self.text, self.without_sizes(), strict=True)
        )


def _designation(match: re.Match[str]) -> Iterator[Code]:
    """Yield what a designation says: its size, and cells in series and parallel where it has them."""
    size = _ROUND.get((match["diameter"], match["length"]))
    if size is not None:
        yield Code("cell_size", size, match.start("diameter"), match.end("length"))
    first, second = match["first"], match["second"]
    if match["series"]:
        yield Code("series", float(match["series"]), *match.span("series"))
        if first:
            yield Code("parallel", float(first), *match.span("first"))
    elif first and second:
        # Not by the standard, but met on labels: series, then parallel.
        yield Code("series", float(first), *match.span("first"))
        yield Code("parallel", float(second), *match.span("second"))
