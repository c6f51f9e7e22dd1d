"""Power at the battery: current x voltage under load, by hand and point by point."""

from __future__ import annotations

from itertools import product
from math import inf
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from verifier.bounds import Bounds
from verifier.support.sag import _empty_power, _open_power, empty_power_w, power_w
from verifier.verdict import PASSES, Verdict


def sagging(bench: Any, **resistance: float) -> Any:
    return bench.cell("lyr-18650-26", bench.sheet(resistance=resistance or {"dc_mohm": 32}))


def test_power_from_nearly_empty_to_nominal(bench: Any) -> None:
    """31.2 A x 13 x 2.5 V = 1014 W, and 31.2 x (13 x 3.6 - 31.2 x 13 x 0.032 / 4) = 1358.9 W, by hand.

    Without the sag the pack would be sold as 1460 W.
    """
    found = bench.finding("power", bench.seen_through(**{"claim.power_w": 1000}), sagging(bench))
    assert found.supported.low == pytest.approx(1014)
    assert found.supported.high == pytest.approx(1358.92224)
    assert found.verdict is Verdict.HOLDS_WITHOUT_RESERVE
    steps = {step.symbol: step for step in found.steps}
    assert steps["P_full"].value.high == pytest.approx(31.2 * (13 * 4.2 - 31.2 * 0.104))
    assert "under load" in steps["P_empty"].source


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        (676, Verdict.HOLDS_WITH_RESERVE),
        (680, Verdict.HOLDS_WITHOUT_RESERVE),
        (1200, Verdict.NOT_SETTLED),
        (1359, Verdict.DOES_NOT_HOLD),
        (1460, Verdict.DOES_NOT_HOLD),
    ],
)
def test_the_verdict_on_a_power(bench: Any, claim: float, verdict: Verdict) -> None:
    """Watts at the current x nominal voltage would pass, although the voltage falls. 2/3 x 1014 W = 676 W."""
    data = bench.seen_through(**{"claim.power_w": claim})
    assert bench.finding("power", data, sagging(bench)).verdict is verdict


def test_a_smaller_fuse_lowers_the_power(bench: Any) -> None:
    """The power would be that of the cells alone. 20 A x 32.5 V = 650 W."""
    found = bench.finding("power", bench.seen_through(**{"observed.fuse.rating_a": 20}), sagging(bench))
    assert (found.supported.low, found.limited_by) == (pytest.approx(650), "fuse")


def test_a_tired_cell_does_not_reach_its_current_at_all(bench: Any) -> None:
    """Full cells of 400 mohm fall from 4.2 V to the 3.0 V cut-off at 3 A: 7.8 A is never there.

    The load would be granted 31.2 A at the cut-off voltage: 4 x 3 A x 13 x 3.0 V = 468 W, not 1216.8 W.
    """
    cell = sagging(bench, dc_mohm=400)
    data = bench.seen_through(**{"claim.power_w": 600, "claim.load_power_w": 500})
    report = bench.judge(data, cell)
    found = report.finding("power")
    assert found.verdict is Verdict.DOES_NOT_HOLD
    # At nominal 3.6 V the 3.0 V cut-off is met at 1.5 A: 4 x 1.5 A x 13 x 3.0 V.
    assert found.supported.low == pytest.approx(234)
    assert report.finding("load_power").supported.low == pytest.approx(0.8 * 468)
    assert report.rely_on.continuous_power_w.low == pytest.approx(2 / 3 * 234)


@pytest.mark.parametrize(
    "missing",
    [
        ["observed.cell", "claim.cell_marking"],
        ["observed.series", "observed.bms.series", "claim.series", "claim.cell_count"],
        ["observed.parallel", "claim.parallel", "claim.cell_count"],
        ["observed.bms"],
        ["observed.connector"],
        ["observed.fuse"],
        ["observed.leads"],
        ["observed.strip"],
        ["observed.series_links"],
        ["observed.take_off"],
    ],
)
def test_a_missing_fact_never_passes(bench: Any, missing: list[str]) -> None:
    """A power would pass for a pack of which not even the cells are known."""
    data = bench.seen_through(**{"claim.power_w": 400})
    assert bench.finding("power", data, sagging(bench)).verdict in PASSES
    found = bench.finding("power", bench.changed(data, dict.fromkeys(missing)), sagging(bench))
    passes = found.verdict in PASSES and not found.sellers_word
    assert not passes
    assert found.supported.low == 0 or found.sellers_word


