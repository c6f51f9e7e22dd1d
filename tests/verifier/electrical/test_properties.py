"""What must hold for any lead, strip, row and cell, whatever the numbers."""

from __future__ import annotations

import random
from itertools import pairwise
from math import inf, isinf, log, pi
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.electrical.convection import lying_cylinder_loss_w_per_m
from verifier.electrical.copper import CONDUCTORS, Conductor, awg_area_mm2, conductor_diameter_mm
from verifier.electrical.elementary import Span
from verifier.electrical.heat import (
    cell_rise_bounds_k,
    minutes_to_limit_bounds,
    rise_after_k,
    time_to_limit_s,
)
from verifier.electrical.leads import lead_current_a, lead_current_bounds_a
from verifier.electrical.links import (
    STRIP_HEAT_TRANSFER_W_PER_M2K,
    collector_rise_bounds_k,
    link_temperatures,
    long_strip_rise_k,
)
from verifier.electrical.pack_sharing import hardest_stretch_bounds
from verifier.electrical.sharing import (
    TAKE_OFFS,
    hardest_stretch_fraction,
    imbalance_factor,
    row_shares,
    take_off_positions,
)
from verifier.electrical.strip import MATERIALS, strip_current_limit_a
from verifier.electrical.unequal_group import group_currents, group_currents_after
from verifier.electrical.whole_pack import link_columns, pack_currents

NICKEL = {"resistivity_nohm_m": 96.4, "alpha_per_k": 0.0043}
ALONG = {**NICKEL, "conductivity_w_per_mk": 70.2}

areas = st.floats(0.05, 60)
insulations = st.floats(0, 4)
resistances = st.floats(1, 200)
gaps = st.floats(0, 20)
rows = st.lists(resistances, min_size=1, max_size=12)


def outer(area: float, insulation: float) -> float:
    return conductor_diameter_mm(area_mm2=area) + 2 * insulation


@given(areas, insulations, st.floats(-30, 60), st.floats(5, 150), st.floats(0.9, 1.4), st.booleans())
def test_the_heat_of_a_lead_leaves_it(
    area: float, insulation: float, ambient: float, rise: float, factor: float, most: bool
) -> None:
    """Otherwise a lead is granted a current at which it is too hot. Rule: heat made = conducted = shed."""
    outer_mm = outer(area, insulation)
    current = lead_current_a(
        area_mm2=area, ambient_c=ambient, conductor_limit_c=ambient + rise, outer_mm=outer_mm,
        resistance_factor=factor, most=most,
    )  # fmt: skip
    ohm_per_m = factor / 58 / area * (1 + 0.00393 * (ambient + rise - 20))
    made = current * current * ohm_per_m
    across = made * log(outer_mm / (outer_mm - 2 * insulation)) / (2 * pi * 0.2)
    shed = lying_cylinder_loss_w_per_m(
        diameter_m=outer_mm / 1000, rise_k=rise - across, ambient_k=ambient + 273.15, most=most
    )
    assert shed == pytest.approx(made, rel=1e-4)


@given(st.floats(-3, 30), st.floats(0.1, 5), st.floats(40, 200), st.floats(-20, 39), st.booleans())
def test_a_lead_carries_less_the_thinner_it_is_and_the_hotter_the_air(
    gauge: float, thinner: float, limit: float, ambient: float, most: bool
) -> None:
    """Otherwise bounds taken at the ends of a range are not sound."""
    area, less = awg_area_mm2(gauge=gauge), awg_area_mm2(gauge=gauge + thinner)
    lead: dict[str, Any] = {
        "conductor_limit_c": limit, "ambient_c": ambient, "outer_mm": outer(area, 1.0), "area_mm2": area,
        "most": most,
    }  # fmt: skip
    granted = lead_current_a(**lead)
    assert granted > lead_current_a(**{**lead, "area_mm2": less, "outer_mm": outer(less, 1.0)})
    assert granted > lead_current_a(**{**lead, "ambient_c": ambient + 1})
    assert granted > lead_current_a(resistance_factor=1.1, **lead)
    # The wider the outside, and the less insulation in it, the more is shed; on a thick and hot lead more
    # insulation may keep it warm.
    if area < 35 and limit < 110:
        assert granted < lead_current_a(**{**lead, "outer_mm": outer(area, 1.5)})
    assert granted < lead_current_a(fill=0.6, **lead)
    assert lead_current_a(**{**lead, "most": False}) <= lead_current_a(**{**lead, "most": True})


