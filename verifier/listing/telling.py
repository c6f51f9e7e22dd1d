"""What is told beside the claims: numbers not understood, languages not read, the wording of single figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from verifier.listing.bare import BARE
from verifier.listing.found import Found
from verifier.listing.languages import Tongues
from verifier.listing.layout import Line
from verifier.listing.quantity import Quantity
from verifier.listing.reading import ListingRemark, NotUnderstood
from verifier.listing.states import States

_MACHINE = "'{}' looks like a machine's translation of the sign for ampere; ask the seller"
_TOLD = ("voltage", "current", "capacity", "energy", "power", "mass", "cycles", "distance")
_MOST_TOLD = 60
_MOST_AMBIGUOUS = 20
_MOST_HEADS = 20
_LONGEST_WORDS = 80


def not_understood(text: str, lines: Sequence[Line], left: Sequence[Quantity]) -> list[NotUnderstood]:
    """Return the numbers that were seen and not understood, with the words around them."""
    told = [q for q in left if q.dimension in _TOLD and q.unit.name != BARE]
    return [
        NotUnderstood(
            text=text[quantity.start : quantity.end],
            start=quantity.start,
            end=quantity.end,
            words=_words_around(text, lines[quantity.line], quantity),
        )
        for quantity in told[:_MOST_TOLD]
    ]


def _words_around(text: str, line: Line, quantity: Quantity) -> str:
    half = _LONGEST_WORDS // 2
    start, end = max(line.start, quantity.start - half), min(line.end, quantity.end + half)
    return " ".join(text[start:end].split())


def remarks_on_wording(
    text: str, found: Sequence[Found], tongues: Tongues, ambiguous: Sequence[tuple[int, int]], states: States
) -> list[ListingRemark]:
    """Return what is to be said about the language and the wording of single figures.

    Parameters
    ----------
    text : str
        The listing.
    found : sequence of Found
        Every figure.
    tongues : Tongues
        Its languages.
    ambiguous : sequence of (int, int)
        The places of numbers that can be read in two ways.
    states : States
        The heads that set figures aside.
    """
    made: list[ListingRemark] = []
    if tongues.unread_lines:
        names = " and ".join(tongues.unread_names) or "a language that is not known"
        made.append(
            ListingRemark(
                text=f"{len(tongues.unread_lines)} lines are in {names}, which is not read: of these only "
                "cell counts and sizes are taken, and the volts, Ah and Wh that name the pack",
                about=[],
            )
        )
    made += [
        ListingRemark(
            text=f"'{text[start:end]}' can be read with thousands or with a decimal comma; left out", about=[]
        )
        for start, end in ambiguous[:_MOST_AMBIGUOUS]
    ]
    made += [
        ListingRemark(
            text=f"what stands under '{' '.join(text[start:end].split())}' is of another state or pack: left out",
            about=[],
        )
        for start, end in states.heads[:_MOST_HEADS]
    ]
    said = {
        (_MACHINE.format(text[each.start : each.end]), each.field): None
        for each in found
        if each.quantity is not None and each.quantity.unit.machine
    }
    made += [ListingRemark(text=words, about=[name]) for words, name in said]
    return [*made, *_brief(text, found)]


def _brief(text: str, found: Sequence[Found]) -> Iterator[ListingRemark]:
    for each in found:
        quantity = each.quantity
        words = text[each.start : each.end]
        if each.field == "max_current_a" and each.claimed:
            yield ListingRemark(
                text=f"'{words}' is called a maximum, neither continuous nor a peak",
                about=["continuous_current_a", "max_current_a"],
            )
        elif each.field == "peak_current_a" and quantity is not None and "peak" not in quantity.labels:
            yield ListingRemark(
                text=f"'{words}' is given for {quantity.seconds:g} s: a peak, not a continuous current",
                about=["continuous_current_a", "peak_current_a"],
            )
