"""What the words around a number make of it: the claim field it speaks of and the kind of statement.

A number that the words do not explain is left out: saying nothing is better than saying something wrong.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from verifier.listing.clauses import Clause
from verifier.listing.quantities import Quantity
from verifier.listing.reading import ClaimKind

Meaning = tuple[str, ClaimKind]

# A cell's own capacity, at most (common practice, no source: the largest cylindrical cells hold about 30 Ah,
# those of the usual sizes at most 6 Ah).
_LARGEST_SMALL_CELL_AH = 6.5
_HIGHEST_CELL_V = 5.0
_MAINS_V = 90.0
# A cell is full at 4.2 V, an iron phosphate cell at 3.65 V (datasheets of either chemistry).
_FULL_CELL_V = (4.2, 3.65)
_LARGEST_CHARGER_A = 10.0
_MOST_SERIES = 40
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

    @property
    def plain(self) -> ClaimKind:
        """The kind of a statement that nothing qualifies."""
        return "title" if self.title else "stated"

    def beside(self, *dimensions: str) -> bool:
        """Return whether the number's run holds one of these."""
        return any(q.dimension in dimensions for q in self.run)


def _is_full(volts: float) -> bool:
    return any(
        abs(volts / cell - round(volts / cell)) * cell <= 0.051 and 3 <= round(volts / cell) <= _MOST_SERIES
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
        and _is_full(volts[0])
        and volts[0] != round(volts[0])
        and amps[0] <= _LARGEST_CHARGER_A
        and not ({"continuous", "peak", "discharge", "board", "trip"} & context.run[-1].labels)
    )


