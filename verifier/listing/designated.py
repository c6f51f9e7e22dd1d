"""Cells named beside the words for cells, their count or their size: "50 cells Lyr LY-35E", "50x LY-35E (18650)".

No registry is needed: what is read is a code as makers print it on a wrapper, in capitals and digits, with the maker's
name before it where there is one. The code of a board, a plug or a motor stands beside other words.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache
from string import ascii_letters

from verifier.listing.labels import Label
from verifier.listing.layout import Line
from verifier.listing.registered import Name
from verifier.listing.source import folded
from verifier.listing.vocabulary import Language, Vocabulary

_BLANK = r"[ \u00a0]"
# Capitals and digits, in up to four parts; a letter of another word or a further part makes another code of it.
_CODE = (
    r"(?<![A-Za-z0-9\-./+_])(?P<code>(?=[0-9\-]*[A-Z])(?=(?:[A-Z\-]*[0-9]){2})[A-Z0-9]{2,12}(?:-[A-Z0-9]{1,10}){0,3})"
    r"(?![A-Za-z0-9/+]|-[0-9A-Z]|[.,][0-9])"
)
_MAKER = rf"(?:(?<![A-Za-z0-9\-])(?P<maker>[A-Z][A-Za-z]{{1,19}}){_BLANK})?"
# A build, a size with a build or its mAh, a form without a maker's own code, and a number with its unit.
_NO_NAME = re.compile(
    r"(?:\d{5}-)?(?:\d{1,2}S\d{0,3}P?|\d{1,3}P|X?\d{1,4}X?|\d+(?:PCS?|MAH|AH|WH|V|A|W|C|MM|AWG|KG|G|CM|KM|H|S))"
    r"|(?:I?[A-Z]{1,3}R?)?-?\d{5}|(?:[A-Z]{1,3}R)\d{5}|\d+"
)
_TIMES = r"(?:[x×*]|pcs\.?|pc\.?|szt\.?|st\.?|stück|stuks|個|本|只|颗|节|支)"
# Plugs and interfaces whose names are like codes (common practice, no source).
_PLUGS = (
    "XT30", "XT60", "XT90", "XT150", "MT60", "EC5", "AS150", "RS485", "UART", "GX16", "BMS", "PCB", "AWG",
)  # fmt: skip
_LONGEST = 60


def names_beside(
    text: str, known: Sequence[Label], lines: Sequence[Line], spoken: Sequence[Language], words: Vocabulary
) -> list[Name]:
    """Return where a listing names a cell beside the words for cells, or beside a count and a size.

    Parameters
    ----------
    text : str
        The listing.
    known : sequence of Label
        Its known words.
    lines : sequence of Line
        Its lines.
    spoken : sequence of Language
        The languages that it is read in: a word of theirs is no maker's name.
    words : Vocabulary
        For the sizes of cells, and for what stands between cells and their maker ("cells by", "cellules de").
    """
    found: dict[tuple[int, int], None] = {}
    reader = _Reader(text, spoken, words)
    for label in known:
        if "cell" in label.names:
            line = lines[label.line]
            found.update(dict.fromkeys(reader.behind(_end_of_word(text, label), line.end)))
            found.update(dict.fromkeys(reader.before(line.start, label.start)))
    for line in lines:
        found.update(dict.fromkeys(reader.beside_sizes(line.start, line.end)))
    return _named(text, [*found])


def _end_of_word(text: str, label: Label) -> int:
    """Return where a word ends: letters right behind signs ("电芯Lyr") are no part of it."""
    if text[label.start].isascii():
        return label.end
    return label.start + len(text[label.start : label.end].rstrip(ascii_letters))


def _named(text: str, places: Sequence[tuple[int, int]]) -> list[Name]:
    """Return the places in order, each with the longest words by which its code is named."""
    apart: list[tuple[int, int]] = []
    for start, end in sorted(places, key=lambda each: (each[0] - each[1], each[0])):
        if all(end <= a or start >= b for a, b in apart):
            apart.append((start, end))
    longest: dict[str, str] = {}
    for start, end in apart:
        named = text[start:end]
        code = named.rpartition(" ")[2]
        longest[code] = max(longest.get(code, ""), named, key=len)
    return [Name(a, b, longest[text[a:b].rpartition(" ")[2]]) for a, b in sorted(apart)]


@cache
def _patterns(sizes: tuple[str, ...], made_by: str) -> tuple[re.Pattern[str], ...]:
    """Return how a code stands behind a word for cells, before one, and beside a count and a size."""
    sized = rf"[(\[]?(?:{'|'.join(sizes)})[)\]]?"
    # "Cells by", "der Marke": of the folded text, so in any case.
    of_maker = rf"(?:(?i:{made_by}){_BLANK}?)?"
    times = rf"(?<![\w.,])\d{{1,3}}{_BLANK}?{_TIMES}{_BLANK}?"
    return (
        re.compile(rf"[ \u00a0,:：=(\[–\-]{{0,3}}(?:{sized}[,:：]?{_BLANK})?{of_maker}{_MAKER}[(\[]?{_CODE}"),
        re.compile(rf"{_MAKER}{_CODE}[)\]]?(?:{_BLANK}?{sized})?(?:{_BLANK}|-)?\Z"),
        # "52x LY-35E (18650)", "52 x 18650 LY-35E".
        re.compile(rf"(?i:{times}){_MAKER}{_CODE}{_BLANK}?,?{_BLANK}?{sized}(?![\w\-])"),
        re.compile(rf"(?i:{times}){sized}{_BLANK}{_MAKER}{_CODE}"),
    )


class _Reader:
    """Finds codes around a place of one text."""

    def __init__(self, text: str, spoken: Sequence[Language], words: Vocabulary) -> None:
        self.text = text
        self.words = words
        self.no_makers = words.linking.of("no_maker").union(
            *(language.known | language.function for language in spoken)
        )
        made_by = words.linking.either("made_by")
        self._behind, self._before, *self._beside_sizes = _patterns(tuple(sorted(words.sizes)), made_by)

    def behind(self, place: int, end: int) -> Iterator[tuple[int, int]]:
        """Yield the code behind a word for cells."""
        found = self._behind.match(self.text, place, min(end, place + _LONGEST))
        yield from self._place(found)

    def before(self, start: int, place: int) -> Iterator[tuple[int, int]]:
        """Yield the code before a word for cells."""
        start = max(start, place - _LONGEST)
        yield from self._place(self._before.search(self.text, start, place))

    def beside_sizes(self, start: int, end: int) -> Iterator[tuple[int, int]]:
        """Yield the codes of a line that stand between a count and a size."""
        for pattern in self._beside_sizes:
            for found in pattern.finditer(self.text, start, end):
                yield from self._place(found)

    def _place(self, found: re.Match[str] | None) -> Iterator[tuple[int, int]]:
        if found is None or not self._is_name(found["code"]):
            return
        maker = found["maker"]
        whole = (
            maker is not None
            and folded(maker) not in self.no_makers
            and found.end("maker") + 1 == found.start("code")
        )
        yield (found.start("maker") if whole else found.start("code")), found.end("code")

    def _is_name(self, code: str) -> bool:
        return not (
            _NO_NAME.fullmatch(code)
            or self.words.certificate_pattern.match(code)
            or self.words.ingress_pattern.fullmatch(code)
            or code.startswith(_PLUGS)
        )
