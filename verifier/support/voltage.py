"""Voltages of the pack: cells in series times the cell's voltage."""

from __future__ import annotations

from dataclasses import replace

from registry.sheet_limits import governing_sheets
from verifier.bounds import UNKNOWN, Bounds, hull
from verifier.finding import Step
from verifier.pack import Pack
from verifier.support import Support, once_a_cell, once_a_pack
from verifier.support.sheets import place


@once_a_cell
def cell_nominal_voltage(pack: Pack) -> Support:
    """Return the nominal voltage of one cell: its sheet's, else what its chemistry is usually given. [V]."""
    if pack.cell is not None:
        sheets = governing_sheets(pack.cell, "nominal_voltage_v", pack.sheet_pick)
        values = [sheet.nominal_voltage_v for sheet in sheets if sheet.nominal_voltage_v is not None]
        if values:
            value = hull(Bounds(each, each, each) for each in values)
            source = place(pack.cell, sheets[0], sheets[0].citations.get("nominal_voltage_v"))
            step = Step("U_cell", "nominal voltage of the sheet", value, "V", source)
            return Support(value, (step,), evidence=sheets[0].evidence)
    value = pack.cell_voltage("nominal_v")
    name = pack.chemistry.name if pack.chemistry else "any chemistry"
    step = Step("U_cell", f"nominal voltage, {name}", value, "V", "common practice by chemistry, no source")
    unknown = () if pack.chemistry else ("observed.cell.chemistry",)
    return Support(value, (step,), unknown)


@once_a_cell
def cell_empty_voltage(pack: Pack) -> Support:
    """Return the voltage at which one cell counts as empty: from its absolute to its usual minimum. [V]."""
    usual = pack.cell_voltage("empty_v")
    if pack.cell is not None:
        sheets = governing_sheets(pack.cell, "cutoff_voltage_v", pack.sheet_pick)
        values = [sheet.cutoff_voltage_v for sheet in sheets if sheet.cutoff_voltage_v is not None]
        if values:
            value = Bounds(min(values), max(*values, usual.high))
            source = place(pack.cell, sheets[0], sheets[0].citations.get("cutoff_voltage_v"))
            step = Step("U_empty", "cut-off of the sheet to the usual end of discharge", value, "V", source)
            return Support(value, (step,), evidence=sheets[0].evidence)
    name = pack.chemistry.name if pack.chemistry else "any chemistry"
    step = Step("U_empty", f"end of discharge, {name}", usual, "V", "common practice by chemistry, no source")
    return Support(usual, (step,), () if pack.chemistry else ("observed.cell.chemistry",))


def _in_series(pack: Pack, cell: Support, symbol: str) -> Support | None:
    series = pack.series
    if series is None:
        return None
    value = series.value * cell.value
    steps = (
        Step("S", "cells in series", series.value, "-", series.source),
        *cell.steps,
        Step(symbol, f"S x {cell.steps[-1].symbol}", value, "V", "arithmetic"),
    )
    return replace(cell, value=value, steps=steps)


@once_a_pack
def pack_nominal_voltage(pack: Pack) -> Support:
    """Return the pack's nominal voltage; unknown while the series count is. [V]."""
    built = _in_series(pack, cell_nominal_voltage(pack), "U_pack")
    if built is not None:
        return built
    step = Step("U_pack", "the series count is not known", UNKNOWN, "V", "nothing known")
    return Support(UNKNOWN, (step,), ("observed.series",))


@once_a_pack
def pack_empty_voltage(pack: Pack) -> Support:
    """Return the pack's voltage when nearly empty. [V]."""
    built = _in_series(pack, cell_empty_voltage(pack), "U_low")
    if built is not None:
        return built
    step = Step("U_low", "the series count is not known", UNKNOWN, "V", "nothing known")
    return Support(UNKNOWN, (step,), ("observed.series",))
