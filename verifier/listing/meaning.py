"""What the words around a number make of it: the claim field it speaks of and the kind of statement.

A number that the words do not explain is left out: saying nothing is better than saying something wrong.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from verifier.listing.clauses import Clause
from verifier.listing.quantities import Quantity
from verifier.listing.reading import ClaimKind

Meaning = tuple[str, ClaimKind]

# A cell's own capacity, at most (common practice, no source: the largest cylindrical cells hold about 30 Ah,
# those of the usual sizes at most 6 Ah).
_LARGEST_SMALL_CELL_AH = 6.5
_HIGHEST_CELL_V = 5.0
_MAINS_V = 90.0
_MAINS = (110.0, 115.0, 120.0, 220.0, 230.0, 240.0, 250.0, 264.0)
# A cell is full at 4.2 V, an iron phosphate cell at 3.65 V (datasheets of either chemistry).
_FULL_CELL_V = (4.2, 3.65)
_LARGEST_CHARGER_A = 10.0
MOST_SERIES = 40
_SMALLEST_CYCLES = 100


@dataclass(slots=True)
class Context:
    """What is known of the text around a number."""

    title: bool
    clause: Clause
    not_included: bool
    ask: bool
    used: bool
    alone: bool
    run: list[Quantity]
    cell_words: bool
    speaks_of_cells: bool

    @property
    def plain(self) -> ClaimKind:
        """The kind of a statement that nothing qualifies."""
        return "title" if self.title else "stated"

    def beside(self, *dimensions: str) -> bool:
        """Return whether the number's run holds one of these."""
        return any(q.dimension in dimensions for q in self.run)


def _of_cell(quantity: Quantity, context: Context) -> bool:
    """Return whether a figure is said of one cell."""
    if "per_cell" in quantity.labels:
        return True
    return ("each" in quantity.labels or quantity.times is not None) and context.speaks_of_cells


def is_full(volts: float) -> bool:
    """Return whether some number of cells in series is full at this voltage. [V]"""
    return any(
        abs(volts / cell - round(volts / cell)) * cell <= 0.051 and 3 <= round(volts / cell) <= MOST_SERIES
        for cell in _FULL_CELL_V
    )


def _charger_output(quantity: Quantity, context: Context) -> bool:
    """Return whether a run is a charger's output: a full voltage with decimals and a few amperes, no more."""
    volts = [q.value for q in context.run if q.dimension == "voltage"]
    amps = [q.value for q in context.run if q.dimension == "current"]
    return (
        len(volts) == 1
        and len(amps) == 1
        and not context.beside("capacity", "energy")
        and is_full(volts[0])
        and (volts[0] != round(volts[0]) or any("output" in q.labels for q in context.run))
        and amps[0] <= _LARGEST_CHARGER_A
        and not ({"continuous", "peak", "discharge", "bms", "trip"} & context.run[-1].labels)
    )


