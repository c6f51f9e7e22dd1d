"""How fast the physics of the current's way is, against what it cannot do without.

``python tests/benchmarks/path_speed.py`` prints three tables and fails when a bound is missed:

- every function of floats, in microseconds a call: at most 50, so that many packs can be judged over their
  bounds; a row emptied in 60 steps is printed only;
- a whole pack against the bare solution of the very same matrix by scipy's sparse solver: at most twice as
  long, from 200 cells on; smaller packs are printed only, for there both are a few calls of numpy;
- its growth from 10S4P to 100S100P: no faster than the 1.2th power of the number of cells.
"""

from __future__ import annotations

import sys
import timeit
from collections.abc import Callable
from math import log
from typing import Any

from scipy.sparse.linalg import spsolve

from verifier.electrical import convection, copper, heat, leads, links, sharing, strip, whole_pack

LARGEST_MICROSECONDS = 50.0
LARGEST_RATIO = 2.0
RATIO_FROM_CELLS = 200
LARGEST_POWER = 1.2
PACKS = [(10, 4), (20, 10), (50, 30), (100, 100)]

NICKEL = {"resistivity_nohm_m": 96.4, "alpha_per_k": 0.0043}
SECTION = {"width_mm": 8.0, "thickness_mm": 0.15}
AIR = {"ambient_c": 25.0, "heat_transfer_w_per_m2k": 15.0}
METAL = {**NICKEL, "conductivity_w_per_mk": 70.2, "length_mm": 20.0}
LEAD = {"area_mm2": 3.3, "ambient_c": 30.0, "insulation_mm": 1.0}
ROW = {"cell_mohm": [20.0] * 4, "gap_mohm": 2.0, "take_off": [1]}
CELL = {
    "heat_w": 2.0,
    "heat_capacity_j_per_k": 65.0,
    "surface_m2": 5.3e-3,
    "heat_transfer_w_per_m2k": 12.0,
}
ONE_CALL: list[tuple[Callable[..., Any], dict[str, Any]]] = [
    (convection.air, {"temperature_c": 40.0}),
    (convection.horizontal_cylinder_nusselt, {"rayleigh": 100.0, "prandtl": 0.7}),
    (convection.vertical_plate_nusselt, {"rayleigh": 1e6, "prandtl": 0.7}),
    (convection.fine_wire_nusselt, {"rayleigh": 1e-3}),
    (convection.radiation_w_per_m2, {"surface_c": 60.0, "surroundings_c": 25.0}),
    (convection.lying_cylinder_loss_w_per_m, {"diameter_mm": 4.0, "rise_k": 40.0, "ambient_c": 25.0}),
    (copper.awg_area_mm2, {"gauge": 12}),
    (copper.resistance_ohm, {"area_mm2": 3.3, "length_m": 0.5, "temperature_c": 60.0}),
    (copper.class5_resistance_ohm_per_km, {"area_mm2": 3.0}),
    (leads.ambient_factor, {"conductor_limit_c": 75.0, "ambient_c": 45.0}),
    (leads.voltage_drop_v, {"current_a": 30.0, "area_mm2": 3.3, "length_m": 0.5, "temperature_c": 60.0}),
    (leads.lead_current_a, {**LEAD, "conductor_limit_c": 75.0}),
    (leads.lead_temperature_c, {**LEAD, "current_a": 30.0}),
    (leads.lead_temperature_c, {**LEAD, "current_a": 0.1}),
    (leads.lead_temperature_c, {**LEAD, "current_a": 500.0}),
    (strip.strip_resistance_ohm, {**NICKEL, **SECTION, "length_mm": 20.0, "temperature_c": 60.0}),
    (
        strip.strip_current_limit_a,
        {**SECTION, "layers": 2, "density_a_per_mm2": 5.0, "resistivity_nohm_m": 143.0},
    ),
    (links.link_profile_c, {
        **METAL, **SECTION, **AIR, "position_mm": 5.0, "current_a": 10.0, "first_end_c": 40.0,
        "second_end_c": 45.0,
    }),
    (links.link_temperatures, {**METAL, **SECTION, **AIR, "current_a": 10.0, "end_c": 40.0}),
    (links.long_strip_rise_k, {**NICKEL, **SECTION, **AIR, "current_a": 10.0}),
    (sharing.sharing_factor, {"parallel": 13, "cell_mohm": 20.0, "gap_mohm": 2.0, "where": "middle"}),
    (sharing.equal_cell_currents,
     {"parallel": 13, "cell_mohm": 20.0, "gap_mohm": 2.0, "where": "end", "current_a": 100.0}),
    (sharing.group_currents, {**ROW, "current_a": 40.0}),
    (sharing.group_currents, {**ROW, "cell_mohm": [20.0] * 20, "current_a": 200.0}),
    (sharing.group_resistance_mohm, ROW),
    (heat.still_air_rise_k, {"heat_w": 2.0, "surface_m2": 5.3e-3, "heat_transfer_w_per_m2k": 12.0}),
    (heat.rise_after_k, {**CELL, "seconds": 1800.0}),
    (heat.time_to_limit_s, {**CELL, "allowed_rise_k": 20.0}),
]  # fmt: skip


