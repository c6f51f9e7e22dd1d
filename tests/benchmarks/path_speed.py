"""How fast the physics of the current's way is, against what it cannot do without.

``python tests/benchmarks/path_speed.py`` prints three tables and fails when a bound is missed:

- every function of floats, in microseconds a call: at most 50, so that many packs can be judged over their
  bounds, and at most 2,000 for the bounds of a whole pack of 10S8P; a row emptied in 60 steps is only
  printed;
- a whole pack against the bare solution of the very same network by scipy's sparse solver: at most twice as
  long, from 200 cells on; smaller packs are printed only, for there both are a few calls of numpy;
- its growth from 10S4P to 100S100P: no faster than the 1.2th power of the number of cells.
"""

from __future__ import annotations

import sys
import timeit
from collections.abc import Callable
from functools import partial
from math import log
from pathlib import Path
from typing import Any

from scipy.sparse.linalg import spsolve

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.references.sparse_network import Pack, equations
from verifier.electrical import (
    convection,
    copper,
    discharge,
    heat,
    leads,
    links,
    pack_sharing,
    sharing,
    strip,
    unequal_group,
    whole_pack,
)

LARGEST_MICROSECONDS, LARGEST_FOR_BOUNDS = 50.0, 2000.0
LARGEST_RATIO = 2.0
RATIO_FROM_CELLS = 200
LARGEST_POWER = 1.2
PACKS = [(10, 4), (20, 10), (50, 30), (100, 100)]

NICKEL = {"resistivity_nohm_m": 96.4, "alpha_per_k": 0.0043}
SECTION = {"width_mm": 8.0, "thickness_mm": 0.15}
AIR = {"ambient_c": 25.0, "heat_transfer_w_per_m2k": 15.0}
METAL = {**NICKEL, "conductivity_w_per_mk": 70.2, "length_mm": 20.0}
LEAD = {"area_mm2": 3.3, "ambient_c": 30.0, "outer_mm": 4.5}
ROW = {"cell_mohm": [20.0] * 4, "gap_mohm": 2.0, "take_off": [1]}
CELL = {
    "heat_w": 2.0,
    "heat_capacity_j_per_k": 65.0,
    "surface_m2": 5.3e-3,
    "heat_transfer_w_per_m2k": 12.0,
}
RANGE = {
    "cell_mohm": (20.0, 30.0), "gap_mohm": (1.0, 2.0), "link_mohm": (1.0, 2.0), "series": (10.0, 10.0),
    "parallel": 8.0, "links": 8.0,
}  # fmt: skip
WORK = {
    "current_a": (3.0, 9.0), "dc_mohm": (30.0, 40.0), "capacity_ah": (2.9, 3.0), "mass_g": (45.0, 48.0),
    "surface_m2": (0.0042, 0.0043),
}  # fmt: skip
ONE_CALL: list[tuple[Callable[..., Any], dict[str, Any]]] = [
    (convection.lying_cylinder_loss_w_per_m, {"diameter_m": 0.004, "rise_k": 40.0, "ambient_k": 298.0}),
    (copper.awg_area_mm2, {"gauge": 12}),
    (copper.resistance_ohm, {"area_mm2": 3.3, "length_m": 0.5, "temperature_c": 60.0}),
    (leads.lead_current_a, {**LEAD, "conductor_limit_c": 75.0}),
    (strip.strip_resistance_ohm, {**NICKEL, **SECTION, "length_mm": 20.0, "temperature_c": 60.0}),
    (strip.strip_current_limit_a, {**SECTION, "layers": 2, "density_a_per_mm2": 5.0, "metal_factor": 0.67}),
    (links.link_temperatures, {**METAL, **SECTION, **AIR, "current_a": 10.0, "end_c": 40.0}),
    (links.long_strip_rise_k, {**NICKEL, **SECTION, **AIR, "current_a": 10.0}),
    (sharing.imbalance_factor, {"parallel": 13.0, "cell_mohm": 20.0, "gap_mohm": 2.0, "where": "middle"}),
    (unequal_group.group_currents, {**ROW, "current_a": 40.0}),
    (unequal_group.group_currents, {**ROW, "cell_mohm": [20.0] * 20, "current_a": 200.0}),
    (heat.rise_after_k, {**CELL, "seconds": 1800.0}),
    (heat.time_to_limit_s, {**CELL, "allowed_rise_k": 20.0}),
]
BOUNDS: list[tuple[Callable[..., Any], dict[str, Any]]] = [
    (pack_sharing.imbalance_bounds, {**RANGE, "where": "end"}),
    (pack_sharing.imbalance_bounds, {**RANGE, "where": "middle"}),
    (pack_sharing.link_imbalance_bounds, {**RANGE, "where": "middle"}),
    (pack_sharing.hardest_stretch_bounds, {**RANGE, "where": "middle"}),
    (leads.lead_current_bounds_a,
     {"area_mm2": (3.3, 3.3), "conductor": "unknown", "conductor_limit_c": 75.0, "air_c": 55.0}),
    (heat.minutes_to_limit_bounds, {**WORK, "allowed_rise_k": 20.0}),
    (discharge.usable_energy_bounds, {"temperature_c": (-5.0, 20.0), "c_rate": (0.2, 1.0)}),
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
    for calls, largest in ((ONE_CALL, LARGEST_MICROSECONDS), (BOUNDS, LARGEST_FOR_BOUNDS)):
        for function, given in calls:
            took = 1e6 * seconds(partial(function, **given))
            late = took > largest
            fine = fine and not late
            print(f"{function.__name__:<36}{took:8.2f}{'  MISSED' if late else ''}")
    emptied: dict[str, Any] = {
        **ROW,
        "current_a": 40.0,
        "capacity_ah": [3.0] * 4,
        "open_circuit_slope_v": 0.9,
    }
    took = 1e6 * seconds(lambda: unequal_group.group_currents_after(**emptied))
    print(f"{'group_currents_after, 60 steps':<36}{took:8.2f}  (no bound)")
    return fine


def whole_packs() -> bool:
    """Print the times of whole packs; return whether they keep to the bounds."""
    import numpy as np

    fine = True
    print(f"\n{'whole pack':<12}{'cells':>8}{'pack ms':>10}{'bare ms':>10}{'ratio':>8}")
    times: dict[int, float] = {}
    for series, parallel in PACKS:
        known = Pack(
            np.full((series, parallel), 20.0), np.zeros((series, parallel)), [range(1, parallel + 1)] * (series - 1),
            1.0, 1.0, [1], [1], current_a=40.0,
        )  # fmt: skip
        pack: dict[str, Any] = {**vars(known), "series": series, "parallel": parallel, "links": parallel}
        matrix, right_side = equations(known)
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
