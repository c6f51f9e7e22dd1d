"""The first lines of a report in words, the same for every format: they come from the answer alone.

In this order: alarms, the conclusion, what cannot be true together, what to use the pack for at most, the load
it is wanted for, what to find out first, and what all of it rests on.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from verifier.answer import AskFirst, CannotBeTrue, Conclusion, Warned, asked_text, told
from verifier.case_report import Report
from verifier.contradictions import excludes_itself, withdrawn
from verifier.finding import Finding, Remark
from verifier.report.cell_line import cell_text, unreadable
from verifier.report.charger_line import charger_lines
from verifier.report.dangers import DOUBTS_OF_A_CHARGER, OF_CONTROLLER, dangers
from verifier.report.opening_texts import ALARM, ANSWER, STAGES, Line, Maker, say, under
from verifier.report.use_line import load_lines, use_lines
from verifier.verdict import REFUTED
from verifier.words import (
    ENGLISH,
    Language,
    alarm_text,
    contradiction_text,
    figure_name,
    in_language,
    joined,
    part,
    refuted_text,
    remark_text,
    sentence,
    span,
    temperatures,
)

_FOR_THE_CHARGER = "decision_charger"
# Such notes say why a cell of the very name was not taken.
CELL_NOTES = ("cells_of_one_name", "cells_retired", "sheet_of_no_cell")
# As many figures are named that an observation may settle.
_MOST_FIGURES = 3


def lines(report: Report, language: Language = ENGLISH) -> list[Line]:
    """Return the opening: a short label and what is to be said, in the order to be read.

    A line whose label is empty goes on with what the one before it says. The conclusion stands under `ANSWER`. Labels
    are English, by which they are told apart; `label_text` says them in a language. A line that the language lacks
    words for is an `InEnglish`.
    """
    answer = report.answer
    made: list[tuple[str, Maker]] = [
        *((ALARM, partial(_alarm, each)) for each in answer.alarms),
        (ANSWER, partial(_conclusion, report)),
        *under("decision", _decision(report)),
        *under("cannot be true", (partial(_excluded, each) for each in _untrue(report))),
        *use_lines(report),
        *under("charge with", charger_lines(report)),
        *under("your load", load_lines(report)),
        *under("beware", (partial(remark_text, each) for each in _beware(report))),
        *under("ask first", (partial(_asked, each) for each in answer.ask_first)),
        ("cells", partial(cell_text, report)),
        ("judged for", partial(_air, report)),
        *under("own limits", _own_limits(report)),
    ]
    return [(label, in_language(make, language)) for label, make in made]


def label_text(label: str, language: Language = ENGLISH) -> str:
    """Return a label of a line as it is shown."""
    return in_language(lambda spoken: spoken.name("labels", label, label), language)


def stage_text(report: Report, language: Language = ENGLISH) -> str:
    """Return how far a pack has been examined, in words."""
    unopened = report.stage == "listed"
    stage = "noted" if unopened and report.case.is_seen else report.stage
    return in_language(lambda spoken: spoken.text("stages", stage, STAGES), language)


def headline(report: Report, language: Language = ENGLISH) -> str:
    """Return the conclusion as one sentence."""
    return in_language(partial(_conclusion, report), language)


def box_text(code: str, language: Language = ENGLISH) -> str:
    """Return what the box of alarms or that of the answer is called."""
    return in_language(partial(say, code), language)


def _alarm(alarm: Warned, language: Language) -> str:
    return alarm.text if language.english else alarm_text(Remark(alarm.code, alarm.numbers), language)


def _excluded(each: CannotBeTrue, language: Language) -> str:
    return each.text if language.english else contradiction_text(each.code, each.numbers, language)


def _untrue(report: Report) -> Iterator[CannotBeTrue]:
    """Yield what cannot be true together; that a datasheet was withdrawn is told with the cells."""
    gone = {each.code for each in report.contradictions if withdrawn(each)}
    return (each for each in report.answer.cannot_be_true if each.code not in gone)


def _conclusion(report: Report, language: Language) -> str:
    answer = report.answer
    if language.english:
        return answer.sentence
    return sentence(
        answer.conclusion.value, report.findings, [each.remark for each in report.alarms],
        told(report.contradictions), report.registry.cells, used=answer.used,
        gave_far_less=answer.gave_far_less, unreadable=unreadable(report), language=language,
    )  # fmt: skip


def _beware(report: Report) -> Iterator[Remark]:
    """Yield the dangers that the decision on a listing does not give as its reason."""
    told_above = _doubt_of_the_charger(report) if _decided(report) == _FOR_THE_CHARGER else None
    # To what a controller is to be set the line of the load says.
    granted = bool(report.answer.use_at_most)
    return (
        each
        for each in dangers(report)
        if each != told_above and not (granted and each.code in OF_CONTROLLER)
    )


def particulars(report: Report, language: Language = ENGLISH) -> list[Line]:
    """Return for whom and by whom a report is made, as far as the case says so."""
    case = report.case.case
    condition = case.condition
    if condition is not None:
        scraped = condition == "new" and unreadable(report)
        told_as = in_language(partial(say, "new_but_scraped" if scraped else condition), language)
    elif report.stage == "listed" and not report.answer.alarms and not report.answer.used:
        told_as = in_language(partial(say, "condition_not_stated"), language)
    else:
        told_as = None
    named = (
        ("job", case.job), ("customer", case.customer), ("date", case.date), ("by", case.by),
        ("condition", told_as), ("notes", case.notes),
    )  # fmt: skip
    return [
        (name, value if isinstance(value, str) else str(value)) for name, value in named if value is not None
    ]


def _decided(report: Report) -> str | None:
    """Return what a buyer asks of a listing first, whether to buy, by its code; None once the pack is there."""
    if report.stage != "listed":
        return None
    refuted = any(each.verdict in REFUTED for each in _beside_what_excludes_itself(report))
    if report.answer.alarms:
        return "decision_alarm"
    if any(excludes_itself(each) for each in report.contradictions):
        return "decision_false_most" if refuted else "decision_false"
    if refuted or report.answer.conclusion is Conclusion.NOT_AS_ADVERTISED:
        return "decision_refuted"
    if report.answer.conclusion is Conclusion.NOTHING_CLAIMED:
        return "decision_nothing"
    return "decision_ask" if _doubt_of_the_charger(report) is None else _FOR_THE_CHARGER


def _decision(report: Report) -> Iterator[Maker]:
    """Yield whether to buy, and why."""
    decided, doubt = _decided(report), _doubt_of_the_charger(report)
    if decided in ("decision_false_most", "decision_refuted"):
        yield partial(_refused, report, decided)
    elif decided == _FOR_THE_CHARGER and doubt is not None:
        yield partial(_of_the_charger, doubt)
    elif decided is not None:
        yield partial(say, decided)


def _doubt_of_the_charger(report: Report) -> Remark | None:
    """Return why the charge voltage may be wrong: nothing is said to be right beside it."""
    cautions = report.finding("charge_voltage").cautions
    return next((each for each in cautions if each.code in DOUBTS_OF_A_CHARGER), None)


def _of_the_charger(doubt: Remark, language: Language) -> str:
    return say(_FOR_THE_CHARGER, language, why=remark_text(doubt, language))


def _beside_what_excludes_itself(report: Report) -> list[Finding]:
    """Return the findings without counts that exclude each other, which are told as such."""
    clash = any(excludes_itself(each) for each in report.contradictions)
    return [each for each in report.findings if not (clash and each.figure == "configuration")]


def _refused(report: Report, code: str, language: Language) -> str:
    found = _beside_what_excludes_itself(report)
    return say(code, language, refuted=refuted_text(found, told(report.contradictions), language))


def _asked(each: AskFirst, language: Language) -> str:
    names = [figure_name(name, language) for name in each.settles or each.waiting]
    asked = asked_text(each, language)
    if not names:
        return asked
    # One more is named, for "and 1 more" is as long and tells less.
    told = names if len(names) <= _MOST_FIGURES + 1 else names[:_MOST_FIGURES]
    figures = joined(told, language)
    if len(names) > len(told):
        figures = say("figures_and_more", language, figures=figures, more=str(len(names) - len(told)))
    return say("may_settle" if each.settles else "with_others", language, asked=asked, figures=figures)


def _own_limits(report: Report) -> Iterator[Maker]:
    """Yield the default limits that somebody has overridden; the air stands under ``judged for``."""
    for name in report.limits.overrides:
        if name != "use_temperature_c":
            yield partial(_own_limit, report, name)


def _own_limit(report: Report, name: str, language: Language) -> str:
    limits = report.limits
    origin = limits.origins.get(name, "in the case")
    told_as = language.text("opening", origin, {origin: origin})
    return f"{name} {span(limits.overrides[name], '', language).strip()}, {told_as}"


def _air(report: Report, language: Language) -> str:
    code = "air_default" if report.temperature_assumed else "air"
    reserve = part(report.limits.number("reserve"), language)
    return say(code, language, air=temperatures(*report.temperature_c, language), part=reserve)
