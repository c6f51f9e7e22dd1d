"""How a current follows from bands of the surface, step by step: the air, the rise that is left, the heat.

Each end of the current has its own steps: the sure one by a light cell that resists most and loses no heat, the
possible one by a heavy cell that resists least and stands in moving air.
"""

from __future__ import annotations

from math import inf

from registry.sheet_limits import SurfaceEnd
from verifier.cell_warming import Warming
from verifier.electrical.heat import (
    ANY_COOLING_W_PER_M2K,
    CELL_SPECIFIC_HEAT_J_PER_KGK,
    REVERSIBLE_V,
    WARMED_RESISTANCE,
    cell_heat_bounds_w,
    rise_after_k,
)
from verifier.electrical.resistance import EFFECTIVE_OVER_10S
from verifier.facts import Facts
from verifier.finding import ARITHMETIC, Source, of_fields, of_limit, reference

SPECIFIC_HEAT = reference("specific heat of lithium-ion cells, 800 to 1100 J/kgK; from memory, not checked")
COOLING = reference("heat transfer of a cell alone in moving air; common practice, no source")
HEAT = reference(
    "Joule heat over one discharge and what goes with the current alone; open measured data and open cell models"
)
BALANCE = reference("heat balance of one temperature, from that of the air on")


def surface_steps(facts: Facts, figure: str) -> None:
    """Note how the ends of ``continuous_a`` or ``charge_a`` of one cell follow from bands of its surface."""
    warmed = facts.cell.warmed.get(figure)
    if warmed is None:
        return
    charging = figure == "charge_a"
    air = facts.charging_air if charging else facts.air
    field, limit = (
        ("use.charge_temperature_c", "charge_temperature_c")
        if charging
        else ("use.temperature_c", "use_temperature_c")
    )
    source = of_limit(limit) if air.assumed else of_fields(field)
    if warmed.sure is not None:
        _end(facts, figure, warmed.warming, warmed.sure, "sure", source)
    if warmed.possible is not None and warmed.possible is not warmed.sure:
        _end(facts, figure, warmed.warming, warmed.possible, "possible", source)


def _end(facts: Facts, figure: str, warming: Warming, end: SurfaceEnd, which: str, air: Source) -> None:
    band = facts.cell.source(figure)

    def step(symbol: str, formula: str, value: float, unit: str, source: Source) -> None:
        facts.step(f"{symbol}_{which}", formula, value, unit, source)

    step("T_air", "hottest of this air", end.air_c, "C", air)
    step("T_top", "up to where the sheet allows I_band, of the surface", end.top_c, "C", band)
    step("dT", f"max(T_top_{which} - T_air_{which}, 0)", end.rise_k, "K", ARITHMETIC)
    step("I_band", "what the sheet allows up to T_top", end.band_a, "A", band)
    if end.warms_a == inf:
        # Either nothing bounds what warms the cell, or the sheet says nothing of a warmer surface.
        step("I", f"I_band_{which}, for no greater rise is refuted", end.current_a, "A", ARITHMETIC)
        return
    if end.warms_a > 0:
        _heat(facts, warming, end, which)
    else:
        step("I_warm", "0: no rise is left, or nothing tells what warms the cell", 0.0, "A", BALANCE)
    step("I", f"min(I_band_{which}, I_warm_{which})", end.current_a, "A", ARITHMETIC)


def _heat(facts: Facts, warming: Warming, end: SurfaceEnd, which: str) -> None:
    sure = which == "sure"
    amps = end.warms_a

    def side(low: float, high: float) -> float:
        return high if sure else low

    def step(symbol: str, formula: str, value: float, unit: str, source: Source) -> None:
        facts.step(f"{symbol}_{which}", formula, value, unit, source)

    dc_mohm = side(*warming.dc_mohm_from(end.air_c))
    amp_hours = side(warming.capacity_ah.low, warming.capacity_ah.high)
    # A light cell warms most.
    mass_g = side(warming.mass_g.high, warming.mass_g.low)
    joule = side(*reversed(CELL_SPECIFIC_HEAT_J_PER_KGK))
    transfer = side(*reversed(ANY_COOLING_W_PER_M2K))
    heat = cell_heat_bounds_w(current_a=(amps, amps), dc_mohm=(dc_mohm, dc_mohm))
    heat_w, seconds, body = side(*heat), 3600 * amp_hours / amps, mass_g * joule / 1000
    step("R", "dc resistance of a cell from this air on", dc_mohm, "mohm", facts.cell.source("dc_mohm"))
    step("Q", "capacity of a cell", amp_hours, "Ah", facts.cell.source("capacity_ah"))
    step("m", "mass of a cell", mass_g, "g", facts.cell.source("mass_g"))
    step("c", "specific heat", joule, "J/kgK", SPECIFIC_HEAT)
    step("C", f"m_{which} x c_{which} / 1000", body, "J/K", ARITHMETIC)
    step("I_warm", f"current that warms the surface by dT_{which} in one discharge", amps, "A", BALANCE)
    least, most = EFFECTIVE_OVER_10S
    formula = (
        f"I_warm_{which}^2 x R_{which} / 1000 x {most:g} + I_warm_{which} x {REVERSIBLE_V:g}"
        if sure
        else f"I_warm_{which}^2 x R_{which} / 1000 x {least * WARMED_RESISTANCE:g}"
    )
    step("P", formula, heat_w, "W", HEAT)
    step("t", f"3600 x Q_{which} / I_warm_{which}", seconds, "s", ARITHMETIC)
    area = 1.0
    rise = f"P_{which} x t_{which} / C_{which}"
    if transfer > 0:
        sizes = warming.surface_m2
        assert sizes is not None  # noqa: S101 - without a size nothing bounds what warms the cell
        area = side(sizes[1], sizes[0])
        step("h", "heat transfer of the surface", transfer, "W/m2K", COOLING)
        for symbol, words, name in (("d", "diameter", "diameter_mm"), ("l", "length", "length_mm")):
            size = getattr(warming, name)
            step(symbol, f"{words} of a cell", side(size.high, size.low), "mm", facts.cell.source(name))
        step(
            "A",
            f"pi x d_{which} x (l_{which} + d_{which} / 2) / 1000000",
            area,
            "m2",
            ARITHMETIC,
        )
        passing = f"h_{which} x A_{which}"
        rise = f"P_{which} / ({passing}) x (1 - exp(-{passing} x t_{which} / C_{which}))"
    rise_k = rise_after_k(
        seconds=seconds, heat_w=heat_w, heat_capacity_j_per_k=body, surface_m2=area,
        heat_transfer_w_per_m2k=transfer,
    )  # fmt: skip
    step("dT_warm", rise, rise_k, "K", BALANCE)
