"""Range: road load over every ride that the case leaves open; the bounds are sound and reached.

13S4P of 2.6 Ah and 3.6 V: 10.4 Ah x 46.8 V = 486.7 Wh. Road-load model: Martin et al. 1998, DOI
10.1123/jab.14.3.276.
"""

from __future__ import annotations

from itertools import product
from math import atan, cos, inf, sin
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from verifier.finding import Finding
from verifier.verdict import PASSES, Verdict

ENERGY_WH = 10.4 * 46.8
RIDE: dict[str, Any] = {
    "use.rider_kg": 80, "use.vehicle_kg": 25, "use.speed_km_h": 25, "use.efficiency": 0.75,
    "limits.rider_power_w": 0, "limits.rolling_resistance": 0.006, "limits.drag_area_m2": 0.60,
    "limits.air_density_kg_per_m3": 1.225, "limits.road_grade": 0, "limits.usable_energy": 0.9,
}  # fmt: skip
OPEN: dict[str, tuple[float, float]] = {
    "use.rider_kg": (40, 130), "use.vehicle_kg": (10, 60), "use.speed_km_h": (5, 45),
    "use.efficiency": (0.4, 1), "limits.rider_power_w": (0, 250), "limits.rolling_resistance": (0.002, 0.02),
    "limits.drag_area_m2": (0.3, 1.2), "limits.air_density_kg_per_m3": (0.9, 1.4),
    "limits.road_grade": (-0.05, 0.1), "limits.usable_energy": (0.6, 1),
}  # fmt: skip
MOTOR_SHARE = 0.5


def judged(bench: Any, **changes: Any) -> Finding:
    found: Finding = bench.finding("range", bench.build(**{**RIDE, **changes}))
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
    battery_w = motor_w / ride["use.efficiency"]
    energy_wh = ENERGY_WH * ride["limits.usable_energy"]
    return inf if battery_w == 0 else energy_wh / battery_w * ride["use.speed_km_h"]


def test_one_ride_by_hand(bench: Any) -> None:
    """A range would be off: 166.0 W at 25 km/h, by throttle at 0.75: 8.85 Wh/km; 438 Wh carry 49.5 km."""
    found = judged(bench)
    assert found.supported.low == pytest.approx(486.72 * 0.9 / 8.853, rel=1e-3)
    assert found.supported.low == pytest.approx(found.supported.high)


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        (45, Verdict.HOLDS),
        (60, Verdict.DOES_NOT_HOLD),
        (900, Verdict.DOES_NOT_HOLD),
        (None, Verdict.NOT_CLAIMED),
    ],
)
def test_a_claim_against_one_ride(bench: Any, claim: float | None, verdict: Verdict) -> None:
    """A range beyond what the energy carries would stand."""
    assert judged(bench, **{"claim.range_km": claim}).verdict is verdict


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [(15, Verdict.HOLDS), (60, Verdict.NOT_SETTLED), (900, Verdict.DOES_NOT_HOLD)],
)
def test_a_claim_without_a_rider_is_judged_over_every_usual_ride(
    bench: Any, claim: float, verdict: Verdict
) -> None:
    """A range of 60 km would be settled without saying who rides how, or one of 900 km stand."""
    found = bench.finding("range", bench.build(**{"claim.range_km": claim}))
    assert found.verdict is verdict
    assert {"use.rider_kg", "use.vehicle_kg", "use.speed_km_h"} <= set(found.unknown)
    if verdict in PASSES:
        assert any("use.rider_kg" in text for text in found.cautions)


def test_what_the_claim_leaves_for_a_kilometre_is_told(bench: Any) -> None:
    """A user could not compare the claim with rides that he knows: 438 Wh / 40 km = 11 Wh."""
    said = " ".join(judged(bench, **{"claim.range_km": 40}).cautions)
    assert "40 km leaves 11 Wh" in said
    assert "8.85" in said


@pytest.mark.parametrize("missing", ["observed.series", "observed.parallel", "observed.cell"])
def test_a_missing_fact_never_passes(bench: Any, missing: str) -> None:
    """A range would pass although nobody knows what energy is inside."""
    assert judged(bench, **{"claim.range_km": 45}).verdict in PASSES
    found = judged(bench, **{"claim.range_km": 45, missing: None})
    assert found.verdict not in PASSES
    assert any(name.startswith(missing) for name in found.unknown)


def test_a_measured_capacity_decides(bench: Any) -> None:
    """An aged pack would be sold by its sheet's range: 5.2 of 10.4 Ah carry half as far."""
    whole, half = judged(bench).supported, judged(bench, **{"observed.capacity_ah": 5.2}).supported
    assert half.low == pytest.approx(whole.low / 2)


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
@settings(max_examples=300)
def test_no_ride_inside_the_ranges_leaves_the_bounds(
    bench: Any, both: tuple[dict[str, list[float]], dict[str, float]]
) -> None:
    """A rider would stand still before the range granted, or ride beyond the one called impossible."""
    ranges, ride = both
    found = judged(bench, **ranges).supported
    reached = range_km(ride)
    assert found.low <= reached * (1 + 1e-6)
    assert reached <= found.high * (1 + 1e-6)


@given(rides())
def test_both_ends_are_reached_by_some_ride(
    bench: Any, both: tuple[dict[str, list[float]], dict[str, float]]
) -> None:
    """Bounds so wide that nothing is ever settled would pass the test above; every corner is tried."""
    ranges, _ = both
    corners = [dict(zip(ranges, ends, strict=True)) for ends in product(*ranges.values())]
    reached = [range_km(corner) for corner in corners]
    found = judged(bench, **ranges).supported
    assert found.low == pytest.approx(min(reached), rel=1e-6)
    assert found.high == pytest.approx(max(reached), rel=1e-6)
