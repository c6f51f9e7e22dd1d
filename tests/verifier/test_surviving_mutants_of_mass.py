"""What no other test noticed when voltages were changed on purpose, one small change at a time."""

from __future__ import annotations

from typing import Any

import pytest
from verifier.support.voltage import cell_empty_voltage, cell_nominal_voltage, pack_nominal_voltage

from registry.chemistry import VOLTAGES
from verifier.bounds import Bounds


def ends(bounds: Bounds) -> tuple[float, float]:
    return round(bounds.low, 9), round(bounds.high, 9)


# -- voltages ------------------------------------------------------------------------------------------------


def sheets_of(bench: Any, field: str, *volts: float) -> Any:
    """Return a cell of sheets that differ in one voltage, each on a page of its own."""
    made = [
        bench.sheet(title=f"sheet of {at}", **{field: each}, citations={field: {"page": at + 1}})
        for at, each in enumerate(volts)
    ]
    return bench.cell("lyr-18650-26", *made)


def test_the_nominal_voltage_of_a_cell_is_that_of_its_sheets(bench: Any) -> None:
    """A pack of 3.6 V cells would be judged by 3.7 V, on a page that does not say so."""
    found = cell_nominal_voltage(
        bench.pack(bench.build(), sheets_of(bench, "nominal_voltage_v", 3.6, 3.7, 3.65))
    )
    assert ends(found.value) == (3.6, 3.7)
    assert "sheet of 0" in found.steps[0].source
    assert "page 1" in found.steps[0].source
    assert (found.evidence, found.unknown) == ("maker", ())


def test_a_cell_is_empty_between_the_lowest_cut_off_and_the_usual_end(bench: Any) -> None:
    """A pack would be granted the power of cells that stop early: 2.5 V of the sheet, 3.0 V and up in use."""
    found = cell_empty_voltage(
        bench.pack(bench.build(), sheets_of(bench, "cutoff_voltage_v", 2.75, 2.5, 3.25))
    )
    assert ends(found.value) == (2.5, 3.25)
    assert "sheet of 0" in found.steps[0].source
    assert "page 1" in found.steps[0].source
    usual = VOLTAGES["NMC"].empty_v[1]
    alone = cell_empty_voltage(bench.pack(bench.build(), sheets_of(bench, "cutoff_voltage_v", 2.5)))
    assert ends(alone.value) == (2.5, usual)
    assert alone.evidence == "maker"


@pytest.mark.parametrize(("chemistry", "unknown"), [("NMC", ()), (None, ("observed.cell.chemistry",))])
def test_without_a_cell_its_chemistry_gives_the_voltages(
    bench: Any, chemistry: str | None, unknown: tuple[str, ...]
) -> None:
    """Nobody would ask for the chemistry where it is the one thing missing. Common practice, no source."""
    data = {"observed": {"series": 13, "cell": {"chemistry": chemistry}} if chemistry else {"series": 13}}
    pack = bench.pack(data)
    for find, name in ((cell_nominal_voltage, "nominal_v"), (cell_empty_voltage, "empty_v")):
        found = find(pack)
        of = [getattr(VOLTAGES[chemistry or "other"], name)]
        assert ends(found.value) == of[0]
        assert (found.unknown, found.evidence) == (unknown, None)
    assert ends(pack_nominal_voltage(pack).value) == tuple(
        round(13 * volts, 9) for volts in ends(cell_nominal_voltage(pack).value)
    )