def seconds(work: Callable[[], Any], at_least: float = 0.05) -> float:
    """Return the least time of one call, of five runs that each last long enough to be measured."""
    timer = timeit.Timer(work)
    calls, taken = timer.autorange()
    calls = max(1, round(calls * at_least / taken))
    return min(timer.repeat(5, calls)) / calls


def one_call_each() -> bool:
    """Print the time of one call of each function; return whether all are fast enough."""
    fine = True
    print(f"{'one call of floats':<36}{'us':>8}")
    for function, given in ONE_CALL:
        took = 1e6 * seconds(lambda function=function, given=given: function(**given))  # type: ignore[misc]
        late = took > LARGEST_MICROSECONDS
        fine = fine and not late
        print(f"{function.__name__:<36}{took:8.2f}{'  MISSED' if late else ''}")
    emptied = {**ROW, "current_a": 40.0, "capacity_ah": [3.0] * 4, "open_circuit_slope_v": 0.9}
    took = 1e6 * seconds(lambda: sharing.group_currents_after(**emptied))
    print(f"{'group_currents_after, 60 steps':<36}{took:8.2f}  (no bound)")
    return fine


def matrix_of(pack: dict[str, Any]) -> Any:
    """Return the matrix that a pack is solved with."""
    caught: list[Any] = []
    build = whole_pack._conductance_matrix

    def keep(*given: Any) -> Any:
        caught.append(build(*given))
        return caught[-1]

    whole_pack._conductance_matrix = keep
    try:
        whole_pack.pack_currents(**pack)
    finally:
        whole_pack._conductance_matrix = build
    return caught[0]


def whole_packs() -> bool:
    """Print the times of whole packs; return whether they keep to the bounds."""
    import numpy as np

    fine = True
    print(f"\n{'whole pack':<12}{'cells':>8}{'pack ms':>10}{'bare ms':>10}{'ratio':>8}")
    times: dict[int, float] = {}
    for series, parallel in PACKS:
        pack: dict[str, Any] = {
            "series": series, "parallel": parallel, "cell_mohm": 20.0, "bar_gap_mohm": 1.0, "link_mohm": 1.0,
            "links": parallel, "take_off": [1], "current_a": 40.0,
        }  # fmt: skip
        matrix = matrix_of(pack)
        right_side = np.ones(matrix.shape[0])
        whole = seconds(lambda pack=pack: whole_pack.pack_currents(**pack))  # type: ignore[misc]
        bare = seconds(lambda matrix=matrix, right=right_side: spsolve(matrix, right))  # type: ignore[misc]
        cells = series * parallel
        times[cells] = whole
        late = cells >= RATIO_FROM_CELLS and whole > LARGEST_RATIO * bare
        fine = fine and not late
        name = f"{series}S{parallel}P"
        print(
            f"{name:<12}{cells:>8}{1e3 * whole:>10.3f}{1e3 * bare:>10.3f}{whole / bare:>8.2f}"
            f"{'  MISSED' if late else ''}"
        )
    smallest, largest = min(times), max(times)
    power = log(times[largest] / times[smallest]) / log(largest / smallest)
    late = power > LARGEST_POWER
    print(f"\ngrowth with cells^{power:.2f}, at most {LARGEST_POWER}{'  MISSED' if late else ''}")
    return fine and not late


if __name__ == "__main__":
    # Both tables are wanted, whatever the first one says.
    sys.exit(0 if all([one_call_each(), whole_packs()]) else 1)