def _voltage(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    charge_end = "cutoff_voltage" in quantity.own and "charge" in quantity.own
    if "full_voltage" in quantity.own or charge_end:
        return "full_voltage_v", "stated"
    if "cutoff_voltage" in quantity.own:
        return "cutoff_voltage_v", "stated"
    if "trip" in labels or "protection" in quantity.own or "connector" in labels:
        return None
    high = quantity.high if quantity.high is not None else quantity.value
    if high >= _MAINS_V and (labels & {"mains", "charger", "charge"} or high in _MAINS):
        return "nominal_voltage_v", "other_product"
    if "mains" in quantity.own:
        return None
    if labels & {"charger", "charge"} or _charger_output(quantity, context):
        return "charge_voltage_v", "stated"
    if "controller" in labels or "motor" in quantity.own:
        return (
            ("nominal_voltage_v", "compatibility")
            if not context.beside("capacity")
            else ("nominal_voltage_v", context.plain)
        )
    if "supports" in quantity.own and not context.beside("capacity"):
        return "nominal_voltage_v", "compatibility"
    if _of_cell(quantity, context) or high <= _HIGHEST_CELL_V:
        return "nominal_voltage_v", "per_cell"
    return "nominal_voltage_v", context.plain


def _current(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    if quantity.tolerance or "trip" in labels:
        return "bms_current_a", "trip"
    if labels & {"connector", "mains", "protection", "lead", "charge_lead"}:
        return None
    if "charger" in labels:
        return "charge_current_a", context.plain
    if "max_charge" in labels:
        return "max_charge_current_a", context.plain
    if "charge" in labels:
        return _charge_current(quantity, context)
    if _charger_output(quantity, context):
        return "charge_current_a", context.plain
    return _discharge_current(quantity, context)


def _charge_current(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    if "discharge" in quantity.own and context.run != [quantity]:
        return None
    if labels & {"maximum", "limit", "peak"}:
        return "max_charge_current_a", context.plain
    return (
        None if "discharge" in quantity.own and "bms" in quantity.own else ("charge_current_a", context.plain)
    )


def _discharge_current(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    brief = "peak" in labels or quantity.seconds is not None
    if "bms" in labels:
        kind: ClaimKind = "peak" if brief else "continuous" if "continuous" in labels else context.plain
        return "bms_current_a", kind
    if labels & {"controller", "motor"}:
        return "continuous_current_a", "other_product"
    if "supports" in labels:
        return "continuous_current_a", "compatibility"
    if "cell" in labels or _of_cell(quantity, context):
        return "continuous_current_a", "per_cell"
    if brief:
        return "peak_current_a", "peak"
    if "continuous" in labels:
        return "continuous_current_a", "continuous"
    if labels & {"maximum", "limit"}:
        return "peak_current_a", "peak"
    if labels & {"discharge", "output"}:
        return "continuous_current_a", "stated"
    if context.beside("voltage", "capacity") or (context.title and context.alone):
        return "continuous_current_a", context.plain
    return None


def _capacity(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    if "charger" in quantity.own:
        return None
    in_pack = any(q.dimension == "voltage" and q.value > _HIGHEST_CELL_V * 1.5 for q in context.run)
    if _of_cell(quantity, context) and not in_pack:
        return "cell_capacity_ah", "stated"
    small = quantity.value <= _LARGEST_SMALL_CELL_AH
    of_cell = "cell" in labels or context.cell_words
    if small and not in_pack and of_cell and "capacity" not in quantity.own:
        return "cell_capacity_ah", "stated"
    if small and any(q.dimension == "voltage" and q.value <= _HIGHEST_CELL_V for q in context.run):
        return "cell_capacity_ah", "stated"
    return "capacity_ah", context.plain


def _energy(quantity: Quantity, context: Context) -> Meaning | None:
    if quantity.labels & {"per_cell", "cell"} and quantity.value < 30:
        return "energy_wh", "per_cell"
    return "energy_wh", context.plain


def _power(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    if labels & {"charger", "charge", "mains", "connector"}:
        return None
    if labels & {"motor", "supports", "controller"} or context.clause.named("motor"):
        return "load_power_w", "compatibility"
    if labels & {"power", "discharge", "output"} or labels & {"continuous", "peak"}:
        brief = "peak" in labels or quantity.seconds is not None
        return "power_w", "peak" if brief else "continuous" if "continuous" in labels else "stated"
    return "load_power_w", "compatibility"


def _mass(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    if labels & {"gross", "payload"} and "net" not in quantity.own:
        return None
    if context.clause.named("charger"):
        return None
    if "vehicle" in quantity.own:
        return "mass_kg", "other_product"
    if labels & {"per_cell", "cell"} and quantity.value < 1:
        return "mass_kg", "per_cell"
    bare = context.alone or context.beside("capacity")
    if labels & {"mass", "net"} or (bare and quantity.unit.name == "kilogram"):
        return "mass_kg", context.plain
    return None


def _distance(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    if (context.used or "odometer" in labels) and not quantity.own & {"range", "hearsay"}:
        return None
    if labels & {"range", "hearsay"} or context.alone or context.beside("capacity"):
        return "range_km", context.plain
    return None


def _cycles(quantity: Quantity, context: Context) -> Meaning | None:
    if context.used and "life" not in quantity.labels:
        return None
    if "odometer" in quantity.labels or context.clause.named("used"):
        return None
    return "cycles", context.plain


def _times(quantity: Quantity, context: Context) -> Meaning | None:
    if "life" in quantity.labels or context.clause.named("life") or context.clause.named("charge"):
        return _cycles(quantity, context) if quantity.value >= _SMALLEST_CYCLES else None
    return None


def _hours(quantity: Quantity, context: Context) -> Meaning | None:
    if quantity.labels & {"charge_time", "charge", "charger"} and quantity.value <= 48:
        return "charge_hours", context.plain
    return None


def _gauge(quantity: Quantity, context: Context) -> Meaning | None:
    if quantity.own & {"charge_lead", "charge"} and "discharge" not in quantity.own:
        return None
    return "lead_awg", context.plain


def _series(quantity: Quantity, context: Context) -> Meaning | None:
    if not 2 <= quantity.value <= MOST_SERIES or quantity.value != round(quantity.value) or context.ask:
        return None
    return "series", context.plain


def _parallel(quantity: Quantity, context: Context) -> Meaning | None:
    whole = quantity.value == round(quantity.value)
    spelled_out = quantity.unit.name == "parallel" and not quantity.attached
    beside_series = any(q.dimension == "series" for q in (*context.run, *context.clause.quantities))
    if not whole or not (beside_series or spelled_out):
        return None
    return "parallel", context.plain


def _cells(quantity: Quantity, context: Context) -> Meaning | None:
    if quantity.value != round(quantity.value) or quantity.value < 4:
        return None
    if quantity.dimension == "pieces" and not (context.clause.named("cell") or context.cell_words):
        return None
    return "cell_count", context.plain


_READERS: dict[str, Callable[[Quantity, Context], Meaning | None]] = {
    "voltage": _voltage, "current": _current, "capacity": _capacity, "energy": _energy, "power": _power,
    "mass": _mass, "distance": _distance, "cycles": _cycles, "times": _times, "hours": _hours,
    "gauge": _gauge,
    "series": _series, "parallel": _parallel, "cells": _cells, "pieces": _cells,
}  # fmt: skip
_CHARGER_FIELDS = {"charge_voltage_v", "charge_current_a"}
_CLAIMED = {"stated", "title", "continuous", "peak", "compatibility"}


# The field of a sum such as "8 x 5A = 40A", whatever else is said.
_SUMS = {
    "current": "continuous_current_a",
    "capacity": "capacity_ah",
    "energy": "energy_wh",
    "distance": "range_km",
}


def meaning(quantity: Quantity, context: Context) -> Meaning | None:
    """Return the claim field a number speaks of and the kind of statement, or None."""
    if "sum" in quantity.about and quantity.dimension in _SUMS:
        return _SUMS[quantity.dimension], "derived"
    reader = _READERS.get(quantity.dimension)
    read = reader(quantity, context) if reader else None
    if read is None or context.ask:
        return None
    name, kind = read
    if kind not in _CLAIMED:
        return read
    if "negation" in quantity.labels or (context.not_included and name in _CHARGER_FIELDS):
        return name, "negated"
    if "other_product" in quantity.labels:
        return name, "other_product"
    if "hearsay" in quantity.labels and "measured" not in quantity.own:
        return name, "derived"
    if "both" in quantity.own and name in ("capacity_ah", "energy_wh", "range_km"):
        return name, "derived"
    return read
