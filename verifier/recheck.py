"""Judging a saved report again from the inputs it holds, and telling what differs.

A report holds its case, its limits and the datasheets of the cells that it names. Judged again by these it is
confirmed as it stands, which says nothing of whether its datasheets are true: a registry does.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from copy import deepcopy
from dataclasses import dataclass, replace
from math import isinf, isnan
from typing import Any

from pydantic_core import PydanticCustomError

from registry.bundle import validate_cell
from registry.cell import Cell
from registry.cells import Cells, InMemory
from registry.input_bounds import REPORT_VALUES, REPORTS
from verifier.answer import told
from verifier.case.limits import Limits
from verifier.case.quantity import Quantity
from verifier.case.reading import case_from
from verifier.case.strict_yaml import Document
from verifier.case_report import Report
from verifier.differences import Difference, differences, same
from verifier.errors import InvalidReport
from verifier.finding import Could
from verifier.judge import judge
from verifier.report.as_json import report_data
from verifier.schemas import REPORT_FORMAT
from verifier.verdict import Verdict
from verifier.words import sentence

SAVED = "give a report saved with --format json"


class ReportCells(InMemory):
    """The cells that a report holds, of a registry of which it names the size and the digest."""

    def __init__(self, cells: Sequence[Cell], count: int, digest: str) -> None:
        super().__init__(cells, "the report")
        self._count, self._digest = count, digest

    @property
    def count(self) -> int:
        """How many cells were in use."""
        return self._count

    @property
    def digest(self) -> str:
        """The digest of all of them."""
        return self._digest

    def fitting(self, size: str | None, chemistry: str | None) -> list[Cell]:
        """Return no cell: which others would fit, a report does not hold."""
        return []


@dataclass(frozen=True, slots=True)
class Rechecked:
    """What judging a saved report again gave.

    ``differ`` is what was found otherwise. ``not_confirmed`` are parts that are not as they were found again,
    and that only a registry can tell. ``notes`` say what is no difference, and worth knowing. ``failed`` says
    that a figure could not be judged now, because its check failed.
    """

    title: str
    differ: tuple[Difference, ...]
    not_confirmed: tuple[str, ...]
    notes: tuple[str, ...]
    failed: bool

    @property
    def confirmed(self) -> bool:
        """Whether everything was found again as it was saved."""
        return not (self.differ or self.not_confirmed or self.failed)


def read_reports(text: str, place: str) -> list[dict[str, Any]]:
    """Return the reports that a JSON text holds, checked against their schema.

    Raises
    ------
    InvalidReport
        If the text is not a report of this program, or holds more than can be judged again in a while.
    """
    # Every value stands between two commas; this is known before any of them is read.
    if text.count(",") > REPORT_VALUES.most:
        raise InvalidReport(place, f"holds more than {REPORT_VALUES}", REPORT_VALUES.why)

    def finite(digits: str) -> float:
        value = float(digits)
        if isinf(value) or isnan(value):
            raise ValueError(digits)
        return value

    try:
        data = json.loads(
            text, parse_float=finite, parse_int=lambda digits: int(finite(digits)), parse_constant=finite
        )
    except (ValueError, RecursionError) as error:
        raise InvalidReport(place, "is not JSON with plain numbers", SAVED) from error
    reports = data if isinstance(data, list) else [data]
    if not reports:
        raise InvalidReport(place, "holds no report", SAVED)
    if len(reports) > REPORTS.most:
        raise InvalidReport(place, f"holds more than {REPORTS}", REPORTS.why)
    for report in reports:
        _refuse(report, place)
    return reports


def _refuse(report: Any, place: str) -> None:
    from verifier.schemas import fault_of

    stated = report.get("format") if isinstance(report, dict) else None
    if isinstance(stated, str) and stated != REPORT_FORMAT and stated.startswith("packclaim report "):
        raise InvalidReport(
            f"{place} format", f"'{stated[:40]}' is a report of another version",
            f"this version reads '{REPORT_FORMAT}'; judge its case again with 'packclaim check'",
        )  # fmt: skip
    problem = fault_of("report", report)
    if problem is not None:
        where = problem.json_path.removeprefix("$").lstrip(".") or "the whole file"
        raise InvalidReport(f"{place} {where}", problem.message[:200], SAVED)
    figures = [finding["figure"] for finding in report["findings"]]
    for name in dict.fromkeys(figures):
        if figures.count(name) > 1:
            raise InvalidReport(f"{place} findings", f"'{name}' stands twice", "a report has it once")


def judge_again(report: dict[str, Any], place: str, registry: Cells | None = None) -> dict[str, Any]:
    """Return the report that the saved inputs give now; with a registry, by the cells in it."""
    inputs = report["inputs"]
    case_file = case_from(Document(inputs["case"]), f"{place} inputs.case")
    limit = Quantity(-1e6, 1e6)
    try:
        overrides = {name: limit.read(value) for name, value in inputs["limits"].items()}
    except PydanticCustomError as error:
        raise InvalidReport(f"{place} inputs.limits", str(error), SAVED) from error
    if registry is None:
        cells = [validate_cell(cell, f"{place} inputs.cells") for cell in inputs["cells"]]
        registry = ReportCells(cells, report["registry"]["cells"], report["registry"]["digest"])
    again = judge(
        case_file.case, registry, limits=Limits(overrides, inputs["limit_origins"]), sheet=inputs["sheet"],
        explain=report["whole_pack"] is not None,
    )  # fmt: skip
    if isinstance(registry, ReportCells) and not again.cell.used:
        again = _with_counts_of(report, again, registry.count)
    return report_data(again)


def _with_counts_of(saved: dict[str, Any], again: Report, registered: int) -> Report:
    """Return a report whose first sentence counts the cells that the saved one counts: no other has them."""
    counted = {each["figure"]: each["could"] for each in saved["findings"]}
    findings = tuple(replace(each, could=_could(counted.get(each.figure))) for each in again.findings)
    alarms = [each.remark for each in again.alarms]
    words = sentence(
        again.answer.conclusion.value, findings, alarms, told(again.contradictions), registered,
        used=again.answer.used, gave_far_less=again.answer.gave_far_less,
        unreadable=bool(again.case.observed.cell.marking_unreadable),
    )  # fmt: skip
    return replace(again, answer=replace(again.answer, sentence=words))


def _could(counted: dict[str, Any] | None) -> Could | None:
    if counted is None:
        return None
    return Could(
        counted["registered_able"], counted["registered_possible"], counted["grade"], tuple(counted["cells"])
    )


def recheck(report: dict[str, Any], place: str, registry: Cells | None = None) -> Rechecked:
    """Judge a saved report again, and return what differs.

    Parameters
    ----------
    report
        As `read_reports` gives it.
    place
        What errors call it.
    registry
        The cells to judge by; the report's own when left out, which hold no others.
    """
    again = judge_again(report, place, registry)
    saved = deepcopy(report)
    notes, not_confirmed = [], []
    if registry is not None:
        notes = _of_another_registry(saved, again)
    elif not report["cell"]["used"]:
        not_confirmed = _beyond_a_report(saved, again)
    return Rechecked(
        str(report["case"]["title"]),
        tuple(differences(saved, again)),
        tuple(not_confirmed),
        tuple(notes),
        any(each["verdict"] == Verdict.CHECK_FAILED for each in again["findings"]),
    )


def _of_another_registry(saved: dict[str, Any], again: dict[str, Any]) -> list[str]:
    """Take what is a registry's own out of the comparison, and return what is to be said of it."""
    notes = []
    if not same(saved["registry"], again["registry"]):
        count = again["registry"]["cells"]
        notes.append(f"judged by a registry of {count} cells; the report's had {saved['registry']['cells']}")
    saved["registry"] = again["registry"]
    before, after = ({each.get("id"): each for each in of["inputs"]["cells"]} for of in (saved, again))
    notes += [
        f"the registry's datasheets of {cell_id} are not those in the report"
        for cell_id, cell in before.items()
        if cell_id in after and not same(cell, after[cell_id])
    ]
    saved["inputs"]["cells"] = again["inputs"]["cells"]
    return notes


# What rests on cells that a report does not hold, and what a person calls it.
_BEYOND: tuple[tuple[str, Callable[[dict[str, Any]], dict[str, Any]], str], ...] = (
    ("suggestions of other cells", lambda report: report["cell"], "suggestions"),
    ("the note on the cell", lambda report: report["cell"], "note"),
    ("the number of cells that fit", lambda report: report["cell"], "candidates"),
    ("next steps", lambda report: report, "next_steps"),
    ("what to ask first", lambda report: report["answer"], "ask_first"),
)


def _beyond_a_report(saved: dict[str, Any], again: dict[str, Any]) -> list[str]:
    """Take what only a registry can tell out of the comparison; return what of it was not found again."""
    left = []
    for words, holder, key in _BEYOND:
        before, after = holder(saved), holder(again)
        if not same(before.get(key), after[key]):
            left.append(words)
            before[key] = after[key]
    now = {each["figure"]: each for each in again["findings"]}
    could = "which registered cells could do it"
    for finding in saved["findings"]:
        match = now.get(finding["figure"])
        if match is not None and not same(finding["could"], match["could"]):
            left.append(could)
            finding["could"] = match["could"]
    return list(dict.fromkeys(left))
