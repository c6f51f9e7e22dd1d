"""How the pack is used: what the case states, else what is usual.

A usual value may carry a pass that says so, never a refusal: at the end that would refute it gives way to the
farthest value that the physics allows.
"""

from __future__ import annotations

from verifier.facts import Facts
from verifier.finding import Source, of_fields, of_limit
from verifier.quantities import Mask, Quantity, both, negated, where

# Nothing on a road weighs more. [kg]
HEAVIEST_KG = 1e6


def stated_or_usual(
    facts: Facts, name: str, limit: str, farthest: tuple[float | None, float | None]
) -> Quantity:
    """Return what the case states of the use, else the usual limit, lacking what nobody stated.

    Parameters
    ----------
    name
        Field of the case, such as ``use.rider_kg``.
    limit
        The limit that holds the usual values. One that somebody overrides is that person's word and is taken
        as it stands.
    farthest
        What takes the place of the usual low and high end where that end would refute; None to keep it.
    """
    stated, usual = facts.number(name), facts.limit(limit)
    if limit not in facts.limits.overrides:
        low = usual.low if farthest[0] is None else farthest[0]
        high = usual.high if farthest[1] is None else farthest[1]
        usual = Quantity(low, high, stated.missing)
    found: Quantity = where(stated.known, stated, usual)
    return found


def nobody_said(facts: Facts, name: str, limit: str) -> Mask:
    """Whether neither the case states a value of the use nor anybody overrides its usual limit."""
    return both(negated(facts.number(name).known), limit not in facts.limits.overrides)


def source_of_use(facts: Facts, name: str, limit: str) -> Source:
    """Return where a value of one pack's use comes from; a table shows no sources."""
    return of_fields(name) if not facts.single or facts.number(name).known else of_limit(limit)


def drive_efficiency(facts: Facts) -> Quantity:
    """Return the efficiency from battery to shaft; unless stated, anything better is possible. [-]."""
    found = stated_or_usual(facts, "use.efficiency", "drive_efficiency", (None, 1.0))
    facts.step(
        "eta", "battery to shaft", found, "-", source_of_use(facts, "use.efficiency", "drive_efficiency")
    )
    return found
