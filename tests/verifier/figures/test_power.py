"""Power at the battery and at the motor: current x voltage under load, by hand and point by point."""

from __future__ import annotations

from itertools import product
from math import inf
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from verifier.bounds import Bounds
from verifier.pack.power import empty_power_bounds, empty_power_w, open_power_bounds, power_w
from verifier.quantities import Quantity
from verifier.verdict import PASSES, Verdict
from verifier.words import remark_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

NO_SERIES = (
    "observed.series", "observed.bms.series", "claim.series", "claim.cell_count", "claim.nominal_voltage_v",
)  # fmt: skip


def sagging(bench: Bench, **resistance: float) -> Any:
    return bench.cell("lyr-18650-26", bench.sheet(resistance=resistance or {"dc_mohm": 32}))


def seen(bench: Bench, **changes: Any) -> Any:
    """Return a pack seen through, in a room, where the sheet's resistance is that of the cell."""
    return bench.seen_through(**{"use.temperature_c": 25, **changes})


# -- at the battery ------------------------------------------------------------------------------------------


def test_power_from_nearly_empty_to_full(bench: Bench) -> None:
    """The trade's product of 31.2 A and 46.8 V would be called false, or be granted of a pack that is nearly empty.

    31.2 A x 13 x 2.5 V = 1014 W, and 31.2 x (13 x 4.2 - 31.2 x 13 x 0.032 / 4) = 1602.3 W, by hand.
    """
    found = bench.figure("power", seen(bench, **{"claim.power_w": 1000}), sagging(bench))
    assert found.supported.low == pytest.approx(1014)
    assert found.supported.high == pytest.approx(1602.28224)
    assert found.verdict is Verdict.HOLDS_WITHOUT_RESERVE
    steps = {step.symbol: step.value for step in found.steps}
    assert steps["R_group"].low == pytest.approx(steps["R_cell"].low / 1000 / steps["P"].low)
    amps = steps["I_nominal"].low
    assert steps["P_nominal"].low == pytest.approx(
        steps["S"].low * amps * (steps["U_cell"].low - amps * steps["R_group"].low)
    )
    assert steps["P_empty"].low == pytest.approx(steps["S"].low * steps["U_empty"].low * steps["I_pack"].low)


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        (676, Verdict.HOLDS_WITH_RESERVE),
        (680, Verdict.HOLDS_WITHOUT_RESERVE),
        (1200, Verdict.NOT_SETTLED),
        # 31.2 A x 13 x 3.6 V: what packs are sold as; a full one gives it.
        (1460, Verdict.NOT_SETTLED),
        (1602, Verdict.NOT_SETTLED),
        (1603, Verdict.DOES_NOT_HOLD),
    ],
)
def test_the_verdict_on_a_power(bench: Bench, claim: float, verdict: Verdict) -> None:
    """Watts at the current x nominal voltage would pass, although the voltage falls, or be called a lie.

    2/3 x 1014 W = 676 W.
    """
    data = seen(bench, **{"claim.power_w": claim})
    assert bench.figure("power", data, sagging(bench)).verdict is verdict


def test_a_smaller_fuse_lowers_the_power(bench: Bench) -> None:
    """The power would be that of the cells alone. 20 A x 32.5 V = 650 W."""
    found = bench.figure("power", seen(bench, **{"observed.fuse.rating_a": 20}), sagging(bench))
    assert (found.supported.low, found.limited_by) == (pytest.approx(650), "fuse")


def test_a_tired_cell_does_not_reach_its_current_at_all(bench: Bench) -> None:
    """Cells of 400 mohm fall from 3.6 V to the 3.0 V cut-off at 1.5 A: 7.8 A is never there for long.

    The current that takes a full cell to its cut-off, 3 A from 4.2 V, was granted before: such a pack cuts out
    once it is no longer full. 4 x 1.5 A x 13 x 3.0 V = 234 W from the battery; 0.8 of it at the motor.
    """
    cell = sagging(bench, dc_mohm=400)
    data = seen(bench, **{"claim.power_w": 600, "claim.load_power_w": 500})
    report = bench.judge(data, cell)
    found = report.finding("power")
    assert found.verdict is Verdict.DOES_NOT_HOLD
    assert found.supported.low == pytest.approx(234)
    load = report.finding("load_power")
    assert load.supported.low == pytest.approx(0.8 * 234)
    assert load.verdict is Verdict.DOES_NOT_HOLD
    assert report.rely_on.continuous_power_w.low == pytest.approx(2 / 3 * 234)


def test_cells_of_open_resistance_do_not_carry_a_large_motor(bench: Bench) -> None:
    """A sheet without a resistance, and a motor held that takes more than the battery surely gives."""
    data = seen(bench, **{"claim.power_w": 1100, "claim.load_power_w": 800, "use.efficiency": 0.8})
    power, load = bench.figure("power", data), bench.figure("load_power", data)
    assert (power.verdict, load.verdict) == (Verdict.NOT_SETTLED, Verdict.NOT_SETTLED)
    assert load.supported.low <= 0.8 * power.supported.low * (1 + 1e-9)
    assert "sheet.resistance" in load.unknown