def test_without_a_resistance_the_power_is_wider_and_never_higher_at_the_low_end(bench: Any) -> None:
    """A sheet that hides its resistance would be granted more."""
    data = bench.seen_through()
    known = bench.finding("power", data, sagging(bench)).supported
    open_still = bench.finding("power", data, bench.cell()).supported
    assert open_still.low <= known.low
    assert open_still.high >= known.high


def test_an_unbounded_current_gives_an_unbounded_power(bench: Any) -> None:
    """A usual resistance would refute what is claimed of cells that nobody knows."""
    data = bench.changed(bench.build(), {"observed.cell": None})
    assert bench.finding("power", data).supported.high == inf


# -- point by point ------------------------------------------------------------------------------------------

POSITIVE = st.floats(0, 1)


def within(low: float, high: float) -> st.SearchStrategy[Bounds]:
    return st.tuples(st.floats(low, high), st.floats(low, high)).map(lambda ends: Bounds(*sorted(ends)))


def inside(bounds: Bounds, part: float) -> float:
    return min(bounds.high, bounds.low + part * (bounds.high - bounds.low))


def largest_power_w(amps: float, open_v: float, empty_v: float, ohm: float) -> float:
    """Search the currents one by one for the largest power that keeps the voltage above the cut-off."""
    allowed = [amps * step / 2000 for step in range(2001)]
    return max(
        (i * (open_v - i * ohm) for i in allowed if i == 0 or open_v - i * ohm >= empty_v), default=0.0
    )


@given(st.floats(0, 60), st.floats(2, 4.5), st.floats(1.5, 3), st.floats(0.002, 0.5))
def test_the_largest_power_is_found_beyond_the_top_of_the_parabola(
    amps: float, open_v: float, empty_v: float, ohm: float
) -> None:
    """I x (U - I x R) falls again beyond U / 2R; a larger limit would be reported as less power."""
    searched = largest_power_w(amps, open_v, empty_v, ohm)
    exact = power_w(amps, open_v, empty_v, ohm)
    assert searched <= exact * (1 + 1e-9) + 1e-12
    step = amps / 2000
    # One step short of the largest current loses no more than that step x the voltage.
    assert exact - searched <= step * open_v + 1e-9


@given(
    within(0, 60), within(3.5, 4.45), within(2.3, 3.9), within(1.5, 3), within(0.002, 0.5),
    st.tuples(POSITIVE, POSITIVE, POSITIVE, POSITIVE, POSITIVE),
)  # fmt: skip
@settings(max_examples=500)
def test_every_point_inside_the_inputs_lies_inside_the_power_and_its_ends_are_reached(
    amps: Bounds, full: Bounds, nominal: Bounds, empty: Bounds, ohm: Bounds, parts: tuple[float, ...]
) -> None:
    """A possible pack would deliver less, or more, than the report calls possible."""
    i, full_v, open_v, empty_v, r = (
        inside(each, part) for each, part in zip((amps, full, nominal, empty, ohm), parts, strict=True)
    )
    nearly_empty, loaded = _empty_power(amps, full, empty, ohm), _open_power(amps, nominal, empty, ohm)
    slack = 1e-9
    assert nearly_empty.low - slack <= empty_power_w(i, full_v, empty_v, r) <= nearly_empty.high + slack
    assert loaded.low - slack <= power_w(i, open_v, empty_v, r) <= loaded.high + slack
    grid = [inside(empty, part / 400) for part in range(401)]
    ends = list(product((amps.low, amps.high), (full.low, full.high), grid, (ohm.low, ohm.high)))
    reached = [empty_power_w(i, full_v, empty_v, r) for i, full_v, empty_v, r in ends]
    assert min(reached) <= nearly_empty.low * 1.01 + slack
    assert max(reached) >= nearly_empty.high * 0.99 - slack
    corners = product((amps.low, amps.high), (nominal.low, nominal.high), (empty.low, empty.high),
                      (ohm.low, ohm.high))  # fmt: skip
    powers = [power_w(*corner) for corner in corners]
    assert (min(powers), max(powers)) == (pytest.approx(loaded.low), pytest.approx(loaded.high))
