"""Capacity: can the cells inside hold the ampere-hours on the label?"""

from __future__ import annotations

from math import inf

from verifier.fact_names import missing
from verifier.facts import Facts
from verifier.figures.common import (
    Judged,
    at_least,
    caution_of_grade,
    shown,
    told_of_rounding,
    told_of_the_cold,
)
from verifier.finding import remark
from verifier.pack.capacity import (
    NEW,
    is_used,
    may_have_worn,
    measured_capacity,
    pack_capacity,
    rated_capacity,
    stopped_early,
)
from verifier.pack.counts import parallel, series
from verifier.pack.expected_wear import told_of_wear
from verifier.pack.groups import charge_apart, groups
from verifier.pack.grown_resistance import resistance_over_new
from verifier.pack.resting import deeply_discharged, floors, over_full
from verifier.pack.wear import holds_enough, may_be_as_new, telling_apart
from verifier.verdict import PASSES, VERDICTS, Verdict, at_most

# Of a capacity test, without which it bounds little from above.
_CONDITIONS = (
    "observed.capacity_temperature_c", "observed.capacity_current_a", "observed.capacity_cutoff_v",
)  # fmt: skip
_RESISTANCES = ("observed.cell.dc_mohm", "observed.cell.ac_mohm")
LIMITS = ("parallel", "cells", "as measured")


def judge(facts: Facts) -> Judged:
    """Judge the capacity: the cells' minimum is sure, a good cell's is possible, a measurement decides. [Ah].

    A printed capacity may be rounded: 13.8 Ah are sold as 14.
    """
    claim = facts.claim("capacity_ah")
    supported, limited_by = facts.find(pack_capacity)
    tolerance = facts.limits.number("print_rounding")
    judged = at_least(facts, claim, supported, limited_by, tolerance=tolerance)
    if facts.single:
        _remarks(facts, judged)
    return judged


# A claim that is printed of the typical capacity is that, to its last digit.
_AS_PRINTED = 0.005


def _of_typical_cells(facts: Facts, judged: Judged) -> None:
    """Note a claim that is the cells in parallel times what a datasheet calls typical: labels are printed so."""
    claim, cell, count = judged.claim, facts.of_cell("capacity_ah"), facts.find(parallel)
    measured = facts.number("observed.capacity_ah").known or is_used(facts)
    if not claim.made or measured or cell.low <= 0 or cell.missing & missing("sheet.typical_capacity"):
        return
    typical = count.high * cell.high / (1 + facts.limits.number("capacity_over_typical"))
    sure = count.low * cell.low
    if count.low == count.high and abs(claim.high - typical) <= _AS_PRINTED * typical and sure < claim.high:
        facts.caution(
            remark(
                "by_typical", "claim.capacity_ah", claimed=claim.high, sure=sure,
                less_percent=100 * (1 - sure / claim.high),
            )
        )  # fmt: skip


def _of_uneven_groups(facts: Facts) -> None:
    """Note what the lower end of the capacity is less by, where the groups may hold unlike charges and need not."""
    apart, found = facts.find(charge_apart), facts.find(groups)
    floor, _ = facts.find(floors)
    if found.lowest[1] < floor or max(deeply_discharged(facts).surely, over_full(facts).surely):
        # Such a pack is charged no more, and what its groups cost it is nothing to anybody.
        return
    if apart.most > 0 and not apart.surely and not facts.number("observed.capacity_ah").known:
        spread_mv = 1000 * (found.highest[1] - found.lowest[0])
        facts.caution(remark("groups_may_cost", "observed.groups_v", spread_mv=spread_mv, percent=apart.most))


def _ended_early(facts: Facts) -> bool:
    """Note a test that ended above the voltage of empty cells, and return whether there is one."""
    measured, noted = facts.number("observed.capacity_ah"), facts.number("observed.capacity_cutoff_v")
    stopped, left, _ = facts.find(stopped_early)
    if not measured.known or not stopped:
        return False
    facts.caution(
        remark(
            "test_ended_early", "observed.capacity_cutoff_v", measured_ah=shown(measured), ended_v=shown(noted),
            cell_v=shown(noted / facts.find(series)), nearly=left < inf,
        )
    )  # fmt: skip
    return True


