"""What changed between two results, in words."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Changed:
    """One listing or pack that is in both, and what changed of it, in words."""

    name: str
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Changes:
    """What is new, gone, changed, and how many are the same. ``key`` says by what they were matched."""

    key: str
    old: int
    new: int
    added: tuple[str, ...]
    gone: tuple[str, ...]
    changed: tuple[Changed, ...]

    @property
    def same(self) -> int:
        """How many are in both, without a change."""
        return self.new - len(self.added) - len(self.changed)

    @property
    def any(self) -> bool:
        """Whether anything changed."""
        return bool(self.added or self.gone or self.changed)
