"""Numbers with their units and exact places.

A range is one quantity with two ends; "36/48V" is two quantities that share a unit. What cannot be read in
one way only ("14,500Ah") is left out and told.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from verifier.listing.vocabulary import LETTER, Unit, Vocabulary

_NUMBER = re.compile(r"(?<!\d)(?<!\d[.,])\d+(?:[.,]\d+)*")
_LONGEST_NUMBER = 12
_BLANK_GROUP = re.compile(r"(?<![\d.,])(\d{1,3}) \Z")
_TOLERANCE = re.compile(r"\s?(?:±|\+/-|\+-)\s?")
# "Capacity (Ah): 14" and "Ah: 14"; "A: 14" is a letter of a list.
_UNIT_BEFORE = re.compile(
    rf"\(\s?([{LETTER}]+)\s?\)\s?[:=\t|]?\s?\Z|(?<![^\s\t|])(m?ah|k?wh|v|kg)\s?[:=\t|]\s?\Z"
)
_GAUGE_BEFORE = re.compile(r"(?<![a-z])awg[ \-#]?\Z")
_CODE_BEFORE = re.compile(rf"[{LETTER}]-?\Z")


@dataclass(slots=True, eq=False)
class Quantity:
    """One number or range with its unit, and what the words around it say of it."""

    unit: Unit
    value: float
    start: int
    end: int
    high: float | None = None
    high_start: int = 0
    low_end: int = 0
    tolerance: bool = False
    times: float | None = None
    equals: bool = False
    attached: bool = False
    run: int = 0
    line: int = 0
    cell: int = 0
    clause: int = 0
    own: set[str] = field(default_factory=set)
    carried: set[str] = field(default_factory=set)
    about: set[str] = field(default_factory=set)
    seconds: float | None = None

    @property
    def dimension(self) -> str:
        """What the unit measures."""
        return self.unit.dimension

    @property
    def labels(self) -> set[str]:
        """Every label that applies, its own and those carried from the head of the sentence."""
        return self.own | self.carried


@dataclass(slots=True)
class _Number:
    value: float | None
    start: int
    end: int


def number_value(printed: str, *, thousands: bool) -> float | None:
    """Return the value of a printed number, or None when it can be read in two ways.

    Parameters
    ----------
    printed : str
        Digits with points and commas.
    thousands : bool
        Whether three digits after one sign are thousands before this unit.
    """
    signs = re.findall(r"[.,]", printed)
    groups = re.split(r"[.,]", printed)
    grouped = len(groups[0]) <= 3 and groups[0] != "0" and all(len(group) == 3 for group in groups[1:])
    if not signs:
        return float(printed)
    if len(signs) == 1:
        if not grouped:
            return float(".".join(groups))
        if thousands:
            return float("".join(groups))
        return float(printed) if signs[0] == "." else None
    if len(set(signs)) == 1:
        return float("".join(groups)) if grouped else None
    inner = len(groups[0]) <= 3 and all(len(group) == 3 for group in groups[1:-1])
    if len(set(signs[:-1])) == 1 and inner and signs[-1] != signs[0]:
        return float("".join(groups[:-1]) + "." + groups[-1])
    return None


class Scanner:
    """Finds the quantities of one text, from left to right."""

    def __init__(self, text: str, lower: str, vocabulary: Vocabulary) -> None:
        self.text = text
        self.lower = lower
        self.words = vocabulary
        self.ambiguous: list[tuple[int, int]] = []
        self.units_after: dict[int, tuple[Unit, int] | None] = {}
        self.numbers = [m for m in _NUMBER.finditer(lower) if len(m.group()) <= _LONGEST_NUMBER]
        self.label_ends: set[int] = set()

    def scan(self, label_ends: set[int]) -> list[Quantity]:
        """Return every quantity; ``label_ends`` are the places where a known word ends."""
        self.label_ends = label_ends
        found: list[Quantity] = []
        unit_end = -1
        index = 0
        while index < len(self.numbers):
            here = self.numbers[index]
            if self._is_sized_code(here):
                # A cell's code such as size-letters: the digits behind the size are no figure either.
                index += 2 if self._next_starts_at(index, here.end() + 1) else 1
                continue
            if not self._may_begin(here, unit_end):
                index += 1
                continue
            taken, index = self._quantity(index)
            for quantity in taken:
                if quantity.dimension != "nothing":
                    found.append(quantity)
                unit_end = quantity.end
        return found

    def _is_sized_code(self, number: re.Match[str]) -> bool:
        end = number.end()
        return (
            number.group() in self.words.sizes
            and self.lower[end : end + 1] == "-"
            and self.lower[end + 1 : end + 2].isalnum()
        )

    def _next_starts_at(self, index: int, place: int) -> bool:
        return index + 1 < len(self.numbers) and self.numbers[index + 1].start() == place

    def _may_begin(self, number: re.Match[str], unit_end: int) -> bool:
        start = number.start()
        if start == unit_end or start in self.label_ends or self._unit_before(number) is not None:
            return True
        return _CODE_BEFORE.search(self.lower, max(0, start - 2), start) is None or (
            self.lower[start - 1] == "-" and (start - 1 in self.label_ends or start - 1 == unit_end)
        )

    def _quantity(self, index: int) -> tuple[list[Quantity], int]:
        """Return the quantities that begin at a number, and the index of the next number."""
        joined = self._joined(index)
        chain = [index, index + 1] if joined else [index]
        while joined == "list" and len(chain) < 6 and self._joined(chain[-1]) == "list":
            chain.append(chain[-1] + 1)
        unit = self._unit_after(self.numbers[chain[-1]])
        if unit is None:
            chain, joined = [index], ""
            unit = self._unit_after(self.numbers[index]) or self._unit_before(self.numbers[index])
        if unit is None:
            return [], index + 1
        made = self._make(chain, joined, *unit)
        if made and (sign := _GAUGE_BEFORE.search(self.lower, max(0, made[0].start - 4), made[0].start)):
            made[0].start = sign.start()
        return made, chain[-1] + 1

    def _joined(self, index: int) -> str:
        """Say how a number hangs together with the next: range, tolerance, list or not at all."""
        if index + 1 >= len(self.numbers):
            return ""
        here, following = self.numbers[index], self.numbers[index + 1]
        unit = self._unit_after(here)
        end = unit[1] if unit else here.end()
        if following.start() - end > 12 or following.start() < end:
            return ""
        gap = self.lower[end : following.start()]
        after = self._unit_after(following)
        if _TOLERANCE.fullmatch(gap):
            return "tolerance"
        if unit is not None and (after is None or after[0] is not unit[0]):
            return ""
        # A capital A is the unit, not the word between two ends.
        if self.words.range_pattern.fullmatch(gap) and gap == self.text[end : following.start()].translate(
            {0xA0: " ", 0x202F: " ", 0xFF5E: "~"}
        ):
            return "range"
        return "list" if unit is None and gap.strip() == "/" else ""

    def _unit_after(self, number: re.Match[str]) -> tuple[Unit, int] | None:
        """Return the unit behind a number and where it ends; asked several times, looked up once."""
        start = number.start()
        if start not in self.units_after:
            self.units_after[start] = self._look_up_unit(number)
        return self.units_after[start]

    def _look_up_unit(self, number: re.Match[str]) -> tuple[Unit, int] | None:
        match = self.words.unit_pattern.match(self.lower, number.end())
        if match is None:
            return None
        word = match["word"]
        unit = self.words.units[re.sub(r"\s", " ", word)]
        attached = match.start("word") == number.end()
        size = number.group() in self.words.sizes
        if size and not (attached or unit.name == "milliampere_hour"):
            return None
        if unit.dimension in ("pieces", "cells") and size:
            return None
        return unit, match.end()

    def _unit_before(self, number: re.Match[str]) -> tuple[Unit, int] | None:
        head = self.lower[max(0, number.start() - 24) : number.start()]
        match = _UNIT_BEFORE.search(head)
        word = (match[1] or match[2]) if match else "awg" if _GAUGE_BEFORE.search(head) else None
        unit = self.words.units.get(word) if word else None
        return (unit, number.end()) if unit is not None else None

    def _make(self, chain: list[int], joined: str, unit: Unit, end: int) -> list[Quantity]:
        numbers = [self._number(self.numbers[index], unit) for index in chain]
        if any(number.value is None for number in numbers):
            self.ambiguous.append((numbers[0].start, end))
            return []
        if joined == "list":
            return [
                self._one(number, unit, end if number is numbers[-1] else number.end) for number in numbers
            ]
        quantity = self._one(numbers[0], unit, end)
        if joined == "tolerance":
            quantity.tolerance = True
        elif joined == "range":
            high = numbers[1]
            high_value = round((high.value or 0.0) * unit.factor, 9)
            if high_value < quantity.value:
                return [self._one(high, unit, end)]
            low_unit = self._unit_after(self.numbers[chain[0]])
            quantity.high = high_value
            quantity.low_end = low_unit[1] if low_unit else end
            quantity.high_start = high.start if low_unit else quantity.start
        return [quantity]

    def _one(self, number: _Number, unit: Unit, end: int) -> Quantity:
        assert number.value is not None  # noqa: S101 - told by the caller
        before = self.lower[max(0, number.start - 3) : number.start].rstrip()
        quantity = Quantity(unit, round(number.value * unit.factor, 9), number.start, end)
        quantity.equals = before.endswith("=")
        quantity.attached = self.lower[number.end : number.end + 1] not in (" ", "-")
        quantity.times = self._multiplier(number.start)
        return quantity

    def _multiplier(self, start: int) -> float | None:
        match = re.search(r"(?<![\d.,])(\d{1,3})\s?[x×*]\s?\Z", self.lower[max(0, start - 8) : start])
        return float(match[1]) if match else None

    def _number(self, match: re.Match[str], unit: Unit) -> _Number:
        value = number_value(match.group(), thousands=unit.thousands)
        start = match.start()
        if unit.thousands and len(match.group()) == 3:
            longest = 1 if unit.dimension == "power" else 3
            group = _BLANK_GROUP.search(self.lower, max(0, start - 5), start)
            before = self.lower[group.start() - 1 : group.start()] if group and group.start() else ""
            plain = not re.match(f"[{LETTER}-]", before)
            if group and len(group[1]) <= longest and group[1][0] != "0" and plain:
                return _Number(float(group[1] + match.group()), group.start(), match.end())
        return _Number(value, start, match.end())
