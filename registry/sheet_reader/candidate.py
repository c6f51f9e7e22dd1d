"""A figure as one statement gives it, and which words belong to which number of a statement."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from registry.sheet_figures import SHEET_FIGURES
from registry.sheet_reader.conditions import Conditions
from registry.sheet_reader.draft import FigureKind, FigureName
from registry.sheet_reader.statement import Rank, Statement
from registry.sheet_reader.vocabulary import meanings

# Outside of these a number is no figure of a single cell, whatever stands beside it.
POSSIBLE = {figure.draft: figure.possible for figure in SHEET_FIGURES if figure.draft and figure.possible}
_ALTERNATIVES = (
    frozenset({"minimum", "typical", "nominal", "rated", "maximum"}), frozenset({"charge", "discharge"}),
    frozenset({"bare", "assembled"}), frozenset({"continuous", "pulse"}), frozenset({"ac", "dc"}),
)  # fmt: skip
NOWHERE = Conditions()


@dataclass(frozen=True, slots=True)
class Candidate:
    """A figure as one statement gives it; a current printed in C alone has no value yet."""

    figure: FigureName
    value: float | None
    printed: str
    statement: Statement
    kind: FigureKind | None = None
    rate: float | None = None
    holds: Conditions = NOWHERE
    at_most: bool = False
    """Whether it is printed as a limit."""
    to_fraction: float | None = None
    months: float | None = None
    derived: str | None = None
    doubts: tuple[str, ...] = ()
    condition: str = ""
    beside: str = ""
    """The words that belong to its number."""
    unread: str | None = None
    """The footnote or bracket beside it that says more than was read."""
    rank: Rank = Rank.TABLE


def doubted(made: Candidate, *words: str) -> Candidate:
    """Return a candidate with further reasons to look at it."""
    return replace(made, doubts=(*made.doubts, *words))


def words_beside(text: str, places: Sequence[tuple[int, int]], *, prose: bool = False) -> list[str]:
    """Return the words that belong to each number of a text.

    Words stand before their numbers or after them. A comma, semicolon or stroke parts them; where there is
    none, what stands before the first number decides.
    """
    if not places:
        return []
    leading = text[: places[0][0]]
    prose = prose and bool(meanings(leading))
    before = prose or _words_lead(text, places)
    words = [leading] + [""] * (len(places) - 1)
    for index in range(len(places) - 1):
        gap = text[places[index][1] : places[index + 1][0]]
        own, following = _clauses(gap) if prose else _halves(gap, before=before)
        words[index] += f" {own}"
        words[index + 1] += following
    words[-1] += " " + (_CLAUSE.split(text[places[-1][1] :])[0] if prose else text[places[-1][1] :])
    return words


_CLAUSE = re.compile(r"[,;]\s|\s(?:and|und|et|y|e|en|i)\s")


def _clauses(gap: str) -> tuple[str, str]:
    """Return what of a sentence between two numbers belongs to the first and what to the second."""
    parted = _CLAUSE.search(gap)
    return (gap[: parted.start()], gap[parted.end() :]) if parted else ("", gap)


def _words_lead(text: str, places: Sequence[tuple[int, int]]) -> bool:
    """Whether words stand before their numbers where no sign parts them."""
    between, last = meanings(text[places[0][1] : places[-1][0]]), meanings(text[places[-1][1] :])
    # Where such words stand between the numbers and none after the last, the label's own is of the first one.
    return (
        bool(meanings(text[: places[0][0]])) or not last or not between
        or any(between & group and not last & group for group in _ALTERNATIVES)
    )  # fmt: skip


_LEADS = re.compile(r"(?i)(?<!\w)(?:down to|up to|to|bis(?: zu| auf)?|jusqu\S{0,2}|hasta|fino a|tot)\s*$")


def _halves(gap: str, *, before: bool) -> tuple[str, str]:
    """Return what of the text between two numbers belongs to the first and what to the second."""
    bracket = re.match(r"\s*\([^)]*\)", gap)
    rest = gap[bracket.end() :] if bracket else gap
    # "18.3 mm dia. x 35.2 mm": what stands before the sign of a product is of the first number.
    parted = re.match(r"([^,;/|]*?)(?:[,;/|]|(?<=\w)\.?\s[x×*]\s)(.*)", rest, re.S)
    if parted:
        own, following = parted[1], parted[2]
    elif (leads := _LEADS.search(rest)) and meanings(rest[: leads.start()]) & {"continuous", "pulse"}:
        # "7.8 A continuous down to 2.75 V": only what leads to the second number is of it.
        own, following = rest[: leads.start()], rest[leads.start() :]
    else:
        own, following = ("", rest) if before or bracket else (rest, "")
    return f"{bracket[0] if bracket else ''} {own}", following


def condition_of(statement: Statement) -> str:
    """Return what stands beside a figure, shortened."""
    return statement.note.strip()[:300]
