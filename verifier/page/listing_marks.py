"""A listing's own text, with what was read from it marked where it stands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from verifier import ListingReading
from verifier.listing.drafts import IN_WORDS
from verifier.listing.reading import ClaimKind
from verifier.listing.shown import value_with_unit
from verifier.page.forms import field_words
from verifier.page.texts import Texts
from verifier.words import language_of
from verifier.words.translated import translated


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of the text; ``fields`` are the claims that were read from it, ``said`` what they were taken for."""

    text: str
    kind: str = ""
    fields: tuple[str, ...] = ()
    said: str = ""


@dataclass(frozen=True, slots=True)
class Marked:
    """The text in pieces, the remarks on it, and the numbers that were not understood."""

    pieces: tuple[Piece, ...]
    remarks: tuple[tuple[str, bool], ...]
    """Each with whether a claim that it is about was changed since."""
    unread: tuple[str, ...]


def marked(reading: ListingReading, text: str, words: Texts, changed: frozenset[str] = frozenset()) -> Marked:
    """Return a listing in pieces.

    Parameters
    ----------
    reading : ListingReading
        What was read.
    text : str
        The text given, in which the places count unless it was a page.
    words
        The reader's language, in which is said what each was taken for.
    changed
        The claims that the case no longer holds as they were read, by their last names.
    """
    shown = text if reading.extracted_text is None else reading.extracted_text
    return Marked(
        tuple(_pieces(reading, shown, words)),
        tuple((each.text, not changed.isdisjoint(each.about)) for each in reading.remarks),
        tuple(f"{each.text}: {each.words}" for each in reading.not_understood),
    )


def _pieces(reading: ListingReading, text: str, words: Texts) -> Iterator[Piece]:
    at = 0
    for start, end, kind, fields, said in sorted(
        _places(reading, words), key=lambda each: (each[0], -each[1])
    ):
        if start < at or end > len(text):
            # It stands within what is marked already.
            continue
        if start > at:
            yield Piece(text[at:start])
        yield Piece(text[start:end], kind, fields, said)
        at = end
    if at < len(text):
        yield Piece(text[at:])


Place = tuple[int, int, str, tuple[str, ...], str]


def _places(reading: ListingReading, words: Texts) -> list[Place]:
    """Return every place something was read from, once, with all that was read there."""
    found: dict[tuple[int, int], tuple[set[str], dict[str, None], dict[str, None]]] = {}
    for variant in reading.variants:
        for field, claims in variant.claims.items():
            taken = {id(each) for each in variant.claimed(field)}
            for claim in claims:
                kinds, fields, said = found.setdefault((claim.start, claim.end), (set(), {}, {}))
                mine = id(claim) in taken or (field == "load_power_w" and claim.kind == "compatibility")
                kinds.add("claim" if mine else "other")
                fields[field] = None
                told = f"{field_words(f'claim.{field}', words)} {value_with_unit(field, claim)}"
                said[told if mine else f"{told} ({_kind(claim.kind, words)})"] = None
    places = [
        (start, end, "claim" if "claim" in kinds else "other", tuple(fields), "; ".join(said))
        for (start, end), (kinds, fields, said) in found.items()
    ]
    return places + [(each.start, each.end, "unread", (), "") for each in reading.not_understood]


def _kind(kind: ClaimKind, words: Texts) -> str:
    found = translated(IN_WORDS[kind], language_of(words.language))
    return IN_WORDS[kind] if found is None else found
