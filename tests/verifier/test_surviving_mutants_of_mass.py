"""What no other test noticed when masses and voltages were changed on purpose, one small change at a time."""

from __future__ import annotations

from math import inf
from typing import Any

import pytest

from registry.chemistry import VOLTAGES
from verifier.bounds import Bounds
from verifier.support.mass import cells_mass, lighter_than_its_cells, too_light_for_energy
from verifier.support.voltage import cell_empty_voltage, cell_nominal_voltage, pack_nominal_voltage


def ends(bounds: Bounds) -> tuple[float, float]:
    return round(bounds.low, 9), round(bounds.high, 9)


def weighing(bench: Any, *masses_g: float) -> Any:
    sheets = [bench.sheet(title=f"sheet of {at}", mass_g=mass_g) for at, mass_g in enumerate(masses_g)]
    return bench.cell("lyr-18650-26", *sheets)


@pytest.mark.parametrize(
    ("chemistry", "most"),
    [
        ("NMC", 340),
        ("NCA", 340),
        ("LCO", 265),
        ("LMO", 210),
        ("LFP", 210),
        ("LTO", 120),
        ("other", 340),
        (None, 340),
    ],
)
def test_more_energy_than_the_best_cells_hold_for_their_mass_is_told(
    bench: Any, chemistry: str | None, most: float
) -> None:
    """An impossible pack would pass unseen, or a possible one be accused. Wh/kg: trade table, from memory."""
    for energy_wh, told in ((most, False), (most + 0.5, True)):
        observed = {"cell": {"chemistry": chemistry}} if chemistry else {}
        data = {"claim": {"energy_wh": energy_wh, "mass_kg": 1}, "observed": observed}
        assert (too_light_for_energy(bench.pack(data)) is not None) is told
    # The larger of two masses and the smaller of two energies decide: it is told only when it is sure.
    data["claim"] = {"energy_wh": [most, 2 * most], "mass_kg": [0.5, 1]}
    assert too_light_for_energy(bench.pack(data)) is None


def test_of_two_sheets_the_lighter_bounds_from_below_and_the_heavier_from_above(bench: Any) -> None:
    """A pack of the lighter cells would be called lighter than its own cells. 52 x 44 to 46 g, 5 %."""
    found = cells_mass(bench.pack(bench.build(), weighing(bench, 46, 44)))
    assert ends(found.value) == (2.1736, 2.5116)
    assert found.evidence == "maker"


@pytest.mark.parametrize(
    ("missing", "least_kg"),
    [
        (("observed.series",), 4 * 0.0437),
        (("observed.parallel",), 13 * 0.0437),
        (("observed.series", "observed.parallel"), 0.0437),
    ],
)
def test_a_count_that_is_not_known_is_at_least_one(
    bench: Any, missing: tuple[str, ...], least_kg: float
) -> None:
    """A pack of unknown count would be accused of two cells it need not have. 46 g less 5 % = 43.7 g."""
    pack = bench.pack(bench.build(**dict.fromkeys(missing)), weighing(bench, 46))
    found = cells_mass(pack)
    assert ends(found.value) == (pytest.approx(least_kg), inf)
    assert set(found.unknown) == set(missing)
    assert found.evidence is None


@pytest.mark.parametrize(
    ("weighed_kg", "told"), [(2.2, True), (2.4, False), ([1.9, 2.4], False), ([1.9, 2.2], True)]
)
def test_a_pack_is_lighter_than_its_cells_only_when_it_surely_is(
    bench: Any, weighed_kg: Any, told: bool
) -> None:
    """An honest seller would be accused by a rough scale. 52 x 46 g less 5 % = 2.27 kg."""
    pack = bench.pack(bench.build(**{"observed.mass_kg": weighed_kg}), weighing(bench, 46))
    found = lighter_than_its_cells(pack)
    assert (found is not None) is told
    if found is not None:
        assert set(found[1]) == {
            "observed.mass_kg", "observed.series", "observed.parallel", "observed.cell.marking",
        }  # fmt: skip


def test_the_counts_of_a_mass_name_where_they_come_from(bench: Any) -> None:
    """A reader would not know whose count of cells the mass rests on."""
    sources = [
        next(step for step in cells_mass(bench.pack(data)).steps if step.symbol == "n").source
        for data in (bench.build(), bench.changed({}, {"claim.mass_kg": 3}))
    ]
    assert sources == ["observed.series; observed.parallel", "nothing known"]


def test_what_would_tell_the_mass_of_a_cell_is_asked_for(bench: Any) -> None:
    """The user would be sent for the marking of a cell that is known, or to weigh one that needs its name."""
    known = cells_mass(bench.pack(bench.build(), bench.cell()))
    assert known.unknown == ("observed.cell.mass_g",)
    unknown = cells_mass(bench.pack(bench.build(**{"observed.cell": {"size": "18650"}})))
    assert unknown.unknown == ("observed.cell.marking",)


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
