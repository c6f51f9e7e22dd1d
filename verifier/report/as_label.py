"""A label of 60 x 40 mm to stick on a pack: what was measured, what to draw at most, the charger, the date."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.case_report import Report
from verifier.report import in_use
from verifier.report.as_handover import cut
from verifier.report.as_html import page
from verifier.report.html.markup import Markup, given, tag
from verifier.report.opening import use_text
from verifier.words import alarm_name

_LONGEST_TITLE = 48
_LONGEST_LINE = 64
_MOST_RANGES = 3
_MOST_ALARMS = 2


def render(reports: Sequence[Report]) -> str:
    """Return one label a report, each a page of its own."""
    title = f"{reports[0].title}: label" if len(reports) == 1 else f"{len(reports)} labels"
    return page(title, *(_label(report) for report in reports), styles=("label.css",), foot=False)


def _label(report: Report) -> Markup:
    case = report.case.case
    day = f"{case.date}" if case.date is not None else "date not stated"
    foot = " | ".join(cut(each, 24) for each in (day, case.job, case.by) if each)
    return tag(
        "article",
        tag("p", given(cut(report.title, _LONGEST_TITLE)), class_="name"),
        *(tag("p", given(cut(text, _LONGEST_LINE)), class_=kind) for kind, text in _lines(report)),
        tag("p", given(foot), class_="foot"),
        class_="label",
    )


def _lines(report: Report) -> list[tuple[str, str]]:
    """Return the lines of a label, each with its class."""
    told = [("", in_use.measured(report))]
    if report.answer.alarms:
        names = list(dict.fromkeys(alarm_name(each.code) for each in report.answer.alarms))
        more = f" and {len(names) - _MOST_ALARMS} more" if len(names) > _MOST_ALARMS else ""
        return [("alarm", "DO NOT USE OR CHARGE"), ("alarm", ", ".join(names[:_MOST_ALARMS]) + more), *told]
    use = in_use.few(report.answer.use_at_most, _MOST_RANGES)
    told += [("use", use_text(each, short=True)) for each in use] or [("use", "draw: nothing is granted yet")]
    return [*told, ("", f"charge: {in_use.charging(report)}")]
