"""The names that a cell answers to, and how names are compared."""

from __future__ import annotations

import re
import unicodedata

from registry.cell import Cell

# Blanks, also those without width; dash and connector punctuation of Unicode (hyphens, dashes, underscores);
# and the dashes filed elsewhere: soft hyphen, modifier minus, hyphen bullet, minus.
_FILLER = re.compile(
    r"[\s\u200b\u2060\ufeff"
    r"\-\u058a\u05be\u1400\u1806\u2010-\u2015\u2e17\u2e1a\u2e3a\u2e3b\u2e40\u2e5d\u301c\u3030\u30a0"
    r"\ufe31\ufe32\ufe58\ufe63\uff0d\U00010ead"
    r"_\u203f\u2040\u2054\ufe33\ufe34\ufe4d-\ufe4f\uff3f"
    r"\u00ad\u02d7\u2043\u2212]+"
)


def normalise(text: str) -> str:
    """Return a name as names are compared.

    Compatibility forms and letter case are folded; blanks, hyphens, dashes and underscores are dropped. A
    dot, slash or plus stays, since it can be all that tells two models apart.
    """
    folded = unicodedata.normalize("NFKC", text).casefold()
    return unicodedata.normalize("NFKC", _FILLER.sub("", folded))


def names(cell: Cell) -> list[str]:
    """Return every name a cell answers to: its markings, its model, its maker and model."""
    return list(dict.fromkeys((*cell.markings, cell.model, f"{cell.maker} {cell.model}")))


def normalised_names(cell: Cell) -> set[str]:
    """Return the names of a cell as they are compared."""
    return {normalise(name) for name in names(cell)} - {""}


# Shorter names, and those that read as a number with a unit, are too easily something else.
_SHORTEST = 4
_LIKE_A_QUANTITY = re.compile(r"\d+(?:[.,]\d+)?[a-z]{1,3}")


def is_telling(name: str) -> bool:
    """Return whether a normalised name names a cell wherever it stands as a whole, among other words."""
    return (
        len(name) >= _SHORTEST
        and any(letter.isdigit() for letter in name)
        and any(letter.isalpha() for letter in name)
        and _LIKE_A_QUANTITY.fullmatch(name) is None
    )
