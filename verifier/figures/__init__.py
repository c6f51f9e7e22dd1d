"""The advertised figures, one module each, registered in one table that everything goes through."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from verifier.facts import Facts
from verifier.figures import (
    arrival_charge,
    build,
    capacity,
    charge_current,
    charge_time,
    charge_voltage,
    configuration,
    continuous_current,
    cycle_life,
    energy,
    load_power,
    mass,
    nominal_voltage,
    peak_current,
    power,
)
from verifier.figures import range as range_ridden
from verifier.figures.common import Judged
from verifier.finding import RemarkWhere
from verifier.quantities import Quantity

# How a claim reads: at least so much, at most so much, exactly this, or not claimed but recorded.
Kind = Literal["at least", "at most", "exactly", "recorded"]


@dataclass(frozen=True, slots=True)
class FigureEntry:
    """One advertised figure: its unit, how its claim reads, the module that judges it, and what may limit it.

    ``name`` is what a person calls it; ``claims`` are the fields in which sellers state it; ``dangers`` finds what is
    dangerous about it, by what is supported.
    """

    name: str
    unit: str
    kind: Kind
    judge: Callable[[Facts], Judged]
    limits: tuple[str, ...]
    claims: tuple[str, ...]
    dangers: Callable[[Facts, Quantity], list[RemarkWhere]] | None = None


FIGURES: dict[str, FigureEntry] = {
    "nominal_voltage": FigureEntry(
        "nominal voltage", "V", "exactly", nominal_voltage.judge, nominal_voltage.LIMITS, ("nominal_voltage_v",)
    ),
    "configuration": FigureEntry(
        "configuration", "cells", "exactly", configuration.judge, configuration.LIMITS,
        ("configuration", "series", "parallel", "cell_count", "designation"),
    ),
    "capacity": FigureEntry("capacity", "Ah", "at least", capacity.judge, capacity.LIMITS, ("capacity_ah",)),
    "energy": FigureEntry("energy", "Wh", "at least", energy.judge, energy.LIMITS, ("energy_wh",)),
    "continuous_current": FigureEntry(
        "continuous current", "A", "at least", continuous_current.judge, continuous_current.LIMITS,
        ("continuous_current_a", "max_current_a"), continuous_current.dangers,
    ),
    "peak_current": FigureEntry(
        "peak current", "A", "at least", peak_current.judge, peak_current.LIMITS,
        ("peak_current_a", "max_current_a"),
    ),
    "power": FigureEntry("power", "W", "at least", power.judge, power.LIMITS, ("power_w",)),
    "charge_voltage": FigureEntry(
        "charge voltage", "V", "exactly", charge_voltage.judge, charge_voltage.LIMITS,
        ("charge_voltage_v", "full_voltage_v"), charge_voltage.dangers,
    ),
    "charge_current": FigureEntry(
        "charge current", "A", "at least", charge_current.judge, charge_current.LIMITS,
        ("charge_current_a", "max_charge_current_a"), charge_current.dangers,
    ),
    "charge_time": FigureEntry(
        "charge time", "h", "at most", charge_time.judge, charge_time.LIMITS, ("charge_hours",)
    ),
    "mass": FigureEntry("mass", "kg", "exactly", mass.judge, mass.LIMITS, ("mass_kg",)),
    "cycle_life": FigureEntry("cycle life", "cycles", "at least", cycle_life.judge, cycle_life.LIMITS, ("cycles",)),
    "range": FigureEntry("range", "km", "at least", range_ridden.judge, range_ridden.LIMITS, ("range_km",)),
    "load_power": FigureEntry(
        "motor power", "W", "at least", load_power.judge, load_power.LIMITS, ("load_power_w",)
    ),
    "arrival_charge": FigureEntry(
        "charge on arrival", "%", "recorded", arrival_charge.judge, arrival_charge.LIMITS, ()
    ),
    "build": FigureEntry("build", "", "recorded", build.judge, build.LIMITS, (), build.dangers),
}  # fmt: skip
