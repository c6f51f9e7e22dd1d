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
    # What only the seller says of the mass excludes none from being inside, the scale does.
    inside = 0 if side == "observed" and not able else 1
    assert (could.registered_possible, could.registered_able) == (inside, able)
    if inside:
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


def test_the_scale_and_the_meter_stand_where_counts_are_in_dispute(bench: Bench) -> None:
    """A cell that alone outweighs the pack would be counted among those inside, because the counts are in doubt.

    47.4 V at rest need 10 cells in series at least, however overcharged; ten of 1.2 kg weigh 12 kg.
    """
    cells = [
        bench.cell("lyr-18650-26", bench.sheet(mass_g=46)),
        bench.cell("fen-block", bench.sheet(mass_g=1200), size=None, form="prismatic"),
    ]
    data = {
        "claim": {"configuration": "13S4P", "cell_size": "18650", "capacity_ah": 10, "nominal_voltage_v": 48},
        "observed": {"mass_kg": 1.4, "resting_voltage_v": 47.4},
    }
    report = bench.judge(data, *cells)
    assert report.answer.conclusion == "contradicts itself"
    assert report.cell.candidates == 1


def test_an_overcharged_pack_holds_the_cells_that_its_alarm_speaks_of(bench: Bench) -> None:
    """A report would argue from 4.2 V a cell and count cells of iron phosphate beside it."""
    phosphate = bench.sheet(nominal_voltage_v=3.2, charge_voltage_v=3.65)
    cells = [bench.cell("lyr-18650-26"), bench.cell("fen-18650-15", phosphate, chemistry="LFP")]
    data = {
        "claim": {"configuration": "10S4P", "capacity_ah": 10, "chemistry": "NMC", "nominal_voltage_v": 36},
        "observed": {"resting_voltage_v": 43.6},
    }
    report = bench.judge(data, *cells)
    assert [each.code for each in report.alarms] == ["over_charge_limit"]
    assert report.cell.candidates == 1


def test_a_cell_that_would_make_far_more_than_is_claimed_is_not_the_likely_one(bench: Bench) -> None:
    """A buyer would read that two cells could make 10.4 Ah, of which one makes 40.

    No seller says so much less than a pack holds: common practice, no source.
    """
    large = bench.sheet(capacity=[{"kind": "minimum", "value_ah": 10.0}], c_rate_capacity_ah=10)
    cells = [bench.cell("lyr-18650-26"), bench.cell("fen-pouch", large, size=None, form="pouch")]
    claim = {"configuration": "10S4P", "capacity_ah": 10, "nominal_voltage_v": 36}
    could = bench.judge({"claim": claim}, *cells).finding("capacity").could
    assert could is not None
    assert (could.registered_possible, could.registered_able) == (2, 1)
    alone = bench.judge({"claim": claim}, cells[1]).finding("capacity").could
    assert alone is not None
    assert alone.registered_able == 1
