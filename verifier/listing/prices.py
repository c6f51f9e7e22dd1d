"""Prices: what the pack costs now, apart from old prices, shipping and what is paid on top."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence

from verifier.listing.clauses import Clause
from verifier.listing.found import Found
from verifier.listing.layout import Places
from verifier.listing.reading import ClaimKind
from verifier.listing.taken_out import Price
from verifier.listing.voices import Voices

_NEAR = 40
_ARROWS = ("->", "→", "=>", "➡", "statt", ">>")


def prices_of(
    prices: Sequence[Price],
    places: Places,
    clauses: list[Clause],
    in_title: Callable[[int], bool],
    voices: Voices,
) -> Iterator[Found]:
    """Yield the price and its currency for every price that is asked for a pack.

    Parameters
    ----------
    prices : sequence of Price
        Every amount of money in order of place.
    places : Places
        The lines.
    clauses : list of Clause
        For the words around a price.
    in_title : callable
        Says whether a place lies in the title.
    voices : Voices
        Whose word it is.
    """
    starts = [clause.start for clause in clauses]
    for index, price in enumerate(prices):
        clause = clauses[max(0, bisect_right(starts, price.start) - 1)]
        line = places.line(price.start)
        following = prices[index + 1] if index + 1 < len(prices) else None
        kind = _kind(price, following, clause, voices)
        kind = voices.kind_of_line.get(line, kind)
        if kind is None or price.value <= 0:
            continue
        title = in_title(price.start)
        kind = "title" if title and kind == "stated" else kind
        place = price.start, price.end
        yield Found("price", price.value, *place, kind, line, title, cell=places.cell(price.start))
        yield Found("currency", price.currency, *place, kind, line, title, cell=places.cell(price.start))


def _kind(price: Price, following: Price | None, clause: Clause, voices: Voices) -> ClaimKind | None:
    """Return what kind of price it is; None for money that is not the pack's price."""
    near = {
        name
        for voice in clause.voices
        if -_NEAR <= voice.start - price.end <= 12 or 0 <= price.start - voice.end <= _NEAR
        for name in voice.names
        if abs(price.start - voice.end) <= _NEAR or abs(voice.start - price.end) <= _NEAR
    }
    before_it = voices.lower[max(0, price.start - 14) : price.start]
    if clause.named("charger") and not any(q.dimension == "capacity" for q in clause.quantities):
        return None
    if re.search(r"\d\s?[x×]\s?(?:de|a|von|of|da)?\s?\Z", before_it):
        # A rate to be paid several times.
        return None
    if price.plus or near & {"shipping", "optional", "not_included"}:
        return None
    before = {name for voice in clause.voices if 0 <= price.start - voice.end <= 15 for name in voice.names}
    if before & {"old_price"}:
        return "derived"
    if following is not None and following.start - price.end <= 6:
        gap = voices.lower[price.end : following.start]
        if any(arrow in gap for arrow in _ARROWS):
            return "derived"
    return "other_product" if "other_product" in before else "stated"
