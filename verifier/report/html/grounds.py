"""What an HTML report rests on: the cell, its sheets, every step, the registry and the limits in force."""

from __future__ import annotations

from collections.abc import Iterator

from verifier.case.limits import DEFAULTS
from verifier.case_report import CAUTIONS, Report
from verifier.finding import Citation, Finding, Step
from verifier.report.html.markup import Content, Markup, bullets, given, join, table, tag
from verifier.report.html.sections import section
from verifier.words import (
    citation_place,
    evidence_name,
    field_name,
    figure_name,
    remark_text,
    source_text,
    span,
    step_value,
    temperatures,
)


def evidence(report: Report, heading: str) -> Markup:
    """Return the cell and each figure taken from a sheet: which sheet, which page, which words."""
    cited = {
        (step.formula, citation): (step, citation)
        for finding in report.findings
        for step in _steps_of(finding)
        for citation in step.source.citations
    }
    told = [_cited_row(*each) for each in cited.values()]
    header = ("taken from a datasheet", "value", "datasheet", "page", "quoted line")
    caption = f"Evidence: {evidence_name(report.cell.evidence)}"
    return section("Evidence", heading, _cell(report), table(caption, header, told) if told else "")


def _steps_of(finding: Finding) -> Iterator[Step]:
    yield from finding.steps
    for element in finding.elements:
        yield from element.steps


def _cited_row(step: Step, citation: Citation) -> list[Content]:
    return [
        given(step.formula),
        step_value(step.value, step.unit),
        given(f"{citation.cell_id} {citation_place(citation)}"),
        "not stated" if citation.page is None else str(citation.page),
        "not quoted" if citation.quote is None else tag("q", given(citation.quote)),
    ]


def _cell(report: Report) -> Markup:
    cell = report.cell
    told = [given(remark_text(each)) for each in cell.notes]
    if cell.id is not None:
        how = {"exact": "matched exactly", "named": "named in the case"}[cell.match]
        name = tag("strong", given(cell.name or ""))
        said = tag("p", "Cells: ", name, f" ({cell.id}; {how}, from {field_name(cell.source)}).")
        return join(said, bullets(told) if told else "")
    if not told and not cell.suggestions:
        return Markup("")
    near = [given(f"{each.name} ({each.score:.0f} of 100): {each.why}") for each in cell.suggestions]
    return join(
        bullets(told) if told else "",
        join(tag("p", "Similar names in your registry, not accepted:"), bullets(near)) if near else "",
    )


def derivations(report: Report, heading: str) -> Markup:
    """Return how each figure was found, folded away; what is folded is left out on paper."""
    told = (_steps(report, each) for each in report.findings)
    return section("How each figure was found", heading, *told, class_="folded")


def _steps(report: Report, finding: Finding) -> Markup:
    if not finding.steps:
        return Markup("")
    name = figure_name(finding.figure)
    told = (
        (
            given(step.symbol),
            given(step.formula),
            step_value(step.value, step.unit),
            given(source_text(step.source, report.limits)),
        )
        for step in finding.steps
    )
    steps = table(f"Every step to {name}", ("symbol", "from", "value", "source"), told)
    return tag("details", tag("summary", name), steps)


def judged_by(report: Report, heading: str) -> Markup:
    """Return the temperatures, the registry and the limits that the verdicts rest on."""
    overridden = ", ".join(sorted(report.limits.overrides)) or "none"
    assumed = " (our default)" if report.temperature_assumed else ""
    facts: tuple[tuple[str, Content], ...] = (
        ("Air of use", f"{temperatures(*report.temperature_c)}{assumed}"),
        ("Registry", f"{report.registry.cells} cells"),
        ("Registry digest", tag("span", report.registry.digest, class_="mono")),
        ("Limits overridden", overridden),
        ("Datasheet picked", given(report.sheet or "none; the best evidence decides")),
    )
    told = (
        (
            name, span(report.limits[name], limit.unit.strip("-")).strip(), limit.meaning,
            given(report.limits.source(name)),
        )
        for name, limit in DEFAULTS.items()
    )  # fmt: skip
    limits = table("Every limit in force", ("limit", "value", "what it is", "where from"), told)
    return section(
        "Judged by",
        heading,
        tag("dl", *(tag("div", tag("dt", name), tag("dd", value)) for name, value in facts), class_="lines"),
        tag("details", tag("summary", "Limits: every limit in force"), limits),
    )


def cautions(heading: str) -> Markup:
    """Return what holds for every report."""
    return section("Cautions", heading, bullets(CAUTIONS))
