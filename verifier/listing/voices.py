"""Whose word it is, and when: only what the seller says now of this very pack is a claim.

A question is the buyer's, and its answer the seller's; a review is somebody else's; what a pack had when new
is past; what stands beside "replaces" or under "you may also like" is another product.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from verifier.listing.clauses import Clause, Label
from verifier.listing.layout import Line
from verifier.listing.numbers import Quantity
from verifier.listing.reading import ClaimKind

_LONGEST_HEADING = 70
_LONGEST_NEGATION = 30
_LONGEST_ANSWER = 25
# "24V 12Ah SLA", "20Ah is the other version": so near, what stands before is meant.
_LONGEST_TAIL = 6
_STARS = re.compile(r"[★☆⭐]{2,}|\b[1-5]/5\b")
_TURN = re.compile(r"\s*(?:[-–—•*>#\d.]\s*)*")
# A statement about something else goes on to the end of its sentence, until the pack itself is named again.
_SCOPES: tuple[tuple[str, ClaimKind], ...] = (
    ("other_product", "other_product"), ("hearsay", "derived"), ("earlier", "derived"),
)  # fmt: skip
_ENDS_SCOPE = frozenset({"measured", "this_pack"})
_NOW = frozenset({"measured"})


@dataclass(slots=True)
class Part:
    """A stretch of lines and whose they are: the listing's own, a neighbour's, reviewers', askers'."""

    name: str = "own"
    answered: bool = False


class Voices:
    """Tells for every number whose word it is."""

    def __init__(
        self, lower: str, lines: Sequence[Line], clauses: list[Clause], labels: list[Label], voices: list[Label]
    ) -> None:
        self.lower = lower
        self.lines = lines
        self.clauses = clauses
        self.voices = voices
        self.starts = [voice.start for voice in voices]
        self.by_line: dict[int, list[Label]] = {}
        for voice in voices:
            self.by_line.setdefault(voice.line, []).append(voice)
        self.label_lines = {label.line for label in labels}
        self.used = any("used" in voice.names for voice in voices)
        self.kind_of_line = self._parts()
        self.kind_of_clause = self._scopes()
        self.denied = self._denied_questions()

    # -- sections and turns ---------------------------------------------------------------------------------

    def _parts(self) -> dict[int, ClaimKind]:
        """Return the lines that are somebody else's word."""
        found: dict[int, ClaimKind] = {}
        part = "own"
        for line in self.lines:
            part = self._part_after(line, part)
            turn = self._turn(line)
            if part == "related":
                found[line.number] = "other_product"
            elif turn == "question" or (part in ("reviews", "faq") and turn != "answer"):
                found[line.number] = "derived"
            elif self._is_review(line):
                found[line.number] = "derived"
        return found

    def _part_after(self, line: Line, part: str) -> str:
        text = self.lower[line.start : line.end].strip()
        if len(text) > _LONGEST_HEADING or any(each.isdigit() for each in text):
            return part
        names = {name for voice in self._leading(line) for name in voice.names}
        for name in ("related", "reviews", "faq"):
            if name in names:
                return name
        return "own" if "describes" in names else part

    def _leading(self, line: Line) -> list[Label]:
        """Return the known words that a line begins with."""
        start = _TURN.match(self.lower, line.start, line.end)
        place = start.end() if start else line.start
        return [voice for voice in self.by_line.get(line.number, []) if voice.start - place <= 12]

    def _turn(self, line: Line) -> str:
        """Return whether a line is a question, an answer, or neither."""
        begin = _TURN.match(self.lower, line.start, line.end)
        place = begin.end() if begin else line.start
        for voice in self.by_line.get(line.number, []):
            if voice.start != place or not voice.names & {"question", "answer"}:
                continue
            if re.match(r"\s?[:：)）>]|\s?\(", self.lower[voice.end : voice.end + 3]):
                return "question" if "question" in voice.names else "answer"
        return ""

    def _is_review(self, line: Line) -> bool:
        return _STARS.search(self.lower, line.start, line.end) is not None and line.number > 0

    # -- scopes within a sentence ----------------------------------------------------------------------------

    def _scopes(self) -> dict[int, list[tuple[int, int, ClaimKind]]]:
        """Return, by clause, the stretches that speak of something else or of earlier."""
        found: dict[int, list[tuple[int, int, ClaimKind]]] = {}
        open_kinds: list[ClaimKind] = []
        sentence = -1
        for index, clause in enumerate(self.clauses):
            if clause.sentence != sentence:
                open_kinds, sentence = [], clause.sentence
            if open_kinds and any(voice.names & _ENDS_SCOPE for voice in clause.voices):
                open_kinds = []
            for kind in open_kinds:
                found.setdefault(index, []).append((clause.start, clause.end, kind))
            for voice in clause.voices:
                for name, kind in _SCOPES:
                    if name in voice.names:
                        found.setdefault(index, []).append(self._reach(clause, voice, kind))
                        open_kinds.append(kind)
        return found

    def _reach(self, clause: Clause, voice: Label, kind: ClaimKind) -> tuple[int, int, ClaimKind]:
        """Return what a word about something else covers: all behind it, else the figures right before it."""
        stop = next(
            (
                each.start for each in clause.voices
                if each.start >= voice.end and each.names & _ENDS_SCOPE and not each.names & voice.names
            ),
            clause.end,
        )  # fmt: skip
        if any(voice.end <= quantity.start < stop for quantity in clause.quantities):
            return voice.start, stop, kind
        before = [quantity for quantity in clause.quantities if quantity.end <= voice.start]
        if not before or voice.start - before[-1].end > _LONGEST_TAIL:
            return voice.start, stop, kind
        return min(q.start for q in before if q.run == before[-1].run), stop, kind

    # -- questions and denials -------------------------------------------------------------------------------

    def _question_end(self, start: int, end: int) -> int:
        """Return where the question ends that holds a place, or -1."""
        match = re.compile(r"[?？]").search(self.lower, start, end)
        stop = re.compile(r"[.!。！](?=\s|$)").search(self.lower, start, match.start() if match else end)
        return match.end() if match is not None and stop is None else -1

    def _denied_questions(self) -> dict[int, ClaimKind]:
        """Return, by the place where its question ends, whether it was answered with yes or no."""
        return {}

    def asked(self, quantity: Quantity, line: Line) -> ClaimKind | None:
        """Return the kind of a number that stands in a question, by the answer; None in a statement."""
        end = self._question_end(quantity.end, min(line.end, quantity.end + 120))
        if end < 0 and self.kind_of_line.get(line.number) == "derived" and self._turn(line) == "question":
            end = line.end
        if end < 0:
            return None
        answer = self._answer(end)
        if answer == "no":
            return "negated"
        return "stated" if answer == "yes" else "derived"

    def _answer(self, place: int) -> str:
        """Return whether yes or no stands right behind a question."""
        begin = bisect_right(self.starts, place - 1)
        for voice in self.voices[begin : begin + 4]:
            between = self.lower[place : voice.start]
            if len(between) > _LONGEST_ANSWER or re.search(r"\d", between):
                return ""
            if voice.names & {"answer"} and not voice.names & {"yes", "no"}:
                continue
            if "no" in voice.names or ("negation" in voice.names and not between.strip(" \n\r\t:-–—")):
                return "no"
            if "yes" in voice.names:
                return "yes"
        return ""

    def negated(self, quantity: Quantity, clause: Clause) -> bool:
        """Return whether a "not" stands before a number in its clause, with no other number between."""
        before = [voice for voice in clause.voices if voice.end <= quantity.start]
        for voice in reversed(before):
            if quantity.start - voice.end > _LONGEST_NEGATION:
                return False
            if "no_negation" in voice.names:
                return False
            if "negation" in voice.names:
                between = [q for q in clause.quantities if voice.end <= q.start < quantity.start]
                return all(q.run == quantity.run and q.dimension != quantity.dimension for q in between)
        return False

    def kind(self, quantity: Quantity, clause_index: int, line: Line) -> ClaimKind | None:
        """Return why a number is no claim of the seller's, or None where it is."""
        clause = self.clauses[clause_index]
        asked = self.asked(quantity, line)
        if asked is not None:
            return None if asked == "stated" else asked
        if line.number in self.kind_of_line:
            return self.kind_of_line[line.number]
        if self.negated(quantity, clause):
            return "negated"
        for start, end, kind in self.kind_of_clause.get(clause_index, []):
            if start <= quantity.start < end and not (kind == "derived" and self._now(quantity, clause)):
                return kind
        if "label" in {name for voice in clause.voices for name in voice.names} and self.used:
            return "derived"
        if clause.named("both") and quantity.dimension in ("capacity", "energy", "distance") and self._sum(clause, quantity):
            return "derived"
        return None

    @staticmethod
    def _now(quantity: Quantity, clause: Clause) -> bool:
        """Return whether a word of now stands right before a number."""
        return any(
            voice.names & _NOW and 0 <= quantity.start - voice.end <= 15 for voice in clause.voices
        )

    @staticmethod
    def _sum(clause: Clause, quantity: Quantity) -> bool:
        """Return whether "in total" or the like speaks of a number: the nearest one to it."""
        for voice in clause.voices:
            if "both" in voice.names:
                alike = [q for q in clause.quantities if q.dimension == quantity.dimension]
                nearest = min(alike, key=lambda q: min(abs(voice.start - q.end), abs(q.start - voice.end)))
                if nearest is quantity:
                    return True
        return False
