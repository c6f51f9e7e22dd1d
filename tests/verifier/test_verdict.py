"""Verdicts: which of four answers a claim gets, at every boundary, and by what margin.

The rules: holds with reserve if claim <= reserve x low; holds without reserve if claim <= low; does not hold
if claim > high; else not settled, between the two outcomes it lies between. Reserve 2/3 is common practice,
no source.
"""

from __future__ import annotations

from math import inf, isnan, nextafter

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from verifier.bounds import UNKNOWN, Bounds
from verifier.quantities import Quantity
from verifier.verdict import (
    CODE,
    MEANINGS,
    PASSES,
    VERDICTS,
    Claim,
    Outcome,
    Verdict,
    judge_at_most,
    judge_claim,
    on_sellers_word,
    opened,
    settle,
)

TWO_THIRDS = 2 / 3
WITH, WITHOUT = Verdict.HOLDS_WITH_RESERVE, Verdict.HOLDS_WITHOUT_RESERVE
HOLDS, FAILS, OPEN = Verdict.HOLDS, Verdict.DOES_NOT_HOLD, Verdict.NOT_SETTLED
AMPERES = st.floats(0.001, 1e5) | st.integers(1, 200).map(float)


def exact(value: float) -> Bounds:
    return Bounds(value, value)


def asked(claim: Bounds | None) -> Claim:
    return Claim(1.0, 1.0, False) if claim is None else Claim(claim.low, claim.high, True)


def quantity(support: Bounds) -> Quantity:
    return Quantity(support.low, support.high)


def told(outcome: Outcome) -> tuple[Verdict, tuple[Verdict, Verdict] | None]:
    """Return a verdict and the two that it lies between, in words."""
    between = None if outcome.worst < 0 else (VERDICTS[outcome.worst], VERDICTS[outcome.best])
    return VERDICTS[outcome.verdict], between


def judged(
    claim: Bounds | None, support: Bounds, reserve: float | None, tolerance: float = 0.0
) -> tuple[Verdict, tuple[Verdict, Verdict] | None]:
    return told(judge_claim(asked(claim), quantity(support), reserve, tolerance))


def margin(claim: Bounds, support: Bounds) -> Bounds:
    found = judge_claim(asked(claim), quantity(support), None)
    return Bounds(found.margin_low_percent, found.margin_high_percent)


@pytest.mark.parametrize(
    ("claim", "low", "high", "verdict", "between"),
    [
        (20, 30, 30, WITH, None),
        (20.001, 30, 30, WITHOUT, None),
        (30, 30, 30, WITHOUT, None),
        (30.001, 30, 30, FAILS, None),
        (20, 30, 60, WITH, None),
        (25, 30, 60, WITHOUT, None),
        (31, 30, 46, OPEN, (FAILS, WITHOUT)),
        (31, 30, 47, OPEN, (FAILS, WITH)),
        (60, 30, 60, OPEN, (FAILS, WITHOUT)),
        (40, 30, 60, OPEN, (FAILS, WITH)),
        (61, 30, 60, FAILS, None),
        (25, 0, inf, OPEN, (FAILS, WITH)),
        (25, 0, 0, FAILS, None),
    ],
)
def test_the_four_answers(
    claim: float, low: float, high: float, verdict: Verdict, between: tuple[Verdict, Verdict] | None
) -> None:
    """A claim beyond the cells' limit would be called good, or a good one bad."""
    assert judged(exact(claim), Bounds(low, high), TWO_THIRDS) == (verdict, between)


@pytest.mark.parametrize(
    ("claim", "low", "high", "verdict", "between"),
    [
        (14, 14, 14, HOLDS, None),
        (14, 13.4, 13.8, FAILS, None),
        (13.6, 13.4, 13.8, OPEN, (FAILS, HOLDS)),
        (13.4, 13.4, 13.8, HOLDS, None),
        (13.8, 13.4, 13.8, OPEN, (FAILS, HOLDS)),
    ],
)
def test_figures_without_reserve_simply_hold(
    claim: float, low: float, high: float, verdict: Verdict, between: tuple[Verdict, Verdict] | None
) -> None:
    """A capacity would be told to keep a reserve that only currents and powers need."""
    assert judged(exact(claim), Bounds(low, high), None) == (verdict, between)


def test_thirty_amps_of_three_c_times_two_and_a_half_ampere_hours_times_four() -> None:
    """The last binary digit would turn an exact fit into a shortfall: 3 C x 2.5 Ah x 4 = 30 A."""
    for claim, support in ((30, 3 * 2.5 * 4), (31.2, 4 * (3 * 2.6)), (31.2, 3 * 2.6 * 4), (0.3, 3 * 0.1)):
        assert judged(exact(claim), exact(support), TWO_THIRDS)[0] is WITHOUT
        assert judged(exact(claim), exact(nextafter(claim, 0)), TWO_THIRDS)[0] is WITHOUT
    assert judged(exact(20), exact(3 * 2.5 * 4), TWO_THIRDS)[0] is WITH
    assert judged(exact(30.0001), exact(30), TWO_THIRDS)[0] is FAILS


