"""The report as JSON: plain data with fixed keys, and its text."""

from __future__ import annotations

import json
from collections.abc import Sequence
from math import isinf
from typing import Any

from registry.cell import Cell
from registry.plain_text import printable_json
from verifier.answer import Answer
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.case_report import CAUTIONS, Report
from verifier.finding import Element, Finding, Step
from verifier.pack.bench_cell import BenchAnswer
from verifier.report.opening import lines
from verifier.schemas import REPORT_FORMAT, refuse_invalid
from verifier.whole_pack import WholePack
from verifier.words import certificate_text, contradiction_text, remark_text, remedy_text, source_text


def number(value: float | None) -> float | None:
    """Return a number with the noise of its last binary digits gone; what is unbounded is null."""
    if value is None or isinf(value):
        return None
    return float(f"{value:.12g}")


def _supported(bounds: Bounds) -> dict[str, float | None]:
    return {"low": number(bounds.low), "likely": number(bounds.likely), "high": number(bounds.high)}


def _ends(bounds: Bounds) -> dict[str, float | None]:
    return {"low": number(bounds.low), "high": number(bounds.high)}


def _step(step: Step, limits: Limits) -> dict[str, Any]:
    return {
        "symbol": step.symbol,
        "formula": step.formula,
        "value": number(step.value.low),
        "high": number(step.value.high),
        "unit": step.unit,
        "source": source_text(step.source, limits),
    }


def _element(element: Element, limits: Limits) -> dict[str, Any]:
    return {
        "element": element.element,
        "supported": _supported(element.supported),
        "state": element.state,
        "note": "; ".join(remark_text(each) for each in element.notes),
        "unknown": list(element.unknown),
        "steps": [_step(step, limits) for step in element.steps],
        "share": number(element.share),
        "drop_mv": None if element.drop_mv is None else _ends(element.drop_mv),
        "heat_w": None if element.heat_w is None else _ends(element.heat_w),
    }


def finding_data(finding: Finding, limits: Limits) -> dict[str, Any]:
    """Return one finding as plain data."""
    claimed, able = finding.claimed, finding.could
    data: dict[str, Any] = {
        "figure": finding.figure,
        "unit": finding.unit,
        "claimed": None if claimed is None else number(claimed.high),
        "supported": _supported(finding.supported),
        "margin_percent": None if finding.margin_percent is None else _ends(finding.margin_percent),
        "verdict": str(finding.verdict),
        "between": None if finding.between is None else [str(each) for each in finding.between],
        "limited_by": finding.limited_by,
        "evidence": finding.evidence,
        "elements": [_element(element, limits) for element in finding.elements],
        "by_temperature": [
            {
                "low_c": number(band.low_c),
                "high_c": number(band.high_c),
                "supported": _ends(band.supported),
                "cells": _ends(band.cells),
                "verdict": str(band.verdict),
                "limited_by": band.limited_by,
                "surely_limited_by": band.surely_limited_by,
            }
            for band in finding.by_temperature
        ],
        "steps": [_step(step, limits) for step in finding.steps],
        "unknown": list(finding.unknown),
        "cautions": [remark_text(each) for each in finding.cautions],
        "sellers_word": list(finding.sellers_word),
        "could": None
        if able is None
        else {
            "registered_able": able.registered_able,
            "registered_possible": able.registered_possible,
            "grade": able.grade,
            "cells": list(able.names),
        },
        "path_current_a": number(finding.path_current_a),
        "remedies": [
            {"change": remedy_text(each), "field": each.field, "supported": _ends(each.supported)}
            for each in finding.remedies
        ],
    }
    if claimed is not None and not claimed.exact:
        data["claimed_range"] = _ends(claimed)
    return data


def cell_data(cell: Cell) -> dict[str, Any]:
    """Return a cell as a bundle holds it."""
    from registry.bundle import cell_line

    record: dict[str, Any] = json.loads(cell_line(cell))
    return record


def answer_data(answer: Answer) -> dict[str, Any]:
    """Return the answer with its fixed keys."""
    best, worn = answer.at_best, answer.worn_out
    return {
        "conclusion": str(answer.conclusion),
        "sentence": answer.sentence,
        "alarms": [
            {"code": each.code, "text": each.text, "fields": list(each.fields)} for each in answer.alarms
        ],
        "cannot_be_true": [
            {"code": each.code, "text": each.text, "fields": list(each.fields)}
            for each in answer.cannot_be_true
        ],
        "use_at_most": [
            {
                "low_c": number(each.low_c),
                "high_c": number(each.high_c),
                "continuous_a": number(each.continuous_a),
                "motor_w": number(each.motor_w),
                "limited_by": each.limited_by,
            }
            for each in answer.use_at_most
        ],
        "at_best": None
        if best is None
        else {
            "continuous_a": number(best.continuous_a),
            "motor_w": number(best.motor_w),
            "limited_by": best.limited_by,
        },
        "worn_out": None
        if worn is None
        else {
            "new_ah": number(worn.new_ah),
            "percent": number(worn.percent),
            "least_percent": number(worn.least_percent),
            "surely": worn.surely,
            "needed_ah": number(worn.needed_ah),
            "empty_v": number(worn.empty_v),
        },
        "ask_first": [
            {"observe": each.observe, "text": each.text, "settles": list(each.settles)}
            for each in answer.ask_first
        ],
    }


