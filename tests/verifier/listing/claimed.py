"""What a listing claims of a pack, as the tests of single wordings ask for it."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from verifier.listing import read_listing

CLAIMED = ("stated", "title", "continuous", "peak")


def claimed(text: str, field: str, variant: int = 0, *, kinds: Collection[str] = CLAIMED) -> list[Any]:
    """Return the values that a pack of a listing claims under a field, by claims of some kinds."""
    claims = read_listing(text).variants[variant].claims.get(field, [])
    return [claim.value for claim in claims if claim.kind in kinds]
