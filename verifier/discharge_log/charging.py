"""A charge held against the cells: how high, how cold, how fast, and at which current it ended."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import ceil, isfinite

from registry.cells import Cells
from registry.chemistry import Chemistry
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.discharge_log.endings import CHARGER
from verifier.discharge_log.model import Flow, LogReading

FULL_OFF_V = 0.05
"""Sheets state the charge voltage of a cell as 4.20 +- 0.05 V: above that a cell is overcharged."""

# Lithium plates on graphite that is charged in frost; sheets allow 0 to 45 C. Titanate takes frost. From memory:
# sheets of all the usual sizes say so.
_COLDEST_C, _HOTTEST_C = 0.0, 45.0
_TAKES_FROST = ("LTO",)
# A sensor is off by this. Common practice, no source.
_SENSOR_OFF_C = 1.0
# Between these parts of the pack's Ah a charger usually ends. Common practice, no source.
_USUAL_END = (0.02, 0.1)


def full_cell_v(kinds: Sequence[Chemistry]) -> float:
    """Return the voltage above which a cell is overcharged, whichever of the kinds it is. [V]."""
    return max(each.full_v[1] for each in kinds) + FULL_OFF_V


def is_overcharge(flow: Flow, series: float, kinds: Sequence[Chemistry]) -> bool:
    """Whether a charge ended above the full voltage of the cells, by their mean or by the highest group."""
    highest = max(flow.end_v / series, flow.highest_group_v if flow.highest_group_v is not None else 0.0)
    return highest > full_cell_v(kinds)


def with_charging(reading: LogReading, series: float, kinds: Sequence[Chemistry]) -> LogReading:
    """Return a reading that warns of what a charge did to cells of these kinds.

    Parameters
    ----------
    reading : LogReading
    series : float
        Cells in series.
    kinds : sequence of Chemistry
        Those that the cells may be.
    """
    if not kinds:
        return reading
    said = [each for flow in reading.charges for each in _of_charge(flow, series, kinds)]
    return replace(reading, warnings=(*reading.warnings, *dict.fromkeys(said)))


def _of_charge(flow: Flow, series: float, kinds: Sequence[Chemistry]) -> Iterator[str]:
    full_v = full_cell_v(kinds) - FULL_OFF_V
    if is_overcharge(flow, series, kinds):
        mean_v, group_v = flow.end_v / series, flow.highest_group_v
        where = f"it was charged to {mean_v:.3g} V a cell"
        if group_v is not None and group_v > mean_v:
            where = f"a group went to {group_v:.3g} V"
        yield (
            f"overcharged: {where}, where a full one has {full_v:g} V unless its sheet states more. Cells that went "
            "above it may burn: do not charge on, put the pack outside, and measure the charger by itself. Or the log "
            f"is of another pack, of {ceil(flow.end_v / full_cell_v(kinds))} in series or more"
        )
    if flow.start_c is None or flow.max_c is None:
        return
    if flow.start_c < _COLDEST_C - _SENSOR_OFF_C and not any(each.name in _TAKES_FROST for each in kinds):
        yield (
            f"charged at {flow.start_c:.0f} C: below {_COLDEST_C:.0f} C lithium plates in the cells, which may short "
            "inside later; their sheet says from which temperature on they may be charged"
        )
    if flow.max_c > _HOTTEST_C + _SENSOR_OFF_C:
        yield (
            f"charged at up to {flow.max_c:.0f} C: sheets mostly allow up to {_HOTTEST_C:.0f} C, the cells' own says"
        )


def held_against_sheet(reading: LogReading, case: Case, registry: Cells, limits: Limits) -> LogReading:
    """Return a reading whose charges are held against the sheet of the cell that a case names.

    The current by the sheet's band at the temperature of the charge, the voltage by its charge limit, and the current
    at which the charger ended by what is usual for the pack's Ah, as sheets of the registry state none.

    Parameters
    ----------
    reading : LogReading
    case : Case
    registry : Cells
        Where the cell is looked up; a cell that nobody knows has no sheet, and nothing is said.
    limits : Limits
    """
    from verifier.case_facts import CaseFacts
    from verifier.cell_inside import look_inside
    from verifier.pack.charging import charge_cells
    from verifier.pack.counts import series

    facts = CaseFacts(case, look_inside(case, registry), limits)
    if not reading.charges or not facts.cell.known:
        return reading
    said, remarks = [], list(reading.remarks)
    count = facts.find(series)
    for flow in reading.charges:
        full = facts.of_cell("full_v")
        if full.known and count.known and flow.end_v / count.low > full.high + FULL_OFF_V:
            said.append(
                f"overcharged by the cell's sheet: charged to {flow.end_v / count.low:.3g} V a cell, the sheet's limit "
                f"is {full.high:.3g} V"
            )
        there = facts
        if flow.start_c is not None and flow.max_c is not None:
            there = facts.in_charging_air(min(flow.start_c, flow.max_c), flow.max_c)
        bands = facts.cell.charge_bands_c
        if there is not facts and bands and (outside := _outside(flow, bands)):
            said.append(outside)
        takes = there.find(charge_cells)
        air = (
            f"at {flow.start_c:.0f} to {flow.max_c:.0f} C"
            if there is not facts
            else "in the air assumed for charging"
        )
        if (
            takes.known
            and isfinite(takes.high)
            and flow.peak_a * (1 - limits.number("meter_error")) > takes.high
        ):
            said.append(
                f"charged at {flow.peak_a:.3g} A {air}, where the cells' sheet allows the pack "
                f"{f'{takes.high:.3g} A at most' if takes.high > 0 else 'no charging'}"
            )
        elif takes.known and flow.peak_a <= takes.low:
            remarks.append(f"charged at up to {flow.peak_a:.3g} A {air}: the cells' sheet allows it")
        remarks += _of_end(flow, case)
    return replace(
        reading, warnings=(*reading.warnings, *dict.fromkeys(said)), remarks=tuple(dict.fromkeys(remarks))
    )


def _outside(flow: Flow, bands: Sequence[tuple[float, float]]) -> str:
    """Return that a charge went on at a temperature at which the sheet allows none."""
    low_c, high_c = min(low for low, _ in bands), max(high for _, high in bands)
    for at_c in (flow.start_c, flow.max_c):
        if at_c is not None and not low_c - _SENSOR_OFF_C <= at_c <= high_c + _SENSOR_OFF_C:
            return f"charged at {at_c:.0f} C, where the cells' sheet allows it from {low_c:g} to {high_c:g} C"
    return ""


def _of_end(flow: Flow, case: Case) -> Iterator[str]:
    """Yield that a charger went on longer, or ended earlier, than is usual for the pack's Ah."""
    held: Bounds | None = case.observed.capacity_ah
    held = held if held is not None else case.claim.capacity_ah
    if flow.ended_by != CHARGER or flow.last_a is None or held is None:
        return
    late, early = _USUAL_END
    ended = f"the charge ended at {flow.last_a:.3g} A"
    if flow.last_a < late * held.low:
        yield f"{ended}, less than a fiftieth of the pack's Ah: cells are held full too long"
    elif flow.last_a > early * held.high:
        yield f"{ended}, more than a tenth of the pack's Ah: the pack is not full"
