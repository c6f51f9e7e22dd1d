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
    convection,
    copper,
    heat,
    leads,
    links,
    pack_sharing,
    sharing,
    strip,
    whole_pack,
)

MODULES = (convection, copper, heat, leads, links, pack_sharing, sharing, strip, whole_pack)
ROOT = Path(__file__).parents[3]
NICKEL = {"resistivity_nohm_m": 96.4, "alpha_per_k": 0.0043}
LINK = {
    **NICKEL, "conductivity_w_per_mk": 70.2, "length_mm": 20.0, "width_mm": 8.0, "thickness_mm": 0.15,
    "ambient_c": 25.0, "heat_transfer_w_per_m2k": 15.0,
}  # fmt: skip
CELL = {"heat_w": 2.0, "heat_capacity_j_per_k": 65.0, "surface_m2": 5.3e-3}
AIR = {
    "size_m": 0.004, "expansion_per_k": 3e-3, "kinematic_viscosity_m2_per_s": 1.7e-5,
    "thermal_diffusivity_m2_per_s": 2.4e-5,
}  # fmt: skip
LEAD = {"area_mm2": 3.3, "ambient_c": 30.0, "insulation_mm": 1.0}
SHARES = {"cell_mohm": 20.0, "gap_mohm": 1.5, "link_mohm": 1.0, "series": 3.0}
# Function, the quantity that varies and the values it takes, and all others.
VARIED: list[tuple[Callable[..., Any], str, list[float], dict[str, Any]]] = [
    (convection.air, "temperature_c", [-20.0, 20.0, 110.0], {}),
    (convection.rayleigh, "rise_k", [0.0, 1.0, 50.0], AIR),
    (convection.horizontal_cylinder_nusselt, "rayleigh", [0.0, 1.0, 1e6], {"prandtl": 0.7}),
    (convection.vertical_plate_nusselt, "rayleigh", [0.0, 1.0, 1e6], {"prandtl": 0.7}),
    (convection.fine_wire_nusselt, "rayleigh", [0.0, 1e-5, 1.0, 1e3, 1e5, 1e9], {}),
    (convection.radiation_w_per_m2, "surface_c", [10.0, 25.0, 90.0], {"surroundings_c": 25.0}),
    (convection.lying_cylinder_loss_w_per_m, "rise_k", [0.0, 1e-6, 40.0],
     {"diameter_mm": 4.0, "ambient_c": 25.0}),
    (copper.awg_diameter_mm, "gauge", [-3.0, 12.0, 40.0], {}),
    (copper.awg_area_mm2, "gauge", [-3.0, 12.0, 40.0], {}),
    (copper.conductor_diameter_mm, "area_mm2", [0.1, 2.5], {"fill": 0.6}),
    (copper.resistance_ratio, "temperature_c", [-40.0, 20.0, 200.0], {}),
    (copper.resistivity_ohm_mm2_per_m, "temperature_c", [-40.0, 20.0, 200.0], {}),
    (copper.resistance_ohm, "length_m", [0.0, 0.4], {"area_mm2": 2.5, "temperature_c": 40.0}),
    (copper.class5_resistance_ohm_per_km, "area_mm2", [0.5, 2.4, 2.5, 2.6, 16.0], {}),
    (leads.ambient_factor, "ambient_c", [20.0, 30.0, 80.0], {"conductor_limit_c": 75.0}),
    (leads.voltage_drop_v, "current_a", [0.0, 30.0],
     {"area_mm2": 3.3, "length_m": 0.5, "temperature_c": 50.0}),
    (leads.wire_core_rise_k, "heat_w_per_m", [0.0, 5.0], {"conductivity_w_per_mk": 385.0}),
    (leads.lead_current_a, "ambient_c", [-20.0, 30.0, 74.9, 75.0, 90.0],
     {"area_mm2": 3.3, "conductor_limit_c": 75.0, "insulation_mm": 1.0}),
    (leads.lead_current_a, "insulation_mm", [0.0, 0.5, 3.0],
     {"area_mm2": 3.3, "conductor_limit_c": 75.0, "ambient_c": 30.0}),
    (leads.lead_temperature_c, "current_a", [0.0, 1e-6, 1.0, 30.0, 80.0, 1000.0], LEAD),
    (strip.plated_resistivity_nohm_m, "plating_um", [0.0, 5.0],
     {"core_nohm_m": 142.0, "plating_nohm_m": 96.4, "thickness_mm": 0.15}),
    (strip.strip_resistance_ohm, "thickness_mm", [0.1, 0.2],
     {**NICKEL, "length_mm": 20.0, "width_mm": 8.0, "temperature_c": 60.0}),
    (strip.strip_current_limit_a, "layers", [1.0, 2.0],
     {"width_mm": 8.0, "thickness_mm": 0.15, "density_a_per_mm2": 5.0, "resistivity_nohm_m": 143.0}),
    (links.link_profile_c, "position_mm", [0.0, 7.0, 20.0],
     {**LINK, "current_a": 30.0, "first_end_c": 30.0, "second_end_c": 50.0}),
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
    (pack_sharing.pack_shares, "parallel", [1.0, 4.0, 7.0], {**SHARES, "where": "middle"}),
    (pack_sharing.pack_shares, "cell_mohm", [5.0, 50.0], {**SHARES, "parallel": 5.0, "positions": [1, 2, 4]}),
    (heat.cell_surface_m2, "diameter_mm", [18.0, 21.0], {"length_mm": 65.0}),
    (heat.cell_heat_capacity_j_per_k, "mass_g", [45.0, 70.0], {"specific_heat_j_per_kgk": 950.0}),
    (heat.cell_heat_w, "current_a", [0.0, 10.0], {"resistance_mohm": 30.0}),
    (heat.adiabatic_rise_k_per_min, "heat_w", [0.0, 2.0], {"heat_capacity_j_per_k": 65.0}),
    (heat.still_air_rise_k, "heat_transfer_w_per_m2k", [0.0, 12.0], {"heat_w": 2.0, "surface_m2": 5.3e-3}),
    (heat.rise_after_k, "heat_transfer_w_per_m2k", [0.0, 12.0], {**CELL, "seconds": 900.0}),
    (heat.time_to_limit_s, "allowed_rise_k", [0.0, 10.0, 60.0], {**CELL, "heat_transfer_w_per_m2k": 12.0}),
    (heat.time_to_limit_s, "heat_transfer_w_per_m2k", [0.0, 12.0, 500.0], {**CELL, "allowed_rise_k": 20.0}),
]  # fmt: skip
NO_ARRAYS = {
    copper.stranding_factor, heat.dc_resistance_mohm, sharing.take_off_positions, sharing.taps_of,
    sharing.group_currents, sharing.group_currents_after, whole_pack.link_columns, whole_pack.pack_currents,
}  # fmt: skip
# Of arrays in a list or in pairs; tests/references/test_pack_sharing.py compares them with floats.
ELSEWHERE = {
    sharing.row_shares, pack_sharing.imbalance_bounds, pack_sharing.link_imbalance_bounds,
    pack_sharing.tab_imbalance_bounds, pack_sharing.hardest_stretch_bounds,
}  # fmt: skip
# Parts of the functions above, which have checked what they pass on.
UNCHECKED = {
    convection.lying_cylinder_loss, sharing.crossed_profile, sharing.tab_currents, sharing.stretch_currents,
    sharing.greatest,
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
    at_once = function(**{**others, name: np.array(values)})
    if isinstance(one_by_one[0], tuple):
        one_by_one, at_once = list(zip(*one_by_one, strict=True)), tuple(at_once)
        assert all(type(each) is float for row in one_by_one for each in row)
    else:
        assert all(type(each) is float for each in one_by_one)
        assert isinstance(at_once, np.ndarray)
    np.testing.assert_allclose(at_once, one_by_one, rtol=1e-9, atol=1e-12)


def test_several_quantities_broadcast() -> None:
    """Otherwise a table of gauges by temperatures needs loops."""
    areas, ambients = np.array([1.3, 3.3])[:, None], np.array([20.0, 40.0, 80.0])
    found = leads.lead_current_a(
        area_mm2=areas, conductor_limit_c=75.0, ambient_c=ambients, insulation_mm=1.0, resistance_factor=1.2
    )
    assert found.shape == (2, 3)
    single = leads.lead_current_a(
        area_mm2=3.3, conductor_limit_c=75.0, ambient_c=40.0, insulation_mm=1.0, resistance_factor=1.2
    )
    assert found[1, 1] == pytest.approx(single, rel=1e-9)
    assert list(found[:, 2]) == [0.0, 0.0]


def test_a_float_loads_no_numpy() -> None:
    """Otherwise every check waits for a library that it does not use. Rule: DEVELOPERS.md."""
    code = """
import sys
from verifier.electrical import convection, copper, heat, leads, links, pack_sharing, sharing, strip
from verifier.electrical import whole_pack
leads.lead_current_a(area_mm2=3.3, conductor_limit_c=75.0, ambient_c=30.0, insulation_mm=1.0)
leads.lead_temperature_c(current_a=30.0, area_mm2=3.3, ambient_c=30.0, insulation_mm=1.0)
copper.class5_resistance_ohm_per_km(area_mm2=3.3)
links.link_temperatures(current_a=10.0, resistivity_nohm_m=96.4, alpha_per_k=0.0043,
    conductivity_w_per_mk=70.2, length_mm=20.0, width_mm=8.0, thickness_mm=0.15, end_c=40.0, ambient_c=25.0,
    heat_transfer_w_per_m2k=15.0)
sharing.imbalance_factor(parallel=4, cell_mohm=20.0, gap_mohm=2.0, where="end")
pack_sharing.imbalance_bounds(cell_mohm=(20.0, 30.0), gap_mohm=(1.0, 2.0), link_mohm=(1.0, 2.0),
    series=(7.0, 7.0), parallel=4.0, links=4.0, where="middle")
sharing.group_currents(cell_mohm=[20.0] * 4, gap_mohm=2.0, take_off=[1], current_a=40.0)
heat.time_to_limit_s(allowed_rise_k=20.0, heat_w=2.0, heat_capacity_j_per_k=65.0, surface_m2=5e-3,
    heat_transfer_w_per_m2k=12.0)
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


@pytest.mark.parametrize("function", sorted(public(), key=lambda each: each.__name__))
def test_every_function_says_its_units_and_what_it_refuses(function: Callable[..., Any]) -> None:
    """Otherwise a developer passes millimetres for metres. Rule: DEVELOPERS.md, numpy style with units."""
    text = inspect.getdoc(function) or ""
    if function in UNCHECKED:
        return
    assert "Parameters\n-" in text
    assert "Raises\n-" in text
    assert "Examples\n-" in text
