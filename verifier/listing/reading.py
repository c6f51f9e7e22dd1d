"""What a reader found in a listing: each variant on offer, and each claim with the words it came from."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from registry.fields import StrictModel

ClaimKind = Literal[
    "stated", "title", "compatibility", "trip", "peak", "continuous", "per_cell", "derived", "negated",
    "other_product",
]  # fmt: skip


class ListingClaim(StrictModel):
    """One number or word of the listing, as printed, with its place in the text."""

    value: float | str
    text: str
    start: Annotated[int, Field(ge=0)]
    end: Annotated[int, Field(ge=0)]
    kind: ClaimKind


class ListingVariant(StrictModel):
    """One pack that the listing offers."""

    name: str
    claims: dict[str, list[ListingClaim]]


class ListingRemark(StrictModel):
    """Something a buyer should know about the wording: a slip, a conflict, a doubt."""

    text: str
    about: list[str]


class ListingReading(StrictModel):
    """Everything read from one listing. No number is ever repaired."""

    variants: list[ListingVariant]
    remarks: list[ListingRemark]
