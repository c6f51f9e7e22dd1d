"""An unknown cell: which registered cells that fit what is known could meet a claim."""

from __future__ import annotations

from collections.abc import Sequence

from registry import sheet_limits
from registry.cell import Cell
from verifier.bounds import Bounds
from verifier.pack import Pack
from verifier.verdict import at_most

_MOST_NAMED = 8


def able(pack: Pack, figure: str) -> Sequence[Cell] | None:
    """Return the registered cells that could meet the claim of capacity or continuous current at best.

    ``None`` when the cell is known, nothing is claimed, or the parallel count is not known.
    """
    claims = {"capacity": pack.claim.capacity_ah, "continuous_current": pack.claim.continuous_current_a}
    claim, parallel = claims[figure], pack.parallel
    if pack.cell is not None or claim is None or parallel is None:
        return None
    judged = _capacity_ah if figure == "capacity" else _current_a
    return [
        cell
        for cell in pack.candidates
        if (most := judged(pack, cell)) is not None and at_most(claim.low, parallel.value.high * most)
    ]


def in_words(pack: Pack, figure: str, supported: Bounds) -> str | None:
    """Return what the registered cells, and all cells ever published, could do for a claim."""
    found = able(pack, figure)
    if found is None:
        return None
    claim = pack.claim.capacity_ah if figure == "capacity" else pack.claim.continuous_current_a
    of_size = f" of size {pack.size}" if pack.size else ""
    if pack.envelope is not None and claim is not None and claim.low > supported.high:
        return f"no cell{of_size} ever published could, with what else is known"
    fitting = len(pack.candidates)
    if not fitting:
        return f"no cell{of_size} is registered that fits what is known"
    if not found:
        return f"none of {fitting} registered cells{of_size} that fit what is known could"
    names = ", ".join(cell.id for cell in found[:_MOST_NAMED])
    more = f" and {len(found) - _MOST_NAMED} more" if len(found) > _MOST_NAMED else ""
    return f"{len(found)} of {fitting} registered cells{of_size} that fit what is known could: {names}{more}"


def _capacity_ah(pack: Pack, cell: Cell) -> float | None:
    sheets = sheet_limits.governing_sheets(cell, "capacity")
    highs = [stated.high_ah for sheet in sheets if (stated := sheet_limits.capacity(sheet)) is not None]
    return min(highs) if highs else None


def _current_a(pack: Pack, cell: Cell) -> float | None:
    low_c, high_c, _ = pack.temperature_c
    sheets = sheet_limits.governing_sheets(cell, "discharge")
    highs = [
        limit.ceiling_a
        for sheet in sheets
        if (limit := sheet_limits.discharge_limit(sheet, low_c, high_c)) is not None
    ]
    return min(highs) if highs else None
