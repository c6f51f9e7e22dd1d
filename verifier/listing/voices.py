"""Whose word it is, and when: only what the seller says now of this very pack is a claim.

A question is the buyer's, and its answer the seller's; what is quoted is somebody else's; what a pack had
when new is past; what was measured is no claim; what stands beside "replaces" is another product.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from verifier.listing.clauses import Clause
from verifier.listing.denials import Denials
from verifier.listing.exchanges import PUT_IN, TAKEN_OUT, WANTED
from verifier.listing.labels import Label
from verifier.listing.layout import Line
from verifier.listing.linking import Linking
from verifier.listing.others import words_of_others
from verifier.listing.quantity import Quantity
from verifier.listing.questions import Questions
from verifier.listing.reading import ClaimKind
from verifier.listing.source import LETTER
from verifier.listing.turns import Turns

_SHORTEST_LEAD = 6
# Of packs on sale, and of what was measured, "this one" sets nothing against another.
_NO_CONTRAST = frozenset({"measured", "variant", "also_offered", "hearsay"})
# "24V 12Ah SLA", "20Ah is the other version": so near, what stands before is meant.
_LONGEST_TAIL = 6
_LONGEST_TIME = 24
# A statement about something else goes on to the end of its sentence, until the pack itself is named again.
_SCOPES: tuple[tuple[str, ClaimKind], ...] = (
    ("other_product", "other_product"), ("related", "other_product"), ("hearsay", "derived"),
    ("earlier", "derived"), ("measured", "derived"), ("wish", "derived"),
    ("past", "derived"), ("sold_out", "other_product"), ("lead_acid", "other_product"), ("own_setting", "derived"),
    ("set_to", "derived"), ("handed_in", "derived"), ("charged_so", "derived"),
)  # fmt: skip
_OF_ONE_CLAUSE = frozenset({"own_setting", "set_to", "charged_so"})
_MARKED: tuple[tuple[str, ClaimKind], ...] = ((TAKEN_OUT, "derived"), (WANTED, "other_product"))
_ENDS_SCOPE = frozenset({"this_pack", "now"})
# A second pack on sale is told of in a short line of its own, with more than its name.
_LONGEST_OFFER = 160
_MORE_OF_A_PACK = ("series", "parallel", "cells", "current", "energy", "mass")
_FEWEST_MORE = 2
_NOT_OFFERED = frozenset({"label", "measured", "earlier", "hearsay", "common"})
_ADDED_UP = frozenset({"capacity", "energy", "voltage"})
# Several packs come to a multiple of the figure of one, as far as it is printed rounded; more are not coupled.
_MOST_COUPLED = 16
_ROUNDED = 0.1
# Lithium-ion and iron phosphate cells are full so (cell datasheets); so near a whole number of them is full. [V]
_FULL_CELLS_V = (4.2, 3.65)
_WHOLE = 0.02
_OF_CELLS = frozenset({"cell", "per_cell"})
_BEFORE_SOMETHING = frozenset({"cycles", "times", "current", "seconds"})
_MEASURES = frozenset({"capacity", "energy", "voltage", "current"})
_OF_A_PACK = frozenset({"capacity", "energy", "voltage"})
_WORD = re.compile(rf"[{LETTER}]{{2,}}")
_SIGNS = re.compile("[ぁ-ヿ一-鿿]")
# "20Aで放電テストをしたところ、31Ahでした": what was found follows.
_TESTED_SO = re.compile(r"を?(?:した|行った|行なった|し)(?:ところ|ら|結果)|，?(?:结果|得到)")
# So many lines below a heading that says what was measured hold what was.
_MOST_MEASURED = 20


class Voices:
    """Tells for every number whose word it is."""

    def __init__(
        self, lower: str, lines: Sequence[Line], clauses: list[Clause], voices: list[Label], turns: Turns,
        linking: Linking, sizes: Sequence[Mapping[str, re.Pattern[str]]],
    ) -> None:  # fmt: skip
        self.lower = lower
        self.lines = lines
        # By what words packs are told of in order ("the first", "the second").
        self.in_order = [pattern for row in sizes if "first" in row for pattern in row.values()]
        self.bare_behind = re.compile(rf"\s?(?:{linking.either('article')}\s)?\d")
        self.clauses = clauses
        self.voices = voices
        self.by_line: dict[int, list[Label]] = {}
        for voice in voices:
            self.by_line.setdefault(voice.line, []).append(voice)
        self.used = self._sells_used()
        self.kind_of_line = turns.kinds
        self.denials = Denials(lower)
        self.of_line: dict[int, list[Clause]] = {}
        for clause in clauses:
            self.of_line.setdefault(clause.line, []).append(clause)
        self.questions = Questions(lower, lines, clauses, voices, turns)
        self.with_figures = {clause.line for clause in clauses if clause.quantities}
        self.last_now = {
            clause.sentence: voice.start
            for clause in clauses
            for voice in clause.voices
            if "now" in voice.names
        }
        self.on_lead = {clause.sentence for clause in clauses if clause.named("lead_acid")}
        self.kind_of_clause = self._scopes()
        self.of_others = {*self._set_against(), *self._of_vehicles(), *self._of_the_factory()}
        self.measured = set(self._below_measured())
        self.tested = set(self._behind_a_test())

    def _sells_used(self) -> bool:
        """Return whether a used pack is sold: terms of what is taken back or bought do not say so."""
        terms = -1
        for clause in self.clauses:
            names = {name for voice in clause.voices for name in voice.names}
            # "Used pack, no returns" names the pack first.
            if "takes_back" in names and clause.line:
                terms = clause.sentence
            if "private" in names or ("used" in names and clause.sentence != terms):
                return True
        return False

    # -- scopes within a sentence ----------------------------------------------------------------------------

    def _scopes(self) -> dict[int, list[tuple[int, int, ClaimKind, str]]]:
        """Return, by clause, the stretches that speak of something else or of earlier."""
        found: dict[int, list[tuple[int, int, ClaimKind, str]]] = {}
        going: list[tuple[ClaimKind, str]] = []
        sentence = -1
        for index, clause in enumerate(self.clauses):
            if clause.sentence != sentence:
                going, sentence = [], clause.sentence
            if going and clause.start and self.lower[clause.start - 1] in ";；":
                going = []
            named = {name for voice in clause.voices for name in voice.names} & _ENDS_SCOPE
            if going and named:
                # "Originally, this pack gave 8 Ah" names the pack, and no other time.
                alone = named == {"this_pack"} and self._tells_when(index - 1)
                going = [each for each in going if alone and each[1] == "earlier"]
            for kind, name in going:
                found.setdefault(index, []).append((clause.start, clause.end, kind, name))
            for start, end, kind, name, goes_on in self._opened(clause, index):
                found.setdefault(index, []).append((start, end, kind, name))
                if goes_on:
                    going.append((kind, name))
        return found

    def _opened(self, clause: Clause, index: int) -> Iterator[tuple[int, int, ClaimKind, str, bool]]:
        """Yield what a clause begins to speak of, how far that reaches, and whether its sentence goes on so."""
        for start, end, goes_on in words_of_others(self.lower, self.clauses, index):
            yield start, end, "other_product", "others", goes_on
        for voice in clause.voices:
            for name, kind in _SCOPES:
                if name in voice.names and self._opens(clause, voice, name):
                    start, end = self._reach(clause, voice)
                    goes_on = (
                        end == clause.end
                        and name not in _OF_ONE_CLAUSE
                        and (name != "wish" or self._governs(clause, voice))
                    )
                    yield start, end, kind, name, goes_on

    def _tells_when(self, index: int) -> bool:
        """Return whether a clause is nothing but the words for an earlier time, at the head of its sentence."""
        clause = self.clauses[index]
        opens = index == 0 or self.clauses[index - 1].sentence != clause.sentence
        spoken = {name for voice in clause.voices for name in voice.names}
        short = clause.end - clause.start <= _LONGEST_TIME
        return opens and short and "earlier" in spoken and not clause.labels and not clause.quantities

    @staticmethod
    def _governs(clause: Clause, voice: Label) -> bool:
        """Return whether a figure stands behind a word in its clause ("I need 40 A", not "I need the room")."""
        return any(quantity.start >= voice.end for quantity in clause.quantities)

    def _set_against(self) -> Iterator[Quantity]:
        """Yield what the pack is set against in a line: "The usual ones hold 10 Ah. Ours holds 14 Ah."."""
        for line in self.of_line.values():
            first = next((clause for clause in line if self._contrasts(clause)), None)
            if first is None:
                continue
            before = [clause for clause in line if clause.sentence < first.sentence]
            names = {name for clause in (*before, first) for voice in clause.voices for name in voice.names}
            if names & _NO_CONTRAST:
                continue
            own = {q.dimension: q.value for c in line if c.sentence == first.sentence for q in c.quantities}
            for clause in before:
                yield from (
                    q
                    for q in clause.quantities
                    # The mAh of a cell are no capacity to set against.
                    if own.get(q.dimension, q.value) != q.value
                    and not (q.milli and q.dimension == "capacity")
                )

    def _of_vehicles(self) -> Iterator[Quantity]:
        """Yield what a vehicle "came with", where the pack is told to have something else."""
        told: dict[str, Counter[float]] = {}
        for clause in self.clauses:
            for quantity in clause.quantities:
                told.setdefault(quantity.dimension, Counter())[quantity.value] += 1
        for clause in self.clauses:
            voice = next((voice for voice in clause.voices if "came_with" in voice.names), None)
            if voice is None or clause.named("charger"):
                continue
            signs = _SIGNS.search(self.lower, voice.start, voice.end) is not None
            for quantity in clause.quantities:
                before = quantity.end <= voice.start
                if quantity.dimension not in _OF_A_PACK or before != signs:
                    continue
                # Told nowhere else, where the pack has another.
                if len(told[quantity.dimension]) > 1 and told[quantity.dimension][quantity.value] == 1:
                    yield quantity

    def _of_the_factory(self) -> Iterator[Quantity]:
        """Yield the ampere-hours that "factory" or "original" stands right before, where the pack has others."""
        told = Counter(
            quantity.value
            for clause in self.clauses
            for quantity in clause.quantities
            if quantity.dimension == "capacity" and not quantity.milli
        )
        for clause in self.clauses if len(told) > 1 else ():
            if clause.named("capacity", "label"):
                continue
            for quantity in clause.quantities:
                beside = any(
                    "factory" in voice.names and 0 <= quantity.start - voice.end <= 1
                    for voice in clause.voices
                )
                if beside and quantity.dimension == "capacity" and told[quantity.value] == 1:
                    yield quantity

    def _below_measured(self) -> Iterator[int]:
        """Yield the lines below a heading that says what was measured ("Measured on Saturday:"), to a blank line."""
        for head, following in pairwise(self.lines):
            words = self.lower[head.start : head.end].rstrip()
            heads = head.number not in self.with_figures and words.endswith((":", "："))
            if not heads or following.block != head.block:
                continue
            if any("measured" in voice.names for voice in self.by_line.get(head.number, [])):
                yield from (
                    line.number
                    for line in self.lines[head.number + 1 :][:_MOST_MEASURED]
                    if line.block == head.block
                )

    def _behind_a_test(self) -> Iterator[Quantity]:
        """Yield what a test gave, behind a dash or colon ("Pack tested – 13.4 Ah at 10 A"), of a pack sold as another.

        A capacity that stands nowhere else is the only one that the seller states.
        """
        for head, clause in pairwise(self.clauses):
            words = self.lower[head.start : head.end].rstrip()
            if (
                head.line != clause.line
                or head.quantities
                or not words.endswith(("-", "–", "—", ":"))
                or not any("measured" in voice.names for voice in head.voices)
            ):
                continue
            elsewhere = {
                (q.dimension, q.value)
                for each in self.clauses
                if each.sentence != clause.sentence
                for q in each.quantities
                if not q.own & _OF_CELLS
            }
            for quantity in clause.quantities:
                others = {value for dimension, value in elsewhere if dimension == quantity.dimension}
                if quantity.dimension in ("capacity", "energy") and others - {quantity.value}:
                    yield quantity

    def _contrasts(self, clause: Clause) -> bool:
        """Return whether a clause begins with a "this one", as against others."""
        return any(
            "contrast" in voice.names and voice.start - clause.start <= _SHORTEST_LEAD
            for voice in clause.voices
        )

    def _opens(self, clause: Clause, voice: Label, name: str) -> bool:
        """Return whether a word begins to speak of something else than the pack as it is."""
        # A shop's words of praise in the title head no list of other articles.
        if name == "related":
            return voice.line > 0
        if name == "other_product" and "also_offered" in voice.names and self._is_second_pack(voice):
            return False
        # "The second is older": a pack on sale all the same.
        if (
            name in ("other_product", "earlier")
            and not clause.quantities
            and self._is_in_order(clause, voice)
        ):
            return False
        # "It had 8 Ah" tells of earlier where the sentence says what it has now.
        if name == "past":
            return self.last_now.get(clause.sentence, -1) > voice.start and self._governs(clause, voice)
        # "I set the BMS to 25 A": what the seller did; "the BMS is set to 25 A" tells of the pack.
        if name == "set_to":
            return any("first_person" in each.names for each in clause.voices)
        return name != "measured" or self._heads(clause, voice)

    def _is_in_order(self, clause: Clause, voice: Label) -> bool:
        """Return whether a clause begins to tell of a pack by its order, before a word."""
        return any(
            0 <= match.start() - clause.start <= _SHORTEST_LEAD and match.end() <= voice.start
            for pattern in self.in_order
            if (match := pattern.search(self.lower, clause.start, voice.end)) is not None
        )

    def _is_second_pack(self, voice: Label) -> bool:
        """Return whether an "also have" tells of a second pack as fully as the line before of the first."""
        line = self.lines[voice.line]
        leads = not _WORD.search(self.lower, line.start, voice.start)
        return leads and voice.line >= 2 and all(map(self._tells_of_a_pack, (voice.line - 1, voice.line)))

    def _tells_of_a_pack(self, number: int) -> bool:
        """Return whether a line is short and gives one voltage, one capacity and more of one pack."""
        line = self.lines[number]
        count = Counter(q.dimension for clause in self.of_line.get(number, []) for q in clause.quantities)
        apart = any(voice.names & _NOT_OFFERED for voice in self.by_line.get(number, []))
        return (
            line.end - line.start <= _LONGEST_OFFER
            and not apart
            and count["voltage"] == count["capacity"] == 1
            and sum(bool(count[name]) for name in _MORE_OF_A_PACK) >= _FEWEST_MORE
        )

    def _heads(self, clause: Clause, voice: Label) -> bool:
        """Return whether a number, or nothing at all, stands behind a word in its clause."""
        if not clause.quantities or clause.quantities[-1].start >= voice.end:
            return True
        return _TESTED_SO.match(self.lower, voice.end) is not None or self._tells_oneself(clause, voice)

    @staticmethod
    def _tells_oneself(clause: Clause, voice: Label) -> bool:
        """Return whether somebody tells of what was measured before the word for it ("I only did 3 A on the bench")."""
        before = clause.quantities[0].start if clause.quantities else clause.end
        return any(
            "first_person" in each.names and each.start < before and each.start < voice.start
            for each in clause.voices
        )

    def _reach(self, clause: Clause, voice: Label) -> tuple[int, int]:
        """Return what a word about something else covers: all behind it, else the figures right before it."""
        stop = next(
            (
                each.start for each in clause.voices
                if each.start >= voice.end
                and each.names & _ENDS_SCOPE
                and not each.names & voice.names
                and not self._when_measured(clause, voice, each)
            ),
            clause.end,
        )  # fmt: skip
        stop = self._before_colon(clause, voice, stop)
        # "12 V lead batteries, four of them": what stands right before is theirs, whatever follows.
        theirs = [q for q in clause.quantities if 0 <= voice.start - q.end <= 1 and q.dimension in _MEASURES]
        if theirs and "lead_acid" in voice.names:
            return min(q.start for q in clause.quantities if q.run == theirs[-1].run), stop
        # "BMS of 40 A, set by me to 35 A": the first is the pack's all the same.
        apart = any(q.end <= voice.start for q in clause.quantities) and any(
            voice.end <= q.start for q in clause.quantities
        )
        if "sold_out" in voice.names or ("set_to" in voice.names and not apart):
            return clause.start, clause.end
        if _SIGNS.search(self.lower, voice.start, voice.end) and "measured" in voice.names:
            # The verb ends its clause.
            return clause.start, stop
        behind = any(q.start >= voice.end and q.dimension in _MEASURES for q in clause.quantities)
        if "measured" in voice.names and not behind and self._tells_oneself(clause, voice):
            return clause.start, stop
        if any(voice.end <= quantity.start < stop for quantity in clause.quantities):
            return voice.start, stop
        # "3000 cycles instead of 300": its figure stands behind, without its unit.
        if self.bare_behind.match(self.lower, voice.end):
            return voice.start, stop
        before = [quantity for quantity in clause.quantities if quantity.end <= voice.start]
        # "700 cycles before it has lost a fifth", "55 A before the board eases off": nothing that was.
        if "earlier" in voice.names and before and before[-1].dimension in _BEFORE_SOMETHING:
            return voice.start, stop
        if not before or voice.start - before[-1].end > _LONGEST_TAIL:
            return voice.start, stop
        return min(q.start for q in before if q.run == before[-1].run), stop

    def _before_colon(self, clause: Clause, voice: Label, stop: int) -> int:
        """Return where a colon ends what the pack is set against ("as against 280 Wh: on the flat 40 km")."""
        colon = self.lower.find(": ", voice.end, stop)
        first = min((each.end for each in clause.voices if "other_product" in each.names), default=voice.end)
        figures = any(first <= quantity.start < colon for quantity in clause.quantities)
        return colon if figures and "other_product" in voice.names else stop

    @staticmethod
    def _when_measured(clause: Clause, voice: Label, each: Label) -> bool:
        """Return whether a "now" only says when it was measured ("measured now: 11 Ah")."""
        between = any(voice.end <= quantity.start < each.start for quantity in clause.quantities)
        return "measured" in voice.names and "this_pack" not in each.names and not between

    # -- altogether ------------------------------------------------------------------------------------------

    def kind(self, quantity: Quantity, clause_index: int, line: Line) -> ClaimKind | None:
        """Return why a number is no claim of the seller's, or None where it is."""
        clause = self.clauses[clause_index]
        asked = self.questions.asked(quantity, line)
        if asked is not None:
            return self._of_question(quantity, clause_index, asked)
        if line.number in self.kind_of_line:
            return self.kind_of_line[line.number]
        if self._is_past(line) and not self._is_now(quantity, line):
            return "derived"
        marked = next((kind for mark, kind in _MARKED if mark in quantity.about), None)
        if marked is not None:
            return marked
        if self.denials.negated(quantity, clause) or self.questions.refused(quantity, line):
            return "negated"
        if self.denials.quoted(quantity, line):
            return "derived"
        if self._of_several(quantity, clause_index):
            return "derived"
        if PUT_IN in quantity.about:
            return None
        if quantity in self.of_others:
            return "other_product"
        return self._scoped(quantity, clause_index) or self._summed(quantity, clause)

    def _of_question(self, quantity: Quantity, clause_index: int, asked: ClaimKind) -> ClaimKind | None:
        """Return why a number in a question is no claim, by what its answer makes of it; None where it is one."""
        if asked != "stated":
            return asked
        # "Is there one of 48V 13Ah?" "Yes, another listing".
        if quantity in self.of_others:
            return "other_product"
        # "My moped has five 12 V lead batteries, will it fit?" "Yes".
        of_lead = self.clauses[clause_index].sentence in self.on_lead
        other = "other_product" if of_lead else self._scoped(quantity, clause_index)
        return other if other == "other_product" else None

    def _of_several(self, quantity: Quantity, clause_index: int) -> bool:
        """Return whether a number is what several packs come to ("up to 4 packs in parallel: 80 Ah")."""
        if quantity.dimension not in _ADDED_UP:
            return False
        clause = self.clauses[clause_index]
        near = [clause]
        if not clause.labels and clause_index and self.clauses[clause_index - 1].sentence == clause.sentence:
            near.append(self.clauses[clause_index - 1])
        # "Two of these cells in parallel" are one pack.
        if any(each.named("cell") for each in near):
            return False
        if not any("several" in voice.names for each in near for voice in each.voices):
            return False
        alike = [
            other.value
            for each in self.clauses
            if each not in near
            for other in each.quantities
            if other.dimension == quantity.dimension and not other.own & _OF_CELLS
        ]
        # Of a note that stands alone, its words tell.
        by_words = not alike and any(each.named("of_these") for each in near)
        return by_words or any(_is_sum(quantity.value, each) for each in alike)

    def _is_multiple(self, quantity: Quantity) -> bool:
        """Return whether another figure of the listing is a half, a third or a quarter of it."""
        others = {
            q.value for clause in self.clauses for q in clause.quantities if q.dimension == quantity.dimension
        }
        return any(
            abs(quantity.value / count - other) < 0.01 * other for count in (2, 3, 4) for other in others
        )

    def _is_past(self, line: Line) -> bool:
        """Return whether a whole line tells of earlier ("Before: 14S3P, 9.9 Ah")."""
        for voice in self.by_line.get(line.number, [])[:2]:
            if "earlier" in voice.names and not self.lower[line.start : voice.start].strip(" -–—•*·\t"):
                return re.match(r"\s?[:：]", self.lower[voice.end - 1 : voice.end + 2]) is not None or (
                    self.lower[voice.end - 1] == ":"
                )
        return False

    def _is_now(self, quantity: Quantity, line: Line) -> bool:
        """Return whether a line that begins with earlier has come to now ("Before: 10 Ah, after the work 14 Ah")."""
        return any(
            "now" in voice.names and voice.end <= quantity.start
            for voice in self.by_line.get(line.number, [])
        )

    def _scoped(self, quantity: Quantity, clause_index: int) -> ClaimKind | None:
        of_pack = quantity.dimension in _MEASURES and not quantity.own & {"bms", "charger"}
        if quantity in self.tested or (of_pack and self.clauses[clause_index].line in self.measured):
            return "derived"
        for start, end, kind, name in self.kind_of_clause.get(clause_index, []):
            if name == "measured" and quantity.dimension not in _MEASURES:
                continue
            # "Send us your 36V 9Ah pack": what it holds changes, what it is called stays.
            if name == "handed_in" and quantity.dimension not in ("capacity", "energy"):
                continue
            if name == "measured" and quantity.own & {"bms"}:
                continue
            # "I always charged it to 82 V": how it was used; the charger has its own volts all the same.
            if name == "charged_so" and not _is_habit(quantity):
                continue
            # "放到60V断电": where it is switched off is no measurement.
            switched_off = "end" in quantity.own and _SIGNS.search(self.lower, start, quantity.start)
            if name == "measured" and switched_off:
                continue
            if start <= quantity.start < end:
                return kind
        return None

    def _summed(self, quantity: Quantity, clause: Clause) -> ClaimKind | None:
        """Return that a number is a sum where "in total" or the like speaks of it: the nearest one to it."""
        if quantity.dimension not in ("capacity", "energy", "distance"):
            return None
        for voice in clause.voices:
            if "both" in voice.names and self._is_multiple(quantity):
                alike = [q for q in clause.quantities if q.dimension == quantity.dimension]
                if (
                    min(alike, key=lambda q: min(abs(voice.start - q.end), abs(q.start - voice.end)))
                    is quantity
                ):
                    return "derived"
        return None


def _is_habit(quantity: Quantity) -> bool:
    """Return whether volts to which somebody charged are of a habit: not a charger's, nor those of full cells."""
    if quantity.dimension != "voltage" or "charger" in quantity.own:
        return False
    cells = (quantity.value / full for full in _FULL_CELLS_V)
    return all(abs(count - round(count)) > _WHOLE for count in cells)


def _is_sum(value: float, one: float) -> bool:
    """Return whether a figure is what several packs of another figure come to."""
    count = round(value / one) if one > 0 else 0
    return 2 <= count <= _MOST_COUPLED and abs(value / one - count) <= _ROUNDED
