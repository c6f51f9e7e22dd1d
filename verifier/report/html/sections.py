"""The sections of an HTML report between its answer and what it was judged by."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial

from verifier.case_report import Report
from verifier.finding import Finding
from verifier.report import rows
from verifier.report.html.markup import Content, Markup, bullets, given, join, spoken, table, tag
from verifier.report.html.shapes import judged, marked
from verifier.report.pictures import Picture
from verifier.verdict import Verdict
from verifier.words import ENGLISH, Language, evidence_name, in_language

# A seller is asked before a pack is opened; a report on a bench is not for the seller.
_ASKED_AT = ("listed", "arrived")


def section(title: str, heading: str, *contents: Content, class_: str = "") -> Markup:
    """Return a section under its heading, or nothing when there is nothing to show."""
    inside = join(*contents)
    return tag("section", tag(heading, title, class_="part"), inside, class_=class_) if inside else inside


def drawing(picture: Picture | None, caption: str) -> Markup:
    """Return a picture with what it shows, or nothing."""
    if picture is None:
        return Markup("")
    return tag("figure", Markup(picture.svg), tag("figcaption", caption))


def claims(report: Report, heading: str, picture: Picture | None, language: Language = ENGLISH) -> Markup:
    """Return every claim with what can be supported of it; its table speaks the language of the answer."""
    made = rows.claimed(report)
    if not made:
        return Markup("")
    shown = "The stroke is the claim. Filled is sure, hatched is possible; a diamond is a value to be met exactly."
    caption, *header = rows.columns(
        (rows.CLAIMS, rows.FIGURES[0], rows.VERDICT, *rows.FIGURES[1:], rows.EVIDENCE), language
    )
    told = table(spoken(caption), header, (_figure_row(each, language) for each in made))
    if not language.english:
        told = tag("div", told, lang=language.code)
    above = rows.heading(report, language)
    return section(
        "Each claim", heading, tag("p", spoken(above)) if above else "", drawing(picture, shown), told
    )


def _figure_row(finding: Finding, language: Language) -> list[Content]:
    name, *others = (spoken(each) for each in rows.figure_row(finding, language))
    return [name, judged(finding, language), *_or_dash(others), _evidence(finding, language)]


def _or_dash(texts: Iterable[Content]) -> list[Content]:
    return [text or "-" for text in texts]


def _evidence(finding: Finding, language: Language = ENGLISH) -> Content:
    if finding.evidence is None:
        return "-"
    return spoken(in_language(partial(evidence_name, finding.evidence), language))


def unclaimed(report: Report, heading: str) -> Markup:
    """Return the figures that nobody claims, judged all the same, as far as anything is known of them."""
    rest = [
        each
        for each in report.findings
        if each.verdict is Verdict.NOT_CLAIMED and each.figure != "build" and each.supported.known
    ]
    told = []
    for each in rest:
        name, _, supported, _, decided = rows.figure_row(each)
        told.append((name, supported, decided or "-", _evidence(each)))
    caption = "What the pack would support of figures that the seller does not state"
    header = ("figure", "supported", "decided by", "evidence")
    return section("Not claimed", heading, table(caption, header, told) if told else "")


def path(report: Report, heading: str, picture: Picture | None) -> Markup:
    """Return the current's way from cell to connector: what each part carries, and what would lift the limit."""
    finding = report.finding("continuous_current")
    known = rows.judged_elements(finding)
    if not known:
        return Markup("")
    named = report.cell.id is not None
    told = [rows.path_row(each, cells_known=named) for each in known]
    limits = [each.element == finding.limited_by for each in known]
    body = [
        (f"{name} (limits)" if limit else name, carries or "-", given(note) if note else "-")
        for (name, carries, note), limit in zip(told, limits, strict=True)
    ]
    after = [text for text in (rows.not_checked(finding), rows.remedy_lines(finding)) if text]
    return section(
        "From cell to connector",
        heading,
        drawing(picture, "What each part carries continuously. Filled is sure, hatched is possible."),
        table(
            "What each part carries continuously; drop and heat at the current claimed",
            rows.PATH,
            body,
            limits,
        ),
        *(tag("p", given(text)) for text in after),
    )


def temperatures(report: Report, heading: str, picture: Picture | None) -> Markup:
    """Return the continuous current band by band."""
    finding = report.finding("continuous_current")
    if not finding.by_temperature:
        return Markup("")
    told = [
        (*_or_dash(rows.band_row(each)), "-" if finding.claimed is None else marked(each.verdict))
        for each in finding.by_temperature
    ]
    return section(
        "By temperature",
        heading,
        drawing(
            picture,
            "Filled is sure, hatched is possible, shaded the air of use; the heavy line is what to use at most.",
        ),
        tag("p", rows.bands_text(report)),
        table("Continuous current in each temperature band of the datasheet", (*rows.BANDS, "verdict"), told),
    )


def shared(report: Report, heading: str, picture: Picture | None) -> Markup:
    """Return how the end group shares the current, where the whole pack could be solved."""
    if report.whole_pack is None:
        return Markup("")
    told = [tuple(_or_dash(each)) for each in rows.shared_rows(report)]
    return section(
        "How the cells share the current",
        heading,
        tag("p", rows.shared_text(report)),
        drawing(picture, "End group, cell by cell."),
        table("End group, cell by cell", rows.SHARED, told),
    )


def handling(report: Report, heading: str) -> Markup:
    """Return what to do with a pack that must not be charged."""
    return _listed("What to do with it", heading, rows.handling_texts(report))


def bench(report: Report, heading: str) -> Markup:
    """Return what was measured of one cell, beside the datasheet of the cell that its marking names."""
    told = [tuple(_or_dash(each)) for each in rows.bench_rows(report)]
    caption = "One cell on the bench, beside the datasheet of the cell that its marking names"
    if not told:
        return Markup("")
    said = tag("p", given(rows.bench_text(report)))
    return section("Cell on the bench", heading, said, table(caption, rows.BENCH, told))


def next_steps(report: Report, heading: str) -> Markup:
    """Return what to observe next, least effort first."""
    told = [tuple(_or_dash(rows.next_row(step))) for step in report.next_steps]
    caption = "What may settle a claim first, then what helps only together with others"
    return section("What to find out next", heading, table(caption, rows.NEXT, told) if told else "")


def questions(report: Report, heading: str) -> Markup:
    """Return the questions to the seller, as long as the seller is the one to ask."""
    if report.stage not in _ASKED_AT or not report.questions:
        return Markup("")
    return section(
        "Questions for the seller", heading, bullets((given(each) for each in report.questions), ordered=True)
    )


def notes(report: Report, heading: str) -> Markup:
    """Return what was noted of each figure, and of the build as seen."""
    return join(
        _listed("Notes", heading, rows.notes(report)),
        _listed("Build, as seen", heading, rows.build(report)),
    )


def _listed(title: str, heading: str, texts: Sequence[str]) -> Markup:
    return section(title, heading, bullets(given(each) for each in texts) if texts else "")


def marks(report: Report, heading: str) -> Markup:
    """Return what the marks and certificates that the seller names show, and what they do not."""
    told = [tuple(given(text) for text in each) for each in rows.mark_rows(report)]
    caption = "Marks and certificates; none of them enters a verdict"
    return section("What the marks show", heading, table(caption, rows.MARKS, told) if told else "")
