"""Which packs a listing offers, and which figure belongs to which.

Variants are told by lines with a letter or name and figures of their own, by headings, by the columns of a
table, or by pairs in one line ("48V 15Ah / 52V 20Ah"). Figures elsewhere go to all, or by letter or order
to each.
"""

from __future__ import annotations

import itertools
import re
from bisect import bisect_right
from collections.abc import Sequence

from verifier.listing.clauses import Label
from verifier.listing.columns import rows
from verifier.listing.found import Found, Variant

_EDGE = " \t-–—•*·>|:：.,;()[]【】（）#=✅✔►▶●■◆★☆"
_KEY = re.compile(
    r"[\s\-–•*>|#✅✔►▶●■◆★【\[(]*(?:(?P<word>[^\W\d_]{1,14})\s?)??(?P<key>[a-h]|[1-9]|[\u2460-\u2469])"
    r"(?:\s?(?P<after>[^\W\d_]{1,9}))??"
    r"(?:\s?[:：.)\]】、|\t]|\s[-–—=]\s|\s*$|\s(?=\d{2}\s?v))"
)
_CHOICE = re.compile(r"(?:[\s)\](\[/|,，、;&]|\b(?:or|oder|ou|o|und|and|et|y)\b|或)*")
_MARK = re.compile(r"(?:^|[\s,;(/])([A-Ha-h]|[1-9])\s?[:：)=]\s?(?=[\d(])", re.M)
_OFFERED = ("capacity_ah", "nominal_voltage_v")
_MOST_VARIANTS = 12


def variants_of(text: str, lower: str, found: list[Found], labels: list[Label]) -> list[Variant]:
    """Return the variants, each with its own figures and those that all share.

    Parameters
    ----------
    text, lower : str
        The listing, and the same in lower case.
    found : list of Found
        Every figure in order of place.
    labels : list of Label
        The known words.
    """
    finder = _Finder(text, lower, found, labels)
    for attempt in (
        finder.by_columns,
        finder.by_headings,
        finder.by_lines,
        finder.by_marks,
        finder.by_choice,
    ):
        owner = attempt()
        if owner is not None:
            finder.bind_rest(owner)
            return _shared_out(finder.names, found, owner)
    name = _pack_name(found)
    return [Variant(name, found)]


def _pack_name(found: Sequence[Found]) -> str:
    parts = []
    for field, unit in (("nominal_voltage_v", "V"), ("capacity_ah", "Ah")):
        first = next((each for each in found if each.field == field and each.claimed), None)
        if first is not None:
            parts.append(f"{first.value:g} {unit}")
    return " ".join(parts)


def _shared_out(names: list[str], found: list[Found], owner: dict[Found, int]) -> list[Variant]:
    variants = [Variant(name) for name in names]
    for number, variant in enumerate(variants):
        own = [each for each in found if owner.get(each) == number]
        fields = {each.field for each in own if each.claimed}
        common = [
            each.copy() for each in found if each not in owner and not (each.field in fields and each.claimed)
        ]
        variant.found = [*own, *common]
        variant.name = variant.name or _pack_name(own) or f"variant {number + 1}"
    return variants


def _all_differ(signatures: list[tuple[frozenset[float], frozenset[float]]]) -> bool:
    """Return whether every line offers another pack: another capacity, or the same at another voltage."""
    if len(set(signatures)) != len(signatures):
        return False
    capacities = [capacity for _, capacity in signatures]
    return len(set(capacities)) == len(capacities) or all(volts for volts, _ in signatures)


