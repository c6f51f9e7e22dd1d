"""The report as Markdown, to paste into a forum or an issue tracker."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from verifier.case_report import CAUTIONS, Report
from verifier.finding import Finding
from verifier.report import rows
from verifier.report.layout import not_judged, printable
from verifier.report.opening import label_text, lines, particulars, stage_text
from verifier.report.opening_texts import ALARM, ANSWER
from verifier.words import ENGLISH, Language, certificate_text, figure_name, verdict_name

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


def listed(texts: Iterable[str]) -> str:
    """Return a Markdown list."""
    return "\n".join(f"- {escape(text)}" for text in texts)


def render(
    reports: Sequence[Report],
    *,
    explain: bool = False,
    language: Language = ENGLISH,
    left_out: Sequence[str] = (),
) -> str:
    """Return the reports one after another, the opening in a language; `explain` adds every step of every figure."""
    missing = [escape(not_judged(left_out))] if left_out else []
    blocks = [*missing, *(_one(report, explain, language) for report in reports), quoted(CAUTIONS)]
    return "\n\n".join(blocks) + "\n"


def quoted(texts: Iterable[str]) -> str:
    """Return texts as quotations."""
    return "\n".join(f"> {escape(text)}" for text in texts)


def _one(report: Report, explain: bool, language: Language) -> str:
    current = report.finding("continuous_current")
    told = [
        (*rows.figure_row(each, language), rows.told_verdict(each, language)) for each in rows.shown(report)
    ]
    header = rows.columns((*rows.FIGURES, rows.VERDICT), language)
    bands = [(*rows.band_row(each), verdict_name(each.verdict)) for each in current.by_temperature]
    bench = rows.bench_rows(report)
    named = report.cell.id is not None
    elements = [rows.path_row(each, cells_known=named) for each in rows.judged_elements(current)]
    blocks = [
        f"## {escape(report.title)} ({stage_text(report, language)})",
        *_opening(report, language),
        escape(rows.heading(report, language)) if told else "",
        table(header, told) if told else "",
        *_part("From cell to connector", table(rows.PATH, elements) if elements else ""),
        *_part(
            "By temperature",
            f"{rows.bands_text(report)}\n\n{table((*rows.BANDS, 'verdict'), bands)}" if bands else "",
        ),
        *_part(
            "Cell on the bench",
            f"{escape(rows.bench_text(report))}\n\n{table(rows.BENCH, bench)}" if bench else "",
        ),
        *_part("Notes", listed(rows.notes(report))),
        *_part("Build, as seen", listed(rows.build(report))),
        *_part("Marks", listed(certificate_text(each) for each in report.certificates)),
    ]
    if explain:
        for each in report.findings:
            blocks += _part(f"How {figure_name(each.figure)} was found", _steps(report, each))
    return "\n\n".join(block for block in blocks if block)


def _opening(report: Report, language: Language) -> list[str]:
    """Return the opening: alarms and the conclusion stand out, the rest is a list."""
    found, entries = [], []
    for label, text in [*lines(report, language), *particulars(report, language)]:
        if label in (ALARM, ANSWER):
            found.append(f"**{escape(text)}**")
        elif label:
            entries.append(f"- {label_text(label, language)}: {escape(text)}")
        else:
            entries[-1] += f"; {escape(text)}"
    return [*found, "\n".join(entries)]


def _part(title: str, text: str) -> list[str]:
    """Return a text under its heading, or nothing where there is none."""
    return [f"### {title}", text] if text else []


def _steps(report: Report, finding: Finding) -> str:
    told = rows.step_rows(report, finding)
    return table(("symbol", "from", "value", "source"), told) if told else ""
