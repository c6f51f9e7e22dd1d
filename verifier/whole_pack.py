"""The whole pack as one resistor network: every cell, strip and link, for those who ask to see it."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, NamedTuple

from verifier.bounds import Bounds
from verifier.case_facts import CaseFacts
from verifier.cell_figures import chemistries_in
from verifier.electrical.sharing import OPEN_CIRCUIT_SLOPE_V, take_off_positions
from verifier.electrical.unequal_group import group_currents_after
from verifier.facts import CHOICES
from verifier.pack.claimed_current import continuous_claim
from verifier.pack.counts import parallel, series
from verifier.pack.current import pack_current
from verifier.pack.sharing import gap_mohm, row_is_seen
from verifier.pack.wear import cell_resistance

if TYPE_CHECKING:
    from verifier.electrical.whole_pack import PackCurrents

AFTER_FRACTION = 0.6


class WholePack(NamedTuple):
    """The pack's currents at one pack current, where cells of the least resistance share worst.

    ``cell_a`` is S rows of P cells at the first instant; ``end_group_after_a`` is the end group once 60 % of
    the charge is out, when a row that was fed at one end has evened out. ``drop_v`` is what is lost inside, with
    cells of the least resistance and of the most.
    """

    current_a: float
    cell_a: tuple[tuple[float, ...], ...]
    end_group_after_a: tuple[float, ...]
    hottest_over_mean: float
    hottest_link_a: float
    drop_v: Bounds


def whole_pack(facts: CaseFacts) -> WholePack | None:
    """Solve the whole pack at the current claimed, else at the most it carries.

    None while strip, links, take-off or counts are not known, and for packs of more cells than a network is
    solved for; their sharing is found in closed form.
    """
    claim, supported = continuous_claim(facts)[0], facts.find(pack_current)[0]
    current_a = claim.high if claim.made else supported.high
    groups, row, links = facts.find(series), facts.find(parallel), facts.number("observed.series_links.count")
    known = facts.find(row_is_seen) and groups.high < inf and row.high < inf
    if not known or not 0 < current_a < inf or (groups.high > 1 and not links.known):
        return None
    from verifier.electrical.whole_pack import MOST_CELLS, pack_currents

    in_series, beside = int(groups.low), int(row.low)
    if in_series * beside > MOST_CELLS:
        return None
    word = CHOICES["observed.take_off.where"][max(0, facts.choice("observed.take_off.where") - 1)]
    positions = facts.tab_positions or take_off_positions(where=word, parallel=beside)
    gaps, resistance = facts.find(gap_mohm), facts.find(cell_resistance)
    gap, cell = gaps.high, resistance.low

    def solve(cell_mohm: float, gap_mohm: float) -> PackCurrents:
        return pack_currents(
            series=in_series, parallel=beside, cell_mohm=cell_mohm, bar_gap_mohm=gap_mohm, link_mohm=gap_mohm,
            links=min(beside, int(links.low)) if links.known else beside, take_off=positions,
            current_a=current_a,
        )  # fmt: skip

    solved = solve(cell, gap)
    most_v = float(solve(resistance.high, gap).drop_v) if resistance.high < inf else inf
    drop_v = Bounds(float(solve(cell, gaps.low).drop_v), most_v)
    capacity = facts.of_cell("capacity_ah")
    iron = chemistries_in(int(facts.cell.chemistries)) == ("LFP",)
    after: tuple[float, ...] = ()
    if capacity.low > 0 and capacity.high < inf:
        after = tuple(
            group_currents_after(
                cell_mohm=[cell] * beside, gap_mohm=2 * gap, take_off=positions, current_a=current_a,
                capacity_ah=[capacity.low] * beside,
                open_circuit_slope_v=OPEN_CIRCUIT_SLOPE_V["lfp" if iron else "nickel_rich"],
                fraction=AFTER_FRACTION,
            )
        )  # fmt: skip
    return WholePack(
        current_a,
        tuple(tuple(float(each) for each in group) for group in solved.cell_a),
        after,
        float(solved.cell_a.max()) * beside / current_a,
        float(solved.link_a.max()) if in_series > 1 else 0.0,
        drop_v,
    )
