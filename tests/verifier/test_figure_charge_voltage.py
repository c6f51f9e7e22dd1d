"""Charge voltage: series x charge limit of a cell, within 1 % (common practice, no source).

Full voltages by series count, 4.2 V and 3.65 V a cell: trade summary tables, common practice.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.bounds import Bounds
from verifier.pack import Pack
from verifier.support.charging import judge_voltage
from verifier.verdict import PASSES, Verdict


def words(found: Any) -> str:
    return " | ".join(found.cautions)


@pytest.mark.parametrize(
    ("series", "volts", "verdict"),
    [
        (10, 42.0, Verdict.CONSISTENT),
        (13, 54.6, Verdict.CONSISTENT),
        (14, 58.8, Verdict.CONSISTENT),
        (16, 67.2, Verdict.CONSISTENT),
        (20, 84.0, Verdict.CONSISTENT),
        (13, 55.1, Verdict.CONSISTENT),
        (13, 55.2, Verdict.INCONSISTENT),
        (13, 54.0, Verdict.INCONSISTENT),
        (13, 58.8, Verdict.INCONSISTENT),
        (13, 42.0, Verdict.INCONSISTENT),
        (13, [54, 55], Verdict.NOT_SETTLED),
        ([13, 14], 54.6, Verdict.NOT_SETTLED),
        ([13, 14], 67.2, Verdict.INCONSISTENT),
    ],
)
def test_nickel_cells(bench: Any, series: Any, volts: Any, verdict: Verdict) -> None:
    """A charger for another pack would be called right. Table: 10S 42.0, 13S 54.6, 14S 58.8, 16S 67.2 V."""
    changes = {"observed.series": series, "observed.bms.series": None, "claim.charge_voltage_v": volts}
    assert bench.finding("charge_voltage", bench.build(**changes)).verdict is verdict


@pytest.mark.parametrize(
    ("series", "volts", "verdict"),
    [(16, 58.4, Verdict.CONSISTENT), (10, 36.5, Verdict.CONSISTENT), (16, 67.2, Verdict.INCONSISTENT)],
)
def test_iron_phosphate_cells(bench: Any, series: int, volts: float, verdict: Verdict) -> None:
    """A 67.2 V charger of sixteen nickel cells would be taken for sixteen of iron phosphate (58.4 V)."""
    data = bench.build(**{"observed.series": series, "observed.cell": {"marking": "OSK 18650-L"},
                          "claim.charge_voltage_v": volts})  # fmt: skip
    assert bench.finding("charge_voltage", data, *bench.cells()).verdict is verdict


def test_a_charger_for_fourteen_on_thirteen_is_told_as_a_danger(bench: Any) -> None:
    """4.52 V a cell would read as a small mismatch. 58.8 / 13 = 4.523 V, the charge voltage of 14 x 4.2 V."""
    found = bench.finding("charge_voltage", bench.build(**{"claim.charge_voltage_v": 58.8}))
    assert all(part in words(found) for part in ("4.523 V", "overcharges", "DO NOT charge", "14 such cells"))


def test_a_charger_for_ten_on_thirteen_is_told_as_undercharging(bench: Any) -> None:
    """A pack that stays part empty would be told as one that burns. 42 / 13 = 3.231 V a cell."""
    found = bench.finding("charge_voltage", bench.build(**{"claim.charge_voltage_v": 42}))
    assert all(part in words(found) for part in ("3.231 V", "part empty", "10 such cells"))
    assert "DO NOT" not in words(found)


def test_a_wrong_charger_is_told_although_nothing_is_claimed(bench: Any) -> None:
    """The wrong charger on the bench would go unmentioned because the seller claimed no charge voltage."""
    report = bench.judge(bench.build(**{"observed.charger.voltage_v": 58.8}))
    found = report.finding("charge_voltage")
    assert found.verdict is Verdict.NOT_CLAIMED
    assert "charger as seen" in words(found)
    assert "DO NOT charge" in words(found)
    told = [each for each in report.contradictions if "observed.charger.voltage_v" in each.about]
    assert len(told) == 1
    assert "DO NOT charge" in told[0].text


def test_the_right_charger_is_no_caution(bench: Any) -> None:
    """Every report would carry a warning that nobody reads any more."""
    report = bench.judge(bench.build(**{"observed.charger.voltage_v": 54.6, "claim.charge_voltage_v": 54.6}))
    assert report.finding("charge_voltage").cautions == ()
    assert report.contradictions == ()


def test_a_full_voltage_is_judged_where_no_charge_voltage_is_claimed(bench: Any) -> None:
    """A seller who writes "58.8 V full" of thirteen cells would not be found out."""
    found = bench.finding("charge_voltage", bench.build(**{"claim.full_voltage_v": 58.8}))
    assert (found.claimed, found.verdict) == (Bounds(58.8, 58.8), Verdict.INCONSISTENT)
    both = {"claim.full_voltage_v": 58.8, "claim.charge_voltage_v": 54.6}
    found = bench.finding("charge_voltage", bench.build(**both))
    assert found.verdict is Verdict.CONSISTENT
    assert "full voltage claimed" in words(found)


def test_a_high_voltage_cell_is_charged_as_its_sheet_says(bench: Any) -> None:
    """A cell for 4.35 V would be refused its own charger. 13 x 4.35 V = 56.55 V."""
    cell = bench.cell("lyr-18650-26", bench.sheet(charge_voltage_v=4.35))
    found = bench.finding("charge_voltage", bench.build(**{"claim.charge_voltage_v": 56.55}), cell)
    assert found.verdict is Verdict.CONSISTENT


def test_the_lowest_of_two_sheets_decides(bench: Any) -> None:
    """The sheet that allows more would let the others' cells be charged too far."""
    sheets = [bench.sheet(charge_voltage_v=4.35), bench.sheet(charge_voltage_v=4.2, title="Other")]
    cell = bench.cell("lyr-18650-26", *sheets)
    found = bench.finding("charge_voltage", bench.build(**{"claim.charge_voltage_v": 56.55}), cell)
    assert found.verdict is Verdict.INCONSISTENT
    assert "disagree" in words(found)


