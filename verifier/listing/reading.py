"""What a reader found in a listing: each variant on offer, and each claim with the words it came from."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field
from pydantic.json_schema import SkipJsonSchema

from registry.fields import StrictModel

# derived: worked out by the seller, or passed on from someone else; no statement of the seller's own.
ClaimKind = Literal[
    "stated", "title", "compatibility", "trip", "peak", "continuous", "per_cell", "derived", "negated",
    "other_product",
]  # fmt: skip

# What the seller states of this very pack; a peak is one only as a peak.
CLAIMED_KINDS = frozenset({"stated", "title", "continuous"})


class ListingClaim(StrictModel):
    """One number or word of the listing, as printed, with its place in the text.

    A range is one claim whose value is its two ends. ``inferred`` says how the label was chosen where none
    is printed. ``doubt`` says why the figure can hardly be meant as printed, or of which pack it is not said;
    such a figure never reaches a case. ``own_line`` says that it is stated by its name, alone on a line or in
    the title, without anything that would make it a second kind of the figure, such as a minimum; of a
    cell's marking that it names one registered cell.
    """

    value: float | str | tuple[float, float]
    text: str
    start: Annotated[int, Field(ge=0)]
    end: Annotated[int, Field(ge=0)]
    kind: ClaimKind
    inferred: str | None = None
    doubt: str | None = None
    own_line: Annotated[SkipJsonSchema[bool], Field(exclude=True)] = False


class ListingVariant(StrictModel):
    """One pack that the listing offers.

    ``use_so_far`` is what the seller tells of the pack as it is, which promises nothing: ``condition``, new or used,
    and ``cycles``, how often it was charged. Neither is there where the text leaves it open.
    """

    name: str
    claims: dict[str, list[ListingClaim]]
    use_so_far: dict[str, list[ListingClaim]] = Field(default_factory=dict)

    def claimed(self, name: str) -> list[ListingClaim]:
        """Return what the seller states of this pack under a claim field."""
        peak = name in ("peak_current_a", "peak_seconds")
        return [
            claim
            for claim in self.claims.get(name, [])
            if claim.kind in CLAIMED_KINDS or (peak and claim.kind == "peak")
        ]


class ListingRemark(StrictModel):
    """Something a buyer should know about the wording: a slip, a conflict, a doubt."""

    text: str
    about: list[str]


class NotUnderstood(StrictModel):
    """A number of the listing that was seen and not understood, with the words around it."""

    text: str
    start: Annotated[int, Field(ge=0)]
    end: Annotated[int, Field(ge=0)]
    words: str


class ListingReading(StrictModel):
    """Everything read from one listing. No number is ever repaired.

    ``extracted_text`` holds the words of a page saved as HTML; places then count in it, else in the text
    given.
    """

    title: str = ""
    variants: list[ListingVariant]
    remarks: list[ListingRemark]
    not_understood: list[NotUnderstood] = Field(default_factory=list)
    extracted_text: str | None = None
