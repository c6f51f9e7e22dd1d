"""Packs that stand one below the other: a line each, or a block below a heading each."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import pairwise

from verifier.listing.found import Found
from verifier.listing.heads import Head
from verifier.listing.layout import Line
from verifier.listing.offer_finder import EDGE, LONGEST_NAME, MOST_VARIANTS, OFFERED, Finder, Offers

_KEY = re.compile(
    r"[\s\-–•*>|#✅✔►▶●■◆★【\[(]*(?:(?P<word>[^\W\d_]{1,14})\s?)??(?:nr\.?|no\.?|#)?\s?"
    r"(?P<key>(?<![a-zà-ÿ])[a-h]|[1-9]|[\u2460-\u2469]|[一二三四五六七八]|i{1,3}|iv|v(?=[:.)]))"
    r"(?:\s?(?P<after>[^\W\d_]{1,9}))??"
    r"(?:\s?[:：.)\]】、|\t]|\s[-–—=]\s|\s*$|\s(?=\d{2}\s?v))"
)
_MOST_WORDS = 5
_LONGEST_OFFER = 160
_NUMERALS = {"一": "1", "二": "2", "三": "3", "四": "4", "五": "5", "六": "6", "七": "7", "八": "8"}


def _all_differ(signatures: Sequence[tuple[frozenset[object], frozenset[object]]]) -> bool:
    """Return whether every line offers another pack: another capacity, or the same at another voltage."""
    if len(set(signatures)) != len(signatures):
        return False
    capacities = [capacity for _, capacity in signatures]
    return len(set(capacities)) == len(capacities) or all(volts for volts, _ in signatures)


def _upper(key: str) -> str:
    return _NUMERALS.get(key, key).upper()


class InLines(Finder):
    """Finds the packs of lines and blocks."""

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
        return _upper(match["key"]), bool(groups)

    def by_heads(self) -> Offers | None:
        """Find the packs behind heads of one form ("Lot 31: …", "Lot 32: …")."""
        own: dict[str, Head] = {}
        for number in sorted(self.heads):
            own.setdefault(self.heads[number].key, self.heads[number])
        blocks = {head: self._below(head, own.values()) for head in own.values()}
        packs = [head for head, block in blocks.items() if self._is_pack(block)]
        told = {self._signature(blocks[head]) for head in packs}
        if not 2 <= len(packs) <= MOST_VARIANTS or len(told) != len(packs):
            return None
        lone = {head.line for head in own.values() if head.line in self.by_line}
        self._set_aside(lone, {head.line for head in packs})
        keys = [_upper(head.key) for head in packs]
        offers = Offers([self._head_name(head) for head in packs], keys, word=packs[0].word)
        # Lines below the last pack alone are said of all.
        below = [any(each.line != head.line for each in blocks[head]) for head in packs]
        alone = below[-1] and not any(below[:-1]) and packs[-1].line in self.by_line
        for index, head in enumerate(packs):
            own_line = alone and head is packs[-1]
            theirs = [each for each in blocks[head] if not own_line or each.line == head.line]
            offers.owners.update(dict.fromkeys(theirs, (index,)))
        return offers

    def _below(self, head: Head, heads: Iterable[Head]) -> list[Found]:
        """Return the figures behind a head and below it, up to the next; of the last one, to the next blank line."""
        after = [each.line for each in heads if each.line > head.line]
        numbers = [number for number in self.by_line if number > head.line]
        numbers = [n for n in numbers if n < min(after)] if after else self._until_blank(head.line, numbers)
        found = list(self.by_line.get(head.line, []))
        for number in sorted(numbers):
            if self._named(number, "common") or number in self.heads or self._tells_of(number, heads, head):
                break
            found += self.by_line[number]
        return found

    def _tells_of(self, number: int, heads: Iterable[Head], own: Head) -> bool:
        """Return whether a line speaks of another head's pack too ("Lots 1 and 2: …")."""
        line = self.lower[self.lines[number].start : self.lines[number].end]
        others = [re.escape(head.key) for head in heads if head.key != own.key]
        word = re.escape(own.word)
        either = "|".join(others)
        return (
            re.search(rf"(?<!\w){word}\w?\s?(?:{either})(?!\w)|(?<![^\W_])(?:{either})\s?{word}", line)
            is not None
        )

    @staticmethod
    def _is_pack(found: Sequence[Found]) -> bool:
        fields = {each.field for each in found if each.claimed}
        return "capacity_ah" in fields or (
            "nominal_voltage_v" in fields and len(fields - {"price", "currency"}) > 1
        )

    @staticmethod
    def _signature(found: Sequence[Found]) -> frozenset[tuple[str, object]]:
        return frozenset((each.field, each.value) for each in found if each.claimed)

    def _head_name(self, head: Head) -> str:
        words = self.text[head.start : head.end]
        name = " ".join(re.sub(r"[(（].*", "", words, flags=re.S).strip(EDGE).split())
        # "A款" is A; "the small one" is written as it is.
        plain = name.lower() == head.key + head.word and " " not in name
        return _upper(head.key) if plain else name

    def _set_aside(self, numbers: Iterable[int], packs: set[int]) -> None:
        """Take an item of the list that is a charger, or has a price and is no pack, for what it is."""
        for number in numbers:
            sold = number not in packs and any(each.field == "price" for each in self.by_line[number])
            if sold or self.is_charger(self.by_line[number]):
                self.call_another(self.by_line[number])

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
        if not 2 <= len(lines) <= MOST_VARIANTS:
            return None
        keyed = all(key for _, key in lines) and len({key for _, key in lines}) == len(lines)
        if not (_all_differ(signatures) or (keyed and len(lines) >= 2)) or not self._together(lines, keyed):
            return None
        if keyed:
            keys = {key for _, key in lines}
            items = (
                number
                for number in self.by_line
                if (key := self._key(self.lines[number])[0]) and (key not in keys or number in dict(lines))
            )
            self._set_aside(items, {number for number, _ in lines})
        offers = Offers([], [])
        for index, (number, key) in enumerate(lines):
            offers.owners.update(dict.fromkeys(self.by_line[number], (index,)))
            offers.keys.append(key)
            offers.names.append(key or self._name(number) or self._above(number))
        if len(set(offers.names)) < len(offers.names):
            offers.names = list(offers.keys)
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

    def _above(self, number: int) -> str:
        """Return the heading right above a line, where it heads a block of its own; "" where none does."""
        head = self.lines[number - 1] if number else None
        if head is None or head.number in self.by_line or head.number < 1:
            return ""
        words = self.text[head.start : head.end].strip(EDGE)
        begins = self.lines[head.number - 1].block != head.block == self.lines[number].block
        return words if begins and len(words.split()) <= _MOST_WORDS and words[:1].isupper() else ""

    def _name(self, number: int) -> str:
        # "Also have a" is no name.
        if self._named(number, "also_offered"):
            return ""
        line = self.lines[number]
        first = min(self.by_line[number], key=lambda each: each.start)
        before = " ".join(self.text[line.start : first.start].strip(EDGE).split())[:LONGEST_NAME]
        coded = first.field in ("series", "parallel") and not before
        return self.text[first.start : first.end] if coded else before

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
        heads = heads if len(heads) >= 2 else self._names_alike()
        if not 2 <= len(heads) <= MOST_VARIANTS or len({key for _, key in heads}) != len(heads):
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
            offers.names.append(" ".join(self.text[line.start : line.end].strip(EDGE).split()))
        differ = {each.value for each in offers.owners if each.field in OFFERED}
        return offers if len(differ) >= 2 else None

    def _names_alike(self) -> list[tuple[Line, str]]:
        """Return the headings that begin with one word and end differently, each above a pack of its own."""
        named: dict[str, list[tuple[Line, str]]] = {}
        for before, line in pairwise(self.lines):
            words = self.lower[line.start : line.end].strip(EDGE).split()
            if before.block == line.block or line.is_row or not 2 <= len(words) <= _MOST_WORDS:
                continue
            if line.number not in self.by_line and self._heads_a_pack(line):
                named.setdefault(words[0], []).append((line, " ".join(words)))
        return next((heads for heads in named.values() if len(heads) >= 2), [])

    def _heads_a_pack(self, line: Line) -> bool:
        """Return whether the block below a line tells of one pack: one capacity, and more of it."""
        block: list[Found] = []
        for below in self.lines[line.number + 1 :]:
            if below.block != line.block:
                break
            block += (each for each in self.by_line.get(below.number, []) if each.claimed)
        capacities = {each.value for each in block if each.field == "capacity_ah"}
        return len(capacities) == 1 and len({each.field for each in block}) > 1

    def _heading(self, line: Line) -> str | None:
        """Return the name in a heading such as "Version Standard", None for other lines."""
        words = self.text[line.start : line.end].strip(EDGE)
        start = line.start + self.text[line.start : line.end].find(words[:1]) if words else line.start
        named = [voice for voice in self.voices.by_line.get(line.number, []) if "variant" in voice.names]
        # "Item specifics" heads the figures of all.
        if any("describes" in voice.names for voice in self.voices.by_line.get(line.number, [])):
            return None
        if not named or not 2 <= len(words.split()) <= _MOST_WORDS or any(each.isdigit() for each in words):
            return None
        return words if named[0].start - start <= 1 and named[0].end - start < len(words) else None