class _Finder:
    def __init__(self, text: str, lower: str, found: list[Found], labels: list[Label]) -> None:
        self.text = text
        self.lower = lower
        self.found = found
        self.labels = labels
        self.names: list[str] = []
        self.keys: list[str] = []
        self.line_starts = [0, *(m.end() for m in re.finditer(r"\r\n|\n|\r", text))]
        self.by_line: dict[int, list[Found]] = {}
        for each in found:
            self.by_line.setdefault(each.line, []).append(each)
        self.line_labels: dict[int, list[Label]] = {}
        for label in labels:
            self.line_labels.setdefault(bisect_right(self.line_starts, label.start) - 1, []).append(label)

    def line(self, number: int) -> tuple[int, int]:
        """Return the place of a line."""
        start = self.line_starts[number]
        end = self.line_starts[number + 1] if number + 1 < len(self.line_starts) else len(self.text)
        return start, end

    def _named(self, number: int, name: str) -> bool:
        return any(name in label.names for label in self.line_labels.get(number, []))

    def _key(self, number: int) -> tuple[str, bool]:
        """Return the letter or digit a line begins with, and whether "model" or the like stands by it."""
        start, end = self.line(number)
        match = _KEY.match(self.lower, start, min(end, start + 60))
        if match is None:
            return "", False
        variant_words = {
            label.start for label in self.line_labels.get(number, []) if label.names & {"variant", "pack"}
        }
        groups = [name for name in ("word", "after") if match[name] is not None]
        if any(match.start(name) not in variant_words for name in groups):
            return "", False
        return match["key"].upper(), bool(groups)

    def _stated(self, number: int, field: str) -> list[Found]:
        return [each for each in self.by_line.get(number, []) if each.field == field and each.claimed]

    def by_lines(self) -> dict[Found, int] | None:
        """Find lines that each offer a pack with a capacity of its own."""
        lines: list[tuple[int, str]] = []
        signatures: list[tuple[frozenset[float], frozenset[float]]] = []
        for number in self.by_line:
            capacities = {each.value for each in self._stated(number, "capacity_ah")}
            if len(capacities) != 1 or self.by_line[number][0].title or self._named(number, "language"):
                continue
            key, _ = self._key(number)
            volts = frozenset(each.value for each in self._stated(number, "nominal_voltage_v"))
            if not self._offers(number, key, volts):
                continue
            lines.append((number, key))
            signatures.append((volts, frozenset(capacities)))
        if not 2 <= len(lines) <= _MOST_VARIANTS or not _all_differ(signatures):
            return None
        owner: dict[Found, int] = {}
        for index, (number, key) in enumerate(lines):
            owner.update(dict.fromkeys(self.by_line[number], index))
            self.keys.append(key)
            self.names.append(key or self._name(number))
        self._blocks([number for number, _ in lines], owner)
        return owner

    def _offers(self, number: int, key: str, volts: frozenset[float]) -> bool:
        labelled = any(
            each.quantity is not None and "capacity" in each.quantity.labels
            for each in self._stated(number, "capacity_ah")
        )
        if key:
            return not labelled or bool(volts)
        start, end = self.line(number)
        short = end - start <= 120
        return short and not labelled and (bool(volts) or bool(self._name(number)))

    def _blocks(self, lines: list[int], owner: dict[Found, int]) -> None:
        """Give lines between two offers to the first of them, when every offer has such lines."""
        for index, number in enumerate(lines):
            last = lines[index + 1] if index + 1 < len(lines) else None
            between = [n for n in self.by_line if n > number and (last is None or n < last)]
            if last is not None and not between:
                return
            if last is None:
                between = self._until_blank(number, between)
            for line in between:
                if self._named(line, "common"):
                    break
                owner.update({each: index for each in self.by_line[line] if each not in owner})

    def _until_blank(self, number: int, lines: list[int]) -> list[int]:
        taken = []
        for line in range(number + 1, max(lines, default=number) + 1):
            if not self.text[slice(*self.line(line))].strip() or self._named(line, "common"):
                break
            if line in lines:
                taken.append(line)
        return taken

    def _name(self, number: int) -> str:
        start, _ = self.line(number)
        first = self.by_line[number][0].start
        return " ".join(self.text[start:first].strip(_EDGE).split())[:60]

    def by_headings(self) -> dict[Found, int] | None:
        """Find headings such as "Model A" on lines of their own."""
        heads: list[tuple[int, str]] = []
        for number in range(len(self.line_starts)):
            if number in self.by_line or not self.line_labels.get(number):
                continue
            key, known = self._key(number)
            start, end = self.line(number)
            if known and key and end - start <= 40:
                heads.append((number, key))
        if not 2 <= len(heads) <= _MOST_VARIANTS or len({key for _, key in heads}) != len(heads):
            return None
        owner: dict[Found, int] = {}
        for index, (number, key) in enumerate(heads):
            stop = heads[index + 1][0] if index + 1 < len(heads) else len(self.line_starts)
            lines = [n for n in self.by_line if number < n < stop]
            if index + 1 == len(heads):
                lines = self._until_blank(number, lines)
            for line in lines:
                if self._named(line, "common"):
                    break
                owner.update(dict.fromkeys(self.by_line[line], index))
            self.keys.append(key)
            self.names.append(" ".join(self.text[slice(*self.line(number))].strip(_EDGE + "\n\r").split()))
        differ = {each.value for each in owner if each.field in ("capacity_ah", "nominal_voltage_v")}
        if len(differ) < 2:
            self.keys, self.names = [], []
            return None
        return owner

    def by_columns(self) -> dict[Found, int] | None:
        """Find a table with a column a pack."""
        if "\t" not in self.text and "|" not in self.text:
            return None
        table = [
            (number, cells)
            for number, (_, cells) in enumerate(rows(self.text))
            if 3 <= len(cells) <= _MOST_VARIANTS + 1
        ]
        for number, cells in table:
            for field in ("capacity_ah", "nominal_voltage_v"):
                stated = self._stated(number, field)
                columns = [bisect_right(cells, each.start) - 1 for each in stated]
                if columns == list(range(1, len(cells))) and len({each.value for each in stated}) == len(
                    stated
                ):
                    return self._columns(table, len(cells))
        return None

    def _columns(self, table: list[tuple[int, list[int]]], width: int) -> dict[Found, int]:
        owner: dict[Found, int] = {}
        same = [(number, cells) for number, cells in table if len(cells) == width]
        for number, cells in same:
            for each in self.by_line.get(number, []):
                owner[each] = bisect_right(cells, each.start) - 2
        owner = {each: column for each, column in owner.items() if column >= 0}
        number, cells = same[0]
        ends = [*cells[2:], self.line(number)[1]]
        self.names = [
            " ".join(self.text[a:b].strip(_EDGE + "\n\r").split())[:60]
            for a, b in zip(cells[1:], ends, strict=True)
        ]
        if self.by_line.get(number):
            self.names = [""] * (width - 1)
        self.keys = [name[-1:].upper() for name in self.names]
        return owner

    def by_marks(self) -> dict[Found, int] | None:
        """Find packs in one line, each behind its letter: "A: 36V 10Ah, B: 48V 15Ah"."""
        for number, line in self.by_line.items():
            start, end = self.line(number)
            marks = list(_MARK.finditer(self.text, start, end))
            keys = [mark[1].upper() for mark in marks]
            if not 2 <= len(marks) <= _MOST_VARIANTS or len(set(keys)) != len(keys):
                continue
            ends = [*(mark.start() for mark in marks[1:]), end]
            parts = [
                [each for each in line if mark.end() <= each.start < stop]
                for mark, stop in zip(marks, ends, strict=True)
            ]
            offers = [
                frozenset((e.field, e.value) for e in part if e.claimed and e.field in _OFFERED)
                for part in parts
            ]
            if all(offers) and len(set(offers)) == len(offers):
                self.keys, self.names = keys, list(keys)
                return {each: index for index, part in enumerate(parts) for each in part}
        return None

    def by_choice(self) -> dict[Found, int] | None:
        """Find packs offered side by side in one line."""
        for number in self.by_line:
            stated = [each for each in self._stated(number, "capacity_ah") if each.bound is None]
            if not 2 <= len(stated) <= _MOST_VARIANTS or len({each.value for each in stated}) != len(stated):
                continue
            if not all(self._chosen(a, b) for a, b in itertools.pairwise(stated)):
                continue
            owner: dict[Found, int] = {each: index for index, each in enumerate(stated)}
            self._voltages(number, stated, owner)
            self.names = [""] * len(stated)
            self.keys = [self._letter(each) for each in stated]
            if all(self.keys):
                self.names = list(self.keys)
            else:
                self.keys = [chr(ord("A") + index) for index in range(len(stated))]
            return owner
        return None

    def _voltages(self, number: int, stated: list[Found], owner: dict[Found, int]) -> None:
        volts = self._stated(number, "nominal_voltage_v")
        for index, each in enumerate(stated):
            before = stated[index - 1].end if index else 0
            near = [v for v in volts if before <= v.start < each.start]
            if near:
                owner[near[-1]] = index
        if len({v for v in volts if v in owner}) == 1:
            for v in volts:
                owner.pop(v, None)

    def _chosen(self, a: Found, b: Found) -> bool:
        """Return whether two capacities are offered as a choice."""
        gap = self.lower[a.end : b.start]
        for each in self.by_line[a.line]:
            if a.end <= each.start and each.end <= b.start and each.field != "capacity_ah":
                gap = gap.replace(self.lower[each.start : each.end], " ")
        gap = re.sub(r"\([^()\d]{1,20}\)|\(\s?[1-9]\s?\)", " ", gap)
        return _CHOICE.fullmatch(gap) is not None and bool(gap.strip())

    def _letter(self, each: Found) -> str:
        after = re.match(
            r"\s?[(\[]\s?(?:[^\W\d_]{3,10}\s)?([a-h])\s?[)\]]", self.lower[each.end : each.end + 18]
        )
        before = re.search(
            r"(?:^|[\s(,/])([a-h])\s?[:=)]\s?\Z", self.lower[max(0, each.start - 6) : each.start]
        )
        match = after or before
        return match[1].upper() if match else ""

    def bind_rest(self, owner: dict[Found, int]) -> None:
        """Give other figures to one variant by letter, voltage or order; the rest belongs to all."""
        for each in self.found:
            letter = self._letter(each) if each not in owner else ""
            if letter and letter in self.keys:
                owner[each] = self.keys.index(letter)
        self._by_voltage(owner)
        for number, line in self.by_line.items():
            loose = [each for each in line if each not in owner and each.claimed and each.bound is None]
            for field in {each.field for each in loose}:
                same = [each for each in loose if each.field == field]
                if (
                    len(same) == len(self.names)
                    and len({each.value for each in same}) > 1
                    and not self._named(number, "common")
                ):
                    owner.update({each: index for index, each in enumerate(same)})
        self._drop_title(owner)

    def _by_voltage(self, owner: dict[Found, int]) -> None:
        volts: list[set[float]] = [set() for _ in self.names]
        for each, index in owner.items():
            if each.field == "nominal_voltage_v":
                volts[index].add(each.value)
        for number, line in self.by_line.items():
            stated = {each.value for each in self._stated(number, "nominal_voltage_v")}
            if len(stated) != 1 or any(each in owner for each in line) or line[0].title:
                continue
            fitting = [index for index, values in enumerate(volts) if values == stated]
            if len(fitting) == 1 and not self._stated(number, "capacity_ah"):
                owner.update(dict.fromkeys(line, fitting[0]))

    def _drop_title(self, owner: dict[Found, int]) -> None:
        """Leave out what a title lists for several packs: it says nothing of any one."""
        for field in (
            "nominal_voltage_v",
            "capacity_ah",
            "energy_wh",
            "continuous_current_a",
            "bms_current_a",
        ):
            loose = [
                each
                for each in self.found
                if each.field == field and each.title and each not in owner and each.claimed
            ]
            if len({each.value for each in loose}) > 1:
                for each in loose:
                    owner[each] = -1
