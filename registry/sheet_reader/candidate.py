"""A figure as one statement gives it, and which words belong to which number of a statement."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from registry.cell import TemperatureBasis
from registry.sheet_figures import SHEET_FIGURES
from registry.sheet_reader.draft import FigureKind, FigureName
from registry.sheet_reader.statements import Statement
from registry.sheet_reader.vocabulary import meanings

# Outside of these a number is no figure of a single cell, whatever stands beside it.
POSSIBLE = {figure.draft: figure.possible for figure in SHEET_FIGURES if figure.draft and figure.possible}
_ALTERNATIVES = (
    frozenset({"minimum", "typical", "nominal", "rated", "maximum"}), frozenset({"charge", "discharge"}),
    frozenset({"bare", "assembled"}), frozenset({"continuous", "pulse"}), frozenset({"ac", "dc"}),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Candidate:
    """A figure as one statement gives it; a current printed in C alone has no value yet."""

    figure: FigureName
    value: float | None
    printed: str
    statement: Statement
    kind: FigureKind | None = None
    rate: float | None = None
    low_c: float | None = None
    high_c: float | None = None
    basis: TemperatureBasis | None = None
    seconds: float | None = None
    cutoff_c: float | None = None
    to_fraction: float | None = None
    derived: str | None = None
    doubts: tuple[str, ...] = ()
    condition: str = ""


def words_beside(text: str, places: Sequence[tuple[int, int]], *, prose: bool = False) -> list[str]:
    """Return the words that belong to each number of a text.

    Words stand before their numbers or after them. A comma, semicolon or stroke parts them; where there is
    none, what stands before the first number decides.
    """
    if not places:
        return []
    prose = prose and bool(meanings(text[: places[0][0]]))
    leading = text[: places[0][0]]
    between, last = meanings(text[places[0][1] : places[-1][0]]), meanings(text[places[-1][1] :])
    # Where such words stand between the numbers and none after the last, the label's own is of the first one.
    before = prose or bool(meanings(leading)) or not last or not between
    before = before or any(between & group and not last & group for group in _ALTERNATIVES)
    words = [leading] + [""] * (len(places) - 1)
    for index in range(len(places) - 1):
        gap = text[places[index][1] : places[index + 1][0]]
        bracket = re.match(r"\s*\([^)]*\)", gap)
        parted = re.match(r"([^,;/|]*)[,;/|](.*)", gap[bracket.end() :] if bracket else gap, re.S)
        if prose:
            own, following = "", gap
        elif parted:
            own, following = parted[1], parted[2]
        else:
            rest = gap[bracket.end() :] if bracket else gap
            own, following = ("", rest) if before or bracket else (rest, "")
        words[index] += f" {bracket[0] if bracket and not prose else ''} {own}"
        words[index + 1] += following
    if not prose:
        words[-1] += " " + text[places[-1][1] :]
    return words


def condition_of(statement: Statement) -> str:
    """Return what stands beside a figure, shortened."""
    return statement.note.strip()[:300]
