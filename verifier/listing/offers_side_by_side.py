"""Packs that stand side by side in one line: behind letters, in lists of one order, or as a choice."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from verifier.listing.found import Found
from verifier.listing.layout import Line
from verifier.listing.offer_finder import MOST_VARIANTS, OFFERED, Finder, Listing, Offers

_MARK = re.compile(
    r"(?:^|[\s,;(/、,，；。]|(?=[\u2460-\u2469]))([a-h]|[1-9]|[\u2460-\u2469])"
    r"(?:[款型版]|タイプ)?\s?[:：)=]?\s?(?=[\d(])",
    re.M,
)
_STOP = re.compile(r"[。;；\n]|\.\s")
_NEVER_LISTED = frozenset(
    {"certificates", "load_power_w", "currency", "cell_marking", "chemistry", "ingress", "dimensions"}
)
_FEWEST_LISTS = 3
# 48 V and 46.8 V name one pack, 48 V and 52 V two.
_APART = 1.07


class SideBySide(Finder):
    """Finds the packs of one line."""

    def __init__(self, listing: Listing) -> None:
        super().__init__(listing)
        joins = self.linking.either("and", "or")
        self.choice = re.compile(rf"(?:[\s)\](\[/|,，、;；&+\-–:：=]|{joins})*")
        self.list_sign = re.compile(rf"\s*(?:[/|,、，;；]|\s{joins}\.?\s)\s*(?:约|ca\.?)?\s*")

    def by_marks(self) -> Offers | None:
        """Find packs in one line, each behind its letter: "A: 36V 10Ah, B: 48V 15Ah", "①36V10Ah ②48V15Ah"."""
        for number, found in self.by_line.items():
            line = self.lines[number]
            marks = list(self._marks(line))
            keys = [mark[1].upper() for mark in marks]
            # Marks that come again tell more of the packs that they told of first.
            first = next((i for i, key in enumerate(keys) if key in keys[:i]), len(keys))
            again, marks, keys = marks[first:], marks[:first], keys[:first]
            if not 2 <= len(marks) <= MOST_VARIANTS:
                continue
            end = again[0].start() if again else line.end
            stop = _STOP.search(self.lower, marks[-1].end(), end)
            ends = [*(mark.start() for mark in marks[1:]), stop.start() if stop else end]
            parts = [
                [each for each in found if mark.end() <= each.start < stop]
                for mark, stop in zip(marks, ends, strict=True)
            ]
            offers = [
                frozenset((e.field, e.value) for e in part if e.claimed and e.field in OFFERED)
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
            if not plain or re.match(
                r"(?:[款型版]|タイプ)?\s?[:：)=]", self.lower[match.end(1) : match.end(1) + 5]
            ):
                yield match

    def by_lists(self) -> Offers | None:
        """Find figures listed in one order in several lines: "24Ah / 35Ah", "17S5P / 20S7P"."""
        lists: dict[int, list[list[Found]]] = {}
        for number in sorted(self.by_line):
            for name in dict.fromkeys(each.field for each in self.by_line[number]):
                stated = self._stated(number, name)
                if name not in _NEVER_LISTED and 2 <= len(stated) <= MOST_VARIANTS and self._listed(stated):
                    lists.setdefault(len(stated), []).append(stated)
        for count, found in sorted(lists.items(), key=lambda item: -len(item[1])):
            fields = {each[0].field for each in found}
            if len(fields) >= _FEWEST_LISTS and fields & set(OFFERED):
                return self._from_lists(count, found)
        return None

    def _listed(self, stated: list[Found]) -> bool:
        """Return whether figures stand in a list with nothing but signs, and figures of a pair, between."""
        for a, b in pairwise(stated):
            gap = list(self.lower[a.end : b.start])
            for each in self.by_line[a.line]:
                if a.end <= each.start and each.end <= b.start:
                    gap[each.start - a.end : each.end - a.end] = " " * (each.end - each.start)
            if self.list_sign.fullmatch("".join(gap)) is None:
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
            for needed in OFFERED:
                stated = [each for each in self._stated(number, needed) if isinstance(each.value, float)]
                distinct = len({each.value for each in stated}) == len(stated)
                if not 2 <= len(stated) <= MOST_VARIANTS or not distinct:
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
        return self.choice.fullmatch(rest) is not None and bool(self.lower[a.end : b.start].strip())

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
