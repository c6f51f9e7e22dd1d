"""What the pack itself can support, quantity by quantity; figures compare it with what is claimed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import TypeVar

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