@given(AMPERES, AMPERES, AMPERES, st.floats(0.05, 1))
def test_the_rule_as_it_is_written(claim: float, a: float, b: float, reserve: float) -> None:
    """The report would follow another rule than the one it explains."""
    low, high = sorted((a, b))
    edges = (low, high, reserve * low, reserve * high)
    assume(all(abs(claim - edge) > 1e-6 * edge for edge in edges))
    verdict, between = judged(exact(claim), Bounds(low, high), reserve)
    if claim < reserve * low:
        assert verdict is WITH
    elif claim < low:
        assert verdict is WITHOUT
    elif claim > high:
        assert verdict is FAILS
    else:
        assert verdict is OPEN
        assert between == (FAILS, WITH if claim < reserve * high else WITHOUT)


@given(AMPERES, AMPERES, st.floats(0.05, 1))
def test_nothing_known_never_passes(claim: float, high: float, reserve: float) -> None:
    """An element that nobody has looked at would let a claim pass."""
    assert judged(exact(claim), UNKNOWN, reserve)[0] is OPEN
    assert judged(exact(claim), Bounds(0, high), reserve)[0] not in PASSES
    assert judged(exact(claim), Bounds(0, high), None)[0] not in PASSES


@pytest.mark.parametrize(
    ("claim", "support", "verdict"),
    [
        (Bounds(10, 20), Bounds(30, 30), WITH),
        (Bounds(10, 25), Bounds(30, 30), WITHOUT),
        (Bounds(10, 31), Bounds(30, 30), OPEN),
        (Bounds(31, 40), Bounds(30, 30), FAILS),
        (Bounds(30, 40), Bounds(30, 30), OPEN),
    ],
)
def test_a_range_as_claim_is_held_to_its_upper_end(claim: Bounds, support: Bounds, verdict: Verdict) -> None:
    """A seller's "20-30 A" would pass by its lower end, or fail by its upper one alone."""
    found, between = judged(claim, support, TWO_THIRDS)
    assert found is verdict
    assert (between is not None) == (verdict is OPEN)


@given(AMPERES, st.tuples(AMPERES, AMPERES).map(sorted), AMPERES, st.floats(0.05, 1))
def test_more_support_is_never_a_worse_answer(
    claim: float, ends: list[float], more: float, reserve: float
) -> None:
    """A stronger pack would be rated below a weaker one."""
    order = [FAILS, OPEN, WITHOUT, WITH]
    weak = judged(exact(claim), Bounds(*ends), reserve)[0]
    strong = judged(exact(claim), Bounds(ends[0] + more, ends[1] + more), reserve)[0]
    assert order.index(strong) >= order.index(weak)


def test_no_claim_is_no_verdict() -> None:
    """A figure that the seller never gave would be counted as one that holds."""
    found = judge_claim(asked(None), quantity(Bounds(30, 30)), TWO_THIRDS)
    assert told(found) == (Verdict.NOT_CLAIMED, None)
    assert Verdict.NOT_CLAIMED not in PASSES
    assert isnan(found.margin_low_percent)
    assert isnan(found.margin_high_percent)


def test_equality_needs_every_possible_pack_to_agree() -> None:
    """A voltage that fits one of two possible packs would be called consistent."""

    def settled(can_fit: bool, can_differ: bool) -> tuple[Verdict, tuple[Verdict, Verdict] | None]:
        return told(settle(asked(exact(48)), quantity(UNKNOWN), can_fit, can_differ))

    assert settled(True, False) == (Verdict.CONSISTENT, None)
    assert settled(False, True) == (Verdict.INCONSISTENT, None)
    assert settled(True, True) == (OPEN, (Verdict.INCONSISTENT, Verdict.CONSISTENT))


@pytest.mark.parametrize(
    ("claim", "needed", "verdict"),
    [
        (exact(6), Bounds(5, 6), HOLDS),
        (exact(6), Bounds(5, 6.1), OPEN),
        (exact(4.9), Bounds(5, 6), FAILS),
        (Bounds(5, 6), Bounds(5, 5), HOLDS),
        (Bounds(4, 6), Bounds(5, 5), OPEN),
        (Bounds(3, 4), Bounds(5, 5), FAILS),
        (exact(6), UNKNOWN, OPEN),
    ],
)
def test_hours_are_held_to_their_lower_end(claim: Bounds, needed: Bounds, verdict: Verdict) -> None:
    """A charge of "4 to 6 h" would hold although it takes 5 h. Rule: at most so much, for every value."""
    found = judge_at_most(asked(claim), quantity(needed))
    assert VERDICTS[found.verdict] is verdict
    if needed.high < inf:
        assert found.margin_low_percent == pytest.approx(100 * (claim.low / needed.high - 1))
        assert found.margin_high_percent == pytest.approx(100 * (claim.high / needed.low - 1))


