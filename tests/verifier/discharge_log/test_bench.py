"""The small sums of the bench: trips, aged cells, a cell against its sheet."""

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
