"""The one order of packs, worst first: by severity, a danger before all else, by proof, by harm, by what is short."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf
from typing import TYPE_CHECKING, Any

from verifier.screening.results import PROOFS
from verifier.screening.row_answers import ENDANGERS

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

RANKED_BY = ("severity", "harm", "proof", "margin_percent")
"""The columns that the order is made of."""

Rank = tuple[int, bool, int, int, float]


def rank_of(answers: Mapping[str, Sequence[Any]], place: int) -> Rank:
    """Return by what one pack is put in order, the least first."""
    severity, harm, proof, margin = (answers[name][place] for name in RANKED_BY)
    return severity, *rank_within(harm, proof, margin)


def rank_within(harm: int, proof: str | None, margin: float | None) -> tuple[bool, int, int, float]:
    """Return by what packs of one severity are put in order: margins count only among claims that do the same harm."""
    surest = len(PROOFS) if proof is None else PROOFS.index(proof)
    return harm != ENDANGERS, surest, harm, inf if margin is None else margin


def sort_keys(
    severity: NDArray[Any], harm: NDArray[Any], proof: NDArray[Any], margin: NDArray[np.float64]
) -> tuple[NDArray[Any], ...]:
    """Return the same order as keys of `numpy.lexsort`, the last the first; ``proof`` are places in `PROOFS`."""
    import numpy as np

    return np.nan_to_num(margin, nan=inf), harm, proof, harm != ENDANGERS, severity