@given(
    st.floats(-3, 22), st.floats(0, 3), st.sampled_from(sorted(CONDUCTORS)), st.floats(0.6, 0.65), st.data()
)
def test_no_lead_as_sold_leaves_its_bounds(
    gauge: float, wider: float, conductor: str, fill: float, data: st.DataObject
) -> None:
    """Otherwise a range of gauges, or a lead nobody measured, is granted or refused wrongly."""
    span = awg_area_mm2(gauge=gauge), awg_area_mm2(gauge=max(-3.0, gauge - wider))
    area = data.draw(st.floats(*span))
    factor = data.draw(st.floats(*CONDUCTORS[conductor].resistance_factor))
    where: dict[str, Any] = {"conductor_limit_c": 75.0, "air_c": 55.0}
    low, high = lead_current_bounds_a(area_mm2=span, conductor=conductor, **where)
    thin = conductor_diameter_mm(area_mm2=area, fill=fill) + 2 * 0.4
    for most in (False, True):
        for outer_mm in (thin, max(thin, 2.7 * area**0.455)):
            found = lead_current_a(
                area_mm2=area, conductor_limit_c=75.0, ambient_c=55.0, resistance_factor=factor, fill=fill,
                outer_mm=outer_mm, most=most,
            )  # fmt: skip
            assert low * (1 - 1e-9) <= found <= high * (1 + 1e-9)
    narrow = lead_current_bounds_a(
        area_mm2=(area, area), conductor=Conductor(Span(factor, factor), ""), **where
    )
    assert low <= narrow.low <= narrow.high <= high


def test_in_air_at_the_limit_a_lead_carries_nothing() -> None:
    """Otherwise a hot box grants a lead current."""
    lead: dict[str, Any] = {"area_mm2": (3.3, 3.3), "conductor": "copper", "conductor_limit_c": 75.0}
    assert lead_current_bounds_a(air_c=75.0, **lead) == (0, 0)
    assert lead_current_bounds_a(air_c=90.0, **lead) == (0, 0)


@given(st.floats(0.01, 30), st.floats(0, 200), st.floats(0.001, 20), st.booleans())
def test_a_warmer_surface_sheds_more(diameter: float, rise: float, more: float, most: bool) -> None:
    """Otherwise a lead's temperature has two answers. Rule: the correlations meet without a step."""
    around: dict[str, Any] = {"diameter_m": diameter / 1000, "ambient_k": 298.15, "most": most}
    assert lying_cylinder_loss_w_per_m(rise_k=rise + more, **around) > lying_cylinder_loss_w_per_m(
        rise_k=rise, **around
    )


@given(st.floats(1, 30), st.floats(0.05, 1), st.integers(1, 6), st.sampled_from(sorted(MATERIALS)))
def test_more_strip_is_granted_more_current(
    width: float, thickness: float, layers: int, material: str
) -> None:
    """Otherwise adding a layer could make a pack worse."""
    strip = {"width_mm": width, "thickness_mm": thickness, "density_a_per_mm2": 6.0}
    worse, better = MATERIALS[material].factor
    granted = strip_current_limit_a(layers=layers, metal_factor=worse, **strip)
    assert strip_current_limit_a(layers=layers + 1, metal_factor=worse, **strip) > granted
    assert strip_current_limit_a(layers=layers, metal_factor=better, **strip) >= granted


def test_strip_that_nobody_knows_may_be_any_that_it_can_be() -> None:
    """Otherwise less known of a strip sharpens an answer. Rule: less known, wider."""
    for wide, held in (
        ("unknown", ("nickel", "plated_steel")),
        ("not_noted", ("nickel", "plated_steel", "copper", "unknown")),
    ):
        for name in held:
            for figure in ("factor", "resistivity_nohm_m"):
                low, high = getattr(MATERIALS[name], figure)
                assert getattr(MATERIALS[wide], figure).low <= low <= high
                assert high <= getattr(MATERIALS[wide], figure).high


