"""The report for a terminal: 80 columns, no colour, the answer first."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.finding import Element, Finding
from verifier.report.columns import block, table
from verifier.case_report import Report
from verifier.report.words import (
    FIGURE_NAMES,
    between_words,
    decision,
    digits,
    element_words,
    evidence_words,
    paper_words,
    percent,
    span,
)
from verifier.verdict import Verdict

# What was found without a claim, and matters without one.
_TOLD_UNCLAIMED = ("continuous_current", "mass", "arrival_charge")


def render(reports: Sequence[Report], *, explain: bool = False) -> str:
    """Return the reports one after another; `explain` adds every step of every figure."""
    return "\n\n".join(_one(report, explain) for report in reports) + "\n"


def _one(report: Report, explain: bool) -> str:
    blocks = [
        _head(report),
        _figures(report),
        _path(report.finding("continuous_current")),
        _temperatures(report.finding("continuous_current")),
        _list("Contradictions", [each.text for each in report.contradictions]),
        _list("Notes", _notes(report)),
        _list("Build, as seen", report.finding("build").cautions),
        _open(report),
        _next(report, explain),
    ]
    if explain:
        blocks.append(_whole_pack(report))
        blocks.extend(_steps(finding) for finding in report.findings)
    blocks.append(_list("What the marks show", [paper_words(each) for each in report.papers]))
    blocks.append(_list("Cautions", report.cautions))
    return "\n\n".join(block for block in blocks if block)


def _head(report: Report) -> str:
    low, high = report.temperature_c
    registry = f"registry of {report.registry.cells} cells, digest {report.registry.digest[:12]}"
    judged = f"Judged from {low:g} to {high:g} C ({report.temperature_source}); {registry}"
    lines = [
        block(f"{report.title} ({report.stage})"),
        block(decision(report)),
        block(f"Rely on: {_rely_on(report)}", indent="  "),
        block(f"Cells:   {_cell(report)}", indent="  "),
        block(judged, indent="  "),
    ]
    return "\n".join(lines)


def _rely_on(report: Report) -> str:
    rely = report.rely_on
    reserve = report.limits.number("reserve")
    if rely.continuous_current_a.low <= 0:
        text = "nothing is settled yet"
        if rely.continuous_current_a.known:
            text += (
                f"; at most {span_top(rely.continuous_current_a.high, 'A')} continuous and a motor of "
                f"{span_top(rely.load_power_w.high, 'W')}, if what is open turns out well"
            )
    else:
        text = (
            f"{span(rely.continuous_current_a, 'A')} continuous, "
            f"{span(rely.continuous_power_w, 'W')} from the battery, "
            f"a motor of {span(rely.load_power_w, 'W')}"
        )
    text += f" (reserve: {reserve:.3g} of the limit)."
    if rely.on_sellers_word:
        text += f" Rests on the seller's word alone: {', '.join(rely.on_sellers_word)}."
    if rely.intended_load_w is not None and rely.intended_current_a is not None:
        text += (
            f" The intended load of {span(rely.intended_load_w, 'W')} takes "
            f"{span(rely.intended_current_a, 'A')} when the pack is nearly empty."
        )
    return text


def span_top(value: float, unit: str) -> str:
    """Return the upper end of something in words."""
    from verifier.bounds import Bounds

    return span(Bounds(value, value), unit)


def _cell(report: Report) -> str:
    cell = report.cell
    if cell.id is not None:
        how = {"exact": "matched exactly", "named": "named in the case"}[cell.match]
        found = f"{cell.name} ({cell.id}; {how} from {cell.source})"
        return f"{found}; evidence: {evidence_words(cell.evidence)}"
    text = f"not known; {cell.candidates} registered cells fit what is known"
    if cell.source:
        text += f"; {cell.source}: {cell.note}"
    if cell.suggestions:
        near = ", ".join(
            f"{each.cell_id} ({each.score:.0f}{', likely' if each.likely else ''})"
            for each in cell.suggestions
        )
        text += f"; similar, and not accepted: {near}"
    return text


def _figures(report: Report) -> str:
    rows = [
        (
            FIGURE_NAMES[each.figure],
            "-" if each.claimed is None else span(each.claimed, each.unit),
            span(each.supported, each.unit),
            percent(each.margin_percent),
            element_words(each.limited_by),
            str(each.verdict),
        )
        for each in report.findings
    ]
    return table(("figure", "claimed", "supported", "margin", "limited by", "verdict"), rows)


def _element_row(element: Element) -> tuple[str, ...]:
    supported = "-" if element.state == "not fitted" else span(element.supported, "A")
    state = element.state if not element.note else f"{element.state}: {element.note}"
    share = "-" if element.share is None else f"{100 * element.share:.3g} %"
    return (
        element_words(element.element),
        supported,
        share,
        "-" if element.drop_mv is None else span(element.drop_mv, "mV"),
        "-" if element.heat_w is None else span(element.heat_w, "W"),
        state,
    )


def _path(finding: Finding) -> str:
    if not finding.elements:
        return ""
    rows = [_element_row(element) for element in finding.elements]
    title = "From cell to connector, continuous current"
    if finding.path_current_a is not None:
        title += f"; drop and heat at {span_top(finding.path_current_a, 'A')}"
    text = title + "\n" + table(("element", "supported", "share", "drop", "heat", "state"), rows)
    if finding.lifts:
        rows = [(each.change, span(each.supported, "A")) for each in finding.lifts]
        limit = element_words(finding.limited_by)
        text += f"\n\nWhat would lift the limit ({limit})\n" + table(
            ("change", "the pack would support"), rows
        )
    return text


def _whole_pack(report: Report) -> str:
    solved = report.whole_pack
    if solved is None:
        return "The whole pack as a network: strip, links, take-off or counts are not known."
    first = solved.cell_a[0]
    rows = [
        (str(number), f"{digits(amps)} A", f"{digits(solved.end_group_after_a[number - 1])} A")
        if solved.end_group_after_a
        else (str(number), f"{digits(amps)} A", "-")
        for number, amps in enumerate(first, 1)
    ]
    head = block(
        f"The whole pack as a network at {digits(solved.current_a)} A, least favourable resistances: "
        f"hottest cell {digits(solved.hottest_over_mean)} x the mean, hottest link "
        f"{digits(solved.hottest_link_a)} A, {digits(solved.drop_v)} V lost inside."
    )
    return head + "\nEnd group, cell by cell\n" + table(("cell", "first instant", "60 % discharged"), rows)


def _temperatures(finding: Finding) -> str:
    if not finding.by_temperature:
        return ""
    rows = [
        (
            f"{band.low_c:g} to {band.high_c:g} C",
            span(band.cells, "A"),
            span(band.supported, "A"),
            str(band.verdict),
        )
        for band in finding.by_temperature
    ]
    return "Continuous current by temperature\n" + table(("band", "cells", "whole path", "verdict"), rows)


def _notes(report: Report) -> list[str]:
    return list(
        dict.fromkeys(
            f"{FIGURE_NAMES[each.figure]}: {caution}"
            for each in report.findings
            if each.verdict is not Verdict.NOT_CLAIMED or each.figure in _TOLD_UNCLAIMED
            for caution in (*each.cautions, *([each.registered_cells] if each.registered_cells else []))
            if each.figure != "build"
        )
    )


def _open(report: Report) -> str:
    rows = [
        (FIGURE_NAMES[each.figure], between_words(each), ", ".join(each.unknown) or "-")
        for each in report.findings
        if each.verdict is Verdict.NOT_SETTLED
    ]
    header = ("not settled", "lies between", "not known")
    return "Still open\n" + table(header, rows) if rows else ""


def _next(report: Report, explain: bool) -> str:
    if not report.next_steps:
        open_still = any(each.verdict is Verdict.NOT_SETTLED for each in report.findings)
        return "" if open_still else "Next step: none; every claim made is settled."
    rows = [
        (
            step.observe,
            step.effort,
            ", ".join(FIGURE_NAMES[each] for each in step.settles) or "nothing alone",
            f"{100 * step.chance:.0f} %" if step.settles else "-",
        )
        for step in report.next_steps
    ]
    text = "Next step, least effort first\n" + table(("observe", "effort", "could settle", "chance"), rows)
    if explain:
        tried = [
            (step.observe, out.value, FIGURE_NAMES[out.figure], out.verdict)
            for step in report.next_steps
            for out in step.outcomes
        ]
        text += "\n\nWhat if\n" + table(("observed", "as", "figure", "verdict"), tried)
    return text


def _list(title: str, texts: Sequence[str]) -> str:
    if not texts:
        return ""
    return "\n".join([title, *(block(f"- {text}", indent="  ") for text in texts)])


def _steps(finding: Finding) -> str:
    if not finding.steps:
        return ""
    rows = [
        (step.symbol, step.formula, span(step.value, step.unit.strip("-")), step.source)
        for step in finding.steps
    ]
    return f"How {FIGURE_NAMES[finding.figure]} was found\n" + table(("", "from", "value", "source"), rows)
