"""The first lines of a report in words, the same for every format: they come from the answer alone."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.answer import Answer, UseAtMost
from verifier.case_report import Report
from verifier.verdict import Verdict
from verifier.words import digits, element_name, evidence_name, figure_name, span

STAGES = {
    "listed": "listing only, nothing seen",
    "arrived": "arrived, not opened",
    "opened": "opened",
    "tested": "tested",
}

Line = tuple[str, str]


def lines(report: Report) -> list[Line]:
    """Return the opening under the sentence: a short label and what is to be said, in the order to be read."""
    answer = report.answer
    found: list[Line] = [("alarm", each.text) for each in answer.alarms]
    found += [("cannot be true", each.text) for each in answer.cannot_be_true]
    found += _use(answer)
    if report.rely_on.intended_load_w is not None:
        found.append(("your load", _intended(report)))
    found += [("ask first", text) for text in _asked(answer)]
    found.append(("cells", _cell(report)))
    found.append(("judged for", _air(report)))
    return found


def _use(answer: Answer) -> list[Line]:
    if answer.alarms:
        return [("use it for", "nothing until the alarm is dealt with")]
    if answer.use_at_most:
        return [("use at most", "; ".join(use_text(each) for each in answer.use_at_most))]
    if answer.at_best is None:
        return [("use it for", "nothing yet: too little is known")]
    best = answer.at_best
    if best.continuous_a <= 0:
        return [("use it for", "nothing: no datasheet gives a limit at these temperatures")]
    motor = "" if best.motor_w is None else f", a {digits(best.motor_w)} W motor"
    return [
        (
            "use it for",
            f"nothing yet. Even at best: {digits(best.continuous_a)} A{motor} ({element_name(best.limited_by)})",
        )
    ]


def use_text(use: UseAtMost) -> str:
    """Return what to draw at most over one range of temperatures."""
    at = (
        f"at {digits(use.low_c)} C"
        if use.low_c == use.high_c
        else f"from {digits(use.low_c)} to {digits(use.high_c)} C"
    )
    motor = f" (a {digits(use.motor_w)} W motor)" if use.motor_w > 0 else ""
    return f"{digits(use.continuous_a)} A{motor} {at}, limited by the {element_name(use.limited_by)}"


def _intended(report: Report) -> str:
    rely = report.rely_on
    load = span(rely.intended_load_w, "W") if rely.intended_load_w is not None else ""
    if rely.intended_current_a is None:
        return f"{load}: the current it takes is open while the voltage is"
    takes = f"{load} takes {span(rely.intended_current_a, 'A')} from a nearly empty pack"
    words = {
        Verdict.HOLDS: "within what it can be trusted with",
        Verdict.DOES_NOT_HOLD: "too much even at best",
    }.get(rely.intended_verdict, "cannot tell yet whether it is too much")
    return f"{takes}: {words}"


def _asked(answer: Answer) -> Sequence[str]:
    found = []
    for each in answer.ask_first:
        names = [figure_name(name) for name in each.settles]
        more = f" and {len(names) - 2} more" if len(names) > 2 else ""
        settles = (
            f" (may settle {', '.join(names[:2])}{more})" if names else " (helps only together with others)"
        )
        found.append(each.text + settles)
    return found


def _cell(report: Report) -> str:
    cell = report.cell
    if cell.id is not None:
        from_field = (
            "the wrapper"
            if cell.source == "observed.cell.marking"
            else "the seller"
            if cell.source.startswith("claim")
            else "the case"
        )
        text = f"{cell.name}, named by {from_field}; {evidence_name(cell.evidence)}"
        return text if cell.used else f"{cell.name} is named, but something speaks against it: not used"
    if not report.registry.cells:
        return "unknown; your registry has no cells yet"
    text = f"unknown; {cell.candidates} of {report.registry.cells} registered cells fit what is known"
    if cell.suggestions:
        near = cell.suggestions[0]
        text += f". Closest name in your registry: {near.name}. Not used: one letter can halve the current"
    return text


def _air(report: Report) -> str:
    low, high = report.temperature_c
    where = f"air of {digits(low)} to {digits(high)} C" if low != high else f"air of {digits(low)} C"
    note = " (our default; set yours with --temperature)" if report.temperature_assumed else ""
    return f"{where}{note}, using {digits(report.limits.number('reserve'), 2)} of each limit"
