"""Capacity: count x the cells' minimum is sure, a good cell's is possible, a measurement decides.

The cell of the bench has 2.6 Ah, the format of a trade data sheet of an 18650 NMC cell.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from verifier.bounds import Bounds
from verifier.pack.wear import current_left
from verifier.verdict import PASSES, Verdict
from verifier.words.remarks import remark_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def ends(bounds: Bounds) -> tuple[float, float]:
    return round(bounds.low, 9), round(bounds.high, 9)


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        # 4 x 3.35 Ah = 13.4 Ah is sure; printed to two percent, 13.66 Ah is the same.
        (13.4, Verdict.HOLDS),
        (13.66, Verdict.HOLDS),
        (13.68, Verdict.NOT_SETTLED),
        # 4 x 3.45 Ah x 1.05 = 14.49 Ah is what good cells hold; printed to two percent, 14.78 Ah.
        (14.77, Verdict.NOT_SETTLED),
        (14.79, Verdict.DOES_NOT_HOLD),
    ],
)
def test_minimum_capacity_grants_and_typical_capacity_bounds(
    bench: Bench, claim: float, verdict: Verdict
) -> None:
    """A pack would be sold by its cells' typical capacity as if each cell had it, or an honest one refused.

    Rule: typical is the middle, not the top; limits capacity_over_typical 5 % and print_rounding 2 %.
    """
    sheet = bench.sheet(
        capacity=[{"kind": "minimum", "value_ah": 3.35}, {"kind": "typical", "value_ah": 3.45}]
    )
    cell = bench.cell("lyr-18650-26", sheet)
    found = bench.figure("capacity", bench.build(**{"claim.capacity_ah": claim}), cell)
    assert found.verdict is verdict
    assert ends(found.supported) == (13.4, 14.49)


def test_a_printed_rounding_is_told_as_such(bench: Bench) -> None:
    """13.8 Ah sold as 14 Ah would be called a lie, or pass without a word."""
    cell = bench.cell("lyr-18650-26", bench.sheet(capacity=[{"kind": "minimum", "value_ah": 3.45}]))
    found = bench.figure("capacity", bench.build(**{"claim.capacity_ah": 14}), cell)
    told = bench.told(found, "rounded")
    assert (found.verdict, told is not None) == (Verdict.HOLDS, True)
    plain = bench.figure("capacity", bench.build(**{"claim.capacity_ah": 13.8}), cell)
    assert bench.told(plain, "rounded") is None


def test_a_listing_of_thirty_ampere_hours_from_four_rows_of_18650_is_refuted(bench: Bench) -> None:
    """7.5 Ah a cell, twice what any 18650 ever published holds, would stay open without a cell marking."""
    claims = {
        "claim.nominal_voltage_v": 48, "claim.capacity_ah": 30, "claim.series": 13, "claim.parallel": 4,
        "claim.cell_size": "18650",
    }  # fmt: skip
    report = bench.judge(bench.changed({}, claims))
    found = report.finding("capacity")
    assert found.verdict is Verdict.DOES_NOT_HOLD
    assert 4 * 3.6 <= found.supported.high < 30, (
        "not below the 3.5 to 3.6 Ah that several trade pages publish"
    )
    assert found.supported.low == 0


def test_a_claimed_cell_capacity_grants_nothing(bench: Bench) -> None:
    """A seller who writes 3.5 Ah for a cell would confirm 14 Ah for the pack."""
    claims = {"claim.capacity_ah": 14, "claim.cell_capacity_ah": 3.5, "observed.parallel": 4}
    found = bench.figure("capacity", bench.changed({}, claims))
    assert (found.verdict, found.supported.low) == (Verdict.NOT_SETTLED, 0)


@pytest.mark.parametrize("claim", [7.9, 10])
def test_a_measured_capacity_decides_over_the_sheet(bench: Bench, claim: float) -> None:
    """An aged pack, measured at 8 Ah, would be sold by its cells' sheet as 10.4 Ah.

    Meter error 0.5 %, so 7.96 Ah are sure; 0.2C in a room, here of 10.4 Ah or more, is what a capacity is rated at
    (IEC 61960-3), and 3 A are no slower.
    """
    test = {"observed.capacity_temperature_c": 25, "observed.capacity_current_a": 3}
    data = bench.build(**{"claim.capacity_ah": claim, "observed.capacity_ah": 8, **test})
    found = bench.figure("capacity", data)
    assert (found.evidence, found.limited_by) == ("own_test", "as measured")
    assert found.verdict is (Verdict.HOLDS if claim < 8 else Verdict.DOES_NOT_HOLD)
    assert found.supported.low == pytest.approx(7.96)
    assert 8.04 <= found.supported.high < 8.5
    assert bench.told(found, "worn_or_other_cells") is not None


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        # 8.8 x 1.005 / (0.99 - 3 x 0.0044) is 9.05 Ah, and a label may round by 2 %: 9.3 Ah are more.
        (9.3, Verdict.DOES_NOT_HOLD),
        (9.1, Verdict.NOT_SETTLED),
        (8.9, Verdict.HOLDS),
    ],
)
def test_the_test_that_rates_a_capacity_leaves_little_open(
    bench: Bench, claim: float, verdict: Verdict
) -> None:
    """A used pack that gave 85 % in a proper test would keep its claim open, and be tested again.

    Rule: a test at 0.2 It of the new cells' rating, 20 C with 5 K to either side, is the one that rates them (IEC
    61960-3), and repeats within 1 %; 5.0 Ah cells lost 0.44 % a kelvin from 25 to 10 C at 0.5C (O'Regan et al.).
    """
    test = {
        "observed.capacity_ah": 8.8, "observed.capacity_current_a": 0.2 * 4 * 2.6,
        "observed.capacity_temperature_c": 22, "case.condition": "used",
    }  # fmt: skip
    report = bench.judge(bench.build(**{"claim.capacity_ah": claim, **test}))
    found = report.finding("capacity")
    assert found.verdict is verdict
    assert found.supported.high < 8.8 * 1.005 / (0.99 - 3 * 0.0067)
    # What is noted is not asked for.
    assert "observed.capacity_ah" not in found.unknown
    assert "observed.capacity_ah" not in {each.observe for each in report.next_steps}


def test_a_capacity_of_a_test_that_nobody_noted_stays_open_upwards(bench: Bench) -> None:
    """An honest pack that was tested in the cold would be called a lie. Rule: a default refutes nothing."""
    data = bench.build(**{"claim.capacity_ah": 8.3, "observed.capacity_ah": 8})
    found = bench.figure("capacity", data)
    assert found.verdict is Verdict.NOT_SETTLED
    assert {"observed.capacity_temperature_c", "observed.capacity_current_a"} <= set(found.unknown)
    noted = bench.changed(data, {"observed.capacity_temperature_c": 25, "observed.capacity_current_a": 1.6})
    assert bench.figure("capacity", noted).supported.high < found.supported.high


@pytest.mark.parametrize(
    ("cutoff_v", "verdict"),
    [
        # 2.5 V a cell, as the sheet ends: 8 Ah of a good test refute 8.8 Ah.
        (32.5, Verdict.DOES_NOT_HOLD),
        # 3.0 V a cell: up to a tenth may be left (common practice, no source), so 8.8 Ah are possible.
        (39, Verdict.NOT_SETTLED),
        # 3.4 V a cell: nobody knows how much is left.
        (44, Verdict.NOT_SETTLED),
    ],
)
def test_a_test_that_ended_early_refutes_less(bench: Bench, cutoff_v: float, verdict: Verdict) -> None:
    """A sound pack, tested only down to 3.4 V a cell, would be called a lie."""
    test = {"observed.capacity_temperature_c": 25, "observed.capacity_current_a": 1.6}
    data = bench.build(
        **{
            "claim.capacity_ah": 8.8,
            "observed.capacity_ah": 8,
            "observed.capacity_cutoff_v": cutoff_v,
            **test,
        }
    )
    assert bench.figure("capacity", data).verdict is verdict


@pytest.mark.parametrize(
    ("test", "low_ah"),
    [
        # 10.5 Ah, 0.5 % of the meter: at 0.2C and more in a room 10.45 Ah are sure.
        ({"temperature_c": 23, "current_a": 3}, 10.4475),
        # At 0.1C a new cell gave 1.1 % more than at 0.2C (open measured data), so that 1.5 % may be due to that.
        ({"temperature_c": 23, "current_a": 1.04}, 10.4475 / 1.015),
        # In air of 45 C up to 2 % more.
        ({"temperature_c": 45, "current_a": 3}, 10.4475 / 1.02),
        # Whatever nobody noted may have been the warmest and the slowest.
        ({}, 10.4475 / 1.015 / 1.02),
    ],
)
def test_what_a_warm_or_slow_test_adds_is_not_sure(bench: Bench, test: dict[str, Any], low_ah: float) -> None:
    """A label of 10.4 Ah would pass on a test that gives 3 % more than the one that rates a capacity (IEC 61960-3)."""
    seen = {f"observed.capacity_{name}": value for name, value in test.items()}
    found = bench.figure(
        "capacity", bench.build(**{"claim.capacity_ah": 10.4, "observed.capacity_ah": 10.5, **seen})
    )
    assert found.supported.low == pytest.approx(low_ah, rel=1e-3)


@pytest.mark.parametrize(
    ("test", "condition", "code"),
    [
        # In a room at 0.2C nothing is kept back: 9.5 of 10.4 Ah are worn cells, or others.
        ({"current_a": 2, "temperature_c": 25}, None, "worn_or_other_cells"),
        ({"current_a": 2, "temperature_c": 25}, "used", "worn_or_other_cells"),
        # At 2C and 10 C new cells give less than they are rated at (open measured data; packclaim limits).
        ({"current_a": 20, "temperature_c": 10}, None, "may_be_new"),
        ({"current_a": 20, "temperature_c": 10}, "used", "may_be_new"),
        ({}, None, "may_be_new_test_open"),
    ],
)
def test_a_test_in_the_cold_accuses_nobody(
    bench: Bench, test: dict[str, Any], condition: str | None, code: str
) -> None:
    """New cells, tested cold and fast, would be called worn or others. Rule: only what is sure is told as sure."""
    seen = {f"observed.capacity_{name}": value for name, value in test.items()}
    data = bench.build(**{"claim.capacity_ah": 10, "observed.capacity_ah": 9.5, **seen})
    found = bench.figure("capacity", bench.changed(data, {"case.condition": condition} if condition else {}))
    codes = {each.code for each in found.cautions}
    assert codes & {"worn_or_other_cells", "may_be_new", "may_be_new_test_open"} == {code}
    told = remark_text(next(each for each in found.cautions if each.code == code))
    assert ("worn" in told) == (code.startswith("worn"))
    assert ("may be new" in told) == (code.startswith("may") and condition is None)


@pytest.mark.parametrize(
    ("chemistry", "grams", "most_ah"),
    [
        # 26 g x 1.005 of the scales x 325 Wh/kg / 3.6 V = 2.359 Ah: the best announced of nickel-rich cells, memory.
        ("NMC", 26, 2.359),
        # x 110 Wh/kg / 2.3 V, of titanate.
        ("LTO", 26, 1.25),
        # A heavy one is bounded by its size alone: 4.2 Ah.
        ("NMC", 48, 4.2),
    ],
)
def test_a_weighed_cell_of_no_known_marking_holds_no_more_than_its_mass(
    bench: Bench, chemistry: str, grams: float, most_ah: float
) -> None:
    """A cell of 26 g in a wrapper of 9900 mAh would be possible. Rule: no cell holds more energy for its mass."""
    seen = {"marking": "BEACON 9900", "size": "18650", "chemistry": chemistry, "mass_g": grams}
    found = bench.figure("capacity", bench.build(**{"observed.cell": seen, "claim.capacity_ah": 40}))
    assert found.supported.high == pytest.approx(4 * most_ah, rel=1e-3)
    assert found.supported.low == 0


def test_a_weighed_cell_of_a_sheet_holds_no_more_than_its_mass(bench: Bench) -> None:
    """Knowing the sheet would let more seem possible than not knowing it. Rule: a sheet's minimum bounds from below.

    3.0 Ah x 1.25 would be 3.75 Ah; 34 g x 1.005 x 325 Wh/kg / 3.6 V are 3.085 Ah (as above, from memory).
    """
    cell = bench.cell(
        "lyr-18650-26", bench.sheet(capacity=[{"kind": "minimum", "value_ah": 3.0}], mass_g=34.0)
    )
    found = bench.figure(
        "capacity", bench.build(**{"observed.cell.mass_g": 34, "claim.capacity_ah": 12}), cell
    )
    assert found.supported.low == pytest.approx(4 * 3.0)
    assert found.supported.high == pytest.approx(4 * 3.085, rel=1e-3)


def test_one_cell_on_the_bench_is_judged_as_a_pack_is(bench: Bench) -> None:
    """A pack would be granted nothing for a cell that gave 98 %, as any gives at this air and current.

    Rule: a test is corrected for cold and current (IEC 61960-3 rates at 0.2C in a room), and bounds the low end.
    """
    test = {"observed.cell.capacity_current_a": 0.75, "observed.cell.capacity_temperature_c": 23}
    gave = {"claim.capacity_ah": 10, "observed.cell.capacity_ah": 2.56, **test}
    found = bench.figure("capacity", bench.build(**gave))
    # 4 x 2.56 Ah less half a percent of the meter, below 4 x 2.6 Ah of the sheet.
    assert found.supported.low == pytest.approx(4 * 2.56 * 0.995)
    assert found.verdict is Verdict.HOLDS
    assert bench.known(bench.build(**gave)).find(current_left).low == 1.0
    # In air and at a current that nobody noted it is as it came.
    raw = bench.figure("capacity", bench.build(**{**gave, **dict.fromkeys(test)}))
    assert raw.supported.low == 0
    worn = bench.figure("capacity", bench.build(**{**gave, "observed.cell.capacity_ah": 2.2}))
    assert (worn.supported.low, worn.verdict) == (0, Verdict.NOT_SETTLED)


@pytest.mark.parametrize(
    ("years", "new"), [(0.5, True), (1, True), (1.5, False), (15, False), ([0.5, 3], False)]
)
def test_years_are_wear_as_cycles_are(bench: Bench, years: Any, new: bool) -> None:
    """Cells of fifteen years would be ridden as new ones. Rule: what nobody measured of an old pack is not granted."""
    data = bench.seen_through(**{"observed.age_years": years})
    report = bench.judge(data)
    assert (report.finding("capacity").verdict in PASSES) is new
    assert (report.rely_on.continuous_current_a.low > 0) is new
    cycled = bench.judge(bench.seen_through(**{"observed.cycles": [5, 200]}))
    assert cycled.rely_on.continuous_current_a.low == 0
