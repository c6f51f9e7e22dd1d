"""What stands under one label of a sheet, and how much its place says."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum


class Rank(IntEnum):
    """How much the place of a statement says: the later ones speak only where the earlier are silent."""

    TABLE = 0
    PROSE = 1
    ASIDE = 2
    EXCLUDED = 3
    """It stands in a section of tests, warnings, examples or earlier revisions."""


@dataclass(frozen=True, slots=True)
class Statement:
    """What stands under one label: the texts in their one form, and the line as it is printed."""

    label: str
    value: str
    note: str
    page: int | None
    quote: str
    rank: Rank = Rank.TABLE
    carried: bool = False
    """Whether its label is that of another line."""
    extra: frozenset[str] = frozenset()
    """What the header of the value's column says of it, such as ``{'minimum'}``."""
    footnotes: tuple[str, ...] = ()
    doubt: str | None = None

    @property
    def prose(self) -> bool:
        """Whether it is a sentence."""
        return self.rank is Rank.PROSE
