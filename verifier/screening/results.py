"""What screening says of each listing: one row of a `verifier.screening.result_table.ResultTable`.

A row holds, for every figure, the verdict, what is supported, the margin, what limits it and the reason. What
is not known is missing. A row that could not be read has no verdict at all, and says why in `read`. Where a
listing offers several packs, which `packs` counts, the worst verdict on each figure stands for it.
"""

from __future__ import annotations

from verifier.answer import Conclusion
from verifier.figures import FIGURES
from verifier.verdict import ON_SELLERS_WORD, REFUTED, Verdict
from verifier.words import refuted_reason

ROW = "row"
READ = "read"
PACKS = "packs"
CONCLUSION = "conclusion"
ALARMS = "alarms"
CONTRADICTIONS = "contradictions"
READABLE = "ok"
TEXTS = ("verdict", "limited_by", "reason")
NUMBERS = ("claimed", "supported_low", "supported_high", "margin_low_percent", "margin_high_percent")
UNREADABLE, NO_BATTERY = "unreadable", "no battery pack"
CONCLUSIONS: tuple[str, ...] = (*(str(each) for each in Conclusion), UNREADABLE, NO_BATTERY)
"""What a row comes to, worst first; its severity is its place, counted from 1. The last offers nothing to judge."""
NOT_JUDGED = (UNREADABLE, NO_BATTERY)
BY_CONTRADICTION, BY_NO_CELL, BY_DATASHEETS, BY_PARTS, BY_NO_FIT = (
    "contradiction", "beyond any cell ever published", "beyond the datasheets", "beyond its own parts", "does not fit",
)  # fmt: skip
PROOFS = (BY_CONTRADICTION, BY_NO_CELL, BY_DATASHEETS, BY_PARTS, BY_NO_FIT)
"""On what a refusal rests, the surest first."""
_MOST_NAMED = 3
_WHY = {
    Verdict.HOLDS_WITH_RESERVE: "within the reserve of what is supported",
    Verdict.HOLDS_WITHOUT_RESERVE: "supported, but without reserve",
    Verdict.HOLDS: "supported",
    Verdict.DOES_NOT_HOLD: "more than is supported",
    Verdict.NOT_SETTLED: "too little is known to say",
    Verdict.CONSISTENT: "fits what else is known",
    Verdict.INCONSISTENT: "does not fit what else is known",
    Verdict.HOLDS_ON_SELLERS_WORD: "supported only if the seller's word holds",
    Verdict.CONSISTENT_ON_SELLERS_WORD: "fits only if the seller's word holds",
    Verdict.CHECK_FAILED: "the check failed; nothing follows from it",
}
PARTS = ("verdict", *NUMBERS, "limited_by", "reason")


def column(figure: str, part: str) -> str:
    """Return the name of a result column, such as ``continuous_current.verdict``."""
    return f"{figure}.{part}"


def column_names() -> tuple[str, ...]:
    """Return the columns of every result: `row` (from 1), `read`, `packs`, and `PARTS` of each figure."""
    of_figures = (column(figure, part) for figure in FIGURES for part in PARTS)
    return (ROW, READ, PACKS, CONCLUSION, ALARMS, CONTRADICTIONS, *of_figures)


def _first(names: tuple[str, ...]) -> str:
    """Return the first few names, and how many more there are: a table is no report."""
    more = len(names) - _MOST_NAMED
    return ", ".join(names[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def reason(
    verdict: Verdict, limited_by: str | None, unknown: tuple[str, ...], sellers_word: tuple[str, ...]
) -> str | None:
    """Return in words without numbers why a claim has its verdict; None where nothing is claimed.

    Parameters
    ----------
    verdict
        What can be said of the figure.
    limited_by
        What decides it.
    unknown, sellers_word
        Fields that are missing, and fields that only the seller states.
    """
    if verdict is Verdict.NOT_CLAIMED:
        return None
    words = _WHY[verdict]
    limit = f" ({limited_by.replace('_', ' ')})" if limited_by else ""
    if verdict in REFUTED and limited_by:
        words, limit = refuted_reason(limited_by, exact=verdict is Verdict.INCONSISTENT), ""
    missing = f"; not known: {_first(unknown)}" if unknown else ""
    word = f": {', '.join(sellers_word)}" if verdict in ON_SELLERS_WORD else ""
    return f"{words}{word}{limit}{missing}"
