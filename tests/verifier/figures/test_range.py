"""Range: road load over every ride that the case leaves open; the bounds are sound and reached.

13S4P of 2.6 Ah and 3.6 V: 10.4 Ah x 46.8 V = 486.7 Wh, up to 5 % more of cells whose sheet calls 2.6 Ah typical
too. Road-load model: Martin et al. 1998, DOI 10.1123/jab.14.3.276.
"""

from __future__ import annotations

from itertools import product
from math import atan, cos, inf, sin
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.cell import Cell
from verifier.figures.range import usable_part
from verifier.finding import Finding
from verifier.verdict import PASSES, Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

ENERGY_WH = 10.4 * 46.8
RIDE: dict[str, Any] = {
    "use.rider_kg": 80, "use.vehicle_kg": 25, "use.speed_km_h": 25, "use.efficiency": 0.75,
    "limits.rider_power_w": 0, "limits.rolling_resistance": 0.006, "limits.drag_area_m2": 0.60,
    "limits.air_density_kg_per_m3": 1.225, "limits.road_grade": 0, "limits.usable_energy": 0.9,
    # A motor in the hub, and cells that hold what their sheet calls typical and no more.
    "limits.chain_efficiency": 1, "limits.capacity_over_typical": 0,
}  # fmt: skip
OPEN: dict[str, tuple[float, float]] = {
    "use.rider_kg": (40, 130), "use.vehicle_kg": (10, 60), "use.speed_km_h": (5, 45),
    "use.efficiency": (0.4, 1), "limits.rider_power_w": (0, 250), "limits.rolling_resistance": (0.002, 0.02),
    "limits.drag_area_m2": (0.3, 1.2), "limits.air_density_kg_per_m3": (0.9, 1.4),
    "limits.road_grade": (-0.05, 0.1), "limits.usable_energy": (0.6, 1), "limits.chain_efficiency": (0.9, 1),
}  # fmt: skip
MOTOR_SHARE = 0.5


def cell(bench: Bench) -> Cell:
    capacity = [{"kind": "minimum", "value_ah": 2.6}, {"kind": "typical", "value_ah": 2.6}]
    found: Cell = bench.cell("lyr-18650-26", bench.sheet(capacity=capacity))
    return found


def judged(bench: Bench, **changes: Any) -> Finding:
    found: Finding = bench.figure("range", bench.build(**{**RIDE, **changes}), cell(bench))
    return found


def range_km(ride: dict[str, float]) -> float:
    """Return the range of one ride, written out from the paper and not taken from the program. [km]."""
    speed = ride["use.speed_km_h"] / 3.6
    mass, slope = ride["use.rider_kg"] + ride["use.vehicle_kg"], atan(ride["limits.road_grade"])
    rolling = ride["limits.rolling_resistance"] * mass * 9.81 * cos(slope)
    climbing = mass * 9.81 * sin(slope)
    drag = 0.5 * ride["limits.air_density_kg_per_m3"] * ride["limits.drag_area_m2"] * speed**2
    wheel_w = speed * (rolling + climbing + drag)
    motor_w = max(wheel_w - ride["limits.rider_power_w"], MOTOR_SHARE * wheel_w, 0)
    battery_w = motor_w / ride["use.efficiency"] / ride["limits.chain_efficiency"]
    energy_wh = ENERGY_WH * ride["limits.usable_energy"]
    return inf if battery_w == 0 else energy_wh / battery_w * ride["use.speed_km_h"]


def test_one_ride_by_hand(bench: Bench) -> None:
    """A range would be off: 166.0 W at 25 km/h, by throttle at 0.75: 8.85 Wh/km; 438 Wh carry 49.5 km."""
    found = judged(bench)
    assert found.supported.low == pytest.approx(486.72 * 0.9 / 8.853, rel=1e-3)
    assert found.supported.low == pytest.approx(found.supported.high)
    steps = {step.symbol: step.value.low for step in found.steps}
    assert steps["e"] == pytest.approx(steps["F"] / 3.6 / steps["eta_wheel"])
    assert steps["E_usable"] == pytest.approx(steps["E_pack"] * steps["k_usable"])
    assert steps["s"] == pytest.approx(steps["E_usable"] / steps["e"])


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        (45, Verdict.HOLDS),
        (60, Verdict.DOES_NOT_HOLD),
        (900, Verdict.DOES_NOT_HOLD),
        (None, Verdict.NOT_CLAIMED),
    ],
)
def test_a_claim_against_one_ride(bench: Bench, claim: float | None, verdict: Verdict) -> None:
    """A range beyond what the energy carries would stand."""
    assert judged(bench, **{"claim.range_km": claim}).verdict is verdict


