"""How warm the cells make themselves over one discharge at a current."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from registry import sheet_limits
from verifier.bounds import Bounds
from verifier.electrical.elementary import Span
from verifier.electrical.heat import (
    Cooling,
    cell_heat_bounds_w,
    cell_rise_bounds_k,
    cell_surface_m2,
    minutes_to_limit_bounds,
)
from verifier.finding import Step
from verifier.pack import Pack
from verifier.support.capacity import cell_capacity
from verifier.support.cells import cell_dc_mohm, sharing


@dataclass(frozen=True, slots=True)
class CellHeat:
    """The rise of the hardest worked cell over one discharge, and when it reaches its sheet's upper limit."""

    rise_k: Bounds
    limit_c: float | None
    minutes_to_limit: Bounds | None
    steps: tuple[Step, ...]
    caution: str


def cell_heat(pack: Pack, current_a: float) -> CellHeat | None:
    """Return the self-heating at a pack current, or None when mass, size, count or capacity is not known.

    The high end is a cell that loses no heat, the low end one that stands alone in still air.
    """
    size = _body(pack)
    parallel = pack.parallel
    capacity = cell_capacity(pack).value
    if size is None or parallel is None or capacity.low <= 0:
        return None
    mass_g, diameter_mm, length_mm = size
    shares = sharing(pack, int(parallel.value.low))
    factor = shares[0] if shares is not None else Bounds(1, 1)
    current = current_a / parallel.value * factor
    step = cell_dc_mohm(pack)
    resistance, source = step.value, step.source
    specific = pack.limits["cell_specific_heat_j_per_kgk"]
    surface = cell_surface_m2(diameter_mm=diameter_mm, length_mm=length_mm)
    cell = {
        "current_a": (current.low, current.high),
        "dc_mohm": (resistance.low, resistance.high),
        "capacity_ah": (capacity.low, capacity.high),
        "mass_g": (mass_g, mass_g),
        "surface_m2": (surface, surface),
    }
    cooling = Cooling(specific_heat_j_per_kgk=Span(specific.low, specific.high))
    heat = Bounds(*cell_heat_bounds_w(current_a=cell["current_a"], dc_mohm=cell["dc_mohm"]))
    rise = Bounds(*cell_rise_bounds_k(cooling=cooling, **cell))
    hot = pack.temperature_c[1]
    limit = _upper_limit_c(pack)
    steps = (
        Step("Q_heat", "I_cell squared x R_cell of the hardest worked cell", heat, "W", source),
        Step("dT", "rise over one discharge, alone in still air to no cooling at all", rise, "K",
             "lumped cell; specific heat and still air by default limits"),
    )  # fmt: skip
    if limit is None:
        return CellHeat(rise, None, None, steps, "")
    allowed = max(0.0, limit - hot)
    minutes = Bounds(*minutes_to_limit_bounds(allowed_rise_k=allowed, cooling=cooling, **cell))
    caution = ""
    if minutes.low < inf:
        when = f"after {minutes.low:.2g} min"
        if minutes.high < inf:
            when = f"after {minutes.low:.2g} to {minutes.high:.2g} min"
        sure = "reach" if minutes.high < inf else "can reach"
        start = f"at {current_a:g} A from {hot:g} C"
        caution = f"{start} the cells {sure} the sheet's upper limit of {limit:g} C {when} of a discharge"
    return CellHeat(rise, limit, minutes, steps, caution)


def _body(pack: Pack) -> tuple[float, float, float] | None:
    """Return mass, diameter and length of a cell as its sheets state them, lightest first."""
    if pack.cell is None:
        return None
    for sheet in sorted(pack.cell.sheets, key=lambda each: each.mass_g or inf):
        if sheet.mass_g is not None and sheet.diameter_mm is not None and sheet.length_mm is not None:
            return sheet.mass_g, sheet.diameter_mm, sheet.length_mm
    return None


def _upper_limit_c(pack: Pack) -> float | None:
    """Return the highest temperature at which the governing sheets still allow discharging."""
    if pack.cell is None:
        return None
    tops = [
        high
        for sheet in sheet_limits.governing_sheets(pack.cell, "discharge", pack.sheet_pick)
        for _, high, _ in sheet_limits.discharge_bands(sheet)[-1:]
    ]
    return min(tops) if tops else None
