"""What the pack itself can support, quantity by quantity; figures compare it with what is claimed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any, TypeVar

from registry.cell import EVIDENCE_BEST_FIRST
from verifier.bounds import Bounds
from verifier.finding import Step
from verifier.pack import Pack

Found = TypeVar("Found")


def once_a_pack(find: Callable[[Pack], Found]) -> Callable[[Pack], Found]:
    """Let several figures ask for a quantity that is found once: a pack never changes."""

    @wraps(find)
    def remembered(pack: Pack) -> Found:
        if find not in pack.memory:
            pack.memory[find] = find(pack)
        found: Found = pack.memory[find]
        return found

    return remembered


def once_a_cell(find: Callable[..., Found]) -> Callable[..., Found]:
    """Mark a quantity of the cell inside, found once for all packs that have the same cell.

    Where the cell is known such a function may ask the pack for its cell, its temperatures of use, its limits
    and its sheet, and for nothing else: what it finds serves every pack with that cell.
    """

    @wraps(find)
    def found(pack: Pack, *arguments: Any) -> Found:
        result: Found = pack.of_cell(find, *arguments)
        return result

    return found


@dataclass(frozen=True, slots=True)
class Support:
    """A quantity the pack can support, and everything that it rests on."""

    value: Bounds
    steps: tuple[Step, ...] = ()
    unknown: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    evidence: str | None = None
    limited_by: str | None = None


def worst_evidence(*grades: str | None) -> str | None:
    """Return the grade of what rests on several figures: the worst of them, None when one has none."""
    if None in grades:
        return None
    return max(grades, key=lambda grade: [*EVIDENCE_BEST_FIRST].index(grade))  # type: ignore[arg-type]
