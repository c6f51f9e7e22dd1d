"""Charge time: is the pack full within the hours claimed, with this charger and these cells?"""

from __future__ import annotations

from math import inf

from verifier.cell_figures import chemistries_in
from verifier.electrical.charge_taper import taper_hours
from verifier.facts import Facts
from verifier.figures.common import Judged, answer, caution_of_default_charging_air, caution_of_grade, shown
from verifier.finding import ARITHMETIC, reference, remark
from verifier.pack.capacity import pack_capacity
from verifier.pack.charging import cells_where_allowed, charger_current, full_charge_current
from verifier.pack.chemistry import chemistry_rests_on
from verifier.quantities import Quantity, both, by_distinct
from verifier.verdict import judge_at_most

LIMITS = ("charger", "cells")

TAPER = reference(
    "time over capacity / current by open cell models, computed; see packclaim explain charge_time"
)


def judge(facts: Facts) -> Judged:
    """Judge a claim of "full within so many hours" against capacity over current and the taper. [h].

    Supported is the time that it takes, so a claim holds at or above it, and the margin is above zero there.
    """
    claim = facts.claim("charge_hours")
    hours = facts.find(charge_hours)
    _, limiting = facts.find(full_charge_current)
    judged = answer(facts, claim, hours, judge_at_most(claim, hours), limiting)
    if facts.single:
        _remarks(facts, judged)
    return judged


def charge_hours(facts: Facts) -> Quantity:
    """Return the time of a full charge: capacity over current, and what the falling current adds. [h]."""
    (capacity, _), (current, _) = facts.find(pack_capacity), facts.find(full_charge_current)
    low, high = by_distinct(
        _taper, current.low, current.high, capacity.low, capacity.high, facts.cell.chemistries
    )
    taper = Quantity(low, high, 0, facts.find(chemistry_rests_on))
    several = facts.cell.chemistries & (facts.cell.chemistries - 1) != 0
    taper = taper.lacking(facts.missing("observed.cell.chemistry"), both(several, low < high))
    found = capacity / current + taper
    facts.step("t_taper", "time that the falling current adds, by chemistry and rate", taper, "h", TAPER)
    facts.step("t_charge", "Q_pack / I_full + t_taper", found, "h", ARITHMETIC)
    return found


def _taper(
    low_a: float, high_a: float, low_ah: float, high_ah: float, chemistries: float
) -> tuple[float, float]:
    """Return the time that the falling current adds at least and at most, for any possible chemistry. [h]."""
    if low_a <= 0 or high_a == inf or low_ah <= 0 or high_ah == inf:
        # At a rate that nobody knows it may add nothing, and nothing bounds it.
        return 0.0, inf
    rate = (low_a / high_ah, high_a / low_ah)
    names = [None if name == "other" else name for name in chemistries_in(int(chemistries))]
    spans = [taper_hours(c_rate=rate, chemistry=name) for name in names]
    return min(span[0] for span in spans), max(span[1] for span in spans)


def _remarks(facts: Facts, judged: Judged) -> None:
    for figure in ("capacity_ah", "charge_a"):
        for said in facts.cell.said(figure):
            facts.caution(said)
    caution_of_grade(facts, judged.supported)
    caution_of_default_charging_air(facts, judged)
    charger, cells = facts.find(charger_current), facts.find(cells_where_allowed)
    if cells.high <= 0:
        air = facts.charging_air
        facts.caution(
            remark("no_charging_in_this_air", "use.charge_temperature_c", low_c=air.low_c, high_c=air.high_c)
        )
    elif cells.high < charger.low:
        facts.caution(
            remark(
                "charger_over_cells",
                "observed.charger.current_a",
                charger_a=shown(charger),
                cells_a=cells.high,
            )
        )
