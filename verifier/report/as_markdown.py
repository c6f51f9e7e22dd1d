"""The report as Markdown, to paste into a forum or an issue tracker."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from verifier.case_report import Report
from verifier.report.layout import printable
from verifier.report.words import (
    FIGURE_NAMES,
    decision,
    element_words,
    evidence_words,
    paper_words,
    percent,
    span,
    verdict_words,
)

# Every sign that could begin something else than text (CommonMark 0.31, 2.4), and what makes a link of an
# address that stands by itself (GitHub Flavored Markdown 0.29, 6.9).
_SPECIAL = re.compile(r"[\\`*_{}\[\]<>#|~&$@]|^[-+](?=[ -]|$)|:(?=//)|(?<=\bwww)\.", re.IGNORECASE)
_NUMBERED = re.compile(r"^(\d+)([.)])(?= |$)")


def escape(text: str) -> str:
    """Return text that Markdown shows as it is, on one line: no markup, no link, no list within a list."""
    line = _SPECIAL.sub(r"\\\g<0>", printable(" ".join(text.split())))
    return _NUMBERED.sub(r"\1\\\2", line)


def table(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a Markdown table."""
    lines = [header, ["---"] * len(header), *([escape(text) for text in row] for row in rows)]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def render(reports: Sequence[Report], *, explain: bool = False) -> str:
    """Return the reports one after another; `explain` adds every step of every figure."""
    return "\n\n".join(_one(report, explain) for report in reports) + "\n"


def _one(report: Report, explain: bool) -> str:
    rely, cell = report.rely_on, report.cell
    low, high = report.temperature_c
    blocks = [
        f"## {escape(report.title)} ({report.stage})",
        escape(decision(report)),
        escape(
            f"Rely on {span(rely.continuous_current_a, 'A')} continuous and a motor of "
            f"{span(rely.load_power_w, 'W')}, from {low:g} to {high:g} C. "
            f"Cells: {cell.name or 'not known'}; evidence: {evidence_words(cell.evidence)}."
        ),
        table(
            ("figure", "claimed", "supported", "margin", "limited by", "verdict"),
            (
                (
                    FIGURE_NAMES[each.figure],
                    "-" if each.claimed is None else span(each.claimed, each.unit),
                    span(each.supported, each.unit),
                    percent(each.margin_percent),
                    element_words(each.limited_by),
                    verdict_words(each),
                )
                for each in report.findings
            ),
        ),
    ]
    notes = [each.text for each in report.contradictions]
    notes += [
        f"{FIGURE_NAMES[each.figure]}: {text}"
        for each in report.findings
        for text in (*each.cautions, each.registered_cells)
        if text
    ]
    if notes:
        blocks.append("\n".join(f"- {escape(text)}" for text in dict.fromkeys(notes)))
    if explain:
        for each in report.findings:
            rows = [
                (step.symbol, step.formula, span(step.value, step.unit.strip("-")), step.source)
                for step in each.steps
            ]
            if rows:
                blocks.append(f"### How {FIGURE_NAMES[each.figure]} was found")
                blocks.append(table(("symbol", "from", "value", "source"), rows))
    if report.papers:
        blocks.append("### What the marks show")
        blocks.append("\n".join(f"- {escape(paper_words(each))}" for each in report.papers))
    blocks.append("\n".join(f"> {escape(text)}" for text in report.cautions))
    return "\n\n".join(blocks)
