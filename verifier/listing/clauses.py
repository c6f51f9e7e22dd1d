"""Sentences and clauses: where a text is cut, so that words and numbers that belong together stay together."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

from verifier.listing.labels import Label, names_another
from verifier.listing.quantity import Quantity
from verifier.listing.source import LETTER

_EMOJI = "\u2474-\u24ff\u25a0-\u25ff\u2600-\u27bf\u2b00-\u2bff\ufe0f\u20e3\U0001f000-\U0001faff"
_STRONG = re.compile(
    rf"(?<!\.)(?:[!?]|(?<! )\.(?! ?[:：=])|(?<= )\.(?! *\d))(?=\s|$)|[。！？•●·]"
    rf"|[{_EMOJI}]+|\s[-–—]\s(?=[{LETTER}])|(?=【)|(?<=\S)\s*(?=\[[{LETTER}])"
)
_WEAK = re.compile(
    rf"(?=[①-⑳])|,(?!\d)|,(?=\d\d[a-z])|[，、;；\t|]|(?<=\S) {{3,}}(?=\S)|\s[/+&]\s|\s[-–—]\s(?=\d)"
    rf"|(?<=[{LETTER}])/(?=\d)|(?<=\d[a-z])/(?=[{LETTER}]{{3}}|[^\d\s\x00-\x7f])"
    r"|(?<=\d[a-z]{2})/(?=[\u3040-\u30ff\u4e00-\u9fff]{3})"
)
_BEFORE_POINT = re.compile(rf"(?<![{LETTER}])[{LETTER}.]{{1,7}}\Z")
_NUMBER_OR_NO = frozenset({"no"})
_DIGIT = re.compile(r"\s*\d")
_DOTS = re.compile(r"\.{3,}|…")
_BLANK = re.compile(r"(?<=\S) (?=[\u3040-\u30ff\u4e00-\u9fff])")
_ABOUT = re.compile(r" (?:約|约|大约|大約|およそ)\d")
_LONGEST_CLAUSE = 500


@dataclass(slots=True, eq=False)
class Clause:
    """A stretch of text with its numbers, its labels, and the words that say whose word it is."""

    start: int
    end: int
    sentence: int
    line: int
    quantities: list[Quantity] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    voices: list[Label] = field(default_factory=list)
    # Which part of the text between full stops and semicolons: a denial ends with its part.
    part: int = 0

    def named(self, *names: str) -> bool:
        """Return whether a label or a voice of one of these names stands in the clause."""
        return any(name in each.names for each in (*self.labels, *self.voices) for name in names)


def _cuts(
    lower: str,
    start: int,
    end: int,
    abbreviations: frozenset[str],
    taken: list[tuple[int, int]],
    ends: frozenset[int],
) -> Iterable[tuple[int, bool]]:
    starts = [each for each, _ in taken]

    def inside(place: int) -> bool:
        index = bisect_right(starts, place) - 1
        return index >= 0 and taken[index][0] < place < taken[index][1]

    yield from (
        (match.end(), True)
        for match in _STRONG.finditer(lower, start, end)
        if not inside(match.start())
        and (match.start() in ends or not _is_abbreviation(lower, start, match, abbreviations))
    )
    figures_end = {each for _, each in taken}
    # In Chinese and Japanese a blank parts what belongs apart, but not within a bracket, nor "走行距離 約30km".
    blanks = (
        match
        for match in _BLANK.finditer(lower, start, end)
        if lower.rfind("(", start, match.start()) <= lower.rfind(")", start, match.start())
        and not (match.start() in figures_end and _ABOUT.match(lower, match.start()))
    )
    for match in (*_WEAK.finditer(lower, start, end), *blanks):
        if not inside(match.start()):
            yield match.end(), False
    for match in _DOTS.finditer(lower, start, end):
        # Dots lead from a label to its figure; behind a figure they lead to something else.
        if any(0 <= match.start() - each <= 2 for _, each in taken if _is_figure(lower, each)):
            yield match.end(), False
    # Words this far apart say nothing of one another, and no text takes long.
    yield from (
        (place, False) for place in range(start + _LONGEST_CLAUSE, end, _LONGEST_CLAUSE) if not inside(place)
    )


def _is_abbreviation(lower: str, start: int, match: re.Match[str], abbreviations: frozenset[str]) -> bool:
    """Return whether a point ends no sentence but a short word."""
    if match.group() != ".":
        return False
    before = _BEFORE_POINT.search(lower, max(start, match.start() - 8), match.start())
    if before is None or before.group() not in abbreviations:
        return False
    # "No. 7" is a number, "Enough for 40 A? No. It gives 25 A" an answer.
    return before.group() not in _NUMBER_OR_NO or _DIGIT.match(lower, match.end()) is not None


def _is_figure(lower: str, end: int) -> bool:
    """Return whether a number with its unit, or a price, ends at a place."""
    return re.search(r"\d[^\d\n]{0,5}\Z", lower[max(0, end - 8) : end]) is not None


def split(
    lower: str,
    stretches: Iterable[tuple[int, int, int]],
    abbreviations: frozenset[str],
    quantities: list[Quantity],
    labels: list[Label],
    voices: list[Label],
) -> list[Clause]:
    """Cut text into clauses, each with its numbers and labels.

    Parameters
    ----------
    lower : str
        The folded text.
    stretches : iterable of (start, end, line)
        The cells and lines, in order of place; a clause never goes beyond one.
    abbreviations : frozenset of str
        Words whose point ends no sentence.
    quantities, labels, voices : list
        What was found, in order of place; never cut in two.
    """
    taken = sorted(
        [(each.start, each.end) for each in quantities]
        + [(each.start, each.end) for each in (*labels, *voices)]
    )
    starts = [start for start, _ in taken]
    clauses: list[Clause] = []
    # "40 A max. charger incl": the short word ends what was said.
    ends = frozenset(
        a.end for a, b in pairwise(labels) if names_another(a.names, b.names) and b.start - a.end == 2
    )
    sentence = part = 0
    for start, end, line in stretches:
        near = taken[max(0, bisect_left(starts, start) - 1) : bisect_right(starts, end)]
        cuts = sorted(set(_cuts(lower, start, end, abbreviations, near, ends)))
        place = start
        for cut, strong in [*cuts, (end, True)]:
            if cut > place:
                clauses.append(Clause(place, cut, sentence, line, part=part))
                place = cut
            sentence += strong
            part += strong or lower[cut - 1] in ";；"
    _fill(clauses, quantities, labels, voices)
    return clauses


def _fill(
    clauses: list[Clause], quantities: list[Quantity], labels: list[Label], voices: list[Label]
) -> None:
    starts = [clause.start for clause in clauses]
    for quantity in quantities:
        quantity.clause = max(0, bisect_right(starts, quantity.start) - 1)
        clauses[quantity.clause].quantities.append(quantity)
    for label in labels:
        clauses[max(0, bisect_right(starts, label.start) - 1)].labels.append(label)
    for voice in voices:
        clauses[max(0, bisect_right(starts, voice.start) - 1)].voices.append(voice)
