"""Range: how far the usable energy carries a rider, from the hardest ride to the easiest."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from verifier.bounds import Bounds
from verifier.figures.common import at_least
from verifier.finding import Finding, Step
from verifier.numbers import largest, smallest
from verifier.pack import Pack
from verifier.support import Support, once_a_pack, worst_evidence
from verifier.support.capacity import pack_capacity
from verifier.support.load import drive_efficiency
from verifier.support.road_load import SOURCE, battery_wh_per_km, road_force_n
from verifier.support.voltage import pack_nominal_voltage
from verifier.verdict import PASSES

_KM_H_PER_M_S = 3.6
_STATED = ("rider_kg", "vehicle_kg", "speed_km_h")
_ROAD = (
    ("rolling_resistance", "C_rr", "-"),
    ("drag_area_m2", "C_dA", "m2"),
    ("air_density_kg_per_m3", "rho", "kg/m3"),
    ("road_grade", "grade", "-"),
)


def judge(pack: Pack) -> Finding:
    """Judge the range by the energy in the pack and a road-load model of the ride. [km]."""
    energy = _usable_energy(pack)
    use, use_steps = _wh_per_km(pack)
    value = Bounds(_reach_km(energy.value.low, use.high), _reach_km(energy.value.high, use.low))
    steps = (*energy.steps, *use_steps, Step("s", "E_usable / e", value, "km", "arithmetic"))
    assumed = tuple(f"use.{name}" for name in _STATED if getattr(pack.case.use, name) is None)
    support = replace(energy, value=value, steps=steps, unknown=(*energy.unknown, *assumed))
    claim = pack.claim.range_km
    finding = at_least(pack, "range", "km", claim, support, None)
    if claim is None or pack.many:
        return finding
    cautions = [*finding.cautions, _needed(claim, energy.value, use)]
    if finding.verdict in PASSES and assumed:
        cautions.append(f"by the limits of limits: {', '.join(assumed)} not stated")
    return replace(finding, cautions=tuple(cautions))


def _reach_km(energy_wh: float, wh_per_km: float) -> float:
    if energy_wh <= 0:
        return 0.0
    return inf if wh_per_km <= 0 or energy_wh == inf else energy_wh / wh_per_km


@once_a_pack
def _usable_energy(pack: Pack) -> Support:
    """Return the energy that a ride gets out of the pack: capacity x nominal voltage x usable part. [Wh]."""
    capacity, voltage = pack_capacity(pack), pack_nominal_voltage(pack)
    usable = pack.limits["usable_energy"]
    value = capacity.value * voltage.value * usable
    steps = (
        *capacity.steps,
        *voltage.steps,
        Step("k_usable", "part that a ride gets out", usable, "-", pack.limits.source("usable_energy")),
        Step("E_usable", "Q_pack x U_pack x k_usable", value, "Wh", "arithmetic"),
    )
    return Support(
        value,
        steps,
        tuple(dict.fromkeys((*capacity.unknown, *voltage.unknown))),
        (*capacity.cautions, *voltage.cautions),
        worst_evidence(capacity.evidence, voltage.evidence),
        capacity.limited_by,
    )


def _stated_or_default(pack: Pack, name: str) -> tuple[Bounds, str]:
    stated: Bounds | None = getattr(pack.case.use, name)
    return (stated, f"use.{name}") if stated is not None else (pack.limits[name], pack.limits.source(name))


@once_a_pack
def _wh_per_km(pack: Pack) -> tuple[Bounds, tuple[Step, ...]]:
    """Return what the battery gives for a kilometre, from the easiest ride to the hardest. [Wh/km]."""
    rider, rider_source = _stated_or_default(pack, "rider_kg")
    vehicle, vehicle_source = _stated_or_default(pack, "vehicle_kg")
    speed, speed_source = _stated_or_default(pack, "speed_km_h")
    efficiency, efficiency_source = drive_efficiency(pack)
    help_w, motor = pack.limits["rider_power_w"], pack.limits["motor_share"]
    road = {name: pack.limits[name] for name, _, _ in _ROAD}

    def take(end: str, other: str) -> tuple[float, float]:
        speed_m_per_s = getattr(speed, end) / _KM_H_PER_M_S
        mass = rider + vehicle
        # On a road that drops faster than the tyres roll, more mass takes less.
        forces = (
            road_force_n(
                mass_kg=mass_kg, speed_m_per_s=speed_m_per_s,
                rolling_resistance=getattr(road["rolling_resistance"], end),
                drag_area_m2=getattr(road["drag_area_m2"], end),
                air_density_kg_per_m3=getattr(road["air_density_kg_per_m3"], end),
                grade=getattr(road["road_grade"], end),
            )
            for mass_kg in (mass.low, mass.high)
        )  # fmt: skip
        force_n = smallest(*forces) if end == "low" else largest(*forces)
        taken = battery_wh_per_km(
            force_n=force_n, speed_m_per_s=speed_m_per_s, rider_power_w=getattr(help_w, other),
            motor_share=getattr(motor, end), efficiency=getattr(efficiency, other),
        )  # fmt: skip
        return force_n, taken

    (least_n, least), (most_n, most) = take("low", "high"), take("high", "low")
    value = Bounds(least, most)
    return value, (
        Step("m", "rider", rider, "kg", rider_source),
        Step("m_v", "vehicle with battery and load", vehicle, "kg", vehicle_source),
        Step("v", "speed", speed, "km/h", speed_source),
        *(
            Step(symbol, name.replace("_", " "), road[name], unit, pack.limits.source(name))
            for name, symbol, unit in _ROAD
        ),
        Step("F", "C_rr m g cos + m g sin + 0.5 rho C_dA v^2", Bounds(least_n, most_n), "N", SOURCE),
        Step("P_rider", "what the rider gives", help_w, "W", pack.limits.source("rider_power_w")),
        Step("k_motor", "least part that the motor gives", motor, "-", pack.limits.source("motor_share")),
        Step("eta", "battery to wheel", efficiency, "-", efficiency_source),
        Step("e", "(F - P_rider / v) / eta, not below k_motor F / eta", value, "Wh/km", "arithmetic"),
    )


def _needed(claim: Bounds, energy: Bounds, use: Bounds) -> str:
    """Return what the claim leaves for a kilometre, and what a kilometre takes."""
    takes = f"a kilometre takes {use.low:.3g} to {use.high:.3g} Wh"
    if energy.high == inf:
        return f"{claim.high:g} km: {takes}; the energy inside is not known"
    low, high = energy.low / claim.high, energy.high / claim.low
    left = f"{high:.3g}" if f"{low:.3g}" == f"{high:.3g}" else f"{low:.3g} to {high:.3g}"
    return f"{claim.high:g} km leaves {left} Wh for a kilometre; {takes}, without wind and stops"