def test_in_the_cold_cells_resist_more(bench: Bench) -> None:
    """A pack at -10 C would be granted the power of a room.

    Published 10 s resistances: 10 C 1.25 to 1.6, 0 C 1.4 to 2.0, -10 C 1.6 to 2.5 of that at 25 C.
    """
    sheet = bench.sheet(
        resistance={"dc_mohm": 100}, discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": 7.8}]
    )
    cell = bench.cell("lyr-18650-26", sheet)
    room, cold = (
        bench.figure("power", seen(bench, **{"use.temperature_c": air_c}), cell).supported
        for air_c in (25, -10)
    )
    # At the 3.0 V cut-off: (3.6 - 3.0) V / 0.1 ohm = 6 A a cell in a room, 2.4 A at 2.5 times the resistance.
    assert room.low == pytest.approx(13 * 4 * 6 * 3.0)
    assert 0 < cold.low <= 13 * 4 * 2.4 * 3.0


@pytest.mark.parametrize(
    "missing",
    [
        ["observed.cell", "claim.cell_marking"],
        [*NO_SERIES],
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
@pytest.mark.parametrize("figure", ["power", "load_power"])
def test_a_missing_fact_never_passes(bench: Bench, figure: str, missing: list[str]) -> None:
    """A power would pass for a pack of which not even the cells are known."""
    data = seen(bench, **{"claim.power_w": 600, "claim.load_power_w": 500})
    assert bench.figure(figure, data, sagging(bench)).verdict in PASSES
    found = bench.figure(figure, bench.changed(data, dict.fromkeys(missing)), sagging(bench))
    assert found.verdict is Verdict.NOT_SETTLED
    assert any(name.startswith(missing[0]) for name in found.unknown)


def test_an_unknown_current_is_not_bounded_by_a_usual_resistance(bench: Bench) -> None:
    """A usual resistance would refute what is claimed of cells that nobody knows."""
    data = bench.changed(bench.build(), {"observed.cell": None})
    assert bench.figure("power", data).supported.high == inf


# -- at the motor --------------------------------------------------------------------------------------------


def test_a_load_is_judged_at_the_voltage_of_a_nearly_empty_pack(bench: Bench) -> None:
    """A motor would be promised the power of a full pack. 31.2 A x 13 x 2.5..3.0 V x 0.8 = 811..973 W."""
    found = bench.figure("load_power", seen(bench, **{"claim.load_power_w": 800}), sagging(bench))
    assert found.supported.low == pytest.approx(811.2)
    assert found.supported.high == pytest.approx(973.44)


@pytest.mark.parametrize(
    ("claim", "verdict", "asked"),
    [
        (540, Verdict.HOLDS_WITH_RESERVE, 540),
        (800, Verdict.HOLDS_WITHOUT_RESERVE, 800),
        (900, Verdict.NOT_SETTLED, 900),
        (1000, Verdict.DOES_NOT_HOLD, 1000),
        # "Suits 200 to 1000 W" is said of the motor of 1000 W too; it was open, as a doubt about one motor.
        ([200, 1000], Verdict.DOES_NOT_HOLD, 1000),
        ([200, 540], Verdict.HOLDS_WITH_RESERVE, 540),
    ],
)
def test_a_span_of_motors_is_judged_by_its_largest(
    bench: Bench, claim: Any, verdict: Verdict, asked: float
) -> None:
    """A seller would pass a motor of 1000 W by naming one of 200 W beside it. 811.2 W; 2/3 of it is 540.8 W."""
    found = bench.figure("load_power", seen(bench, **{"claim.load_power_w": claim}), sagging(bench))
    assert (found.verdict, found.claimed) == (verdict, Bounds(asked, asked))
    told = bench.told(found, "motor_span")
    assert (told is not None) is isinstance(claim, list)
    if told is not None:
        assert told.numbers == {"low_w": 200, "high_w": asked}


def test_what_a_motor_takes_is_told(bench: Bench) -> None:
    """A user could not set the controller: 500 W at the motor of 0.8 take 625 W, and from 54.6 V (full) 11.4 A.

    From 32.5 V, nearly empty, 19.2 A; where the BMS is said to stop at 39 V, 16.0 A.
    """
    found = bench.figure("load_power", seen(bench, **{"claim.load_power_w": 500}), sagging(bench))
    told = bench.remark(found, "motor_takes").numbers
    assert (told["full_a"], told["empty_a"]) == (
        pytest.approx(11.45, abs=0.01),
        pytest.approx(19.23, abs=0.01),
    )
    assert (told["empty_v"], told["at_cutoff"]) == (32.5, None)
    text = remark_text(next(each for each in found.cautions if each.code == "motor_takes"))
    assert text == "a 500 W motor draws 11 A when full to 20 A when nearly empty (32.5 V)"
    stops = {"claim.load_power_w": 500, "claim.cutoff_voltage_v": 39}
    found = bench.figure("load_power", seen(bench, **stops), sagging(bench))
    assert bench.remark(found, "motor_takes").numbers["at_cutoff"] == (39, pytest.approx(16.03, abs=0.01))
    text = remark_text(next(each for each in found.cautions if each.code == "motor_takes"))
    assert text.endswith("(32.5 V; 17 A at the 39 V where its BMS is said to stop)")
    # One below the cells' own end stops nothing before them.
    found = bench.figure("load_power", seen(bench, **{**stops, "claim.cutoff_voltage_v": 30}), sagging(bench))
    assert bench.remark(found, "motor_takes").numbers["at_cutoff"] is None
    no_count = dict.fromkeys(NO_SERIES)
    found = bench.figure("load_power", seen(bench, **{"claim.load_power_w": 500, **no_count}), sagging(bench))
    assert bench.told(found, "motor_takes") is None


@pytest.mark.parametrize(
    ("claim", "verdict"),
    # 0.70 x 1014 W = 709.8 W by the usual drive; 1.0 x 1216.8 W by the best there could be.
    [(700, Verdict.HOLDS_WITHOUT_RESERVE), (1100, Verdict.NOT_SETTLED), (1217, Verdict.DOES_NOT_HOLD)],
)
def test_a_usual_efficiency_carries_a_pass_that_says_so_and_no_refusal(
    bench: Bench, claim: float, verdict: Verdict
) -> None:
    """A good drive would be refuted by our guess of a usual one: 0.70 to 0.85, from memory."""
    data = seen(bench, **{"claim.load_power_w": claim, "use.efficiency": None})
    found = bench.figure("load_power", data, sagging(bench))
    assert found.verdict is verdict
    assert (bench.told(found, "default_efficiency") is not None) is (verdict in PASSES)
    if verdict is Verdict.NOT_SETTLED:
        assert "use.efficiency" in found.unknown


def test_an_efficiency_that_the_user_sets_is_taken_at_its_word(bench: Bench) -> None:
    """A user's own limit could not refute: 0.75 x 1216.8 W = 912.6 W."""
    changes = {"claim.load_power_w": 913, "use.efficiency": None, "limits.drive_efficiency": [0.7, 0.75]}
    found = bench.figure("load_power", seen(bench, **changes), sagging(bench))
    assert (found.verdict, found.supported.high) == (Verdict.DOES_NOT_HOLD, pytest.approx(912.6))


# -- point by point ------------------------------------------------------------------------------------------

PART = st.floats(0, 1)


def within(low: float, high: float) -> st.SearchStrategy[Quantity]:
    return st.tuples(st.floats(low, high), st.floats(low, high)).map(lambda ends: Quantity(*sorted(ends)))


def inside(bounds: Quantity, part: float) -> float:
    return float(min(bounds.high, bounds.low + part * (bounds.high - bounds.low)))


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
    # One step short of the largest current loses no more than that step x the voltage.
    assert exact - searched <= amps / 2000 * open_v + 1e-9


@given(
    within(0, 60), within(2.3, 3.9), within(1.5, 3), within(0.002, 0.5), st.tuples(PART, PART, PART, PART),
)  # fmt: skip
@settings(max_examples=120)
def test_every_point_inside_the_inputs_lies_inside_the_power_and_its_ends_are_reached(
    amps: Quantity, nominal: Quantity, empty: Quantity, ohm: Quantity, parts: tuple[float, ...]
) -> None:
    """A possible pack would deliver less, or more, than the report calls possible."""
    i, open_v, empty_v, r = (
        inside(each, part) for each, part in zip((amps, nominal, empty, ohm), parts, strict=True)
    )
    nearly_empty = empty_power_bounds(amps, nominal, empty, ohm)
    loaded = open_power_bounds(amps, nominal, empty, ohm)
    slack = 1e-9
    assert nearly_empty[0] - slack <= empty_power_w(i, open_v, empty_v, r) <= nearly_empty[1] + slack
    assert loaded[0] - slack <= power_w(i, open_v, empty_v, r) <= loaded[1] + slack
    grid = [inside(empty, part / 200) for part in range(201)]
    ends = list(product((amps.low, amps.high), (nominal.low, nominal.high), grid, (ohm.low, ohm.high)))
    reached = [empty_power_w(*each) for each in ends]
    assert min(reached) <= nearly_empty[0] * 1.01 + slack
    assert max(reached) >= nearly_empty[1] * 0.98 - slack
    corners = product((amps.low, amps.high), (nominal.low, nominal.high), (empty.low, empty.high),
                      (ohm.low, ohm.high))  # fmt: skip
    powers = [power_w(*corner) for corner in corners]
    assert (min(powers), max(powers)) == (pytest.approx(loaded[0]), pytest.approx(loaded[1]))


@given(within(0, 60), within(2.3, 3.9), within(1.5, 3), within(0, 0.5))
def test_a_pack_never_gives_less_at_its_nominal_voltage_than_nearly_empty(
    amps: Quantity, nominal: Quantity, empty: Quantity, ohm: Quantity
) -> None:
    """A motor would be granted more than the battery gives: nearly empty is the least of a pack's states."""
    nearly_empty = empty_power_bounds(amps, nominal, empty, ohm)
    loaded = open_power_bounds(amps, nominal, empty, ohm)
    assert nearly_empty[1] <= loaded[1] * (1 + 1e-9) + 1e-9
