"""Finds the packs that a listing offers by its structure."""

from __future__ import annotations

from collections.abc import Callable

from verifier.listing.offer_finder import Listing, Offers
from verifier.listing.offers_in_lines import InLines
from verifier.listing.offers_in_prose import InProse
from verifier.listing.offers_in_sentences import InSentences
from verifier.listing.offers_in_tables import InTables
from verifier.listing.offers_side_by_side import SideBySide


def find_offers(listing: Listing) -> Offers | None:
    """Return the packs on offer, None where there is one."""
    in_lines, in_prose, side_by_side = InLines(listing), InProse(listing), SideBySide(listing)
    attempts: tuple[Callable[[], Offers | None], ...] = (
        InTables(listing).by_tables, in_lines.by_heads, in_lines.by_headings, in_lines.by_lines,
        in_prose.by_sizes, side_by_side.by_marks, side_by_side.by_lists, side_by_side.by_choice,
        in_prose.by_keys, InSentences(listing).by_form,
    )  # fmt: skip
    for attempt in attempts:
        offers = attempt()
        if offers is not None:
            return offers
    return None
