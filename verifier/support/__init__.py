"""What the pack itself can support, quantity by quantity; figures compare it with what is claimed."""

from __future__ import annotations

from dataclasses import dataclass

from verifier.bounds import Bounds
from verifier.finding import Step


@dataclass(frozen=True, slots=True)
class Support:
    """A quantity the pack can support, and everything that it rests on."""

    value: Bounds
    steps: tuple[Step, ...] = ()
    unknown: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    evidence: str | None = None
    limited_by: str | None = None
