"""Words about another vehicle or pack within a sentence: what this one does not fit, what else to choose.

"Does not fit the Vela 3, which takes one of 36V 10Ah", "if you need more, choose our 48V 13Ah instead".
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from verifier.listing.clauses import Clause
from verifier.listing.labels import Label

# "Passt nicht", "does not quite fit": so near a denial stands to its verb.
_BESIDE = 12
_SIGNS = re.compile("[ぁ-ヿ一-鿿]")
_PACK = ("voltage", "capacity", "energy")


def words_of_others(lower: str, clauses: Sequence[Clause], index: int) -> Iterator[tuple[int, int, bool]]:
    """Yield the stretches of a clause that speak of another pack, and whether the sentence goes on so.

    Parameters
    ----------
    lower : str
        The folded text.
    clauses : sequence of Clause
        All clauses, with their numbers.
    index : int
        Which one.
    """
    clause = clauses[index]
    place = _unfit(clause)
    # What stands before the denial is denied by it.
    if place >= 0:
        yield place, clause.end, True
    for voice in clause.voices:
        if "choosing" in voice.names and _is_advice(clauses, index):
            behind = any(q.start >= voice.end and q.dimension in _PACK for q in clause.quantities)
            if behind or _SIGNS.search(lower, voice.start, voice.end):
                yield (voice.start if behind else clause.start), clause.end, False


def _unfit(clause: Clause) -> int:
    """Return where a clause says that the pack does not fit something; -1 where it does not."""
    denials = [voice for voice in clause.voices if "negation" in voice.names]
    verbs = [label for label in clause.labels if "supports" in label.names]
    # "I would not run more than 35 A" is a limit.
    if clause.named("at_least"):
        return -1
    return next(
        (min(denial.start, verb.start) for denial in denials for verb in verbs if _touch(denial, verb)), -1
    )


def _touch(one: Label, other: Label) -> bool:
    gap = max(one.start, other.start) - min(one.end, other.end)
    return gap <= _BESIDE


def _is_advice(clauses: Sequence[Clause], index: int) -> bool:
    """Return whether a sentence advises another choice: a "rather", or a condition under which."""
    sentence = clauses[index].sentence
    line = clauses[index].line
    if not line:
        return False
    near = range(max(0, index - 6), min(len(clauses), index + 7))
    return any(
        voice.names & {"rather", "condition"}
        for each in near
        if clauses[each].sentence == sentence
        for voice in clauses[each].voices
    )
