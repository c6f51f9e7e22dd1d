"""The advertised figures, one module each, registered in one table that everything goes through."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

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
from verifier.finding import Finding
from verifier.pack import Pack


@dataclass(frozen=True, slots=True)
class FigureEntry:
    """One advertised figure: its unit and the module that judges it."""

    unit: str
    judge: Callable[[Pack], Finding]


FIGURES: dict[str, FigureEntry] = {
    "nominal_voltage": FigureEntry("V", nominal_voltage.judge),
    "configuration": FigureEntry("cells", configuration.judge),
    "capacity": FigureEntry("Ah", capacity.judge),
    "energy": FigureEntry("Wh", energy.judge),
    "continuous_current": FigureEntry("A", continuous_current.judge),
    "peak_current": FigureEntry("A", peak_current.judge),
    "power": FigureEntry("W", power.judge),
    "charge_voltage": FigureEntry("V", charge_voltage.judge),
    "charge_current": FigureEntry("A", charge_current.judge),
    "charge_time": FigureEntry("h", charge_time.judge),
    "mass": FigureEntry("kg", mass.judge),
    "cycle_life": FigureEntry("cycles", cycle_life.judge),
    "range": FigureEntry("km", range_ridden.judge),
    "load_power": FigureEntry("W", load_power.judge),
    "arrival_charge": FigureEntry("%", arrival_charge.judge),
    "build": FigureEntry("", build.judge),
}
