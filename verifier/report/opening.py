"""The first lines of a report in words, the same for every format: they come from the answer alone.

In this order: alarms, the conclusion, what cannot be true together, what to use the pack for at most, the load
it is wanted for, what to find out first, and what all of it rests on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from typing import TypeAlias

from verifier.alarms import LEAVE_ALONE
from verifier.answer import AskFirst, CannotBeTrue, UseAtMost, Warned, asked_text, told
from verifier.case.model import Observed
from verifier.case_report import Report
from verifier.contradictions import withdrawn
from verifier.finding import Could, Finding, Remark
from verifier.possible_cells import NONE_EVER
from verifier.report import in_use
from verifier.verdict import PASSES, REFUTED, Verdict
from verifier.words import (
    ENGLISH,
    Language,
    alarm_text,
    contradiction_text,
    digits,
    element_name,
    evidence_name,
    figure_name,
    in_language,
    joined,
    part,
    remark_text,
    sentence,
    span,
    temperatures,
)

STAGES = {
    "listed": "listing only, nothing seen",
    "arrived": "arrived, not opened",
    "opened": "opened",
    "tested": "tested",
}
ALARM, ANSWER = "alarm", "answer"
_NAMED_BY = {"observed.cell.marking": "by_wrapper", "observed.cell.id": "by_case"}
# Score of a suggestion whose name is the one that was read.
_SAME = 100.0

# Such remarks are told first, also where nothing is claimed that they could refute.
DANGERS = frozenset(
    {
        "charger_too_strong", "charger_may_be_too_strong", "controller_too_strong", "no_charging_below",
        "regeneration_too_strong", "regeneration_may_be_too_strong", "fuse_voltage_too_low",
        "fuse_breaking_may_be_low", "groups_apart", "groups_miscounted", "overcharges",
        "charges_no_possible_pack", "too_few_balance_leads",
        "wires_pinched", "leads_not_isolated", "charge_leads_do_not_carry", "bms_above_strip", "bms_above_links",
        "bms_above_cells",
    }
)  # fmt: skip

# Such notes say why a cell of the very name was not taken.
CELL_NOTES = ("cells_of_one_name", "cells_retired", "sheet_of_no_cell")

# What an alarm has said already, by the alarm.
_SAID_BY = {
    "wrong_charger": ("overcharges", "charges_no_possible_pack"),
    "charger_overcharges": ("overcharges", "charges_no_possible_pack"),
    "fuse_voltage_too_low": ("fuse_voltage_too_low",),
    "charger_above_cells": ("charger_too_strong",),
    "regeneration_above_cells": ("regeneration_too_strong",),
    "deeply_discharged": ("deeply_discharged",),
    # Of such a pack nobody balances anything.
    "group_deeply_discharged": ("groups_apart", "groups_unbalanced"),
    "over_charge_limit": ("over_full",),
    "group_drains": ("group_drains",),
    "no_fuse": ("no_fuse",),
}
CHARGER_ALARMS = frozenset({"wrong_charger", "charger_overcharges"})

Line = tuple[str, str]
Maker: TypeAlias = Callable[[Language], str]

# Labels are told apart by their English words.
LABELS = (
    ALARM, "cannot be true", "use at most", "use it for", "charge with", "your load", "beware", "ask first", "cells",
    "judged for", "own limits", "job", "customer", "date", "by", "condition", "notes", "capacity", "charger",
)  # fmt: skip
OPENING = {
    "alarm_box": "Alarm",
    "answer_box": "Answer",
    "new": "new",
    "used": "used",
    "leave_alone": "nothing, whatever holds below: do not charge, load or post it; take it to somebody who "
    "repairs such packs or to a collection point for batteries, and tell the seller",
    "until_alarm": "nothing until the alarm is dealt with, whatever holds below",
    "too_little": "nothing yet: too little is known",
    "no_limit_stated": "nothing: no datasheet gives a limit at these temperatures",
    "nothing_seen": "nothing yet: nothing of it was seen, so nobody can be sure of {claimed} A",
    "claim_not_sure": "nothing yet: what was seen is not enough to be sure of the {claimed} A claimed",
    "at_best": "nothing yet. Even at best: {amps} A ({limit})",
    "at_best_motor": "nothing yet. Even at best: {amps} A, a motor of {motor} W ({limit})",
    "use": "{amps} A continuous {air}, limited by the {limit}",
    "use_motor": "{amps} A continuous (a motor of {motor} W until nearly empty) {air}, limited by the {limit}",
    "less_current": "less than the {claims} claimed, though that holds: it takes more than {part} of the limit, the "
    "most that is granted for use",
    "less_power": "less than the {claims} claimed, though that holds: when nearly empty it takes more than {part} of "
    "the limit, the most that is granted for use",
    "power_of_battery": "the {claims} claimed is what the battery gives: it drives no motor of so much",
    "least_decides": "the current claimed must hold in all of this air, so that the least of these decides",
    "claimed_amount": "{figure} of {amount}",
    "use_short": "at most {amps} A {air}",
    "use_short_motor": "at most {amps} A (a motor of {motor} W) {air}",
    "at_air": "at {air}",
    "from_air": "from {air}",
    "load_current_open": "{load}: the current it takes is open while the voltage is",
    "load_takes": "{load} takes {current} from a nearly empty pack: {verdict}",
    "load_within": "within what it can be trusted with",
    "load_too_much": "too much even at best",
    "load_open": "cannot tell yet whether it is too much",
    "load_waits": "not before the alarm is dealt with",
    "may_settle": "{asked} (may settle {figures})",
    "with_others": "{asked} (with others, for {figures})",
    "figures_and_more": "{figures} and {more} more",
    "cell_against": "{cell} is named, but something speaks against it: not used",
    "cell_named": "{cell}, named by {whom}; {evidence}",
    "by_wrapper": "the wrapper",
    "by_case": "the case",
    "by_seller": "the seller",
    "no_cells": "unknown; your registry has no cells yet",
    "cell_withdrawn": "{cell}, named by {whom}, but {why}",
    "cells_fit": "unknown; {candidates} of {cells} registered cells could be inside",
    "cells_none_fit": "unknown; none of the {cells} registered cells could be inside",
    "cells_can": "unknown; {candidates} of {cells} registered cells could be inside, and {able} of them could do what "
    "is claimed",
    "cells_cannot": "unknown; {candidates} of {cells} registered cells could be inside, and none of them can do what "
    "is claimed",
    "cells_none_ever": "unknown; no cell ever made that could be inside can do what is claimed",
    "cells_not_used": "{fit}. Not used: {why}",
    "closest": "{fit}. Closest name in your registry: {name}. Not used: one letter can halve the current",
    "as_close": "{fit}. As close: {names}. Not used: one letter can halve the current",
    "in the case": "in the case",
    "in your settings": "in your settings",
    "air": "air of {air}, using {part} of each limit; the tables show all of it",
    "air_default": "air of {air} (our default; set yours with --temperature), using {part} of each limit; the tables "
    "show all of it",
}
# As many figures are named that an observation may settle.
_MOST_FIGURES = 3


def _say(code: str, language: Language, **slots: str) -> str:
    return language.text("opening", code, OPENING).format_map(slots)


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
        *_under("cannot be true", (partial(_excluded, each) for each in _untrue(report))),
        *_use(report),
        *_under("charge with", _charger(report)),
        *_under("your load", _intended(report)),
        *_under("beware", (partial(remark_text, each) for each in dangers(report))),
        *_under("ask first", (partial(_asked, each) for each in answer.ask_first)),
        ("cells", partial(_cell, report)),
        ("judged for", partial(_air, report)),
        *_under("own limits", _own_limits(report)),
    ]
    return [(label, in_language(make, language)) for label, make in made]


def label_text(label: str, language: Language = ENGLISH) -> str:
    """Return a label of a line as it is shown."""
    return in_language(lambda spoken: spoken.name("labels", label, label), language)


def stage_text(stage: str, language: Language = ENGLISH) -> str:
    """Return how far a pack has been examined, in words."""
    return in_language(lambda spoken: spoken.text("stages", stage, STAGES), language)


def headline(report: Report, language: Language = ENGLISH) -> str:
    """Return the conclusion as one sentence."""
    return in_language(partial(_conclusion, report), language)


def box_text(code: str, language: Language = ENGLISH) -> str:
    """Return what the box of alarms or that of the answer is called."""
    return in_language(partial(_say, code), language)


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
        told(report.contradictions), report.registry.cells, used=answer.used, language=language,
    )  # fmt: skip


def said_by_alarms(report: Report) -> frozenset[str]:
    """Return the codes of the remarks that say what an alarm has said already."""
    return frozenset(code for each in report.alarms for code in _SAID_BY.get(each.code, ()))


def dangers(report: Report) -> list[Remark]:
    """Return what is dangerous in the pack as it is built and to be used, whatever is claimed of it."""
    said = said_by_alarms(report)
    never = any(each.code in LEAVE_ALONE for each in report.alarms)
    found = [
        each
        for finding in report.findings
        for each in finding.cautions
        # What an alarm has said is said; and what nobody can tell for want of facts is no danger yet.
        if each.code in DANGERS
        and each.code not in said
        # "Not below 10 C" would allow it above, and nobody draws anything from such a pack.
        and not (each.code in ("no_charging_below", "bms_above_cells") and never)
        and not (each.code == "charger_may_be_too_strong" and each.numbers["sure_a"] <= 0)
    ]
    return list({each.code: each for each in found}.values())


def particulars(report: Report, language: Language = ENGLISH) -> list[Line]:
    """Return for whom and by whom a report is made, as far as the case says so."""
    case = report.case.case
    condition = case.condition
    if condition is not None:
        told_as = in_language(partial(_say, condition), language)
    named = (
        ("job", case.job), ("customer", case.customer), ("date", case.date), ("by", case.by),
        ("condition", None if condition is None else told_as), ("notes", case.notes),
    )  # fmt: skip
    return [
        (name, value if isinstance(value, str) else str(value)) for name, value in named if value is not None
    ]


def _under(label: str, makers: Iterable[Maker]) -> list[tuple[str, Maker]]:
    """Return texts as lines under one label."""
    return [("" if number else label, make) for number, make in enumerate(makers)]


def _use(report: Report) -> list[tuple[str, Maker]]:
    answer, label = report.answer, "use it for"
    if answer.alarms:
        alone = any(each.code in LEAVE_ALONE for each in answer.alarms)
        return [(label, partial(_say, "leave_alone" if alone else "until_alarm"))]
    if answer.use_at_most:
        use = (partial(use_text, each) for each in answer.use_at_most)
        return _under(
            "use at most", (*use, *_which_decides(report), *_why_less(report), *_of_battery(report))
        )
    if answer.at_best is None:
        return [(label, partial(_say, "too_little"))]
    if answer.at_best.continuous_a <= 0:
        return [(label, partial(_say, "no_limit_stated"))]
    return [(label, partial(_at_best, report))]


def _which_decides(report: Report) -> Iterator[Maker]:
    """Yield why a current that one range of the air grants may be refuted all the same."""
    if len(report.answer.use_at_most) > 1 and report.finding("continuous_current").verdict in REFUTED:
        yield partial(_say, "least_decides")


def _why_less(report: Report) -> Iterator[Maker]:
    """Yield why less may be drawn than is claimed, where the claim holds and leaves no reserve."""
    for code, names in (("less_current", ("continuous_current",)), ("less_power", ("power", "load_power"))):
        tight = [
            each for name in names if (each := report.finding(name)).verdict is Verdict.HOLDS_WITHOUT_RESERVE
        ]
        if tight:
            yield partial(_less, report, code, tight)


def _of_battery(report: Report) -> Iterator[Maker]:
    """Yield that a power claimed is the battery's, where it holds and is more than the motor that is granted."""
    power = report.finding("power")
    motor_w = max((each.motor_w or 0.0 for each in report.answer.use_at_most), default=0.0)
    holds = power.verdict in PASSES and power.verdict is not Verdict.HOLDS_WITHOUT_RESERVE
    if holds and power.claimed is not None and 0 < motor_w < power.claimed.high:
        yield partial(_less, report, "power_of_battery", [power])


