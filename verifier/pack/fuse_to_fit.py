"""The fuse that a pack is to be given: what it protects is the weakest part of the path that the current takes."""

from __future__ import annotations

from math import inf
from typing import Any

from verifier.fact_names import SELLERS_WORD
from verifier.facts import Facts
from verifier.finding import ELEMENTS
from verifier.pack.current import elements
from verifier.pack.elements import NOT_IN_THE_WAY, cells_at_best, series_links, take_off
from verifier.pack.short_circuit import into_a_short
from verifier.pack.voltage import pack_full_voltage
from verifier.quantities import Quantity, both, either, negated, smaller, where

_CELLS = ELEMENTS.index("cells")


def strip_of_all(facts: Facts) -> tuple[Quantity, Any]:
    """Return what the strip that all of the pack's current passes carries, and its place in `ELEMENTS`. [A, -].

    Of links between groups and the strip to the main lead, the one that carries less at its most; a strip of which
    somebody only says how many cells feed it is not seen.
    """
    found, part = NOT_IN_THE_WAY, ELEMENTS.index("take_off")
    for name, element in (("take_off", take_off), ("series_links", series_links)):
        carried = facts.quietly(element)
        weaker = both(carried.rests_on & SELLERS_WORD == 0, carried.high < found.high)
        found, part = where(weaker, carried, found), where(weaker, ELEMENTS.index(name), part)
    return found, part


def fuse_to_fit(facts: Facts) -> dict[str, Any]:
    """Return the fuse to fit: no larger than what every part of the path surely carries, as far as it was seen.

    ``fit_a`` is inf where no part was seen, and ``fit_for`` the place of the weakest part among `ELEMENTS`; ``unseen``
    is whether a part may carry less, because nobody has seen it, ``lacking`` what of the weakest part was not seen; the
    fuse is for ``full_v`` or more, inf where that is
    not known, and has to break ``short_a``. [A, -, -, V, A].
    """
    # In the cold the cells bear less, and are not what a fuse protects there; the fuse itself is the last.
    _, *parts, _ = facts.quietly(elements)
    least: Any = inf
    weakest: Any = -1
    unseen: Any = False
    lacking: Any = 0
    for place, part in enumerate([facts.quietly(cells_at_best), *parts]):
        seen = part.low > 0
        weaker = both(seen, part.low < least)
        least = smaller(least, where(seen, part.low, inf))
        weakest = where(weaker, place, weakest)
        lacking = where(weaker, part.missing, lacking)
        # What worn cells bear is open, and no part that somebody could look at.
        looked_at = facts.cell.known if place == _CELLS else False
        unseen = either(unseen, both(negated(seen), negated(looked_at)))
    return {
        "fit_a": least, "fit_for": weakest, "unseen": unseen, "lacking": lacking,
        "full_v": facts.quietly(pack_full_voltage).high,
        "short_a": facts.quietly(into_a_short),
    }  # fmt: skip
