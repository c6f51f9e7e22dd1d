"""What a log says that cannot be: then a column was read as what it is not, and no figure of it stands."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from verifier.bounds import Bounds
from verifier.discharge_log.model import Flow, LogReading
from verifier.discharge_log.streamed import Streamed
from verifier.errors import UnreadableInput

# No cell of a light vehicle is emptied faster, at 20 times its capacity. Common practice, no source.
_SHORTEST_MIN = 3.0
MOST_AH = 300.0
"""No pack of a light electric vehicle holds more, nor more than `MOST_WH`. Common practice, no source."""
MOST_WH = 25_000.0
_LEAST_AH, _WHOLE_FALL = 0.05, 1.3
"""No cell of a light vehicle holds less; the voltage falls by this ratio from full to empty."""
_LONGEST_H = 1000.0
"""Without a unit of the time, no one flow is believed to last longer."""
_SAME_LOG, _A_UNIT = 1.5, 3.0
"""A counter that is this many times away from the rows, with its unit in the heading, counts something else; further
away than the second a unit is not what it was read as, and nothing of the log can be told."""


def refuse_impossible(found: Streamed, reading: LogReading, place: str) -> None:
    """Refuse what no pack makes, or not in its time, or what the instrument's own counter shows to be another.

    Raises
    ------
    UnreadableInput
        Where the reading contradicts itself.
    """
    for each in (*reading.discharges, *reading.charges):
        _refuse_too_much(found, each, place)
        _refuse_too_little(each, place)
    for each in reading.discharges:
        if found.layout.times.form.guessed and each.knee is not None and each.minutes < _SHORTEST_MIN:
            raise UnreadableInput(
                f"{place} row {each.first_row}",
                f"a whole discharge in {60 * each.minutes:.0f} s is hardly possible: the time "
                f"{found.layout.times.form.guessed}",
                "put the unit of the time into its heading, such as time_min or time_h",
            )
        if _apart(found, each) > _SAME_LOG and (
            found.layout.times.form.guessed or _apart(found, each) > _A_UNIT
        ):
            raise UnreadableInput(
                f"{place} row {each.first_row}",
                f"the instrument itself counted {each.counter_ah:.4g} Ah, the rows make {each.rows_ah:.4g} Ah: one of "
                "the columns is not what it was read as",
                "name time, voltage and current with their units in the headings, such as time_s, voltage_v, current_a",
            )


def with_doubts(found: Streamed, reading: LogReading) -> LogReading:
    """Return a reading in which nothing is believed that the instrument itself counted otherwise.

    Of a flow whose counter is far from its own current over its own time the smaller is told, without an upper end. It
    is a lower end only where the instrument's power says that the current is right, and else there is none.
    """
    flows = [
        _doubted(found, each) if _apart(found, each) > _SAME_LOG else each for each in reading.discharges
    ]
    warnings = [_told_at_odds(found, each) for each in flows if each.at_odds]
    if not warnings:
        return reading
    return replace(reading, discharges=tuple(flows), warnings=(*reading.warnings, *warnings))


def _doubted(found: Streamed, flow: Flow) -> Flow:
    counted_ah = flow.counter_ah if flow.counter_ah is not None else flow.rows_ah
    by_rows = flow.rows_ah <= counted_ah
    part = 1.0 if by_rows else counted_ah / flow.rows_ah
    ah, wh = flow.rows_ah * part, flow.rows_wh * part
    sure = by_rows and bool(found.layout.power_agrees)
    low_ah, low_wh = (min(flow.ah_bounds.low, ah), min(flow.wh_bounds.low, wh)) if sure else (0.0, 0.0)
    return replace(
        flow, ah=ah, wh=wh, ah_bounds=Bounds(low_ah, inf), wh_bounds=Bounds(low_wh, inf), ah_by_counter=False,
        wh_by_counter=False, at_odds=True,
    )  # fmt: skip


def _told_at_odds(found: Streamed, flow: Flow) -> str:
    why = ""
    if found.layout.power_agrees:
        why = "; its power is its voltage times its current, so that the counter is the likelier to be wrong"
    elif found.layout.power_agrees is False:
        why = "; nor is its power its voltage times its current"
    return (
        f"the instrument contradicts itself: it counted {flow.counter_ah:.4g} Ah from row {flow.first_row} on, and its "
        f"own current over its own time makes {flow.rows_ah:.4g} Ah{why}. Neither is proven, no claim is judged by "
        "this log: repeat the test with a meter that agrees with itself"
    )


def _apart(found: Streamed, flow: Flow) -> float:
    """Return how many times the instrument's counter and the rows are apart; 1 where it has none with a unit."""
    gross = flow.rows_ah + flow.returned_ah
    if not flow.counter_ah or gross <= 0 or not _counter_has_unit(found):
        return 1.0
    return max(flow.counter_ah / gross, gross / flow.counter_ah)


def _refuse_too_little(flow: Flow, place: str) -> None:
    """Refuse a whole discharge of less than any cell holds: the current is not in the unit that it was read in."""
    whole = flow.kind == "discharge" and flow.knee is not None and flow.start_v > _WHOLE_FALL * flow.end_v
    if not whole or flow.ah >= _LEAST_AH:
        return
    raise UnreadableInput(
        f"{place} row {flow.first_row}",
        f"a whole discharge of {flow.ah:.2g} Ah at {flow.current_a:.2g} A would follow, less than any cell of a light "
        "vehicle holds: the current or the time is not in the unit that it was read in",
        "put the units into the headings, such as time_s, current_a",
    )


def _refuse_too_much(found: Streamed, flow: Flow, place: str) -> None:
    """Refuse a flow that is more than any pack holds: a unit is not what it was read as."""
    hours = flow.minutes / 60
    form = found.layout.times.form
    unit_known = not form.guessed and form.unit != "s since 1970"
    if flow.ah <= MOST_AH and flow.wh <= MOST_WH and (unit_known or hours <= _LONGEST_H):
        return
    time = f"the time read in {form.unit if form.kind == 'number' else 'h:m:s'}"
    time += "" if unit_known else ", which has no unit"
    raise UnreadableInput(
        f"{place} row {flow.first_row}",
        f"a {flow.kind} of {flow.ah:.3g} Ah, {flow.wh:.3g} Wh in {hours:.3g} h would follow from {time}; a light "
        f"vehicle's pack holds at most {MOST_AH:g} Ah and {MOST_WH:g} Wh: nothing of it is told",
        "put the units into the headings, such as time_ms, voltage_mV, current_mA",
    )


def _counter_has_unit(found: Streamed) -> bool:
    return all(series.with_unit for name, series in found.layout.counters if name == "capacity")
