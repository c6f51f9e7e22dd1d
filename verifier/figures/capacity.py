"""Capacity: can the cells inside hold the ampere-hours on the label?"""

from __future__ import annotations

from verifier.figures.common import at_least
from verifier.finding import Finding
from verifier.pack import Pack
from verifier.support.capacity import pack_capacity


def judge(pack: Pack) -> Finding:
    """Judge the capacity: minimum cell capacity decides the low end, typical the high end. [Ah]."""
    return at_least(pack, "capacity", "Ah", pack.claim.capacity_ah, pack_capacity(pack), None)
