"""Finds the packs that a listing offers by its structure."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from verifier.listing.found import Found
from verifier.listing.layout import Line
from verifier.listing.tables import Cell, Table
from verifier.listing.voices import Voices

_EDGE = " \t-–—•*·>|:：.,;()[]【】（）#=✅✔►▶●■◆★☆\n\r\"'"
_KEY = re.compile(
    r"[\s\-–•*>|#✅✔►▶●■◆★【\[(]*(?:(?P<word>[^\W\d_]{1,14})\s?)??(?:nr\.?|no\.?|#)?\s?"
    r"(?P<key>[a-h]|[1-9]|[\u2460-\u2469]|[一二三四五六七八]|i{1,3}|iv|v(?=[:.)]))"
    r"(?:\s?(?P<after>[^\W\d_]{1,9}))??"
    r"(?:\s?[:：.)\]】、|\t]|\s[-–—=]\s|\s*$|\s(?=\d{2}\s?v))"
)
_MARK = re.compile(r"(?:^|[\s,;(/、,；])([a-h]|[1-9]|[\u2460-\u2469])\s?[:：)=]?\s?(?=[\d(])", re.M)
_CHOICE = re.compile(
    r"(?:[\s)\](\[/|,，、;；&+\-–:：=]|\b(?:or|oder|ou|o|of|lub|und|and|et|y|e|en|i|bzw)\b|或|又は|または)*"
)
_OFFERED = ("capacity_ah", "nominal_voltage_v")
_MOST_VARIANTS = 12
_MOST_WORDS = 5
_LIST = re.compile(r"\s*(?:[/|,、，;；]|\s(?:bzw\.?|und|and|et|y|e|en|i|or|oder|ou|o)\s)\s*(?:约|ca\.?)?\s*")
_NEVER_LISTED = frozenset(
    {"certificates", "load_power_w", "currency", "cell_marking", "chemistry", "ingress"}
)
_FEWEST_LISTS = 3
_LONGEST_OFFER = 160
_LONGEST_NAME = 60
# 48 V and 46.8 V name one pack, 48 V and 52 V two.
_APART = 1.07
_NUMERALS = {"一": "1", "二": "2", "三": "3", "四": "4", "五": "5", "六": "6", "七": "7", "八": "8"}


@dataclass(slots=True)
class Offers:
    """The packs on offer: their names, the keys they go by, and which figures are theirs."""

    names: list[str]
    keys: list[str]
    owners: dict[Found, tuple[int, ...]] = field(default_factory=dict)


def find_offers(
    text: str, lower: str, found: list[Found], lines: list[Line], tables: list[Table], voices: Voices
) -> Offers | None:
    """Return the packs on offer, None where there is one.

    Parameters
    ----------
    text, lower : str
        The listing, and the same folded.
    found : list of Found
        Every figure in order of place.
    lines, tables : list
        The structure.
    voices : Voices
        Known words that name versions.
    """
    finder = _Finder(text, lower, found, lines, tables, voices)
    attempts: tuple[Callable[[], Offers | None], ...] = (
        finder.by_tables, finder.by_headings, finder.by_lines, finder.by_marks, finder.by_lists,
        finder.by_choice,
    )  # fmt: skip
    for attempt in attempts:
        offers = attempt()
        if offers is not None:
            return offers
    return None


def _all_differ(signatures: Sequence[tuple[frozenset[object], frozenset[object]]]) -> bool:
    """Return whether every line offers another pack: another capacity, or the same at another voltage."""
    if len(set(signatures)) != len(signatures):
        return False
    capacities = [capacity for _, capacity in signatures]
    return len(set(capacities)) == len(capacities) or all(volts for volts, _ in signatures)


class _Finder:
    def __init__(
        self,
        text: str,
        lower: str,
        found: list[Found],
        lines: list[Line],
        tables: list[Table],
        voices: Voices,
    ) -> None:
        self.text = text
        self.lower = lower
        self.lines = lines
        self.tables = tables
        self.voices = voices
        self.by_line: dict[int, list[Found]] = {}
        for each in found:
            self.by_line.setdefault(each.line, []).append(each)

    def _named(self, number: int, *names: str) -> bool:
        return any(name in voice.names for voice in self.voices.by_line.get(number, []) for name in names)

    def _stated(self, number: int, field: str) -> list[Found]:
        return [each for each in self.by_line.get(number, []) if each.field == field and each.claimed]

    def _values(self, number: int, field: str) -> frozenset[object]:
        return frozenset(each.value for each in self._stated(number, field))

    # -- tables ----------------------------------------------------------------------------------------------

    def by_tables(self) -> Offers | None:
        """Find a table with a pack a row or a pack a column."""
        for table in self.tables:
            if table.shape == "packs_in_rows":
                offers = self._rows(table)
            elif table.shape == "packs_in_columns":
                offers = self._columns(table)
            else:
                continue
            if offers is not None:
                return offers
        return None

    def _cells(self, cells: Sequence[Cell]) -> list[Found]:
        places = [(cell.start, cell.end) for cell in cells]
        lines = {bisect_right([line.start for line in self.lines], start) - 1 for start, _ in places}
        return [
            each
            for number in sorted(lines)
            for each in self.by_line.get(number, [])
            if any(start <= each.start < end for start, end in places)
        ]

    def _rows(self, table: Table) -> Offers | None:
        parts = [self._cells(row) for row in table.rows[1:]]
        rows = [(row, part) for row, part in zip(table.rows[1:], parts, strict=True) if part]
        return self._from_parts([part for _, part in rows], [self._cell_name(row[0]) for row, _ in rows])

    def _columns(self, table: Table) -> Offers | None:
        width = max(len(row) for row in table.rows)
        parts = [
            self._cells([row[column] for row in table.rows if column < len(row)])
            for column in range(1, width)
        ]
        filled = [part for part in parts if len({each.field for each in part}) >= 2]
        if len(filled) < 2:
            return None
        head = table.rows[0]
        names = [
            self._cell_name(head[column]) if column < len(head) and not head[0].quantities else ""
            for column in range(1, width)
        ]
        if any(cell.quantities for cell in head[1:]) and head[0].labels:
            names = [""] * len(parts)
        chosen = [(part, name) for part, name in zip(parts, names, strict=True) if part in filled]
        return self._from_parts([part for part, _ in chosen], [name for _, name in chosen])

    def _cell_name(self, cell: Cell) -> str:
        if cell.quantities and not re.match(rf"[^\d]*[{'a-z'}]", self.lower[cell.start : cell.end].strip()):
            return ""
        return " ".join(self.text[cell.start : cell.end].strip(_EDGE).split())[:_LONGEST_NAME]

    def _from_parts(self, parts: list[list[Found]], names: list[str]) -> Offers | None:
        """Return offers where the parts are different packs."""
        if not 2 <= len(parts) <= _MOST_VARIANTS:
            return None
        signatures = [frozenset((each.field, each.value) for each in part if each.claimed) for part in parts]
        if len(set(signatures)) != len(signatures) or not all(signatures):
            return None
        return Offers(
            names,
            [_short_key(name) for name in names],
            {each: (index,) for index, part in enumerate(parts) for each in part},
        )

    # -- lines -----------------------------------------------------------------------------------------------

    def _key(self, line: Line) -> tuple[str, bool]:
        """Return the letter or digit a line begins with, and whether "model" or the like stands by it."""
        match = _KEY.match(self.lower, line.start, min(line.end, line.start + 60))
        if match is None:
            return "", False
        variant_words = {
            voice.start for voice in self.voices.by_line.get(line.number, []) if "variant" in voice.names
        }
        groups = [name for name in ("word", "after") if match[name] is not None]
        known = all(
            match.start(name) in variant_words or match[name] in ("pack", "akku", "set") for name in groups
        )
        if not known:
            return "", False
        return _NUMERALS.get(match["key"], match["key"]).upper(), bool(groups)

    def by_lines(self) -> Offers | None:
        """Find lines that each offer a pack."""
        for needed in ("capacity_ah", "nominal_voltage_v", "parallel"):
            offers = self._by_lines(needed)
            if offers is not None:
                return offers
        return None

    def _by_lines(self, needed: str) -> Offers | None:
        lines: list[tuple[int, str]] = []
        signatures: list[tuple[frozenset[object], frozenset[object]]] = []
        for number in sorted(self.by_line):
            values = self._values(number, needed)
            if len(values) != 1 or any(each.title for each in self.by_line[number]):
                continue
            key, _ = self._key(self.lines[number])
            volts = self._values(number, "nominal_voltage_v")
            if self._is_offer(number, key, volts, needed):
                lines.append((number, key))
                signatures.append((volts, values))
        if not 2 <= len(lines) <= _MOST_VARIANTS:
            return None
        keyed = all(key for _, key in lines) and len({key for _, key in lines}) == len(lines)
        if not (_all_differ(signatures) or (keyed and len(lines) >= 2)) or not self._together(lines, keyed):
            return None
        offers = Offers([], [])
        for index, (number, key) in enumerate(lines):
            offers.owners.update(dict.fromkeys(self.by_line[number], (index,)))
            offers.keys.append(key)
            offers.names.append(key or self._name(number))
        self._blocks([number for number, _ in lines], offers)
        return offers

    def _together(self, lines: list[tuple[int, str]], keyed: bool) -> bool:
        """Return whether lines stand as a list does, not here and there in a text."""
        if keyed:
            return True
        numbers = [number for number, _ in lines]
        gaps = {after - before for before, after in pairwise(numbers)}
        return max(gaps) <= 12 and (max(gaps) == 1 or self._alike(numbers))

    def _alike(self, numbers: list[int]) -> bool:
        """Return whether lines hold the same fields, or begin alike."""
        fields = [
            frozenset(each.field for each in self.by_line[number] if each.claimed) for number in numbers
        ]
        shared = frozenset.intersection(*fields)
        bullets = {self.lines[number].bullet for number in numbers}
        return len(shared) >= 2 and len(bullets) == 1

    def _is_offer(self, number: int, key: str, volts: frozenset[object], needed: str) -> bool:
        if self._named(number, "label", "measured", "earlier", "hearsay", "common"):
            return False
        stated = self._stated(number, needed)
        labelled = any(
            each.quantity is not None and each.quantity.own & {"capacity", "nominal", "voltage", "min"}
            for each in stated
        )
        line = self.lines[number]
        first = min(self.by_line[number], key=lambda each: each.start)
        if needed != "capacity_ah":
            return bool(key) or (needed == "parallel" and bool(self._stated(number, "continuous_current_a")))
        if key:
            return not labelled or bool(volts) or len(self.by_line[number]) > 1
        short = line.end - line.start <= _LONGEST_OFFER
        coded = first.field in ("series", "parallel") and first.start - line.start <= 6
        return short and not labelled and (bool(volts) or bool(self._name(number)) or line.bullet or coded)

    def _blocks(self, numbers: list[int], offers: Offers) -> None:
        """Give lines between two offers to the first of them, when every offer has such lines."""
        for index, number in enumerate(numbers):
            last = numbers[index + 1] if index + 1 < len(numbers) else None
            between = [n for n in self.by_line if n > number and (last is None or n < last)]
            if last is not None and not between:
                return
            if last is None:
                between = self._until_blank(number, between)
            for line in sorted(between):
                if self._named(line, "common"):
                    break
                for each in self.by_line[line]:
                    offers.owners.setdefault(each, (index,))

    def _until_blank(self, number: int, lines: list[int]) -> list[int]:
        block = self.lines[number].block
        taken = []
        for line in range(number + 1, max(lines, default=number) + 1):
            if self.lines[line].block != block or self._named(line, "common"):
                break
            if line in lines:
                taken.append(line)
        return taken

    def _name(self, number: int) -> str:
        line = self.lines[number]
        first = min(self.by_line[number], key=lambda each: each.start)
        before = " ".join(self.text[line.start : first.start].strip(_EDGE).split())[:_LONGEST_NAME]
        coded = first.field in ("series", "parallel") and not before
        return self.text[first.start : first.end] if coded else before

    # -- headings --------------------------------------------------------------------------------------------

    def by_headings(self) -> Offers | None:
        """Find headings such as "Model A" on lines of their own."""
        heads: list[tuple[Line, str]] = []
        for line in self.lines:
            if line.number in self.by_line or line.end - line.start > 40:
                continue
            key, known = self._key(line)
            if known and key:
                heads.append((line, key))
            elif (name := self._heading(line)) is not None:
                heads.append((line, name))
        if not 2 <= len(heads) <= _MOST_VARIANTS or len({key for _, key in heads}) != len(heads):
            return None
        offers = Offers([], [])
        for index, (line, key) in enumerate(heads):
            stop = heads[index + 1][0].number if index + 1 < len(heads) else len(self.lines)
            inside = [number for number in self.by_line if line.number < number < stop]
            if index + 1 == len(heads):
                inside = self._until_blank(line.number, inside)
            for number in sorted(inside):
                if self._named(number, "common"):
                    break
                offers.owners.update(dict.fromkeys(self.by_line[number], (index,)))
            offers.keys.append(key)
            offers.names.append(" ".join(self.text[line.start : line.end].strip(_EDGE).split()))
        differ = {each.value for each in offers.owners if each.field in _OFFERED}
        return offers if len(differ) >= 2 else None

    def _heading(self, line: Line) -> str | None:
        """Return the name in a heading such as "Version Standard", None for other lines."""
        words = self.text[line.start : line.end].strip(_EDGE)
        start = line.start + self.text[line.start : line.end].find(words[:1]) if words else line.start
        named = [voice for voice in self.voices.by_line.get(line.number, []) if "variant" in voice.names]
        if not named or not 2 <= len(words.split()) <= _MOST_WORDS or any(each.isdigit() for each in words):
            return None
        return words if named[0].start - start <= 1 and named[0].end - start < len(words) else None

    # -- side by side in one line ----------------------------------------------------------------------------

    def by_marks(self) -> Offers | None:
        """Find packs in one line, each behind its letter: "A: 36V 10Ah, B: 48V 15Ah", "①36V10Ah ②48V15Ah"."""
        for number, found in self.by_line.items():
            line = self.lines[number]
            marks = list(self._marks(line))
            keys = [mark[1].upper() for mark in marks]
            if not 2 <= len(marks) <= _MOST_VARIANTS or len(set(keys)) != len(keys):
                continue
            ends = [*(mark.start() for mark in marks[1:]), line.end]
            parts = [
                [each for each in found if mark.end() <= each.start < stop]
                for mark, stop in zip(marks, ends, strict=True)
            ]
            offers = [
                frozenset((e.field, e.value) for e in part if e.claimed and e.field in _OFFERED)
                for part in parts
            ]
            if all(offers) and len(set(offers)) == len(offers):
                return Offers(
                    list(keys), keys, {each: (index,) for index, part in enumerate(parts) for each in part}
                )
        return None

    def _marks(self, line: Line) -> Iterator[re.Match[str]]:
        for match in _MARK.finditer(self.lower, line.start, line.end):
            sign = match[1]
            plain = sign.isascii()
            # A plain letter or digit is a mark only with a colon or bracket behind it.
            if not plain or re.match(r"\s?[:：)=]", self.lower[match.end(1) : match.end(1) + 2]):
                yield match

    def by_lists(self) -> Offers | None:
        """Find figures listed in one order in several lines: "24Ah / 35Ah", "17S5P / 20S7P"."""
        lists: dict[int, list[list[Found]]] = {}
        for number in sorted(self.by_line):
            for name in dict.fromkeys(each.field for each in self.by_line[number]):
                stated = self._stated(number, name)
                if name not in _NEVER_LISTED and 2 <= len(stated) <= _MOST_VARIANTS and self._listed(stated):
                    lists.setdefault(len(stated), []).append(stated)
        for count, found in sorted(lists.items(), key=lambda item: -len(item[1])):
            fields = {each[0].field for each in found}
            if len(fields) >= _FEWEST_LISTS and fields & set(_OFFERED):
                return self._from_lists(count, found)
        return None

    def _listed(self, stated: list[Found]) -> bool:
        """Return whether figures stand in a list with nothing but signs, and figures of a pair, between."""
        for a, b in pairwise(stated):
            gap = list(self.lower[a.end : b.start])
            for each in self.by_line[a.line]:
                if a.end <= each.start and each.end <= b.start:
                    gap[each.start - a.end : each.end - a.end] = " " * (each.end - each.start)
            if _LIST.fullmatch("".join(gap)) is None:
                return False
        return True

    def _from_lists(self, count: int, lists: list[list[Found]]) -> Offers | None:
        owners: dict[Found, tuple[int, ...]] = {
            each: (index,) for stated in lists for index, each in enumerate(stated)
        }
        signatures = [
            frozenset((each.field, each.value) for each, owned in owners.items() if owned == (index,))
            for index in range(count)
        ]
        if len(set(signatures)) != count:
            return None
        return Offers([""] * count, [chr(ord("A") + index) for index in range(count)], owners)

    def by_choice(self) -> Offers | None:
        """Find packs offered side by side in one line: a group begins where a field comes again."""
        for number in sorted(self.by_line):
            for needed in _OFFERED:
                stated = [each for each in self._stated(number, needed) if isinstance(each.value, float)]
                distinct = len({each.value for each in stated}) == len(stated)
                if not 2 <= len(stated) <= _MOST_VARIANTS or not distinct:
                    continue
                if needed == "nominal_voltage_v" and not self._are_classes(number, stated):
                    continue
                if all(self._chosen(a, b) for a, b in pairwise(stated)):
                    return self._side_by_side(number, stated)
        return None

    def _are_classes(self, number: int, stated: list[Found]) -> bool:
        """Return whether voltages are those of different packs, and not names for one."""
        if stated[0].title or self._stated(number, "capacity_ah"):
            return False
        values = sorted(float(each.value) for each in stated)
        return all(high / low >= _APART for low, high in pairwise(values))

    def _chosen(self, a: Found, b: Found) -> bool:
        """Return whether two figures are offered as a choice."""
        gap = list(self.lower[a.end : b.start])
        for each in self.by_line[a.line]:
            if a.end <= each.start and each.end <= b.start:
                gap[each.start - a.end : each.end - a.end] = " " * (each.end - each.start)
        for voice in self.voices.by_line.get(a.line, []):
            if a.end <= voice.start and voice.end <= b.start and voice.names & {"variant"}:
                gap[voice.start - a.end : voice.end - a.end] = " " * (voice.end - voice.start)
        rest = re.sub(r"\([^()\d]{1,20}\)|\(\s?[1-9]\s?\)|(?<![a-z])[a-h1-9][:.)]", " ", "".join(gap))
        return _CHOICE.fullmatch(rest) is not None and bool(self.lower[a.end : b.start].strip())

    def _side_by_side(self, number: int, stated: list[Found]) -> Offers:
        groups = self._groups(number, stated)
        offers = Offers([""] * len(stated), [self._letter(each) for each in stated])
        for index, group in enumerate(groups):
            offers.owners.update(dict.fromkeys(group, (index,)))
        volts = [each for each in offers.owners if each.field == "nominal_voltage_v"]
        # "36V 10Ah / 15Ah": the voltage stands once and goes for both.
        if len(volts) < len(stated) and stated[0].field != "nominal_voltage_v":
            for each in volts:
                if len({v.value for v in volts}) == 1:
                    offers.owners.pop(each)
        if all(offers.keys):
            offers.names = list(offers.keys)
        else:
            offers.keys = [chr(ord("A") + index) for index in range(len(stated))]
        return offers

    def _groups(self, number: int, stated: list[Found]) -> list[list[Found]]:
        """Part the figures of a line: each group begins where the first field of a group comes again."""
        line = [each for each in self.by_line[number] if each.claimed]
        first, last = stated[0], stated[-1]
        before = [each for each in line if each.start < first.start]
        lead = self._lead(before, stated, line)
        starts = [
            min((e.start for e in lead if a <= e.start <= b), default=b) for a, b in self._spans(stated)
        ]
        tail = self._tail(line, last)
        groups: list[list[Found]] = []
        for index, start in enumerate(starts):
            stop = starts[index + 1] if index + 1 < len(starts) else tail
            groups.append([each for each in line if start <= each.start < stop])
        return groups

    @staticmethod
    def _spans(stated: list[Found]) -> list[tuple[int, int]]:
        ends = [0, *(each.end for each in stated[:-1])]
        return [(end, each.start) for end, each in zip(ends, stated, strict=True)]

    def _lead(self, before: list[Found], stated: list[Found], line: list[Found]) -> list[Found]:
        """Return the voltages that lead each group, where every group has its own."""
        volts = [each for each in line if each.field == "nominal_voltage_v"]
        spans = self._spans(stated)
        led = [[v for v in volts if a <= v.start < b][-1:] for a, b in spans]
        return [v for found in led for v in found] if all(led[1:]) else []

    def _tail(self, line: list[Found], last: Found) -> int:
        """Return where the last group ends: at a figure that no other group has."""
        fields = {each.field for each in line if each.start < last.start}
        for each in line:
            if each.start > last.start and each.field not in fields:
                return each.start
        return line[-1].end + 1

    def _letter(self, each: Found) -> str:
        after = re.match(
            r"\s?[(\[]\s?(?:[^\W\d_]{3,10}\s)?([a-h])\s?[)\]]", self.lower[each.end : each.end + 18]
        )
        before = re.search(
            r"(?:^|[\s(,/])([a-h])\s?[:=)]\s?\Z", self.lower[max(0, each.start - 6) : each.start]
        )
        match = after or before
        return match[1].upper() if match else ""


def _short_key(name: str) -> str:
    """Return the letter or number that a name ends with or consists of, else the name."""
    match = re.fullmatch(r"(?:\D{0,14}[\s#.])?([A-Ha-h]|[1-9]|[①-⑩])", name)
    return match[1].upper() if match else name
