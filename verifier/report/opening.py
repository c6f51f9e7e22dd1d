"""The first lines of a report in words, the same for every format: they come from the answer alone.

In this order: alarms, the conclusion, what cannot be true together, what to use the pack for at most, the load
it is wanted for, what to find out first, and what all of it rests on.
"""

from __future__ import annotations

from collections.abc import Iterator

from verifier.answer import Answer, UseAtMost
from verifier.case.model import Observed
from verifier.case_report import Report
from verifier.finding import Remark
from verifier.verdict import Verdict
from verifier.words import (
    digits,
    element_name,
    evidence_name,
    figure_name,
    part,
    remark_text,
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
_NAMED_BY = {"observed.cell.marking": "the wrapper", "observed.cell.id": "the case"}
# Score of a suggestion whose name is the one that was read.
_SAME = 100.0

# Such remarks are told first, also where nothing is claimed that they could refute.
_DANGERS = frozenset(
    {
        "charger_too_strong", "charger_may_be_too_strong", "controller_too_strong", "no_charging_below",
        "regeneration_too_strong", "regeneration_may_be_too_strong", "fuse_voltage_too_low",
        "fuse_breaking_may_be_low", "groups_apart", "groups_miscounted", "overcharges",
        "charges_no_possible_pack", "too_few_balance_leads",
        "wires_pinched", "leads_not_isolated", "charge_leads_do_not_carry",
    }
)  # fmt: skip

# What an alarm has said already, by the alarm.
_SAID_BY = {
    "wrong_charger": ("overcharges", "charges_no_possible_pack"),
    "charger_overcharges": ("overcharges", "charges_no_possible_pack"),
    "fuse_voltage_too_low": ("fuse_voltage_too_low",),
    "charger_above_cells": ("charger_too_strong",),
    "regeneration_above_cells": ("regeneration_too_strong",),
}
CHARGER_ALARMS = frozenset({"wrong_charger", "charger_overcharges"})

Line = tuple[str, str]


def lines(report: Report) -> list[Line]:
    """Return the opening: a short label and what is to be said, in the order to be read.

    A line whose label is empty goes on with what the one before it says. The conclusion stands under `ANSWER`.
    """
    answer = report.answer
    return [
        *((ALARM, each.text) for each in answer.alarms),
        (ANSWER, answer.sentence),
        *_under("cannot be true", (each.text for each in answer.cannot_be_true)),
        *_use(report),
        *_under("your load", _intended(report)),
        *_under("beware", (remark_text(each) for each in dangers(report))),
        *_under("ask first", _asked(answer)),
        ("cells", _cell(report)),
        ("judged for", _air(report)),
        *_under("own limits", _own_limits(report)),
    ]


def dangers(report: Report) -> list[Remark]:
    """Return what is dangerous in the pack as it is built and to be used, whatever is claimed of it."""
    said = {code for each in report.alarms for code in _SAID_BY.get(each.code, ())}
    found = [
        each
        for finding in report.findings
        for each in finding.cautions
        # What an alarm has said is said; and what nobody can tell for want of facts is no danger yet.
        if each.code in _DANGERS
        and each.code not in said
        and not (each.code == "charger_may_be_too_strong" and each.numbers["sure_a"] <= 0)
    ]
    return list({each.code: each for each in found}.values())


def particulars(report: Report) -> list[Line]:
    """Return for whom and by whom a report is made, as far as the case says so."""
    case = report.case.case
    named = (
        ("job", case.job), ("customer", case.customer), ("date", case.date), ("by", case.by),
        ("condition", case.condition), ("notes", case.notes),
    )  # fmt: skip
    return [(name, str(value)) for name, value in named if value is not None]


def _under(label: str, texts: Iterator[str]) -> list[Line]:
    """Return texts as lines under one label."""
    return [("" if number else label, text) for number, text in enumerate(texts)]


def _use(report: Report) -> list[Line]:
    answer = report.answer
    if answer.alarms:
        return [("use it for", "nothing until the alarm is dealt with")]
    if answer.use_at_most:
        return _under("use at most", (use_text(each) for each in answer.use_at_most))
    if answer.at_best is None:
        return [("use it for", "nothing yet: too little is known")]
    best = answer.at_best
    if best.continuous_a <= 0:
        return [("use it for", "nothing: no datasheet gives a limit at these temperatures")]
    claimed = report.finding("continuous_current").claimed
    if claimed is not None and best.continuous_a >= claimed.high:
        if report.case.observed == Observed():
            return [
                (
                    "use it for",
                    f"nothing yet: nothing of it was seen, so nobody can be sure of {digits(claimed.high)} A",
                )
            ]
        return [
            (
                "use it for",
                f"nothing yet: what was seen is not enough to be sure of the {digits(claimed.high)} A claimed",
            )
        ]
    motor = "" if best.motor_w is None else f", a motor of {digits(best.motor_w)} W"
    limit = element_name(best.limited_by)
    return [("use it for", f"nothing yet. Even at best: {digits(best.continuous_a)} A{motor} ({limit})")]


def use_text(use: UseAtMost, *, short: bool = False) -> str:
    """Return what to draw at most over one range of temperatures; in short, without what limits."""
    motor = "" if use.motor_w is None else f" (a motor of {digits(use.motor_w)} W)"
    if short:
        return f"at most {digits(use.continuous_a)} A{motor} {_at(use.low_c, use.high_c)}"
    limit = element_name(use.limited_by)
    return f"{digits(use.continuous_a)} A{motor} {_at(use.low_c, use.high_c)}, limited by the {limit}"


def _at(low_c: float, high_c: float) -> str:
    return f"at {temperatures(low_c, high_c)}" if low_c == high_c else f"from {temperatures(low_c, high_c)}"


def _intended(report: Report) -> Iterator[str]:
    rely = report.rely_on
    if rely.intended_load_w is None:
        return
    load = span(rely.intended_load_w, "W")
    if rely.intended_current_a is None:
        yield f"{load}: the current it takes is open while the voltage is"
        return
    takes = f"{load} takes {span(rely.intended_current_a, 'A')} from a nearly empty pack"
    words = {
        Verdict.HOLDS: "within what it can be trusted with",
        Verdict.DOES_NOT_HOLD: "too much even at best",
    }.get(rely.intended_verdict, "cannot tell yet whether it is too much")
    # What is too much stays so, and may be the alarm itself.
    waits = report.answer.alarms and rely.intended_verdict is not Verdict.DOES_NOT_HOLD
    yield f"{takes}: {'not before the alarm is dealt with' if waits else words}"


def _asked(answer: Answer) -> Iterator[str]:
    for each in answer.ask_first:
        names = [figure_name(name) for name in each.settles or each.waiting]
        more = f" and {len(names) - 2} more" if len(names) > 2 else ""
        why = "may settle" if each.settles else "with others, for"
        yield f"{each.text} ({why} {', '.join(names[:2])}{more})" if names else each.text


def _cell(report: Report) -> str:
    cell = report.cell
    if cell.id is not None:
        if not cell.used:
            return f"{cell.name} is named, but something speaks against it: not used"
        return f"{cell.name}, named by {_NAMED_BY.get(cell.source, 'the seller')}; {evidence_name(cell.evidence)}"
    if not report.registry.cells:
        return "unknown; your registry has no cells yet"
    text = f"unknown; {cell.candidates} of {report.registry.cells} registered cells fit what is known"
    if cell.suggestions and cell.suggestions[0].score >= _SAME and cell.notes:
        # The very name is registered, of a retired cell or of several: nothing is to be read again.
        text += f". Not used: {'; '.join(remark_text(each) for each in cell.notes)}"
    elif cell.suggestions:
        best = cell.suggestions[0].score
        near = [each.name for each in cell.suggestions if each.score == best]
        names = (
            f"Closest name in your registry: {near[0]}" if len(near) == 1 else f"As close: {', '.join(near)}"
        )
        text += f". {names}. Not used: one letter can halve the current"
    return text


def _own_limits(report: Report) -> Iterator[str]:
    """Yield the default limits that somebody has overridden; the air stands under ``judged for``."""
    limits = report.limits
    for name, value in limits.overrides.items():
        if name != "use_temperature_c":
            yield f"{name} {span(value, '').strip()}, {limits.origins.get(name, 'in the case')}"


def _air(report: Report) -> str:
    low, high = report.temperature_c
    note = " (our default; set yours with --temperature)" if report.temperature_assumed else ""
    return (
        f"air of {temperatures(low, high)}{note}, using {part(report.limits.number('reserve'))} of each limit"
    )
