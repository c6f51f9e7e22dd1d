"""How a maker's date codes are read: a pattern that whoever keeps the registry enters for a cell.

A pattern is the code with letters in place of its parts: ``yyyy``, ``yy`` or ``y`` for the year, ``ww`` for the week
of ISO 8601, ``mm`` or ``m`` for the month, ``dd`` for the day, ``?`` for any sign; everything else stands for itself.
A ``y`` is the last digit of the year, and so comes round every ten years, unless a table says what its signs mean:
``?ym; y: K=2021 L=2022 M=2013/2023; m: A=1 B=2``. Small letters stand for parts, so that a code's own are written
as capitals. No maker's code is built in.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from functools import lru_cache
from typing import NamedTuple

_PARTS = {"yyyy": 4, "yy": 2, "y": 1, "ww": 2, "mm": 2, "m": 1, "dd": 2}
_PIECE = re.compile("|".join([*_PARTS, r"\?", "."]))
_ENTRY = re.compile(r"(\S)=([0-9]{1,4}(?:/[0-9]{1,4})*)")
# Cells of lithium-ion have been sold since then (from memory, not checked); no older year is meant.
FIRST_YEAR, LAST_YEAR = 1991, 2099


class Made(NamedTuple):
    """The first and the last day on which a cell of a code may have been made."""

    first: date
    last: date


class DatePattern(NamedTuple):
    """A pattern, read: the expression that a code fits, and what single signs of a part mean."""

    expression: re.Pattern[str]
    tables: Mapping[str, Mapping[str, tuple[int, ...]]]

    def read(self, code: str, until: date) -> tuple[Made, ...]:
        """Return when a cell may have been made, the latest first; more than one where the code comes round.

        Parameters
        ----------
        code : str
            As printed; blanks do not count.
        until : date
            The day on which it was read: no cell was made later.

        Returns
        -------
        tuple of Made
            Empty where the code does not fit the pattern, or means no day up to then.
        """
        match = self.expression.fullmatch("".join(code.split()))
        if match is None:
            return ()
        parts = {name: text for name, text in match.groupdict().items() if text is not None}
        years = sorted(set(self._years(parts, until.year)), reverse=True)
        found = [each for year in years for each in self._within(year, parts) if each.first <= until]
        return tuple(Made(each.first, min(each.last, until)) for each in found)

    def _years(self, parts: Mapping[str, str], last: int) -> Iterator[int]:
        if "yyyy" in parts:
            yield int(parts["yyyy"])
        elif "yy" in parts:
            yield 2000 + int(parts["yy"])
        elif "y" in self.tables:
            yield from self.tables["y"].get(parts["y"].upper(), ())
        elif parts["y"].isdigit():
            yield from (year for year in range(FIRST_YEAR, last + 1) if year % 10 == int(parts["y"]))

    def _within(self, year: int, parts: Mapping[str, str]) -> Iterator[Made]:
        """Yield the days that week, month and day leave of a year; nothing where there are no such days."""
        try:
            if "ww" in parts:
                first = date.fromisocalendar(year, int(parts["ww"]), 1)
                yield Made(first, first + timedelta(days=6))
                return
            for month in self._months(parts):
                if "dd" in parts:
                    day = date(year, month, int(parts["dd"]))
                    yield Made(day, day)
                else:
                    following = date(year + month // 12, month % 12 + 1, 1)
                    yield Made(date(year, month, 1), following - timedelta(days=1))
            if not {"mm", "m"} & set(parts):
                yield Made(date(year, 1, 1), date(year, 12, 31))
        except ValueError:
            # A week 54 or a 31st of June: the code means something else.
            return

    def _months(self, parts: Mapping[str, str]) -> tuple[int, ...]:
        if "mm" in parts:
            return (int(parts["mm"]),)
        if "m" not in parts:
            return ()
        if "m" in self.tables:
            return self.tables["m"].get(parts["m"].upper(), ())
        return (int(parts["m"]),) if parts["m"].isdigit() else ()


@lru_cache(maxsize=256)
def date_pattern(text: str) -> DatePattern:
    """Return a pattern, read.

    Raises
    ------
    ValueError
        Where it is none; the message says what would be right.

    Examples
    --------
    >>> date_pattern("yyww?").read("2409A", date(2026, 3, 1))
    (Made(first=datetime.date(2024, 2, 26), last=datetime.date(2024, 3, 3)),)
    """
    head, *tables = (part.strip() for part in text.split(";"))
    pieces = _PIECE.findall("".join(head.split()))
    parts = [piece for piece in pieces if piece in _PARTS]
    strays = [piece for piece in pieces if piece in "wd"]
    if strays:
        raise ValueError(f"'{strays[0]}' alone is no part of a date; write ww for a week, dd for a day")
    if sum(part[0] == "y" for part in parts) != 1 or len({part[0] for part in parts}) != len(parts):
        raise ValueError(
            "a date code has the year once (yyyy, yy or y), and week, month and day at most once"
        )
    if "ww" in parts and {"mm", "m", "dd"} & set(parts):
        raise ValueError("a date code has a week, or a month and a day")
    if "dd" in parts and not {"mm", "m"} & set(parts):
        raise ValueError("a day needs its month: mm or m")
    expression = "".join(_expression(piece) for piece in pieces)
    return DatePattern(re.compile(expression, re.IGNORECASE), _tables(tables, parts))


def _expression(piece: str) -> str:
    if piece in ("y", "m"):
        return f"(?P<{piece}>.)"
    if piece in _PARTS:
        return f"(?P<{piece}>[0-9]{{{_PARTS[piece]}}})"
    return "." if piece == "?" else re.escape(piece)


def _tables(texts: list[str], parts: list[str]) -> dict[str, dict[str, tuple[int, ...]]]:
    found: dict[str, dict[str, tuple[int, ...]]] = {}
    for text in texts:
        name, colon, entries = text.partition(":")
        name = name.strip()
        if not colon or name not in ("y", "m") or name not in parts or name in found:
            raise ValueError("behind a ';' stands what the signs of y or m mean, once: 'y: K=2021 L=2022'")
        found[name] = dict(_entry(each, name) for each in entries.split())
        if not found[name]:
            raise ValueError(f"'{name}:' names no sign; write '{name}: K=...'")
    return found


def _entry(text: str, name: str) -> tuple[str, tuple[int, ...]]:
    match = _ENTRY.fullmatch(text)
    values = tuple(int(each) for each in match[2].split("/")) if match else ()
    low, high = (FIRST_YEAR, LAST_YEAR) if name == "y" else (1, 12)
    if match is None or not all(low <= each <= high for each in values):
        wanted = "K=2021, or K=2011/2021 where it comes round" if name == "y" else "A=1 to A=12"
        raise ValueError(f"'{text[:20]}' is no sign with its meaning; write {wanted}")
    return match[1].upper(), values


def years_before(made: tuple[Made, ...], day: date) -> tuple[float, float]:
    """Return the least and the greatest age on a day, over everything that a code may mean. [years].

    Raises
    ------
    ValueError
        Of a code that means nothing.
    """
    ages = [(day - each).days / 365.25 for each in (*(m.first for m in made), *(m.last for m in made))]
    return max(0.0, min(ages)), max(0.0, max(ages))
