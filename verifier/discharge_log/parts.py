"""The parts of one test with nothing but rests between them, as one discharge.

Whoever stops a load to look at it, or to let it cool, tests on where he left off: what the pack holds is what came out
in all, and how long it holds a current is what the longest part shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from verifier.bounds import Bounds
from verifier.discharge_log.model import Flow, Intermittent, LogReading

# So much of the time between two parts must be logged as a rest: in what is not, a pack may have been charged.
_LOGGED, _LONGEST_WAIT_S = 0.95, 300.0


def whole_test(reading: LogReading) -> Flow | None:
    """Return the parts that delivered the most together as one discharge; None where one alone delivered the most.

    Its current is the mean over all the time from the first part to the last, and it is on and off.
    """
    together = reading.longest_together
    if together is None or together.ah <= max(each.ah for each in reading.discharges):
        return None
    parts = [reading.discharges[number] for number in together.members]
    if not _only_rests_between(reading, parts) or any(each.at_odds for each in parts):
        return None
    first, last = parts[0], parts[-1]
    minutes = last.at_minute + last.minutes - first.at_minute
    on_minutes = sum(each.minutes for each in parts)
    if minutes <= 0 or on_minutes <= 0:
        return None
    longest_a, longest_minutes = max((each.held for each in parts), key=lambda held: held[1])
    hottest = [each.max_c for each in parts if each.max_c is not None]
    return replace(
        last,
        ah=together.ah, wh=together.wh,
        ah_bounds=_sum([each.ah_bounds for each in parts]), wh_bounds=_sum([each.wh_bounds for each in parts]),
        mean_v=together.wh / together.ah, current_a=60 * together.ah / minutes,
        peak_a=max(each.peak_a for each in parts),
        start_v=first.start_v, minutes=minutes, at_minute=first.at_minute, first_row=first.first_row,
        start_c=first.start_c, max_c=max(hottest, default=None), air_c=first.air_c, sag=first.sag,
        from_full=first.from_full, standard_ah=None, standard_wh=None,
        standard_note=f"it went in {len(parts)} parts with rests between them: not converted",
        intermittent=Intermittent(60 * together.ah / on_minutes, longest_a, longest_minutes),
    )  # fmt: skip


def _sum(bounds: Sequence[Bounds]) -> Bounds:
    return Bounds(sum(each.low for each in bounds), sum(each.high for each in bounds))


def _only_rests_between(reading: LogReading, parts: Sequence[Flow]) -> bool:
    """Whether the log shows that nothing but rests lay between the parts."""
    for before, after in pairwise(parts):
        if after.sag is None:
            return False
        begin, end = before.at_minute + before.minutes, after.at_minute
        rests = [each for each in reading.rests if begin - 0.1 <= each.at_minute < end]
        rested = sum(each.minutes for each in rests)
        if any(each.longest_wait_s > _LONGEST_WAIT_S for each in rests) or rested < _LOGGED * (end - begin):
            return False
    return True
