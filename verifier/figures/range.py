"""Range: how far the usable energy carries a rider, from the hardest ride to the easiest."""

from __future__ import annotations

from math import inf

from verifier.electrical.discharge import usable_energy_bounds
from verifier.electrical.resistance import HOTTEST_C
from verifier.electrical.road_load import SOURCE, battery_wh_per_km, road_force_n
from verifier.facts import Facts
from verifier.figures.common import Judged, at_least, caution_of_default_air, caution_of_grade
from verifier.finding import ARITHMETIC, of_limit, reference, remark
from verifier.pack.capacity import pack_capacity
from verifier.pack.use import HEAVIEST_KG, drive_efficiency, nobody_said, source_of_use, stated_or_usual
from verifier.pack.voltage import pack_nominal_voltage
from verifier.quantities import Number, Quantity, either, larger, ratio, smaller, where
from verifier.verdict import PASSES, VERDICTS, at_most

MEASURED = reference("open measured data of several cells, by temperature and rate")
# The air in which cells give most, and the air for which anything is known. [C]
BEST_AIR_C, COLDEST_C = 25.0, -60.0
# A rate far beyond any that was measured, in place of one without end. [1/h]
FASTEST = 1e6

LIMITS = ("parallel", "cells", "as measured")

_KM_H_PER_M_S = 3.6
_ROAD = (
    ("rolling_resistance", "C_rr", "-"),
    ("drag_area_m2", "C_dA", "m2"),
    ("air_density_kg_per_m3", "rho", "kg/m3"),
    ("road_grade", "grade", "-"),
)
# Field, its limit, symbol, unit, words, and the physical ends in place of a usual one that would refute.
_RIDE = (
    ("use.rider_kg", "rider_kg", "m", "kg", "rider", (0.0, None)),
    ("use.vehicle_kg", "vehicle_kg", "m_v", "kg", "vehicle with battery and load", (0.0, None)),
    ("use.speed_km_h", "speed_km_h", "v", "km/h", "speed", (0.0, None)),
)


def judge(facts: Facts) -> Judged:
    """Judge the range by the energy in the pack and a road-load model of the ride. [km].

    A usual rider, vehicle, speed and temperature may carry a pass; none of them refutes a claim.
    """
    energy, taken = facts.find(usable_energy), facts.find(wh_per_km)
    _, limited_by = facts.find(pack_capacity)
    found = energy / taken
    facts.step("s", "E_usable / e", found, "km", ARITHMETIC)
    judged = at_least(facts, facts.claim("range_km"), found, limited_by)
    if facts.single:
        _remarks(facts, judged, energy)
    return judged


def ride(facts: Facts) -> tuple[Quantity, ...]:
    """Return the masses of rider and vehicle and the speed. [kg, kg, km/h]."""
    found = []
    for name, limit, symbol, unit, words, farthest in _RIDE:
        value = stated_or_usual(facts, name, limit, farthest)
        facts.step(symbol, words, value, unit, source_of_use(facts, name, limit))
        found.append(value)
    return tuple(found)


def wheel_efficiency(facts: Facts) -> Quantity:
    """Return the efficiency from battery to wheel: a chain takes its part, a motor in the hub none. [-]."""
    chain = facts.limit("chain_efficiency")
    found = facts.find(drive_efficiency) * chain
    facts.step("eta_chain", "shaft to wheel", chain, "-", of_limit("chain_efficiency"))
    facts.step("eta_wheel", "eta x eta_chain", found, "-", ARITHMETIC)
    return found


def wh_per_km(facts: Facts) -> Quantity:
    """Return what the battery gives for a kilometre, from the easiest ride to the hardest. [Wh/km]."""
    rider, vehicle, speed = facts.find(ride)
    efficiency = facts.find(wheel_efficiency)
    mass = rider + vehicle
    # Somebody whom nobody weighed may weigh anything; the usual weight decides the hardest ride only.
    unweighed = either(
        nobody_said(facts, "use.rider_kg", "rider_kg"), nobody_said(facts, "use.vehicle_kg", "vehicle_kg")
    )
    heaviest = where(unweighed, HEAVIEST_KG, mass.high)
    force_n, found = _ride_takes(facts, mass.low, mass.high, heaviest, speed, efficiency)
    for name, symbol, unit in _ROAD:
        facts.step(symbol, name.replace("_", " "), facts.limit(name), unit, of_limit(name))
    facts.step(
        "F", "(m + m_v) x 9.81 x (C_rr + grade) / sqrt(1 + grade^2) + rho / 2 x C_dA x (v / 3.6)^2",
        force_n if facts.single else 0.0, "N", reference(SOURCE),
    )  # fmt: skip
    facts.step(
        "P_rider", "what the rider gives", facts.limit("rider_power_w"), "W", of_limit("rider_power_w")
    )
    facts.step(
        "k_motor", "least part that the motor gives", facts.limit("motor_share"), "-", of_limit("motor_share")
    )
    facts.step(
        "e", "max(F - P_rider / (v / 3.6), k_motor x F, 0) / 3.6 / eta_wheel", found, "Wh/km", ARITHMETIC
    )
    return found.resting_on(rider, vehicle, speed, efficiency)