# Of the first lines what no other key of the answer says, under the label that a reader sees.
_SAID = {
    "decision": ("decision",),
    "use": ("use at most", "use it for"),
    "charge_with": ("charge with",),
    "load": ("your load",),
    "beware": ("beware",),
}


def _first_lines(report: Report) -> dict[str, list[str]]:
    """Return the lines of the opening that tell what to do, as texts: a program must not miss "do not plug in"."""
    found: dict[str, list[str]] = {name: [] for name in _SAID}
    under = ""
    for label, text in lines(report):
        under = label or under
        for name, wanted in _SAID.items():
            if under in wanted:
                found[name].append(text)
    return found


def report_data(report: Report) -> dict[str, Any]:
    """Return a report as plain data with the fixed keys."""
    cell, rely_on, limits = report.cell, report.rely_on, report.limits
    return {
        "format": REPORT_FORMAT,
        "answer": {**answer_data(report.answer), **_first_lines(report)},
        "case": {"title": report.title, "stage": report.stage},
        "registry": {"cells": report.registry.cells, "digest": report.registry.digest},
        "limits": {name: _limit(limits[name]) for name in ("reserve", *sorted(limits.overrides))},
        "temperature_c": {
            "low": number(report.temperature_c[0]),
            "high": number(report.temperature_c[1]),
            "assumed": report.temperature_assumed,
        },
        "cell": {
            "id": cell.id,
            "name": cell.name,
            "match": cell.match,
            "used": cell.used,
            "note": "; ".join(remark_text(each) for each in cell.notes),
            "source": cell.source,
            "suggestions": [
                {
                    "id": each.cell_id,
                    "name": each.name,
                    "score": number(each.score),
                    "likely": each.likely,
                    "why": each.why,
                }
                for each in cell.suggestions
            ],
            "evidence": cell.evidence,
            "candidates": cell.candidates,
            "bench": None if cell.bench is None else _bench(cell.bench, limits),
        },
        "findings": [finding_data(finding, limits) for finding in report.findings],
        "rely_on": {
            "continuous_current_a": _ends(rely_on.continuous_current_a),
            "continuous_power_w": _ends(rely_on.continuous_power_w),
            "load_power_w": _ends(rely_on.load_power_w),
            "on_sellers_word": list(rely_on.on_sellers_word),
            "intended_load_w": None if rely_on.intended_load_w is None else _ends(rely_on.intended_load_w),
            "intended_current_a": (
                None if rely_on.intended_current_a is None else _ends(rely_on.intended_current_a)
            ),
            "intended_verdict": str(rely_on.intended_verdict),
        },
        "contradictions": [
            {
                "code": each.code,
                "text": contradiction_text(each.code, each.numbers),
                "fields": list(each.fields),
                "steps": [_step(step, report.limits) for step in each.steps],
            }
            for each in report.contradictions
        ],
        "whole_pack": None if report.whole_pack is None else _whole_pack(report.whole_pack),
        "next_steps": [
            {
                "observe": step.observe,
                "effort": step.effort,
                "settles": list(step.settles),
                "chance": number(step.chance),
                "outcomes": [
                    {"value": out.value, "figure": out.figure, "verdict": out.verdict}
                    for out in step.outcomes
                ],
            }
            for step in report.next_steps
        ],
        "certificates": [certificate_text(each) for each in report.certificates],
        "questions": list(report.questions),
        "cautions": list(CAUTIONS),
        "inputs": {
            "case": report.case.model_dump(mode="json", exclude_unset=True),
            "limits": {name: _limit(value) for name, value in sorted(limits.overrides.items())},
            "limit_origins": limits.origins,
            "sheet": report.sheet,
            "cells": [cell_data(each) for each in report.named_cells],
        },
    }


def _bench(bench: BenchAnswer, limits: Limits) -> dict[str, Any]:
    return {
        "outcome": bench.outcome,
        "by": list(bench.by),
        "figures": [
            {
                "figure": each.figure,
                "unit": each.unit,
                "measured": _ends(each.measured),
                "sheet": _ends(each.sheet),
                "printed": None if each.printed is None else _ends(each.printed),
                "outcome": each.outcome,
                "why": remark_text(each.why),
                "source": source_text(each.source, limits),
            }
            for each in bench.figures
        ],
    }


def _whole_pack(solved: WholePack) -> dict[str, Any]:
    return {
        "current_a": number(solved.current_a),
        "cell_a": [[number(each) for each in group] for group in solved.cell_a],
        "end_group_after_a": [number(each) for each in solved.end_group_after_a],
        "hottest_over_mean": number(solved.hottest_over_mean),
        "hottest_link_a": number(solved.hottest_link_a),
        "drop_v": _ends(solved.drop_v),
    }


def _limit(value: Bounds) -> float | list[float]:
    return value.low if value.exact else [value.low, value.high]


def render(reports: Sequence[Report], *, several: bool = False) -> str:
    """Return one report as a JSON object, several as an array; one of ``several`` that were asked for as an array too.

    Raises
    ------
    InvalidReport
        If a report does not fit its own schema.
    """
    data = [report_data(report) for report in reports]
    for report, each in zip(reports, data, strict=True):
        refuse_invalid("report", each, f"report of '{report.title}'")
    written = json.dumps(
        data[0] if len(data) == 1 and not several else data, ensure_ascii=False, indent=2, allow_nan=False
    )
    return printable_json(written) + "\n"
