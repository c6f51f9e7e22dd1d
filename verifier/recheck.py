"""Judging a saved report again from the inputs it holds, and telling what differs."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from math import isinf, isnan
from typing import Any

from pydantic_core import PydanticCustomError

from registry.bundle import validate_cell
from registry.cell import Cell
from registry.cells import Cells, InMemory
from registry.input_bounds import REPORT_VALUES, REPORTS
from verifier.case.limits import Limits
from verifier.case.quantity import Quantity
from verifier.case.reading import case_from
from verifier.case.strict_yaml import Document
from verifier.errors import InvalidReport
from verifier.judge import judge
from verifier.report.as_json import report_data
from verifier.report.layout import printable

SAVED = "give a report saved with --format json"

# Without a registry these cannot be found again, because a report holds only the cells that it names.
_NEEDS_REGISTRY = ("cell.suggestions", "cell.candidates", "cell.note", "next_steps")
_OWN_OF_A_REGISTRY = ("registry", "inputs.cells")


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


def read_reports(text: str, place: str) -> list[dict[str, Any]]:
    """Return the reports that a JSON text holds, checked against their schema.

    Raises
    ------
    InvalidReport
        If the text is not a report of this program.
    """
    import jsonschema

    from verifier.schemas import load_schema

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
    schema = load_schema("report")
    reports = data if isinstance(data, list) else [data]
    if not reports:
        raise InvalidReport(place, "holds no report", SAVED)
    if len(reports) > REPORTS.most:
        raise InvalidReport(place, f"holds more than {REPORTS}", REPORTS.why)
    for report in reports:
        problem = jsonschema.exceptions.best_match(
            jsonschema.Draft202012Validator(schema).iter_errors(report)
        )
        if problem is not None:
            where = problem.json_path.removeprefix("$").lstrip(".") or "the whole file"
            raise InvalidReport(f"{place} {where}", problem.message[:200], SAVED)
        _refuse_twice([finding["figure"] for finding in report["findings"]], place)
    return reports


def _refuse_twice(figures: list[str], place: str) -> None:
    for name in set(figures):
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
    limits = Limits(overrides, inputs["limit_origins"])
    return report_data(
        judge(
            case_file.case,
            registry,
            limits=limits,
            sheet=inputs["sheet"],
            explain=report["whole_pack"] is not None,
        )
    )


def differences(saved: dict[str, Any], again: dict[str, Any], *, by_registry: bool = False) -> Iterator[str]:
    """Yield, in words, everything that is not the same in both reports.

    With `by_registry` the second was judged by a registry, whose own size and digest are no difference.
    """
    skipped = _OWN_OF_A_REGISTRY if by_registry else _without_registry(saved)
    for path, before, after in _apart(_by_figure(saved), _by_figure(again), ""):
        if _part_of(path, skipped) is None:
            words = path.removeprefix("findings.").replace(".", " ")
            yield printable(f"{words}: saved {_short(before)}, now {_short(after)}")


def not_compared(saved: dict[str, Any], again: dict[str, Any]) -> list[str]:
    """Return the parts that are not as they were found again, and that only a registry can tell."""
    skipped = _without_registry(saved)
    parts = (_part_of(path, skipped) for path, *_ in _apart(_by_figure(saved), _by_figure(again), ""))
    return list(dict.fromkeys(part for part in parts if part is not None))


def _without_registry(saved: dict[str, Any]) -> tuple[str, ...]:
    return _NEEDS_REGISTRY if saved["cell"]["id"] is None else ()


def _part_of(path: str, parts: Sequence[str]) -> str | None:
    """Return which of some parts of a report a path lies in."""
    if parts and path.endswith(".registered_cells"):
        return "registered_cells"
    return next((part for part in parts if path == part or path.startswith((f"{part}.", f"{part}["))), None)


def _by_figure(report: dict[str, Any]) -> dict[str, Any]:
    """Return the report with its findings under their figures' names, each to be compared with its own."""
    return {**report, "findings": {finding["figure"]: finding for finding in report["findings"]}}


def _apart(a: Any, b: Any, path: str) -> Iterator[tuple[str, Any, Any]]:
    if isinstance(a, dict) and isinstance(b, dict):
        for key in [*a, *(key for key in b if key not in a)]:
            inside = f"{path}.{key}" if path else str(key)
            yield from _apart(a.get(key), b.get(key), inside)
    elif isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        for number, (x, y) in enumerate(zip(a, b, strict=True)):
            yield from _apart(x, y, f"{path}[{number}]")
    elif not _same(a, b):
        yield path, a, b


def _same(a: Any, b: Any) -> bool:
    numbers = (int, float)
    if isinstance(a, bool) or isinstance(b, bool) or not (isinstance(a, numbers) and isinstance(b, numbers)):
        return bool(a == b)
    # Reports are written with twelve digits; a differing machine may round the last of them otherwise.
    return abs(a - b) <= 1e-9 * max(abs(a), abs(b))


def _short(value: Any) -> str:
    text = printable(json.dumps(value, ensure_ascii=False))
    return text if len(text) <= 120 else text[:117] + "..."
