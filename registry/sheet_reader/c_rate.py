"""What 1C of a sheet is: by a note, by a rate printed with its current, else assumed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from registry.sheet_reader.candidate import Candidate
from registry.sheet_reader.currents import CURRENTS
from registry.sheet_reader.lines import figure_quantities
from registry.sheet_reader.quantities import Quantity, normal, quantities
from registry.sheet_reader.statement import Statement
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings

_NOTE = re.compile(
    r"(?<![\d.])(?:1(?:\.0)?\s*)?C\s*5?\s*m?A?\s*(?:=|:=|is|refers to|表示|为)\s*([\d.,]+ ?m?A(?:h)?)", re.I
)
_COUNTED = re.compile(
    r"(?:(?<![\d.,])1\s?(?-i:C)|(?<![\w.°])(?<!\d\s)(?-i:C)|倍率)(?![a-z])[^\d.;:]{0,40}?"
    r"(?:refer\w*(?: to)?|based on|relative to|bezogen auf|bezieh\w+|rapport\w*|refier\w*|riferi\w*|以|按)"
    r"[^\d.;]{0,40}?(?<![\d.,])(?P<capacity>\d[\d.,]* ?m?Ah)(?![a-z])",
    re.I,
)
"""What counts C from a capacity: "C rates are based on 2800 mAh"."""
_NEAREST, _FARTHEST = 0.5, 2.0
"""What C is counted from lies within these multiples of a capacity of the sheet, else it was misread."""
_SAME = 0.015
"""Two printed currents agree within this fraction, because sheets round."""


@dataclass(frozen=True, slots=True)
class Base:
    """Which capacity 1C is, by what, and whether that is only assumed. [Ah]."""

    capacity_ah: float | None
    why: str
    assumed: bool


def c_rate_base(quotes: Iterable[str], said: Iterable[Statement], found: Sequence[Candidate]) -> Base:
    """Return what 1C is: a note that says so, else a rate printed with its current, else the least capacity.

    Sheets disagree on which capacity C is, so the least one, the safe side, is only an assumption.
    """
    quotes = list(quotes)
    noted = {
        each.value
        for quote in quotes
        for match in (_NOTE.search(normal(quote)), _COUNTED.search(normal(quote)))
        if match
        for each in quantities(match[1])
        if each.dimension in {"current", "charge"} and _is_near(each.value, found)
    }  # fmt: skip
    if len(noted) == 1:
        value = noted.pop()
        return Base(value, f"1C = {value:g} A as the sheet says", False)
    named = _named_capacity(quotes, found)
    if named is not None and not noted:
        return named
    beside = [each for each in found if each.figure in CURRENTS and each.derived is None]
    both: list[Quantity | Candidate] = [*printed_pairs(said), *beside]
    pairs = [(each.value / each.rate, each.printed) for each in both if each.rate and each.value]
    if pairs and not noted:
        least, most = min(pairs, key=lambda p: p[0]), max(pairs, key=lambda p: p[0])
        if most[0] - least[0] <= 2 * _SAME * most[0]:
            value = float(f"{least[0]:.4g}")
            return Base(value, f"'{least[1]}' is printed", False)
    stated = [(each.value, each.kind) for each in found if each.figure == "capacity" and each.value]
    if not stated:
        return Base(None, "the sheet states no capacity", True)
    least_ah, kind = min(stated, key=lambda each: each[0])
    return Base(least_ah, f"{kind or 'only'} capacity; the sheet does not say what 1C is", True)


def _is_near(value: float, found: Sequence[Candidate]) -> bool:
    stated = [each.value for each in found if each.figure == "capacity" and each.value]
    return not stated or any(_NEAREST * each <= value <= _FARTHEST * each for each in stated)


def says_only_what_c_is(text: str) -> bool:
    """Whether a normal text counts C from a capacity and states no further figure."""
    if _named_kind(text) is not None and not figure_quantities(_RATE.sub(" ", text)):
        return True
    without, count = _COUNTED.subn(" ", text)
    return bool(count) and not figure_quantities(without)


_RATE = re.compile(
    r"(?<![\w.,°])(?<!\bat )(?<!\bwith )(?<!\bbei )(?<!\bmit )(?:1(?:\.0)?\s?)?(?-i:C)(?![\w°])(?!\s?/)"
    r"(?:[- ]?[^\W\d_]*rat\w*)?|倍率|(?<!\w)(?-i:ItA?)(?!\w)",
    re.I,
)
"""What speaks of C itself and not of a current of so many C: no number but 1 before it, and no "at"."""
_IS = re.compile(r"(?:is|are|=|means?|wird|est|è)(?!\w)", re.I)
_COUNTED_FROM = re.compile(
    r"\b(?:refer\w*|base[ds]?|counted|calculated|related?|relative|defined?|taken|corresponds?|means?|denotes?"
    r"|stands|bezieh\w*|bezogen|gilt|entspricht|berechnet|rapport\w*|calcul\w*|se refier\w*|riferi\w*|définie?)(?!\w)"
    r"|以|按|基于|基準",
    re.I,
)
_THIS_IS_C = re.compile(
    r"(?:\b(?:this is|equals?|taken as|counts? as|defined as|corresponds to|entspricht|gilt als)|=|即为?|定义为)"
    r"\s*1(?:\.0)?\s?(?-i:C)(?!\w)",
    re.I,
)
_SENTENCE = re.compile(r"[;。]|\.(?=\s*$|\s+[^\W\d_a-z])")


def _named_kind(text: str) -> str | None:
    """Return the kind of capacity that a normal text counts C from in words, without any other figure."""
    for sentence in _SENTENCE.split(text):
        found = _RATE.search(sentence)
        if found is None:
            continue
        rest = sentence[: found.start()] + " " + sentence[found.end() :]
        said = meanings(rest)
        kinds = [kind for kind in ("minimum", "typical", "rated", "nominal") if kind in said]
        refers = _COUNTED_FROM.search(rest) or _IS.match(sentence[found.end() :].lstrip())
        if refers and "capacity" in said and len(kinds) == 1 and not re.search(r"\d", rest):
            return kinds[0]
    return None


def _named_capacity(quotes: Iterable[str], found: Sequence[Candidate]) -> Base | None:
    """Return the base where the sheet says in words which of its capacities C is counted from."""
    kinds = {kind for quote in quotes if (kind := _named_kind(normal(quote))) is not None}
    told = {
        (each.kind, each.value) for each in found
        if each.figure == "capacity" and each.value and (each.kind in kinds or _says_it_is_c(each.statement))
    }  # fmt: skip
    if len(told) != 1 or (kinds and {kind for kind, _ in told} != kinds):
        return None
    ((kind, value),) = told
    return Base(value, f"{kind or 'only'} capacity, as the sheet says", False)


def _says_it_is_c(statement: Statement) -> bool:
    """Whether "this is 1C" stands beside a capacity."""
    return any(_THIS_IS_C.search(text) for text in (statement.value, statement.note, *statement.footnotes))


def printed_pairs(said: Iterable[Statement]) -> list[Quantity]:
    """Return every current that is printed with its rate beside it, whatever it is a figure of."""
    found = []
    for statement in said:
        for text in (statement.label, statement.value, statement.note, *statement.footnotes):
            if "C" in text or "It" in text:
                found += [
                    q
                    for q in quantities(masked(text, temperatures(text)))
                    if q.dimension == "current" and q.rate and q.value
                ]
    return [each for each in found if each.upper is None]