def _voltage(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    if "full_voltage" in quantity.own:
        return "full_voltage_v", "stated"
    if "cutoff_voltage" in quantity.own:
        return "cutoff_voltage_v", "stated"
    if "trip" in labels or "protection" in quantity.own or "connector" in labels:
        return None
    high = quantity.high if quantity.high is not None else quantity.value
    if high >= _MAINS_V and (labels & {"mains", "charger", "charge"} or high >= 2 * _MAINS_V):
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
    if "per_cell" in labels or high <= _HIGHEST_CELL_V:
        return "nominal_voltage_v", "per_cell"
    return "nominal_voltage_v", context.plain


def _current(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    if quantity.tolerance or "trip" in labels:
        return "board_current_a", "trip"
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
    if "discharge" in quantity.own and not context.run == [quantity]:
        return None
    if quantity.own & {"maximum", "limit", "peak"}:
        return "max_charge_current_a", context.plain
    return (
        None
        if "discharge" in quantity.own and "board" in quantity.own
        else ("charge_current_a", context.plain)
    )


def _discharge_current(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    brief = "peak" in quantity.own or quantity.seconds is not None
    if "board" in labels:
        kind: ClaimKind = "peak" if brief else "continuous" if "continuous" in labels else context.plain
        return "board_current_a", kind
    if labels & {"controller", "motor"}:
        return "continuous_current_a", "other_product"
    if "supports" in labels:
        return "continuous_current_a", "compatibility"
    if labels & {"per_cell", "cell"}:
        return "continuous_current_a", "per_cell"
    if brief:
        return "peak_current_a", "peak"
    if "continuous" in labels:
        return "continuous_current_a", "continuous"
    if quantity.own & {"maximum", "limit"}:
        return "peak_current_a", "peak"
    if labels & {"discharge", "output"}:
        return "continuous_current_a", "stated"
    if context.title or context.beside("voltage", "capacity"):
        return "continuous_current_a", context.plain
    return None


def _capacity(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    if "charger" in quantity.own:
        return None
    in_pack = any(q.dimension == "voltage" and q.value > _HIGHEST_CELL_V * 1.5 for q in context.run)
    if "per_cell" in quantity.own and not in_pack:
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
    if labels & {"power", "discharge", "output"} or quantity.own & {"continuous", "peak"}:
        brief = "peak" in quantity.own or quantity.seconds is not None
        return "power_w", "peak" if brief else "continuous" if "continuous" in labels else "stated"
    return "load_power_w", "compatibility"


def _mass(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    if labels & {"gross", "payload"} and "net" not in quantity.own:
        return None
    if "vehicle" in quantity.own:
        return "mass_kg", "other_product"
    if labels & {"per_cell", "cell"} and quantity.value < 1:
        return "mass_kg", "per_cell"
    if labels & {"mass", "net"} or (context.alone and quantity.unit.name == "kilogram"):
        return "mass_kg", context.plain
    return None


def _distance(quantity: Quantity, context: Context) -> Meaning | None:
    labels = quantity.labels
    if "odometer" in labels and "range" not in quantity.own:
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
    if not 2 <= quantity.value <= _MOST_SERIES or quantity.value != round(quantity.value) or context.ask:
        return None
    return "series", context.plain


def _parallel(quantity: Quantity, context: Context) -> Meaning | None:
    beside_series = context.beside("series", "second_or_series")
    if quantity.value != round(quantity.value) or not (
        beside_series or quantity.unit.name == "parallel" and not quantity.attached
    ):
        if not (
            beside_series
            or context.clause
            and any(q.dimension == "series" for q in context.clause.quantities)
        ):
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
    "mass": _mass, "distance": _distance, "cycles": _cycles, "times": _times, "hours": _hours, "gauge": _gauge,
    "series": _series, "parallel": _parallel, "cells": _cells, "pieces": _cells,
}  # fmt: skip
_CHARGER_FIELDS = {"charge_voltage_v", "charge_current_a"}
_CLAIMED = {"stated", "title", "continuous", "peak", "compatibility"}


def meaning(quantity: Quantity, context: Context) -> Meaning | None:
    """Return the claim field a number speaks of and the kind of statement, or None."""
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


def settle_seconds(lower: str, quantities: list[Quantity], clauses: list[Clause]) -> list[Quantity]:
    """Decide for every "10S" whether it is seconds or series, and give seconds to the current they qualify.

    Parameters
    ----------
    lower : str
        The text in lower case.
    quantities : list of Quantity
        In order of place.
    clauses : list of Clause
        The clauses they stand in.

    Returns
    -------
    list of Quantity
        The seconds that qualify a current.
    """
    taken: list[Quantity] = []
    for index, quantity in enumerate(quantities):
        if quantity.dimension == "seconds_or_series":
            dimension = _seconds_or_series(lower, quantities, index, clauses)
            quantity.unit = type(quantity.unit)(quantity.unit.name, dimension, 1)
        if quantity.dimension == "seconds" and (current := _current_of(quantities, index, clauses)):
            current.seconds = quantity.high if quantity.high is not None else quantity.value
            quantity.about.add("board" if "board" in current.labels else "pack")
            taken.append(quantity)
    return taken


def _seconds_or_series(lower: str, quantities: list[Quantity], index: int, clauses: list[Clause]) -> str:
    quantity = quantities[index]
    following = quantities[index + 1] if index + 1 < len(quantities) else None
    before = quantities[index - 1] if index else None
    if following is not None and following.dimension == "parallel" and following.start - quantity.end <= 2:
        return "series"
    compared = re.search(
        r"[<≤>≥]=?\s?\Z|(?:for|für|pendant|durante|in)\s\Z", lower[max(0, quantity.start - 9) : quantity.start]
    )
    if compared:
        return "seconds"
    if before is not None and before.clause == quantity.clause:
        if before.dimension == "current" and re.fullmatch(
            r"[\s(,/]{0,3}(?:peak\s|max\s)?\(?", lower[before.end : quantity.start]
        ):
            return "seconds"
        if before.dimension == "voltage" and quantity.start - before.end <= 4:
            return "series"
    clause = clauses[quantity.clause]
    brief = clause.named("peak") and any(q.dimension == "current" for q in clause.quantities)
    if brief:
        return "seconds"
    return "series" if quantity.high is None and 3 <= quantity.value <= _MOST_SERIES else "nothing"


def _current_of(quantities: list[Quantity], index: int, clauses: list[Clause]) -> Quantity | None:
    seconds = quantities[index]
    sentence = clauses[seconds.clause].sentence
    for step in (-1, 1):
        if not 0 <= index + step < len(quantities):
            continue
        other = quantities[index + step]
        near = other.clause == seconds.clause or (
            step == -1 and clauses[other.clause].sentence == sentence and seconds.clause - other.clause == 1
        )
        if near and other.dimension == "current" and "trip" not in other.labels:
            return other
    return None


def split_voltages(quantities: list[Quantity]) -> tuple[set[Quantity], set[Quantity]]:
    """Return the voltages of one pack that are no nominal ones: ("48V 52V 54.6V") the full one and the others.

    Parameters
    ----------
    quantities : list of Quantity
        The numbers of one clause.
    """
    volts = [q for q in quantities if q.dimension == "voltage" and q.high is None]
    for first, second in pairwise(volts):
        if first.run != second.run:
            return set(), set()
    if len(volts) < 2 or len({q.value for q in volts}) < 2:
        return set(), set()
    top = max(volts, key=lambda q: q.value)
    rest = [q for q in volts if q.value != top.value]
    if (
        not _is_full(top.value)
        or top.value == round(top.value)
        and len(volts) == 2
        and top.value not in (42.0, 84.0, 21.0)
    ):
        return set(), set()
    if any(q.value < 0.8 * top.value for q in rest):
        return set(), set()
    nominal = min(rest, key=lambda q: abs(q.value - top.value * 0.87))
    return {top}, {q for q in rest if q.value != nominal.value}
