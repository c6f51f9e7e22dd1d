"""What tells the chemistry of the cells."""

from __future__ import annotations

from verifier.facts import Facts
from verifier.quantities import Names, where


def chemistry_rests_on(facts: Facts) -> Names:
    """Return the facts that tell the chemistry: what names a known cell, else the chemistry itself."""
    found: Names = where(facts.cell.known, facts.cell_rests_on, facts.possible_chemistries()[1])
    return found
