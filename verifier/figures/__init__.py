"""The advertised figures, one module each, registered in one table that everything goes through."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from verifier.figures import (
    build,
    capacity,
    configuration,
    continuous_current,
    energy,
    load_power,
    nominal_voltage,
)
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
    "load_power": FigureEntry("W", load_power.judge),
    "build": FigureEntry("", build.judge),
}
