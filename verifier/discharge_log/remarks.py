"""What is to be said of a log in words: what it is not, what is missing, what contradicts itself."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.drift import drift_remarks
from verifier.discharge_log.model import Flow, Gap, LogReading
from verifier.discharge_log.resistance import of_groups_that_stand_out
from verifier.discharge_log.streamed import Streamed

Array = npt.NDArray[np.float64]

_HOUR_S, _HOUR_OFF_S = 3600.0, 61.0
_MOST_PAUSES = 4

NO_DISCHARGE = "no discharge in this log"
"""With these words a remark begins that a log without a discharge has."""


def intermittent_words(flow: Flow) -> str:
    """Return what a load that went on and off shows and what not; nothing of one that flowed without a break."""
    if flow.intermittent is None:
        return ""
    return (
        f"the load from row {flow.first_row} on was intermittent: {flow.current_a:.3g} A is the mean of all the time, "
        f"pauses too, {flow.intermittent.on_a:.3g} A that while it flowed, for "
        f"{60 * flow.intermittent.longest_minutes:.3g} s at a time at most; what the pack holds longer is not shown"
    )


def said_of(found: Streamed, reading: LogReading) -> list[str]:
    """Return what a reader of the figures must know besides them."""
    said = [found.twice] if found.twice else []
    if not reading.discharges:
        if reading.charges:
            each = max(reading.charges, key=lambda each: each.ah)
            said.append(
                f"{NO_DISCHARGE}: the voltage rises from {each.start_v:.4g} to {each.end_v:.4g} V "
                f"while {each.ah:.4g} Ah flow, so it is a charge and proves no capacity"
            )
        else:
            said.append(f"{NO_DISCHARGE}, only {'pulses' if reading.pulses else 'a rest'}")
    for each in reading.discharges:
        gross = each.rows_ah + each.returned_ah
        if each.counter_ah and abs(each.counter_ah / gross - 1) > 0.02:
            said.append(
                f"the instrument itself counted {each.counter_ah:.4g} Ah from row {each.first_row} on, "
                f"the rows make {gross:.4g}: what flowed lies between"
            )
    said += [words for each in reading.discharges if (words := intermittent_words(each))]
    for each in (*reading.discharges, *reading.charges):
        said += _of_gaps(each)
    said += of_groups_that_stand_out(reading.groups)
    said += drift_remarks(found)
    said += found.reports.remarks([each.end_s for each in found.stretches if each.way])
    if found.layout.status is not None:
        said += _words_against(found)
    if reading.longest_together is not None and len(reading.discharges) > 1:
        both = reading.longest_together
        largest = max(each.ah for each in reading.discharges)
        if both.ah > 1.05 * largest:
            said.append(
                f"{both.count} discharges with only rests between them delivered {both.ah:.4g} Ah together"
            )
    return said


def _of_gaps(flow: Flow) -> list[str]:
    """Return what the gaps of a flow may hide: how many, how long, how much charge."""
    paused = [
        f"gap of {each.seconds:.0f} s after row {each.row}: the load was paused, as {each.paused}; none of it is "
        f"counted{f', it may be up to {each.most_ah:.3g} Ah' if each.most_ah else ''}"
        for each in flow.gaps
        if each.paused
    ]
    gaps = [each for each in flow.gaps if not each.paused]
    return [*paused[:_MOST_PAUSES], *(_hidden(flow, gaps) if gaps else [])]


def _hidden(flow: Flow, gaps: Sequence[Gap]) -> list[str]:
    longest = max(gaps, key=lambda each: each.seconds)
    counted, most = (sum(getattr(each, name) for each in gaps) for name in ("counted_ah", "most_ah"))
    if len(gaps) == 1:
        which, they = f"gap of {longest.seconds:.0f} s after row {longest.row}", "it"
    else:
        together = sum(each.seconds for each in gaps)
        which, they = (
            (
                f"{len(gaps)} gaps in the {flow.kind} from row {flow.first_row} on, {together:.0f} s together, "
                f"the longest of {longest.seconds:.0f} s after row {longest.row}"
            ),
            "them",
        )
    share = 100 * counted / flow.ah if flow.ah else 0.0
    hour = [each for each in gaps if abs(each.seconds - _HOUR_S) <= _HOUR_OFF_S]
    summer = [
        f"the gap after row {each.row} is of an hour: a clock that was put forward looks the same, and hides nothing"
        for each in hour[:1]
    ]
    return [
        *summer,
        f"{which}: {counted:.3g} Ah ({share:.2g} %) taken to have flowed in {they}, it may be 0 to {most:.3g}",
    ]


def _words_against(found: Streamed) -> list[str]:
    """Return where a log with one sign of current names a charge what its voltage shows to be a discharge."""
    said = []
    ways = {each.way for each in found.stretches if each.way}
    if set(found.layout.directions.values()) & {1, -1} and len(ways) == 1:
        words = {1: "charge", -1: "discharge"}[ways.copy().pop()]
        for number, kind in found.kinds.items():
            stretch = found.stretches[number]
            by_words = len({-1, 1} & set(found.layout.directions.values())) == 1
            if by_words and kind != words and stretch.seconds > 60:
                said.append(
                    f"the log calls rows {stretch.first_row} to {stretch.last_row} a {words}, yet the "
                    f"voltage goes from {stretch.first_v:.4g} to {stretch.last_v:.4g} V: read as a {kind}"
                )
                break
    return said