# -- what nobody stated --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("claim", "verdict", "beyond"),
    [
        (15, Verdict.HOLDS, False),
        (60, Verdict.NOT_SETTLED, False),
        # No usual ride goes so far, which is said; our guess of a rider does not refute (it did before).
        (900, Verdict.NOT_SETTLED, True),
    ],
)
def test_a_usual_ride_carries_a_pass_that_says_so_and_no_refusal(
    bench: Bench, claim: float, verdict: Verdict, beyond: bool
) -> None:
    """A range of 60 km would be settled without saying who rides how, or an unusual rider be called a liar."""
    found = bench.figure("range", bench.build(**{"claim.range_km": claim}), cell(bench))
    assert found.verdict is verdict
    assert {"use.rider_kg", "use.vehicle_kg", "use.speed_km_h"} <= set(found.unknown)
    told = bench.told(found, "default_ride")
    assert (told is not None) is (verdict in PASSES)
    if told is not None:
        assert told.fields == ("use.rider_kg", "use.vehicle_kg", "use.speed_km_h")
    assert (bench.told(found, "beyond_usual_rides") is not None) is beyond


@pytest.mark.parametrize("missing", ["use.rider_kg", "use.vehicle_kg", "use.speed_km_h"])
def test_what_is_left_open_of_a_ride_is_bounded_by_physics_alone(bench: Bench, missing: str) -> None:
    """A light rider, or a slow one, would be told that he cannot ride so far as he does."""
    whole, found = judged(bench).supported, judged(bench, **{missing: None})
    lightest = {"use.rider_kg": 1e-9, "use.vehicle_kg": 1e-9, "use.speed_km_h": 1e-9}[missing]
    best = {**{name: RIDE[name] for name in OPEN}, missing: lightest}
    assert found.supported.high == pytest.approx(range_km(best), rel=1e-6)
    assert found.supported.high > whole.high
    assert missing in found.unknown


def test_a_ride_that_the_user_sets_as_limits_is_taken_at_its_word(bench: Bench) -> None:
    """A fleet that sets its own riders as limits would never see a claim refuted."""
    ride = {"use.rider_kg": None, "use.vehicle_kg": None, "use.speed_km_h": None}
    limits = {"limits.rider_kg": 80, "limits.vehicle_kg": 25, "limits.speed_km_h": 25}
    found = judged(bench, **ride, **limits, **{"claim.range_km": 60})
    assert found.supported == judged(bench).supported
    assert found.verdict is Verdict.DOES_NOT_HOLD


def test_a_chain_takes_its_part(bench: Bench) -> None:
    """A range by the efficiency to the shaft would be 2 to 5 % too long where a chain drives the wheel."""
    shaft, wheel = judged(bench).supported, judged(bench, **{"limits.chain_efficiency": None}).supported
    assert wheel.low == pytest.approx(0.95 * shaft.low)
    # A motor in the hub has none.
    assert wheel.high == pytest.approx(shaft.high)


def test_what_the_claim_leaves_for_a_kilometre_is_told(bench: Bench) -> None:
    """A user could not compare the claim with rides that he knows: 438 Wh / 40 km = 11 Wh."""
    told = bench.remark(judged(bench, **{"claim.range_km": 40}), "range_leaves").numbers
    assert (told["left_low_wh"], told["takes_low_wh"]) == (
        pytest.approx(10.95, abs=0.01),
        pytest.approx(8.85, abs=0.01),
    )


@pytest.mark.parametrize("missing", ["observed.series", "observed.parallel", "observed.cell"])
def test_a_missing_fact_never_passes(bench: Bench, missing: str) -> None:
    """A range would pass although nobody knows what energy is inside."""
    assert judged(bench, **{"claim.range_km": 45}).verdict in PASSES
    found = judged(bench, **{"claim.range_km": 45, missing: None})
    assert found.verdict not in PASSES
    assert any(name.startswith(missing) for name in found.unknown)


