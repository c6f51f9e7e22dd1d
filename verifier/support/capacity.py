"""Capacity of the pack: cells in parallel times the cell's capacity."""

from __future__ import annotations

from math import inf

from registry import sheet_limits
from registry.cell import Sheet
from verifier.bounds import UNKNOWN, Bounds
from verifier.finding import Step
from verifier.pack import Pack
from verifier.support import Support, once_a_cell, once_a_pack
from verifier.support.sheets import others_say, place

# Below this a cell delivers noticeably less than its sheet's room temperature capacity (measured in several
# open data sets; common practice for the figure itself).
COLD_C = 10.0


def cell_capacity(pack: Pack) -> Support:
    """Return the capacity of one cell: minimum to typical of its sheet, else what its size allows. [Ah]."""
    known = _from_sheets(pack)
    return known if known is not None else _from_size(pack)


@once_a_cell
def _from_sheets(pack: Pack) -> Support | None:
    if pack.cell is None:
        return None
    sheets = sheet_limits.governing_sheets(pack.cell, "capacity", pack.sheet_pick)
    if not sheets:
        return None
    ranges = [sheet_limits.capacity(sheet) for sheet in sheets]
    stated = [each for each in ranges if each is not None]
    if not stated:
        return None
    low = min(each.low_ah for each in stated)
    high = max(low, min(each.high_ah for each in stated))
    value = Bounds(low, high)
    decisive = min(sheets, key=lambda sheet: min(figure.value_ah for figure in sheet.capacity))
    source = place(pack.cell, decisive, min(decisive.capacity, key=lambda figure: figure.value_ah))
    step = Step("Q_cell", "minimum to typical capacity of the sheet", value, "Ah", source)
    cautions = [each.note for each in stated if each.note]
    if len({(each.low_ah, each.high_ah) for each in stated}) > 1:
        figures = ", ".join(f"{each.low_ah:g}..{each.high_ah:g} Ah" for each in stated)
        cautions.append(f"sheets of the same grade disagree on capacity ({figures}); the lowest decides")
    cautions.extend(others_say(pack.cell, sheets, "capacity", _in_words, pack.sheet_pick))
    low_c = pack.temperature_c[0]
    if low_c < COLD_C:
        cautions.append(f"a sheet states capacity at room temperature; less comes out at {low_c:g} C")
    return Support(value, (step,), (), tuple(cautions), evidence=decisive.evidence)


def _in_words(sheet: Sheet) -> str | None:
    stated = sheet_limits.capacity(sheet)
    return None if stated is None else f"{stated.low_ah:g}..{stated.high_ah:g} Ah"


def _from_size(pack: Pack) -> Support:
    envelope = pack.envelope
    high, formula, source = inf, "a cell of unknown size holds any amount", "nothing known"
    if envelope is not None:
        high, source = envelope.capacity_ah, envelope.sources["capacity_ah"]
        formula = f"no cell of size {envelope.size} holds more"
    claimed = pack.claim.cell_capacity_ah
    if claimed is not None and claimed.high < high:
        high, formula, source = (
            claimed.high,
            "at most what the seller says of a cell",
            "claim.cell_capacity_ah",
        )
    value = Bounds(0, high)
    step = Step("Q_cell", formula, value, "Ah", source)
    missing = () if pack.cell is not None else ("observed.cell.marking",)
    return Support(value, (step,), missing, evidence=None)


@once_a_pack
def pack_capacity(pack: Pack) -> Support:
    """Return the pack's capacity: as measured, else parallel count times cell capacity. [Ah]."""
    measured = pack.observed.capacity_ah
    if measured is not None:
        step = Step("Q_pack", "as measured", measured, "Ah", "observed.capacity_ah")
        return Support(measured, (step,), evidence="own_test")
    cell = cell_capacity(pack)
    parallel = pack.parallel
    if parallel is None:
        return Support(
            UNKNOWN,
            cell.steps,
            ("observed.parallel", *cell.unknown),
            cell.cautions,
            cell.evidence,
            "parallel",
        )
    value = parallel.value * cell.value
    steps = (
        Step("P", "cells in parallel", parallel.value, "-", parallel.source),
        *cell.steps,
        Step("Q_pack", "P x Q_cell", value, "Ah", "arithmetic"),
    )
    return Support(value, steps, cell.unknown, cell.cautions, cell.evidence, "cells")
