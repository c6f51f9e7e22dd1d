"""What a log measured of a pack, as the fields of a case that hold it."""

from __future__ import annotations

from collections.abc import Mapping
from math import isinf
from typing import Any

from verifier.bounds import Bounds
from verifier.case.editing import shown, with_field
from verifier.case.fields import case_fields
from verifier.case.interview import BadAnswer, Data, value_at
from verifier.case.model import Case
from verifier.discharge_log.against_claims import was_full
from verifier.discharge_log.endings import was_emptied
from verifier.discharge_log.model import Flow, LogReading, Resistance
from verifier.discharge_log.resistance import TO_REST
from verifier.discharge_log.same_pack import series_of
from verifier.errors import InvalidCase, UnreadableInput

# A figure known to this, one way and the other, is one figure; the judging adds the meter's error itself.
_ONE_FIGURE = 0.01
# The seconds that sheets state a resistance at, and by how much a log may be off them.
_SECONDS, _SECONDS_OFF = 10.0, 0.5
_OF_THE_TEST = (
    "observed.capacity_current_a",
    "observed.capacity_cutoff_v",
    "observed.capacity_temperature_c",
)


def observed_in(reading: LogReading, case: Case) -> dict[str, Any]:
    """Return the fields of a case that a log fills, each with its value.

    The capacity is of a whole discharge: from full down to where the pack gave no more. Resistance is a cell's in a
    case, taken from the log of a single cell, and that of the groups, where the log has their voltages; a pack's holds
    leads and BMS as well, and hides a bad group.

    Raises
    ------
    UnreadableInput
        If no whole discharge is in the log; what of it is not shown is named.
    """
    flow = _whole(reading, case)
    temperature = flow.air_c if flow.air_c is not None else flow.start_c
    found: dict[str, Any] = {
        "observed.capacity_ah": _figure(flow.ah, flow.ah_bounds),
        "observed.capacity_current_a": _rounded(flow.current_a),
        "observed.capacity_cutoff_v": _rounded(flow.cutoff_v if flow.cutoff_v is not None else flow.end_v),
    }
    if temperature is not None:
        found["observed.capacity_temperature_c"] = round(temperature, 1)
    step = _of_one_cell(reading, case)
    of_groups = _of_the_groups(reading)
    if of_groups is not None:
        found["observed.group_dc_mohm"] = _ends(min(of_groups.groups_mohm), max(of_groups.groups_mohm))
        found["observed.group_dc_seconds"] = _ends(of_groups.seconds, of_groups.seconds_most)
        if of_groups.temperature_c is not None:
            found["observed.group_dc_temperature_c"] = round(of_groups.temperature_c, 1)
    if step is not None:
        found["observed.cell.dc_mohm"] = _ends(step.mohm, step.mohm_most)
        found["observed.cell.dc_seconds"] = _ends(step.seconds, step.seconds_most)
    return found


def _whole(reading: LogReading, case: Case) -> Flow:
    if not reading.discharges:
        raise UnreadableInput(
            reading.file, "holds no discharge", "a capacity is written from a whole discharge"
        )
    if any(each.at_odds for each in reading.discharges):
        raise UnreadableInput(
            reading.file, "contradicts itself: the instrument's counter is not its current over its time",
            "write a capacity from a test with a meter that agrees with itself",
        )  # fmt: skip
    whole = [each for each in reading.discharges if was_full(each, case) and was_emptied(each)]
    if whole:
        flow = max(whole, key=lambda each: each.ah)
        if isinf(flow.ah_bounds.high):
            raise UnreadableInput(
                reading.file, "stood still while current may have flowed: the capacity is not known",
                "write it from a log without a break",
            )  # fmt: skip
        return flow
    most = max(reading.discharges, key=lambda each: each.ah)
    if was_emptied(most):
        series = series_of(case)
        counted = series is not None and series.exact
        raise UnreadableInput(
            reading.file, "does not show that the pack was full at the start",
            "log a rest before the load, or the charge" if counted else "write observed.series into the case first",
        )  # fmt: skip
    raise UnreadableInput(
        reading.file, f"does not show that the pack was empty at the end ({most.ended_how})",
        "a capacity is written from a whole discharge",
    )  # fmt: skip


def _of_one_cell(reading: LogReading, case: Case) -> Resistance | None:
    """Return the step of a single cell's log that is nearest to ten seconds; None of a pack's."""
    series, parallel = case.observed.series, case.observed.parallel
    single = all(each is not None and each.exact and each.low == 1 for each in (series, parallel))
    fitting = [
        each for each in reading.resistance
        if not each.near_empty and each.charge_taken_off and each.method != TO_REST
        and abs(each.seconds / _SECONDS - 1) <= _SECONDS_OFF
    ]  # fmt: skip
    return min(fitting, key=lambda each: abs(each.seconds - _SECONDS), default=None) if single else None


def _of_the_groups(reading: LogReading) -> Resistance | None:
    """Return the step, away from empty, that tells of the groups over ten seconds at least and as few as there are."""
    fitting = [
        each for each in reading.resistance
        if each.groups_mohm and not each.near_empty and each.method != TO_REST and each.seconds >= _SECONDS
    ]  # fmt: skip
    return min(fitting, key=lambda each: each.seconds, default=None)


def _figure(value: float, bounds: Bounds) -> float | list[float]:
    """Return one figure, or the two ends where it is known less well than a meter."""
    far = max(value - bounds.low, bounds.high - value) > _ONE_FIGURE * value
    return _ends(bounds.low, bounds.high) if far else _rounded(value)


def _ends(low: float, high: float) -> float | list[float]:
    ends = [_rounded(low), _rounded(high)]
    return ends[0] if ends[0] == ends[1] else ends


def _rounded(value: float) -> float:
    return float(f"{value:.4g}")


def with_observed(data: Data, found: Mapping[str, Any], place: str, *, force: bool) -> Data:
    """Return the data of a case with what a log measured.

    Raises
    ------
    InvalidCase
        If a field holds another value already, unless by force: then nothing is taken.
    """
    held = {
        name: value for name in found if (value := value_at(data, name)) is not None and value != found[name]
    }
    if held and not force:
        fields = case_fields()
        name, value = next(iter(held.items()))
        more = f" and {len(held) - 1} more" if len(held) > 1 else ""
        raise InvalidCase(
            f"{place} {name}",
            f"holds {shown(fields[name], value)}{more}, the log says {shown(fields[name], found[name])}",
            "--force writes the log's over it",
        )  # fmt: skip
    # What stood beside the capacity before is of another test.
    stale = [name for name in _OF_THE_TEST if held and "observed.capacity_ah" in held and name not in found]
    try:
        for name, value in (*((name, None) for name in stale), *found.items()):
            data = with_field(data, name, value)
    except BadAnswer as error:
        raise InvalidCase(f"{place} {name}", str(error)) from error
    return data
