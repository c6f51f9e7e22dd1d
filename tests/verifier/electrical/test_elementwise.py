"""Every function of the current's way gives the same for floats and arrays; a float loads no numpy."""

from __future__ import annotations

import doctest
import importlib
import inspect
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from verifier.electrical import (
    charge_taper,
    convection,
    copper,
    discharge,
    heat,
    leads,
    links,
    pack_shares,
    pack_sharing,
    resistance,
    sharing,
    strip,
    unequal_group,
    whole_pack,
)
from verifier.electrical.elementary import by_distinct

MODULES = (
    charge_taper, convection, copper, discharge, heat, leads, links, pack_shares, pack_sharing,
    resistance, sharing, strip, unequal_group, whole_pack,
)  # fmt: skip
ROOT = Path(__file__).parents[3]
NICKEL = {"resistivity_nohm_m": 96.4, "alpha_per_k": 0.0043}
LINK = {
    **NICKEL, "conductivity_w_per_mk": 70.2, "length_mm": 20.0, "width_mm": 8.0, "thickness_mm": 0.15,
    "ambient_c": 25.0, "heat_transfer_w_per_m2k": 15.0,
}  # fmt: skip
CELL = {"heat_w": 2.0, "heat_capacity_j_per_k": 65.0, "surface_m2": 5.3e-3}
FILM = convection.air(kelvin=310.0)
LEAD = {"area_mm2": 3.3, "conductor_limit_c": 75.0, "ambient_c": 30.0, "outer_mm": 4.0}
SECTION = {"width_mm": (7.0, 8.0), "thickness_mm": (0.1, 0.15), "layers": (1.0, 2.0)}
RUN = {**SECTION, "material": "unknown", "ambient_c": 30.0}
BODY = {"capacity_ah": (2.9, 3.0), "mass_g": (45.0, 48.0), "surface_m2": (0.0042, 0.0043)}
WORK = {**BODY, "current_a": (3.0, 9.0), "dc_mohm": (30.0, 40.0)}
COLD = {"temperature_c": (-5.0, 20.0), "c_rate": (0.2, 1.0)}
SHARES = {"cell_mohm": 20.0, "gap_mohm": 1.5, "link_mohm": 1.0, "series": 3.0}
# Function, the quantity that varies and the values it takes, and all others.
VARIED: list[tuple[Callable[..., Any], str, list[Any], dict[str, Any]]] = [
    (convection.air, "kelvin", [250.0, 300.0, 380.0], {}),
    (convection.rayleigh_number, "rise_k", [0.0, 1.0, 50.0], {"diameter_m": 0.004, "film": FILM}),
    (convection.horizontal_cylinder_nusselt, "rayleigh", [0.0, 1.0, 1e6], {"prandtl": 0.7}),
    (convection.fine_wire_nusselt, "rayleigh", [0.0, 1e-5, 1.0, 1e3, 1e5, 1e9], {}),
    (convection.lying_cylinder_loss_w_per_m, "rise_k", [0.0, 1e-6, 40.0],
     {"diameter_m": 0.004, "ambient_k": 298.0, "most": True}),
    (copper.awg_diameter_mm, "gauge", [-3.0, 12.0, 40.0], {}),
    (copper.awg_area_mm2, "gauge", [-3.0, 12.0, 40.0], {}),
    (copper.conductor_diameter_mm, "area_mm2", [0.1, 2.5], {"fill": 0.6}),
    (copper.resistance_ratio, "temperature_c", [-40.0, 20.0, 200.0], {}),
    (copper.resistivity_ohm_mm2_per_m, "temperature_c", [-40.0, 20.0, 200.0], {}),
    (copper.resistance_ohm, "length_m", [0.0, 0.4], {"area_mm2": 2.5, "temperature_c": 40.0}),
    (leads.lead_current_a, "ambient_c", [-20.0, 30.0, 74.9, 75.0, 90.0], LEAD),
    (leads.lead_current_a, "outer_mm", [2.5, 4.0, 8.0], {**LEAD, "fill": 0.6, "most": True}),
    (leads.outer_bounds_mm, "area_mm2", [(0.5, 0.6), (3.3, 3.3)], {}),
    (leads.lead_current_bounds_a, "air_c", [-20.0, 40.0, 75.0, 90.0],
     {"area_mm2": (2.0, 3.3), "conductor": "unknown", "conductor_limit_c": 75.0}),
    (leads.lead_current_bounds_a, "area_mm2", [(0.5, 0.6), (3.3, 3.3)],
     {"conductor": "copper", "conductor_limit_c": 75.0, "air_c": 40.0}),
    (leads.lead_drop_bounds_v, "current_a", [(0.0, 1.0), (10.0, 30.0)],
     {"area_mm2": (2.0, 3.3), "length_m": (0.5, 0.6), "conductor": "copper", "coldest_c": 0.0,
      "hottest_c": 75.0}),
    (strip.strip_resistance_ohm, "thickness_mm", [0.1, 0.2],
     {**NICKEL, "length_mm": 20.0, "width_mm": 8.0, "temperature_c": 60.0}),
    (strip.strip_current_limit_a, "layers", [1.0, 2.0],
     {"width_mm": 8.0, "thickness_mm": 0.15, "density_a_per_mm2": 5.0, "metal_factor": 0.67}),
    (strip.thick_strip_factor, "thickness_mm", [0.15, 0.3, 2.0], {}),
    (links.collector_rise_bounds_k, "current_a", [(0.0, 3.0), (5.0, 9.0), (50.0, 99.0)], RUN),
    (links.link_temperatures, "current_a", [0.0, 10.0, 20.6, 60.0, 100.0], {**LINK, "end_c": 40.0}),
    (links.long_strip_rise_k, "current_a", [0.0, 10.0, 100.0],
     {**NICKEL, "width_mm": 8.0, "thickness_mm": 0.15, "ambient_c": 25.0, "heat_transfer_w_per_m2k": 15.0}),
    (sharing.imbalance_factor, "gap_mohm", [0.0, 0.1, 5.0],
     {"parallel": 5, "cell_mohm": 20.0, "where": "end"}),
    (sharing.imbalance_factor, "parallel", [1.0, 4.0, 9.0],
     {"cell_mohm": 9.0, "gap_mohm": 1.0, "where": "end"}),
    (sharing.hardest_stretch_fraction, "cell_mohm", [5.0, 50.0],
     {"parallel": 5, "gap_mohm": 2.0, "where": "middle"}),
    (sharing.tab_imbalance, "cell_mohm", [5.0, 50.0],
     {"parallel": 5, "gap_mohm": 2.0, "positions": [1, 4], "fed": "both_bars"}),
    (pack_shares.pack_shares, "parallel", [1.0, 4.0, 7.0], {**SHARES, "where": "middle"}),
    (pack_shares.pack_shares, "cell_mohm", [5.0, 50.0], {**SHARES, "parallel": 5.0, "positions": [1, 2, 4]}),
    (heat.cell_surface_m2, "diameter_mm", [18.0, 21.0], {"length_mm": 65.0}),
    (heat.cell_heat_bounds_w, "current_a", [(0.0, 0.0), (3.0, 9.0)], {"dc_mohm": (0.0, 30.0)}),
    (heat.cell_rise_bounds_k, "current_a", [(0.0, 0.0), (0.0, 4.0), (3.0, 9.0)],
     {**BODY, "dc_mohm": (30.0, 40.0)}),
    (heat.minutes_to_limit_bounds, "allowed_rise_k", [-4.0, 0.0, 5.0, 40.0, 400.0], WORK),
    (heat.rise_after_k, "heat_transfer_w_per_m2k", [0.0, 12.0], {**CELL, "seconds": 900.0}),
    (heat.time_to_limit_s, "allowed_rise_k", [0.0, 10.0, 60.0], {**CELL, "heat_transfer_w_per_m2k": 12.0}),
    (heat.time_to_limit_s, "heat_transfer_w_per_m2k", [0.0, 12.0, 500.0], {**CELL, "allowed_rise_k": 20.0}),
    (resistance.dc_from_ac_mohm, "ac_mohm", [5.0, 30.0], {"kind": "maximum"}),
    (resistance.cell_dc_mohm_by_capacity, "capacity_ah", [(2.0, 3.0), (100.0, 100.0)], {}),
    (resistance.cold_resistance_factor, "temperature_c", [-30.0, -20.0, -5.0, 10.0, 24.0, 50.0], {}),
    (resistance.over_warm_resistance, "temperature_c", [-30.0, 10.0, 25.0, 35.0, 45.0, 60.0], {}),
    (discharge.capacity_factor_bounds, "temperature_c", [(-30.0, -9.0), (0.0, 9.0), (20.0, 50.0)], COLD),
    (discharge.more_by_test, "temperature_c", [-20.0, 20.0, 30.0, 60.0], {"c_rate": 0.15}),
    (discharge.more_by_test, "c_rate", [0.0, 0.1, 0.15, 1.0], {"temperature_c": 30.0}),
    (discharge.part_by_test, "c_rate", [(0.0, 0.05), (0.1, 0.7), (0.2, 0.2)], COLD),
    (discharge.usable_energy_bounds, "c_rate", [(0.0, 0.05), (0.2, 0.7), (3.0, 9.0)], COLD),
    (charge_taper.taper_hours, "c_rate", [(0.0, 0.4), (0.4, 0.5), (1.0, 1.0), (2.0, 3.0)],
     {"chemistry": "LFP"}),
]  # fmt: skip
NO_ARRAYS = {
    sharing.take_off_positions, sharing.taps_of, links.hot_strip_rise_k,
    unequal_group.group_currents, unequal_group.group_currents_after, whole_pack.link_columns, whole_pack.pack_currents,
}  # fmt: skip
# Of arrays in a list, by keywords of a row, or of nested pairs; compared below and in test_pack_sharing.py.
ELSEWHERE = {
    links.link_bounds,
    sharing.row_shares, pack_sharing.imbalance_bounds, pack_sharing.link_imbalance_bounds,
    pack_sharing.tab_imbalance_bounds, pack_sharing.hardest_stretch_bounds,
}  # fmt: skip
# Parts of the functions above, which have checked what they pass on.
UNCHECKED = {
    sharing.crossed_profiles, sharing.tab_currents, sharing.stretch_currents,
    sharing.greatest, pack_shares.total,
}  # fmt: skip


