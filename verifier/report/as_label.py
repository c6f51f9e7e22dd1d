"""A label of 60 x 40 mm to stick on a pack: what was measured, what to draw at most, the charger, the date."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from math import ceil
from unicodedata import east_asian_width

from verifier.case_report import Report
from verifier.report import in_use
from verifier.report.as_handover import cut
from verifier.report.as_html import page
from verifier.report.dangers import dangers
from verifier.report.html.markup import Markup, given, tag
from verifier.report.opening_texts import Maker
from verifier.report.use_line import use_text
from verifier.words import ENGLISH, Language, alarm_name, in_language, joined
from verifier.words.remarks import remark_text

_LONGEST_TITLE = 48
# Letters that a printed line holds, and lines that the label does: beyond, it is set smaller. No limit and no caution
# is cut.
_LETTERS, _MOST_LINES = 44, 8
_MOST_RANGES = 3
_MOST_ALARMS = 2


LABEL = {
    "title": "{pack}: label",
    "titles": "{count} labels",
    "no_date": "date not stated",
    "stop": "DO NOT USE OR CHARGE",
    "alarms_and_more": "{alarms} and {more} more",
    "nothing_granted": "draw: nothing is granted yet",
    "charge": "charge: {charging}",
}


def _say(code: str, language: Language, **slots: str) -> str:
    return language.text("label", code, LABEL).format_map(slots)


def render(reports: Sequence[Report], *, language: Language = ENGLISH) -> str:
    """Return one label a report, each a page of its own."""
    code = "title" if len(reports) == 1 else "titles"
    title = in_language(
        lambda spoken: _say(code, spoken, pack=reports[0].title if reports else "", count=str(len(reports))),
        language,
    )
    labels = (_label(report, language) for report in reports)
    return page(title, *labels, styles=("label.css",), foot=False, lang=language.code)


def _label(report: Report, language: Language) -> Markup:
    case = report.case.case
    no_date = in_language(partial(_say, "no_date"), language)
    day = f"{case.date}" if case.date is not None else no_date
    foot = " | ".join(cut(each, 24) for each in (day, case.job, case.by) if each)
    told = [(kind, in_language(make, language)) for kind, make in _lines(report)]
    dense = sum(ceil(_width(text) / _LETTERS) for _, text in told) > _MOST_LINES
    return tag(
        "article",
        tag("p", given(cut(report.title, _LONGEST_TITLE)), class_="name"),
        *(tag("p", given(text), class_=kind) for kind, text in told),
        tag("p", given(foot), class_="foot"),
        class_="label dense" if dense else "label",
    )


def _width(text: str) -> int:
    """Return how many letters wide a text is set: a Chinese sign is as wide as two."""
    return sum(2 if east_asian_width(letter) in "WF" else 1 for letter in text)


def _lines(report: Report) -> list[tuple[str, Maker]]:
    """Return the lines of a label, each with its class."""
    told: list[tuple[str, Maker]] = [("", partial(in_use.measured, report))]
    if report.answer.alarms:
        return [("alarm", partial(_say, "stop")), ("alarm", partial(_alarms, report)), *told]
    use = in_use.few(report.answer.use_at_most, _MOST_RANGES)
    told += [("use", partial(use_text, each, short=True)) for each in use]
    told += [] if use else [("use", partial(_say, "nothing_granted"))]
    told.append(("", partial(_charging, report)))
    # Where an ampere is granted, the air for it stands in the line above.
    granted = report.grants(report.finding("charge_current"))
    cold = [each for each in dangers(report) if each.code == "no_charging_below"]
    return told if granted else [*told, *(("", partial(remark_text, each)) for each in cold)]


def _alarms(report: Report, language: Language) -> str:
    names = list(dict.fromkeys(alarm_name(each.code, language) for each in report.answer.alarms))
    shown = joined(names[:_MOST_ALARMS], language)
    if len(names) <= _MOST_ALARMS:
        return shown
    return _say("alarms_and_more", language, alarms=shown, more=str(len(names) - _MOST_ALARMS))


def _charging(report: Report, language: Language) -> str:
    return _say("charge", language, charging=in_use.charging(report, language))
