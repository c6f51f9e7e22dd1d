"""The report for a terminal: the answer first, then the claims, then what little else a reader needs.

By default a listing takes at most forty lines and an opened pack fifty; `full` shows everything.
"""

from __future__ import annotations

from collections.abc import Sequence

from verifier.bounds import Bounds
from verifier.case_report import CAUTIONS, Report
from verifier.finding import Element, Finding
from verifier.report.layout import block, paragraph, table
from verifier.report.opening import STAGES, lines
from verifier.verdict import MEANINGS, OPEN_OR_FAILED, Verdict
from verifier.words import (
    certificate_text,
    digits,
    element_name,
    field_name,
    figure_name,
    observation_text,
    percent,
    remark_text,
    remedy_text,
    source_text,
    span,
    verdict_name,
)

WIDTH = 80
_MOST_NOTES = 4
# Terminal colours of the verdict words only, by tone; a shape beside the word says the same without colour.
_COLOURS = {"bad": "31", "open": "33", "fair": "36", "good": "32"}
_SHAPES = {"bad": "x", "open": "?", "fair": "~", "good": "+", "none": " "}


class _Page:
    """How a page is to be written: its width, whether it is full, and whether verdict words are coloured."""

    def __init__(self, width: int, *, full: bool, colour: bool) -> None:
        self.width, self.full, self.colour = width, full, colour

    def verdict(self, verdict: Verdict) -> str:
        """Return a verdict word with its shape."""
        return f"{_SHAPES[MEANINGS[verdict].tone]} {verdict_name(verdict)}"

    def painted(self, text: str) -> str:
        """Return a page with its verdict words coloured, after it was laid out."""
        if not self.colour:
            return text
        for verdict, meaning in MEANINGS.items():
            code = _COLOURS.get(meaning.tone)
            word = self.verdict(verdict)
            if code and word in text:
                text = "\n".join(
                    line.removesuffix(word) + f"\x1b[{code}m{word}\x1b[0m" if line.endswith(word) else line
                    for line in text.split("\n")
                )
        return text

    def table(self, header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
        """Return a table as wide as the page."""
        return table(header, rows, width=self.width)

    def listed(self, title: str, texts: Sequence[str]) -> str:
        """Return a list under a title; nothing where it is empty."""
        if not texts:
            return ""
        return "\n".join([title, *(block(f"- {text}", indent="  ", width=self.width) for text in texts)])


def render(
    reports: Sequence[Report],
    *,
    explain: bool = False,
    full: bool = False,
    width: int = WIDTH,
    colour: bool = False,
) -> str:
    """Return the reports one after another.

    Parameters
    ----------
    reports : sequence of Report
    explain : bool
        Every step of every figure, with its source.
    full : bool
        Everything that was found, with the names of fields.
    width : int
        Columns of the terminal.
    colour : bool
        Whether verdict words are coloured.
    """
    page = _Page(max(40, width), full=full or explain, colour=colour)
    pages = [_one(report, page, explain) for report in reports]
    pages.append(page.listed("Cautions", CAUTIONS) if page.full else _cautions(page))
    return page.painted("\n\n".join(pages)) + "\n"


def _cautions(page: _Page) -> str:
    text = (
        "Arithmetic on stated figures: no replacement for a test, local rules or licensed practice. Lithium packs "
        "burn; a supported figure does not show that a pack is safe, genuine or undamaged."
    )
    return paragraph(text, width=page.width)


def _one(report: Report, page: _Page, explain: bool) -> str:
    opened = report.finding("continuous_current")
    blocks = [
        _opening(report, page),
        _claims(report, page),
        _path(opened, page),
        _temperatures(opened, page),
        page.listed("Notes", _notes(report, page)),
        page.listed("Build, as seen", _remarks(report.finding("build"))),
        page.listed("Marks", [certificate_text(each) for each in report.certificates]),
    ]
    if page.full:
        blocks += [_still_open(report, page), _next(report, page, explain)]
    if explain:
        blocks.append(_whole_pack(report, page))
        blocks += [_steps(finding, report, page) for finding in report.findings]
    if not page.full:
        blocks.append(paragraph("Everything that was found: --full; how: --explain.", width=page.width))
    return "\n\n".join(text for text in blocks if text)


def _opening(report: Report, page: _Page) -> str:
    stage = STAGES[report.stage]
    head = block(f"{report.title} ({stage})", width=page.width)
    sentence = block(report.answer.sentence, width=page.width)
    return "\n".join([head, sentence, *(_labelled(label, text, page) for label, text in lines(report))])


def _labelled(label: str, text: str, page: _Page) -> str:
    first, *others = block(text, width=max(20, page.width - 17)).split("\n")
    return "\n".join([f"  {label:<15}{first}", *(" " * 17 + line for line in others)])


def _claims(report: Report, page: _Page) -> str:
    shown = [
        each
        for each in report.findings
        if page.full
        or each.verdict is not Verdict.NOT_CLAIMED
        or (each.figure == "arrival_charge" and each.steps)
    ]
    if not shown:
        return ""
    rows = [
        (
            figure_name(each.figure),
            "" if each.claimed is None else span(each.claimed, each.unit),
            span(each.supported, each.unit),
            percent(each.margin_percent),
            element_name(each.limited_by),
            page.verdict(each.verdict),
        )
        for each in shown
    ]
    return page.table(("figure", "claimed", "supported", "margin", "decided by", "verdict"), rows)


def _element_row(element: Element, page: _Page) -> tuple[str, ...]:
    supported = "" if element.state == "not fitted" else span(element.supported, "A")
    notes = "; ".join(remark_text(each) for each in element.notes)
    drop = "" if element.drop_mv is None else span(element.drop_mv, "mV")
    heat = "" if element.heat_w is None else span(element.heat_w, "W")
    cost = ", ".join(part for part in (drop, heat) if part)
    missing = ", ".join(element.unknown) if page.full else ""
    told = "; ".join(part for part in (notes, cost, f"not known: {missing}" if missing else "") if part)
    return (element_name(element.element), supported, told)


def _path(finding: Finding, page: _Page) -> str:
    known = [each for each in finding.elements if each.state != "unknown" or each.supported.known]
    if not known:
        return ""
    shown = finding.elements if page.full else known
    text = page.table(("part", "carries", "note"), [_element_row(each, page) for each in shown])
    hidden = [element_name(each.element) for each in finding.elements if each not in shown]
    if hidden:
        text += "\n" + block(f"Not checked: {', '.join(hidden)}", indent="  ", width=page.width)
    if finding.remedies:
        found = "; ".join(
            f"{remedy_text(each)}: {span(each.supported, 'A')}"
            for each in finding.remedies[: None if page.full else 2]
        )
        text += "\n" + block(
            f"To lift the limit ({element_name(finding.limited_by)}): {found}", indent="  ", width=page.width
        )
    return text


def _temperatures(finding: Finding, page: _Page) -> str:
    bands = finding.by_temperature
    if not bands or (not page.full and finding.claimed is None):
        return ""
    rows = [
        (
            f"{digits(band.low_c)} to {digits(band.high_c)} C",
            span(band.cells, "A"),
            span(band.supported, "A"),
            element_name(band.limited_by),
            page.verdict(band.verdict),
        )
        for band in bands
    ]
    return page.table(("air", "cells", "whole pack", "decided by", "verdict"), rows)


def _remarks(finding: Finding) -> list[str]:
    return list(dict.fromkeys(remark_text(each) for each in finding.cautions))


def _could(finding: Finding) -> list[str]:
    able = finding.could
    if able is None:
        return []
    if able.grade == "none ever":
        return ["no cell of this size ever made can do what is claimed"]
    if able.grade == "none registered":
        return [f"none of your {able.registered_possible} possible cells can do all that is claimed"]
    names = f": {', '.join(able.names)}" if able.names else ""
    return [
        f"{able.registered_able} of your {able.registered_possible} possible cells would do all that is claimed{names}"
    ]


def _notes(report: Report, page: _Page) -> list[str]:
    made = [
        each for each in report.findings if each.verdict is not Verdict.NOT_CLAIMED and each.figure != "build"
    ]
    ordered = sorted(made, key=lambda each: MEANINGS[each.verdict].rank)
    texts = [text for each in ordered for text in _could(each)]
    texts += [
        f"{figure_name(each.figure)}: {text}"
        for each in ordered
        if page.full or each.verdict in OPEN_OR_FAILED or each.cautions
        for text in _remarks(each)
    ]
    told = [each for each in report.findings if each.figure == "arrival_charge"]
    texts += [text for each in told for text in _remarks(each)]
    unique = _without_repeats(texts)
    return unique if page.full else unique[:_MOST_NOTES]


def _without_repeats(texts: Sequence[str]) -> list[str]:
    """Return the notes, each said once: the same of two figures is said of the first."""
    found: dict[str, str] = {}
    for text in texts:
        found.setdefault(text.partition(": ")[2] or text, text)
    return list(found.values())


def _still_open(report: Report, page: _Page) -> str:
    rows = [
        (
            figure_name(each.figure),
            " or ".join(str(verdict) for verdict in each.between or ()),
            "; ".join(f"{field_name(name)} ({name})" for name in each.unknown),
        )
        for each in report.findings
        if each.verdict is Verdict.NOT_SETTLED
    ]
    return page.table(("cannot tell yet", "lies between", "not known"), rows) if rows else ""


def _likely(chance: float) -> str:
    return "certain" if chance >= 1 else "likely" if chance >= 0.5 else "may"


def _next(report: Report, page: _Page, explain: bool) -> str:
    if not report.next_steps:
        return ""
    rows = [
        (
            f"{observation_text(step.observe)} ({step.observe})",
            step.effort,
            ", ".join(figure_name(each) for each in step.settles) or "helps only together with others",
            _likely(step.chance) if step.settles else "",
        )
        for step in report.next_steps
    ]
    text = page.table(("find out", "effort", "could settle", "how likely"), rows)
    if explain:
        tried = [
            (step.observe, out.value, figure_name(out.figure), out.verdict)
            for step in report.next_steps
            for out in step.outcomes
        ]
        text += "\n\nWhat if\n" + page.table(("found", "as", "figure", "verdict"), tried)
    return text


def _whole_pack(report: Report, page: _Page) -> str:
    solved = report.whole_pack
    if solved is None:
        return "The whole pack as a network: strip, links, take-off or counts are not known."
    rows = [
        (
            str(number),
            f"{digits(amps)} A",
            f"{digits(solved.end_group_after_a[number - 1])} A" if solved.end_group_after_a else "",
        )
        for number, amps in enumerate(solved.cell_a[0], 1)
    ]
    head = block(
        f"The whole pack as a network at {digits(solved.current_a)} A, least favourable resistances: "
        f"hottest cell {digits(solved.hottest_over_mean)} x the mean, hottest link "
        f"{digits(solved.hottest_link_a)} A, {digits(solved.drop_v)} V lost inside.",
        width=page.width,
    )
    return (
        head + "\nEnd group, cell by cell\n" + page.table(("cell", "first instant", "60 % discharged"), rows)
    )


def _steps(finding: Finding, report: Report, page: _Page) -> str:
    if not finding.steps:
        return ""
    rows = [
        (
            step.symbol,
            step.formula,
            span(step.value, step.unit.strip("-")) if step.unit != "C" else _degrees(step.value),
            source_text(step.source, report.limits),
        )
        for step in finding.steps
    ]
    return f"How {figure_name(finding.figure)} was found\n" + page.table(
        ("", "from", "value", "source"), rows
    )


def _degrees(value: Bounds) -> str:
    low, high = digits(value.low), digits(value.high)
    return f"{low} C" if low == high else f"{low} to {high} C"