def test_the_claimed_voltage_cannot_confirm_itself(bench: Any) -> None:
    """A listing of 54.6 V alone would be consistent with the thirteen cells worked out from 54.6 V."""
    for field in ("charge_voltage_v", "full_voltage_v"):
        data = bench.changed({}, {f"claim.{field}": 54.6, "claim.chemistry": "NMC"})
        found = bench.finding("charge_voltage", data)
        assert found.verdict is Verdict.NOT_SETTLED
        assert "observed.series" in found.unknown


@pytest.mark.parametrize(
    ("missing", "field"),
    [
        (["observed.series", "observed.bms.series"], "observed.series"),
        (["observed.cell", "claim.cell_marking", "claim.chemistry"], "observed.cell.chemistry"),
    ],
)
def test_a_missing_fact_never_passes(bench: Any, missing: list[str], field: str) -> None:
    """A charger would pass for cells of which nobody knows the chemistry or the number."""
    claims = dict.fromkeys(f"claim.{name}" for name in bench.BUILD_CLAIMS)
    data = bench.seen_through(**{**claims, "claim.charge_voltage_v": 54.6})
    assert bench.finding("charge_voltage", data).verdict in PASSES
    found = bench.finding("charge_voltage", bench.changed(data, dict.fromkeys(missing)))
    assert found.verdict is Verdict.NOT_SETTLED
    assert field in found.unknown


def test_an_unknown_chemistry_is_warned_of(bench: Any) -> None:
    """54.6 V on thirteen cells that may be of iron phosphate (47.45 V full) would not be warned of."""
    data = bench.changed(bench.build(**{"claim.charge_voltage_v": 54.6}), {"observed.cell": None})
    assert "could overcharge" in words(bench.finding("charge_voltage", data))


def test_what_only_the_seller_says_is_marked(bench: Any) -> None:
    """A series count from the listing would confirm the charger of the listing as if it had been counted."""
    data = bench.changed({}, {"claim.charge_voltage_v": 54.6, "claim.series": 13, "claim.chemistry": "NMC"})
    found = bench.finding("charge_voltage", data)
    assert found.verdict is Verdict.CONSISTENT
    assert "claim.series" in found.sellers_word


@given(
    st.integers(1, 24),
    st.integers(0, 3),
    st.floats(2, 120),
    st.floats(0, 5),
    st.floats(0, 1),
    st.floats(0, 1),
)
def test_every_point_inside_the_ranges_is_an_outcome_of_the_whole(
    bench: Any, fewest: int, more: int, volts: float, width: float, part: float, at: float
) -> None:
    """A possible pack would make the charger dangerous, and the report call it consistent."""
    pack = Pack(bench.case(bench.build()), bench.registry(bench.cell()))
    wide = judge_voltage(pack, Bounds(volts, volts + width), Bounds(fewest, fewest + more)).outcomes
    count = fewest + round(at * more)
    one = judge_voltage(pack, as_point(volts + part * width), as_point(count)).outcomes
    assert one <= wide
    direct = abs((volts + part * width) / (count * 4.2) - 1) <= 0.01
    assert one == {direct}


def as_point(value: float) -> Bounds:
    return Bounds(value, value)
