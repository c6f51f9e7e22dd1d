"""What does not come with the pack: a charger sold apart, one to be had for more money, one that there is not."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.listing.clauses import Clause
from verifier.listing.context import Meaning
from verifier.listing.labels import Label
from verifier.listing.layout import Line
from verifier.listing.quantity import Quantity
from verifier.listing.reading import CLAIMED_KINDS, ClaimKind
from verifier.listing.taken_out import TakenOut
from verifier.listing.turns import Turns
from verifier.listing.voices import Voices

_CHARGER_FIELDS = ("charge_voltage_v", "charge_current_a", "charge_hours")
_CLAIMED = CLAIMED_KINDS | {"peak", "compatibility"}
_NEAR_BEHIND = 20
_NEAR_PRICE = 12
_NEAR_COLON = 2


class Included:
    """Tells of a figure of charging whether its charger comes with the pack.

    Parameters
    ----------
    lower : str
        The folded text.
    lines : sequence of Line
        Its lines.
    clauses : sequence of Clause
        Its clauses with their numbers.
    turns : Turns
        Who speaks in which line.
    voices : Voices
        Whose word a number is.
    taken : TakenOut
        For the prices.
    """

    def __init__(
        self,
        lower: str,
        lines: Sequence[Line],
        clauses: Sequence[Clause],
        turns: Turns,
        voices: Voices,
        taken: TakenOut,
    ) -> None:
        self.lower = lower
        self.lines = lines
        self.clauses = clauses
        self.turns = turns
        self.voices = voices
        self.taken = taken
        # By sentence: where it begins to say that something is not included, and whether it says so without digits.
        self.excluded: dict[int, tuple[int, bool]] = {}
        self.runs: dict[int, list[Quantity]] = {}
        for clause in clauses:
            for quantity in clause.quantities:
                self.runs.setdefault(quantity.run, []).append(quantity)
        for clause in clauses:
            if clause.named("not_included"):
                # "29.2 V / 8 A, sold separately": what runs together is one charger's.
                run = clause.quantities[0].run if clause.quantities else -1
                begin = min((q.start for q in self.runs.get(run, [])), default=clause.start)
                first, plain = self.excluded.get(clause.sentence, (min(begin, clause.start), False))
                # "The 48 has a charger, the 36 none": digits name another pack.
                digits = any(letter.isdigit() for letter in lower[clause.start : clause.end])
                self.excluded[clause.sentence] = first, plain or not digits

    def voiced(self, quantity: Quantity, read: Meaning, kind: ClaimKind | None) -> Meaning:
        """Return a meaning with whose word it is."""
        if read.kind not in _CLAIMED:
            return read
        if kind is not None:
            return Meaning(read.field, kind)
        clause = self.clauses[quantity.clause]
        # "Sold separately: 54.6 V 5 A fast charge" needs no word for a charger; "charging voltage" is the pack's.
        without = self.not_included(quantity)
        charger = "charger" in quantity.labels or (without and not quantity.own & {"voltage", "current"})
        if read.field in _CHARGER_FIELDS and charger:
            if without or self._without_charger(quantity, clause) or self._answered_no(quantity):
                # How long it takes with a charger that is sold apart is stated all the same.
                return read if without and read.field == "charge_hours" else Meaning(read.field, "negated")
            # "A charger of 54.6 V 2 A is optional" speaks of both figures.
            end = max(q.end for q in self.runs[quantity.run])
            optional = any(
                "optional" in voice.names and _beside(self.taken.rest, voice, quantity.start, end)
                for voice in clause.voices
            )
            # "5A +30€": what costs more is not the one that comes with the pack.
            extra = any(
                0 <= price.start - end <= _NEAR_PRICE
                # "With a charger of 5 A (65 €)": what has a price of its own is sold apart.
                and (price.plus or self.lower[end : price.start].strip() in ("(", "（"))
                for price in self.taken.prices
            )
            if optional or extra:
                return Meaning(read.field, "derived")
        return Meaning(read.field, "derived") if self._is_optional(quantity, read) else read

    def _answered_no(self, quantity: Quantity) -> bool:
        """Return whether a question for a charger is answered with a no ("No, but we sell one of 54.6 V")."""
        turn = self.turns.of_line.get(quantity.line)
        if turn is None or turn.answers < 0:
            return False
        line = self.lines[quantity.line]
        begin = 1 + max(self.lower.find(sign, line.start, quantity.start) for sign in (":", "："))
        denied = any(
            "no" in voice.names and begin <= voice.start <= begin + _NEAR_COLON
            for voice in self.voices.by_line.get(quantity.line, [])
        )
        asked = (clause for clause in self.clauses if clause.line == turn.answers) if denied else ()
        return any(clause.named("charger") for clause in asked)

    def _is_optional(self, quantity: Quantity, read: Meaning) -> bool:
        """Return whether "optional" stands in a bracket right behind a figure of charging ("4 A (optional)")."""
        clause = self.clauses[quantity.clause]
        return read.field in _CHARGER_FIELDS and any(
            "optional" in voice.names and self.lower[quantity.end : voice.start].strip() in ("(", "（")
            for voice in clause.voices
            if voice.start >= quantity.end
        )

    def not_included(self, quantity: Quantity) -> bool:
        """Return whether its sentence says that something is not included, and not only for a pack named further on."""
        first, plain = self.excluded.get(self.clauses[quantity.clause].sentence, (len(self.lower), False))
        return plain or first <= quantity.start

    def _without_charger(self, quantity: Quantity, clause: Clause) -> bool:
        """Return whether a "no" beside the charger stands before a figure of it, in its part of a sentence."""
        for each in self.clauses[max(0, quantity.clause - 3) : quantity.clause + 1]:
            if each.part == clause.part and any("charger" in label.names for label in each.labels):
                voices = [voice for voice in each.voices if voice.start < quantity.start]
                if any("negation" in voice.names for voice in voices):
                    return True
        return False


def _beside(lower: str, voice: Label, start: int, end: int) -> bool:
    """Return whether a word stands before numbers, or behind them with no other number between."""
    if voice.end <= start:
        return True
    between = lower[end : voice.start]
    return 0 <= len(between) <= _NEAR_BEHIND and not any(letter.isdigit() for letter in between)
