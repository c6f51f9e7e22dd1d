"""The sections of an HTML report between its answer and what it was judged by."""

from __future__ import annotations

from collections.abc import Iterable

from verifier.case_report import Report
from verifier.finding import Element, Finding
from verifier.report.html.answer import claimed, field_words
from verifier.report.html.markup import Content, Markup, bullets, given, join, table, tag
from verifier.report.html.shapes import marked, verdict
from verifier.report.pictures import Picture
from verifier.report.words import FIGURE_NAMES, digits, element_words, evidence_words, percent, span
from verifier.verdict import Verdict


def section(title: str, heading: str, *contents: Content) -> Markup:
    """Return a section under its heading, or nothing when there is nothing to show."""
    inside = join(*contents)
    return tag("section", tag(heading, title, class_="part"), inside) if inside else inside


def drawing(picture: Picture | None, caption: str) -> Markup:
    """Return a picture with what it shows, or nothing."""
    if picture is None:
        return Markup("")
    where = f" The numbers stand in the table below, and in the JSON report as {picture.data}."
    return tag("figure", Markup(picture.svg), tag("figcaption", caption + where))


def _figure_rows(findings: Iterable[Finding]) -> list[list[Content]]:
    return [
        [
            FIGURE_NAMES[each.figure],
            verdict(each),
            "-" if each.claimed is None else span(each.claimed, each.unit),
            span(each.supported, each.unit),
            percent(each.margin_percent),
            element_words(each.limited_by),
            "-" if each.evidence is None else evidence_words(each.evidence),
        ]
        for each in findings
    ]


_FIGURES = ("figure", "verdict", "claimed", "supported", "margin", "limited by", "evidence")


def claims(report: Report, heading: str, picture: Picture | None) -> Markup:
    """Return every claim with what can be supported of it."""
    made = claimed(report)
    if not made:
        return Markup("")
    return section(
        "Each claim",
        heading,
        drawing(
            picture,
            "Supported beside claimed; the thick line is the claim. Filled is sure, hatched is possible; "
            "a diamond is a value to be met exactly.",
        ),
        table("What is claimed, what can be supported, and by what margin", _FIGURES, _figure_rows(made)),
    )


def unclaimed(report: Report, heading: str) -> Markup:
    """Return the figures that nobody claims, judged all the same."""
    rest = [
        each for each in report.findings if each.verdict is Verdict.NOT_CLAIMED and each.figure != "build"
    ]
    rows = [
        (row[0], *row[3:4], *row[5:], verdict(each))
        for row, each in zip(_figure_rows(rest), rest, strict=True)
    ]
    header = ("figure", "supported", "limited by", "evidence", "verdict")
    caption = "What the pack would support of figures that the seller does not state"
    return section("Not claimed", heading, table(caption, header, rows) if rows else "")


def path(report: Report, heading: str, picture: Picture | None) -> Markup:
    """Return the current's way from cell to connector: limit, share, drop and heat of each element."""
    finding = report.finding("continuous_current")
    if not finding.elements:
        return Markup("")
    caption = "Limit of each element for continuous current"
    if finding.path_current_a is not None:
        caption += f"; drop and heat at {digits(finding.path_current_a)} A"
    limits = [each.element == finding.limited_by for each in finding.elements]
    return section(
        "From cell to connector",
        heading,
        drawing(picture, "What each element supports. Filled is sure, hatched is possible; bold limits."),
        table(
            caption,
            ("element", "supported", "share", "drop", "heat", "state"),
            (_element_row(each, limit) for each, limit in zip(finding.elements, limits, strict=True)),
            limits,
        ),
        _lifts(finding),
    )


def _element_row(element: Element, limit: bool) -> list[Content]:
    state = element.state if not element.note else f"{element.state}: {element.note}"
    name = element_words(element.element)
    return [
        f"{name} (limits)" if limit else name,
        "-" if element.state == "not fitted" else span(element.supported, "A"),
        "-" if element.share is None else f"{100 * element.share:.3g} %",
        "-" if element.drop_mv is None else span(element.drop_mv, "mV"),
        "-" if element.heat_w is None else span(element.heat_w, "W"),
        given(state),
    ]