def test_a_claim_rounded_in_print_is_no_shortfall() -> None:
    """13.8 Ah sold as 14 Ah would be called a lie like 30 Ah. Rule: as people print it, limit print_rounding."""
    assert judged(exact(14), exact(13.8), None, 0.02)[0] is HOLDS
    assert judged(exact(14.1), exact(13.8), None, 0.02)[0] is FAILS
    # What decides whether a claim keeps its reserve is what is supported, not what may be printed of it.
    assert judged(exact(9.3), exact(13.8), TWO_THIRDS, 0.02)[0] is WITHOUT


@pytest.mark.parametrize("verdict", Verdict)
def test_a_pass_on_the_sellers_word_is_a_verdict_of_its_own(verdict: Verdict) -> None:
    """Who filters a table on "holds" would be given what nobody has seen. Rule: design, A14 of the review."""
    outcome = Outcome(CODE[verdict], -1, -1, 0.0, 0.0)
    said = VERDICTS[on_sellers_word(outcome, True).verdict]
    assert VERDICTS[on_sellers_word(outcome, False).verdict] is verdict
    if verdict in (WITH, WITHOUT, HOLDS):
        assert said is Verdict.HOLDS_ON_SELLERS_WORD
    elif verdict is Verdict.CONSISTENT:
        assert said is Verdict.CONSISTENT_ON_SELLERS_WORD
    else:
        assert said is verdict


@pytest.mark.parametrize("verdict", Verdict)
def test_a_pass_on_a_fact_in_dispute_is_left_open(verdict: Verdict) -> None:
    """A wrapper on a cell of another mass would go on granting its current; a refusal would be taken back."""
    found, between = told(opened(Outcome(CODE[verdict], -1, -1, 0.0, 0.0), True))
    if verdict in PASSES:
        exact_kind = verdict in (Verdict.CONSISTENT, Verdict.CONSISTENT_ON_SELLERS_WORD)
        assert (found, between) == (OPEN, (Verdict.INCONSISTENT if exact_kind else FAILS, verdict))
    else:
        assert found is verdict
    assert told(opened(Outcome(CODE[verdict], -1, -1, 0.0, 0.0), False)) == (verdict, None)


def test_what_verdicts_mean_is_said_of_each_once() -> None:
    """A new verdict would be counted nowhere, or a refusal be ranked behind a pass."""
    assert set(MEANINGS) == set(Verdict)
    ranks = [each.rank for each in MEANINGS.values()]
    assert ranks == sorted(set(ranks))
    passing = [MEANINGS[each].rank for each in PASSES]
    assert max(MEANINGS[each].rank for each in (FAILS, Verdict.INCONSISTENT, OPEN)) < min(passing)
    assert all(MEANINGS[each].tone not in ("good", "fair") for each in Verdict if each not in PASSES)
    assert all(MEANINGS[each].tone == "open" for each in PASSES if "word" in each)


@pytest.mark.parametrize(
    ("claim", "support", "low", "high"),
    [
        (exact(25), Bounds(31.2, 31.2), 24.8, 24.8),
        (exact(20), Bounds(10.4, 10.4), -48, -48),
        (exact(25), Bounds(0, 35), -100, 40),
        (exact(25), UNKNOWN, -100, inf),
        (Bounds(20, 40), Bounds(30, 30), -25, 50),
    ],
)
def test_margin_is_supported_over_claimed_less_one(
    claim: Bounds, support: Bounds, low: float, high: float
) -> None:
    """The shortfall in a report would be that of another formula (supported / claimed - 1, in percent)."""
    found = margin(claim, support)
    assert found.low == pytest.approx(low)
    assert found.high == pytest.approx(high)


@given(AMPERES, st.tuples(AMPERES, AMPERES).map(sorted))
def test_the_margin_tells_the_verdict(claim: float, ends: list[float]) -> None:
    """A claim would hold with a negative margin, or fail with a positive one."""
    found = margin(exact(claim), Bounds(*ends))
    verdict, _ = judged(exact(claim), Bounds(*ends), None)
    # What rounding leaves of a claim met exactly.
    noise = 1e-6
    if verdict is HOLDS:
        assert found.low >= -noise
    elif verdict is FAILS:
        assert found.high < 0
    else:
        assert found.low < noise
        assert found.high >= -noise
