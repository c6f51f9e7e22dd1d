"""Packs that a text tells of one by one: "The small one has 36 V and 10 Ah … The large one has …"."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from verifier.listing.found import Found
from verifier.listing.offer_finder import CAPITAL, MOST_VARIANTS, Finder, Offers
from verifier.listing.source import folded

# What must differ between the packs of a text.
_APART = ("capacity_ah", "parallel", "energy_wh", "nominal_voltage_v")
_LONGEST_NAME = 24
_KEYED = re.compile(r"(?<![^\W\d_])(?P<word>[^\W\d_]{3,14})\s(?P<key>[A-H]|[1-6])(?![^\W_]|[.,]\d|\s?[xX×*])")


@dataclass(frozen=True, slots=True)
class _Mention:
    """Where a text speaks of one of its packs, and of which."""

    start: int
    end: int
    rank: int
    line: int


class InProse(Finder):
    """Finds the packs of sentences."""

    def by_sizes(self) -> Offers | None:
        """Find packs that are told apart by their size or their order."""
        return self._first(self.sizes)

    def by_keys(self) -> Offers | None:
        """Find packs that go by one word and a letter or number each."""
        return self._first(self._keyed())

    def _first(self, rows: Iterable[dict[str, re.Pattern[str]]]) -> Offers | None:
        for row in rows:
            for mentions in self._stretches(row):
                offers = self._offers(mentions, list(row.values()))
                if offers is not None:
                    return offers
        return None

    def _keyed(self) -> Iterator[dict[str, re.Pattern[str]]]:
        """Yield packs that go by one word and a letter or number each ("Battery A is … Battery B is …")."""
        keys: dict[str, set[str]] = {}
        for match in _KEYED.finditer(self.text):
            keys.setdefault(match["word"].lower(), set()).add(match["key"])
        for word, found in keys.items():
            if 2 <= len(found) <= MOST_VARIANTS:
                yield {
                    key: re.compile(
                        rf"(?<![^\W\d_]){re.escape(folded(word))}\s{CAPITAL}?{key.lower()}(?![^\W_])"
                    )
                    for key in sorted(found)
                }

    def _stretches(self, row: Mapping[str, re.Pattern[str]]) -> Iterator[list[_Mention]]:
        """Yield mentions that follow one another in a block, each of another pack."""
        found = sorted(
            (
                _Mention(match.start(), match.end(), rank, line.number)
                for line in self.lines
                if not line.is_row
                for rank, pattern in enumerate(row.values())
                for match in pattern.finditer(self.lower, line.start, line.end)
            ),
            key=lambda each: each.start,
        )
        going: list[_Mention] = []
        for mention in found:
            same_block = bool(going) and self.lines[mention.line].block == self.lines[going[-1].line].block
            if going and mention.rank == going[-1].rank and same_block:
                continue
            if going and (not same_block or mention.rank in {each.rank for each in going}):
                yield going
                going = []
            going.append(mention)
        yield going

    def _offers(self, mentions: Sequence[_Mention], patterns: Sequence[re.Pattern[str]]) -> Offers | None:
        parts = self._parts(mentions)
        mentions = [mention for mention, part in zip(mentions, parts, strict=True) if part]
        parts = [part for part in parts if part]
        if len(parts) < 2 or not any(self._differ(parts, name) for name in _APART):
            return None
        names = [self.text[each.start : each.end] for each in mentions]
        aliases = [patterns[each.rank] for each in mentions]
        offers = Offers([self._name(mention) for mention in mentions], names, aliases=aliases)
        for index, part in enumerate(parts):
            offers.owners.update(dict.fromkeys(part, (index,)))
        self._by_rank(mentions, offers)
        return offers

    def _name(self, mention: _Mention) -> str:
        """Return the whole word of a mention."""
        word = re.compile(r"[^\W\d_]*").match(self.text, mention.end)
        return self.text[mention.start : word.end() if word else mention.end][:_LONGEST_NAME]

    def _parts(self, mentions: Sequence[_Mention]) -> list[list[Found]]:
        """Return the figures behind each mention: up to the next, and of the last to the end of its sentence."""
        if not mentions:
            return []
        ends = [*(each.start for each in mentions[1:]), self._sentence_end(mentions[-1])]
        return [
            [
                each
                for number in range(mention.line, self._line_of(end) + 1)
                for each in self.by_line.get(number, [])
                if mention.end <= each.start < end and each.claimed
            ]
            for mention, end in zip(mentions, ends, strict=True)
        ]

    def _line_of(self, place: int) -> int:
        return bisect_right([line.start for line in self.lines], max(0, place - 1)) - 1

    def _sentence_end(self, mention: _Mention) -> int:
        clauses = self.voices.clauses
        index = bisect_right([clause.start for clause in clauses], mention.start) - 1
        sentence = clauses[index].sentence
        while index + 1 < len(clauses) and clauses[index + 1].sentence == sentence:
            index += 1
        return clauses[index].end

    @staticmethod
    def _differ(parts: Sequence[Sequence[Found]], name: str) -> bool:
        values = [{each.value for each in part if each.field == name} for part in parts]
        return all(len(value) == 1 for value in values) and len(set(map(frozenset, values))) > 1

    def _by_rank(self, mentions: Sequence[_Mention], offers: Offers) -> None:
        """Give the capacities that stand before the packs are told of to them by size ("with 10 or 15 Ah")."""
        told = {each.field for each in offers.owners}
        before = [
            each
            for number in range(max(0, mentions[0].line - 1), mentions[0].line + 1)
            for each in self._stated(number, "capacity_ah")
            if each.start < mentions[0].start
        ]
        values = sorted({float(each.value) for each in before if isinstance(each.value, float)})
        if "capacity_ah" in told or len(values) != len(mentions):
            return
        in_order = sorted(range(len(mentions)), key=lambda index: mentions[index].rank)
        for value, index in zip(values, in_order, strict=True):
            offers.owners.update({each: (index,) for each in before if each.value == value})