@given(st.sampled_from(sorted(MATERIALS)), st.floats(0.5, 40), st.floats(4, 20), st.floats(0.08, 0.3))
def test_a_collector_at_its_current_has_its_rise(
    material: str, current: float, width: float, thickness: float
) -> None:
    """Otherwise a long strip is told cooler than it is. Rule: heat made by a metre = heat given to the air."""
    run: dict[str, Any] = {
        "material": material, "width_mm": (0.9 * width, width), "thickness_mm": (thickness, 1.1 * thickness),
        "layers": (1.0, 2.0), "ambient_c": 45.0,
    }  # fmt: skip
    rise = collector_rise_bounds_k(current_a=(current, current), **run)
    assert rise.low <= rise.high
    for end in (0, 1):
        if 0 < rise[end] < 2000:
            metal = (MATERIALS[material].best, MATERIALS[material].worst)[end]
            wide, thick, layers = (
                run["width_mm"][1 - end],
                run["thickness_mm"][1 - end],
                run["layers"][1 - end],
            )
            warm = metal.resistivity_nohm_m * (1 + metal.alpha_per_k * (45.0 + rise[end] - 20))
            made_w = current**2 * warm * 1e-3 / (wide * thick * layers)
            air = STRIP_HEAT_TRANSFER_W_PER_M2K[1 - end]
            assert made_w == pytest.approx(air * 2 * (wide + thick * layers) / 1000 * rise[end], rel=1e-6)


@given(st.floats(0, 40), st.floats(5, 60), st.floats(0, 30), st.integers(1, 4), st.floats(0, 60))
def test_a_link_keeps_its_heat_in_balance(
    current: float, length: float, heat_transfer: float, layers: int, end_rise: float
) -> None:
    """Otherwise heat into the cells goes missing. Rule: heat made leaves by the ends or the air."""
    sizes = {"length_mm": length, "width_mm": 8.0, "thickness_mm": 0.15}
    link = link_temperatures(
        current_a=current, layers=layers, end_c=25 + end_rise, ambient_c=25.0,
        heat_transfer_w_per_m2k=heat_transfer, **ALONG, **sizes,
    )  # fmt: skip
    if isinf(link.mid_c):
        assert link.heat_w == link.mean_c == link.heat_into_ends_w == inf
        return
    around_m = 2 * (8.0 + 0.15 * layers) / 1000
    into_air = heat_transfer * around_m * length / 1000 * (link.mean_c - 25)
    assert link.heat_w == pytest.approx(into_air + link.heat_into_ends_w, rel=1e-9, abs=1e-12)
    more = link_temperatures(
        current_a=current + 1, layers=layers, end_c=25 + end_rise, ambient_c=25.0,
        heat_transfer_w_per_m2k=heat_transfer, **ALONG, **sizes,
    )  # fmt: skip
    assert more.mid_c > link.mid_c
    thicker = link_temperatures(
        current_a=current, layers=layers + 1, end_c=25 + end_rise, ambient_c=25.0,
        heat_transfer_w_per_m2k=heat_transfer, **ALONG, **sizes,
    )  # fmt: skip
    assert thicker.heat_w <= link.heat_w


def test_a_link_passes_smoothly_from_cooled_to_fed_by_its_ends() -> None:
    """Otherwise the report jumps at the current where air alone no longer holds the strip."""
    sizes = {"length_mm": 20.0, "width_mm": 8.0, "thickness_mm": 0.15}
    air = {"ambient_c": 25.0, "heat_transfer_w_per_m2k": 15.0}
    low, high = 10.0, 40.0
    for _ in range(60):
        middle = (low + high) / 2
        rise = long_strip_rise_k(current_a=middle, width_mm=8.0, thickness_mm=0.15, **NICKEL, **air)
        low, high = (low, middle) if isinf(rise) else (middle, high)
    found = [
        link_temperatures(current_a=low * (1 + step), end_c=40.0, **ALONG, **sizes, **air).mean_c
        for step in (-1e-4, -1e-9, 0.0, 1e-9, 1e-4)
    ]
    assert found == sorted(found)
    assert found[-1] - found[0] < 0.02


