"""Shares out what stands outside of the offers: by key, by voltage or capacity, by order, else to all."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from verifier.listing.found import Found
from verifier.listing.layout import Line
from verifier.listing.offer_finder import CAPITAL, Listing, Offers
from verifier.listing.settling import FULL_OVER_NOMINAL, is_full
from verifier.listing.source import LETTER, folded

_NUMERALS = "一二三四五六七八"
_REFERENCES = ("nominal_voltage_v", "capacity_ah", "series")
# "54.6V/2A", "48V/20Ah" and "60A/5s" are one each.
_PAIRS = frozenset({
    ("charge_voltage_v", "charge_current_a"), ("nominal_voltage_v", "capacity_ah"),
    ("peak_current_a", "peak_seconds"), ("nominal_voltage_v", "charge_voltage_v"),
})  # fmt: skip
_OF_CHARGER = frozenset({"charge_voltage_v", "charge_current_a"})
_LONGEST_HEADING = 48
_LONGEST_KEY = 12
# What is told in one breath of one pack.
_OF_CURRENTS = frozenset({"peak_current_a", "max_current_a"})
_LONGEST_BULLET = 3
_WORDED = re.compile(r"\W{0,4}[^\W\d_]{3,14}\s\d\s?[:：.)–-]")
_COLON = re.compile(r"[)）]?\s?[:：]\s?")
_SENTENCE_END = re.compile(r"[.!?](?=\s|$)|[。！？]")
_WIDEST_PAIR = 12
_BRACKET = re.compile(r"[(（][^()（）\n]{1,120}[)）]")
_LISTED = frozenset({"certificates", "load_power_w", "currency"})


def share(listing: Listing, offers: Offers) -> None:
    """Give figures outside of the offers to the packs they belong to: what is shared out gets its owners."""
    lines = listing.lines
    sharer = _Sharer(listing, offers)
    by_line: dict[int, list[Found]] = {}
    for each in listing.found:
        by_line.setdefault(each.line, []).append(each)
    sharer.by_heading(lines, by_line)
    for number, line in by_line.items():
        loose = [each for each in line if each not in offers.owners and each.claimed]
        # A title lists what the packs have together, unless it tells of each.
        if not loose or (line[0].title and not any(each in offers.owners for each in line)):
            continue
        sharer.by_mention(lines[number], loose)
        sharer.by_order(number, [each for each in loose if each not in offers.owners])
    sharer.by_full([each for each in listing.found if each not in offers.owners and each.claimed])


class _Sharer:
    def __init__(self, listing: Listing, offers: Offers) -> None:
        self.text = listing.text
        self.lower = listing.lower
        self.offers = offers
        self.voices = listing.voices
        joins = listing.words.linking.either("and", "or")
        self.separator = re.compile(
            rf"(?=[①-⑩])|[;；/，、。|\n]|\.{{3}}\s|…|,(?!\d)|\s{joins}\.?\s(?=\S*\d)|\.\s"
        )
        # "Lots 1 and 2", "1号和2号".
        self.joins = rf"\s?(?:[,/&+、]|{listing.words.linking.either('and')})\s?"
        self.volts: list[set[object]] = [set() for _ in offers.names]
        self.capacities: list[set[object]] = [set() for _ in offers.names]
        series: list[set[object]] = [set() for _ in offers.names]
        # The figures by which a text may speak of a pack.
        self.references = {"nominal_voltage_v": self.volts, "capacity_ah": self.capacities, "series": series}
        for each, owners in offers.owners.items():
            for index in owners if each.field in self.references else ():
                self.references[each.field][index].add(each.value)
        self.endings = _endings(offers.names)
        self.mentions = [
            self._mention(
                name,
                key,
                self._markings(index),
                offers.aliases[index : index + 1],
                worded=self._is_worded(listing, index),
            )
            for index, (name, key) in enumerate(zip(offers.names, offers.keys, strict=True))
        ]
        self.other_names = list(self._other_names(listing))
        self.shared_prefix = _shared_prefix(offers.names)

    def _is_worded(self, listing: Listing, index: int) -> bool:
        """Return whether a word stands before the digit that a pack's line begins with ("Option 2: …")."""
        owned = [each for each, owners in self.offers.owners.items() if owners == (index,)]
        line = listing.lines[min(owned, key=lambda each: each.start).line] if owned else None
        return line is not None and _WORDED.match(self.lower, line.start, line.end) is not None

    def _markings(self, index: int) -> list[str]:
        """Return the markings of a pack's cells, by which a text may speak of it too."""
        owned = [each for each, owners in self.offers.owners.items() if index in owners]
        return [str(each.value).lower() for each in owned if each.field == "cell_marking" and each.claimed]

    def _mention(
        self,
        name: str,
        key: str,
        markings: Sequence[str],
        aliases: Sequence[re.Pattern[str]],
        *,
        worded: bool,
    ) -> re.Pattern[str]:
        """Return the pattern of a pack's name, key or cells where it is mentioned."""
        if aliases:
            return aliases[0]
        # A name's last words have a sign before them where they begin with a capital.
        words = [
            re.escape(each).replace(r"\ ", rf"\ {CAPITAL}?")
            for each in (folded(name), *markings)
            if len(each) >= 2
        ]
        if name in self.endings:
            words.append(CAPITAL + re.escape(self.endings[name]))
        sign = re.escape(key.lower())
        if self.offers.word and key:
            word = re.escape(self.offers.word)
            others = "|".join(re.escape(each.lower()) for each in self.offers.keys)
            # "Model S", "model5", not "models".
            gap = r"\s?" if not key.isalpha() or not key.isascii() else r"\s"
            words.append(rf"{word}[^\W\d_]{{0,2}}{gap}(?:(?:{others})(?:{self.joins}))*{sign}")
            words.append(rf"{sign}\s?{word}(?=[^a-z]|$)")
        words += self._signs(name, key, worded=worded)
        return re.compile(rf"(?<![a-z0-9])(?:{'|'.join(words)})(?![a-z0-9])" if words else r"(?!)")

    def _signs(self, name: str, key: str, *, worded: bool) -> list[str]:
        """Return the patterns of a pack's letter, digit or sign where it is mentioned."""
        sign = re.escape(key.lower())
        words: list[str] = []
        if len(key) == 1 and key.isascii() and key.isalpha():
            # Many languages have words of one letter, and none writes them in capitals but at a beginning.
            words.append(
                rf"{CAPITAL}{sign}(?=[\s:：)）,;/、・款型版がはにのをでとも的]|\.\s|\.?$)|{sign}(?=\s?[:：)）])"
            )
        elif len(key) == 1 and key.isdigit() and not self.offers.word:
            counts = r"(?!\s?[x×*]|\s(?:pcs|pc|szt|st|stk|pz|uds?)\b)"
            if worded:
                # "Option 2", later on "2 keys and a charger".
                counts += rf"(?!\s[{LETTER}])"
            words.append(rf"(?<!\d )(?<!\d){sign}(?=[\s:：)）,;/、款型版]|$){counts}")
        if key.isascii() and key.isdigit() and len(key) == 1:
            words.append(f"#{key}")
            if int(key) <= len(_NUMERALS):
                # "三款" are three kinds, "款三" is the third.
                words.append(
                    rf"(?<=[款型号案第组餐项])[{_NUMERALS[int(key) - 1]}{key}]|{_NUMERALS[int(key) - 1]}[号號番]"
                )
        if len(key) == 1 and "①" <= key <= "⑩":
            words.append(key)
        for each in (key, name) if not self.offers.word else ():
            if len(each) == 1 and each > "⑩":
                # "大：60V 28Ah", later on "大には充電器が付きます".
                words.append(rf"(?<![ぁ-ヿ一-鿿]){re.escape(each)}(?=[のはにをでとがも的用：:、])")
        return words

    def _other_names(self, listing: Listing) -> Iterator[tuple[int, re.Pattern[str]]]:
        """Yield what else each pack may be called: by its order, by its size, by the digits of its volts or Ah."""
        count = len(self.offers.names)
        by_size = self._by_size()
        yield from self._called_by_size(listing)
        for language in listing.spoken:
            # "The long one", and no "long life"; signs stand for themselves.
            lead = rf"{language.linking.either('article')}\s(?:{{0}})|(?=[^\x00-\x7f])(?:{{0}})"
            for row in language.sizes:
                if "first" in row:
                    yield from enumerate(list(row.values())[:count])
                elif by_size and {"small", "large"} <= row.keys():
                    sized = list(row.values()) if count == len(row) else [row["small"], row["large"]]
                    if count == len(sized):
                        yield from zip(
                            by_size, (re.compile(lead.format(each.pattern)) for each in sized), strict=True
                        )
        linking = listing.words.linking
        before = linking.either("article", "of")
        # "60 va con cargador" is no unit.
        small_words = frozenset().union(*(language.function for language in listing.spoken))
        units = sorted(set(listing.words.units) - small_words, key=len, reverse=True)
        unit = rf"[ \-]?(?:{'|'.join(map(re.escape, units))})(?![{LETTER}])"
        for sets in (self.volts, self.capacities):
            values = [value for each in sets for value in each if isinstance(value, float)]
            if len(values) != count or len(set(values)) != count:
                continue
            # "The 48 comes with a charger", "zum 48er gehört …".
            for index, value in enumerate(values):
                digits = rf"(?<![\d.,]){re.escape(f'{value:g}')}"
                yield (
                    index,
                    re.compile(
                        rf"{before}\s{digits}(?![\d.,:]*\d|\s?[%°€$£x×/]|{unit})|{digits}er[sn]?(?![^\W_])"
                    ),
                )

    def _called_by_size(self, listing: Listing) -> Iterator[tuple[int, re.Pattern[str]]]:
        """Yield the words of size that stand before each pack's figures, by which it is called ("1) Large – 72V")."""
        firsts: dict[int, Found] = {}
        for each in sorted(self.offers.owners, key=lambda each: each.start):
            for index in self.offers.owners[each]:
                firsts.setdefault(index, each)
        heads = {index: (listing.lines[each.line].start, each.start) for index, each in firsts.items()}
        for row in (row for language in listing.spoken for row in language.sizes):
            called = {
                index: pattern
                for index, (start, end) in heads.items()
                for pattern in row.values()
                if pattern.search(self.lower, start, min(end, start + _LONGEST_HEADING))
            }
            if len(called) == len(self.offers.names) == len(set(called.values())) > 1:
                yield from called.items()

    def _by_size(self) -> list[int]:
        """Return the packs from the smallest to the largest, [] where two hold the same."""
        held = [max((v for v in each if isinstance(v, float)), default=0.0) for each in self.capacities]
        return sorted(range(len(held)), key=held.__getitem__) if len(set(held)) == len(held) else []

    # -- by heading ------------------------------------------------------------------------------------------

    def by_heading(self, lines: Sequence[Line], by_line: dict[int, list[Found]]) -> None:
        """Give the block below a heading to the pack that the heading names ("Sticker of lot 32")."""
        heads = {
            line.number: owners
            for line in lines
            if line.number
            and line.number not in by_line
            and line.end - line.start <= _LONGEST_HEADING
            and not line.is_row
            for owners in [self._named(line.start, line.end, [])]
            if len(owners) == 1
        }
        for head, owners in heads.items():
            number = head + 1
            block = lines[number].block if number < len(lines) else -1
            while number < len(lines) and lines[number].block == block and number not in heads:
                loose = [each for each in by_line.get(number, []) if each not in self.offers.owners]
                self._give([each for each in loose if each.claimed], owners)
                number += 1

    # -- by mention ------------------------------------------------------------------------------------------

    def by_mention(self, line: Line, loose: list[Found]) -> None:
        """Give the figures of a part of a line to the packs that the part names."""
        parts = list(self._parts(line, loose))
        named = [(part, self._named(start, end, part)) for start, end, part in parts]
        whole = (
            self._named(line.start, min(line.end, parts[0][1]) if parts else line.end, []) if parts else ()
        )
        if parts and not whole and self._headed(line, parts[0][2]):
            whole = named[0][1]
        before: tuple[int, ...] = ()
        for (start, _, part), (_, owners) in zip(parts, named, strict=True):
            if owners:
                self._give(part, owners)
            elif before and self._goes_on(start, part, before):
                self._give(part, before)
            before = owners if owners else before if self._same_sentence(start, part) else ()
        if len(parts) > 1 and whole and not any(owners for _, owners in named[1:]):
            for part, _ in named[1:]:
                # What the pack has already is said of something else further on.
                if not any(self._have_another(whole, each) for each in part):
                    self._give(part, whole)

    def _goes_on(self, start: int, part: Sequence[Found], packs: tuple[int, ...]) -> bool:
        """Return whether a part says more of the packs that the one before names ("the 60 V: 40 A, at most 90 A")."""
        shared = any(
            start <= voice.start < part[-1].end and voice.names & {"common", "both"}
            for voice in self.voices.voices
        )
        # What all have is told apart for none.
        missing = all(not self._have(packs, each.field) for each in part)
        return not shared and missing and self._same_sentence(start, part) and part[0].field in _OF_CURRENTS

    def _same_sentence(self, start: int, part: Sequence[Found]) -> bool:
        return _SENTENCE_END.search(self.lower, max(0, start - 1), part[0].start) is None

    def _have(self, packs: Sequence[int], field: str) -> bool:
        """Return whether packs have a figure of a kind."""
        return any(
            each.field == field and each.claimed and set(owners) & set(packs)
            for each, owners in self.offers.owners.items()
        )

    def _headed(self, line: Line, part: Sequence[Found]) -> bool:
        """Return whether a line begins with a figure that names a pack, and a colon ("30Ah：持续60A，重11公斤")."""
        begins = part and part[0].field in _REFERENCES and part[0].start - line.start <= _LONGEST_BULLET
        return bool(begins) and self.lower[part[0].end : part[0].end + 2].strip()[:1] in (":", "：")

    def _have_another(self, packs: Sequence[int], figure: Found) -> bool:
        """Return whether packs have figures of a kind already, and none of this value."""
        values = {
            each.value
            for each, owners in self.offers.owners.items()
            if each.field == figure.field and each.claimed and set(owners) & set(packs)
        }
        return bool(values) and figure.value not in values

    def _give(self, part: list[Found], owners: tuple[int, ...]) -> None:
        for each in part:
            if each.field == "peak_seconds":
                # Said once for all ("peak 5 s: a) 30 A, b) 40 A").
                continue
            if each.field in _REFERENCES and self._is_reference(each):
                self.offers.owners[each] = ()
            else:
                self.offers.owners[each] = owners

    def _is_reference(self, each: Found) -> bool:
        return any(each.value in values for values in self.references[each.field])

    def _parts(self, line: Line, loose: list[Found]) -> Iterator[tuple[int, int, list[Found]]]:
        """Yield the parts of a line between separators outside of brackets, each with its figures."""
        cuts = [line.start]
        mentioned = self._mentioned(line, loose)
        lists = list(self._lists(line, loose))
        for match in self.separator.finditer(self.lower, line.start, line.end):
            inside = any(each.start < match.end() and match.start() < each.end for each in loose)
            # "Lots 1 and 2" is one mention.
            inside = inside or any(start < match.start() and match.end() < end for start, end in mentioned)
            joins = any(
                a.end <= match.start()
                and match.end() <= b.start <= a.end + _WIDEST_PAIR
                and (a.field, b.field) in _PAIRS
                # "42 V 2 A for the 36 V pack, 54.6 V …": the volts of a pack end what is said of its charger.
                and not (a.field in _REFERENCES and before is not None and before.field in _OF_CHARGER)
                for before, a, b in zip([None, *loose], loose, loose[1:], strict=False)
            )
            listed = any(start <= match.start() < end for start, end in lists)
            if not inside and not joins and (listed or self._depth(line.start, match.start()) == 0):
                cuts.append(match.end())
        first = [*self._mentioned_first(line, loose), *self._before_colon(loose, mentioned)]
        first += [start for start, _ in lists]
        cuts = sorted({*cuts, *self._brackets(line, loose), *first})
        begin = cuts[0]
        for start, end in zip(cuts, [*cuts[1:], line.end], strict=True):
            part = [each for each in loose if start <= each.start < end]
            if part:
                yield begin, end, part
            # "A, B: 40 A": a name alone goes with what follows it, and no figure of another thing does.
            if part or end - begin > _LONGEST_KEY or self._holds_more(begin, end, mentioned):
                begin = end

    def _holds_more(self, start: int, end: int, mentioned: Sequence[tuple[int, int]]) -> bool:
        """Return whether a stretch holds digits that are no pack's key."""
        return any(
            self.lower[place].isdigit() and not any(a <= place < b for a, b in mentioned)
            for place in range(start, end)
        )

    def _mentioned(self, line: Line, loose: Sequence[Found]) -> list[tuple[int, int]]:
        """Return the places of a line at which packs are mentioned; the "A" of "2 A" is no pack of that name."""
        words = self._with_capitals(line.start, self.lower[line.start : line.end])

        def place(found: int) -> int:
            return line.start + found - words.count(CAPITAL, 0, found)

        found = [
            (place(match.start()), place(match.end()))
            for mention in self.mentions
            for match in mention.finditer(words)
        ]
        return [
            span for span in found if not any(each.start < span[1] and span[0] < each.end for each in loose)
        ]

    def _mentioned_first(self, line: Line, loose: list[Found]) -> Iterator[int]:
        """Yield where packs are mentioned before their figures ("the small in 4 h and the large in 6 h")."""
        mentioned = sorted({start for start, _ in self._mentioned(line, loose)})
        begin = line.start
        for end in (*(m.end() for m in _SENTENCE_END.finditer(self.lower, line.start, line.end)), line.end):
            starts = [start for start in mentioned if begin <= start < end]
            if len(starts) > 1 and any(starts[-1] < each.start < end for each in loose):
                yield from starts if self.offers.aliases else starts[:1]
            begin = end

    def _before_colon(self, loose: list[Found], mentioned: Sequence[tuple[int, int]]) -> Iterator[int]:
        """Yield where a colon ends what all packs have ("Charger (2A): 29.4V for S, 42V for M")."""
        for each in loose:
            colon = _COLON.match(self.lower, each.end)
            apart = [start for start, _ in mentioned if colon is not None and start >= colon.end()]
            if colon is not None and len(apart) > 1 and each.field not in _REFERENCES:
                yield colon.end()

    def _brackets(self, line: Line, loose: list[Found]) -> Iterator[int]:
        """Yield where a bracket begins that holds a figure of its own ("10AWG (3P: 12AWG)")."""
        for match in _BRACKET.finditer(self.lower, line.start, line.end):
            inside = [each for each in loose if match.start() <= each.start < match.end()]
            outside = {each.field for each in loose if each.start < match.start()}
            if any(each.field in outside and each.field not in _REFERENCES for each in inside):
                yield match.start()

    def _lists(self, line: Line, loose: list[Found]) -> Iterator[tuple[int, int]]:
        """Yield the brackets that tell packs apart ("2 A (42 V for the 36 V packs, 54.6 V for the long one)")."""
        for match in _BRACKET.finditer(self.lower, line.start, line.end):
            fields = [each.field for each in loose if match.start() <= each.start < match.end()]
            if any(fields.count(name) > 1 for name in fields if name not in _REFERENCES):
                yield match.span()

    def _depth(self, start: int, place: int) -> int:
        before = self.lower[max(start, place - 60) : place]
        return max(0, before.count("(") - before.count(")"))

    def _named(self, start: int, end: int, part: Sequence[Found]) -> tuple[int, ...]:
        rest = list(self.lower[start:end])
        for each in part:
            rest[each.start - start : each.end - start] = " " * (each.end - each.start)
        words = self._with_capitals(start, "".join(rest))
        found = {index for index, mention in enumerate(self.mentions) if self._is_named(mention, words)}
        found |= self._by_suffix(words)
        if not found:
            plain = "".join(rest)
            found = {index for index, name in self.other_names if name.search(plain)}
        found = found or self._by_value(part)
        # A part that names every pack names none.
        return tuple(sorted(found)) if len(found) < len(self.mentions) else ()

    def _with_capitals(self, start: int, words: str) -> str:
        """Return words with a sign before each capital that stands alone, or begins the end of a pack's name."""
        ends = "".join(f"|{re.escape(end)}" for end in self.endings.values())
        return re.sub(
            rf"(?<![a-z0-9])(?:[a-z]{ends})(?![a-z0-9])",
            lambda match: (CAPITAL if self.text[start + match.start()].isupper() else "") + match.group(),
            words,
        )

    def _is_named(self, mention: re.Pattern[str], words: str) -> bool:
        return mention.search(words) is not None

    def _by_suffix(self, words: str) -> set[int]:
        """Return the packs of "TW-10/13", where names share all but their ends."""
        prefix = self.shared_prefix
        if not prefix:
            return set()
        match = re.search(rf"{re.escape(prefix)}([a-z0-9]+(?:\s?[/,&+]\s?[a-z0-9]+)+)", words)
        ends = re.findall(r"[a-z0-9]+", match[1]) if match else []
        return {
            index for index, name in enumerate(self.offers.names) if name.lower().removeprefix(prefix) in ends
        }

    def _by_value(self, part: Sequence[Found]) -> set[int]:
        """Return the packs whose voltage and capacity a part names beside other figures."""
        if all(each.field in _REFERENCES for each in part):
            return set()
        named = [
            (own, values)
            for field, own in self.references.items()
            if (values := {each.value for each in part if each.field == field})
        ]
        if not named:
            return set()
        return {
            index for index in range(len(self.volts)) if all(own[index] & values for own, values in named)
        }

    # -- by the voltage of a full pack ---------------------------------------------------------------------

    def by_full(self, loose: Sequence[Found]) -> None:
        """Give chargers of several voltages to the packs that are full at them, where each fits packs of its own."""
        for field in ("charge_voltage_v", "full_voltage_v"):
            same = [each for each in loose if each.field == field and isinstance(each.value, float)]
            packs = {each.value: self._full_at(each.value) for each in same}
            fitting = [index for found in packs.values() for index in found]
            if len(packs) < 2 or not all(packs.values()) or len(set(fitting)) < len(fitting):
                continue
            for each in same:
                self.offers.owners[each] = packs[each.value]
                run = each.quantity.run if each.quantity is not None else -1
                for other in loose:
                    beside = other.quantity is not None and other.quantity.run == run
                    if beside and other.field == "charge_current_a":
                        self.offers.owners[other] = packs[each.value]

    def _full_at(self, volts: float) -> tuple[int, ...]:
        """Return the packs that are full at a voltage, by their cells in series, else by their volts."""
        least, most = FULL_OVER_NOMINAL
        series = self.references["series"]
        return tuple(
            index
            for index, nominal in enumerate(self.volts)
            if any(is_full(volts, int(count)) for count in series[index] if isinstance(count, float))
            or (
                not series[index]
                and any(least <= volts / each <= most for each in nominal if isinstance(each, float) and each)
            )
        )

    # -- by order --------------------------------------------------------------------------------------------

    def by_order(self, number: int, loose: list[Found]) -> None:
        """Give as many figures as there are packs to them in order."""
        if any("common" in voice.names for voice in self.voices.by_line.get(number, [])):
            return
        for field in {each.field for each in loose} - _LISTED:
            self._in_order([each for each in loose if each.field == field])

    def _in_order(self, same: list[Found]) -> None:
        if len(same) == len(self.offers.names) and len({each.value for each in same}) > 1:
            for index, each in enumerate(same):
                self.offers.owners[each] = (index,)


def _endings(names: Sequence[str]) -> dict[str, str]:
    """Return by what word each pack is called for short, where all names are one word and another behind it."""
    parts = {name: folded(name).split() for name in names}
    ends = {name: words[1] for name, words in parts.items() if len(words) == 2 and words[1].isalpha()}
    alike = len({words[0] for words in parts.values() if words}) == 1
    return ends if alike and len(set(ends.values())) == len(names) else {}


def _shared_prefix(names: Sequence[str]) -> str:
    """Return what all names begin with, where they differ only in a number behind it."""
    found = {match[1].lower() for name in names if (match := re.fullmatch(r"(.*?[^\d])(\d+)", name))}
    return (
        found.pop() if len(found) == 1 and all(re.fullmatch(r".*?[^\d]\d+", name) for name in names) else ""
    )
