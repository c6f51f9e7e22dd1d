"""What a pack is to be used for at most, and how the load that it is wanted for stands to that, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from math import floor, inf

from verifier.answer import Warned
from verifier.bounds import Bounds, up
from verifier.case_report import Report
from verifier.contradictions import excludes_itself
from verifier.finding import Finding, Remark
from verifier.fuses import FEWEST_OF_A_FUSE_A
from verifier.pack.use_at_most import UseAtMost
from verifier.pack.wear import WornOut
from verifier.report.dangers import OF_CONTROLLER, dangers, to_be_left_alone
from verifier.report.opening_texts import Maker, say, say_motor, under
from verifier.verdict import PASSES, REFUTED, Verdict, at_most
from verifier.words import (
    ENGLISH,
    Language,
    amount,
    digits,
    element_name,
    figure_name,
    groups_beyond,
    joined,
    span,
    temperatures,
)
from verifier.words.filling import current_taken, unseen_part

# Through these more flows than they bear, and nothing stops it.
_TOO_WEAK = {"bms_above_strip": "take_off", "bms_above_links": "series_links", "bms_above_cells": "cells"}


def use_lines(report: Report) -> list[tuple[str, Maker]]:
    """Return what a pack is to be used for at most, or why for nothing, under its label."""
    answer, label = report.answer, "use it for"
    if answer.alarms:
        alone = to_be_left_alone(report)
        then = (partial(_once_charged_so, each) for each in answer.once_charged_so)
        first = partial(say, "leave_alone" if alone else "until_alarm")
        return under(label, (first, *_for_a_repairer(report), *then))
    if answer.worn_out is not None:
        return [(label, partial(_worn_out, answer.worn_out))]
    if any(excludes_itself(each) for each in report.contradictions):
        return [(label, partial(say, "not_true"))]
    if answer.use_at_most:
        use = (partial(use_text, each) for each in answer.use_at_most)
        return under("use at most", (*use, *_which_decides(report), *_why_less(report), *_of_battery(report)))
    if answer.at_best is None:
        weak = next((each for each in dangers(report) if each.code in _TOO_WEAK), None)
        return [(label, partial(say, "too_little") if weak is None else partial(_too_weak, weak))]
    if answer.at_best.continuous_a <= 0:
        return [(label, partial(say, "no_limit_stated"))]
    return [(label, partial(_at_best, report))]


def _for_a_repairer(report: Report) -> Iterator[Maker]:
    """Yield what to look at first in a pack that is open already, where one group alone is empty."""
    if report.stage in ("opened", "tested"):
        for alarm in report.answer.alarms:
            if alarm.code == "group_deeply_discharged" and groups_beyond(alarm.numbers):
                yield partial(_repair_group, alarm)


def _repair_group(alarm: Warned, language: Language) -> str:
    return say("repair_group", language, groups=groups_beyond(alarm.numbers, language))


def _once_charged_so(use: UseAtMost, language: Language) -> str:
    return say("once_charged_so", language, use=use_text(use, language))


def _too_weak(weak: Remark, language: Language) -> str:
    sure_a, slots = float(weak.numbers["sure_a"]), {"part": element_name(_TOO_WEAK[weak.code], language)}
    if sure_a >= FEWEST_OF_A_FUSE_A:
        return say("nothing_limits", language, **slots, sure_a=digits(sure_a, language=language))
    unseen = sure_a > 0 and unseen_part(int(weak.numbers["lacking"])) is not None
    return say("not_seen_in_full" if unseen else "too_weak", language, **slots)


def _worn_out(worn: WornOut, language: Language) -> str:
    least, percent = worn.least_percent, digits(worn.percent, 2, language)
    if float(f"{worn.percent:.2g}") >= least:
        # It would read as if it were enough.
        percent = digits(floor(worn.percent * 10) / 10, 3, language)
    slots = {
        "measured": span(worn.measured_ah, "Ah", language), "percent": percent, "least": digits(least, 2, language),
        "new": amount(worn.new_ah, "Ah", language),
    }  # fmt: skip
    if worn.surely:
        return say("worn_out", language, **slots)
    return say(
        "worn_out_unless", language, **slots, empty=digits(worn.empty_v, language=language),
        needed=digits(up(worn.needed_ah, 3), language=language),
    )  # fmt: skip


def _which_decides(report: Report) -> Iterator[Maker]:
    """Yield why a current that one range of the air grants may be refuted all the same."""
    if len(report.answer.use_at_most) > 1 and report.finding("continuous_current").verdict in REFUTED:
        yield partial(say, "least_decides")


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
        say(
            "claimed_amount",
            language,
            figure=figure_name(each.figure, language),
            amount=span(each.claimed, each.unit, language),
        )
        for each in tight
        if each.claimed is not None
    ]
    slots = {"claims": joined(claims, language)}
    if code == "less_current":
        slots["limit"] = amount(tight[0].supported.low, "A", language)
        fuse = next((each for each in tight[0].cautions if each.code == "fuse_near_its_rating"), None)
        if fuse is not None:
            code = "less_current_fuse"
            slots["rating"] = amount(fuse.numbers["rating_a"], "A", language)
            slots["for_hours"] = amount(fuse.numbers["for_hours_a"], "A", language)
    return say(code, language, **slots)


def _at_best(report: Report, language: Language) -> str:
    best, claimed = report.answer.at_best, report.finding("continuous_current").claimed
    if best is None:
        return say("too_little", language)
    if claimed is not None and best.continuous_a >= claimed.high:
        code = "claim_not_sure" if report.case.is_seen else "nothing_seen"
        return say(code, language, claimed=digits(claimed.high, language=language))
    air = say("from_air", language, air=temperatures(*report.temperature_c, language))
    limit = element_name(best.limited_by, language)
    return say_motor("at_best", best.motor_w, best.continuous_a, language, limit=limit, air=air)


def use_text(use: UseAtMost, language: Language = ENGLISH, *, short: bool = False) -> str:
    """Return what to draw at most over one range of temperatures; in short, without what limits."""
    air = say(
        "at_air" if use.low_c == use.high_c else "from_air",
        language,
        air=temperatures(use.low_c, use.high_c, language),
    )
    if short:
        return say_motor("use_short", use.motor_w, use.continuous_a, language, air=air)
    limit = element_name(use.limited_by, language)
    return say_motor("use", use.motor_w, use.continuous_a, language, air=air, limit=limit)


def load_lines(report: Report) -> Iterator[Maker]:
    """Yield how the load that a pack is wanted for, and its controller, stand to what may be used."""
    # Of a pack that nobody may load nobody asks what a motor takes.
    if report.rely_on.intended_load_w is not None and not to_be_left_alone(report):
        yield partial(_load, report)
    controller, use = report.case.use.controller_current_a, report.answer.use_at_most
    least_a = min((each.continuous_a for each in use), default=None)
    best = report.answer.at_best
    if controller is None or to_be_left_alone(report):
        return
    if least_a is not None:
        if not at_most(controller.high, least_a):
            yield partial(_controller, "controller_above_use", controller, least_a)
    elif best is not None and not at_most(controller.high, best.continuous_a):
        yield partial(_controller, "controller_above_best", controller, best.continuous_a)
    elif not (
        report.answer.alarms
        or report.answer.worn_out is not None
        or any(each.code in OF_CONTROLLER for each in dangers(report))
    ):
        yield partial(_controller, "controller_open", controller, 0.0)


def _controller(code: str, draws: Bounds, most_a: float, language: Language) -> str:
    """Return that a controller draws more than may be used, however well the pack bears it without reserve."""
    return say(
        code,
        language,
        draws=span(draws, "A", language),
        advised=digits(most_a, language=language),
    )


def _load(report: Report, language: Language) -> str:
    rely = report.rely_on
    load = "" if rely.intended_load_w is None else span(rely.intended_load_w, "W", language)
    if rely.intended_current_a is None:
        return say("load_current_open", language, load=load)
    code = {
        Verdict.HOLDS: "load_within",
        Verdict.DOES_NOT_HOLD: "load_too_much",
    }.get(rely.intended_verdict, "load_open")
    current = report.finding("continuous_current")
    slots: dict[str, str] = {}
    needed = rely.intended_current_a
    # What is too much stays so, and may be the alarm itself.
    if report.answer.alarms and rely.intended_verdict is not Verdict.DOES_NOT_HOLD:
        code = "load_waits"
    elif report.answer.worn_out is not None:
        code = "load_worn_out" if report.answer.worn_out.surely else "load_worn_unless"
    elif code != "load_within" and report.grants(current) and at_most(needed.high, current.supported.low):
        # More than is advised, and no more than the pack surely carries.
        limit = amount(current.supported.low, "A", language)
        code, slots = _with_the_controller_set(report, needed, limit, language)
    elif code != "load_within" and (use := report.answer.use_at_most):
        # What may be used is what it has to go by; the claim may be more.
        least_a = min(each.continuous_a for each in use)
        slots = {"advised": digits(least_a, language=language)}
        code = _above_use(code, needed, least_a)
    elif (
        code == "load_open"
        and (best := report.answer.at_best) is not None
        and 0.0 < best.continuous_a < (inf if current.claimed is None else current.claimed.high)
        and not at_most(needed.high, best.continuous_a)
    ):
        # However well it ends, no more than this may be used, whatever is claimed.
        slots = {"advised": digits(best.continuous_a, language=language)}
        above = not at_most(needed.low, best.continuous_a)
        code = "load_above_best" if above else "load_may_exceed_best"
    elif (
        code == "load_open"
        # Of an opened pack the parts decide, not what its seller says.
        and report.stage in ("listed", "arrived")
        and current.claimed is not None
        and current.verdict not in REFUTED
        and not report.contradictions
        and at_most(needed.high, current.claimed.low)
    ):
        reserve = report.limits.number("reserve")
        slots = {"claimed": span(current.claimed, "A", language)}
        code = "load_if_true"
        if not at_most(needed.high, reserve * current.claimed.low):
            code = "load_if_true_no_reserve"
            slots["needed"] = digits(up(needed.high / reserve), language=language)
    elif (
        code == "load_open"
        and current.claimed is not None
        and current.verdict not in REFUTED
        and needed.high > current.claimed.high
    ):
        code, slots = "load_above_claim", {"claimed": span(current.claimed, "A", language)}
    takes = "" if rely.intended_takes is None else current_taken(rely.intended_takes.numbers, language)
    return say("load_takes", language, load=load, takes=takes, verdict=say(code, language, **slots))


def _above_use(code: str, needed: Bounds, most_a: float) -> str:
    """Return how a load that is not sure to fit stands to what may be used, as a code."""
    if code != "load_open" or at_most(needed.high, most_a):
        return code
    return "load_may_exceed_use" if at_most(needed.low, most_a) else "load_above_use"


def _with_the_controller_set(
    report: Report, needed: Bounds, limit: str, language: Language
) -> tuple[str, dict[str, str]]:
    """Return how a load fits that takes more than is advised and no more than the limit, as a code with its slots."""
    use = report.answer.use_at_most
    least = min(use, key=lambda each: each.continuous_a, default=None)
    if least is None or not at_most(needed.low, least.continuous_a):
        return "load_without_reserve", {"limit": limit}
    slots = {"advised": digits(least.continuous_a, language=language)}
    if least.motor_w is None:
        return "load_set", slots
    return "load_set_motor", {**slots, "motor": digits(least.motor_w, language=language)}
