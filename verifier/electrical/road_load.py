"""What a vehicle takes from its battery on the road: rolling, climbing and air, less what the rider gives.

Every function is monotone in each of its arguments, which is why the ends of a range lie at corners of the
inputs' bounds: force rises with rolling resistance, grade, drag area, air density and speed, and the rider's
part of the force, power over speed, falls with speed. Only with mass the force rises, or falls where the road
drops by more than the tyres roll; being linear in mass it still has its ends at the ends of the mass.

All arguments are floats, or numpy arrays of one shape.

Source of the model: Martin et al., Validation of a mathematical model for road cycling power, Journal of
Applied Biomechanics 14 (1998) 276-291, DOI 10.1123/jab.14.3.276 (validated on the road, R2 = 0.97; the DOI
from memory). Without wind and without stops.
"""

from __future__ import annotations

from typing import Any, TypeAlias

from verifier.electrical.elementary import choose, maximum, sqrt

Value: TypeAlias = Any

GRAVITY_M_PER_S2 = 9.81
_J_PER_WH = 3600.0
_M_PER_KM = 1000.0
SOURCE = "Martin et al. 1998, DOI 10.1123/jab.14.3.276; steady speed, no wind, no stops"


def road_force_n(
    *,
    mass_kg: Value,
    speed_m_per_s: Value,
    rolling_resistance: Value,
    drag_area_m2: Value,
    air_density_kg_per_m3: Value,
    grade: Value = 0.0,
) -> Value:
    """Return the force that holds a vehicle at a steady speed; negative when it rolls by itself. [N].

    Parameters
    ----------
    mass_kg
        Vehicle, rider and load. [kg]
    speed_m_per_s
        [m/s]
    rolling_resistance
        Coefficient of rolling resistance. [-]
    drag_area_m2
        Drag coefficient times frontal area. [m2]
    air_density_kg_per_m3
        [kg/m3]
    grade
        Rise over run, below 0 downhill. [-]

    Source: Martin et al. 1998, DOI 10.1123/jab.14.3.276.
    """
    weight_n = mass_kg * GRAVITY_M_PER_S2
    slope = sqrt(1.0 + grade * grade)
    rolling = rolling_resistance * weight_n / slope
    climbing = weight_n * grade / slope
    air = 0.5 * air_density_kg_per_m3 * drag_area_m2 * speed_m_per_s * speed_m_per_s
    return rolling + climbing + air


def battery_wh_per_km(
    *, force_n: Value, speed_m_per_s: Value, rider_power_w: Value, motor_share: Value, efficiency: Value
) -> Value:
    """Return what the battery gives for each kilometre, nothing where the vehicle rolls by itself. [Wh/km].

    The rider relieves the motor by a power, yet an assisted ride leaves the motor its share.

    Parameters
    ----------
    force_n
        Force at the wheel. [N]
    speed_m_per_s
        At a standstill any power of the rider's is more than the force needs. [m/s]
    rider_power_w
        What the rider gives at the wheel. [W]
    motor_share
        Least part of the force that the motor gives, 0 to 1. [-]
    efficiency
        From battery to wheel, above 0. [-]
    """
    # Below a walking pace's thousandth the rider's share of the force is without end for every purpose.
    rider_n = rider_power_w / maximum(speed_m_per_s, 1e-3)
    motor_n = maximum(force_n - rider_n, motor_share * force_n)
    return choose(motor_n > 0, motor_n, 0.0 * motor_n) * _M_PER_KM / _J_PER_WH / efficiency
