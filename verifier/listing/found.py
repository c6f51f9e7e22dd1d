"""One figure of a listing on its way to a claim."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from verifier.listing.quantity import Quantity
from verifier.listing.reading import CLAIMED_KINDS, ListingClaim, ListingVariant

Value = float | str | tuple[float, float]


def shown(values: Iterable[Value]) -> str:
    """Return values in words, such as ``48, 60-80``."""
    return ", ".join(
        "-".join(f"{end:g}" for end in value) if isinstance(value, tuple)
        else f"{value:g}" if isinstance(value, float) else value
        for value in values
    )  # fmt: skip


@dataclass(slots=True, eq=False)
class Found:
    """A figure or code, its place, and what the words make of it."""

    field: str
    value: Any
    start: int
    end: int
    kind: Any
    line: int
    title: bool
    quantity: Quantity | None = None
    cell: int = 0
    inferred: str = ""
    doubt: str = ""
    own_line: bool = False

    @property
    def claimed(self) -> bool:
        """Whether the seller states this of the pack."""
        return self.kind in CLAIMED_KINDS or (self.field == "peak_current_a" and self.kind == "peak")

    def copy(self) -> Found:
        """Return the same figure for another variant."""
        return replace(self)

    def claim(self, text: str) -> ListingClaim:
        """Return the claim with its words."""
        return ListingClaim(
            value=self.value, text=text[self.start : self.end], start=self.start, end=self.end,
            kind=self.kind, inferred=self.inferred or None, doubt=self.doubt or None, own_line=self.own_line,
        )  # fmt: skip


@dataclass(slots=True)
class Variant:
    """One pack on offer, its figures in order of place."""

    name: str
    found: list[Found] = field(default_factory=list)

    def of(self, name: str) -> list[Found]:
        """Return the figures of a claim field that the seller states."""
        return [each for each in self.found if each.field == name and each.claimed]

    def one(self, name: str) -> float | None:
        """Return the value of a field where only one is stated and it is not in doubt."""
        values = {each.value for each in self.of(name) if not each.doubt}
        value = values.pop() if len(values) == 1 else None
        return value if isinstance(value, float) else None

    def reading(self, text: str, use: Mapping[str, list[ListingClaim]]) -> ListingVariant:
        """Return the variant as it is shown, with what is told of its use so far."""
        claims: dict[str, list[ListingClaim]] = {}
        for each in sorted(self.found, key=lambda one: (one.start, one.end)):
            claims.setdefault(each.field, []).append(each.claim(text))
        return ListingVariant(name=self.name, claims=claims, use_so_far=dict(use))
