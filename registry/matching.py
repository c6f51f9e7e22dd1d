"""Which registered cell a marking names.

Twins differ by one letter and by a factor of two in current, so a marking that names exactly one cell is a
match and anything nearer or farther is only ever a suggestion.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Literal, NamedTuple

from registry.cell import Cell
from registry.cell_names import names, normalise
from registry.cells import Cells

SCORE_FLOOR = 60.0
MOST_SUGGESTIONS = 5
_MOST_WORDS_OF_A_CODE = 8

# What parts words on a wrapper or in a listing. A dot, slash or plus may be part of a code.
_BETWEEN_WORDS = re.compile(r"[\s,;:|()\[\]{}<>\"']+")


class Suggestion(NamedTuple):
    """A cell that a marking might mean, never one that it is taken to mean.

    ``score`` is 0 to 100 by letters alone; ``likely`` tells that the cell's whole model code stands in the
    marking; ``why`` says what speaks for or against it.
    """

    cell_id: str
    name: str
    score: float
    likely: bool
    why: str


class Match(NamedTuple):
    """The registered cell that was found, or what a marking might mean instead.

    ``exact``: the marking is a name of this one cell. ``named``: the user gave the cell's id. ``none``: no
    cell was taken; ``note`` then says why. ``same_name`` are cells of this very name of which none was taken:
    several in use, or retired ones.
    """

    kind: Literal["exact", "named", "none"]
    cell: Cell | None
    suggestions: tuple[Suggestion, ...]
    note: str = ""
    same_name: tuple[Cell, ...] = ()

    @property
    def retired(self) -> Cell | None:
        """The one retired cell whose name the marking is, where no cell in use goes by it."""
        return self.same_name[0] if len(self.same_name) == 1 else None


def match_marking(marking: str, registry: Cells, *, suggest: bool = True) -> Match:
    """Return the one cell in use that a marking names, or suggestions.

    Parameters
    ----------
    marking
        What is printed on the wrapper, or what the seller says is.
    registry
        The registered cells.
    suggest
        Without it no near name is looked for, which takes longer than everything else.

    Returns
    -------
    Match
        ``exact`` only when one cell in use has a name equal to the marking, both normalised. A name that
        several cells share, the name of a retired cell and every near name give ``none`` with suggestions.
    """
    wanted = normalise(marking)
    if not wanted:
        return Match("none", None, (), "the marking holds no letter or digit")
    found = [cell for cell in registry.named(wanted) if cell.retired is None]
    if len(found) == 1:
        return Match("exact", found[0], ())
    if found:
        ids = ", ".join(cell.id for cell in found)
        note = f"{len(found)} registered cells have the name '{marking}': {ids}"
        return Match(
            "none", None, tuple(_same_name(cell, marking, note) for cell in found), note, tuple(found)
        )
    retired = tuple(registry.named(wanted, retired=True))
    if not suggest:
        return Match("none", None, (), "no registered cell has this name", retired)
    near = _suggestions(marking, registry.cells())
    if retired:
        note = "; ".join(f"{cell.id} has this name but is retired: {cell.retired}" for cell in retired)
        gone = [Suggestion(cell.id, marking, 100.0, False, f"retired: {cell.retired}") for cell in retired]
        return Match("none", None, (*gone, *near)[:MOST_SUGGESTIONS], note, retired)
    note = "no registered cell has this name" + ("; these are near" if near else "")
    return Match("none", None, near, note)


def _same_name(cell: Cell, marking: str, why: str) -> Suggestion:
    return Suggestion(cell.id, marking, 100.0, bool(_codes(cell) & _runs(marking)), why)


def _suggestions(marking: str, cells: Sequence[Cell]) -> tuple[Suggestion, ...]:
    """Return the cells whose names are nearest, those whose whole model code the marking holds first."""
    from rapidfuzz import fuzz, process

    runs = _runs(marking)
    owners = [(cell, name) for cell in cells for name in names(cell)]
    # The names are normalised here, so that what is compared is what a match compares.
    scores = process.extract(
        normalise(marking),
        [normalise(name) for _, name in owners],
        scorer=fuzz.ratio,
        processor=None,
        limit=None,
    )
    best: dict[str, tuple[bool, float, str]] = {}
    for _, score, index in scores:  # best first, so the first of a cell is its nearest name
        cell, name = owners[index]
        if cell.id not in best:
            best[cell.id] = (bool(_codes(cell) & runs), score, name)
    kept = sorted(
        ((cell_id, *found) for cell_id, found in best.items() if found[0] or found[1] >= SCORE_FLOOR),
        key=lambda entry: (not entry[1], -entry[2], entry[0]),
    )[: MOST_SUGGESTIONS + 1]
    suggestions = []
    for place, (cell_id, likely, score, name) in enumerate(kept[:MOST_SUGGESTIONS]):
        runner_up = kept[place + 1] if place + 1 < len(kept) else None
        suggestions.append(Suggestion(cell_id, name, round(score, 1), likely, _why(likely, runner_up)))
    return tuple(suggestions)


def _why(likely: bool, runner_up: tuple[str, bool, float, str] | None) -> str:
    reason = (
        "the marking holds this whole model code among other words"
        if likely
        else "near but not the same: compare every letter and digit"
    )
    if runner_up is None:
        return reason
    return f"{reason}; next is {runner_up[0]} ({runner_up[2]:.1f})"


def _words(text: str) -> list[str]:
    """Return the words of a text, normalised. A dash does not part words: ``-2`` may be part of a code."""
    words = (normalise(word).rstrip(".!?") for word in _BETWEEN_WORDS.split(text))
    return [word for word in words if word]


def _codes(cell: Cell) -> set[str]:
    return {"".join(_words(cell.model)), "".join(_words(f"{cell.maker} {cell.model}"))} - {""}


def _runs(text: str) -> set[str]:
    """Return every run of whole words of a text, joined. Codes are short, so long runs are left out."""
    words = _words(text)
    return {
        "".join(words[start:end])
        for start in range(len(words))
        for end in range(start + 1, min(start + _MOST_WORDS_OF_A_CODE, len(words)) + 1)
    }
