"""Every default limit, with its meaning and its source; a case may override any of them by name."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from registry.fields import nearest
from verifier.bounds import Bounds, as_bounds
from verifier.electrical.strip import PRACTICE_DENSITY_A_PER_MM2
from verifier.errors import InvalidCase

PRACTICE = "common practice, no source"


class Limit(NamedTuple):
    """One default: its value, what it is for, where it comes from, and the values that make sense."""

    value: Bounds
    unit: str
    meaning: str
    source: str
    allowed: tuple[float, float]


def _limit(
    low: float, high: float, unit: str, meaning: str, source: str, allowed: tuple[float, float]
) -> Limit:
    return Limit(Bounds(low, high), unit, meaning, source, allowed)


DEFAULTS: Mapping[str, Limit] = MappingProxyType(
    {
        "reserve": _limit(
            2 / 3, 2 / 3, "-", "fraction of a current or power limit to use, so that cells do not run at it",
            PRACTICE, (0.05, 1),
        ),
        "use_temperature_c": _limit(
            0, 40, "C", "air temperature of use where the case names none", PRACTICE, (-60, 100)
        ),
        "charge_temperature_c": _limit(
            20, 25, "C", "air in which a pack is charged where the case names none: a room", PRACTICE, (-60, 100)
        ),
        "test_temperature_c": _limit(
            -10, 45, "C", "air in which a capacity was measured where the case names none", PRACTICE, (-30, 60)
        ),
        "voltage_per_kelvin_mv": _limit(
            -0.4, 0.4, "mV/K", "what a cell's voltage at rest moves by with its temperature alone",
            "entropy coefficients of lithium cells on graphite are in the order of 0.1 to 0.4 mV/K, either way by "
            "charge: from memory", (-2, 2),
        ),
        "readings_apart_k": _limit(
            10, 10, "K", "how far two readings of the groups may lie apart in temperature where the case does not say",
            PRACTICE, (0, 80),
        ),
        "print_rounding": _limit(
            0.02, 0.02, "-", "part by which a printed capacity or energy may exceed what is inside by rounding",
            PRACTICE, (0, 0.1),
        ),
        "capacity_over_typical": _limit(
            0.05, 0.05, "-", "part by which a good cell holds more than its sheet calls typical",
            PRACTICE, (0, 0.3),
        ),
        "capacity_over_minimum": _limit(
            0.25, 0.25, "-", "part by which a good cell may hold more than its sheet's minimum, where the sheet "
            "calls nothing typical", PRACTICE, (0, 1),
        ),
        "worn_out_capacity": _limit(
            0.8, 0.8, "-", "part of a new cell's capacity below which a cell counts as worn out",
            "end of life at 80 %, common practice, no source; for a second life UL 1974 and IEC 63330-1 are where "
            "to look, not read", (0.3, 1),
        ),
        "worn_out_resistance": _limit(
            2, 2, "-", "resistance of a cell that is not yet worn out, over that of a new one, at most",
            PRACTICE, (1, 10),
        ),
        "resistance_over_typical": _limit(
            0.2, 0.2, "-", "part by which a new cell may resist more than its sheet calls typical", PRACTICE, (0, 1)
        ),
        "resistance_over_charge": _limit(
            1.2, 1.2, "-", "resistance of a cell at any charge from a fifth to full over that at another, at most",
            "computed: 26.3, 22.5 and 24.1 mohm at 100, 50 and 20 % of the charge, by IEC 61960-3 on the parameters "
            "of Chen 2020, DOI 10.1149/1945-7111/ab9050", (1, 5),
        ),
        "cell_size_mm": _limit(
            1, 1, "mm", "how far a cell's diameter or length lies from its sheet's, either way: sheets print the "
            "largest size without a wrapper", PRACTICE, (0, 20)
        ),
        "calendar_fade": _limit(
            0.01, 0.1, "-", "part of its capacity that a cell loses in its first year on a shelf; more with the "
            "square root of the years",
            "high end: 5.7 of 6 Ah left after three months, as a sheet of iron phosphate cells states; low end "
            "and the square root from memory, not checked", (0, 0.5)
        ),
        "new_cycles": _limit(
            10, 10, "cycles", "cycles up to which a pack still counts as new", PRACTICE, (0, 1000)
        ),
        "new_years": _limit(
            1, 1, "years", "age up to which cells still count as new: what years take from them nobody knows unless it "
            "was measured", PRACTICE, (0, 30)
        ),
        "trip_tolerance": _limit(
            0.2, 0.2, "-", "how far a BMS's trip lies from its chip's threshold over its shunt, either way",
            "chips state 10 to 15 %, from memory, not checked; shunt and joints by common practice, no source", (0, 1)
        ),
        "inside_air_rise_k": _limit(
            0, 15, "K", "how much warmer the air in a closed pack is than outside", PRACTICE, (0, 60)
        ),
        "short_peak_s": _limit(
            60, 60, "s", "longest peak that leads, strip, connector and fuse may carry above their continuous limit",
            PRACTICE, (1, 600),
        ),
        "drive_efficiency": _limit(
            0.70, 0.85, "-", "motor and controller, from battery to shaft",
            "from memory, not checked", (0.05, 1),
        ),
        "strip_density_a_per_mm2": _limit(
            *PRACTICE_DENSITY_A_PER_MM2, "A/mm2",
            "current density that practice grants nickel strip; other metals at equal heat",
            PRACTICE, (0.5, 30),
        ),
        "strip_layers": _limit(
            1, 4, "-", "layers of strip where nobody counted them", PRACTICE, (1, 20)
        ),
        "rust_hours": _limit(
            24, 24, "h", "hours in salt water after which strip without rust is not plated steel",
            PRACTICE, (1, 1000),
        ),
        "conductor_limit_c": _limit(
            75, 75, "C", "temperature that a lead's conductor may reach beside cells", PRACTICE, (30, 200)
        ),
        "cell_gap_mm": _limit(
            0, 4, "mm", "gap between neighbouring cells where the pitch is not known", PRACTICE, (0, 50)
        ),
        "nominal_voltage_tolerance": _limit(
            0.015, 0.015, "-", "rounding allowed between a nominal voltage and series x cell voltage",
            PRACTICE, (0, 0.2),
        ),
        "charger_tolerance": _limit(
            0.01, 0.01, "-", "deviation allowed between a charger's voltage and series x charge limit",
            PRACTICE, (0, 0.05),
        ),
        "cell_mass_tolerance": _limit(
            0.05, 0.05, "-", "how far a cell's mass lies from its sheet's, either way; beyond it is another cell",
            PRACTICE, (0, 0.3),
        ),
        "pack_mass_factor": _limit(
            1.03, 1.6, "-", "mass of a pack over the mass of its cells: shrink wrap 1.05 to 1.15, hard case 1.3 to 1.6",
            "from memory, not checked", (1, 5),
        ),
        "usable_energy": _limit(
            0.4, 1.06, "-", "part of capacity x nominal voltage that a ride gets out of a pack; by temperature and "
            "rate unless overridden",
            "least at 1C and -10 C, most at a twentieth of C in a room: open measured data and models of several "
            "cells", (0.1, 1.1),
        ),
        "chain_efficiency": _limit(
            0.95, 1, "-", "from the motor's shaft to the wheel: a chain takes 2 to 5 %, a motor in the hub nothing",
            "from memory, not checked", (0.5, 1),
        ),
        "cycle_end_fraction": _limit(
            0.8, 0.8, "-", "part of the capacity left when a seller's cycles are counted as ended", PRACTICE, (0.1, 1)
        ),
        "cycle_temperature_k": _limit(
            10, 10, "K", "how far the air of use may lie from a cycle test's temperature for its cycles to count",
            PRACTICE, (0, 50),
        ),
        "rider_kg": _limit(
            60, 100, "kg", "rider where the case names none", PRACTICE, (1, 500)
        ),
        "vehicle_kg": _limit(
            20, 35, "kg", "vehicle with battery and load where the case names none", PRACTICE, (1, 2000)
        ),
        "speed_km_h": _limit(
            20, 25, "km/h", "steady speed where the case names none",
            "low end common practice, no source; high end EN 15194:2017, where assistance ends", (1, 200),
        ),
        "rider_power_w": _limit(
            0, 100, "W", "what the rider gives: nothing by throttle alone, to steady pedalling",
            PRACTICE, (0, 1000),
        ),
        "motor_share": _limit(
            0.5, 0.5, "-", "part of the road load that the motor gives at least while it assists",
            PRACTICE, (0, 1),
        ),
        "rolling_resistance": _limit(
            0.006, 0.010, "-", "coefficient of rolling resistance of tyres on a road",
            "low end a commuter's tyres, Gross, Kyle, Malewicki, Sci. Am. 249(6) 1983, from memory; high end "
            "wide tyres, common practice, no source", (0.001, 0.1),
        ),
        "drag_area_m2": _limit(
            0.50, 0.70, "m2", "drag coefficient x frontal area of a rider who sits upright",
            "around 0.56 for an upright commuter, Gross, Kyle, Malewicki 1983, from memory, and 0.632 hands "
            "on tops in a trainer's table; the ends by common practice, no source", (0.1, 5),
        ),
        "air_density_kg_per_m3": _limit(
            1.1, 1.3, "kg/m3", "density of air from 40 C to 0 C near sea level",
            "ideal gas, 101325 Pa and 287 J/kgK, computed for 313 K (1.13) and 273 K (1.29)", (0.3, 2),
        ),
        "road_grade": _limit(
            0, 0.01, "-", "mean climb over the whole ride, rise over run", PRACTICE, (-0.3, 0.3)
        ),
        "meter_error": _limit(
            0.005, 0.005, "-", "error of a bench meter, part of its reading", PRACTICE, (0, 0.1)
        ),
        "tester_error": _limit(
            0.03, 0.03, "-",
            "part of a capacity by which what tests a pack may read wrong: a charger, a BMS or a plain tester 1 to 3 %",
            PRACTICE, (0, 0.1),
        ),
        "air_charge_percent": _limit(
            30, 30, "%", "charge at which lithium packs may travel by air at most",
            "IATA Dangerous Goods Regulations: UN 3480 since 1 April 2016 (date from memory), UN 3481 packed "
            "with equipment since 1 January 2026", (0, 100),
        ),
        "arithmetic_tolerance": _limit(
            0.05, 0.05, "-", "rounding allowed between figures of one claim",
            PRACTICE, (0, 0.5),
        ),
    }
)  # fmt: skip


def override_problem(name: str, value: Bounds) -> tuple[str, str] | None:
    """Return what is wrong with an override and what would be right, or None when nothing is."""
    if name not in DEFAULTS:
        return "no such limit", nearest(name, list(DEFAULTS))
    low, high = DEFAULTS[name].allowed
    if not low <= value.low <= value.high <= high:
        given = f"{value.low:g}" if value.exact else f"{value.low:g}..{value.high:g}"
        return f"{given} makes no sense", f"use {low:g} to {high:g}"
    if DEFAULTS[name].value.exact and not value.exact:
        return "a range is given", "this limit is one number"
    return None


class Limits:
    """The limits in force: the defaults, and what the case or the command line overrides.

    Raises
    ------
    InvalidCase
        If an override names no limit or has a value outside what makes sense.
    """

    def __init__(
        self, overrides: Mapping[str, Bounds] | None = None, origins: Mapping[str, str] | None = None
    ) -> None:
        self.overrides = dict(overrides or {})
        self.origins = dict(origins or {})
        for name, value in self.overrides.items():
            problem = override_problem(name, value)
            if problem is not None:
                raise InvalidCase(f"limits.{name}", *problem)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Limits) and (self.overrides, self.origins) == (
            other.overrides,
            other.origins,
        )

    def __hash__(self) -> int:
        return hash(frozenset(self.overrides.items()))

    def __getitem__(self, name: str) -> Bounds:
        return self.overrides.get(name, DEFAULTS[name].value)

    def number(self, name: str) -> float:
        """Return a limit that is one number."""
        return self[name].low

    def source(self, name: str) -> str:
        """Return where a limit in force comes from, in the words a report prints."""
        if name in self.overrides:
            return f"limits {name}, overridden {self.origins.get(name, 'in the case')}"
        return f"limits {name} ({DEFAULTS[name].source})"

    def without(self, name: str) -> Limits:
        """Return limits without what overrides one of them."""
        overrides = {each: value for each, value in self.overrides.items() if each != name}
        return Limits(overrides, self.origins)

    def with_overrides(
        self, overrides: Mapping[str, Bounds | float], origin: str = "on the command line"
    ) -> Limits:
        """Return limits with further overrides on top; `origin` is told with each of them."""
        given = {name: as_bounds(value) for name, value in overrides.items()}
        return Limits({**self.overrides, **given}, {**self.origins, **dict.fromkeys(given, origin)})
