"""A part that is exchanged: what the old one had is past, and what the new one has is the new part's figure.

"The 15 A BMS is replaced with one of 25 A continuous": the pack has a BMS of 25 A, and promises no current.
"""

from __future__ import annotations

from collections.abc import Sequence

from verifier.listing.clauses import Clause
from verifier.listing.labels import Label, affects
from verifier.listing.numbers import Quantity

TAKEN_OUT, PUT_IN = "taken out", "put in"
_PARTS = frozenset({"bms", "charger", "controller", "connector", "fuse", "lead", "cell"})
_MEASURES = frozenset({"current", "capacity", "power"})


def mark_exchanges(clauses: Sequence[Clause]) -> None:
    """Mark the figures of parts that are taken out or put in, and give the latter the part's name.

    Parameters
    ----------
    clauses : sequence of Clause
        With their numbers bound to their labels.
    """
    for clause in clauses:
        verb = next((voice for voice in clause.voices if "exchanged" in voice.names), None)
        figures = [q for q in clause.quantities if q.dimension in _MEASURES]
        if verb is None or not figures:
            continue
        new = _put_in(figures, verb)
        parts = [
            label for label in clause.labels
            if label.names & _PARTS and label.end <= min(verb.start, new[0].start if new else verb.start)
        ]  # fmt: skip
        if not parts:
            continue
        for quantity in figures:
            if quantity.start >= parts[-1].end and not quantity.own & _PARTS:
                quantity.own |= {name for name in parts[-1].names & _PARTS if affects(name, quantity)}
            if quantity in new:
                quantity.about.add(PUT_IN)
            elif any(quantity.dimension == each.dimension for each in new):
                quantity.about.add(TAKEN_OUT)


def _put_in(figures: Sequence[Quantity], verb: Label) -> list[Quantity]:
    """Return the new part's figures: behind the verb, or behind the first where the verb ends the clause."""
    behind = [quantity for quantity in figures if quantity.start >= verb.end]
    return behind if behind else list(figures[1:])