def public() -> set[Callable[..., Any]]:
    """Return every public function of the package, elementary functions apart."""
    return {
        function
        for module in MODULES
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    }


def test_every_function_is_tried_and_takes_its_quantities_by_name() -> None:
    """Otherwise a new function escapes the rules, or two floats change places unseen."""
    assert public() - NO_ARRAYS - ELSEWHERE - UNCHECKED == {function for function, *_ in VARIED}
    by_name = {inspect.Parameter.KEYWORD_ONLY, inspect.Parameter.VAR_KEYWORD}
    for function in public() - UNCHECKED:
        kinds = {each.kind for each in inspect.signature(function).parameters.values()}
        assert kinds <= by_name, function.__name__


@pytest.mark.parametrize(("function", "name", "values", "others"), VARIED)
def test_an_array_gives_what_its_elements_give(
    function: Callable[..., Any], name: str, values: list[float], others: dict[str, Any]
) -> None:
    """Otherwise many packs at once are judged by other physics than one pack. Rule: scalar equals array."""
    one_by_one = [function(**{**others, name: value}) for value in values]
    pairs = isinstance(values[0], tuple)
    column = tuple(np.array(end) for end in zip(*values, strict=True)) if pairs else np.array(values)
    at_once = function(**{**others, name: column})
    if isinstance(one_by_one[0], tuple):
        one_by_one, at_once = list(zip(*one_by_one, strict=True)), tuple(at_once)
        assert all(isinstance(each, float) for row in one_by_one for each in row)
        at_once = [np.broadcast_to(each, len(values)) for each in at_once]
    else:
        assert all(isinstance(each, float) for each in one_by_one)
        assert isinstance(at_once, np.ndarray)
    np.testing.assert_allclose(at_once, one_by_one, rtol=1e-9, atol=1e-12)