def _less(report: Report, code: str, tight: Sequence[Finding], language: Language) -> str:
    claims = [
        _say(
            "claimed_amount",
            language,
            figure=figure_name(each.figure, language),
            amount=span(each.claimed, each.unit, language),
        )
        for each in tight
        if each.claimed is not None
    ]
    kept = part(report.limits.number("reserve"), language)
    return _say(code, language, claims=joined(claims, language), part=kept)


def _charger(report: Report) -> Iterator[Maker]:
    if in_use.charger_is_known(report):
        yield partial(in_use.charging, report, short=False)


def _at_best(report: Report, language: Language) -> str:
    best, claimed = report.answer.at_best, report.finding("continuous_current").claimed
    if best is None:
        return _say("too_little", language)
    if claimed is not None and best.continuous_a >= claimed.high:
        code = "nothing_seen" if report.case.observed == Observed() else "claim_not_sure"
        return _say(code, language, claimed=digits(claimed.high, language=language))
    return _say_motor(
        "at_best", best.motor_w, best.continuous_a, language, limit=element_name(best.limited_by, language)
    )


def _say_motor(code: str, motor_w: float | None, amps: float, language: Language, **slots: str) -> str:
    """Return what a current is good for, with the motor where one is known."""
    slots["amps"] = digits(amps, language=language)
    if motor_w is None:
        return _say(code, language, **slots)
    return _say(f"{code}_motor", language, motor=digits(motor_w, language=language), **slots)


