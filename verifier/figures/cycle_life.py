"""Cycle life: the sheet's cycles, which hold under the sheet's own conditions and no others."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from verifier.facts import Facts
from verifier.figures.common import Judged, at_least, caution_of_default_air, caution_of_grade
from verifier.finding import ARITHMETIC, Source, of_fields, of_limit, remark
from verifier.pack.counts import parallel
from verifier.quantities import Mask, Names, Quantity, both, either, first_known, negated, where
from verifier.verdict import at_most

LIMITS = ("cells",)

# What temperatures of a cycle test are counted from, as quantities are never negative. [C]
_ZERO_C = -100.0


class Condition(NamedTuple):
    """One condition of the sheet's test: whether the pack surely meets it, surely breaks it, what is missing.

    ``current`` is that of a cell, where the condition is one.
    """

    met: Mask
    broken: Mask
    missing: Names
    rests_on: Names = 0
    current: Quantity | None = None


def judge(facts: Facts) -> Judged:
    """Judge the cycles by the sheet's, granted where the pack works its cells no harder. [cycles].

    A sheet's count is "at least so many": it can grant, and refutes nothing.
    """
    cycles = facts.of_cell("cycles")
    conditions = [facts.find(each) for each in (_discharge, _charge, _end, _air)]
    granted: Mask = cycles.low > 0
    missing, rests_on = cycles.missing, cycles.rests_on
    for each in conditions:
        granted = both(granted, each.met)
        missing, rests_on = missing | each.missing, rests_on | each.rests_on
    supported = Quantity(
        where(granted, cycles.low, 0.0), inf, where(granted, 0, missing), rests_on, cycles.grade
    )
    facts.step("n_sheet", "cycles of the sheet's test", cycles, "cycles", facts.cell.source("cycles"))
    facts.step("n_cycles", "at least n_sheet, where the pack works its cells no harder", supported, "cycles",
               ARITHMETIC)  # fmt: skip
    judged = at_least(facts, facts.claim("cycles"), supported, where(cycles.low > 0, 0, -1))
    if facts.single:
        _remarks(facts, judged)
    return judged


def _a_cell(facts: Facts, symbol: str, words: str, current: Quantity, source: Source) -> Quantity:
    found = current / facts.find(parallel)
    if facts.single and current.known:
        facts.step(symbol, words, current, "A", source)
        facts.step(f"{symbol}_cell", f"{symbol} / P", found, "A", ARITHMETIC)
    return found


def _discharge(facts: Facts) -> Condition:
    """Compare the current of a cell with the test's: at what is claimed, and at what the controller takes."""
    claimed, drawn = facts.number("claim.continuous_current_a"), facts.number("use.controller_current_a")
    # The seller's current is what the cycles are claimed at, no word on how the pack is built.
    claimed = Quantity(claimed.low, claimed.high, claimed.missing)
    test = facts.of_cell("cycle_discharge_a")
    at_claim = _a_cell(
        facts, "I_claim", "continuous current claimed", claimed, of_fields("claim.continuous_current_a")
    )
    at_use = _a_cell(
        facts, "I_controller", "what the controller takes", drawn, of_fields("use.controller_current_a")
    )
    harder = either(negated(claimed.known), at_use.high > at_claim.high)
    hardest = where(both(drawn.known, harder), at_use, at_claim)
    return _no_harder(hardest, test)


def _charge(facts: Facts) -> Condition:
    """Compare the charge current of a cell with the test's: by the charger seen, else the one claimed."""
    charger = first_known(facts.number("observed.charger.current_a"), facts.number("claim.charge_current_a"))
    test = facts.of_cell("cycle_charge_a")
    source = of_fields("observed.charger.current_a", "claim.charge_current_a")
    return _no_harder(_a_cell(facts, "I_charge", "charge current", charger, source), test)


def _no_harder(current: Quantity, test: Quantity) -> Condition:
    stated = test.high < inf
    met = both(stated, at_most(current.high, test.low))
    broken = both(stated, negated(at_most(current.low, test.high)))
    missing = where(met, 0, current.missing | test.missing)
    return Condition(met, broken, missing, current.rests_on, current)


def _end(facts: Facts) -> Condition:
    """Compare the part of the capacity at which the test ended with what a seller's cycles mean. [-]."""
    test, meant = facts.of_cell("cycle_to_fraction"), facts.limits.number("cycle_end_fraction")
    facts.step("k_end", "part of the capacity left that a seller's cycles end at", meant, "-",
               of_limit("cycle_end_fraction"))  # fmt: skip
    stated = test.high < inf
    met = both(stated, at_most(meant, test.low))
    return Condition(met, both(stated, negated(met)), test.missing)


def _air(facts: Facts) -> Condition:
    """Compare the air of use with the test's temperature."""
    test, near = facts.of_cell("cycle_temperature_c"), facts.limits.number("cycle_temperature_k")
    facts.step("dT_cycles", "how far from the test's temperature its cycles still count", near, "K",
               of_limit("cycle_temperature_k"))  # fmt: skip
    low_c, high_c = facts.air.low_c - _ZERO_C, facts.air.high_c - _ZERO_C
    stated = test.high < inf
    met = both(stated, both(low_c >= test.low - near, high_c <= test.high + near))
    apart = either(high_c < test.low - near, low_c > test.high + near)
    asked = facts.temperature("use.temperature_c").missing
    return Condition(met, both(stated, apart), where(met, 0, test.missing | asked))


def _remarks(facts: Facts, judged: Judged) -> None:
    for said in facts.cell.said("cycles"):
        facts.caution(said)
    caution_of_grade(facts, judged.supported)
    caution_of_default_air(facts, judged)
    if not facts.of_cell("cycles").low > 0:
        return
    for code, find, test, field in (
        ("discharges_harder", _discharge, "cycle_discharge_a", "claim.continuous_current_a"),
        ("charges_harder", _charge, "cycle_charge_a", "observed.charger.current_a"),
    ):
        condition, of_test = facts.find(find), facts.of_cell(test)
        current = condition.current
        if current is not None and current.high < inf and of_test.high < inf and not condition.met:
            facts.caution(remark(code, field, cell_a=current.high, test_a=of_test.low))
        elif not condition.met:
            facts.caution(remark("cycle_use_unknown", field))
    end, air = facts.find(_end), facts.find(_air)
    if end.broken:
        fraction, meant = facts.of_cell("cycle_to_fraction").low, facts.limits.number("cycle_end_fraction")
        facts.caution(remark("cycles_end_lower", percent=100 * fraction, meant_percent=100 * meant))
    if not air.met and facts.of_cell("cycle_temperature_c").high < inf:
        test_c = facts.of_cell("cycle_temperature_c").low + _ZERO_C
        facts.caution(
            remark("cycles_at_other_temperature", "use.temperature_c", test_c=test_c, low_c=facts.air.low_c,
                   high_c=facts.air.high_c)
        )  # fmt: skip
