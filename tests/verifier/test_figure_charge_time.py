"""Charge time: capacity over current and the tail at falling current; a claim of "within N hours"."""

from __future__ import annotations

from math import inf
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.bounds import Bounds
from verifier.support.charging import charge_hours
from verifier.verdict import PASSES, Verdict, judge_at_most, margin_at_most_percent

CHARGE = [{"low_c": -20, "high_c": 0, "max_a": 0}, {"low_c": 0, "high_c": 45, "max_c": 0.5}]


def judged(bench: Any, **changes: Any) -> Any:
    cell = bench.cell("lyr-18650-26", bench.sheet(charge=CHARGE))
    data = bench.seen_through(**{
        "claim.charge_hours": 7, "observed.charger.current_a": 2, "use.temperature_c": [10, 40], **changes,
    })  # fmt: skip
    return bench.finding("charge_time", data, cell)


def test_capacity_over_current_and_the_tail(bench: Any) -> None:
    """10.4 Ah / 2 A + 0.5 to 1.5 h = 5.7 to 6.7 h; without the tail 5.2 h would be promised."""
    found = judged(bench)
    assert (found.supported.low, found.supported.high) == (pytest.approx(5.7), pytest.approx(6.7))


@pytest.mark.parametrize(
    ("claim", "verdict", "positive"),
    [
        (7, Verdict.HOLDS, True),
        (6.7, Verdict.HOLDS, True),
        (6, Verdict.NOT_SETTLED, None),
        (5.7, Verdict.NOT_SETTLED, None),
        (5.6, Verdict.DOES_NOT_HOLD, False),
        ([6, 8], Verdict.NOT_SETTLED, None),
        ([7, 8], Verdict.HOLDS, True),
    ],
)
def test_a_claim_of_within_hours(bench: Any, claim: Any, verdict: Verdict, positive: bool | None) -> None:
    """ "Full in 2 h" would pass because 2 is less than 5.7, or the margin stand the wrong way round."""
    found = judged(bench, **{"claim.charge_hours": claim})
    assert found.verdict is verdict
    if positive is True:
        assert found.margin_percent.low >= 0
    elif positive is False:
        assert found.margin_percent.high < 0
    else:
        assert found.margin_percent.low < 0 <= found.margin_percent.high


def test_cells_that_take_less_than_the_charger_gives_decide(bench: Any) -> None:
    """A 20 A charger would promise half an hour to cells for 5.2 A: 10.4 / 5.2 + 0.5 = 2.5 h at least."""
    found = judged(bench, **{"observed.charger.current_a": 20, "claim.charge_hours": 2})
    assert found.verdict is Verdict.DOES_NOT_HOLD
    assert (found.supported.low, found.limited_by) == (pytest.approx(2.5), "cells")
    assert any("the charger gives 20 A" in text for text in found.cautions)


def test_frost_says_nothing_of_the_time(bench: Any) -> None:
    """A pack that is ridden in frost and charged indoors would have no charge time."""
    assert judged(bench, **{"use.temperature_c": [-10, 40]}).verdict is Verdict.HOLDS
    found = judged(bench, **{"use.temperature_c": [-10, -5]})
    assert found.verdict is Verdict.NOT_SETTLED
    assert any("allows no charging" in text for text in found.cautions)


def test_a_charger_that_only_the_seller_names_is_marked(bench: Any) -> None:
    """The listing's charger would confirm the listing's hours as if it had been seen."""
    found = judged(bench, **{"observed.charger.current_a": None, "claim.charge_current_a": 2})
    assert found.verdict is Verdict.HOLDS
    assert "claim.charge_current_a" in found.sellers_word


def test_a_largest_current_bounds_the_time_from_below_only(bench: Any) -> None:
    """ "Up to 4 A" would be taken for the charger in the box. 10.4 / 4 + 0.5 = 3.1 h at least."""
    found = judged(bench, **{"observed.charger.current_a": None, "claim.max_charge_current_a": 4})
    assert (found.supported.low, found.supported.high) == (pytest.approx(3.1), inf)
    assert found.verdict is Verdict.NOT_SETTLED
    assert "observed.charger.current_a" in found.unknown


@pytest.mark.parametrize(
    "missing",
    [
        ["observed.charger"],
        ["observed.cell", "claim.cell_marking"],
        ["observed.parallel", "claim.parallel", "claim.cell_count"],
    ],
)
def test_a_missing_fact_never_passes(bench: Any, missing: list[str]) -> None:
    """A charge time would pass for a charger, or for cells, that nobody has seen."""
    assert judged(bench).verdict in PASSES
    data = dict.fromkeys(missing)
    if missing == ["observed.charger"]:
        data = {"observed.charger.current_a": None}
    found = judged(bench, **data)
    assert found.verdict is Verdict.NOT_SETTLED
    assert any(name.startswith(missing[0]) for name in found.unknown)


def test_without_a_charge_limit_the_cells_may_take_nothing(bench: Any) -> None:
    """A sheet that is silent on charging would let any charger pass."""
    data = bench.seen_through(**{"claim.charge_hours": 7, "observed.charger.current_a": 2})
    found = bench.finding("charge_time", data)
    assert (found.verdict, found.supported.high) == (Verdict.NOT_SETTLED, inf)


