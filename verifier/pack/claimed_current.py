"""The currents that a seller claims: a maximum that is called neither continuous nor peak is judged as both."""

from __future__ import annotations

from verifier.facts import Facts
from verifier.quantities import Mask, both, either, negated, where
from verifier.verdict import Claim


def continuous_claim(facts: Facts) -> tuple[Claim, Mask]:
    """Return the continuous current claimed, and whether it is only called a maximum. [A]."""
    return _or_maximum(facts, "continuous_current_a")


def peak_claim(facts: Facts) -> tuple[Claim, Mask]:
    """Return the peak current claimed, and whether it is only called a maximum. [A]."""
    return _or_maximum(facts, "peak_current_a")


def _or_maximum(facts: Facts, name: str) -> tuple[Claim, Mask]:
    own, maximum = facts.claim(name), facts.claim("max_current_a")
    taken = both(negated(own.made), maximum.made)
    claim = Claim(
        where(taken, maximum.low, own.low),
        where(taken, maximum.high, own.high),
        either(own.made, maximum.made),
    )
    return claim, taken
