"""What stands in a question, and what the answer makes of it."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from verifier.listing.clauses import Clause
from verifier.listing.labels import Label
from verifier.listing.layout import Line
from verifier.listing.quantity import Quantity
from verifier.listing.reading import ClaimKind
from verifier.listing.turns import Turns

_LONGEST_ANSWER = 25
# What refuses, and how far behind a figure it may stand.
_REFUSES = frozenset({"no", "negation", "unfit", "have_none"})
_LONGEST_REFUSAL = 60
_LONGEST_QUESTION = 120
_MOST_FIGURES = 20
_QUESTION = re.compile(r"[?？]")
_STOP = re.compile(r"[.!。！](?=\s|$)|[。！]")


class Questions:
    """Tells for a number in a question what its answer makes of it.

    Parameters
    ----------
    lower : str
        The folded text.
    lines : sequence of Line
        Its lines.
    clauses : sequence of Clause
        Its clauses with their numbers.
    voices : sequence of Label
        The words that say whose word it is, in order of place.
    turns : Turns
        Who speaks in which line.
    """

    def __init__(
        self,
        lower: str,
        lines: Sequence[Line],
        clauses: Sequence[Clause],
        voices: Sequence[Label],
        turns: Turns,
    ) -> None:
        self.lower = lower
        self.lines = lines
        self.clauses = clauses
        self.voices = voices
        self.starts = [voice.start for voice in voices]
        self.turns = turns
        self.quantities = [quantity for clause in clauses for quantity in clause.quantities]
        self.places = [quantity.start for quantity in self.quantities]

    def asked(self, quantity: Quantity, line: Line) -> ClaimKind | None:
        """Return the kind of a number that stands in a question, by the answer; None in a statement."""
        turn = self.turns.of_line.get(line.number)
        stop = min(line.end, quantity.end + _LONGEST_QUESTION)
        if turn is None:
            # In a seller's own text only the end of a sentence asks ("... 21700?? No, 18650").
            stop = min(stop, self.clauses[quantity.clause].end + 1)
        mark = _QUESTION.search(self.lower, quantity.end, stop)
        asks = mark is not None and _STOP.search(self.lower, quantity.end, mark.start()) is None
        if mark is not None and asks:
            end = mark.end()
        elif turn is not None and turn.buyer:
            end = line.end
        else:
            return None
        answer = self._answer(end, line.number)
        if answer == "no":
            return "negated"
        # "Can I charge it with a 5 A charger?" asks for one that does not come with the pack.
        if "charger" in quantity.own and any(
            "charge" in each and "charger" not in each for each in quantity.said
        ):
            return "derived"
        # "Still there? I need 35 A": a yes answers what was asked, not what the buyer says.
        return (
            "stated"
            if asks and answer == "yes" and not self._answered_otherwise(quantity, line, end)
            else "derived"
        )

    def refused(self, quantity: Quantity, line: Line) -> bool:
        """Return whether an answer names the figure that was asked for only to refuse it.

        "Can I have it with 45 Ah?" "45 Ah is too large for this case, sorry."
        """
        span = self._question_of(quantity, line)
        if span is None:
            return False
        first = bisect_left(self.places, span[0])
        asked = self.quantities[first : min(bisect_left(self.places, span[1]), first + _MOST_FIGURES)]
        if not any((each.dimension, each.value) == (quantity.dimension, quantity.value) for each in asked):
            return False
        begin = bisect_left(self.starts, max(line.start, quantity.start - _LONGEST_QUESTION))
        said = self.voices[begin : bisect_left(self.starts, min(line.end, quantity.end + _LONGEST_REFUSAL))]
        return any(voice.names & _REFUSES for voice in said)

    def _question_of(self, quantity: Quantity, line: Line) -> tuple[int, int] | None:
        """Return where the question stands that a figure answers: in its own line, or in another's turn."""
        asked = self.turns.asked_before(line.number, quantity.start)
        if asked >= 0:
            return line.start, asked
        turn = self.turns.of_line.get(line.number)
        if turn is None or turn.answers < 0:
            return None
        return self.lines[turn.answers].start, self.lines[turn.answers].end

    def _answered_otherwise(self, quantity: Quantity, line: Line, end: int) -> bool:
        """Return whether the answer to a question gives a figure of its own."""
        turn = self.turns.of_line.get(line.number + 1)
        if turn is not None and turn.answers == line.number:
            answer = self.lines[line.number + 1]
            return self._gives_another(quantity, answer.start, answer.end)
        # "Is it 20 Ah? It is 17.5 Ah"
        stop = min(line.end, end + _LONGEST_QUESTION)
        following = _QUESTION.search(self.lower, end, stop)
        return self._gives_another(quantity, end, following.start() if following else stop)

    def _gives_another(self, quantity: Quantity, start: int, end: int) -> bool:
        """Return whether a stretch gives another figure of the same kind."""
        first = bisect_left(self.places, start)
        return any(
            other.dimension == quantity.dimension and other.value != quantity.value
            for other in self.quantities[first : min(bisect_left(self.places, end), first + _MOST_FIGURES)]
        )

    def _answer(self, place: int, line: int) -> str:
        """Return whether yes or no stands right behind a question, or opens the turn that answers it."""
        turn = self.turns.of_line.get(line + 1)
        start = place
        if turn is not None and turn.answers == line:
            colon = self.lower.find(":", self.lines[line + 1].start, self.lines[line + 1].end)
            wide = self.lower.find("：", self.lines[line + 1].start, self.lines[line + 1].end)
            start = max(place, self._past_clock(line + 1, max(colon, wide)))
        begin = bisect_right(self.starts, start - 1)
        for voice in self.voices[begin : begin + 4]:
            between = self.lower[start : voice.start]
            if len(between) > _LONGEST_ANSWER or re.search(r"\d", between):
                return ""
            if "no" in voice.names or ("negation" in voice.names and not between.strip(" \n\r\t:-–—")):
                return "no"
            if "yes" in voice.names:
                return "yes"
        return ""

    def _past_clock(self, line: int, place: int) -> int:
        """Return where a turn's words begin, behind its time and its speaker's name."""
        last = re.compile(r"^[^\n]{0,60}?[^\d\s]\s?[:：]\s").match(
            self.lower[self.lines[line].start : self.lines[line].end]
        )
        return self.lines[line].start + last.end() if last else place + 1