# -- arithmetic ----------------------------------------------------------------------------------------------


def within(low: float, high: float) -> st.SearchStrategy[Bounds]:
    return st.tuples(st.floats(low, high), st.floats(low, high)).map(lambda ends: Bounds(*sorted(ends)))


@given(within(0, 100), within(0.1, 30), within(0, 3), st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_every_point_lies_inside_the_time_and_its_ends_are_reached(
    capacity: Bounds, current: Bounds, tail: Bounds, a: float, b: float, c: float
) -> None:
    """A possible charge would take longer than the report calls possible."""
    hours = charge_hours(capacity, current, tail)
    q, i, t = (
        each.low + part * (each.high - each.low) for each, part in ((capacity, a), (current, b), (tail, c))
    )
    assert hours.low * (1 - 1e-9) <= q / i + t <= hours.high * (1 + 1e-9)
    assert hours.low == pytest.approx(capacity.low / current.high + tail.low)
    assert hours.high == pytest.approx(capacity.high / current.low + tail.high)


@given(within(0.1, 20), within(0.1, 20), st.floats(0, 1), st.floats(0, 1))
def test_at_most_is_judged_as_every_point_is(claim: Bounds, needed: Bounds, a: float, b: float) -> None:
    """A claim would hold although some pack inside the bounds takes longer."""
    said = claim.low + a * (claim.high - claim.low)
    takes = needed.low + b * (needed.high - needed.low)
    verdict, between = judge_at_most(claim, needed)
    margin = margin_at_most_percent(claim, needed)
    assert margin is not None
    if verdict is Verdict.HOLDS:
        assert said >= takes * (1 - 1e-8)
        assert margin.low >= -1e-6
    elif verdict is Verdict.DOES_NOT_HOLD:
        assert said < takes
        assert margin.high < 0
    else:
        assert between == (Verdict.DOES_NOT_HOLD, Verdict.HOLDS)
        assert margin.low < 0
    assert margin.low - 1e-6 <= 100 * (said / takes - 1) <= margin.high + 1e-6


def test_nothing_claimed_has_no_margin() -> None:
    """A report would show a margin against nothing."""
    assert judge_at_most(None, Bounds(1, 2)) == (Verdict.NOT_CLAIMED, None)
    assert margin_at_most_percent(None, Bounds(1, 2)) is None


# -- contradictions of a claim with itself -------------------------------------------------------------------


def told(bench: Any, **claims: Any) -> list[tuple[str, tuple[str, ...]]]:
    data = bench.changed({}, {f"claim.{name}": value for name, value in claims.items()})
    return [(each.text, each.about) for each in bench.judge(data).contradictions]


def test_hours_times_amperes_must_reach_the_capacity(bench: Any) -> None:
    """ "20 Ah, full in 6 h with 2 A" would stand: 6 h x 2 A = 12 Ah. Rule: conservation of charge."""
    ((text, about),) = told(bench, capacity_ah=20, charge_hours=6, charge_current_a=2)
    assert all(part in text for part in ("6 h x 2 A = 12 Ah", "20 Ah"))
    assert set(about) == {"claim.charge_hours", "claim.charge_current_a", "claim.capacity_ah"}
    assert told(bench, capacity_ah=20, charge_hours=11, charge_current_a=2) == []
    assert told(bench, capacity_ah=20, charge_hours=[6, 10], charge_current_a=2) == []


def test_watts_over_volts_must_not_exceed_the_amperes(bench: Any) -> None:
    """ "1500 W, 36 V, 20 A" would stand: 1500 W / 36 V = 41.67 A. Rule: P = U x I."""
    ((text, about),) = told(bench, power_w=1500, nominal_voltage_v=36, continuous_current_a=20)
    assert all(part in text for part in ("1500 W / 36 V = 41.67 A", "20 A"))
    assert set(about) == {"claim.power_w", "claim.nominal_voltage_v", "claim.continuous_current_a"}
    assert told(bench, power_w=720, nominal_voltage_v=36, continuous_current_a=20) == []
    assert told(bench, power_w=500, nominal_voltage_v=36, continuous_current_a=20) == []


def test_the_cell_count_must_be_series_times_parallel(bench: Any) -> None:
    """ "13S4P, 60 cells" would stand: 13 x 4 = 52."""
    ((text, about),) = told(bench, series=13, parallel=4, cell_count=60)
    assert all(part in text for part in ("13 in series x 4 in parallel = 52", "60"))
    assert set(about) == {"claim.cell_count", "claim.series", "claim.parallel"}
    assert told(bench, series=13, parallel=4, cell_count=52) == []


@pytest.mark.parametrize("name", ["charge_voltage_v", "full_voltage_v"])
def test_the_charge_voltage_must_be_that_of_the_series_count(bench: Any, name: str) -> None:
    """ "13 in series, charger 58.8 V" would stand: 58.8 V / 13 = 4.523 V a cell."""
    ((text, about),) = told(bench, series=13, chemistry="NMC", **{name: 58.8})
    assert "4.523 V a cell" in text
    assert about == (f"claim.{name}", "claim.series")
    assert told(bench, series=14, chemistry="NMC", **{name: 58.8}) == []
    assert told(bench, **{name: 58.8}) == []
