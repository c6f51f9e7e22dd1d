"""The top of an HTML report: alarms, the conclusion, and the lines that every format opens with."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.answer import Conclusion
from verifier.case_report import Report
from verifier.report import opening
from verifier.report.html.markup import Content, Markup, bullets, given, join, spoken, tag
from verifier.report.html.shapes import shape, toned
from verifier.report.opening import box_text, label_text, lines, particulars
from verifier.report.opening_texts import ALARM, ANSWER, Line
from verifier.words import ENGLISH, Language

TONES = {
    Conclusion.DO_NOT_USE: "bad",
    Conclusion.CONTRADICTS_ITSELF: "bad",
    Conclusion.NOT_AS_ADVERTISED: "bad",
    Conclusion.NOT_SETTLED: "open",
    Conclusion.IF_SELLERS_WORD_HOLDS: "open",
    Conclusion.WITHOUT_RESERVE: "fair",
    Conclusion.AS_ADVERTISED: "good",
    Conclusion.NOTHING_CLAIMED: "none",
}


def headline(report: Report, language: Language = ENGLISH) -> Markup:
    """Return the conclusion with its shape and tone."""
    return toned(TONES[report.answer.conclusion], given(opening.headline(report, language)))


def answer(report: Report, language: Language = ENGLISH) -> Markup:
    """Return the opening: a red box of alarms where there are any, then the box of the answer."""
    told = [each for each in lines(report, language) if each[0] not in (ALARM, ANSWER)]
    return join(alarms(report, language), box(report, definitions(told, language), language))


def box(report: Report, told: Content, language: Language = ENGLISH) -> Markup:
    """Return the box of the answer: the conclusion, and what is told below it."""
    return tag(
        "section",
        tag("p", headline(report, language), class_="headline"),
        told,
        class_=f"answer {TONES[report.answer.conclusion]}",
        aria_label=box_text("answer_box", language),
    )


def alarms(report: Report, language: Language = ENGLISH) -> Markup:
    """Return the box of alarms, or nothing."""
    return alarm_box([text for label, text in lines(report, language) if label == ALARM], language)


def alarm_box(texts: Sequence[str], language: Language = ENGLISH) -> Markup:
    """Return a box with the texts of alarms, or nothing."""
    shown = [join(shape("alarm"), given(each)) for each in texts]
    name = box_text("alarm_box", language)
    return tag("section", bullets(shown), class_="alarm", aria_label=name) if shown else Markup("")


def definitions(told: Sequence[Line], language: Language = ENGLISH) -> Markup:
    """Return labelled lines; one without a label stands under the label before it."""
    rows: list[tuple[str, list[Content]]] = []
    for label, text in told:
        if label:
            rows.append((label, []))
        rows[-1][1].append(tag("dd", given(text)))
    shown = (tag("div", tag("dt", spoken(label_text(label, language))), *texts) for label, texts in rows)
    return tag("dl", *shown, class_="lines")


def case_lines(report: Report) -> Markup:
    """Return for whom and by whom the report is made, or nothing."""
    told = particulars(report)
    return definitions(told) if told else Markup("")
