"""The report as CSV: one row a figure, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from typing import Any

from registry.spreadsheet import safe
from verifier.case_report import Report
from verifier.finding import Finding
from verifier.report.as_json import finding_data
from verifier.report.use_line import use_text
from verifier.words import observation_text

COLUMNS = (
    "case", "stage", "conclusion", "answer", "alarms", "cannot_be_true", "use_at_most", "ask_first",
    "cell", "match", "figure", "unit", "claimed", "supported_low", "supported_high",
    "margin_low_percent", "margin_high_percent", "verdict", "between", "limited_by", "evidence", "unknown",
    "cautions", "sellers_word", "next_step",
)  # fmt: skip


def safe_row(row: Sequence[Any]) -> list[Any]:
    """Return a row with every text in it safe; numbers stay numbers."""
    return [safe(value) if isinstance(value, str) else value for value in row]


def rows(reports: Sequence[Report]) -> Iterator[list[Any]]:
    """Yield a row for every figure of every report, in the order of `COLUMNS`; what is not known is None."""
    for report in reports:
        opening = answer_cells(report)
        for finding in report.findings:
            data = finding_data(finding, report.limits)
            margin = data["margin_percent"] or {"low": None, "high": None}
            yield [
                report.title, report.stage, *opening, report.cell.id, report.cell.match,
                data["figure"], data["unit"], data["claimed"],
                data["supported"]["low"], data["supported"]["high"], margin["low"], margin["high"],
                data["verdict"], " / ".join(data["between"] or []), data["limited_by"], data["evidence"],
                "; ".join(data["unknown"]), "; ".join(data["cautions"]), "; ".join(data["sellers_word"]),
                next_step(report, finding),
            ]  # fmt: skip


def answer_cells(report: Report) -> list[str]:
    """Return the answer of a report in six cells: conclusion, sentence, alarms, and so on as in `COLUMNS`."""
    answer = report.answer
    return [
        str(answer.conclusion),
        answer.sentence,
        "; ".join(each.text for each in answer.alarms),
        "; ".join(each.text for each in answer.cannot_be_true),
        "; ".join(use_text(each) for each in answer.use_at_most),
        "; ".join(each.text for each in answer.ask_first),
    ]


def next_step(report: Report, finding: Finding) -> str:
    """Return the observation of least effort that could settle a figure, with its effort."""
    found = next((step for step in report.next_steps if finding.figure in step.settles), None)
    return "" if found is None else f"{observation_text(found.observe)} ({found.effort})"


def render(reports: Sequence[Report]) -> str:
    """Return a header and one row for every figure of every report."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(safe_row(row) for row in rows(reports))
    return stream.getvalue()
