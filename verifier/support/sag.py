"""Voltage under load, and the power that a pack delivers: open-circuit voltage less current x resistance.

Power I x (U - I x R) rises with the current only up to I = U / 2R, and no current flows that pulls the cells
below their cut-off. So the power at "at most this current" is that at the largest current that both allow.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from verifier.bounds import UNKNOWN, Bounds, hull
from verifier.finding import Step
from verifier.numbers import largest, smallest
from verifier.pack import Pack
from verifier.support import Support, once_a_pack, worst_evidence
from verifier.support.cells import cell_dc_mohm
from verifier.support.charging import cell_full_voltage
from verifier.support.current import pack_current
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
        Zero where nothing is known of it. [ohm]
    """
    if resistance_ohm == 0:
        return current_a * open_v if open_v > empty_v else 0.0
    to_empty = largest(0.0, open_v - empty_v) / resistance_ohm
    amps = smallest(current_a, to_empty, open_v / (2 * resistance_ohm))
    return amps * (open_v - amps * resistance_ohm)


def empty_power_w(current_a: float, full_v: float, empty_v: float, resistance_ohm: float) -> float:
    """Return the power when the cut-off voltage is just reached under load. [W].

    The current is at most the one that takes even a full pack to its cut-off at once.
    """
    if full_v <= empty_v:
        return 0.0
    to_empty = inf if resistance_ohm == 0 else (full_v - empty_v) / resistance_ohm
    return smallest(current_a, to_empty) * empty_v


def _empty_power(current: Bounds, full: Bounds, empty: Bounds, resistance: Bounds) -> Bounds:
    """Return the bounds of the power near empty. [W].

    It rises with the current and the full voltage and falls with the resistance. In the cut-off voltage it is
    the lesser of a line and a parabola that opens downwards, so its least value lies at an end and its
    greatest at an end, where the two meet, or at the top of the parabola.
    """
    low = smallest(
        *(empty_power_w(current.low, full.low, volts, resistance.high) for volts in (empty.low, empty.high))
    )
    turns = [full.high / 2]
    if current.known:
        turns.append(full.high - current.high * resistance.low)
    # A turn outside the bounds counts as the end that is nearest.
    points = [empty.low, empty.high, *(largest(empty.low, smallest(empty.high, turn)) for turn in turns)]
    high = largest(*(empty_power_w(current.high, full.high, volts, resistance.low) for volts in points))
    return Bounds(low, high)


def _open_power(current: Bounds, open_v: Bounds, empty: Bounds, resistance: Bounds) -> Bounds:
    """Return the bounds of the power at an open-circuit voltage; it is monotone in every input. [W]."""
    return Bounds(
        power_w(current.low, open_v.low, empty.high, resistance.high),
        power_w(current.high, open_v.high, empty.low, resistance.low),
    )


@dataclass(frozen=True, slots=True)
class PackPower:
    """Power at the battery's leads: from nearly empty to nominal voltage, and nearly empty alone."""

    support: Support
    nearly_empty_w: Bounds


@once_a_pack
def pack_power(pack: Pack) -> PackPower:
    """Return the power that the pack delivers at the current it supports continuously. [W].

    The low end is a pack that is nearly empty, the high end one at its nominal voltage less the sag.
    """
    current = pack_current(pack).support
    nominal, empty, full = cell_nominal_voltage(pack), cell_empty_voltage(pack), cell_full_voltage(pack)
    series, parallel = pack.series, pack.parallel
    unknown = dict.fromkeys((*current.unknown, *nominal.unknown))
    if series is None:
        step = Step("P_pack", "the series count is not known", UNKNOWN, "W", "nothing known")
        support = Support(
            UNKNOWN, (*current.steps, step), ("observed.series", *unknown), current.cautions, None,
            current.limited_by,
        )  # fmt: skip
        return PackPower(support, UNKNOWN)
    resistance = cell_dc_mohm(pack)
    cell_mohm = resistance.value
    # Any number of cells in parallel has from no resistance to that of one.
    group_ohm = Bounds(0, cell_mohm.high * 0.001)
    if parallel is not None:
        group_ohm = (cell_mohm * 0.001 / parallel.value).without_likely()
    amps = current.value

    def of_pack(group_w: Bounds) -> Bounds:
        # A current that nothing bounds is not bounded by a resistance that is merely usual.
        high = series.value.high * group_w.high if amps.known else inf
        return Bounds(series.value.low * group_w.low, high)

    by_state = {
        "full": (full.value, of_pack(_open_power(amps, full.value, empty.value, group_ohm))),
        "nominal": (nominal.value, of_pack(_open_power(amps, nominal.value, empty.value, group_ohm))),
    }
    nearly_empty = of_pack(_empty_power(amps, full.value, empty.value, group_ohm))
    value = hull([nearly_empty, by_state["nominal"][1]])
    steps = [
        *current.steps,
        Step("S", "cells in series", series.value, "-", series.source),
        *nominal.steps,
        *full.steps,
        *empty.steps,
        resistance,
        Step(
            "R_pack",
            "S x R_cell / P; strip and leads not counted",
            (series.value * group_ohm).without_likely(),
            "ohm",
            "arithmetic",
        ),
    ]
    for state, (open_v, watts) in by_state.items():
        symbol, formula = f"P_{state}", f"I_pack x (S x {open_v.low:g} V - I_pack x R_pack), {state}"
        steps.append(Step(symbol, formula, watts, "W", "Ohm's law; at most what U_empty and U / 2R allow"))
    steps.append(Step("P_empty", "I_pack x S x U_empty, nearly empty", nearly_empty, "W", UNDER_LOAD))
    steps.append(Step("P_pack", "nearly empty to nominal", value, "W", "arithmetic"))
    support = Support(
        value, tuple(steps), tuple(unknown), current.cautions,
        worst_evidence(current.evidence, nominal.evidence), current.limited_by,
    )  # fmt: skip
    return PackPower(support, nearly_empty)