def test_a_long_link_is_the_long_strip() -> None:
    """Otherwise the run from the row to the lead is judged by two measures."""
    strip = {"width_mm": 8.0, "thickness_mm": 0.15, "ambient_c": 25.0, "heat_transfer_w_per_m2k": 15.0}
    link = link_temperatures(current_a=8.0, length_mm=1000.0, end_c=25.0, layers=2, **ALONG, **strip)
    rise = long_strip_rise_k(current_a=8.0, layers=2, **NICKEL, **strip)
    assert link.mid_c == pytest.approx(25 + rise, abs=1e-6)


@given(st.integers(1, 30), resistances, gaps, st.sampled_from(TAKE_OFFS))
def test_closed_form_and_elimination_agree(parallel: int, cell: float, gap: float, where: str) -> None:
    """Otherwise the same row is judged by two measures. Source: elimination of the ladder (Thomas)."""
    row: dict[str, Any] = {"parallel": parallel, "cell_mohm": cell, "gap_mohm": gap, "where": where}
    closed = [parallel * part for part in row_shares(**row)]
    taken = take_off_positions(where=where, parallel=parallel)
    solved = group_currents(
        cell_mohm=[cell] * parallel, gap_mohm=gap, take_off=taken, current_a=float(parallel)
    )
    assert closed == pytest.approx(solved, rel=1e-7, abs=1e-7)
    assert imbalance_factor(**row) == pytest.approx(max(solved), rel=1e-7)
    assert sum(closed) == pytest.approx(parallel)


@given(rows, gaps, st.data())
def test_no_current_is_lost_in_a_row(cells: list[float], gap: float, data: st.DataObject) -> None:
    """Otherwise the cells together give less than the pack does. Rule: Kirchhoff's current law."""
    taken = data.draw(st.lists(st.integers(1, len(cells)), min_size=1, max_size=3))
    found = group_currents(cell_mohm=cells, gap_mohm=gap, take_off=taken, current_a=30.0)
    assert sum(found) == pytest.approx(30.0)
    assert min(found) >= 0


@given(st.integers(2, 20), resistances, st.floats(0.01, 20), st.sampled_from(["one_bar", "both_bars"]))
def test_a_better_take_off_never_works_a_cell_or_strip_harder(
    parallel: int, cell: float, gap: float, fed: str
) -> None:
    """Otherwise the advice to add take-off points could make a pack worse."""
    row: dict[str, Any] = {"parallel": parallel, "cell_mohm": cell, "gap_mohm": gap, "fed": fed}
    places = ("end", "middle_one", "middle", "every_cell")
    factors = [imbalance_factor(where=where, **row) for where in places]
    assert factors == sorted(factors, reverse=True)
    assert factors[-1] == pytest.approx(1)
    assert factors[0] <= parallel
    # What the bounds of a pack rest on.
    assert imbalance_factor(where="end", **{**row, "gap_mohm": gap * 1.5}) > factors[0]
    assert imbalance_factor(where="end", **{**row, "cell_mohm": cell * 1.5}) < factors[0]
    assert imbalance_factor(where="end", **{**row, "parallel": parallel + 1}) > factors[0]
    stretches = [hardest_stretch_fraction(where=where, **row) for where in places]
    assert stretches == sorted(stretches, reverse=True)
    even = hardest_stretch_fraction(where="end", **{**row, "gap_mohm": 0.0})
    assert even == pytest.approx((parallel - 1) / parallel)
    assert stretches[0] < even
    # At opposite ends the two bars' unevenness partly cancels.
    crossed = imbalance_factor(where="end", **{**row, "fed": "opposite_ends"})
    assert 1 <= crossed < imbalance_factor(where="end", **{**row, "fed": "both_bars"})


def test_perfect_bars_share_by_resistance_alone() -> None:
    """Otherwise a take-off at every cell is not the limit of a good one."""
    found = group_currents(cell_mohm=[10.0, 20.0, 40.0], gap_mohm=0.0, take_off=[1], current_a=70.0)
    assert found == pytest.approx([40.0, 20.0, 10.0])
    one = group_currents(cell_mohm=[20.0] * 4, gap_mohm=[0.0, 2.0, 0.0], take_off=[1], current_a=40.0)
    assert one[0] == pytest.approx(one[1])
    assert one[2] == pytest.approx(one[3])


