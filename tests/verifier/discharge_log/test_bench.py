"""The small sums of the bench: trips, aged cells, a cell against its sheet, groups at rest."""

from __future__ import annotations

import pytest

from registry.cell import Capacity, Resistance, Sheet
from verifier.bounds import Bounds, as_bounds
from verifier.discharge_log.bench import (
    CellOnTheBench,
    bms_trip_a,
    cell_against_sheet,
    second_life_current_a,
    shunts_mohm,
)
from verifier.discharge_log.resting_groups import (
    charge_per_volt,
    drift_mv_per_day,
    judge_groups,
    percent_per_month,
    self_discharge_ma,
)


def test_a_bms_trips_where_its_shunt_has_the_chips_voltage() -> None:
    """A trip is told at the wrong current. Source: 100 mV over 2 mohm is 50 A, computed; Ohm's law."""
    assert bms_trip_a(100, 2) == 50
    assert bms_trip_a(100, shunts_mohm(4, 2)) == 50


@pytest.mark.parametrize(("trip_mv", "shunt"), [(0, 2), (100, 0), (-1, 2)])
def test_a_trip_needs_values_above_zero(trip_mv: float, shunt: float) -> None:
    """A shunt that was not measured gives an endless current."""
    with pytest.raises(ValueError, match="above zero"):
        bms_trip_a(trip_mv, shunt)


def test_an_aged_cell_is_granted_the_current_of_equal_heat() -> None:
    """A worn cell is granted the current of a new one. Source: equal heat; four times R halves it."""
    assert second_life_current_a(20, 15, 60) == pytest.approx(10)
    assert second_life_current_a(20, 15, 30) == pytest.approx(20 / 2**0.5)


def test_an_aged_cell_is_never_granted_more_than_when_new() -> None:
    """A resistance measured warm lifts a cell above its sheet."""
    assert second_life_current_a(20, 15, 10) == 20


def sheet() -> Sheet:
    return Sheet(
        evidence="maker", mass_g=48, diameter_mm=18.5, length_mm=65.2,
        capacity=(Capacity(kind="minimum", value_ah=3.35), Capacity(kind="typical", value_ah=3.45)),
        resistance=Resistance(ac_mohm=22, dc_mohm=32, dc_seconds=10),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("cell", "outcome"),
    [
        (CellOnTheBench(mass_g=as_bounds(47.5)), "fits"),
        (CellOnTheBench(mass_g=as_bounds(33)), "other cell"),
        (CellOnTheBench(mass_g=Bounds(42, 44)), "not settled"),
        (CellOnTheBench(ac_mohm=as_bounds(20)), "fits"),
        (CellOnTheBench(ac_mohm=as_bounds(30)), "worn"),
        (CellOnTheBench(ac_mohm=Bounds(21, 23)), "not settled"),
        (CellOnTheBench(dc_mohm=as_bounds(31), dc_seconds=10), "fits"),
        (CellOnTheBench(dc_mohm=as_bounds(31), dc_seconds=1), "not settled"),
        (CellOnTheBench(dc_mohm=as_bounds(31)), "not settled"),
        (CellOnTheBench(capacity_ah=as_bounds(3.4)), "fits"),
        (CellOnTheBench(capacity_ah=as_bounds(3.0)), "worn"),
        (CellOnTheBench(capacity_ah=Bounds(3.3, 3.4)), "not settled"),
        (CellOnTheBench(diameter_mm=as_bounds(18.4)), "fits"),
        (CellOnTheBench(length_mm=as_bounds(70)), "other cell"),
    ],
)
def test_a_measured_figure_stands_beside_the_sheets(cell: CellOnTheBench, outcome: str) -> None:
    """A light cell in a good wrapper passes, or an aged one is called another. Rule: 90 % of the mass."""
    (found,) = cell_against_sheet(cell, sheet())
    assert found.outcome == outcome


def test_what_was_not_measured_or_not_stated_is_left_out() -> None:
    """A figure that nobody measured fits."""
    assert cell_against_sheet(CellOnTheBench(), sheet()) == ()
    assert cell_against_sheet(CellOnTheBench(mass_g=as_bounds(33)), Sheet(evidence="maker")) == ()


def test_two_millivolts_a_day_are_the_current_of_the_curve() -> None:
    """A group's drain is told wrong. Source: Chen 2020, 5.3 % in 50 mV; 5 Ah, 2 mV a day, 0.44 mA."""
    slope = charge_per_volt(3.75)
    assert slope * 0.05 == pytest.approx(0.053, abs=0.0005)
    assert self_discharge_ma(-2.0, 5.0, slope) == pytest.approx(0.44, abs=0.005)
    assert percent_per_month(-2.0, slope) == pytest.approx(0.002 * slope * 30 * 100)


def test_a_voltage_that_rises_is_no_drain() -> None:
    """A group that recovers after a load is told to drain by itself."""
    assert self_discharge_ma(2.0, 5.0, 1.05) < 0
    assert drift_mv_per_day(3.75, 3.746, 2) == pytest.approx(-2.0)


def test_beyond_the_curve_nothing_is_made_up() -> None:
    """A slope is invented where no curve was measured."""
    with pytest.raises(ValueError, match="outside"):
        charge_per_volt(4.5)
    with pytest.raises(ValueError, match="different times"):
        drift_mv_per_day(3.7, 3.7, 0)


@pytest.mark.parametrize(
    ("first", "later", "days", "outcome"),
    [
        ((3.70, 3.705, 3.701), None, None, "good"),
        ((3.70, 3.73, 3.70), None, None, "look into it"),
        ((3.60, 3.70, 3.70), None, None, "look into it"),
        ((3.700, 3.705, 3.702), (3.699, 3.704, 3.701), 7, "good"),
        ((3.700, 3.705, 3.702), (3.680, 3.704, 3.701), 7, "reject"),
        ((3.720, 3.700, 3.700), (3.700, 3.700, 3.700), 7, "look into it"),
    ],
)
def test_groups_at_rest_are_judged_by_spread_and_its_growth(
    first: tuple[float, ...], later: tuple[float, ...] | None, days: float | None, outcome: str
) -> None:
    """A pack with a group that drains passes. Limits: see `resting_groups`."""
    assert judge_groups(first, later, days).outcome == outcome


def test_a_spread_needs_two_groups_and_a_drift_the_days() -> None:
    """One reading alone is judged good."""
    with pytest.raises(ValueError, match="two groups"):
        judge_groups((3.7,))
    with pytest.raises(ValueError, match="days between"):
        judge_groups((3.7, 3.7), (3.7, 3.7))
