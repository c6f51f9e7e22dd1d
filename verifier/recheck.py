"""Judging a saved report again from the inputs it holds, and telling what differs."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from registry.bundle import validate_cell
from registry.cell import Cell
from verifier.case_file import case_from
from verifier.errors import InvalidReport
from verifier.judge import judge
from verifier.pack import CellSource
from verifier.plain_data import Document
from verifier.policy import Policy
from verifier.quantity import Quantity
from verifier.report.as_json import report_data

# What a report says of a figure; a difference in any of these is a different answer.
COMPARED = (
    "claimed",
    "supported",
    "margin_percent",
    "verdict",
    "between",
    "limited_by",
    "evidence",
    "by_temperature",
)


class OneCell:
    """A registry of the one cell that a report holds."""

    def __init__(self, cell: Cell | None, count: int, digest: str) -> None:
        self._cell = cell
        self.count = count
        self.digest = digest

    def cells(self, *, all: bool = False) -> list[Cell]:
        """Return the cell, if there is one."""
        return [] if self._cell is None else [self._cell]

    def get(self, cell_id: str) -> Cell | None:
        """Return the cell when it has this id."""
        return self._cell if self._cell is not None and self._cell.id == cell_id else None

    def named(self, normalised: str) -> list[Cell]:
        """Return the cell: the report says that the marking named it."""
        return self.cells()

    def fitting(self, size: str | None, chemistry: str | None) -> list[Cell]:
        """Return the cell, if there is one."""
        return self.cells()


def read_reports(text: str, place: str) -> list[dict[str, Any]]:
    """Return the reports that a JSON text holds, checked against their schema.

    Raises
    ------
    InvalidReport
        If the text is not a report of this program.
    """
    import jsonschema

    from verifier.schemas import load_schema

    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise InvalidReport(place, "is not JSON", "give a report saved with --format json") from error
    schema = load_schema("report")
    reports = data if isinstance(data, list) else [data]
    for report in reports:
        problem = jsonschema.exceptions.best_match(
            jsonschema.Draft202012Validator(schema).iter_errors(report)
        )
        if problem is not None:
            where = problem.json_path.removeprefix("$").lstrip(".") or "the whole file"
            raise InvalidReport(
                f"{place} {where}", problem.message[:200], "give a report saved with --format json"
            )
    return reports


def judge_again(report: dict[str, Any], place: str, registry: CellSource | None = None) -> dict[str, Any]:
    """Return the report that the saved inputs give now; with a registry, by the cells in it."""
    inputs = report["inputs"]
    case_file = case_from(Document(inputs["case"]), f"{place} inputs.case")
    limit = Quantity(-1e6, 1e6)
    policy = Policy({name: limit.read(value) for name, value in inputs["policy"].items()})
    if registry is None:
        cell = None if inputs["cell"] is None else validate_cell(inputs["cell"], f"{place} inputs.cell")
        registry = OneCell(cell, report["registry"]["cells"], report["registry"]["digest"])
    return report_data(judge(case_file.case, registry, policy=policy, sheet=inputs["sheet"]))


def differences(saved: dict[str, Any], again: dict[str, Any]) -> Iterator[str]:
    """Yield, in words, every answer that is not the same in both reports."""
    if saved["cell"]["id"] != again["cell"]["id"]:
        yield f"cell: saved {saved['cell']['id']}, now {again['cell']['id']}"
    then = {finding["figure"]: finding for finding in saved["findings"]}
    now = {finding["figure"]: finding for finding in again["findings"]}
    for figure in [*then, *(each for each in now if each not in then)]:
        if figure not in then or figure not in now:
            yield f"{figure}: {'only in the saved report' if figure in then else 'not in the saved report'}"
            continue
        for key in COMPARED:
            if not _same(then[figure].get(key), now[figure].get(key)):
                before, after = _short(then[figure].get(key)), _short(now[figure].get(key))
                yield f"{figure} {key}: saved {before}, now {after}"
    for key, value in saved["rely_on"].items():
        if not _same(value, again["rely_on"].get(key)):
            yield f"rely_on {key}: saved {_short(value)}, now {_short(again['rely_on'].get(key))}"


def _same(a: Any, b: Any) -> bool:
    if isinstance(a, dict) and isinstance(b, dict):
        return a.keys() == b.keys() and all(_same(a[key], b[key]) for key in a)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(_same(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, (int, float)) and isinstance(b, (int, float)):
        return abs(a - b) <= 1e-9 * max(abs(a), abs(b), 1.0)
    return bool(a == b)


def _short(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 120 else text[:117] + "..."
