"""Energy: capacity x nominal voltage, by values worked out by hand, and by the label that a pack is sold under.

Watt-hour rating: 49 CFR 171.8, rated capacity x nominal voltage. 48 V is the trade's name of 13 or 14 nickel
cells: common practice, no source.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

import pytest

from registry.cell import Cell
from verifier.finding import Finding
from verifier.pack.named_voltage import named_voltage
from verifier.verdict import PASSES, Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def cell(bench: Bench, minimum_ah: float, typical_ah: float, **changes: Any) -> Cell:
    capacity = [{"kind": "minimum", "value_ah": minimum_ah}, {"kind": "typical", "value_ah": typical_ah}]
    found: Cell = bench.cell("lyr-18650-26", bench.sheet(capacity=capacity, **changes))
    return found


def judged(bench: Bench, cells: Cell, **changes: Any) -> Finding:
    found: Finding = bench.figure("energy", bench.build(**changes), cells)
    return found


def test_13s4p_of_three_and_a_half_ampere_hours(bench: Bench) -> None:
    """46.8 V, 14.0 Ah, 655.2 Wh would be missed."""
    found = judged(bench, cell(bench, 3.5, 3.5), **{"claim.energy_wh": 655.2})
    assert found.supported.low == pytest.approx(13 * 3.6 * 4 * 3.5) == pytest.approx(655.2)
    assert found.verdict is Verdict.HOLDS
    step = next(step for step in found.steps if step.symbol == "E_pack")
    assert (step.formula, step.source.reference) == ("Q_pack x U_pack", "49 CFR 171.8, watt-hour rating")


@pytest.mark.parametrize(
    ("claim_wh", "name_v", "verdict", "by_label"),
    [
        # 4 x 3.45 Ah = 13.8 Ah, sold as 14; x 46.8 V = 645.8 Wh, x 48 V = 662.4 Wh, rounding of 2 % apart.
        (640, 48, Verdict.HOLDS, False),
        (672, 48, Verdict.HOLDS, True),
        (675, 48, Verdict.HOLDS, True),
        (690, 48, Verdict.NOT_SETTLED, False),
        # Beyond what the accepted name explains: 4 x 3.6225 Ah x 48 V x 1.02 = 709.4 Wh.
        (709, 48, Verdict.NOT_SETTLED, False),
        (710, 48, Verdict.DOES_NOT_HOLD, False),
        # 60 V names no pack of 13, and nothing is explained by it: 4 x 3.6225 x 46.8 x 1.02 = 691.7 Wh.
        (672, 60, Verdict.NOT_SETTLED, False),
        (692, 60, Verdict.DOES_NOT_HOLD, False),
        # Without a name any usual one may be meant: 4 x 3.6225 Ah x 13 x 3.7 V x 1.015 x 1.02 = 721.6 Wh.
        (672, None, Verdict.NOT_SETTLED, False),
        (721, None, Verdict.NOT_SETTLED, False),
        (722, None, Verdict.DOES_NOT_HOLD, False),
    ],
)
def test_what_a_label_multiplies_is_no_lie(
    bench: Bench, claim_wh: float, name_v: float | None, verdict: Verdict, by_label: bool
) -> None:
    """48 V x 14 Ah = 672 Wh failed in the words of a lie, where both factors are as the trade prints them."""
    found = judged(
        bench, cell(bench, 3.45, 3.45), **{"claim.energy_wh": claim_wh, "claim.nominal_voltage_v": name_v}
    )
    assert found.verdict is verdict
    told = bench.told(found, "holds_by_label")
    assert (told is not None) is by_label
    # What the cells make is shown whatever the label says.
    assert found.supported.low == pytest.approx(13.8 * 46.8)
    assert bench.margin(found).low == pytest.approx(100 * (645.84 / claim_wh - 1))
    if told is not None:
        assert told.numbers["cells_low_wh"] == pytest.approx(645.84)
        assert (told.numbers["name_v"], told.numbers["nominal_v"]) == (48, pytest.approx(46.8))
        assert found.sellers_word == ()


def test_37_volts_of_ten_cells_that_their_maker_prints_3_6(bench: Bench) -> None:
    """20 Ah x 37 V = 740 Wh failed, although 37 V passes as the voltage of ten such cells."""
    changes = {
        "observed.series": 10,
        "observed.parallel": 5,
        "claim.energy_wh": 740,
        "claim.nominal_voltage_v": 37,
    }
    found = judged(bench, cell(bench, 4.0, 4.0), **changes)
    assert found.verdict is Verdict.HOLDS
    assert bench.told(found, "holds_by_label") is not None


def test_a_printed_energy_may_be_rounded(bench: Bench) -> None:
    """645.8 Wh sold as 650 would fail; 2 %: common practice, no source."""
    found = judged(bench, cell(bench, 3.45, 3.45), **{"claim.energy_wh": 650})
    assert (found.verdict, bench.margin(found).low < 0) == (Verdict.HOLDS, True)
    told = bench.remark(found, "rounded")
    assert (told.numbers["claimed"], told.numbers["unit"]) == (650, "Wh")


def test_a_name_over_a_range_of_counts_grants_only_what_fits_them_all(bench: Bench) -> None:
    """Twelve or thirteen rows seen through a slot would be granted the name of thirteen."""
    changes = {"claim.nominal_voltage_v": 48, "observed.series": [12, 13]}
    surely, perhaps = named_voltage(bench.known(bench.build(**changes), cell(bench, 3.45, 3.45)))
    assert (surely.low, surely.high) == (pytest.approx(43.2), pytest.approx(46.8))
    assert (perhaps.low, perhaps.high) == (pytest.approx(43.2), 48)
    unknown = bench.known({"claim": {"nominal_voltage_v": 48}, "observed": {"series": 13}})
    # Sodium-ion cells and whatever comes next would make 48 V too: nothing is sure of cells that nobody knows.
    surely, perhaps = named_voltage(unknown)
    assert surely.low < 48 <= perhaps.high
    assert named_voltage(bench.known({}))[1].high == inf


@pytest.mark.parametrize("missing", ["observed.series", "observed.parallel", "observed.cell"])
def test_a_missing_fact_never_passes(bench: Bench, missing: str) -> None:
    """An energy would pass although nobody knows how many cells, or which, are inside."""
    assert judged(bench, bench.cell(), **{"claim.energy_wh": 480}).verdict in PASSES
    found = judged(bench, bench.cell(), **{"claim.energy_wh": 480, missing: None})
    assert found.verdict is Verdict.NOT_SETTLED
    assert any(name.startswith(missing) for name in found.unknown)


def test_the_worst_evidence_of_an_energy_is_the_one_it_rests_on(bench: Bench) -> None:
    """A watt-hour figure on a forum's nominal voltage would be shown as an own test."""
    sheets = [
        bench.sheet(
            evidence="own_test", nominal_voltage_v=None, charge_voltage_v=None, cutoff_voltage_v=None
        ),
        bench.sheet(evidence="secondhand", capacity=[], discharge=[], c_rate_capacity_ah=None),
    ]
    found = judged(bench, bench.cell("lyr-18650-26", *sheets), **{"claim.energy_wh": 480})
    assert found.evidence == "secondhand"
    assert bench.told(found, "secondhand") is not None
