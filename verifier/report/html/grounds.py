"""What an HTML report rests on: the cell, its sheets, every step, the registry and the limits in force."""

from __future__ import annotations

import re

from verifier.case.limits import DEFAULTS
from verifier.finding import Finding, Step
from verifier.report.html.markup import Content, Markup, bullets, given, join, table, tag
from verifier.report.html.sections import section
from verifier.report.model import Report
from verifier.report.words import FIGURE_NAMES, evidence_words, span

# As support.sheets names a place: the sheet, then the page, then the quoted line.
_PLACE = re.compile(r'(?P<sheet>.+?\))(?:, page (?P<page>\d+))?(?:, "(?P<quote>.*)")?')


def evidence(report: Report, heading: str) -> Markup:
    """Return the cell and each figure taken from a sheet: which sheet, which page, which words."""
    steps = {(step.formula, step.source): step for each in report.findings for step in each.steps}
    prefixes = tuple(f"{cell.id} sheet " for cell in report.named_cells)
    rows = [_sheet_row(step) for step in steps.values() if prefixes and step.source.startswith(prefixes)]
    header = ("taken from a sheet", "value", "sheet", "page", "quoted line")
    caption = f"Evidence: {evidence_words(report.cell.evidence)}"
    return section("Evidence", heading, _cell(report), table(caption, header, rows) if rows else "")


def _sheet_row(step: Step) -> list[Content]:
    found = _PLACE.fullmatch(step.source)
    sheet, page, quote = found.group("sheet", "page", "quote") if found else (step.source, None, None)
    return [
        given(step.formula),
        span(step.value, step.unit.strip("-")),
        given(sheet),
        page or "not stated",
        tag("q", given(quote)) if quote else "not quoted",
    ]


def _cell(report: Report) -> Markup:
    cell = report.cell
    if cell.id is not None:
        how = {"exact": "matched exactly", "named": "named in the case"}[cell.match]
        return tag(
            "p", "Cells: ", tag("strong", given(cell.name or "")), f" ({cell.id}; {how} from {cell.source})."
        )
    words = [tag("p", f"Cells: not known; {cell.candidates} registered cells fit what is known.")]
    if cell.source:
        words.append(tag("p", given(f"{cell.source}: {cell.note}")))
    if cell.suggestions:
        near = (given(f"{each.cell_id} ({each.score:.0f} of 100): {each.why}") for each in cell.suggestions)
        words += [tag("p", "Similar markings, not accepted:"), bullets(near)]
    return join(*words)


def derivations(report: Report, heading: str) -> Markup:
    """Return how each figure was found, folded away."""
    return section("How each figure was found", heading, *(_steps(each) for each in report.findings))


def _steps(finding: Finding) -> Markup:
    if not finding.steps:
        return Markup("")
    name = FIGURE_NAMES[finding.figure]
    rows = (
        (given(step.symbol), given(step.formula), span(step.value, step.unit.strip("-")), given(step.source))
        for step in finding.steps
    )
    steps = table(f"Every step to {name}", ("symbol", "from", "value", "source"), rows)
    return tag("details", tag("summary", name), steps)


def judged_by(report: Report, heading: str) -> Markup:
    """Return the temperatures, the registry and the limits that the verdicts rest on."""
    low, high = report.temperature_c
    overridden = ", ".join(sorted(report.limits.overrides)) or "none"
    facts = (
        ("Air of use", given(f"{low:g} to {high:g} C ({report.temperature_source})")),
        ("Registry", f"{report.registry.cells} cells"),
        ("Registry digest", tag("span", report.registry.digest, class_="mono")),
        ("Limits overridden", overridden),
        ("Sheet picked", given(report.sheet or "none; the best evidence decides")),
    )
    rows = (
        (
            name, span(report.limits[name], limit.unit.strip("-")).strip(), limit.meaning,
            given(report.limits.source(name)),
        )
        for name, limit in DEFAULTS.items()
    )  # fmt: skip
    limits = table("Every limit in force", ("limit", "value", "what it is", "where from"), rows)
    return section(
        "Judged by",
        heading,
        tag("dl", *(tag("div", tag("dt", name), tag("dd", value)) for name, value in facts), class_="facts"),
        tag("details", tag("summary", "Limits: every limit in force"), limits),
    )


def cautions(report: Report, heading: str) -> Markup:
    """Return what holds for every report."""
    return section("Cautions", heading, bullets(given(each) for each in report.cautions))