@given(st.integers(2, 10), st.floats(0.1, 3), st.floats(0.1, 0.9))
def test_sharing_evens_out_as_the_group_empties(parallel: int, gap: float, fraction: float) -> None:
    """Otherwise the report's words on later sharing are wrong; a flat cell hardly evens out."""
    row: dict[str, Any] = {
        "cell_mohm": [20.0] * parallel, "gap_mohm": gap, "take_off": [1], "current_a": 10.0 * parallel,
        "capacity_ah": [3.0] * parallel,
    }  # fmt: skip
    at_once = group_currents_after(open_circuit_slope_v=0.9, fraction=0.0, **row)
    assert at_once == pytest.approx(
        group_currents(cell_mohm=row["cell_mohm"], gap_mohm=gap, take_off=[1], current_a=10.0 * parallel)
    )
    later = group_currents_after(open_circuit_slope_v=0.9, fraction=fraction, **row)
    flat = group_currents_after(open_circuit_slope_v=0.05, fraction=fraction, **row)
    assert max(later) < max(flat) < max(at_once)
    assert sum(later) == pytest.approx(10.0 * parallel)


def test_cells_of_unequal_charge_balance_each_other() -> None:
    """Otherwise a group that charges one of its own cells is not seen."""
    found = group_currents(
        cell_mohm=[20.0] * 3, gap_mohm=1.0, take_off=[1], current_a=0.0, open_circuit_v=[3.6, 3.6, 3.4]
    )
    assert found[2] < 0
    assert sum(found) == pytest.approx(0.0, abs=1e-9)


def test_a_pack_with_few_links_works_its_cells_unevenly() -> None:
    """Otherwise one link for a whole group reads as good as one for each cell."""
    pack: dict[str, Any] = {
        "series": 10, "parallel": 4, "cell_mohm": 20.0, "bar_gap_mohm": 1.0, "link_mohm": 1.0,
        "take_off": [1, 2, 3, 4], "current_a": 40.0,
    }  # fmt: skip
    each = pack_currents(links=4, **pack)
    one = pack_currents(links=[[1]] * 9, **pack)
    assert each.cell_a == pytest.approx(10.0)
    assert one.cell_a.max() > 11
    assert one.link_a[:, 0] == pytest.approx(40.0)
    assert (one.link_a[:, 1:] == 0).all()
    assert one.drop_v > each.drop_v
    for found in (each, one):
        assert found.cell_a.sum(axis=1) == pytest.approx(40.0)
        assert found.link_a.sum(axis=1) == pytest.approx(40.0)


def test_a_tired_cell_anywhere_in_a_pack_gives_less() -> None:
    """Otherwise a tired cell of a large pack is put in the wrong place."""
    cells = np.full((5, 6), 20.0)
    cells[3, 2] = 80.0
    found = pack_currents(
        series=5, parallel=6, cell_mohm=cells, bar_gap_mohm=0.5, link_mohm=0.5, links=6, take_off=[1],
        plus_take_off=[6], current_a=60.0,
    ).cell_a  # fmt: skip
    assert np.unravel_index(found.argmin(), found.shape) == (3, 2)


@given(st.integers(1, 20), st.data())
def test_links_spread_over_a_row_evenly(parallel: int, data: st.DataObject) -> None:
    """Otherwise a number of links is judged at places nobody would weld them."""
    count = data.draw(st.integers(1, parallel))
    columns = link_columns(count=count, parallel=parallel)
    assert len(set(columns)) == count
    assert set(columns) <= set(range(1, parallel + 1))
    steps = {after - before for before, after in pairwise(columns)}
    assert not steps or max(steps) - min(steps) <= 2


