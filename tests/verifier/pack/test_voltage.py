"""Voltages of a pack: cells in series times the voltage of one, by its sheets, else by its chemistry."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from registry.cell import Cell
from registry.chemistry import VOLTAGES
from verifier.fact_names import GRADES, MISSING
from verifier.pack.voltage import (
    cell_empty_voltage,
    cell_full_voltage,
    cell_nominal_voltage,
    pack_empty_voltage,
    pack_full_voltage,
    pack_nominal_voltage,
)

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def sheets_of(bench: Bench, field: str, *volts: float) -> Cell:
    """Return a cell of sheets that differ in one voltage, each on a page of its own."""
    made = [
        bench.sheet(title=f"sheet of {at}", **{field: each}, citations={field: {"page": at + 1}})
        for at, each in enumerate(volts)
    ]
    return bench.cell("lyr-18650-26", *made)


def test_the_nominal_voltage_of_a_cell_is_that_of_its_sheets(bench: Bench) -> None:
    """A pack of 3.6 V cells would be judged by 3.7 V, on a page that does not say so."""
    facts = bench.known(bench.build(), sheets_of(bench, "nominal_voltage_v", 3.6, 3.7, 3.65))
    found, notes = facts.noted(cell_nominal_voltage)
    assert (found.low, found.high, found.missing, GRADES[found.grade]) == (3.6, 3.7, 0, "maker")
    cited = notes.steps[0].source.citations
    assert [(each.title, each.page) for each in cited] == [("sheet of 0", 1), ("sheet of 1", 2)]


def test_a_cell_is_empty_between_the_lowest_cut_off_and_the_usual_end(bench: Bench) -> None:
    """A pack would be granted the power of cells that stop early: 2.5 V of the sheet, 3.0 V and up in use."""
    found = bench.known(bench.build(), sheets_of(bench, "cutoff_voltage_v", 2.75, 2.5, 3.25)).find(
        cell_empty_voltage
    )
    assert (found.low, found.high) == (2.5, 3.25)
    usual = VOLTAGES["NMC"].empty_v[1]
    alone = bench.known(bench.build(), sheets_of(bench, "cutoff_voltage_v", 2.5)).find(cell_empty_voltage)
    assert (alone.low, alone.high, GRADES[alone.grade]) == (2.5, usual, "maker")


@pytest.mark.parametrize("chemistry", ["NMC", "LFP", "LTO", None])
def test_without_a_cell_its_chemistry_gives_the_voltages(bench: Bench, chemistry: str | None) -> None:
    """Nobody would ask for the chemistry where it is the one thing missing. Common practice, no source."""
    facts = bench.known(bench.changed({}, {"observed.series": 13, "observed.cell.chemistry": chemistry}))
    for find, of_pack, name in (
        (cell_nominal_voltage, pack_nominal_voltage, "nominal_v"),
        (cell_full_voltage, pack_full_voltage, "full_v"),
        (cell_empty_voltage, pack_empty_voltage, "empty_v"),
    ):
        found, whole = facts.find(find), facts.find(of_pack)
        spans = [getattr(each, name) for each in VOLTAGES.values() if chemistry in (None, each.name)]
        expected = (min(low for low, _ in spans), max(high for _, high in spans))
        assert (found.low, found.high, found.grade) == (*expected, 0)
        assert found.missing == (0 if chemistry else MISSING.bit("observed.cell.chemistry"))
        assert (whole.low, whole.high) == pytest.approx((13 * expected[0], 13 * expected[1]))
