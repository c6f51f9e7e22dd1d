"""Readings as JSON: one log an object, several an array."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from math import isfinite
from typing import Any

from verifier.bounds import Bounds
from verifier.discharge_log.against_claims import ClaimTested
from verifier.discharge_log.endings import was_emptied
from verifier.discharge_log.model import Flow, LogReading


def render(readings: Sequence[LogReading], tested: Sequence[Sequence[ClaimTested]] | None) -> str:
    """Return readings as JSON; `tested` holds what each log says of a case's claims, None without a case."""
    objects = []
    for number, reading in enumerate(readings):
        found = log_object(reading)
        if tested is not None:
            found["claims"] = [claim_object(each) for each in tested[number]]
        objects.append(found)
    return json.dumps(objects[0] if len(objects) == 1 else objects, indent=2, ensure_ascii=False) + "\n"


def log_object(reading: LogReading) -> dict[str, Any]:
    """Return one reading as plain data; the first five keys are promised to readers."""
    together = reading.longest_together
    return {
        "discharges": [_flow(each) for each in reading.discharges],
        "charges": [_flow(each) for each in reading.charges],
        "resistance": [_plain(asdict(each)) for each in reading.resistance],
        "groups": [_plain(asdict(each)) for each in reading.groups],
        "remarks": [*reading.warnings, *reading.remarks],
        "warnings": list(reading.warnings),
        "file": reading.file,
        "begun": reading.begun,
        "rows": reading.rows,
        "hours": _number(reading.hours),
        "lowest_v": _number(reading.voltage_v[0]),
        "highest_v": _number(reading.voltage_v[1]),
        "columns": [asdict(each) for each in reading.columns],
        "rests": [_plain(asdict(each)) for each in reading.rests],
        "pulses": [_plain(asdict(each)) for each in reading.pulses],
        "together": _plain(asdict(together)) if together is not None else None,
    }


def _flow(flow: Flow) -> dict[str, Any]:
    doubt = flow.uncertainty
    found: dict[str, Any] = {
        name: _plain(getattr(flow, name))
        for name in (
            "ah",
            "wh",
            "mean_v",
            "current_a",
            "start_v",
            "end_v",
            "minutes",
            "start_c",
            "max_c",
            "ended_by",
        )
    }
    found |= {
        "ended_how": flow.ended_how,
        "ah_bounds": _ends(flow.ah_bounds),
        "wh_bounds": _ends(flow.wh_bounds),
        "uncertainty": {
            "meter_percent": _number(100 * doubt.meter),
            "resolution_percent": _number(100 * doubt.resolution),
            "sampling_percent": _number(100 * doubt.sampling),
            "sampling_wh_percent": _number(100 * doubt.sampling_wh),
            "gaps_ah": _number(doubt.gaps_ah),
        },
        "at_minute": _number(flow.at_minute),
        "rows": [flow.first_row, flow.last_row],
        "labels": dict(flow.labels),
        "peak_a": _number(flow.peak_a),
        "last_a": _plain(flow.last_a),
        "highest_group_v": _plain(flow.highest_group_v),
        "intermittent": _plain(asdict(flow.intermittent)) if flow.intermittent is not None else None,
        "air_c": _plain(flow.air_c),
        "rise_c": _plain(flow.rise_c),
        "sensors": [_plain(asdict(each)) for each in flow.sensors],
        "returned_ah": _number(flow.returned_ah),
        "counter_ah": _plain(flow.counter_ah),
        "counter_wh": _plain(flow.counter_wh),
        "rows_ah": _number(flow.rows_ah),
        "rows_wh": _number(flow.rows_wh),
        "ah_by": "counter" if flow.ah_by_counter else "rows",
        "wh_by": "counter" if flow.wh_by_counter else "rows",
        "at_odds": flow.at_odds,
        "gaps": [_plain(asdict(each)) for each in flow.gaps],
    }
    if flow.kind == "discharge":
        found |= {
            "cutoff_v": _plain(flow.cutoff_v),
            "knee": _plain(asdict(flow.knee)) if flow.knee is not None else None,
            "sag": _plain(asdict(flow.sag)) if flow.sag is not None else None,
            "from_full": flow.from_full,
            "emptied": was_emptied(flow),
            "first_group": flow.first_group,
            "groups": [_plain(asdict(each)) for each in flow.groups],
            "at_standard": {
                "ah": _ends(flow.standard_ah),
                "wh": _ends(flow.standard_wh),
                "note": flow.standard_note,
            },
        }
    return found


def claim_object(tested: ClaimTested) -> dict[str, Any]:
    """Return what a log says of one claim."""
    return {
        "figure": tested.figure,
        "unit": tested.unit,
        "claimed": _ends(tested.claimed),
        "supported": _ends(tested.supported),
        "verdict": str(tested.verdict),
        "evidence": "own_test",
        "conditions": {name: _plain(value) for name, value in tested.conditions.items()},
        "proves": tested.proves,
        "does_not_prove": list(tested.does_not_prove),
    }


def _ends(bounds: Bounds | None) -> dict[str, float | None] | None:
    if bounds is None:
        return None
    return {"low": _number(bounds.low), "high": _number(bounds.high)}


def _plain(value: Any) -> Any:
    """Return plain data with numbers of six figures."""
    if isinstance(value, dict):
        return {name: _plain(each) for name, each in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(each) for each in value]
    if isinstance(value, float):
        return _number(value)
    return value


def _number(value: float) -> float | None:
    return float(f"{value:.6g}") if isfinite(value) else None
