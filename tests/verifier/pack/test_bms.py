"""Where the BMS switches off, by its shunt, and what it balances: Ohm's law, arithmetic."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

import pytest

from verifier.contradictions import contradictions
from verifier.pack.bms import bms_trip
from verifier.verdict import Verdict
from verifier.words import remark_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

# 100 mV over 2 mohm are 50 A. Source: Ohm's law; chips and shunts within a fifth (limit trip_tolerance).
BY_SHUNT = {"observed.bms.trip_mv": 100, "observed.bms.shunt_mohm": 2}


@pytest.mark.parametrize(
    ("seen", "low", "high"),
    [
        (BY_SHUNT, 40, 60),
        ({"observed.bms.trip_a": 90}, 90, 90),
        ({**BY_SHUNT, "observed.bms.trip_a": 45}, 40, 45),
        ({**BY_SHUNT, "observed.bms.trip_a": 90}, 40, 60),
        # Half of it tells nothing.
        ({"observed.bms.trip_mv": 100}, 0, inf),
        ({"observed.bms.shunt_mohm": 2}, 0, inf),
        # One shunt or two of 4 mohm.
        ({"observed.bms.trip_mv": 100, "observed.bms.shunt_mohm": [2, 4]}, 20, 60),
    ],
)
def test_a_bms_trips_where_its_shunt_has_the_chips_voltage(
    bench: Bench, seen: dict[str, Any], low: float, high: float
) -> None:
    """A BMS that opens at 50 A is believed to pass the 100 A that are printed on it."""
    found = bench.known(bench.build(**seen)).find(bms_trip)
    assert (found.low, found.high) == pytest.approx((low, high))


def test_a_trip_bounds_and_grants_nothing(bench: Bench) -> None:
    """A trip passes for a continuous rating, and the board burns. Rule: a trip is never a rating."""
    element = bench.element("bms", bench.build(**BY_SHUNT))
    assert (element.supported.low, element.supported.high) == pytest.approx((0, 60))
    claim = {"claim.continuous_current_a": 61}
    assert bench.finding("continuous_current", bench.build(**claim, **BY_SHUNT)).verdict is (
        Verdict.DOES_NOT_HOLD
    )
    claim = {"claim.continuous_current_a": 30}
    assert bench.finding("continuous_current", bench.build(**claim, **BY_SHUNT)).verdict is (
        Verdict.NOT_SETTLED
    )


def test_a_bms_that_trips_below_its_rating_contradicts_itself(bench: Bench) -> None:
    """A print of 80 A on a board that opens at 60 A is granted."""
    seen = bench.build(**BY_SHUNT, **{"observed.bms.continuous_a": 80})
    assert [each.code for each in contradictions(bench.known(seen))] == ["bms_trips_below_continuous"]
    assert bench.element("bms", seen).supported.low == 0
    fair = bench.build(**BY_SHUNT, **{"observed.bms.continuous_a": 30})
    assert contradictions(bench.known(fair)) == ()
    assert bench.element("bms", fair).supported.low == 30


def test_the_build_tells_the_trip_and_the_balance(bench: Bench) -> None:
    """The bench's look at the BMS is in no report. Source: 5 % of 10.4 Ah at 0.06 A are 8.7 h."""
    found = bench.finding("build", bench.build(**BY_SHUNT, **{"observed.bms.balance_a": 0.06}))
    trip, balance = bench.remark(found, "bms_trip"), bench.remark(found, "bms_balances")
    assert "switches off at 40 to 60 A (100 mV over 2 mohm)" in remark_text(trip)
    assert balance.numbers["low_h"] == pytest.approx(0.05 * 10.4 / 0.06)
    open_ = bench.finding("build", bench.build(**{"observed.bms.trip_mv": 100}))
    assert bench.told(open_, "bms_trip_open")


@pytest.mark.parametrize(
    ("charger", "code"),
    [
        ({"no_load_v": 54.5, "voltage_v": 54.6}, "charger_as_printed"),
        ({"no_load_v": 58.6, "voltage_v": 54.6}, "charger_unlike_print"),
        # 4 x 2.6 to 4 x 3.25 = 10.4 to 13 Ah: a fiftieth 0.21 to 0.26 A, a tenth 1.04 to 1.3 A.
        ({"cut_off_a": 0.1}, "charger_ends_late"),
        ({"cut_off_a": 0.5}, "charger_ends"),
        ({"cut_off_a": 1.2}, "charger_ends_at"),
        ({"cut_off_a": 2}, "charger_ends_early"),
    ],
)
def test_a_charger_is_told_as_measured(bench: Bench, charger: dict[str, float], code: str) -> None:
    """A charger is believed by its label. Rule: a fiftieth to a tenth, common practice, no source."""
    found = bench.finding(
        "build", bench.build(**{f"observed.charger.{name}": each for name, each in charger.items()})
    )
    assert bench.told(found, code)


def test_nothing_is_said_of_an_end_where_the_capacity_is_not_known(bench: Bench) -> None:
    """A cut-off reads as usual for a pack of any size. Rule: a missing fact never reads as a pass."""
    seen = {"observed.charger.cut_off_a": 0.5, "observed.parallel": None}
    assert bench.told(bench.finding("build", bench.build(**seen)), "charger_ends_at")


@pytest.mark.parametrize(("volts", "alarmed"), [(54.6, False), (58.8, True), (42.0, True)])
def test_a_charger_for_another_count_alarms_by_its_meter(bench: Bench, volts: float, alarmed: bool) -> None:
    """A 14-series charger with a 13-series label is connected to 13. Source: 13 x 4.2 = 54.6 V, 14 x 4.2 = 58.8 V."""
    seen = {"observed.charger.no_load_v": volts, "observed.charger.voltage_v": 54.6}
    report = bench.judge(bench.build(**seen))
    assert ("wrong_charger" in [each.code for each in report.alarms]) is alarmed
