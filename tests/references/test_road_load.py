"""Road load against worked numbers and a published case.

Sources: the model of Martin et al. 1998, J. Appl. Biomech. 14, 276-291, DOI 10.1123/jab.14.3.276 (DOI from
memory), worked for 105 and 150 kg; the climb with the constants printed in table 1 of DOI
10.1007/s12283-021-00345-2; a field test of 500 Wh mountain e-bikes by the Bern University of Applied
Sciences, quoted second-hand.
"""

from __future__ import annotations

import pytest

from verifier.case.limits import Limits
from verifier.electrical.road_load import battery_wh_per_km, road_force_n

KM_H = 1 / 3.6
UPRIGHT = {"mass_kg": 105, "rolling_resistance": 0.006, "drag_area_m2": 0.60, "air_density_kg_per_m3": 1.225}
TOURING = {**UPRIGHT, "rolling_resistance": 0.0045, "drag_area_m2": 0.40}
CARGO = {**UPRIGHT, "mass_kg": 150, "rolling_resistance": 0.008, "drag_area_m2": 0.70}


@pytest.mark.parametrize(
    ("km_h", "upright_w", "touring_w", "cargo_w"),
    [
        (15, 52.3, 37.0, 80.1),
        (20, 97.3, 67.8, 138.9),
        (25, 166.0, 114.2, 225.3),
        (32, 313.0, 213.3, 405.8),
        (45, 795.0, 536.5, 984.6),
    ],
)
def test_flat_road(km_h: float, upright_w: float, touring_w: float, cargo_w: float) -> None:
    """Every range would rest on a wrong power at the wheel."""
    for ride, expected in ((UPRIGHT, upright_w), (TOURING, touring_w), (CARGO, cargo_w)):
        speed = km_h * KM_H
        assert speed * road_force_n(**ride, speed_m_per_s=speed) == pytest.approx(expected, rel=1e-3)


def test_watt_hours_for_a_kilometre() -> None:
    """Watts would be turned into the wrong watt-hours for a kilometre: 166.0 W at 25 km/h are 6.64 Wh/km."""
    speed = 25 * KM_H
    force = road_force_n(**UPRIGHT, speed_m_per_s=speed)

    def taken(rider_w: float, efficiency: float) -> float:
        found: float = battery_wh_per_km(
            force_n=force, speed_m_per_s=speed, rider_power_w=rider_w, motor_share=0, efficiency=efficiency
        )
        return found

    assert taken(0, 1) == pytest.approx(6.64, rel=1e-3)
    # At an efficiency of 0.75: 8.9 Wh/km by throttle, 5.1 with 70 W of the rider's.
    assert taken(0, 0.75) == pytest.approx(8.9, rel=0.01)
    assert taken(70, 0.75) == pytest.approx(5.1, rel=0.01)
    assert taken(400, 0.75) == 0


def test_climb_of_a_published_case() -> None:
    """Hills would cost a wrong amount: 72 kg, 7.5 %, 6 m/s take 401.7 W at the crank (chain 98 %)."""
    power = 6 * road_force_n(
        mass_kg=72, speed_m_per_s=6, rolling_resistance=0.0032, drag_area_m2=0.473 + 0.0044,
        air_density_kg_per_m3=1.225, grade=0.075,
    )  # fmt: skip
    assert power == pytest.approx(393.6, rel=1e-3)
    assert power / 0.98 == pytest.approx(401.7, rel=1e-3)


def test_a_hundred_metres_up_take_their_potential_energy() -> None:
    """A climb would take more or less than mass x g x height: 105 kg x 100 m = 28.6 Wh."""
    flat = {**UPRIGHT, "rolling_resistance": 0.0, "drag_area_m2": 0.0}
    force = road_force_n(**flat, speed_m_per_s=5, grade=0.05)
    along_km = 0.1 / 0.05 * (1 + 0.05**2) ** 0.5
    assert force * along_km * 1000 / 3600 == pytest.approx(28.6, rel=2e-3)


def test_defaults_hold_what_was_measured_and_planned(bench_range: tuple[float, float]) -> None:
    """Real rides would lie outside the bounds: 10.3 to 11.0 Wh/km in the field; 5 to 15 in practice."""
    least, most = bench_range
    assert least < 5
    assert most > 15
    assert least < 10.3 < 11.0 < most


@pytest.fixture
def bench_range() -> tuple[float, float]:
    """Return the least and most watt-hours for a kilometre by the default limits."""
    limits = Limits()

    def taken(end: str, other: str) -> float:
        def limit(name: str, side: str) -> float:
            return float(getattr(limits[name], side))

        speed = limit("speed_km_h", end) * KM_H
        force = road_force_n(
            mass_kg=limit("rider_kg", end) + limit("vehicle_kg", end), speed_m_per_s=speed,
            rolling_resistance=limit("rolling_resistance", end), drag_area_m2=limit("drag_area_m2", end),
            air_density_kg_per_m3=limit("air_density_kg_per_m3", end), grade=limit("road_grade", end),
        )  # fmt: skip
        found: float = battery_wh_per_km(
            force_n=force, speed_m_per_s=speed, rider_power_w=limit("rider_power_w", other),
            motor_share=limit("motor_share", end), efficiency=limit("drive_efficiency", other),
        )  # fmt: skip
        return found

    return taken("low", "high"), taken("high", "low")
