"""Reading a seller's listing: what it claims of each pack on offer, with the words and where they stand."""

from __future__ import annotations

import re

from verifier.case.reading import CaseFile, case_from
from verifier.case.strict_yaml import parse
from verifier.errors import InvalidCase
from verifier.listing.drafts import case_drafts
from verifier.listing.engine import read_listing
from verifier.listing.reading import ListingReading

__all__ = ["case_drafts", "cases_from_listing", "cases_from_reading", "is_listing", "read_listing"]

LARGEST_LISTING = 2_000_000
_SECTION_LINE = re.compile(r"^(?:case|claim|observed|use|limits):\s*(?:[{#]|$)", re.M)


def cases_from_reading(reading: ListingReading, place: str) -> list[CaseFile]:
    """Return a case for every variant of a listing that was read."""
    drafts = case_drafts(reading)
    several = len(drafts) > 1
    return [
        # A number that looks like a slip is the seller's, and judged as it stands.
        case_from(parse(draft, place), f"{place} variant {number}" if several else place)
        for number, draft in enumerate(drafts, start=1)
    ]


def cases_from_listing(text: str, place: str) -> list[CaseFile]:
    """Return a case for every pack that a listing offers, holding only what the seller claims of it.

    Parameters
    ----------
    text : str
        Plain text, or a page saved as HTML.
    place : str
        What to call the listing in messages.

    Raises
    ------
    InvalidCase
        When the text is larger than any listing.
    """
    if len(text) > LARGEST_LISTING:
        raise InvalidCase(place, "is larger than 2 MB", "a listing is some lines of text")
    return cases_from_reading(read_listing(text), place)


def is_listing(text: str) -> bool:
    """Return whether text is a listing rather than a case file.

    A listing of "name: value" lines is YAML too, so what counts is that a case has sections. Text that is
    neither counts as a case, whose errors name the place of what is wrong.
    """
    if len(text) > LARGEST_LISTING or text.lstrip().startswith("{") or _SECTION_LINE.search(text):
        return False
    try:
        data = parse(text, "").data
    except InvalidCase:
        data = None
    if isinstance(data, dict) and any(isinstance(value, dict) for value in data.values()):
        return False
    return any(variant.claims for variant in read_listing(text).variants)