@given(st.floats(0.01, 50), st.floats(20, 100), st.floats(1e-3, 1e-2), st.floats(0, 20), st.floats(0.1, 80))
def test_a_cell_reaches_its_limit_when_its_rise_says_so(
    heat_w: float, capacity: float, surface: float, heat_transfer: float, allowed: float
) -> None:
    """Otherwise the time to the sheet's limit and the rise tell two stories."""
    cell: dict[str, Any] = {
        "heat_w": heat_w, "heat_capacity_j_per_k": capacity, "surface_m2": surface,
        "heat_transfer_w_per_m2k": heat_transfer,
    }  # fmt: skip
    conductance = surface * heat_transfer
    settled = heat_w / conductance if conductance else inf
    seconds = time_to_limit_s(allowed_rise_k=allowed, **cell)
    if settled <= allowed:
        assert seconds == inf
        return
    rise = rise_after_k(seconds=seconds, **cell)
    # Near the end of the lag a second more or less hardly shows.
    assert rise == pytest.approx(allowed, rel=1e-6)
    uncooled = rise_after_k(seconds=seconds, **{**cell, "heat_transfer_w_per_m2k": 0.0})
    assert rise <= uncooled * (1 + 1e-9)
    assert seconds >= capacity * allowed / heat_w * (1 - 1e-9)


@given(
    st.tuples(st.floats(0.1, 30), st.floats(1, 3)), st.tuples(st.floats(1, 80), st.floats(1, 3)),
    st.floats(1, 10), st.floats(20, 90), st.floats(0, 1), st.floats(0, 1), st.floats(0, 25),
    st.floats(800, 1100),
)  # fmt: skip
def test_no_cell_leaves_the_bounds_of_its_warming(
    current: tuple[float, float], resistance: tuple[float, float], capacity: float, mass: float, part: float,
    of_resistance: float, heat_transfer: float, specific_heat: float,
) -> None:  # fmt: skip
    """Otherwise a range of current or resistance grants a current that cooks the cell.

    Rule: a lumped cell anywhere inside the ranges, its heat anywhere between the two ends.
    """
    amps = current[0], current[0] * current[1]
    mohm = resistance[0], resistance[0] * resistance[1]
    cell: dict[str, Any] = {
        "current_a": amps, "dc_mohm": mohm, "capacity_ah": (0.95 * capacity, capacity),
        "mass_g": (mass, 1.05 * mass), "surface_m2": (0.004, 0.005),
    }  # fmt: skip
    one_a = amps[0] + part * (amps[1] - amps[0])
    one_mohm = mohm[0] + of_resistance * (mohm[1] - mohm[0])
    heat_w = one_a**2 * one_mohm / 1000 * (0.5 + of_resistance * 1.1) + part * 0.01 * one_a
    one = {
        "heat_w": heat_w, "heat_capacity_j_per_k": mass * specific_heat / 1000, "surface_m2": 0.0045,
        "heat_transfer_w_per_m2k": heat_transfer,
    }  # fmt: skip
    low, high = cell_rise_bounds_k(**cell)
    seconds = 3600 * 0.98 * capacity / one_a
    rise = rise_after_k(seconds=seconds, **one)
    assert low * (1 - 1e-9) <= rise <= high * (1 + 1e-9)
    first, last = minutes_to_limit_bounds(allowed_rise_k=25.0, **cell)
    minutes = time_to_limit_s(allowed_rise_k=25.0, **one) / 60
    if minutes * 60 <= seconds:
        assert first * (1 - 1e-9) <= minutes <= last * (1 + 1e-9)
    else:
        assert last == inf


def test_the_hardest_stretch_is_no_better_known_for_wider_ranges() -> None:
    """A take-off would be granted more because a layer of strip was not counted.

    Rule: bounds over a range hold the bounds over every part of it.
    """
    chance = random.Random(7)  # noqa: S311 - the same rows in every run
    for _ in range(300):
        count = chance.randint(2, 14)
        cell, gap = (
            sorted(low * (high / low) ** chance.random() for _ in range(4))
            for low, high in ((5, 100), (0.05, 20))
        )
        row: dict[str, Any] = {
            "series": (10.0, 10.0), "parallel": float(count), "links": chance.choice([None, 1.0]),
            "positions": [chance.randint(1, count)],
        }  # fmt: skip
        wide, part = (
            hardest_stretch_bounds(
                cell_mohm=(cell[a], cell[b]), gap_mohm=(gap[a], gap[b]), link_mohm=(gap[a], gap[b]), **row
            )
            for a, b in ((0, 3), (1, 2))
        )
        assert wide.low <= part.low * (1 + 1e-12)
        assert part.high <= wide.high * (1 + 1e-12)