def test_a_link_of_many_strips_is_each_strip() -> None:
    """Otherwise the warming of many packs at once is another. Rule: scalar equals array."""
    row: dict[str, Any] = {
        **SECTION,
        "material": "plated_steel",
        "length_mm": (18.0, 22.0),
        "ambient_c": 40.0,
    }
    found = links.link_bounds(current_a=(np.array([0.0, 4.0]), np.array([2.0, 9.0])), **row)
    for at, current_a in enumerate([(0.0, 2.0), (4.0, 9.0)]):
        one = links.link_bounds(current_a=current_a, **row)
        assert [each[at] for span in found for each in span] == pytest.approx(
            [*one.rise_k, *one.into_cells_w]
        )


def test_rows_of_one_kind_are_worked_out_once() -> None:
    """Otherwise a table of many packs of few kinds takes as long as many kinds. Rule: by distinct inputs."""
    asked = []

    def double(kind: float, value: np.ndarray) -> np.ndarray:
        asked.append(kind)
        return kind * value

    found = by_distinct(double, (np.array([2.0, 3.0, 2.0, 2.0]),), (np.array([1.0, 1.0, 5.0, 7.0]),))
    assert list(found) == [2.0, 3.0, 10.0, 14.0]
    assert sorted(asked) == [2.0, 3.0]
    # A table without a row is no fault.
    assert by_distinct(double, (np.empty(0),), (np.empty(0),)).shape == (0,)
    low, high = by_distinct(lambda kind: (kind, 2 * kind), (np.array([4.0, 1.0]),), results=2)
    assert (list(low), list(high)) == ([4.0, 1.0], [8.0, 2.0])


