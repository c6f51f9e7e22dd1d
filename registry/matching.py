"""Which registered cell a marking names.

Twins differ by one letter and by a factor of two in current, so a marking that names exactly one cell is a
match and anything nearer or farther is only ever a suggestion.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Literal, NamedTuple

from registry.cell import Cell
from registry.cell_names import is_telling, names, normalise
from registry.cells import Cells

SCORE_FLOOR = 60.0
MOST_SUGGESTIONS = 5
_MOST_WORDS_OF_A_CODE = 8

# What parts words on a wrapper or in a listing. A dot, slash or plus may be part of a code.
_BETWEEN_WORDS = re.compile(r"[\s,;:|()\[\]{}<>\"']+")


# What stands on a wrapper beside the name and is no part of it: a figure with its unit, the size of the cell, and a
# lot code, which mixes letters and digits; shorter ones may be the rest of a longer model.
_FIGURE = re.compile(r"\d+(?:[.,]\d+)?(?:mah|ah|wh|v|a|g|ma|mm)")
_UNIT_APART = re.compile(r"(?<=\d)\s+(?=(?:mah|ah|wh|v)\b)", re.IGNORECASE)
_SIZE_WORD = re.compile(r"(?:i[a-z]r|[a-z]{2,3}r)?(\d{5})")
_LOT_CODE = re.compile(r"(?=.*\d)(?=.*[a-z])[a-z0-9]{4,}|\d{6,}")


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
        ``exact`` only when one cell in use has a name equal to the marking, both normalised, or to the one name
        that stands in it among figures, a size and a lot code. A name that several cells share, the name of a
        retired cell and every near name give ``none`` with suggestions.
    """
    wanted = normalise(marking)
    if not wanted:
        return Match("none", None, (), "the marking holds no letter or digit")
    found, retired = _of_name(wanted, registry)
    if not found and not retired:
        only = _only_name(marking, registry)
        found, retired = _of_name(only, registry) if only else (found, retired)
    if len(found) == 1:
        return Match("exact", found[0], ())
    if found:
        ids = ", ".join(cell.id for cell in found)
        note = f"{len(found)} registered cells have the name '{marking}': {ids}"
        return Match("none", None, tuple(_same_name(cell, marking, note) for cell in found), note, found)
    if not suggest:
        return Match("none", None, (), "no registered cell has this name", retired)
    near = _suggestions(marking, registry.cells())
    if retired:
        note = "; ".join(f"{cell.id} has this name but is retired: {cell.retired}" for cell in retired)
        gone = [Suggestion(cell.id, marking, 100.0, False, f"retired: {cell.retired}") for cell in retired]
        return Match("none", None, (*gone, *near)[:MOST_SUGGESTIONS], note, retired)
    note = "no registered cell has this name" + ("; these are near" if near else "")
    return Match("none", None, near, note)


def _of_name(name: str, registry: Cells) -> tuple[tuple[Cell, ...], tuple[Cell, ...]]:
    """Return the cells in use of a name, normalised; where there are none, the retired ones of that name."""
    found = tuple(registry.named(name))
    return found, () if found else tuple(registry.named(name, retired=True))


def _only_name(marking: str, registry: Cells) -> str:
    """Return the name of the one registered cell that a text of several words holds; empty where it names none surely.

    Every other word has to be one that stands on any wrapper. A word that is not known may be another maker's name, a
    denial, or the rest of a longer model, and a code like that of the model a twin's.
    """
    words = _words(_UNIT_APART.sub("", marking))
    found: list[tuple[int, int, Cell]] = []
    for start in range(len(words) if len(words) > 1 else 0):
        for end in range(min(start + _MOST_WORDS_OF_A_CODE, len(words)), start, -1):
            name = "".join(words[start:end])
            cells = [*registry.named(name), *registry.named(name, retired=True)] if is_telling(name) else []
            if len(cells) > 1:
                return ""
            if cells:
                found.append((start, end, cells[0]))
                break
    if not found or any(cell != found[0][2] for _, _, cell in found):
        return ""
    start, end, cell = max(found, key=lambda each: each[1] - each[0])
    maker = set(_words(cell.maker))
    rest = [*words[:start], *words[end:]]
    return "".join(words[start:end]) if all(word in maker or _is_no_name(word, cell) for word in rest) else ""


def _is_no_name(word: str, cell: Cell) -> bool:
    """Return whether a word of a wrapper is no part of a name: a figure, its size, a lot code unlike its model."""
    size = _SIZE_WORD.fullmatch(word)
    if size is not None:
        return cell.size is None or size.group(1) == cell.size
    if _FIGURE.fullmatch(word) is not None:
        return True
    if _LOT_CODE.fullmatch(word) is None:
        return False
    from rapidfuzz import fuzz

    return all(
        fuzz.ratio(word, normalise(part)) < SCORE_FLOOR for part in (cell.model, *cell.model.split("-"))
    )


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
