"""Finds the packs that a listing offers by its structure."""

from __future__ import annotations

from collections.abc import Callable

from verifier.listing.found import Found
from verifier.listing.layout import Line
from verifier.listing.offer_finder import Offers, Text
from verifier.listing.offers_in_lines import InLines
from verifier.listing.offers_in_tables import InTables
from verifier.listing.offers_side_by_side import SideBySide
from verifier.listing.tables import Table
from verifier.listing.voices import Voices


def find_offers(
    text: str, lower: str, found: list[Found], lines: list[Line], tables: list[Table], voices: Voices
) -> Offers | None:
    """Return the packs on offer, None where there is one.

    Parameters
    ----------
    text, lower : str
        The listing, and the same folded.
    found : list of Found
        Every figure in order of place.
    lines, tables : list
        The structure.
    voices : Voices
        Known words that name versions.
    """
    listing = Text(text, lower, lines, tables, voices, found)
    in_lines, side_by_side = InLines(listing), SideBySide(listing)
    attempts: tuple[Callable[[], Offers | None], ...] = (
        InTables(listing).by_tables, in_lines.by_numbers, in_lines.by_headings, in_lines.by_lines,
        side_by_side.by_marks, side_by_side.by_lists, side_by_side.by_choice,
    )  # fmt: skip
    for attempt in attempts:
        offers = attempt()
        if offers is not None:
            return offers
    return None
