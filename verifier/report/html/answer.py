"""The top of an HTML report: alarms, the conclusion, and the lines that every format opens with."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.answer import Conclusion
from verifier.case_report import Report
from verifier.report.html.markup import Content, Markup, bullets, given, join, tag
from verifier.report.html.shapes import shape, toned
from verifier.report.opening import ALARM, ANSWER, Line, lines, particulars

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


def headline(report: Report) -> Markup:
    """Return the conclusion with its shape and tone."""
    return toned(TONES[report.answer.conclusion], given(report.answer.sentence))


def answer(report: Report) -> Markup:
    """Return the opening: a red box of alarms where there are any, then the box of the answer."""
    told = [each for each in lines(report) if each[0] not in (ALARM, ANSWER)]
    return join(
        alarms(report),
        tag(
            "section",
            tag("p", headline(report), class_="headline"),
            definitions(told),
            class_=f"answer {TONES[report.answer.conclusion]}",
            aria_label="Answer",
        ),
    )


def alarms(report: Report) -> Markup:
    """Return the box of alarms, or nothing."""
    texts = [join(shape("alarm"), given(each.text)) for each in report.answer.alarms]
    return tag("section", bullets(texts), class_="alarm", aria_label="Alarm") if texts else Markup("")


def definitions(told: Sequence[Line]) -> Markup:
    """Return labelled lines; one without a label stands under the label before it."""
    rows: list[tuple[str, list[Content]]] = []
    for label, text in told:
        if label:
            rows.append((label, []))
        rows[-1][1].append(tag("dd", given(text)))
    return tag("dl", *(tag("div", tag("dt", label), *texts) for label, texts in rows), class_="lines")


def case_lines(report: Report) -> Markup:
    """Return for whom and by whom the report is made, or nothing."""
    told = particulars(report)
    return definitions(told) if told else Markup("")
