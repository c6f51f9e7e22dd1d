"""Whether a discharge began with a full pack and ended with an empty one, and about how full one was that did not.

What a pack delivers from half full down to empty, or from full down to half, is no capacity, however well measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil, floor

import numpy as np

from registry.chemistry import Chemistry
from verifier.bounds import Bounds
from verifier.discharge_log.endings import BMS, was_emptied
from verifier.discharge_log.expected import CURVES
from verifier.discharge_log.model import Flow, LogReading
from verifier.words import digits

# Below this part of the full voltage at the start a pack was not charged full. Common practice, no source.
FULL_PART = 0.975
LFP_FULL_AT_REST_V = 3.33
"""Iron phosphate rests at 3.33 to 3.4 V when full, whatever it was charged to."""

# Under load a full pack still stands at this part of what it has at rest. Common practice, no source.
_FULL_UNDER_LOAD = 0.93
# A voltage after some minutes without current is off the one at rest by this. Common practice, no source.
_NOT_SETTLED_V = 0.015


def start_v(flow: Flow) -> float:
    """Return the voltage before a discharge, at rest where the log has it. [V]."""
    return flow.sag.rest_v if flow.sag is not None else flow.start_v


def full_v(kind: Chemistry) -> float:
    """Return the voltage at rest from which a cell of a chemistry counts as full. [V]."""
    return LFP_FULL_AT_REST_V if kind.name == "LFP" else FULL_PART * kind.full_v[0]


def starts_full(flow: Flow, series: float, kinds: Sequence[Chemistry]) -> bool:
    """Whether a discharge began near the full voltage at rest, whichever of the kinds the cells are.

    Where no rest was logged, the first volts under load are a low end of those at rest.
    """
    return start_v(flow) / series >= max(map(full_v, kinds))


def with_start(reading: LogReading, series: float, kinds: Sequence[Chemistry]) -> LogReading:
    """Return a reading that warns where its largest discharge did not begin full, by volts a cell.

    Parameters
    ----------
    reading : LogReading
    series : float
        Cells in series.
    kinds : sequence of Chemistry
        Those that the cells may be.
    """
    if not reading.discharges or not kinds:
        return reading
    most = max(reading.discharges, key=lambda each: each.ah)
    said = "" if most.from_full else _not_full(most, series, kinds)
    if not said:
        return reading
    flows = reading.discharges
    if most.sag is not None:
        # What is left in a pack is not converted as if it were the whole of it.
        note = "it did not begin full: not converted"
        partly = replace(most, from_full=False, standard_ah=None, standard_wh=None, standard_note=note)
        flows = tuple(partly if each is most else each for each in flows)
    return replace(reading, discharges=flows, warnings=(*reading.warnings, said))


def with_end(reading: LogReading) -> LogReading:
    """Return a reading that warns where nothing shows that its largest discharge went on until the pack was empty."""
    if not reading.discharges:
        return reading
    most, ah = max(reading.discharges, key=lambda each: each.ah), 0.0
    together = reading.longest_together
    if together is not None and together.ah > most.ah:
        # Of several discharges with nothing but rests between them the last one ends the test.
        most, ah = reading.discharges[together.members[-1]], together.ah
    ah = max(ah, most.ah)
    if most.at_odds or was_emptied(most):
        return reading
    opened = ""
    if most.ended_by.startswith(BMS) and not most.end_unexplained:
        opened = "; find out what the BMS opened for: current, heat, cold, a group lower than the others"
    said = (
        f"it is not shown that the pack was emptied: {most.ended_how}{opened}. Take the {digits(ah)} Ah for the "
        "least that it holds, not for its capacity"
    )
    return replace(reading, warnings=(*reading.warnings, said))


def _not_full(flow: Flow, series: float, kinds: Sequence[Chemistry]) -> str:
    cell_v = start_v(flow) / series
    # Of several chemistries the one that is full at the lowest voltage leaves the doubt.
    enough = min(map(full_v, kinds))
    if flow.sag is None:
        if cell_v >= _FULL_UNDER_LOAD * enough:
            return ""
        return (
            f"it is not shown that the pack was full at the start: the log begins under load, at {cell_v:.2f} V a "
            f"cell. Do not take the {digits(flow.ah)} Ah for its capacity"
        )
    if cell_v >= enough:
        return ""
    about = _percent(cell_v, kinds)
    full = " or ".join(dict.fromkeys(f"{full_v(each):.2f} V" for each in kinds))
    return (
        f"the pack was not full at the start: {cell_v:.2f} V a cell at rest, where a full one has {full} or more"
        f"{f'; by its volts it was about {about} % full' if about else ''}. The {digits(flow.ah)} Ah are what was left "
        "in it: do not take them for its capacity"
    )


def _percent(cell_v: float, kinds: Sequence[Chemistry]) -> str:
    """Return how full a cell is by its voltage at rest, in whole fives outwards; empty where no curve is known."""
    part = part_full(cell_v, kinds)
    return "" if part is None else f"{5 * floor(20 * part.low)} to {5 * ceil(20 * part.high)}"


def part_full(cell_v: float, kinds: Sequence[Chemistry]) -> Bounds | None:
    """Return how full a cell is by its voltage at rest, as a part; None where a kind has no known curve. [-]."""
    curves = [np.array(curve) for each in kinds for curve in CURVES.get(each.name, ())]
    if not curves or any(each.name not in CURVES for each in kinds):
        return None
    ends = [
        float(np.interp(cell_v + off, curve, np.linspace(0, 1, len(curve))))
        for curve in curves
        for off in (-_NOT_SETTLED_V, _NOT_SETTLED_V)
    ]
    return Bounds(min(ends), max(ends))


def least_fall(part: Bounds, kinds: Sequence[Chemistry]) -> float:
    """Return by what part of itself the voltage falls at least, from a fifth to four fifths of a discharge to empty.

    Parameters
    ----------
    part : Bounds
        How full the cells were when it began. [-]
    kinds : sequence of Chemistry
        Those that the cells may be, each with a curve.
    """
    falls = []
    for each in kinds:
        for curve in map(np.array, CURVES[each.name]):
            for full in np.linspace(part.low, part.high, 5):
                early, late = np.interp([0.8 * full, 0.2 * full], np.linspace(0, 1, len(curve)), curve)
                falls.append(2 * (early - late) / (early + late))
    return float(min(falls))
