"""Power at the battery's leads: open-circuit voltage less current x resistance.

Power I x (U - I x R) rises with the current only up to I = U / 2R, and no current flows that pulls the cells
below their cut-off. So the power at "at most this current" is that at the largest current that both allow. A
full cell gives more, and for minutes only: what is granted is what a cell still gives when it is nearly empty, and
nothing is refuted that a full one gives.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from typing import Any, NamedTuple, TypeAlias

from verifier.bounds import Bounds
from verifier.facts import Facts
from verifier.finding import ARITHMETIC, reference
from verifier.pack.counts import parallel, series
from verifier.pack.current import pack_current
from verifier.pack.measured_groups import of_measured_groups
from verifier.pack.use import drive_efficiency
from verifier.pack.voltage import (
    cell_empty_voltage,
    cell_full_voltage,
    cell_nominal_voltage,
    pack_empty_voltage,
    pack_full_voltage,
)
from verifier.pack.wear import cell_resistance
from verifier.quantities import (
    Number,
    Quantity,
    hull,
    larger,
    largest,
    product,
    ratio,
    smaller,
    smallest,
    where,
)

_Bounds: TypeAlias = Callable[[Quantity, Quantity, Quantity, Quantity], tuple[Number, Number]]

UNDER_LOAD = reference("at the cut-off under load, so no further sag is taken off")
CELLS_ALONE = reference("arithmetic; strip and leads not counted")
OHM = reference("Ohm's law; at most what the cut-off and U / 2R allow")


def best_current_a(current_a: Number, open_v: Number, empty_v: Number, resistance_ohm: Number) -> Number:
    """Return the current, at most the one allowed, that gives the largest power above the cut-off. [A]."""
    to_empty = ratio(larger(0.0, open_v - empty_v), resistance_ohm)
    return smallest(current_a, to_empty, ratio(open_v / 2, resistance_ohm))


def power_w(current_a: Number, open_v: Number, empty_v: Number, resistance_ohm: Number) -> Number:
    """Return the largest power at up to a current, without falling below the cut-off voltage. [W].

    Parameters
    ----------
    current_a
        The largest current allowed. [A]
    open_v, empty_v
        Open-circuit voltage, and the voltage below which discharging stops. [V]
    resistance_ohm
        [ohm]
    """
    amps = best_current_a(current_a, open_v, empty_v, resistance_ohm)
    return product(amps, open_v - product(amps, resistance_ohm))


def empty_power_w(current_a: Number, open_v: Number, empty_v: Number, resistance_ohm: Number) -> Number:
    """Return the power when the cut-off voltage is just reached under load. [W].

    The current is at most the one that takes a cell from `open_v` to its cut-off at once. [A, V, V, ohm]
    """
    return product(smaller(current_a, ratio(larger(0.0, open_v - empty_v), resistance_ohm)), empty_v)


def empty_power_bounds(
    current: Quantity, open_v: Quantity, empty: Quantity, resistance: Quantity
) -> tuple[Number, Number]:
    """Return the bounds of the power near empty. [W].

    It rises with the current and the open-circuit voltage and falls with the resistance. In the cut-off
    voltage it is the lesser of a line and a parabola that opens downwards, so its least value lies at an end
    and its greatest at an end, where the two meet, or at the top of the parabola.
    """
    low = smallest(
        *(empty_power_w(current.low, open_v.low, volts, resistance.high) for volts in (empty.low, empty.high))
    )
    meeting = larger(0.0, open_v.high - product(smaller(current.high, 1e6), resistance.low))
    turns = [
        larger(empty.low, smaller(empty.high, turn)) for turn in (open_v.high / 2, meeting)
    ]  # A turn outside the bounds counts as the end that is nearest.
    high = largest(
        *(
            empty_power_w(current.high, open_v.high, volts, resistance.low)
            for volts in (empty.low, empty.high, *turns)
        )
    )
    return low, high


def open_power_bounds(
    current: Quantity, open_v: Quantity, empty: Quantity, resistance: Quantity
) -> tuple[Number, Number]:
    """Return the bounds of the power at an open-circuit voltage; it is monotone in every input. [W]."""
    return (
        power_w(current.low, open_v.low, empty.high, resistance.high),
        power_w(current.high, open_v.high, empty.low, resistance.low),
    )


def group_resistance(facts: Facts) -> Quantity:
    """Return the resistance of one group of cells in parallel over the air of use. [ohm].

    Any number of cells in parallel has from no resistance to that of one.
    """
    cell, count = facts.find(cell_resistance), facts.find(parallel)
    found = cell * 0.001 / count.with_ends(larger(1.0, count.low), count.high)
    facts.step(
        "R_cell", "dc resistance of a cell over the air of use", cell, "mohm", facts.cell.source("dc_mohm")
    )
    facts.step("R_group", "R_cell / 1000 / P", found, "ohm", CELLS_ALONE)
    return of_measured_groups(facts, found)


def nearly_empty_power(facts: Facts) -> Quantity:
    """Return the power that the pack delivers until its cells reach their cut-off under load. [W].

    The current is at most the one that takes a cell at its nominal voltage to its cut-off: a pack that only
    delivers while it is full cuts out at once.
    """
    found = _of_pack(facts, empty_power_bounds)
    facts.step("P_empty", "S x U_empty x min(I_pack, (U_cell - U_empty) / R_group)", found, "W", UNDER_LOAD)
    return found


def nominal_power(facts: Facts) -> Quantity:
    """Return the power that the pack delivers at its nominal voltage less the sag. [W]."""
    facts.find(nominal_current)
    found = _of_pack(facts, open_power_bounds)
    facts.step("P_nominal", "S x I_nominal x (U_cell - I_nominal x R_group)", found, "W", OHM)
    return found


def nominal_current(facts: Facts) -> Quantity:
    """Return the current that gives the most power at nominal voltage, at most what the path carries. [A]."""
    (current, _), resistance = facts.find(pack_current), facts.find(group_resistance)
    nominal, empty = facts.find(cell_nominal_voltage), facts.find(cell_empty_voltage)
    found = Quantity(
        best_current_a(current.low, nominal.low, empty.high, resistance.high),
        best_current_a(current.high, nominal.high, empty.low, resistance.low),
    )
    facts.step(
        "I_nominal", "min(I_pack, (U_cell - U_empty) / R_group, U_cell / 2 / R_group)", found, "A", ARITHMETIC
    )
    return found


def full_power(facts: Facts) -> Quantity:
    """Return the most power that the pack delivers for as long as it is full. [W].

    What a full pack surely gives grants nothing: it gives less from the first minute on.
    """
    current, _ = facts.find(pack_current)
    full, empty = facts.find(cell_full_voltage), facts.find(cell_empty_voltage)
    count, resistance = facts.find(series), facts.find(group_resistance)
    low, high = open_power_bounds(current, full, empty, resistance)
    high = where(current.high < inf, product(count.high, high), inf)
    found = Quantity(product(count.low, low), high).resting_on(current, full, empty, count, resistance)
    facts.step(
        "P_full",
        "S x I x (U_full - I x R_group), I = min(I_pack, (U_full - U_empty) / R_group, U_full / 2 / R_group)",
        found, "W", OHM,
    )  # fmt: skip
    return found


def battery_power(facts: Facts) -> Quantity:
    """Return the power at the continuous current, surely until nearly empty, at most while it is full. [W]."""
    found = hull(facts.find(nearly_empty_power), facts.find(nominal_power))
    full = facts.find(full_power)
    found = found.with_ends(found.low, larger(found.high, full.high)).resting_on(full)
    facts.step("P_battery", "P_empty to P_full", found, "W", ARITHMETIC)
    return found


def load_power(facts: Facts) -> Quantity:
    """Return the motor power that the pack feeds continuously until it is nearly empty. [W at the shaft]."""
    found = facts.find(nearly_empty_power) * facts.find(drive_efficiency)
    facts.step("P_load", "P_empty x eta", found, "W", ARITHMETIC)
    return found


class MotorTakes(NamedTuple):
    """The battery current of a motor: the least from a full pack, and what it may be from a nearly empty one.

    ``empty_v`` is the least voltage of that. ``at_cutoff`` are the voltage at which the BMS is said to stop, and the
    most that is taken there; None where nobody says, or where the cells are empty before. [A, A, V, V, A].
    """

    full_a: float
    nearly_empty_a: Bounds
    empty_v: float
    at_cutoff: tuple[float, float] | None

    @property
    def numbers(self) -> dict[str, Any]:
        """Return the numbers by which it is told."""
        return {
            "full_a": self.full_a, "empty_a": self.nearly_empty_a.high, "empty_v": self.empty_v,
            "at_cutoff": self.at_cutoff,
        }  # fmt: skip


def motor_takes(facts: Facts, load_w: Bounds) -> MotorTakes | None:
    """Return the battery current that a motor takes, full to nearly empty; None while nothing tells the voltage.

    Parameters
    ----------
    facts
        Of one pack; they give voltage and efficiency.
    load_w
        At the motor. [W]
    """
    full, empty, drive = (
        facts.find(pack_full_voltage), facts.find(pack_empty_voltage), facts.find(drive_efficiency)
    )  # fmt: skip
    if not (0 < empty.low <= empty.high < inf and 0 < full.high < inf):
        return None
    stops = facts.number("claim.cutoff_voltage_v")
    stated = stops.known and empty.low < stops.low <= stops.high < full.low
    return MotorTakes(
        load_w.low / (full.high * drive.high),
        Bounds(load_w.low / (empty.high * drive.high), load_w.high / (empty.low * drive.low)),
        empty.low,
        (stops.low, load_w.high / (stops.low * drive.low)) if stated else None,
    )


def _of_pack(facts: Facts, of_group: _Bounds) -> Quantity:
    current, _ = facts.find(pack_current)
    nominal, empty = facts.find(cell_nominal_voltage), facts.find(cell_empty_voltage)
    count, resistance = facts.find(series), facts.find(group_resistance)
    low, high = of_group(current, nominal, empty, resistance)
    # A current that nothing bounds is not bounded by a resistance that is merely usual.
    high = where(current.high < inf, product(count.high, high), inf)
    return Quantity(product(count.low, low), high).resting_on(current, nominal, empty, count, resistance)
