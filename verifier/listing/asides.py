"""Figures that are true of a pack and promise nothing: use so far, and the conditions of a warranty."""

from __future__ import annotations

import re
from collections.abc import Set as AbstractSet

from verifier.listing.clauses import Clause
from verifier.listing.linking import Linking
from verifier.listing.quantity import Quantity
from verifier.listing.source import LETTER

# Nobody promises fewer cycles, and no light vehicle goes further on one charge (common practice, no source).
FEWEST_PROMISED_CYCLES = 100
FURTHEST_KM = 300
# No life that is worth a word is shorter, and few packs sold used are so far (common practice, no source).
FEWEST_OF_LIFE = 300
_BESIDE_TIME = 1
_BESIDE_VERB = 16
_WORD = re.compile(rf"[{LETTER}]+")


def is_condition_of_warranty(
    lower: str, clause: Clause, quantity: Quantity, names: AbstractSet[str], linking: Linking
) -> bool:
    """Return whether a count is one end of a warranty ("2 years or 400 cycles"), and no life promised.

    Parameters
    ----------
    lower : str
        The folded text.
    clause : Clause
        The clause of the number.
    quantity : Quantity
        Cycles, or kilometres.
    names : set of str
        What the words of its sentence mean.
    linking : Linking
        For the words that join the two ends.
    """
    joined = rf"{linking.either('or')}[\s~≈]*(?:ca\.?\s)?\Z"
    either = re.search(joined, lower[max(clause.start, quantity.start - 12) : quantity.start]) is not None
    # "Covered for 24 months or 400 cycles" needs no word for a warranty.
    timed = any(q.unit.name == "calendar" and q.end <= quantity.start for q in clause.quantities)
    if either and ("warranty" in names or (timed and "life" not in quantity.own)):
        return True
    if "warranty" not in names:
        return False
    words = [voice for voice in clause.voices if "warranty" in voice.names]
    for word in words:
        start, end = (
            sorted((word.end, quantity.start)) if word.end <= quantity.start else (quantity.end, word.start)
        )
        if start <= end and not linking.of("and") & set(_WORD.findall(lower[start:end])):
            return True
    return False


def is_use_so_far(quantity: Quantity, clause: Clause, names: AbstractSet[str], *, used: bool) -> bool:
    """Return whether cycles or kilometres tell how the pack was used up to now.

    Parameters
    ----------
    quantity : Quantity
        Cycles, or kilometres.
    clause : Clause
        Its clause.
    names : set of str
        What the words of its sentence mean.
    used : bool
        Whether the whole listing sells something used.
    """
    if quantity.dimension in ("cycles", "times") and quantity.value <= FEWEST_PROMISED_CYCLES:
        return True
    if quantity.dimension in ("cycles", "times") and _has(quantity, clause):
        return True
    # "310 cycles according to the app": counted, and promised by nobody.
    if quantity.dimension in ("cycles", "times") and clause.named("read_out"):
        return True
    # "Bought in 2022, some 120 charges": nobody promises so few without a word for the life of a pack.
    if quantity.unit.name == "cycle" and _is_a_few(quantity, clause, names):
        return True
    # "Measured: 15.2 Ah left and 210 cycles".
    few = quantity.dimension in ("cycles", "times") and quantity.value < FEWEST_OF_LIFE
    if few and "measured" in names and "life" not in quantity.own:
        return True
    # "It has done 120 cycles, I still get 65 km out of it".
    gets = quantity.dimension == "distance" and clause.named("how_far") and not clause.named("so_far")
    if "so_far" in names and "range" not in quantity.own and not gets:
        return True
    far = quantity.dimension == "distance" and quantity.value > FURTHEST_KM
    return far and (used or "so_far" in names)


def _is_a_few(quantity: Quantity, clause: Clause, names: AbstractSet[str]) -> bool:
    """Return whether cycles are too few to be a life, in a sentence that says nothing of life or of a bound."""
    return quantity.value < FEWEST_OF_LIFE and not (
        "life" in quantity.labels
        or names & {"life", "warranty"}
        or clause.named("at_least", "min", "limit", "max")
        or quantity.high is not None
    )


def _has(quantity: Quantity, clause: Clause) -> bool:
    """Return whether a pack "has" cycles, fewer than anybody promises as its life."""
    verbs = (voice for voice in clause.voices if "has" in voice.names)
    beside = any(0 <= quantity.start - verb.end <= _BESIDE_VERB for verb in verbs)
    return beside and quantity.value < FEWEST_OF_LIFE and not clause.named("life")


def is_time_of_use(clause: Clause) -> bool:
    """Return whether a clause tells for how long something was in use ("2 years' use", "1年半使用")."""
    times = [quantity for quantity in clause.quantities if quantity.unit.name == "calendar"]
    words = [each for each in (*clause.labels, *clause.voices) if each.names & {"used", "working"}]
    return any(0 <= word.start - time.end <= _BESIDE_TIME for time in times for word in words)
