"""The report as one HTML file: nothing to fetch, nothing to run, for a phone, a desk and paper."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import files

from verifier.case_report import Report
from verifier.report import pictures
from verifier.report.html import answer, grounds, sections
from verifier.report.html.markup import Content, Markup, bullets, given, join, tag
from verifier.report.html.shapes import sprites
from verifier.report.layout import not_judged
from verifier.report.opening import stage_text
from verifier.words import ENGLISH, Language

# Nothing may be fetched or run, whatever a listing's words would have smuggled in.
CONTENT_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
)

GENERATOR = '<meta name="generator" content="packclaim"/>'


def render(reports: Sequence[Report], *, language: Language = ENGLISH, left_out: Sequence[str] = ()) -> str:
    """Return one page with every report, its answer in a language; several have a list of links at the top.

    Files that are ``left_out`` are named before all else.
    """
    several = len(reports) != 1
    title = f"{len(reports)} pack reports" if several else f"{reports[0].title}: pack report"
    articles = [_article(report, number, several, language) for number, report in enumerate(reports, 1)]
    missing = tag("p", given(not_judged(left_out)), lang="en") if left_out else ""
    return page(title, missing, _contents(reports, language) if several else "", *articles)


def page(
    title: str,
    *contents: Content,
    styles: Sequence[str] = ("style.css",),
    foot: bool = True,
    lang: str = "en",
) -> str:
    """Return a whole page around its contents, with its styles, the shapes and the rule to fetch nothing."""
    body = join(sprites(), tag("main", *contents, _foot() if foot else ""), by="\n")
    return f"<!doctype html>\n{tag('html', _head(title, styles), tag('body', body), lang=lang)}\n"


def _head(title: str, styles: Sequence[str]) -> Markup:
    folder = files("verifier.report.html")
    style = "".join((folder / name).read_text(encoding="utf-8") for name in styles)
    return tag(
        "head",
        Markup('\n<meta charset="utf-8"/>\n'),
        Markup(f'<meta http-equiv="Content-Security-Policy" content="{CONTENT_POLICY}"/>\n'),
        # By this a page of this program is told from a listing that was saved.
        Markup(f"{GENERATOR}\n"),
        Markup('<meta name="viewport" content="width=device-width, initial-scale=1"/>\n'),
        Markup('<meta name="color-scheme" content="light dark"/>\n'),
        tag("title", title),
        tag("style", Markup(f"\n{style}")),
    )


def _contents(reports: Sequence[Report], language: Language) -> Markup:
    entries = []
    for number, report in enumerate(reports, 1):
        link = tag("a", given(report.title), href=f"#report-{number}")
        entries.append(join(link, ": ", _told(answer.headline(report, language), "span", language)))
    return join(
        tag("h1", f"{len(reports)} pack reports", class_="title"),
        tag("nav", bullets(entries), aria_label="Reports"),
    )


def _told(content: Markup, name: str, language: Language) -> Markup:
    """Return what is told in another language than the page, marked as such."""
    return content if language.english else tag(name, content, lang=language.code)


def _article(report: Report, number: int, several: bool, language: Language) -> Markup:
    """Return one report; its headings stand one lower where several share a page."""
    name, title, part = f"r{number}", *(("h2", "h3") if several else ("h1", "h2"))
    current = report.finding("continuous_current")
    drawn = {
        "claims": pictures.claims(report.findings, f"{name}-claims"),
        "path": pictures.path(current, f"{name}-path"),
        "temperatures": pictures.temperatures(
            current, report.temperature_c, f"{name}-bands", report.answer.use_at_most
        ),
        "shared": pictures.sharing(report.whole_pack, f"{name}-cells") if report.whole_pack else None,
    }
    return tag(
        "article",
        tag("p", f"Pack report: {stage_text(report)}", class_="kicker"),
        tag(title, given(report.title), class_="title"),
        answer.case_lines(report),
        _told(answer.answer(report, language), "div", language),
        sections.handling(report, part),
        sections.claims(report, part, drawn["claims"], language),
        sections.path(report, part, drawn["path"]),
        sections.temperatures(report, part, drawn["temperatures"]),
        sections.shared(report, part, drawn["shared"]),
        sections.bench(report, part),
        sections.next_steps(report, part),
        sections.questions(report, part),
        sections.notes(report, part),
        grounds.evidence(report, part),
        sections.unclaimed(report, part),
        sections.marks(report, part),
        grounds.derivations(report, part),
        grounds.judged_by(report, part),
        grounds.cautions(part),
        # Nothing of a pack with an alarm is shown in the colour of a pass.
        class_="alarmed" if report.answer.alarms else "",
        id=f"report-{number}",
    )


def _foot() -> Markup:
    return tag(
        "footer",
        tag(
            "p",
            "Written by packclaim from what sheets, the seller and the observer state. "
            "This page fetches and runs nothing.",
        ),
    )