def _beside_new_cells(facts: Facts, judged: Judged) -> None:
    """Note a test that gave less than new cells make, and what may explain it."""
    supported = judged.supported
    measured, new = facts.number("observed.capacity_ah"), facts.find(rated_capacity)
    ended = VERDICTS[judged.outcome.verdict] not in PASSES and _ended_early(facts)
    if measured.known and new.low > 0 and measured.high < new.low and not ended:
        stands_for = facts.find(measured_capacity)
        used, conditions = is_used(facts), missing(*_CONDITIONS)
        sold_as_new = facts.choice("case.condition") == NEW and not used
        code = "used_or_other_cells" if sold_as_new else "worn_or_other_cells"
        if stands_for.high >= new.low:
            # Cold, a high current or the meter may be all that is lacking.
            code = "may_be_new_test_open" if stands_for.missing & conditions else "may_be_new"
        elif facts.find(may_be_as_new):
            code = "new_but_for_the_tester"
        facts.caution(
            remark(
                code, "observed.capacity_ah", measured_ah=measured.high, new_ah=new.low,
                percent=100 * measured.high / new.low, low_ah=supported.low, high_ah=supported.high,
                used=used, tester_percent=100 * facts.limits.number("tester_error"), **telling_apart(facts),
            )
        )  # fmt: skip


def _of_a_label(facts: Facts, judged: Judged) -> None:
    """Note what to write of a tested pack that is not new, and that only a label's rounding may save a claim."""
    measured, new, claim = facts.number("observed.capacity_ah"), facts.find(rated_capacity), judged.claim
    if measured.known and measured.low < new.low and holds_enough(facts) and not facts.find(may_be_as_new):
        facts.caution(
            remark(
                "capacity_for_label", "observed.capacity_ah", measured_ah=measured.low, new_ah=new.low,
                percent=100 * measured.low / new.low,
                least_percent=100 * facts.limits.number("worn_out_capacity"),
            )
        )  # fmt: skip
    open_ = VERDICTS[judged.outcome.verdict] is Verdict.NOT_SETTLED
    if claim.made and open_ and measured.known and claim.low > judged.supported.high:
        facts.caution(
            remark(
                "holds_by_rounding_alone", "claim.capacity_ah", claimed_ah=claim.low,
                most_ah=judged.supported.high,
            )
        )  # fmt: skip


def _remarks(facts: Facts, judged: Judged) -> None:
    claim, supported = judged.claim, judged.supported
    for said in facts.cell.said("capacity_ah"):
        facts.caution(said)
    caution_of_grade(facts, supported)
    rounded = supported.low * (1 + facts.limits.number("print_rounding"))
    if claim.made and at_most(claim.high, rounded):
        told_of_rounding(facts, "claim.capacity_ah", claim.high, supported.low, "Ah")
    _of_typical_cells(facts, judged)
    _of_uneven_groups(facts)
    told_of_the_cold(facts, claim)
    _beside_new_cells(facts, judged)
    _of_a_label(facts, judged)
    measured = facts.number("observed.capacity_ah")
    apart = facts.find(charge_apart)
    if apart.surely and not measured.known:
        found = facts.find(groups)
        facts.caution(
            remark(
                "groups_unbalanced", "observed.groups_v", lowest=found.lowest_place, highest=found.highest_place,
                low_percent=apart.least, high_percent=apart.most,
            )
        )  # fmt: skip
    if may_have_worn(facts) and not measured.known:
        gave, sheet = facts.number("observed.cell.capacity_ah"), facts.of_cell("capacity_ah")
        facts.caution(
            remark(
                "cell_has_worn", "observed.cell.capacity_ah", measured_ah=shown(gave), new_ah=sheet.low,
                percent=100 * gave.low / sheet.low,
            )
        )  # fmt: skip
    if facts.find(resistance_over_new).more and not measured.known:
        facts.caution(remark("cell_resistance_grown", *_RESISTANCES))
    for said in told_of_wear(facts):
        facts.caution(said)
    if is_used(facts) and not measured.known:
        facts.caution(remark("used_untested", "observed.capacity_ah"))
