"""Counts of cells and groups, by code or in words: 13S4P, 13串4并, "13 strings of 4", "zwanzig in Serie"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cache

from verifier.listing.quantity import Quantity, number_value
from verifier.listing.source import LETTER
from verifier.listing.vocabulary import Unit, Vocabulary

_SERIES_PARALLEL = re.compile(
    rf"(?<![{LETTER}\d])(?<!\d[.,])(?P<series>\d{{1,3}})\s?(?:s|串|直列|直)\s?[-x/×,，]?\s?(?P<parallel>\d{{1,3}})\s?(?:p|并联|并|並列|並)(?![{LETTER}])"
)
_LONE_PARALLEL = re.compile(rf"(?<![{LETTER}\d])(?<!\d[.,])(?P<parallel>\d{{1,2}})p(?![{LETTER}\d])")
_LONE_SERIES = re.compile(r"(?<![\d.,])(?P<series>\d{1,2})\s?(?:串|直列)")
_LONG_WORD = 9
_FEWEST_STRUNG = 3
_SHORTEST_STRING = 5
# Fewer cells of a size are those of a group.
_FEWEST_OF_A_SIZE = 10
_ADJECTIVE = re.compile(rf"\s[{LETTER}]{{4,16}}(?=\s)")
# So near behind a number of groups "in series" speaks of each.
_BEHIND_GROUPS = 24
_COUNTED_IN_WORDS = frozenset(
    {
        "series",
        "parallel",
        "second",
        "hour",
        "cell",
        "ampere",
        "volt",
        "ampere_hour",
        "kilogram",
        "kilometre",
        "mile",
        "cycle",
    }
)
# Units that may be a short word of the sentence behind a number word ("dos a tres").
_SHORTEST_UNIT = 3
_SIZE_BETWEEN = re.compile(r"\s\x1f{5}(?:\s|-)?")
_PIECES_OF = re.compile(
    r"(?<![\d.,])(?P<a>\d{2,3})\s?[x×*]\s?\x1f{5}|\x1f{5}\s?[x×*]\s?(?P<b>\d{1,3})(?!\d|[.,]\d|\s?[a-z])"
)


# Of each language's words the same patterns are wanted by every text, and take longer to make than to use.


def _any_word(words: Iterable[str]) -> str:
    return "|".join(sorted(map(re.escape, words), key=len, reverse=True))


@cache
def _unit_first(about: str, of: str, numerals: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile(
        rf"{about}\s(?P<unit>[{LETTER}]{{2,9}})\s{of}\s"
        rf"(?P<number>\d{{1,3}}(?:[.,]\d)?|{_any_word(numerals)})(?![\w,.]*\d|[{LETTER}])"
    )


@cache
def _in_groups(groups: str, of: str, numerals: tuple[str, ...]) -> re.Pattern[str]:
    number = rf"\d{{1,2}}|{_any_word(numerals)}"
    return re.compile(
        rf"(?<![{LETTER}\d.,])(?P<series>{number})\s{groups}\s{of}\s(?P<parallel>{number})(?![{LETTER}\d]|[.,]\d)"
    )


@cache
def _nouns_between(series: tuple[str, ...], spoken: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile(
        rf"(?<![\d.,{LETTER}])(\d{{1,2}}|{_any_word(spoken)})(?:\s[{LETTER}][{LETTER}\d]{{2,}}){{1,2}}"
        rf"\s(?:{'|'.join(map(re.escape, series))})(?![{LETTER}])"
    )


@cache
def _in_words(numerals: tuple[str, ...], half: str, halves: tuple[str, ...]) -> re.Pattern[str]:
    # Signs for digits run together without a blank.
    signs = "".join(word for word in numerals if len(word) == 1 and not word.isascii())
    # "Four and a half hours", "5个半小时", "achteinhalb Stunden".
    joined = f"(?:{'|'.join(map(re.escape, halves))})(?![{LETTER}])"
    return re.compile(
        rf"(?<![{LETTER}\d{signs}])"
        rf"(?:(?P<word>{_any_word(numerals)})(?:(?P<half>\s?{half}|{joined})|(?![{LETTER}]))"
        rf"|(?P<digits>(?<![.,])\d{{1,2}})\s?{half}(?!\d))"
    )


class CountReader:
    """Finds the counts of one listing, and what stands in number words."""

    def __init__(self, lower: str, words: Vocabulary) -> None:
        self.lower = lower
        self.words = words
        # "四公斤半"; "半价" is half the price.
        self.half = re.compile(rf"\s{words.linking.either('half')}|半(?![价額额年天月日径自])")
        self.of_them = re.compile(rf"(?:\s{words.linking.either('of_them')}){{1,2}}")
        # "Six good hours".
        self.good = re.compile(rf"\s{words.linking.either('good')}(?=\s)")

    def read(self) -> Iterator[Quantity]:
        """Yield the counts of cells that stand as codes: 13S4P, 13串4并, 4P, 52 x 18650."""
        taken: set[int] = set()
        for pattern in (_SERIES_PARALLEL, _LONE_PARALLEL, _LONE_SERIES):
            for match in pattern.finditer(self.lower):
                if match.start() in taken:
                    continue
                taken.update(range(*match.span()))
                yield from self._of_code(match)
        # "13 string 6 and": the sign for parallel, put through a machine, comes out as "and".
        joined = self.words.linking.either("and", "with")
        strung = [
            part
            for word, unit in self.words.units.items()
            if unit.name == "series"
            for part in word.split()
            if len(part) >= _SHORTEST_STRING or not part.isascii()
        ]
        for match in re.finditer(rf"(?<![\d.,])(?P<parallel>\d{{1,2}})\s?{joined}\s*$", self.lower, re.M):
            before = self.lower[max(0, match.start() - 14) : match.start()].split("\n")[-1]
            if any(word in before for word in strung):
                yield Quantity(
                    Unit("parallel", "parallel", 1), float(match["parallel"]), *match.span("parallel")
                )
        yield from self._in_words_counted()
        yield from self._nouns_between()
        yield from self._in_groups()
        yield from self._unit_first()
        for match in _PIECES_OF.finditer(self.lower):
            name = "a" if match["a"] else "b"
            yield Quantity(Unit("piece", "pieces", 1), float(match[name]), *match.span(name))

    def _unit_first(self) -> Iterator[Quantity]:
        """Yield what is told with its unit first ("een uur of vijf", about five hours)."""
        about, of = self.words.linking.either("unit_first"), self.words.linking.either("or_so")
        pattern = _unit_first(about, of, tuple(self.words.numerals))
        for match in pattern.finditer(self.lower):
            unit = self.words.units.get(match["unit"])
            number = match["number"]
            if unit is not None and unit.dimension in ("hours", "mass", "distance"):
                value = self.words.numerals.get(number) or number_value(number, thousands=False)
                if value:
                    yield Quantity(unit, round(value * unit.factor, 9), *match.span())

    def _in_groups(self) -> Iterator[Quantity]:
        """Yield cells told by their groups: "13 groups of 5", "trece grupos de cinco celdas"."""
        linking = self.words.linking
        pattern = _in_groups(
            linking.either("groups"), linking.either("of", "of_groups"), tuple(self.words.numerals)
        )
        for match in pattern.finditer(self.lower):
            # "4 groups of 13 in series" are strings side by side.
            behind = self.lower[match.end() : match.end() + _BEHIND_GROUPS]
            if any(
                word in behind
                for word, unit in self.words.units.items()
                if unit.name == "series" and " " in word
            ):
                continue
            cells = self.words.unit_pattern.match(self.lower, match.end())
            of_cells = (
                cells is not None and self.words.units[re.sub(r"\s", " ", cells["word"])].name == "cell"
            )
            for name in ("series", "parallel"):
                printed = match[name]
                value = int(printed) if printed.isdigit() else self.words.numerals[printed]
                end = (
                    cells.end() if name == "parallel" and cells is not None and of_cells else match.end(name)
                )
                yield Quantity(Unit(name, name, 1), float(value), match.start(name), end, attached=True)

    def _nouns_between(self) -> Iterator[Quantity]:
        """Yield counts parted from "in series" by what is counted ("16 elementos prismáticos en serie")."""
        # "Trzynaście grup szeregowo": one word that is long enough to be no unit of its own.
        series = [
            word
            for word, unit in self.words.units.items()
            if unit.name == "series" and (" " in word or len(word) >= _LONG_WORD)
        ]
        if not series:
            return
        spoken = tuple(word for word, number in self.words.numerals.items() if number >= _FEWEST_STRUNG)
        pattern = _nouns_between(tuple(series), spoken)
        for match in pattern.finditer(self.lower):
            count = int(match[1]) if match[1].isdigit() else self.words.numerals[match[1]]
            yield Quantity(Unit("series", "series", 1), float(count), *match.span(1))

    def _in_words_counted(self) -> Iterator[Quantity]:
        """Yield what stands in number words: "zwanzig in Serie", "for ten seconds"."""
        numerals = self.words.numerals
        if not numerals:
            return
        pattern = _in_words(
            tuple(numerals), self.words.linking.either("half"), tuple(sorted(self.words.linking.of("half")))
        )
        for words, seconds in self.words.spans.items():
            for match in re.finditer(rf"(?<![{LETTER}]){re.escape(words)}(?![{LETTER}])", self.lower):
                yield Quantity(Unit("second", "seconds", 1), float(seconds), *match.span())
        for match in pattern.finditer(self.lower):
            unit, end = self._unit_of_words(match)
            of = self.words.units[re.sub(r"\s", " ", unit["word"])] if unit else None
            if unit is not None and len(unit["word"]) < _SHORTEST_UNIT and unit["word"].isascii():
                continue
            if unit is not None and of is not None and of.name in _COUNTED_IN_WORDS:
                whole = numerals[match["word"]] if match["word"] else int(match["digits"])
                more = (
                    self.half.match(self.lower, unit.end()) if not match["half"] and match["word"] else None
                )
                # "一直" is no series of one.
                if of.name == "series" and whole == 1:
                    continue
                value = whole + (0.5 if match["half"] or match["digits"] or more else 0.0)
                yield Quantity(of, value, match.start(), more.end() if more else end)

    def _unit_of_words(self, match: re.Match[str]) -> tuple[re.Match[str] | None, int]:
        """Return the unit behind a number word, and where both end; a few words may stand between."""
        good = self.good.match(self.lower, match.end())
        unit = self.words.unit_pattern.match(self.lower, good.end() if good else match.end())
        if unit is not None:
            return unit, unit.end()
        code = _SIZE_BETWEEN.match(self.lower, match.end())
        if code is not None and self.words.numerals.get(match["word"] or "", 0) >= _FEWEST_OF_A_SIZE:
            # "Sixty 18650 cells": the size is read on its own.
            unit = self.words.unit_pattern.match(self.lower, code.end())
            return (unit if unit is not None and self._counts_cells(unit["word"]) else None), match.end()
        several = self.words.numerals.get(match["word"] or "", 0) >= _FEWEST_STRUNG
        if several and (of_them := self.of_them.match(self.lower, match.end())) is not None:
            # "Five of them each in parallel"; two of them may be two packs.
            unit = self.words.unit_pattern.match(self.lower, of_them.end())
            if unit is not None and self._connects(unit["word"]):
                return unit, unit.end()
        if (adjective := _ADJECTIVE.match(self.lower, match.end())) is not None:
            # "Sixteen prismatic cells in series".
            unit = self.words.unit_pattern.match(self.lower, adjective.end())
            if unit is not None and self._counts_cells(unit["word"]):
                return unit, unit.end()
        return None, match.end()

    def _connects(self, word: str) -> bool:
        """Return whether a unit counts cells in series or in parallel."""
        unit = self.words.units.get(re.sub(r"\s", " ", word))
        return unit is not None and unit.name in ("series", "parallel")

    def _counts_cells(self, word: str) -> bool:
        """Return whether a unit is "cells", or begins so ("cells in series")."""
        first = self.words.units.get(word.split()[0])
        return first is not None and first.name == "cell"

    @staticmethod
    def _of_code(match: re.Match[str]) -> Iterator[Quantity]:
        groups = match.groupdict()
        end = match.end()
        for name in ("series", "parallel"):
            if groups.get(name) is None:
                continue
            stop = match.start("parallel") if name == "series" and groups.get("parallel") else end
            while match.string[stop - 1] in " -x/×,，" and stop > match.end(name):
                stop -= 1
            yield Quantity(Unit(name, name, 1), float(groups[name]), match.start(name), stop, attached=True)
