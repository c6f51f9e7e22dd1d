"""How every figure turns what is claimed and what is supported into its answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from verifier.bounds import Bounds
from verifier.electrical.discharge import capacity_factor_bounds
from verifier.fact_names import SECONDHAND, SELLERS_WORD
from verifier.facts import Facts
from verifier.finding import RemarkWhere, remark
from verifier.quantities import Mask, Names, Quantity, both, negated, where
from verifier.verdict import PASSES, VERDICTS, Claim, Outcome, judge_claim, on_sellers_word, opened, passes


@dataclass(frozen=True, slots=True)
class Judged:
    """The answer of one figure, for one pack or for a column of packs.

    ``limited_by`` is a place in the figure's list of limits, -1 for none. ``only_a_maximum`` says that a
    current is called neither continuous nor peak. ``claimed_as`` and ``supported_as`` are,
    for one pack, the two as the trade writes them where a bare number says less, such as 10S4P.
    """

    claim: Claim
    supported: Quantity
    outcome: Outcome
    limited_by: Any = -1
    only_a_maximum: Any = False
    claimed_as: str = ""
    supported_as: str = ""


def answer(
    facts: Facts,
    claim: Claim,
    supported: Quantity,
    outcome: Outcome,
    limited_by: Any = -1,
    *,
    rests_on: Names = 0,
) -> Judged:
    """Return a figure's answer: a pass on what only the seller says is told apart, one on what is in dispute is open.

    Parameters
    ----------
    rests_on
        Facts that the outcome rests on beside those of the support.
    """
    used = supported.rests_on | rests_on
    outcome = on_sellers_word(outcome, used & SELLERS_WORD != 0)
    outcome = opened(outcome, used & facts.disputed != 0)
    told = Quantity(supported.low, supported.high, supported.missing, used, supported.grade)
    return Judged(claim, told, outcome, limited_by)


def at_least(
    facts: Facts,
    claim: Claim,
    supported: Quantity,
    limited_by: Any = -1,
    surely_limited_by: Any = None,
    *,
    reserve: float | None = None,
    tolerance: float = 0.0,
) -> Judged:
    """Judge a claim of "at least this much", with `reserve` for currents and powers."""
    judged = answer(facts, claim, supported, judge_claim(claim, supported, reserve, tolerance), limited_by)
    return judged if surely_limited_by is None else naming_what_is_sure(judged, surely_limited_by)


def naming_what_is_sure(judged: Judged, surely_limited_by: Any) -> Judged:
    """Return an answer that names, where the claim passes, what limits the sure end: it passes by that one."""
    return replace(
        judged, limited_by=where(passes(judged.outcome.verdict), surely_limited_by, judged.limited_by)
    )


def too_much(
    codes: tuple[str, str], field: str, more: Mask, surely: Mask, numbers: Mapping[str, Any]
) -> list[RemarkWhere]:
    """Return that a current is more than something takes, under one code where surely and the other where perhaps."""
    sure, perhaps = codes
    return [
        RemarkWhere(sure, (field,), both(more, surely), numbers),
        RemarkWhere(perhaps, (field,), both(more, negated(surely)), numbers),
    ]


def caution_of_default_air(facts: Facts, judged: Judged) -> None:
    """Note that a pass rests on temperatures that nobody stated."""
    if (
        facts.single
        and facts.air.assumed
        and VERDICTS[judged.outcome.verdict] in PASSES
        and judged.claim.made
    ):
        facts.caution(
            remark("default_air", "use.temperature_c", low_c=facts.air.low_c, high_c=facts.air.high_c)
        )


def caution_of_default_charging_air(facts: Facts, judged: Judged) -> None:
    """Note that a pass rests on a room to charge in that nobody stated."""
    air = facts.charging_air
    if facts.single and air.assumed and judged.claim.made and VERDICTS[judged.outcome.verdict] in PASSES:
        facts.caution(
            remark("default_charging_air", "use.charge_temperature_c", low_c=air.low_c, high_c=air.high_c)
        )


def caution_of_grade(facts: Facts, supported: Quantity) -> None:
    """Note that what is supported is a figure that somebody quoted."""
    if facts.single and supported.grade == SECONDHAND:
        facts.caution(remark("secondhand"))


# Colder air than this takes from what comes out of a cell; common practice, no source. [C]
_COOL_C = 10.0
# A claim above what supports it by less prints as the same number.
_SHOWN_OVER = 0.001
# A gentle discharge, from the one that capacities are rated at.
_GENTLE_C_RATES = (0.2, 0.5)


def told_of_the_cold(facts: Facts, claim: Claim) -> None:
    """Note that a capacity or an energy is that of a room, where the pack is said to be used in the cold."""
    air = facts.air
    if not claim.made or air.assumed or air.low_c >= _COOL_C:
        return
    least, most = capacity_factor_bounds(temperature_c=(air.low_c, air.low_c), c_rate=_GENTLE_C_RATES)
    facts.caution(
        remark(
            "less_in_the_cold", "use.temperature_c", cold_c=air.low_c, percent_low=100 * least,
            percent_high=100 * most,
        )
    )  # fmt: skip


def told_of_rounding(facts: Facts, field: str, claimed: float, supported: float, unit: str) -> None:
    """Note by how much a claim exceeds what supports it, where three printed figures would show it."""
    over = claimed / supported - 1 if supported > 0 else 0.0
    if over >= _SHOWN_OVER:
        facts.caution(
            remark("rounded", field, claimed=claimed, supported=supported, over_percent=100 * over, unit=unit)
        )


def shown(quantity: Quantity) -> Bounds:
    """Return a quantity of one pack as remarks hold it."""
    return Bounds(quantity.low, quantity.high)
