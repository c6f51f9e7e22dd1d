"""Packs that sentences of one form tell of: "The standard version has 10 Ah and weighs 2.4 kg. The long one has …".

No word tells them: figures of the same kinds come again, one after the other, each with another capacity. That several
packs are meant is told besides, by a price of each, by words for a version or for both; a pack with two capacities of
its own is told of in no such way.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from verifier.listing.found import Found
from verifier.listing.offer_finder import MOST_VARIANTS, OFFERED, Finder, Listing, Offers
from verifier.listing.source import LETTER

# Of each of these a pack has one figure.
_SINGLE = frozenset(
    {"capacity_ah", "nominal_voltage_v", "energy_wh", "mass_kg", "bms_current_a", "series", "parallel"}
)
_NOT_COMPARED = frozenset({"currency", "certificates", "load_power_w", "peak_seconds", "ingress"})
_OF_ANOTHER_TIME = frozenset(
    {"label", "measured", "earlier", "hearsay", "now", "exchanging", "exchanged", "other_product", "yours"}
)
_FEWEST_ALIKE = 2
# No text of people tells of so many.
_MOST_ROWS = 20
_MOST_WORDS = 3
_LONGEST_NAME = 24
_WORD = re.compile(rf"[{LETTER}]+")
_SIGNS = re.compile("[ぁ-ヿ一-鿿]+")


@dataclass(slots=True)
class _Part:
    """The stretch of a text that tells of one pack."""

    start: int
    end: int
    found: list[Found]

    def values(self, name: str) -> frozenset[object]:
        return frozenset(each.value for each in self.found if each.field == name)

    @property
    def fields(self) -> frozenset[str]:
        return frozenset(each.field for each in self.found) - _NOT_COMPARED


class InSentences(Finder):
    """Finds the packs of sentences that are alike."""

    def __init__(self, listing: Listing) -> None:
        super().__init__(listing)
        self.claims = [each for each in listing.found if each.claimed]
        self.places = [each.start for each in self.claims]
        self.starts = [clause.start for clause in self.voices.clauses]

    def by_form(self) -> Offers | None:
        """Find packs told of one after the other in the same form."""
        for needed in OFFERED:
            for keys in self._rows_of(needed):
                parts = self._parts(keys)
                if self._are_packs(parts, keys, needed):
                    return self._offers(parts)
        return None

    def _rows_of(self, needed: str) -> list[list[Found]]:
        """Return figures of one kind that follow one another with other values each, in one block or one a block."""
        rows: list[list[Found]] = []
        for number in sorted(self.by_line):
            if self.lines[number].is_row:
                continue
            for each in self._stated(number, needed):
                if each.title or not isinstance(each.value, float):
                    continue
                last = rows[-1][-1] if rows else None
                near = last is not None and self._block(each) - self._block(last) <= 1
                if near and each.value not in {other.value for other in rows[-1]}:
                    rows[-1].append(each)
                elif last is None or each.value != last.value:
                    rows.append([each])
        return [row for row in rows if 2 <= len(row) <= MOST_VARIANTS][:_MOST_ROWS]

    def _block(self, each: Found) -> int:
        return self.lines[each.line].block

    # -- parts -----------------------------------------------------------------------------------------------

    def _parts(self, keys: Sequence[Found]) -> list[_Part]:
        starts = [self._start(key, before) for key, before in zip(keys, [None, *keys], strict=False)]
        parts = []
        for index, (key, start) in enumerate(zip(keys, starts, strict=True)):
            stop = starts[index + 1] if index + 1 < len(keys) else len(self.lower)
            end = min(stop, self._block_end(key))
            parts.append(_Part(start, end, self._between(start, end)))
        if parts:
            last = parts[-1]
            last.end = self._end_of_last(keys[-1], last, parts[:-1])
            last.found = [each for each in last.found if each.start < last.end]
        return parts

    def _between(self, start: int, end: int) -> list[Found]:
        """Return the claims between two places."""
        return self.claims[bisect_left(self.places, start) : bisect_left(self.places, end)]

    def _block_end(self, key: Found) -> int:
        number = key.line
        while number + 1 < len(self.lines) and self.lines[number + 1].block == self._block(key):
            number += 1
        return self.lines[number].end

    def _clause(self, place: int) -> int:
        return bisect_right(self.starts, place) - 1

    def _start(self, key: Found, before: Found | None) -> int:
        """Return where the words about a pack begin: with its sentence, or with its clause in one of several packs."""
        clauses = self.voices.clauses
        index = self._clause(key.start)
        sentence = clauses[index].sentence
        if before is None or clauses[self._clause(before.start)].sentence != sentence:
            while index and clauses[index - 1].sentence == sentence:
                index -= 1
            return clauses[index].start
        # "36 V, 10 Ah, 2 kg, and 48 V, 15 Ah, 3 kg": the voltage leads.
        volts = [e for e in self._between(before.end, key.start) if e.field == "nominal_voltage_v"]
        return clauses[self._clause(volts[-1].start if volts else key.start)].start

    def _end_of_last(self, key: Found, last: _Part, others: Sequence[_Part]) -> int:
        """Return where the words about the last pack end: at a sentence about all, or with other kinds of figures."""
        known = frozenset().union(*(part.fields for part in others))
        clauses = self.voices.clauses
        index = self._clause(key.start)
        end = clauses[index].end
        sentence = clauses[index].sentence
        # A paragraph a pack: all that the last one says is of it.
        blocks = [self._block(each.found[0]) for each in (*others, last) if each.found]
        apart = len(set(blocks)) == len(blocks)
        while index + 1 < len(clauses) and clauses[index + 1].start < last.end:
            index += 1
            clause = clauses[index]
            if clause.sentence != sentence:
                fields = {each.field for each in self._between(clause.start, clause.end)} - _NOT_COMPARED
                if clause.named("common", "both") or not (apart or fields <= known):
                    break
                # A sentence that begins with what the others have too goes on about the pack.
                sentence = clause.sentence if fields else sentence
            end = clause.end
        return end

    # -- whether they are packs ------------------------------------------------------------------------------

    def _are_packs(self, parts: Sequence[_Part], keys: Sequence[Found], needed: str) -> bool:
        if len(parts) < 2 or any(len(part.values(name)) > 1 for part in parts for name in _SINGLE):
            return False
        alike = frozenset.intersection(*(part.fields for part in parts))
        differ = {name for name in alike if len({part.values(name) for part in parts}) > 1}
        if needed not in differ or len(differ) < _FEWEST_ALIKE:
            return False
        told = [self.voices.clauses[self._clause(key.start)] for key in keys]
        if any(clause.named(*_OF_ANOTHER_TIME) for clause in told):
            return False
        if any(key.line in self.voices.questions.turns.of_line for key in keys):
            return False
        return "price" in differ or self._are_named(parts)

    def _are_named(self, parts: Sequence[_Part]) -> bool:
        """Return whether words say that there are several: before the packs, behind them, or with each of them."""
        led = [self.lower[slice(*self._lead(part))] for part in parts]
        if all(
            self._voiced(part.start, part.start + len(lead), "variant")
            for part, lead in zip(parts, led, strict=True)
        ):
            return True
        for row in self.sizes:
            if all(any(pattern.search(lead) for pattern in row.values()) for lead in led):
                return True
        return self._voiced(0, parts[0].start, "variant", "both", "common") or self._voiced(
            parts[-1].end, self._block_end(parts[-1].found[-1]) + 1, "both", "common"
        )

    def _voiced(self, start: int, end: int, *names: str) -> bool:
        return any(
            name in voice.names
            for voice in self.voices.voices
            if start <= voice.start < end
            for name in names
        )

    # -- what they are called --------------------------------------------------------------------------------

    def _lead(self, part: _Part) -> tuple[int, int]:
        """Return where the words before the first figure of a pack stand."""
        return part.start, min((each.start for each in part.found), default=part.end)

    def _offers(self, parts: Sequence[_Part]) -> Offers:
        names = self._told_apart([self._lead(part) for part in parts])
        offers = Offers(list(names), list(names))
        for index, part in enumerate(parts):
            offers.owners.update(dict.fromkeys(part.found, (index,)))
        return offers

    def _told_apart(self, leads: Sequence[tuple[int, int]]) -> list[str]:
        """Return by what words each of some leads differs from the others, "" for all where one has none of its own."""
        words = [
            list(_WORD.finditer(self.lower, *lead)) or list(_SIGNS.finditer(self.lower, *lead))
            for lead in leads
        ]
        shared = frozenset.intersection(*(frozenset(word.group() for word in each) for each in words))
        names = [
            " ".join(self.text[slice(*word.span())] for word in each if word.group() not in shared)
            for each in words
        ]
        if any(_SIGNS.fullmatch(name) for name in names):
            names = _without_ends(names)
        told = all(name and len(name.split()) <= _MOST_WORDS and len(name) <= _LONGEST_NAME for name in names)
        return names if told and len(set(names)) == len(names) else [""] * len(leads)


def _without_ends(names: Iterable[str]) -> list[str]:
    """Return names without the signs that all begin or end with ("标准版", "长续航版")."""
    left = list(names)
    while all(len(name) > 1 for name in left) and len({name[-1] for name in left}) == 1:
        left = [name[:-1] for name in left]
    while all(len(name) > 1 for name in left) and len({name[0] for name in left}) == 1:
        left = [name[1:] for name in left]
    return left