def test_several_quantities_broadcast() -> None:
    """Otherwise a table of gauges by temperatures needs loops."""
    areas, ambients = np.array([1.3, 3.3])[:, None], np.array([20.0, 40.0, 80.0])
    lead: dict[str, Any] = {"conductor_limit_c": 75.0, "outer_mm": 4.0, "resistance_factor": 1.2}
    found = leads.lead_current_a(area_mm2=areas, ambient_c=ambients, **lead)
    assert found.shape == (2, 3)
    single = leads.lead_current_a(area_mm2=3.3, ambient_c=40.0, **lead)
    assert found[1, 1] == pytest.approx(single, rel=1e-9)
    assert list(found[:, 2]) == [0.0, 0.0]


def test_a_float_loads_no_numpy() -> None:
    """Otherwise every check waits for a library that it does not use. Rule: DEVELOPERS.md."""
    code = """
import sys
from verifier.electrical import charge_taper, discharge, heat, leads, links, pack_sharing, resistance
from verifier.electrical import sharing, strip, unequal_group, whole_pack
leads.lead_current_bounds_a(area_mm2=(3.3, 3.3), conductor="copper", conductor_limit_c=75.0, air_c=30.0)
links.link_bounds(material="nickel", current_a=(5.0, 9.0), length_mm=(19.0, 21.0), width_mm=(8.0, 8.0),
    thickness_mm=(0.1, 0.15), layers=(1.0, 2.0), ambient_c=40.0)
unequal_group.group_currents(cell_mohm=[20.0] * 4, gap_mohm=2.0, take_off=[1], current_a=40.0)
row = {"cell_mohm": (20.0, 30.0), "gap_mohm": (1.0, 2.0), "link_mohm": (1.0, 2.0), "series": (7.0, 7.0),
    "parallel": 4.0, "links": 3.0, "positions": [1, 3]}
for bounds in (pack_sharing.imbalance_bounds, pack_sharing.link_imbalance_bounds,
               pack_sharing.tab_imbalance_bounds, pack_sharing.hardest_stretch_bounds):
    bounds(**row)
cell = {"current_a": (3.0, 4.0), "dc_mohm": resistance.dc_from_ac_mohm(ac_mohm=20.0), "mass_g": (45.0, 48.0),
    "capacity_ah": (2.9, 3.0), "surface_m2": (0.0042, 0.0042)}
heat.minutes_to_limit_bounds(allowed_rise_k=20.0, **cell)
resistance.cold_resistance_factor(temperature_c=-5.0)
discharge.usable_energy_bounds(temperature_c=(-5.0, 20.0), c_rate=(0.2, 1.0))
charge_taper.taper_hours(c_rate=(0.2, 1.0), chemistry="LFP")
print("numpy" in sys.modules)
"""
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.rpartition(".")[2])
def test_the_examples_hold(module: Any) -> None:
    """Otherwise the documentation shows what the program does not do."""
    module = importlib.import_module(module.__name__)
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize("function", sorted(public() - UNCHECKED, key=repr))
def test_every_function_says_its_units_and_what_it_refuses(function: Callable[..., Any]) -> None:
    """Otherwise a developer passes millimetres for metres. Rule: DEVELOPERS.md, numpy style with units."""
    text = inspect.getdoc(function) or ""
    assert "Parameters\n-" in text
    assert "Raises\n-" in text or function.__module__ == convection.__name__
    assert "Examples\n-" in text