def use_text(use: UseAtMost, language: Language = ENGLISH, *, short: bool = False) -> str:
    """Return what to draw at most over one range of temperatures; in short, without what limits."""
    air = _say(
        "at_air" if use.low_c == use.high_c else "from_air",
        language,
        air=temperatures(use.low_c, use.high_c, language),
    )
    if short:
        return _say_motor("use_short", use.motor_w, use.continuous_a, language, air=air)
    limit = element_name(use.limited_by, language)
    return _say_motor("use", use.motor_w, use.continuous_a, language, air=air, limit=limit)


def _intended(report: Report) -> Iterator[Maker]:
    rely = report.rely_on
    if rely.intended_load_w is not None:
        yield partial(_load, report)


def _load(report: Report, language: Language) -> str:
    rely = report.rely_on
    load = "" if rely.intended_load_w is None else span(rely.intended_load_w, "W", language)
    if rely.intended_current_a is None:
        return _say("load_current_open", language, load=load)
    code = {
        Verdict.HOLDS: "load_within",
        Verdict.DOES_NOT_HOLD: "load_too_much",
    }.get(rely.intended_verdict, "load_open")
    # What is too much stays so, and may be the alarm itself.
    if report.answer.alarms and rely.intended_verdict is not Verdict.DOES_NOT_HOLD:
        code = "load_waits"
    current = span(rely.intended_current_a, "A", language)
    return _say("load_takes", language, load=load, current=current, verdict=_say(code, language))