def _lifts(finding: Finding) -> Markup:
    if not finding.lifts:
        return Markup("")
    caption = f"What would lift the limit ({element_words(finding.limited_by)})"
    rows = ((each.change, span(each.supported, "A")) for each in finding.lifts)
    return table(caption, ("change", "the pack would support"), rows)


def temperatures(report: Report, heading: str, picture: Picture | None) -> Markup:
    """Return the continuous current band by band."""
    finding = report.finding("continuous_current")
    if not finding.by_temperature:
        return Markup("")
    rows = (
        (
            f"{each.low_c:g} to {each.high_c:g} C",
            span(each.cells, "A"),
            span(each.supported, "A"),
            marked(each.verdict, str(each.verdict)),
        )
        for each in finding.by_temperature
    )
    caption = "Continuous current in each temperature band of the sheet"
    return section(
        "By temperature",
        heading,
        drawing(picture, "Whole path. Filled is sure, hatched is possible; shaded is the air of use."),
        table(caption, ("band", "cells", "whole path", "verdict"), rows),
    )


def shared(report: Report, heading: str, picture: Picture | None) -> Markup:
    """Return how the end group shares the current, where the whole pack could be solved."""
    solved = report.whole_pack
    if solved is None:
        return Markup("")
    first, after = solved.cell_a[0], solved.end_group_after_a
    rows = (
        (f"cell {number}", f"{digits(amps)} A", f"{digits(after[number - 1])} A" if after else "-")
        for number, amps in enumerate(first, 1)
    )
    words = (
        f"The whole pack as a network at {digits(solved.current_a)} A with the least favourable resistances: "
        f"the hottest cell takes {digits(solved.hottest_over_mean)} x the mean, the hottest link "
        f"{digits(solved.hottest_link_a)} A, and {digits(solved.drop_v)} V are lost inside."
    )
    return section(
        "How the cells share the current",
        heading,
        tag("p", words),
        drawing(picture, "End group, cell by cell."),
        table("End group, cell by cell", ("cell", "first instant", "60 % discharged"), rows),
    )


def next_steps(report: Report, heading: str) -> Markup:
    """Return what to observe next, least effort first."""
    rows = [
        (
            field_words(step.observe),
            step.effort,
            ", ".join(FIGURE_NAMES[each] for each in step.settles) or "nothing alone",
            f"{100 * step.chance:.0f} %" if step.settles else "-",
        )
        for step in report.next_steps
    ]
    caption = (
        "What to find out, least effort first; chance is the share of likely values that settle a figure"
    )
    header = ("observe", "effort", "could settle", "chance")
    return section("Next steps", heading, table(caption, header, rows) if rows else "")


def questions(report: Report, heading: str) -> Markup:
    """Return the questions to the seller."""
    asked = bullets((given(each) for each in report.questions), ordered=True) if report.questions else ""
    return section("Questions for the seller", heading, asked)


def notes(report: Report, heading: str) -> Markup:
    """Return what was noted of each figure, and of the build as seen."""
    texts = dict.fromkeys(
        f"{FIGURE_NAMES[each.figure]}: {text}"
        for each in report.findings
        if each.figure != "build"
        for text in (*each.cautions, each.registered_cells)
        if text
    )
    build = report.finding("build").cautions
    return join(
        section("Notes", heading, bullets(given(each) for each in texts) if texts else ""),
        section("Build, as seen", heading, bullets(given(each) for each in build) if build else ""),
    )


def marks(report: Report, heading: str) -> Markup:
    """Return what the marks and papers that the seller names show, and what they do not."""
    rows = [
        (given(each.mark), given(each.shows), given(each.does_not_show), given(each.source))
        for each in report.papers
    ]
    header = ("mark", "shows", "does not show", "by")
    caption = "Marks and papers; none of them enters a verdict"
    return section("What the marks show", heading, table(caption, header, rows) if rows else "")
