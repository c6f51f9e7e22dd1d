"""Turning a claim and what can be supported into a verdict and a margin."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from math import inf

from verifier.bounds import Bounds


class Verdict(StrEnum):
    """What can be said of one advertised figure."""

    HOLDS_WITH_RESERVE = "holds with reserve"
    HOLDS_WITHOUT_RESERVE = "holds without reserve"
    HOLDS = "holds"
    DOES_NOT_HOLD = "does not hold"
    NOT_SETTLED = "not settled"
    NOT_CLAIMED = "not claimed"
    CONSISTENT = "consistent"
    INCONSISTENT = "inconsistent"
    CHECK_FAILED = "check failed"


PASSES = frozenset(
    {Verdict.HOLDS_WITH_RESERVE, Verdict.HOLDS_WITHOUT_RESERVE, Verdict.HOLDS, Verdict.CONSISTENT}
)
OPEN_OR_FAILED = frozenset(
    {Verdict.DOES_NOT_HOLD, Verdict.INCONSISTENT, Verdict.NOT_SETTLED, Verdict.CHECK_FAILED}
)

Between = tuple[Verdict, Verdict] | None

# Products such as 3 C x 2.5 Ah x 4 meet a claim of 30 A exactly; rounding in the last binary digit must not
# turn that into a shortfall.
_ROUNDING = 1e-9


def at_most(claim: float, support: float) -> bool:
    """Whether a claim is covered by a support, rounding in the last digits apart."""
    return claim <= support * (1 + _ROUNDING)


def judge_claim(claim: Bounds | None, supported: Bounds, reserve: float | None) -> tuple[Verdict, Between]:
    """Judge a claim of "at least this much" against what can be supported.

    Parameters
    ----------
    claim : Bounds or None
        The advertised figure. A range must be supported to its upper end, and fails from its lower end on.
    supported : Bounds
        What can be supported, in the claim's unit.
    reserve : float or None
        The fraction of the support that a claim with reserve may use; ``None`` for figures that simply hold.

    Returns
    -------
    tuple of Verdict and the two verdicts a not settled claim lies between, or None
    """
    if claim is None:
        return Verdict.NOT_CLAIMED, None

    def outcome(support: float, asked: float) -> Verdict:
        if not at_most(asked, support):
            return Verdict.DOES_NOT_HOLD
        if reserve is None:
            return Verdict.HOLDS
        return (
            Verdict.HOLDS_WITH_RESERVE if at_most(asked, reserve * support) else Verdict.HOLDS_WITHOUT_RESERVE
        )

    worst = outcome(supported.low, claim.high)
    best = outcome(supported.high, claim.low)
    if worst is not Verdict.DOES_NOT_HOLD:
        return worst, None
    if best is Verdict.DOES_NOT_HOLD:
        return best, None
    return Verdict.NOT_SETTLED, (worst, best)


def judge_at_most(claim: Bounds | None, needed: Bounds) -> tuple[Verdict, Between]:
    """Judge a claim of "at most this much", such as hours, against what it really takes.

    Parameters
    ----------
    claim : Bounds or None
        The advertised figure. A range holds only if its lower end does, and fails only above its upper end.
    needed : Bounds
        What it takes, in the claim's unit.

    Returns
    -------
    tuple of Verdict and the two verdicts a not settled claim lies between, or None
    """
    if claim is None:
        return Verdict.NOT_CLAIMED, None
    if at_most(needed.high, claim.low):
        return Verdict.HOLDS, None
    if not at_most(needed.low, claim.high):
        return Verdict.DOES_NOT_HOLD, None
    return Verdict.NOT_SETTLED, (Verdict.DOES_NOT_HOLD, Verdict.HOLDS)


def settle(outcomes: Iterable[bool]) -> tuple[Verdict, Between]:
    """Return the verdict on a claim of "exactly this", given whether each possible pack fits it."""
    found = set(outcomes)
    if found == {True}:
        return Verdict.CONSISTENT, None
    if found == {False}:
        return Verdict.INCONSISTENT, None
    return Verdict.NOT_SETTLED, (Verdict.INCONSISTENT, Verdict.CONSISTENT)


def margin_percent(claim: Bounds | None, supported: Bounds) -> Bounds | None:
    """Return supported / claimed - 1 in percent, or None without a claim. [%]."""
    if claim is None or claim.low <= 0:
        return None
    high = inf if supported.high == inf else _percent(supported.high / claim.low - 1)
    return Bounds(_percent(supported.low / claim.high - 1), high)


def margin_at_most_percent(claim: Bounds | None, needed: Bounds) -> Bounds | None:
    """Return claimed / needed - 1 in percent, or None without a claim: above zero where the claim holds. [%].

    A claim of "at most" is better the smaller it is, so the fraction stands the other way round than in
    `margin_percent`.
    """
    if claim is None:
        return None
    low = -100.0 if needed.high == inf else _percent(claim.low / needed.high - 1)
    high = inf if needed.low <= 0 else _percent(claim.high / needed.low - 1)
    return Bounds(low, high)


def _percent(fraction: float) -> float:
    # Nine decimals: a claim that is met exactly must not show the noise of the last binary digit.
    return round(100 * fraction * 1e9) / 1e9