def _asked(each: AskFirst, language: Language) -> str:
    names = [figure_name(name, language) for name in each.settles or each.waiting]
    asked = asked_text(each, language)
    if not names:
        return asked
    # One more is named, for "and 1 more" is as long and tells less.
    told = names if len(names) <= _MOST_FIGURES + 1 else names[:_MOST_FIGURES]
    figures = joined(told, language)
    if len(names) > len(told):
        figures = _say("figures_and_more", language, figures=figures, more=str(len(names) - len(told)))
    return _say("may_settle" if each.settles else "with_others", language, asked=asked, figures=figures)


def _cell(report: Report, language: Language) -> str:
    cell = report.cell
    if cell.id is not None:
        name = str(cell.name)
        whom = _say(_NAMED_BY.get(cell.source, "by_seller"), language)
        gone = next((each for each in report.contradictions if withdrawn(each)), None)
        if gone is not None:
            why = contradiction_text(gone.code, gone.numbers, language)
            return _say("cell_withdrawn", language, cell=name, whom=whom, why=why)
        if not cell.used:
            return _say("cell_against", language, cell=name)
        return _say(
            "cell_named", language, cell=name, whom=whom, evidence=evidence_name(cell.evidence, language)
        )
    if not report.registry.cells:
        return _say("no_cells", language)
    fit = _cells_fit(report, language)
    if cell.suggestions and cell.suggestions[0].score >= _SAME and cell.notes:
        # The very name is registered, of a retired cell or of several: nothing is to be read again.
        return _say(
            "cells_not_used",
            language,
            fit=fit,
            why="; ".join(remark_text(each, language) for each in cell.notes),
        )
    if not cell.suggestions:
        return fit
    best = cell.suggestions[0].score
    near = [each.name for each in cell.suggestions if each.score == best]
    if len(near) == 1:
        return _say("closest", language, fit=fit, name=near[0])
    return _say("as_close", language, fit=fit, names=joined(near, language))


def could_do(report: Report) -> Could | None:
    """Return which registered cells could do what is claimed; nothing where a test or another part refutes it."""
    about = [each for each in report.findings if each.could is not None]
    if not about:
        return None
    able = about[0].could
    refuted = any(each.verdict in REFUTED for each in about)
    return None if able is None or (refuted and able.grade != NONE_EVER) else able


def _cells_fit(report: Report, language: Language) -> str:
    """Return which registered cells could be inside, and which of them could do what is claimed."""
    counts = {"candidates": str(report.cell.candidates), "cells": str(report.registry.cells)}
    able = could_do(report)
    if able is not None and able.grade == NONE_EVER:
        return _say("cells_none_ever", language)
    if not report.cell.candidates:
        return _say("cells_none_fit", language, cells=counts["cells"])
    if able is None:
        return _say("cells_fit", language, **counts)
    if not able.registered_able:
        return _say("cells_cannot", language, **counts)
    return _say("cells_can", language, able=str(able.registered_able), **counts)


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
    return _say(code, language, air=temperatures(*report.temperature_c, language), part=reserve)
