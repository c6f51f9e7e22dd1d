"""Cells that cannot cool keep the heat of what is drawn: told beside what may be drawn, without a verdict."""

from __future__ import annotations

from typing import Any

import pytest

from registry.cell import Cell
from tests.verifier.conftest import Bench
from verifier.finding import Remark
from verifier.report.dangers import dangers
from verifier.report.opening import lines

STRONG = {
    "discharge": [{"low_c": -20, "high_c": 60, "max_continuous_a": 20, "basis": "ambient"}],
    "capacity": [{"kind": "minimum", "value_ah": 2.45}, {"kind": "typical", "value_ah": 2.5}],
    "c_rate_capacity_ah": None, "resistance": {"dc_mohm": 20}, "mass_g": 45,
}  # fmt: skip
# The way of 80 A, so that the cells limit.
WAY = {
    "claim.continuous_current_a": 50, "claim.capacity_ah": 9.8, "claim.energy_wh": None, "claim.load_power_w": None,
    "claim.bms_current_a": None, "claim.cell_capacity_ah": None, "observed.bms.continuous_a": 100,
    "observed.connector.continuous_a": 100, "observed.fuse.rating_a": 120,
    "observed.leads": {"area_mm2": 50, "conductor": "copper", "length_m": 0.3},
    "observed.strip": {"material": "nickel", "thickness_mm": 0.3, "width_mm": 20, "layers": 2, "pitch_mm": 20},
    "observed.series_links.count": 4, "observed.take_off": {"where": "every_cell", "layers": 2},
    "use.temperature_c": [10, 30],
}  # fmt: skip


def strong(bench: Bench, **changes: Any) -> Cell:
    return bench.cell("lyr-18650-26", bench.sheet(**{**STRONG, **changes}))


def warned(bench: Bench, cell: Cell, **changes: Any) -> list[Remark]:
    report = bench.judge(bench.seen_through(**{**WAY, **changes}), cell)
    assert not report.alarms
    return [each for each in dangers(report) if each.code.startswith("uncooled")]


def test_what_may_be_drawn_warms_cells_that_cannot_cool_past_their_limit(bench: Bench) -> None:
    """A pack granted 53 A from four cells of 2.5 Ah in a closed case would pass 60 C without a word of heat.

    By hand: 53 / 4 = 13.25 A a cell for 3600 x 2.45 / 13.25 = 666 s; as printed 3.51 W, 2340 J, over 45 g at
    0.95 kJ/kgK 55 K, and at least three quarters of it as the cells warm (resistance from 1 to 0.5): 41 K from 30 C.
    Least: half of the resistance, 1.1 kJ/kgK, 5 % heavier: 22.5 K. Most: 1.6 times, 0.8 kJ/kgK, 5 % lighter and 2.5 to
    2.65 Ah: 115 to 122 K. Specific heat of lithium-ion cells: from memory, not checked.
    """
    (said,) = warned(bench, strong(bench))
    assert said.code == "uncooled_perhaps_too_hot"
    assert said.numbers["current_a"] == 53
    assert said.numbers["air_c"] == 30
    assert said.numbers["limit_c"] == 60
    assert 22 <= said.numbers["rise_k"].low <= 22.5
    assert 115 <= said.numbers["rise_k"].high <= 130


def test_it_is_said_in_the_first_lines_in_one_sentence(bench: Bench) -> None:
    """A warning that stands only in the full report is not read by who sets the controller."""
    report = bench.judge(bench.seen_through(**WAY), strong(bench))
    (text,) = [text for _, text in lines(report) if "cannot cool" in text]
    assert text.startswith("at 53 A the cells gain 22 to 1")
    assert text.endswith("from 30 C perhaps past 60 C: fit a temperature sensor")


def test_where_the_least_rise_passes_the_limit_it_is_sure(bench: Bench) -> None:
    """What surely overheats would read as if it only might.

    By hand: the least rise above is 22 K, from 45 C past 60 C.
    """
    (said,) = warned(bench, strong(bench), **{"use.temperature_c": [10, 45]})
    assert said.code == "uncooled_too_hot"


def test_the_claim_is_told_of_where_what_may_be_drawn_stays_below(bench: Bench) -> None:
    """A claim that holds by the sheet would be driven, and only two thirds of it was looked at.

    By hand: 25 mohm, 32 A of 48: 8 A a cell, 25/20 x 8/13.25 of the 41 K above = 31 K, and in air of 15 C up to 1.4
    times the resistance, some 38 K: 53 C. At the 48 A claimed 12 A, some 57 K: 72 C.
    """
    cell = strong(
        bench, resistance={"dc_mohm": 25}, discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": 12}]
    )
    changes = {"use.temperature_c": [10, 15], "claim.continuous_current_a": 48}
    (said,) = warned(bench, cell, **changes)
    assert said.numbers["current_a"] == 48
    # A claim that does not hold is refuted, and nobody is told what it would do.
    changes["claim.continuous_current_a"] = 49
    assert warned(bench, cell, **changes) == []


@pytest.mark.parametrize(
    "changes",
    [
        # A mild load: 9.5 A of 4 cells, 2.4 A each, warm by 7 K.
        {"observed.bms.continuous_a": 15, "claim.continuous_current_a": 9.5},
        {"observed.bms.temperature_sensor": True},
        {"observed.parallel": None},
        # Only the seller names the cells.
        {"observed.cell": None},
    ],
)  # fmt: skip
def test_nothing_is_said_of_a_mild_load_of_a_sensor_or_without_the_facts(
    bench: Bench, changes: dict[str, Any]
) -> None:
    """A warning beside every pack warns of nothing; and of cells that nobody saw nobody knows their heat."""
    assert warned(bench, strong(bench), **changes) == []


def test_nothing_is_said_without_the_mass_or_the_capacity_of_the_cell(bench: Bench) -> None:
    """A rise without bounds would be read as one."""
    assert warned(bench, strong(bench, mass_g=None)) == []
