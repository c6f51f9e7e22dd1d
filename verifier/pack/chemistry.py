"""What tells the chemistry of the cells."""

from __future__ import annotations

from verifier.facts import Facts
from verifier.quantities import Mask, Names, either, where


def chemistry_rests_on(facts: Facts) -> Names:
    """Return the facts that tell the chemistry: what names a known cell, else the chemistry itself."""
    found: Names = where(facts.cell.known, facts.cell_rests_on, facts.possible_chemistries()[1])
    return found


def chemistry_is_named(facts: Facts) -> Mask:
    """Whether the cell is known, or anybody names its chemistry."""
    named: Mask = facts.cell.known
    for name in ("observed.cell.chemistry", "claim.chemistry"):
        named = either(named, facts.choice(name) != 0)
    return named
