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
    """What is new, gone, changed, and how many are the same. ``key`` says by what they were matched.

    Of a new one ``texts`` say what it comes to. ``reworded`` are those of which only other words of the source changed,
    and nothing of the answer. ``counted`` are what is counted: listings, or packs.
    """

    key: str
    old: int
    new: int
    added: tuple[Changed, ...]
    gone: tuple[Changed, ...]
    changed: tuple[Changed, ...]
    reworded: tuple[Changed, ...] = ()
    counted: str = "listing"

    @property
    def same(self) -> int:
        """How many are in both with the same answer; what else changed of some stands in `reworded`."""
        return self.new - len(self.added) - len(self.changed)

    @property
    def any(self) -> bool:
        """Whether anything changed."""
        return bool(self.added or self.gone or self.changed or self.reworded)
