"""How warm cells get that cannot cool: a warning beside what may be drawn, and never a verdict.

A datasheet's band of the air is granted for a cell that cools as the maker's did. Amid others, in a closed case, it
keeps its heat.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf, isfinite
from typing import NamedTuple

from verifier.bounds import Bounds, down, up
from verifier.case_facts import CaseFacts
from verifier.electrical.elementary import Span
from verifier.electrical.heat import (
    CELL_SPECIFIC_HEAT_J_PER_KGK,
    WARMED_RESISTANCE,
    Cooling,
    cell_rise_bounds_k,
)
from verifier.fact_names import SELLERS_WORD
from verifier.finding import Remark, remark
from verifier.pack.capacity import cell_capacity
from verifier.pack.counts import parallel
from verifier.pack.use_at_most import UseAtMost
from verifier.pack.wear import cell_resistance

_NO_COOLING = Cooling(heat_transfer_w_per_m2k=Span(0.0, 0.0))
# Of cells whose datasheet names no temperature: common practice, no source. [C]
_HOTTEST_CELLS_C = 60.0


class _Uncooled(NamedTuple):
    """How far a current warms cells that lose no heat, in air of so much. [A, C, K]."""

    current_a: float
    air_c: float
    rise_k: Span[float]
    likely_k: float


def told_of_heat(facts: CaseFacts, use: Sequence[UseAtMost], claimed: Bounds | None) -> Iterator[Remark]:
    """Yield that what may be drawn, else what is claimed, brings cells that cannot cool above their limit.

    Surely where the least rise does; perhaps where the likely one does: the most that is possible would do so in
    nearly every pack, and a warning that is always there warns of nothing.

    Parameters
    ----------
    facts
        Of one pack, whose cells and count were seen.
    use
        What may be drawn at most, by air.
    claimed
        The continuous current claimed, None where it does not surely hold or there is none. [A]
    """
    if facts.case.observed.bms.temperature_sensor or not _is_known(facts):
        return
    limit_c = _limit_c(facts)
    drawn = [(each.continuous_a, each.high_c) for each in use]
    asked = [] if claimed is None else [(claimed.high, facts.air.high_c)]
    for wanted in (drawn, asked):
        found = [_uncooled(facts, *each) for each in wanted]
        for code, hot in (
            ("uncooled_too_hot", [each for each in found if each.rise_k.low > limit_c - each.air_c]),
            ("uncooled_perhaps_too_hot", [each for each in found if each.likely_k > limit_c - each.air_c]),
        ):
            if hot:
                worst = max(hot, key=lambda each: each.air_c + each.rise_k.low)
                rise_k = Bounds(down(worst.rise_k.low), up(worst.rise_k.high))
                yield remark(
                    code, "observed.bms.temperature_sensor", current_a=worst.current_a, air_c=worst.air_c,
                    rise_k=rise_k, limit_c=limit_c,
                )  # fmt: skip
                return


def _is_known(facts: CaseFacts) -> bool:
    """Whether cells and count were seen, and the datasheet says what a bound of their heat needs."""
    count, mass = facts.find(parallel), facts.of_cell("mass_g")
    seen = bool(facts.cell.known) and (count.rests_on | facts.cell_rests_on) & SELLERS_WORD == 0
    bounded = all(each.low > 0 and each.high < inf for each in (count, mass, facts.find(cell_capacity)))
    return seen and bounded and facts.of_cell("dc_mohm").high < inf


def _limit_c(facts: CaseFacts) -> float:
    """Return the hottest that a cell may get: its surface's limit, else the hottest air that its sheet names. [C]."""
    if facts.cell.upper_limit_c < inf:
        return float(facts.cell.upper_limit_c)
    tops = [high_c for _, high_c in facts.cell.bands_c if isfinite(high_c)]
    return max(tops, default=_HOTTEST_CELLS_C)


def _uncooled(facts: CaseFacts, current_a: float, air_c: float) -> _Uncooled:
    """Return how far a current warms cells that share it evenly and lose no heat, in one full discharge."""
    count, capacity, mass = facts.find(parallel), facts.find(cell_capacity), facts.of_cell("mass_g")
    resists = facts.in_air(air_c, air_c).find(cell_resistance)
    rise_k = cell_rise_bounds_k(
        current_a=(current_a / count.high, current_a / count.low),
        dc_mohm=(resists.low, resists.high),
        capacity_ah=(capacity.low, capacity.high),
        mass_g=(mass.low, mass.high),
        # Nothing passes through it.
        surface_m2=(1.0, 1.0),
        cooling=_NO_COOLING,
    )
    # On the way from the air on they resist between as in that air and as warmed up.
    volts = current_a / count.high * (resists.low + resists.high) / 2000 * (1 + WARMED_RESISTANCE) / 2
    joule_per_k = sum(CELL_SPECIFIC_HEAT_J_PER_KGK) / 2 * (mass.low + mass.high) / 2000
    likely_k = float(volts * 3600 * capacity.low / joule_per_k)
    return _Uncooled(current_a, air_c, rise_k, likely_k)
