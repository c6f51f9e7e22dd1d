"""How warm the cells make themselves over one discharge at a current."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from registry import sheet_limits
from verifier.bounds import Bounds
from verifier.electrical.heat import (
    cell_heat_capacity_j_per_k,
    cell_heat_w,
    cell_surface_m2,
    rise_after_k,
    time_to_limit_s,
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
    heat = Bounds(
        cell_heat_w(current_a=current.low, resistance_mohm=resistance.low),
        cell_heat_w(current_a=current.high, resistance_mohm=resistance.high),
    )
    specific, air = pack.limits["cell_specific_heat_j_per_kgk"], pack.limits["cell_still_air_w_per_m2k"]
    surface = cell_surface_m2(diameter_mm=diameter_mm, length_mm=length_mm)
    heavy = cell_heat_capacity_j_per_k(mass_g=mass_g, specific_heat_j_per_kgk=specific.high)
    light = cell_heat_capacity_j_per_k(mass_g=mass_g, specific_heat_j_per_kgk=specific.low)
    seconds = Bounds(3600 * capacity.low / current.high, 3600 * capacity.high / current.low)
    rise = Bounds(
        rise_after_k(
            heat_w=heat.low, heat_capacity_j_per_k=heavy, surface_m2=surface,
            heat_transfer_w_per_m2k=air.high, seconds=seconds.low,
        ),
        rise_after_k(
            heat_w=heat.high, heat_capacity_j_per_k=light, surface_m2=surface,
            heat_transfer_w_per_m2k=0.0, seconds=seconds.high,
        ),
    )  # fmt: skip
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
    first = time_to_limit_s(
        allowed_rise_k=allowed, heat_w=heat.high, heat_capacity_j_per_k=light, surface_m2=surface,
        heat_transfer_w_per_m2k=0.0,
    )  # fmt: skip
    last = time_to_limit_s(
        allowed_rise_k=allowed, heat_w=heat.low, heat_capacity_j_per_k=heavy, surface_m2=surface,
        heat_transfer_w_per_m2k=air.high,
    )  # fmt: skip
    minutes = Bounds(first / 60, last / 60)
    caution = ""
    if first < seconds.high:
        when = f"after {minutes.low:.2g} min"
        if last < inf:
            when = f"after {minutes.low:.2g} to {minutes.high:.2g} min"
        sure = "reach" if last < seconds.low else "can reach"
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
