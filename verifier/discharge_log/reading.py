"""A log read from end to end: columns, rows, stretches, and what they mean."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from math import isfinite

import numpy as np
import numpy.typing as npt

from verifier.bounds import hull
from verifier.case.limits import Limits
from verifier.discharge_log import direction, endings, event_rows
from verifier.discharge_log.columns import layout_of
from verifier.discharge_log.contradictions import refuse_impossible, with_doubts
from verifier.discharge_log.events import (
    PULSE_PART,
    PULSE_S,
    groups_of_log,
    pulses_of,
    pulses_within,
    rest_of,
)
from verifier.discharge_log.flows import after_a_full_charge, flow_of, taken_together
from verifier.discharge_log.fullness import with_end
from verifier.discharge_log.layout import Layout
from verifier.discharge_log.model import (
    Flow,
    LogReading,
)
from verifier.discharge_log.opening import opened
from verifier.discharge_log.remarks import said_of
from verifier.discharge_log.repeats import RepeatFinder
from verifier.discharge_log.resistance import resistances, with_resistance
from verifier.discharge_log.source import Progress
from verifier.discharge_log.standard_conditions import (
    LEAST_DELIVERED,
    Curves,
    Standard,
    at_standard,
    is_standard,
)
from verifier.discharge_log.steps import StepFinder
from verifier.discharge_log.stream import Stream
from verifier.discharge_log.streamed import Streamed
from verifier.discharge_log.stretches import Divider
from verifier.errors import UnreadableInput

Array = npt.NDArray[np.float64]

_SHORTEST_REST_S = 5.0
_HIGHEST_CELL_V = 4.5
_NOISE_TIMES = 4.0


def read_log(
    name: str,
    limits: Limits | None = None,
    progress: Progress | None = None,
    curves: Curves | None = None,
    channel: str | None = None,
) -> LogReading:
    """Read a log.

    Parameters
    ----------
    name : str
        Of a CSV, text or .xlsx file; ``-`` is stdin.
    limits : Limits, optional
        For the error of the meter.
    progress : callable, optional
        Called with rows just read and the share of the file read so far.
    curves : Curves, optional
        For the figures at 0.2 It and 20 C; without them told by the voltage of a cell or group.
    channel : str, optional
        Which of several packs or channels to read.

    Raises
    ------
    UnreadableInput
        If it cannot be read, or what is needed cannot be told.
    """
    with opened(name, channel) as source:
        layout = layout_of(source)
        stream = Stream(source, layout, progress)
        divider = Divider(_rest_current(layout))
        finder = StepFinder(layout.largest_a, layout.step_a)
        repeats = RepeatFinder(_rest_current(layout))
        first_s = last_s = 0.0
        for count, rows in enumerate(stream):
            if not count:
                first_s = float(rows.seconds[0])
            last_s = float(rows.seconds[-1])
            divider.feed(rows)
            # A current worked out from a counter moves in steps that are none.
            if layout.charge is None:
                finder.feed(rows)
                repeats.feed(rows)
        _refuse_still_clock(source.place, stream.rows, last_s - first_s)
        words = event_rows.words_of_rows(source, stream.left_out_rows)
    stretches, steps = divider.end(), finder.end()
    kinds, remarks = direction.sort_out(stretches, steps, source.place)
    meter = (limits or Limits()).number("meter_error")
    found = Streamed(
        layout, stretches, kinds, steps, meter, [*layout.remarks, *stream.remarks(), *remarks], stream.reports
    )
    found.twice = repeats.refuse(found, source.place)
    reading = _put_together(found, source.place, stream.rows, first_s, last_s)
    refuse_impossible(found, reading, source.place)
    reading = with_doubts(found, _with_words(reading, words))
    warnings = (*layout.warnings, *reading.warnings)
    reading = replace(reading, begun=_begun(layout, first_s), warnings=warnings)
    return with_end(_at_standard(reading, curves if curves is not None else Curves()))


def _begun(layout: Layout, first_s: float) -> str | None:
    """Return the day and time of the first row, as the log writes it; None where it has only a time of its own."""
    times = layout.times
    counted = times.form.kind == "number" and "since 1970" in times.form.unit
    if not (counted or times.form.kind == "moment" or times.date is not None):
        return None
    moment = datetime.fromtimestamp(first_s, UTC)
    return f"{moment:%Y-%m-%d %H:%M}{' UTC' if counted else ''}"


def _refuse_still_clock(place: str, rows: int, seconds: float) -> None:
    """Refuse a log whose clock does not run: no charge follows from it, and no time that a current was held."""
    if rows > 1 and seconds <= 0:
        raise UnreadableInput(
            place,
            f"the clock stands still: all {rows} rows have the same time, so nothing of what flowed can be told",
            "give a log whose time runs on from row to row",
        )


def _rest_current(layout: Layout) -> float:
    """Return the current up to which nothing is taken to flow: far below what flows, above the noise. [A].

    Four standard deviations of the noise, as far as rows next to each other show it: of three some row in four hundred
    is beyond, and a rest of that many rows after a discharge would make it longer.
    """
    noise = min(max(_NOISE_TIMES * layout.noise_a, 2.0 * layout.step_a), 0.05 * layout.largest_a)
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
    pulses = [each for number in sorted(short) for each in pulses_of(found, number, flows[number], first_s)]
    pulses += pulses_within(found, pulses, first_s)
    rests = tuple(
        rest_of(each, first_s)
        for each in found.stretches
        if not each.way and each.seconds >= _SHORTEST_REST_S
    )
    volts = [
        each for stretch in found.stretches for each in (stretch.low_v, stretch.high_v) if isfinite(each)
    ]
    # In a mean over the time of a row nothing tells the voltage just before and after a step.
    told_of_steps = () if found.layout.of_means else resistances(found, discharges, first_s)
    groups = with_resistance(groups_of_log(found, discharges), told_of_steps)
    reading = LogReading(
        place, rows, (last_s - first_s) / 3600, found.layout.columns, discharges, charges, rests,
        tuple(pulses), told_of_steps, groups, tuple(found.remarks),
        (min(volts, default=0.0), max(volts, default=0.0)), None if found.twice else taken_together(told),
    )  # fmt: skip
    return replace(reading, remarks=(*reading.remarks, *said_of(found, reading)))


def _with_words(reading: LogReading, words: Mapping[int, str]) -> LogReading:
    """Return a reading that quotes what rows of words say: at the end of a flow why it ended, else as a remark."""
    flows = (*reading.discharges, *reading.charges)
    return replace(
        reading,
        discharges=tuple(event_rows.quoted_at_end(each, words) for each in reading.discharges),
        charges=tuple(event_rows.quoted_at_end(each, words) for each in reading.charges),
        remarks=(*reading.remarks, *event_rows.remarks(words, flows)),
    )


def _at_standard(reading: LogReading, curves: Curves) -> LogReading:
    """Return the reading with what its discharges would have delivered at 0.2 It and 20 C."""
    told = []
    guessed = set()
    for each in reading.discharges:
        kinds = curves.chemistries
        if not kinds:
            kinds = _kind_by_voltage(reading, each, curves.series)
            guessed |= set(kinds)
        standard = standard_of(each, kinds)
        told.append(
            replace(each, standard_ah=standard.ah, standard_wh=standard.wh, standard_note=standard.note)
        )
    remarks = list(reading.remarks)
    if guessed and any(each.standard_ah is not None for each in told):
        words = " and ".join(
            "iron phosphate" if each == "LFP" else "nickel or cobalt" for each in sorted(guessed)
        )
        remarks.append(f"the cells are taken for {words} by their voltage")
    return replace(reading, discharges=tuple(told), remarks=tuple(remarks))


def standard_of(flow: Flow, kinds: Sequence[str]) -> Standard:
    """Return what one discharge would have delivered; It is by what it delivered, not by what is claimed."""
    if flow.at_odds:
        return Standard(None, None, "the instrument contradicts itself: not converted")
    if not endings.was_emptied(flow):
        return Standard(None, None, "stopped before it was empty: not converted")
    temperature = flow.air_c if flow.air_c is not None else flow.start_c
    fast = flow.current_a / flow.ah
    # The rated capacity is what was delivered, or more by what the test left inside.
    rates = [fast] if is_standard(fast, temperature) else [fast, LEAST_DELIVERED * fast]
    if flow.intermittent is not None:
        # The cells recover in the pauses: it delivers no more than steadily at the mean, nor less than at what flowed.
        rates += [part * flow.intermittent.on_a / flow.ah for part in (1.0, LEAST_DELIVERED)]
    found = [
        at_standard(flow.ah_bounds, flow.wh_bounds, rate, temperature, kind, slowest=0.0)
        for rate in rates
        for kind in kinds or (None,)
    ]
    for each in found:
        if each.ah is None or each.wh is None:
            return each
    ah, wh = [each.ah for each in found if each.ah], [each.wh for each in found if each.wh]
    parts = [each.part for each in found if each.part is not None]
    if not parts or temperature is None:
        return Standard(hull(ah), hull(wh), found[0].note)
    part = hull(parts)
    names = " or ".join(dict.fromkeys(each.kind for each in found if each.kind))
    its = f"{fast:.2g}"
    if flow.intermittent is not None:
        its += f" (in pauses too; {flow.intermittent.on_a / flow.ah:.2g} while it flowed)"
    note = (
        f"from {its} It and {round(temperature)} C by what measured {names} deliver there: "
        f"{100 * part.low:.0f} to {100 * part.high:.0f} % of the capacity"
    )
    return Standard(hull(ah), hull(wh), note)


def _kind_by_voltage(reading: LogReading, flow: Flow, series: int | None) -> tuple[str, ...]:
    """Return the kind of the cells by their voltage; none for a pack whose count is not known."""
    count = len(flow.groups) if flow.groups else series
    if count is None:
        if reading.voltage_v[1] > _HIGHEST_CELL_V:
            return ()
        count = 1
    if flow.mean_v / count < 3.3 and flow.start_v / count < 3.7:
        return ("LFP",)
    return ("NMC",) if reading.voltage_v[1] / count > 3.8 else ()
