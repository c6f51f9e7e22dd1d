"""A log read from end to end: columns, rows, stretches, and what they mean."""

from __future__ import annotations

from dataclasses import replace
from math import isfinite

import numpy as np
import numpy.typing as npt

from verifier.bounds import hull
from verifier.discharge_log import direction, endings
from verifier.discharge_log.columns import layout_of
from verifier.discharge_log.events import (
    PULSE_PART,
    PULSE_S,
    groups_of_log,
    pulse_of,
    pulses_within,
    resistances,
    rest_of,
)
from verifier.discharge_log.flows import after_a_full_charge, flow_of, taken_together
from verifier.discharge_log.layout import Layout
from verifier.discharge_log.model import (
    Flow,
    LogReading,
)
from verifier.discharge_log.remarks import said_of
from verifier.discharge_log.source import Progress, opened
from verifier.discharge_log.standard_conditions import at_standard
from verifier.discharge_log.steps import StepFinder
from verifier.discharge_log.stream import Stream
from verifier.discharge_log.streamed import Streamed
from verifier.discharge_log.stretches import Divider
from verifier.limits import Limits

Array = npt.NDArray[np.float64]

_SHORTEST_REST_S = 5.0


def read_log(
    name: str, limits: Limits | None = None, progress: Progress | None = None, rated_ah: float | None = None,
    chemistry: str | None = None,
) -> LogReading:  # fmt: skip
    """Read a log.

    Parameters
    ----------
    name : str
        Of a CSV, text or .xlsx file; ``-`` is stdin.
    limits : Limits, optional
        For the error of the meter.
    progress : callable, optional
        Called with rows just read and the share of the file read so far.
    rated_ah : float, optional
        The capacity that It refers to; without it what the longest discharge delivered. [Ah]
    chemistry : str, optional
        For the figures at 0.2 It and 20 C; without it told by the voltage of a single cell.

    Raises
    ------
    UnreadableInput
        If it cannot be read, or what is needed cannot be told.
    """
    with opened(name) as source:
        layout = layout_of(source)
        stream = Stream(source, layout, progress)
        divider = Divider(_rest_current(layout))
        finder = StepFinder(layout.largest_a, layout.step_a)
        first_s = last_s = 0.0
        for count, rows in enumerate(stream):
            if not count:
                first_s = float(rows.seconds[0])
            last_s = float(rows.seconds[-1])
            divider.feed(rows)
            finder.feed(rows)
    stretches, steps = divider.end(), finder.end()
    kinds, remarks = direction.sort_out(stretches, steps, source.place)
    meter = (limits or Limits()).number("meter_error")
    found = Streamed(layout, stretches, kinds, steps, meter, [*layout.remarks, *stream.remarks(), *remarks])
    reading = _put_together(found, source.place, stream.rows, first_s, last_s)
    return _at_standard(reading, rated_ah, chemistry)


def _rest_current(layout: Layout) -> float:
    """Return the current up to which nothing is taken to flow: far below what flows, above the noise. [A].

    Three standard deviations of the noise, as far as rows next to each other show it.
    """
    noise = min(max(3.0 * layout.noise_a, 2.0 * layout.step_a), 0.05 * layout.largest_a)
    return max(0.005 * layout.largest_a, noise)


def _put_together(found: Streamed, place: str, rows: int, first_s: float, last_s: float) -> LogReading:
    flows = {number: each for number, each in enumerate(found.stretches) if each.way}
    largest = max((each.charge_as for each in flows.values()), default=0.0)
    # What the noise of a rest adds up to is no flow.
    flows = {
        number: each
        for number, each in flows.items()
        if (each.charge_as > 0.002 * largest or each.peak_a > 0.1 * found.layout.largest_a)
        # Rows out of order of time, or a voltage below nought, may leave nothing.
        and each.charge_as > each.returned_as
        and each.energy_ws > each.returned_ws
    }
    # Where nothing longer flows, a short discharge is still one.
    short = {
        number
        for number, each in flows.items()
        if each.seconds <= PULSE_S and each.charge_as <= PULSE_PART * largest
    }
    told = [flow_of(found, number, each, first_s) for number, each in flows.items() if number not in short]
    discharges = after_a_full_charge(told)
    charges = tuple(each for each in told if each.kind == "charge")
    pulses = [pulse_of(found, number, flows[number], first_s) for number in sorted(short)]
    pulses += pulses_within(found, pulses, first_s)
    rests = tuple(
        rest_of(each, first_s)
        for each in found.stretches
        if not each.way and each.seconds >= _SHORTEST_REST_S
    )
    volts = [
        each for stretch in found.stretches for each in (stretch.low_v, stretch.high_v) if isfinite(each)
    ]
    reading = LogReading(
        place, rows, (last_s - first_s) / 3600, found.layout.columns, discharges, charges, rests,
        tuple(pulses), resistances(found, first_s), groups_of_log(found, discharges), tuple(found.remarks),
        (min(volts, default=0.0), max(volts, default=0.0)), taken_together(told),
    )  # fmt: skip
    return replace(reading, remarks=(*reading.remarks, *said_of(found, reading)))


def _at_standard(reading: LogReading, rated_ah: float | None, chemistry: str | None) -> LogReading:
    """Return the reading with what its discharges would have delivered at 0.2 It and 20 C."""
    if not reading.discharges:
        return reading
    most = max(each.ah for each in reading.discharges)
    remarks = list(reading.remarks)
    told = []
    for each in reading.discharges:
        kind = chemistry if chemistry is not None else _chemistry_of_cell(reading, each)
        temperature = each.air_c if each.air_c is not None else each.start_c
        # The claim's capacity may be a lie, so the rate lies between that by the claim and that by the test.
        rates = {each.current_a / ah for ah in (most, rated_ah) if ah}
        found = [
            at_standard(each.ah_bounds, each.wh_bounds, rate, temperature, kind) for rate in sorted(rates)
        ]
        ah = [one.ah for one in found if one.ah is not None]
        wh = [one.wh for one in found if one.wh is not None]
        note = found[-1].note
        if len(ah) == len(found) and not endings.was_emptied(each):
            ah, wh, note = [], [], "stopped before it was empty: not converted"
        whole = bool(found) and len(ah) == len(found)
        told.append(
            replace(
                each, standard_ah=hull(ah) if whole else None, standard_wh=hull(wh) if whole else None,
                standard_note=note,
            )
        )  # fmt: skip
    if chemistry is None and any(each.standard_ah is not None for each in told):
        kind = _chemistry_of_cell(reading, told[0])
        words = "iron phosphate" if kind == "LFP" else "nickel, cobalt or manganese"
        remarks.append(f"the cells are taken for {words} by their voltage")
    return replace(reading, discharges=tuple(told), remarks=tuple(remarks))


def _chemistry_of_cell(reading: LogReading, flow: Flow) -> str | None:
    """Return the kind of the cells by their voltage; None for a pack without groups, or where both can be."""
    cells = len(flow.groups)
    if not cells and reading.voltage_v[1] > 4.5:
        return None
    count = max(cells, 1)
    if flow.mean_v / count < 3.3 and flow.start_v / count < 3.7:
        return "LFP"
    return "NMC" if reading.voltage_v[1] / count > 3.8 else None
