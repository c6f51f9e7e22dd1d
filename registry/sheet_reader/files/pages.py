"""Which pages of a file are read, as a user names them: ``1-20``, ``3,7-9``, ``12-``."""

from __future__ import annotations

import re
from dataclasses import dataclass

MOST_PAGES = 60
"""So many pages are read at once, unless pages are named."""


@dataclass(frozen=True, slots=True)
class Pages:
    """Pages by their numbers in the file, counted from 1."""

    spans: tuple[tuple[int, int], ...] = ((1, MOST_PAGES),)
    named: bool = False

    def holds(self, number: int) -> bool:
        """Whether a page is one of them."""
        return any(low <= number <= high for low, high in self.spans)

    def __str__(self) -> str:
        return ",".join(f"{low}-{high}" for low, high in self.spans)


def pages_of(text: str) -> Pages:
    """Return the pages that a text names.

    Raises
    ------
    ValueError
        When it is not such as ``1-20`` or ``3,7-9``, or names more pages than are read at once.
    """
    spans = []
    for part in text.replace(" ", "").split(","):
        found = re.fullmatch(r"(\d{1,5})(?:(-)(\d{1,5})?)?", part)
        if not found:
            raise ValueError(f"'{part}' is no page or range of pages such as 1-20")
        low = int(found[1])
        high = int(found[3]) if found[3] else low + MOST_PAGES - 1 if found[2] else low
        if low < 1 or high < low:
            raise ValueError(f"'{part}' is not in order; pages are counted from 1")
        spans.append((low, high))
    if sum(high - low + 1 for low, high in spans) > MOST_PAGES:
        raise ValueError(f"names more than {MOST_PAGES} pages, the most that are read at once")
    return Pages(tuple(spans), named=True)
