"""The hand-over sheet: one page for whoever takes the pack away, with the job, the answer, pictures and photos."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from verifier.case_report import Report
from verifier.report import in_use, pictures
from verifier.report.as_html import page
from verifier.report.html import answer
from verifier.report.html.markup import Content, Markup, given, join, table, tag
from verifier.report.html.shapes import shape
from verifier.report.opening import ALARM, ANSWER, STAGES, Line, lines, particulars
from verifier.report.photos import embedded
from verifier.words import digits, element_name, temperatures

# One page has room for so much; the report holds the rest.
_MOST_OF_A_LABEL = 3
_LONGEST_NOTES = 300
_LONGEST_TITLE = 90
_LONGEST_LINE = 150
_CAUTION = (
    "Arithmetic on stated figures: no replacement for a test, local rules or licensed practice. Lithium packs burn; "
    "a supported figure does not show that a pack is safe, genuine or undamaged. Made with packclaim."
)


def render(
    reports: Sequence[Report], folders: Sequence[Path], *, shop: str | None = None, logo: str | None = None
) -> str:
    """Return one page of paper a report.

    Parameters
    ----------
    reports, folders
        The reports, and for each the folder in which its photos lie.
    shop, logo
        Who hands the pack over: a name, and a few letters to stand beside it.

    Raises
    ------
    UnreadableInput
        If a photo cannot be shown.
    """
    sheets = [
        _sheet(report, folder, number, _letterhead(shop, logo))
        for number, (report, folder) in enumerate(zip(reports, folders, strict=True), 1)
    ]
    title = (
        f"{reports[0].title}: hand-over sheet" if len(reports) == 1 else f"{len(reports)} hand-over sheets"
    )
    return page(title, *sheets, styles=("style.css", "handover.css"), foot=False)


def cut(text: str, most: int) -> str:
    """Return a text of at most so many letters, a longer one with an ellipsis."""
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _letterhead(shop: str | None, logo: str | None) -> Markup:
    told = [tag("span", given(text), class_=kind) for text, kind in ((logo, "logo"), (shop, "shop")) if text]
    return tag("p", *told, class_="letterhead") if told else Markup("")


def _sheet(report: Report, folder: Path, number: int, letterhead: Markup) -> Markup:
    current = report.finding("continuous_current")
    name = f"h{number}"
    drawn = (
        ("What each part carries", pictures.path(current, f"{name}-path")),
        (
            "By temperature",
            pictures.temperatures(current, report.temperature_c, f"{name}-bands", report.answer.use_at_most),
        ),
    )
    shown = [
        tag("figure", Markup(picture.svg), tag("figcaption", caption))
        for caption, picture in drawn
        if picture
    ]
    photos = [
        Markup(f'<img src="{address}" alt="Photo {place} of the pack"/>')
        for place, address in enumerate(embedded(report.case.case.photos, folder), 1)
    ]
    return tag(
        "article",
        letterhead,
        tag("p", f"Hand-over sheet: {STAGES[report.stage]}", class_="kicker"),
        tag("h1" if number == 1 else "h2", given(cut(report.title, _LONGEST_TITLE)), class_="title"),
        _particulars(report),
        _answer(report),
        _use(report),
        tag("div", *shown, class_="pictures") if shown else "",
        tag("div", *photos, class_="photos") if photos else "",
        tag("p", _CAUTION, class_="caution"),
        class_="handover alarmed" if report.answer.alarms else "handover",
    )


def _particulars(report: Report) -> Markup:
    told = [
        (label, cut(text, _LONGEST_NOTES if label == "notes" else 60)) for label, text in particulars(report)
    ]
    return answer.definitions(told) if told else Markup("")


def _answer(report: Report) -> Markup:
    alarms = [each for each in lines(report) if each[0] == ALARM]
    left = f" (and {len(alarms) - _MOST_OF_A_LABEL} more)" if len(alarms) > _MOST_OF_A_LABEL else ""
    shown = [
        tag(
            "li",
            shape("alarm"),
            given(cut(text, _LONGEST_LINE) + (left if place == _MOST_OF_A_LABEL - 1 else "")),
        )
        for place, (_, text) in enumerate(alarms[:_MOST_OF_A_LABEL])
    ]
    told = _short(_without(lines(report), (ALARM, ANSWER, "use at most")))
    tone = answer.TONES[report.answer.conclusion]
    return join(
        tag("section", tag("ul", *shown), class_="alarm", aria_label="Alarm") if shown else "",
        tag(
            "section",
            tag("p", answer.headline(report), class_="headline"),
            answer.definitions(told),
            class_=f"answer {tone}",
            aria_label="Answer",
        ),
    )


def _without(told: Sequence[Line], labels: Sequence[str]) -> list[Line]:
    """Return the opening without these labels, nor what goes on under them."""
    found: list[Line] = []
    left_out = False
    for label, text in told:
        left_out = label in labels if label else left_out
        if not left_out:
            found.append((label, text))
    return found


def _short(told: Sequence[Line]) -> list[Line]:
    """Return the opening with at most three lines under each label, none of them long."""
    found: list[Line] = []
    under = 0
    for label, text in told:
        under = 1 if label else under + 1
        if under <= _MOST_OF_A_LABEL:
            found.append((label, cut(text, _LONGEST_LINE) if label != ANSWER else text))
    return found


def _use(report: Report) -> Markup:
    rows: list[tuple[Content, ...]] = [
        (
            temperatures(each.low_c, each.high_c),
            f"{digits(each.continuous_a)} A",
            "-" if each.motor_w is None else f"{digits(each.motor_w)} W",
            element_name(each.limited_by),
        )
        for each in in_use.few(report.answer.use_at_most, _MOST_OF_A_LABEL)
    ]
    header = ("air", "draw at most", "motor of at most", "limited by")
    facts = [("capacity", in_use.measured(report)), ("charger", in_use.charging(report))]
    return join(table("What to use it for", header, rows) if rows else "", answer.definitions(facts))
