"""Capacities and energies told beside this pack's own: of several such packs together, and what is left of a used one.

"Two in parallel would be 23.2 Ah" of a pack of 11.6 Ah, and "13.7 Ah measured of 17.6 Ah original" of one sold as
17.6 Ah, state nothing else of the pack: they are set aside.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from verifier.listing.found import Found

_FIELDS = ("capacity_ah", "energy_wh")
_SAME = 0.02
_MOST_PACKS = 6
# A listing states a figure a few times; a text of thousands is none, and each would be held against each.
_MOST_FIGURES = 40
_STATED = ("stated", "title")


def set_aside(found: Sequence[Found], sentence: Callable[[Found], int | None]) -> None:
    """Mark what is told of several packs, or is left of a used one, as not the seller's word of this pack.

    Parameters
    ----------
    found
        What was read of one listing; its kinds are changed.
    sentence
        In which sentence something stands, None where that is not known.
    """
    for field in _FIELDS:
        own = [each for each in found if each.field == field and isinstance(each.value, float)]
        if len(own) > _MOST_FIGURES:
            continue
        for each in own:
            others = [other for other in own if other is not each and other.kind in _STATED]
            place = sentence(each)
            if each.kind != "stated" or place is None or not others:
                continue
            counts = list(_counts(found, place, sentence))
            together = [c for c in counts if any(_near(each, c.value, other) for other in others)]
            for count in together:
                count.kind = "derived"
            used = any(
                original.kind == "derived"
                and sentence(original) == place
                and _value(each) < _value(original)
                and any(_near(original, 1.0, other) for other in others)
                for original in own
            )
            if together or used:
                each.kind = "derived"


def _counts(found: Sequence[Found], place: int, sentence: Callable[[Found], int | None]) -> Iterator[Found]:
    for each in found:
        if each.field == "parallel" and sentence(each) == place and 2 <= _value(each) <= _MOST_PACKS:
            yield each


def _value(each: Found) -> float:
    return each.value if isinstance(each.value, int | float) else 0.0


def _near(each: Found, times: object, other: Found) -> bool:
    expected = _value(other) * (times if isinstance(times, int | float) else 0.0)
    return expected > 0 and abs(_value(each) / expected - 1) <= _SAME
