"""The currents that a seller claims: a maximum that is called neither continuous nor peak may be either."""

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


def surely_continuous(facts: Facts) -> Claim:
    """Return the continuous current claimed, without one that may be meant as a peak. [A]."""
    claim, only_a_maximum = continuous_claim(facts)
    return Claim(claim.low, claim.high, both(claim.made, negated(only_a_maximum)))


def means_the_other(facts: Facts, only_a_maximum: Mask) -> Mask:
    """Whether a current that is only called a maximum may be meant in the other sense as well.

    Beside a continuous current it is a peak; beside a peak it may be that peak once more.
    """
    return both(only_a_maximum, negated(facts.claim("continuous_current_a").made))
