"""Reading a seller's listing: what it claims of each pack on offer, with the words and where they stand."""

from __future__ import annotations

import re

from registry.cells import Cells
from registry.input_bounds import LISTING
from verifier.case.reading import CaseFile, case_from
from verifier.case.strict_yaml import parse
from verifier.errors import InvalidCase
from verifier.listing.drafts import case_drafts
from verifier.listing.engine import read_listing
from verifier.listing.files import refuse_too_long
from verifier.listing.reading import ListingReading

__all__ = ["case_drafts", "cases_from_listing", "cases_from_reading", "is_listing", "read_listing"]

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


def cases_from_listing(text: str, place: str, cells: Cells | None = None) -> list[CaseFile]:
    """Return a case for every pack that a listing offers, holding only what the seller claims of it.

    Parameters
    ----------
    text : str
        Plain text, or a page saved as HTML.
    place : str
        What to call the listing in messages.
    cells : Cells, optional
        The registry: its cells are found wherever the text names one of them.

    Raises
    ------
    UnreadableInput
        When the text is longer than any listing.
    """
    refuse_too_long(text, place)
    return cases_from_reading(read_listing(text, cells=cells), place)


def is_listing(text: str) -> bool:
    """Return whether text is a listing rather than a case file.

    A listing of "name: value" lines is YAML too, so what counts is that a case has sections. Text that is
    neither counts as a case, whose errors name the place of what is wrong.
    """
    if text.lstrip().startswith("{") or _SECTION_LINE.search(text):
        return False
    if len(text) > LISTING.most:
        return True  # which is then refused for what it is
    try:
        data = parse(text, "").data
    except InvalidCase:
        data = None
    if isinstance(data, dict) and any(isinstance(value, dict) for value in data.values()):
        return False
    return any(variant.claims for variant in read_listing(text).variants)
