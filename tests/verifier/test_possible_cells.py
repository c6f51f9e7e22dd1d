"""Which registered cells could be inside a pack whose cells nobody knows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


@pytest.mark.parametrize(
    ("mass_kg", "able", "words"),
    [
        # 13 x 4 = 52 cells of 46 g less 5 % (limit cell_mass_tolerance) are 2.272 kg.
        (2.2, 0, "Not even the one registered cell that fits could make this"),
        (2.3, 1, "The one registered cell that fits could make this."),
    ],
)
@pytest.mark.parametrize("side", ["claim", "observed"])
def test_a_cell_too_heavy_for_the_pack_is_not_counted(
    bench: Bench, side: str, mass_kg: float, able: int, words: str
) -> None:
    """A listing would open with cells that would do, each of which the same report shows to be too heavy."""
    data = {
        "claim": {"series": 13, "parallel": 4, "cell_size": "18650", "chemistry": "NMC", "capacity_ah": 10},
        "observed": {},
    }
    data[side]["mass_kg"] = mass_kg
    report = bench.judge(data, bench.cell("lyr-18650-26", bench.sheet(mass_g=46)))
    could = report.finding("capacity").could
    assert could is not None
    assert (could.registered_possible, could.registered_able) == (1, able)
    assert words in report.answer.sentence


@pytest.mark.parametrize(
    ("claim", "possible"),
    [
        # 10 x 3.6 V is 36 V; 10 x 3.2 V = 32 V and 10 x 2.3 V = 23 V are sold under other names.
        ({"nominal_voltage_v": 36}, 1),
        ({}, 3),
        # 52 V is that of none of them on 10 in series: the voltage is in doubt, and excludes no cell.
        ({"nominal_voltage_v": 52}, 3),
    ],
)
def test_a_cell_that_cannot_have_the_voltage_is_not_counted(
    bench: Bench, claim: dict[str, float], possible: int
) -> None:
    """A buyer would be told of cells that could do it and cannot make 36 V of ten in series.

    Rule: the cells counted fit all claims together, unless the voltage claimed is itself in doubt.
    """
    cells = [
        bench.cell("lyr-18650-26"),
        bench.cell(
            "fen-18650-15", bench.sheet(nominal_voltage_v=3.2, charge_voltage_v=3.65), chemistry="LFP"
        ),
        bench.cell(
            "fen-18650-13",
            bench.sheet(nominal_voltage_v=2.3, charge_voltage_v=2.8, cutoff_voltage_v=1.5),
            chemistry="LTO",
        ),
    ]
    data = {"claim": {"capacity_ah": 8, **claim}, "observed": {"series": 10, "parallel": 4}}
    able = bench.judge(data, *cells).finding("capacity").could
    assert able is not None
    assert able.registered_possible == possible
