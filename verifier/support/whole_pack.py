"""The whole pack as one resistor network: every cell, strip and link, for those who ask to see it."""

from __future__ import annotations

from dataclasses import dataclass

from verifier.electrical.sharing import OPEN_CIRCUIT_SLOPE_V, group_currents_after
from verifier.pack import Pack
from verifier.support.capacity import cell_capacity
from verifier.support.cells import cell_dc_mohm
from verifier.support.strips import link_length_mm, row_positions, strip_facts

AFTER_FRACTION = 0.6


@dataclass(frozen=True, slots=True)
class WholePack:
    """The pack's currents at one pack current, with the least favourable resistances inside their bounds.

    ``cell_a`` is S rows of P cells at the first instant; ``end_group_after_a`` is the end group once 60 % of
    the charge is out, when a row that was fed at one end has evened out.
    """

    current_a: float
    cell_a: tuple[tuple[float, ...], ...]
    end_group_after_a: tuple[float, ...]
    hottest_over_mean: float
    hottest_link_a: float
    drop_v: float


def whole_pack(pack: Pack, current_a: float) -> WholePack | None:
    """Solve the whole pack, or return None while strip, links, take-off or counts are not known."""
    strip, links = strip_facts(pack), pack.observed.series_links.count
    series, parallel, take_off = pack.series, pack.parallel, pack.observed.take_off
    placed = take_off.where is not None or bool(take_off.positions)
    if strip is None or series is None or parallel is None or not placed:
        return None
    if links is None and series.value.high > 1:
        return None
    from verifier.electrical.whole_pack import MOST_CELLS, pack_currents

    groups, row = int(series.value.low), int(parallel.value.low)
    if groups * row > MOST_CELLS:
        return None
    cell = cell_dc_mohm(pack).value.low
    gap = strip.resistance_mohm(link_length_mm(pack), strip.layers).high
    positions = row_positions(pack, row)
    solved = pack_currents(
        series=groups,
        parallel=row,
        cell_mohm=cell,
        bar_gap_mohm=gap,
        link_mohm=gap,
        links=min(row, int(links.low)) if links is not None else row,
        take_off=positions,
        current_a=current_a,
    )
    capacity = cell_capacity(pack).value
    iron = pack.chemistry is not None and pack.chemistry.name == "LFP"
    after: tuple[float, ...] = ()
    if capacity.low > 0 and capacity.known:
        after = tuple(
            group_currents_after(
                cell_mohm=[cell] * row,
                gap_mohm=2 * gap,
                take_off=positions,
                current_a=current_a,
                capacity_ah=[capacity.low] * row,
                open_circuit_slope_v=OPEN_CIRCUIT_SLOPE_V["lfp" if iron else "nickel_rich"],
                fraction=AFTER_FRACTION,
            )
        )
    return WholePack(
        current_a,
        tuple(tuple(float(each) for each in group) for group in solved.cell_a),
        after,
        float(solved.cell_a.max()) * row / current_a,
        float(solved.link_a.max()) if groups > 1 else 0.0,
        float(solved.drop_v),
    )
