"""Turning a claim and what can be supported into a verdict and a margin, for one pack or for a column of them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import inf
from typing import Any, NamedTuple

from verifier.fact_names import SECONDHAND
from verifier.quantities import Mask, Number, Quantity, both, either, larger, negated, ratio, where


class Verdict(StrEnum):
    """What can be said of one advertised figure."""

    HOLDS_WITH_RESERVE = "holds with reserve"
    HOLDS_WITHOUT_RESERVE = "holds without reserve"
    HOLDS = "holds"
    HOLDS_ON_SELLERS_WORD = "holds on the seller's word"
    DOES_NOT_HOLD = "does not hold"
    NOT_SETTLED = "not settled"
    NOT_CLAIMED = "not claimed"
    CONSISTENT = "consistent"
    CONSISTENT_ON_SELLERS_WORD = "consistent on the seller's word"
    INCONSISTENT = "inconsistent"
    CHECK_FAILED = "check failed"


class Meaning(NamedTuple):
    """What a verdict means wherever it is read: its rank (worst first), whether it passes, tone and group."""

    rank: int
    passes: bool
    tone: str
    group: str


# The one place that says what a verdict means. Tones: bad, open, fair, good, none.
MEANINGS: dict[Verdict, Meaning] = {
    Verdict.CHECK_FAILED: Meaning(0, False, "bad", "could not be checked"),
    Verdict.DOES_NOT_HOLD: Meaning(1, False, "bad", "does not hold"),
    Verdict.INCONSISTENT: Meaning(2, False, "bad", "does not hold"),
    Verdict.NOT_SETTLED: Meaning(3, False, "open", "cannot tell yet"),
    Verdict.HOLDS_ON_SELLERS_WORD: Meaning(4, True, "open", "holds if the seller is right"),
    Verdict.CONSISTENT_ON_SELLERS_WORD: Meaning(5, True, "open", "holds if the seller is right"),
    Verdict.HOLDS_WITHOUT_RESERVE: Meaning(6, True, "fair", "holds without reserve"),
    Verdict.CONSISTENT: Meaning(7, True, "good", "holds"),
    Verdict.HOLDS: Meaning(8, True, "good", "holds"),
    Verdict.HOLDS_WITH_RESERVE: Meaning(9, True, "good", "holds"),
    Verdict.NOT_CLAIMED: Meaning(10, False, "none", "not claimed"),
}
# A column of verdicts is a column of places in this list.
VERDICTS: tuple[Verdict, ...] = tuple(MEANINGS)
CODE = {verdict: place for place, verdict in enumerate(VERDICTS)}

PASSES = frozenset(verdict for verdict, meaning in MEANINGS.items() if meaning.passes)
ON_SELLERS_WORD = frozenset({Verdict.HOLDS_ON_SELLERS_WORD, Verdict.CONSISTENT_ON_SELLERS_WORD})
OPEN_OR_FAILED = frozenset(
    {Verdict.DOES_NOT_HOLD, Verdict.INCONSISTENT, Verdict.NOT_SETTLED, Verdict.CHECK_FAILED}
)
REFUTED = frozenset({Verdict.DOES_NOT_HOLD, Verdict.INCONSISTENT})

_WITH_RESERVE = CODE[Verdict.HOLDS_WITH_RESERVE]
_WITHOUT_RESERVE = CODE[Verdict.HOLDS_WITHOUT_RESERVE]
_HOLDS = CODE[Verdict.HOLDS]
_FAILS = CODE[Verdict.DOES_NOT_HOLD]
_OPEN = CODE[Verdict.NOT_SETTLED]
_NOT_CLAIMED = CODE[Verdict.NOT_CLAIMED]
_CONSISTENT = CODE[Verdict.CONSISTENT]
_INCONSISTENT = CODE[Verdict.INCONSISTENT]
_NONE = -1

# Products such as 3 C x 2.5 Ah x 4 meet a claim of 30 A exactly; rounding in the last binary digit must not
# turn that into a shortfall.
_ROUNDING = 1e-9


class Claim(NamedTuple):
    """An advertised figure: its ends, and whether it is made at all. One pack, or a column of them."""

    low: Number
    high: Number
    made: Mask


@dataclass(frozen=True, slots=True)
class Outcome:
    """A verdict as its code, the two codes that an open one lies between (-1 for none), and the margin."""

    verdict: Any
    worst: Any
    best: Any
    margin_low_percent: Number
    margin_high_percent: Number


def at_most(claim: Number, support: Number) -> Mask:
    """Whether a claim is covered by a support, rounding in the last digits apart."""
    return claim <= support * (1 + _ROUNDING)


def judge_claim(claim: Claim, supported: Quantity, reserve: float | None, tolerance: float = 0.0) -> Outcome:
    """Judge a claim of "at least this much" against what can be supported.

    Parameters
    ----------
    claim : Claim
        The advertised figure. A range must be supported to its upper end, and fails from its lower end on.
    supported : Quantity
        What can be supported, in the claim's unit.
    reserve : float or None
        The fraction of the support that a claim with reserve may use; ``None`` for figures that simply hold.
    tolerance : float
        By what part of the support a printed claim may exceed it by rounding.
    """

    def outcome(support: Number, asked: Number) -> Any:
        reached = support * (1 + tolerance)
        if reserve is None:
            passed: Any = _HOLDS
        else:
            passed = where(at_most(asked, reserve * support), _WITH_RESERVE, _WITHOUT_RESERVE)
        return where(at_most(asked, reached), passed, _FAILS)

    worst, best = outcome(supported.low, claim.high), outcome(supported.high, claim.low)
    return _outcome(claim, worst, best, _FAILS, _margin(claim, supported))


def judge_at_most(claim: Claim, needed: Quantity) -> Outcome:
    """Judge a claim of "at most this much", such as hours, against what it really takes.

    Parameters
    ----------
    claim : Claim
        The advertised figure. A range holds only if its lower end does, and fails only above its upper end.
    needed : Quantity
        What it takes, in the claim's unit.
    """
    worst = where(at_most(needed.high, claim.low), _HOLDS, _FAILS)
    best = where(at_most(needed.low, claim.high), _HOLDS, _FAILS)
    low = 100 * (ratio(claim.low, needed.high) - 1)
    high = 100 * (ratio(claim.high, needed.low) - 1)
    return _outcome(claim, worst, best, _FAILS, (_tidy(low), _tidy(high)))


def settle(claim: Claim, supported: Quantity, can_fit: Mask, can_differ: Mask) -> Outcome:
    """Return the verdict on a claim of "exactly this", given what the pack may be.

    Parameters
    ----------
    claim, supported
        For the margin.
    can_fit, can_differ
        Whether some pack that fits what is known agrees with the claim, and whether some does not.
    """
    worst = where(can_differ, _INCONSISTENT, _CONSISTENT)
    best = where(can_fit, _CONSISTENT, _INCONSISTENT)
    return _outcome(claim, worst, best, _INCONSISTENT, _margin(claim, supported))


def not_claimed() -> Outcome:
    """Return the outcome of a figure that sellers do not claim."""
    return Outcome(_NOT_CLAIMED, _NONE, _NONE, float("nan"), float("nan"))


def _outcome(claim: Claim, worst: Any, best: Any, failing: int, margin: tuple[Number, Number]) -> Outcome:
    covered, fails = worst != failing, best == failing
    open_ = both(both(negated(covered), negated(fails)), claim.made)
    verdict = where(covered, worst, where(fails, best, _OPEN))
    return Outcome(
        where(claim.made, verdict, _NOT_CLAIMED),
        where(open_, worst, _NONE),
        where(open_, best, _NONE),
        where(claim.made, margin[0], float("nan")),
        where(claim.made, margin[1], float("nan")),
    )


def in_either_sense(own: Outcome, other: Outcome) -> Outcome:
    """Return the outcome of a claim that can be meant in two senses, as the first of them has it.

    It is refuted only where it fails in both, and open where it fails in one of them.
    """
    fails, other_fails = own.verdict == _FAILS, other.verdict == _FAILS
    differ = both(fails != other_fails, own.verdict != _NOT_CLAIMED)
    verdict = where(fails, other.verdict, own.verdict)
    best = where(fails, other.best, own.best)
    return Outcome(
        where(differ, _OPEN, own.verdict),
        where(differ, _FAILS, own.worst),
        where(differ, where(verdict == _OPEN, best, verdict), own.best),
        own.margin_low_percent,
        own.margin_high_percent,
    )


def chosen(condition: Mask, one: Outcome, other: Outcome) -> Outcome:
    """Return one outcome where a condition holds, and the other elsewhere."""
    return Outcome(
        where(condition, one.verdict, other.verdict),
        where(condition, one.worst, other.worst),
        where(condition, one.best, other.best),
        where(condition, one.margin_low_percent, other.margin_low_percent),
        where(condition, one.margin_high_percent, other.margin_high_percent),
    )


def is_exact(verdict: Any) -> Mask:
    """Whether a pass is one of "exactly this"."""
    return either(verdict == _CONSISTENT, verdict == CODE[Verdict.CONSISTENT_ON_SELLERS_WORD])


def passes(verdict: Any) -> Mask:
    """Whether a verdict, by its code, lets the claim pass."""
    return both(verdict > _OPEN, verdict < _NOT_CLAIMED)


def by_hearsay(verdict: Any, grade: Any) -> Mask:
    """Whether what passes needs a figure that somebody quotes; a voltage that fits grants nothing, and needs none."""
    return both(both(passes(verdict), negated(is_exact(verdict))), grade == SECONDHAND)


def on_sellers_word(outcome: Outcome, only_said: Mask) -> Outcome:
    """Return the outcome with a pass that needs the seller's word as a verdict of its own."""
    exact = is_exact(outcome.verdict)
    said = where(exact, CODE[Verdict.CONSISTENT_ON_SELLERS_WORD], CODE[Verdict.HOLDS_ON_SELLERS_WORD])
    verdict = where(both(passes(outcome.verdict), only_said), said, outcome.verdict)
    return Outcome(
        verdict, outcome.worst, outcome.best, outcome.margin_low_percent, outcome.margin_high_percent
    )


def opened(outcome: Outcome, disputed: Mask) -> Outcome:
    """Return the outcome with a pass that rests on a fact in dispute left open."""
    changed = both(passes(outcome.verdict), disputed)
    exact = is_exact(outcome.verdict)
    failing = where(exact, _INCONSISTENT, _FAILS)
    return Outcome(
        where(changed, _OPEN, outcome.verdict),
        where(changed, failing, outcome.worst),
        where(changed, outcome.verdict, outcome.best),
        outcome.margin_low_percent,
        outcome.margin_high_percent,
    )


def _margin(claim: Claim, supported: Quantity) -> tuple[Number, Number]:
    """Return supported / claimed - 1 at both ends. [%]."""
    low = 100 * (ratio(supported.low, larger(claim.high, 1e-300)) - 1)
    high = 100 * (ratio(supported.high, larger(claim.low, 1e-300)) - 1)
    return _tidy(low), _tidy(high)


def _tidy(percent: Number) -> Number:
    # Nine decimals: a claim that is met exactly must not show the noise of the last binary digit.
    if isinstance(percent, float):
        return percent if percent == inf else round(percent * 1e9) / 1e9
    import numpy as np

    return np.rint(percent * 1e9) / 1e9
