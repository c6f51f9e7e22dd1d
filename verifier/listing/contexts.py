"""What is known around every number of a listing: its sentence, its run, and what the whole text tells."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Sequence

from verifier.listing.asides import is_condition_of_warranty, is_time_of_use
from verifier.listing.clauses import Clause
from verifier.listing.context import Context
from verifier.listing.layout import Line
from verifier.listing.linking import Linking
from verifier.listing.quantity import Quantity
from verifier.listing.taken_out import TakenOut
from verifier.listing.voices import Voices

# What a warranty may end with.
_GUARANTEED = frozenset({"cycles", "times", "distance"})
_TOLD = re.compile(r"[^\W\d_]{2}|[ぁ-ヿ一-鿿]")
_LETTER = re.compile(r"[^\W\d_]")
_OF_OTHERS = frozenset({"bms", "charger", "charge", "cell", "per_cell"})
_MOST_WEIGHTS = 8
_OF_A_LIST = frozenset({"capacity", "mass", "series"})


class Contexts:
    """Gives every number its context.

    Parameters
    ----------
    text, lower : str
        The text, and folded.
    lines : sequence of Line
        Its lines.
    clauses : sequence of Clause
        Its clauses with their labels and numbers.
    quantities : sequence of Quantity
        The numbers, bound to their labels, in order of place.
    voices : Voices
        Whose word a number is.
    taken : TakenOut
        For the size codes of cells.
    in_title : callable
        Whether a place lies in the title.
    linking : Linking
        For the words of a warranty.
    """

    def __init__(
        self,
        text: str,
        lower: str,
        lines: Sequence[Line],
        clauses: Sequence[Clause],
        quantities: Sequence[Quantity],
        voices: Voices,
        taken: TakenOut,
        in_title: Callable[[int], bool],
        linking: Linking,
    ) -> None:
        self.text = text
        self.lower = lower
        self.clauses = clauses
        self.quantities = quantities
        self.voices = voices
        self.taken = taken
        self.in_title = in_title
        self.linking = linking
        self.sentences: dict[int, set[str]] = {}
        for clause in clauses:
            names = self.sentences.setdefault(clause.sentence, set())
            names.update(name for each in (*clause.labels, *clause.voices) for name in each.names)
            if is_time_of_use(clause):
                names.add("so_far")
        # The clauses that tell of a share ("80 %").
        self.shares = {
            q.clause for q in quantities if q.unit.name == "nothing" and lower[q.start : q.end].endswith("%")
        }
        self.first_charger = min(
            (q.start for q in quantities if q.dimension == "current" and "charger" in q.own),
            default=len(lower),
        )
        self.line_of_sentence = {clause.sentence: clause.line for clause in clauses}
        self.masses: dict[int, list[Quantity]] = {}
        for quantity in quantities:
            if quantity.dimension != "mass":
                continue
            # What another pack weighs is no weight beside this one's.
            if voices.kind(quantity, quantity.clause, lines[quantity.line]) is None:
                self.masses.setdefault(clauses[quantity.clause].sentence, []).append(quantity)
        self.continuous = {
            clauses[q.clause].sentence: q.value
            for q in quantities
            if q.dimension == "current" and "continuous" in q.own and not q.own & _OF_OTHERS
        }
        self.usual_charge = {
            clauses[q.clause].sentence: q.value
            for q in quantities
            if q.dimension == "current" and q.own >= {"charge", "usual"} and "charger" not in q.own
        }
        self.has_mass = any(
            quantity.dimension == "mass" and "mass" in quantity.own and "of a part" not in quantity.about
            for quantity in quantities
        )
        self.has_pack_mass = any(
            quantity.dimension == "mass" and clauses[quantity.clause].named("pack", "net")
            for quantity in quantities
        )
        self.tells_range = {clauses[q.clause].sentence for q in quantities if q.dimension == "distance"}
        told: dict[int, set[str]] = {}
        for quantity in quantities:
            told.setdefault(clauses[quantity.clause].sentence, set()).add(quantity.dimension)
        self.lists = {sentence for sentence, dimensions in told.items() if dimensions >= _OF_A_LIST}
        self.sized: set[int] = set()
        self.of_cells = self._cell_clauses()

    def of(self, quantity: Quantity, run: list[Quantity]) -> Context:
        """Return what is known around a number; run: the numbers that stand with nothing but signs between."""
        clause = self.clauses[quantity.clause]
        names = self.sentences[clause.sentence]
        words = self.text[clause.start : quantity.start] + self.text[quantity.end : clause.end]
        continuous = self.continuous.get(clause.sentence, 0.0)
        return Context(
            title=self.in_title(quantity.start),
            clause=clause,
            run=run,
            alone=_LETTER.search(words) is None,
            used=self.voices.used,
            # "Battery made to order, 36 V": a title names what is made.
            ask=clause.named("ask") and not self.in_title(quantity.start),
            speaks_of_cells="cell" in names or quantity.clause in self.of_cells,
            bracketed=self.lower[quantity.start - 1 : quantity.start]
            == "("
            == self.lower[quantity.end : quantity.end + 1].replace(")", "("),
            bracket=self._bracket(clause.start, quantity.start),
            # "For 35-55 km depending on the road": of a distance that something else is not said of.
            how_far=(clause.named("how_far") and not clause.named("shipping", "odometer"))
            or ("how_far" in names and not names & {"shipping", "odometer"}),
            share=quantity.clause in self.shares,
            lists_a_pack=clause.sentence in self.lists,
            beside_range=clause.sentence in self.tells_range,
            # "a) 15 A, b) 20 A" are the currents of two packs.
            continuous=continuous if continuous and _TOLD.search(words) else 0.0,
            sized=quantity.clause in self.sized,
            usual_charge=self.usual_charge.get(clause.sentence, 0.0),
            masses=self.masses.get(clause.sentence, [])[:_MOST_WEIGHTS],
            heaviest=self._heaviest_before(quantity, clause.sentence),
            other_mass=self.has_mass,
            pack_mass=self.has_pack_mass,
            sentence=frozenset(names),
            has_charger=self.first_charger < quantity.start,
            before=frozenset(self.sentences.get(clause.sentence - 1, ()))
            if self.line_of_sentence.get(clause.sentence - 1) == clause.line
            else frozenset(),
            warranted=quantity.dimension in _GUARANTEED
            and is_condition_of_warranty(self.lower, clause, quantity, names, self.linking),
        )

    def _heaviest_before(self, quantity: Quantity, sentence: int) -> float:
        """Return the heaviest weight that a sentence gives before a weight. [kg]"""
        if quantity.dimension != "mass":
            return 0.0
        # A sentence gives few weights; a text without an end of one may give thousands.
        before = [q for q in self.masses.get(sentence, [])[:_MOST_WEIGHTS] if q.end <= quantity.start]
        return max((q.value for q in before), default=0.0)

    def _bracket(self, start: int, end: int) -> int:
        """Return where the bracket opens that is still open at the end of a stretch; -1 where none is."""
        opened = self.lower.rfind("(", start, end)
        return opened if opened > self.lower.rfind(")", start, end) else -1

    def _cell_clauses(self) -> set[int]:
        """Return the clauses that name a cell size."""
        starts = [clause.start for clause in self.clauses]
        found = self.sized = {bisect_right(starts, match.start()) - 1 for match in self.taken.sizes()}
        counted = {self.clauses[q.clause].sentence for q in self.quantities if q.dimension == "cells"}
        return found | {index for index, clause in enumerate(self.clauses) if clause.sentence in counted}
