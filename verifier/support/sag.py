"""Voltage under load, and the power a pack delivers at a current: open-circuit voltage less current x resistance.

Power I x (U - I x R) rises with the current only up to I = U / 2R, and no current flows that pulls the cells
below their cut-off. So the power at "at most this current" is that at the largest current that both allow.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from registry.limits import governing_sheets
from verifier.bounds import UNKNOWN, Bounds, hull
from verifier.finding import Step
from verifier.pack import Pack
from verifier.support import Support, worst_evidence
from verifier.support.cells import cell_dc_mohm
from verifier.support.current import pack_current
from verifier.support.sheets import place
from verifier.support.voltage import cell_empty_voltage, cell_nominal_voltage

UNDER_LOAD = "the cut-off is reached under load, so no further sag is taken off"


def power_w(current_a: float, open_v: float, empty_v: float, resistance_ohm: float) -> float:
    """Return the largest power at up to a current, without falling below the cut-off voltage. [W].

    Parameters
    ----------
    current_a : float
        The largest current allowed. [A]
    open_v, empty_v : float
        Open-circuit voltage, and the voltage below which discharging stops. [V]
    resistance_ohm : float
        [ohm]
    """
    to_empty = max(0.0, open_v - empty_v) / resistance_ohm
    amps = min(current_a, to_empty, open_v / (2 * resistance_ohm))
    return amps * (open_v - amps * resistance_ohm)


def empty_power_w(current_a: float, full_v: float, empty_v: float, resistance_ohm: float) -> float:
    """Return the power when the cut-off voltage is just reached under load. [W].

    The current is at most the one that takes even a full pack to its cut-off at once.
    """
    return min(current_a, max(0.0, full_v - empty_v) / resistance_ohm) * empty_v


def _empty_power(current: Bounds, full: Bounds, empty: Bounds, resistance: Bounds) -> Bounds:
    """Return the bounds of the power near empty. [W].

    It rises with the current and the full voltage and falls with the resistance. In the cut-off voltage it is
    the lesser of a line and a parabola that opens downwards, so its least value lies at an end and its
    greatest at an end, where the two meet, or at the top of the parabola.
    """
    low = min(
        empty_power_w(current.low, full.low, volts, resistance.high) for volts in (empty.low, empty.high)
    )
    turns = [full.high / 2]
    if current.known:
        turns.append(full.high - current.high * resistance.low)
    points = [empty.low, empty.high, *(each for each in turns if empty.low < each < empty.high)]
    high = max(empty_power_w(current.high, full.high, volts, resistance.low) for volts in points)
    return Bounds(low, high)


def _open_power(current: Bounds, open_v: Bounds, empty: Bounds, resistance: Bounds) -> Bounds:
    """Return the bounds of the power at an open-circuit voltage; it is monotone in every input. [W]."""
    return Bounds(
        power_w(current.low, open_v.low, empty.high, resistance.high),
        power_w(current.high, open_v.high, empty.low, resistance.low),
    )


@dataclass(frozen=True, slots=True)
class _Cell:
    """One cell of the pack: its share of the current, its voltages and its resistance."""

    current_a: Bounds
    full_v: Bounds
    nominal_v: Bounds
    empty_v: Bounds
    ohm: Bounds
