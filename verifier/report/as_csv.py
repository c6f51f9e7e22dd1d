"""The report as CSV: one row a figure, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from verifier.report.as_json import finding_data
from verifier.report.model import Report

COLUMNS = (
    "case", "stage", "cell", "match", "figure", "unit", "claimed", "supported_low", "supported_high",
    "margin_low_percent", "margin_high_percent", "verdict", "between", "limited_by", "evidence", "unknown",
    "cautions",
)  # fmt: skip


def safe(text: str) -> str:
    """Return text that a spreadsheet takes as text and not as a formula."""
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t", "\r")) else text


def render(reports: Sequence[Report]) -> str:
    """Return a header and one row for every figure of every report."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(COLUMNS)
    for report in reports:
        for finding in report.findings:
            data = finding_data(finding)
            margin = data["margin_percent"] or {"low": None, "high": None}
            writer.writerow(
                [
                    safe(report.title), report.stage, report.cell.id or "", report.cell.match,
                    data["figure"], data["unit"], data["claimed"],
                    data["supported"]["low"], data["supported"]["high"], margin["low"], margin["high"],
                    data["verdict"], " / ".join(data["between"] or []), data["limited_by"], data["evidence"],
                    "; ".join(data["unknown"]), safe("; ".join(data["cautions"])),
                ]
            )  # fmt: skip
    return stream.getvalue()
