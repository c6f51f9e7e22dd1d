"""What makes no physical sense is refused by name; nothing is clipped in silence."""

from __future__ import annotations

from collections.abc import Callable
from math import inf, nan
from typing import Any

import numpy as np
import pytest

from verifier.electrical import (
    charge_taper,
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

LEAD = {"area_mm2": 3.3, "conductor_limit_c": 75.0, "ambient_c": 30.0, "outer_mm": 4.0}
LEADS = {"area_mm2": (3.3, 3.3), "conductor": "copper", "conductor_limit_c": 75.0, "air_c": 30.0}
DROP = {
    "area_mm2": (3.3, 3.3), "conductor": "copper", "current_a": (5.0, 9.0), "length_m": (0.5, 0.6),
    "coldest_c": 0.0, "hottest_c": 75.0,
}  # fmt: skip
STRIP = {"resistivity_nohm_m": 96.4, "length_mm": 20.0, "width_mm": 8.0, "thickness_mm": 0.15}
LIMIT = {
    "width_mm": 8.0, "thickness_mm": 0.15, "layers": 2.0, "density_a_per_mm2": 5.0, "metal_factor": 1.0
}  # fmt: skip
LINK = {
    **STRIP, "current_a": 10.0, "alpha_per_k": 0.0043, "conductivity_w_per_mk": 70.2, "ambient_c": 25.0,
    "heat_transfer_w_per_m2k": 15.0, "end_c": 40.0,
}  # fmt: skip
RUN = {
    "material": "nickel", "width_mm": (7.0, 8.0), "thickness_mm": (0.1, 0.15), "layers": (1.0, 2.0),
    "ambient_c": 30.0,
}  # fmt: skip
LOADED = {**RUN, "current_a": (1.0, 2.0)}
RISE = {
    "current_a": (3.0, 9.0), "dc_mohm": (30.0, 40.0), "capacity_ah": (2.9, 3.0), "mass_g": (45.0, 48.0),
    "surface_m2": (0.0042, 0.0043),
}  # fmt: skip
COLD = {"temperature_c": (0.0, 20.0), "c_rate": (0.2, 1.0)}
ROW = {"cell_mohm": [20.0] * 4, "gap_mohm": 2.0, "take_off": [1], "current_a": 40.0}
LATER = {**ROW, "capacity_ah": [3.0] * 4, "open_circuit_slope_v": 0.9}
FACTOR = {"parallel": 4, "cell_mohm": 20.0, "gap_mohm": 2.0, "where": "end"}
TABS = {"parallel": 4, "cell_mohm": 20.0, "gap_mohm": 2.0, "positions": [1, 3]}
SHARES = {**FACTOR, "link_mohm": 1.0, "series": 3}
BOUNDS = {
    "cell_mohm": (18.0, 20.0), "gap_mohm": (1.0, 2.0), "link_mohm": (1.0, 2.0), "series": (3.0, 3.0),
    "parallel": 4.0, "links": 4.0, "where": "end",
}  # fmt: skip
PACK: dict[str, Any] = {
    "series": 3, "parallel": 4, "cell_mohm": 20.0, "bar_gap_mohm": 1.0, "link_mohm": 1.0, "links": 4,
    "take_off": [1], "current_a": 40.0,
}  # fmt: skip
TIME = {
    "allowed_rise_k": 20.0, "heat_w": 2.0, "heat_capacity_j_per_k": 65.0, "surface_m2": 5e-3,
    "heat_transfer_w_per_m2k": 12.0,
}  # fmt: skip
REFUSED: list[tuple[Callable[..., Any], dict[str, Any], dict[str, Any], str]] = [
    (copper.awg_area_mm2, {}, {"gauge": 99}, "gauge is 99; it must lie from -3 to 56"),
    (copper.awg_diameter_mm, {}, {"gauge": -4}, "gauge is -4; it must lie from -3 to 56"),
    (copper.resistance_ratio, {}, {"temperature_c": 400.0}, "temperature_c is 400; it must lie from -60"),
    (copper.conductor_diameter_mm, {}, {"area_mm2": 2.5, "fill": 1.2}, "fill is 1.2"),
    (leads.lead_current_a, LEAD, {"area_mm2": 0.0}, "area_mm2 is 0; it must be above zero"),
    (leads.lead_current_a, LEAD, {"area_mm2": nan}, "area_mm2 is nan"),
    (leads.lead_current_a, LEAD, {"outer_mm": 1.9}, "outer_mm_less_that_of_the_copper is -0.1"),
    (leads.lead_current_a, LEAD, {"ambient_c": -300.0}, "ambient_c is -300"),
    (leads.lead_current_a, LEAD, {"conductor_limit_c": 900.0}, "conductor_limit_c is 900"),
    (leads.lead_current_a, LEAD, {"emissivity": 1.5}, "emissivity is 1.5"),
    (leads.lead_current_a, LEAD, {"resistance_factor": 0.0}, "resistance_factor is 0"),
    (leads.lead_current_bounds_a, LEADS, {"conductor": "gold"}, "conductor is 'gold'; it must be one of cop"),
    (leads.lead_current_bounds_a, LEADS, {"area_mm2": (3.3, inf)}, "area_mm2 is inf"),
    (leads.lead_drop_bounds_v, DROP, {"current_a": (-1.0, 9.0)}, "current_a is -1"),
    (leads.lead_drop_bounds_v, DROP, {"length_m": (-1.0, 9.0)}, "length_m is -1"),
    (strip.strip_resistance_ohm, STRIP, {"thickness_mm": 0.0}, "thickness_mm is 0; it must be above zero"),
    (strip.strip_resistance_ohm, STRIP, {"thickness_mm": -0.1}, "thickness_mm is -0.1"),
    (strip.strip_resistance_ohm, STRIP, {"layers": 0}, "layers is 0"),
    (strip.strip_resistance_ohm, STRIP, {"temperature_c": 60.0}, "alpha_per_k is missing"),
    (strip.strip_current_limit_a, LIMIT, {"width_mm": -8.0}, "width_mm is -8"),
    (strip.strip_current_limit_a, LIMIT, {"metal_factor": 0.0}, "metal_factor is 0"),
    (strip.thick_strip_factor, {"thickness_mm": 0.2}, {"thickness_mm": 0.0}, "thickness_mm is 0"),
    (links.collector_rise_bounds_k, LOADED, {"material": "tin"}, "material is 'tin'; it must be one of"),
    (links.link_temperatures, LINK, {"current_a": -1.0}, "current_a is -1"),
    (links.link_temperatures, LINK, {"ambient_c": 900.0}, "ambient_c is 900"),
    (links.link_temperatures, LINK, {"length_mm": 1e6}, "length_in_units_of_heat_spread"),
    (sharing.imbalance_factor, FACTOR, {"parallel": 0}, "parallel is 0; a row has one cell or more"),
    (sharing.imbalance_factor, FACTOR, {"where": "corner"}, "where is 'corner'; it must be one of end, mid"),
    (sharing.imbalance_factor, FACTOR, {"gap_mohm": -1.0}, "gap_mohm is -1"),
    (sharing.imbalance_factor, FACTOR, {"fed": "twice"}, "fed is 'twice'; it must be one of one_bar, both"),
    (sharing.imbalance_factor, FACTOR, {"positions": [1]}, "where is 'end' and positions are [1]; give one"),
    (sharing.imbalance_factor, FACTOR, {"where": None}, "where is None and positions are None; give one"),
    (sharing.hardest_stretch_fraction, FACTOR, {"where": None, "positions": [5]}, "positions are [5]"),
    (sharing.tab_imbalance, TABS, {"positions": [0, 2]}, "positions are [0, 2]; they must lie from 1 to 4"),
    (sharing.row_shares, TABS, {"fed": "opposite_ends"}, "positions are [1, 3]; at opposite ends it takes"),
    (pack_shares.pack_shares, SHARES, {"link_mohm": 0.0}, "link_mohm is 0; it must be above zero"),
    (pack_sharing.imbalance_bounds, BOUNDS, {"cell_mohm": (0.0, 20.0)}, "cell_mohm is 0"),
    (pack_sharing.link_imbalance_bounds, BOUNDS, {"links": -1.0}, "links is -1"),
    (pack_sharing.tab_imbalance_bounds, BOUNDS, {"where": None}, "give one of them"),
    (pack_sharing.hardest_stretch_bounds, BOUNDS, {"parallel": 0.0}, "parallel is 0"),
    (unequal_group.group_currents, ROW, {"take_off": [5]}, "take_off is 5; it must be a whole number from 1 to 4"),
    (unequal_group.group_currents, ROW, {"take_off": [2.5]}, "take_off is 2.5"),
    (unequal_group.group_currents, ROW, {"take_off": []}, "take_off is empty"),
    (unequal_group.group_currents, ROW, {"cell_mohm": []}, "cell_mohm is empty"),
    (unequal_group.group_currents, ROW, {"cell_mohm": [20.0, 0.0, 20.0, 20.0]}, "cell_mohm is 0"),
    (unequal_group.group_currents, ROW, {"gap_mohm": [1.0, 1.0]}, "gap_mohm has 2 values; 4 cells have 3 gaps"),
    (unequal_group.group_currents, ROW, {"open_circuit_v": [3.6]}, "open_circuit_v has 1 values; the row has 4"),
    (unequal_group.group_currents_after, LATER, {"fraction": 1.2}, "fraction is 1.2; it must lie from 0 to 1"),
    (unequal_group.group_currents_after, LATER, {"current_a": 0.0}, "current_a is 0"),
    (unequal_group.group_currents_after, LATER, {"capacity_ah": [3.0]}, "capacity_ah has 1 values"),
    (whole_pack.pack_currents, PACK, {"links": 0}, "there are 0 links for a row of 4 cells"),
    (whole_pack.pack_currents, PACK, {"links": 5}, "there are 5 links for a row of 4 cells"),
    (whole_pack.pack_currents, PACK, {"links": [[1]]}, "links has 1 rows; 3 groups have 2 steps"),
    (whole_pack.pack_currents, PACK, {"links": [[1], []]}, "links[1] is empty"),
    (whole_pack.pack_currents, PACK, {"links": [[1], [7]]}, "links[1] is 7"),
    (whole_pack.pack_currents, PACK, {"take_off": [0]}, "take_off is 0"),
    (whole_pack.pack_currents, PACK, {"plus_take_off": [9]}, "plus_take_off is 9"),
    (whole_pack.pack_currents, PACK, {"series": 0}, "the pack is 0 x 4"),
    (whole_pack.pack_currents, PACK, {"series": 9_000, "parallel": 9_000}, "too many to solve as a network"),
    (whole_pack.pack_currents, PACK, {"bar_gap_mohm": 0.0}, "bar_gap_mohm is 0"),
    (whole_pack.pack_currents, PACK, {"cell_mohm": np.ones(4)}, "cell_mohm has the shape (4,)"),
    (whole_pack.pack_currents, PACK, {"cell_mohm": np.zeros((3, 4))}, "cell_mohm is 0"),
    (heat.cell_heat_bounds_w, {"current_a": (1.0, 2.0)}, {"dc_mohm": (-1.0, 5.0)}, "dc_mohm is -1"),
    (heat.cell_rise_bounds_k, RISE, {"mass_g": (0.0, 45.0)}, "mass_g is 0"),
    (heat.cell_rise_bounds_k, RISE, {"surface_m2": (0.0, 0.0)}, "surface_m2 is 0"),
    (heat.minutes_to_limit_bounds, {**RISE, "allowed_rise_k": 20.0}, {"current_a": (-1.0, 5.0)}, "current_a"),
    (heat.time_to_limit_s, TIME, {"allowed_rise_k": -5.0}, "allowed_rise_k is -5"),
    (resistance.dc_from_ac_mohm, {}, {"ac_mohm": -20.0}, "ac_mohm is -20"),
    (resistance.dc_from_ac_mohm, {"ac_mohm": 20.0}, {"kind": "least"}, "kind is 'least'; it must be"),
    (resistance.cell_dc_mohm_by_capacity, {}, {"capacity_ah": (0.0, 3.0)}, "capacity_ah is 0"),
    (resistance.cold_resistance_factor, {}, {"temperature_c": -90.0}, "temperature_c is -90"),
    (resistance.over_warm_resistance, {}, {"temperature_c": 200.0}, "temperature_c is 200"),
    (discharge.capacity_factor_bounds, COLD, {"temperature_c": (-99.0, 20.0)}, "temperature_c is -99"),
    (discharge.more_by_test, {"temperature_c": 20.0}, {"c_rate": -1.0}, "c_rate is -1"),
    (discharge.part_by_test, COLD, {"temperature_c": (20.0, 200.0)}, "temperature_c is 200"),
    (discharge.usable_energy_bounds, COLD, {"c_rate": (-1.0, 2.0)}, "c_rate is -1"),
    (charge_taper.taper_hours, {"chemistry": None}, {"c_rate": (-1.0, 2.0)}, "c_rate is -1"),
]  # fmt: skip


@pytest.mark.parametrize(("function", "sound", "wrong", "says"), REFUSED)
def test_nonsense_is_refused_by_name(
    function: Callable[..., Any], sound: dict[str, Any], wrong: dict[str, Any], says: str
) -> None:
    """Otherwise nonsense is judged, or the user is told nothing that helps. Rule: DEVELOPERS.md, errors."""
    with pytest.raises(ValueError) as caught:  # noqa: PT011 - the text is checked below
        function(**{**sound, **wrong})
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_pack_too_large_is_told_apart_from_nonsense() -> None:
    """Otherwise four lines of a case take all memory, or a sound large pack reads as a mistake."""
    with pytest.raises(whole_pack.TooManyCells, match="100 x 201 = 20100 cells"):
        whole_pack.pack_currents(**{**PACK, "series": 100, "parallel": 201})


def test_one_wrong_element_of_an_array_is_named() -> None:
    """Otherwise one bad row of many spoils all in silence."""
    with pytest.raises(ValueError, match="gauge is 99; it must lie from -3 to 56"):
        copper.awg_area_mm2(gauge=np.array([10.0, 99.0, 12.0]))


def test_nothing_that_is_passed_in_changes() -> None:
    """Otherwise a second judgement of one pack differs from the first."""
    cells, gaps, taken = [20.0, 30.0, 20.0], [1.0, 2.0], [1]
    unequal_group.group_currents_after(
        cell_mohm=cells, gap_mohm=gaps, take_off=taken, current_a=30.0, capacity_ah=[3.0, 2.0, 3.0],
        open_circuit_slope_v=0.9,
    )  # fmt: skip
    assert (cells, gaps, taken) == ([20.0, 30.0, 20.0], [1.0, 2.0], [1])
    resistances = np.full((3, 4), 20.0)
    whole_pack.pack_currents(**{**PACK, "cell_mohm": resistances})
    assert (resistances == 20.0).all()