def usual_wh_per_km(facts: Facts) -> Quantity:
    """Return what a kilometre takes of the rides that are usual where the case states none. [Wh/km]."""
    rider, vehicle, speed = (facts.number_within(name, limit) for name, limit, *_ in _RIDE)
    mass = rider + vehicle
    efficiency = facts.number_within("use.efficiency", "drive_efficiency") * facts.limit("chain_efficiency")
    return _ride_takes(facts, mass.low, mass.high, mass.high, speed, efficiency)[1]


def _ride_takes(
    facts: Facts, lightest: Number, heavy: Number, heaviest: Number, speed: Quantity, efficiency: Quantity
) -> tuple[tuple[Number, Number], Quantity]:
    """Return the least and most force, and what the battery gives for a kilometre. [N, Wh/km]."""
    help_w, motor = facts.limit("rider_power_w"), facts.limit("motor_share")
    # On a road that drops faster than the tyres roll, more mass takes less.
    least_n = smaller(_force_n(facts, lightest, speed, "low"), _force_n(facts, heaviest, speed, "low"))
    most_n = larger(_force_n(facts, lightest, speed, "high"), _force_n(facts, heavy, speed, "high"))
    least = battery_wh_per_km(
        force_n=least_n, speed_m_per_s=speed.low / _KM_H_PER_M_S, rider_power_w=help_w.high,
        motor_share=motor.low, efficiency=efficiency.high,
    )  # fmt: skip
    most = battery_wh_per_km(
        force_n=most_n, speed_m_per_s=speed.high / _KM_H_PER_M_S, rider_power_w=help_w.low,
        motor_share=motor.high, efficiency=efficiency.low,
    )  # fmt: skip
    return (least_n, most_n), Quantity(least, most)


def _force_n(facts: Facts, mass_kg: Number, speed: Quantity, end: str) -> Number:
    road = {name: getattr(facts.limit(name), end) for name, _, _ in _ROAD}
    grade = road.pop("road_grade")
    return road_force_n(
        mass_kg=mass_kg, speed_m_per_s=getattr(speed, end) / _KM_H_PER_M_S, grade=grade, **road
    )


def usable_energy(facts: Facts) -> Quantity:
    """Return the energy that a ride gets out of the pack at the temperature and rate of the ride. [Wh]."""
    capacity, _ = facts.find(pack_capacity)
    rated: Quantity = capacity * facts.find(pack_nominal_voltage)
    part = facts.find(usable_part)
    found = rated * part
    facts.step("E_pack", "Q_pack x U_pack", rated, "Wh", reference("49 CFR 171.8, watt-hour rating"))
    facts.step("E_usable", "E_pack x k_usable", found, "Wh", ARITHMETIC)
    return found


def usable_part(facts: Facts) -> Quantity:
    """Return the part of the rated energy that a ride gets out at its temperature and rate. [-].

    A limit that somebody overrides is that person's word. Where nobody stated the air, the upper end is that
    of the best air there is: a default refutes nothing.
    """
    if "usable_energy" in facts.limits.overrides:
        found = facts.limit("usable_energy")
        facts.step("k_usable", "part of E_pack that a ride gets out", found, "-", of_limit("usable_energy"))
        return found
    rated = facts.find(pack_capacity)[0] * facts.find(pack_nominal_voltage)
    drawn = facts.find(wh_per_km) * facts.find(ride)[2]
    rate = drawn / rated
    high_c = where(facts.air.assumed, larger(facts.air.high_c, BEST_AIR_C), facts.air.high_c)
    low, high = usable_energy_bounds(
        temperature_c=(
            smaller(larger(facts.air.low_c, COLDEST_C), HOTTEST_C),
            smaller(high_c, HOTTEST_C),
        ),
        c_rate=(smaller(rate.low, FASTEST), smaller(rate.high, FASTEST)),
    )
    asked = (
        0 if "use_temperature_c" in facts.limits.overrides else facts.temperature("use.temperature_c").missing
    )
    found = Quantity(low, high, asked).resting_on(rate)
    facts.step("P_ride", "e x v", drawn, "W", ARITHMETIC)
    facts.step("c", "P_ride / E_pack", rate, "1/h", ARITHMETIC)
    facts.step("k_usable", "part of E_pack that a ride gets out, at c in this air", found, "-", MEASURED)
    return found


def _remarks(facts: Facts, judged: Judged, energy: Quantity) -> None:
    claim = judged.claim
    caution_of_grade(facts, judged.supported)
    caution_of_default_air(facts, judged)
    if not claim.made:
        return
    usual = usual_wh_per_km(facts)
    if energy.high < inf:
        facts.caution(
            remark(
                "range_leaves", "claim.range_km", range_km=claim.high, left_low_wh=energy.low / claim.high,
                left_high_wh=energy.high / claim.low, takes_low_wh=usual.low, takes_high_wh=usual.high,
            )
        )  # fmt: skip
        if not at_most(claim.low, ratio(energy.high, usual.low)):
            facts.caution(
                remark(
                    "beyond_usual_rides",
                    "claim.range_km",
                    range_km=claim.low,
                    usual_km=energy.high / usual.low,
                )
            )
    assumed = tuple(name for name, limit, *_ in _RIDE if source_of_use(facts, name, limit).limit is not None)
    if assumed and VERDICTS[judged.outcome.verdict] in PASSES:
        facts.caution(remark("default_ride", *assumed))