def test_a_measured_capacity_decides(bench: Bench) -> None:
    """An aged pack would be sold by its sheet's range: 5.2 of 10.4 Ah carry half as far, within the meter."""
    test = {
        "observed.capacity_temperature_c": 25,
        "observed.capacity_current_a": 1.04,
        "limits.meter_error": 0,
    }
    whole = judged(bench).supported
    half = judged(bench, **test, **{"observed.capacity_ah": 5.2}).supported
    # A test at 0.2C in a room gives the rated capacity within a few percent.
    assert 0.9 * whole.low / 2 <= half.low <= whole.low / 2 <= half.high <= 1.1 * whole.high / 2


# -- temperature and rate ------------------------------------------------------------------------------------


def test_in_the_cold_less_comes_out(bench: Bench) -> None:
    """20 km from -20 C on would hold by the energy of a room. Measured at 0 C and C/2, new cells: 0.83.

    The sets: two makes of cell at 0 C, between 0.83 and 0.90; see the electrical bounds for their sources.
    """
    parts = [
        usable_part(
            bench.known(
                bench.build(**{**RIDE, "limits.usable_energy": None, "use.temperature_c": air_c}), cell(bench)
            )
        )
        for air_c in (25, 0, -20)
    ]
    room, frost, deep = parts
    assert room.low > frost.low > deep.low
    assert frost.low < 0.83
    assert deep.low < 0.6
    assert room.high >= 1.0


def test_a_fast_ride_gets_less_out(bench: Bench) -> None:
    """A range at 3C would be that of C/10. Measured in a room: 1.00 at C/10, 0.90 at 3C."""
    slow, fast = (
        usable_part(
            bench.known(
                bench.build(**{**RIDE, "limits.usable_energy": None, "use.speed_km_h": km_h}), cell(bench)
            )
        )
        for km_h in (8, 50)
    )
    assert fast.low < 0.9
    assert fast.low < slow.low
    assert slow.high >= 1.0


def test_air_that_nobody_stated_carries_a_pass_and_no_refusal(bench: Bench) -> None:
    """Our guess of 0 to 40 C would refute a summer's ride, or pass one without a word."""
    by_air = {**RIDE, "limits.usable_energy": None, "claim.range_km": 30}
    guessed = judged(bench, **{**by_air, "use.temperature_c": None})
    stated = judged(bench, **{**by_air, "use.temperature_c": [0, 40]})
    summer = judged(bench, **{**by_air, "use.temperature_c": 30})
    assert guessed.supported.low == stated.supported.low
    assert guessed.supported.high >= summer.supported.high
    assert guessed.verdict in PASSES
    assert bench.told(guessed, "default_air") is not None
    assert "use.temperature_c" in guessed.unknown
    assert bench.told(stated, "default_air") is None


# -- point by point ------------------------------------------------------------------------------------------


@st.composite
def rides(draw: st.DrawFn) -> tuple[dict[str, list[float]], dict[str, float]]:
    """Return ranges for every part of a ride, and one ride inside them."""
    ranges, ride = {}, {}
    for name, (low, high) in OPEN.items():
        # Minus zero is zero here.
        ends = sorted((draw(st.floats(low, high)) + 0.0, draw(st.floats(low, high)) + 0.0))
        ranges[name], ride[name] = ends, draw(st.floats(*ends))
    return ranges, ride


@given(rides())
@settings(max_examples=80)
def test_no_ride_inside_the_ranges_leaves_the_bounds(
    bench: Bench, both: tuple[dict[str, list[float]], dict[str, float]]
) -> None:
    """A rider would stand still before the range granted, or ride beyond the one called impossible."""
    ranges, ride = both
    found = judged(bench, **ranges).supported
    reached = range_km(ride)
    assert found.low <= reached * (1 + 1e-6)
    assert reached <= found.high * (1 + 1e-6)


@given(rides())
@settings(max_examples=30)
def test_both_ends_are_reached_by_some_ride(
    bench: Bench, both: tuple[dict[str, list[float]], dict[str, float]]
) -> None:
    """Bounds so wide that nothing is ever settled would pass the test above; every corner is tried."""
    ranges, _ = both
    reached = [range_km(dict(zip(ranges, corner, strict=True))) for corner in product(*ranges.values())]
    found = judged(bench, **ranges).supported
    assert found.low == pytest.approx(min(reached), rel=1e-6)
    assert found.high == pytest.approx(max(reached), rel=1e-6)
