"""The fuse that a pack is to be given: what it protects is the weakest part of the path that the current takes."""

from __future__ import annotations

from math import inf
from typing import Any

from verifier.facts import Facts
from verifier.pack.current import elements
from verifier.pack.elements import cells_at_best
from verifier.pack.voltage import pack_full_voltage
from verifier.quantities import either, negated, smaller, where


def fuse_to_fit(facts: Facts) -> dict[str, Any]:
    """Return the fuse to fit: no larger than what every part of the path surely carries, as far as it was seen.

    ``fit_a`` is inf where no part was seen; ``unseen`` is whether a part may carry less, because nobody has seen it;
    the fuse is for ``full_v`` or more, inf where that is not known. [A, -, V].
    """
    # In the cold the cells bear less, and are not what a fuse protects there; the fuse itself is the last.
    _, *parts, _ = facts.quietly(elements)
    parts.append(facts.quietly(cells_at_best))
    least: Any = inf
    unseen: Any = False
    for part in parts:
        seen = part.low > 0
        least = smaller(least, where(seen, part.low, inf))
        unseen = either(unseen, negated(seen))
    return {"fit_a": least, "unseen": unseen, "full_v": facts.quietly(pack_full_voltage).high}
