"""The first lines of a report in words, the same for every format: they come from the answer alone.

In this order: alarms, the conclusion, what cannot be true together, what to use the pack for at most, the load
it is wanted for, what to find out first, and what all of it rests on.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from functools import partial
from math import floor, inf
from typing import TypeAlias

from verifier.alarms import LEAVE_ALONE
from verifier.answer import AskFirst, CannotBeTrue, Conclusion, Warned, asked_text, told
from verifier.bounds import Bounds, up
from verifier.case_report import Report
from verifier.contradictions import excludes_itself, withdrawn
from verifier.finding import Could, Finding, Remark
from verifier.pack.use_at_most import UseAtMost
from verifier.pack.wear import WornOut
from verifier.possible_cells import NONE_EVER
from verifier.report import in_use
from verifier.verdict import PASSES, REFUTED, Verdict, at_most
from verifier.words import (
    ENGLISH,
    Language,
    alarm_text,
    amount,
    contradiction_text,
    digits,
    element_name,
    evidence_name,
    figure_name,
    groups_beyond,
    in_language,
    joined,
    part,
    refuted_text,
    remark_text,
    sentence,
    span,
    temperatures,
)
from verifier.words.filling import current_taken

STAGES = {
    "listed": "listing only, nothing seen",
    "noted": "listing, and what was noted of the pack itself",
    "arrived": "arrived, not opened",
    "opened": "opened",
    "tested": "tested",
}
ALARM, ANSWER = "alarm", "answer"
_FOR_THE_CHARGER = "decision_charger"
_NAMED_BY = {"observed.cell.marking": "by_wrapper", "observed.cell.id": "by_case"}
# Score of a suggestion whose name is the one that was read.
_SAME = 100.0

# A charge voltage that no pack of the kind takes, or not every pack that it may be.
DOUBTS_OF_A_CHARGER = frozenset(
    {"overcharges", "may_overcharge", "overcharges_some", "overcharges_most", "charges_no_possible_pack"}
)
# What whoever has the pack must mind: no danger of what is offered, and not told beside the rows of a table.
OF_HANDLING = frozenset({"no_charging_below", "uncooled_too_hot", "uncooled_perhaps_too_hot"})
# Such remarks are told first, also where nothing is claimed that they could refute.
DANGERS = OF_HANDLING | DOUBTS_OF_A_CHARGER | frozenset(
    {
        "maybe_charged_above_full", "charger_too_strong", "charger_may_be_too_strong", "controller_too_strong",
        "controller_may_be_too_strong",
        "regeneration_too_strong", "regeneration_may_be_too_strong", "fuse_voltage_too_low",
        "fuse_breaking_may_be_low", "groups_apart", "groups_miscounted", "too_few_balance_leads", "wires_pinched",
        "leads_not_isolated", "charge_leads_do_not_carry", "bms_above_strip", "bms_above_links",
        "bms_above_cells", "bms_above_connector", "fuse_above_strip", "fuse_may_be_above_leads",
        "bms_may_be_above_leads",
    }
)  # fmt: skip

# Such notes say why a cell of the very name was not taken.
CELL_NOTES = ("cells_of_one_name", "cells_retired", "sheet_of_no_cell")

# What an alarm has said already, by the alarm.
SAID_BY: dict[str, Collection[str]] = {
    "wrong_charger": DOUBTS_OF_A_CHARGER,
    "charger_overcharges": DOUBTS_OF_A_CHARGER,
    "fuse_voltage_too_low": ("fuse_voltage_too_low",),
    "charger_above_cells": ("charger_too_strong",),
    "regeneration_above_cells": ("regeneration_too_strong",),
    "deeply_discharged": ("deeply_discharged",),
    "hot_in_minutes": ("uncooled_too_hot", "uncooled_perhaps_too_hot"),
    # Of such a pack nobody balances anything.
    "group_deeply_discharged": ("groups_apart", "groups_unbalanced", "groups_may_cost"),
    "over_charge_limit": ("over_full",),
    "group_drains": ("group_drains",),
    # The fuse to fit there is the one to fit for the leads.
    "no_fuse": ("no_fuse", "bms_may_be_above_leads"),
}
# Of what is built around the cells, and how they are used.
OF_USE = frozenset(
    {
        "bms_above_strip", "bms_above_links", "bms_above_cells", "bms_above_connector", "fuse_above_strip",
        "fuse_may_be_above_leads",
        "bms_may_be_above_leads", "controller_too_strong", "controller_may_be_too_strong",
        "regeneration_too_strong", "regeneration_may_be_too_strong",
        "fuse_breaking_may_be_low", "fuse_voltage_too_low", "uncooled_too_hot", "uncooled_perhaps_too_hot",
    }
)  # fmt: skip
OF_CONTROLLER = frozenset({"controller_too_strong", "controller_may_be_too_strong"})
# Where nothing is sure yet, they would speak of 0 A.
OF_WHAT_IS_SURE = frozenset({"charger_may_be_too_strong", "controller_may_be_too_strong"})
# Through these more flows than they bear, and nothing stops it.
_TOO_WEAK = {"bms_above_strip": "take_off", "bms_above_links": "series_links", "bms_above_cells": "cells"}
# What a charge voltage is right for, and wrong.
_RIGHT_FOR = frozenset({"right_for_lithium_ion", "right_for_iron_phosphate", "right_for_titanate"})
CHARGER_ALARMS = frozenset({"wrong_charger", "charger_overcharges"})

Line = tuple[str, str]
Maker: TypeAlias = Callable[[Language], str]

# Labels are told apart by their English words.
LABELS = (
    ALARM, "decision", "cannot be true", "use at most", "use it for", "charge with", "your load", "beware", "ask first",
    "cells", "judged for", "own limits", "job", "customer", "date", "by", "condition", "notes", "capacity", "charger",
    "claimed",
)  # fmt: skip
OPENING = {
    "alarm_box": "Alarm",
    "answer_box": "Answer",
    "new": "new",
    "used": "used",
    "leave_alone": "nothing, whatever holds below: do not charge, load or post it, take it on no bus or train, and let "
    "nobody charge it back to life; with its contacts taped it goes to somebody who repairs such packs, to a "
    "collection point for batteries or to who sold it",
    "repair_group": "if you repair such packs: first find what emptied group {groups} alone (a BMS wire that draws "
    "from it, damp, a cell shorted inside); none of its cells is ever charged again, and no other group before that",
    "until_alarm": "nothing until what the alarm says is done, whatever holds below",
    "once_charged_so": "charged as the alarm says: {use}",
    "too_weak": "nothing as it is: too weak: {part}",
    "too_little": "nothing yet: too little is known",
    "no_limit_stated": "nothing: no datasheet gives a limit at these temperatures",
    "nothing_seen": "nothing yet: only the seller says {claimed} A",
    "claim_not_sure": "nothing yet: what was seen is not enough to be sure of the {claimed} A claimed",
    "at_best": "nothing yet. If all that is open turns out well: {amps} A {air}, with our reserve ({limit})",
    "at_best_motor": "nothing yet. If all that is open turns out well: {amps} A {air}, with our reserve, a motor of "
    "{motor} W until nearly empty ({limit})",
    "use": "{amps} A continuous {air}, limited by the {limit}",
    "use_motor": "{amps} A continuous (a motor of {motor} W until nearly empty) {air}, limited by the {limit}",
    "less_current": "the {claims} claimed holds, inside the limit of {limit}, but leaves less than our reserve",
    "less_power": "the {claims} claimed holds, but when nearly empty it leaves less than our reserve",
    "power_of_battery": "the {claims} claimed is what the battery gives: it drives no motor of so much",
    "decision_false": "do not buy on this advert: what it says cannot all be true. Photos of its label and of its "
    "charger's may tell which is right; where they disagree too, leave it",
    "decision_false_most": "do not buy on this advert: {refuted}; and what it says cannot all be true",
    "decision_refuted": "do not buy on this advert: {refuted}; asking does not make it true",
    "decision_alarm": "do not buy it",
    "decision_ask": "nothing wrong found in the advert: ask what stands below, and see label, case and voltage before "
    "you buy",
    "decision_charger": "do not buy before it is clear which charger is right: {why}",
    "decision_nothing": "nothing to decide on: ask for its figures before you buy",
    "worn_none": "none",
    "worn_out_verdict": "worn out",
    "worn_out": "nothing: worn out: it gave {measured}, {percent} % of the {new} of new cells, and below {least} % no "
    "current is granted, whatever else is measured. Rebuild it with new cells, or recycle it",
    "worn_out_unless": "nothing: worn out as measured: it gave {measured}, {percent} % of the {new} of new cells, and "
    "below {least} % no current is granted. Rebuild it with new cells, or recycle it, unless another full discharge in "
    "a room, down to {empty} V, gives {needed} Ah or more",
    "not_true": "nothing: what is said of it cannot all be true",
    "new_but_scraped": "said to be new; blank or scraped wrappers speak against it",
    "condition_not_stated": "new or used is not said: all figures are of new cells",
    "chemistry_open": "do not charge it: the chemistry of its cells is not known, nor how far they may be charged",
    "count_open": "do not charge it before its groups in series are counted",
    "chemistry_open_at_hand": "do not charge it, and do not plug in the {volts} charger at hand: the chemistry of its "
    "cells is not known",
    "count_open_at_hand": "do not charge it, and do not plug in the {volts} charger at hand, before its groups in "
    "series are counted",
    "charge_for_test": "{volts}, watched, for another full discharge and nothing else",
    "worn_at_hand": "nothing: it is worn out; do not plug in the {volts} charger at hand",
    "alarm_first_at_hand": "do not plug in the {volts} charger at hand before what the alarm says is done",
    "too_strong_at_hand": "do not plug in the {volts} charger at hand: it gives more current than the cells take; take "
    "one of the same voltage that gives less",
    "in_air_at_hand": "the {volts} charger at hand in no other air than the alarm says",
    "untrue_at_hand": "do not plug in the {volts} charger at hand before it is clear what the pack is",
    "word_at_hand": "the {volts} charger at hand fits only if what the seller says is true: do not plug it in before "
    "the label of the pack is seen to say so, and never alone",
    "unlike_at_hand": "do not plug in the {volts} charger at hand, it is of another pack: this one takes {right}",
    "unlike_word_at_hand": "do not plug in the {volts} charger at hand: a pack as the seller says takes {right}",
    "plug_nothing_in": "nothing: do not plug in the charger ({volts}), not even to see",
    "plug_none_in": "nothing: plug in no charger, not even to see",
    "volts_open_at_hand": "do not plug in the charger at hand: nothing says yet that it is right; read its voltage",
    "if_sound": "If it were sound; this table does not allow you to use it:",
    "least_decides": "the current claimed must hold in all of this air, so that the least of these decides",
    "claimed_amount": "{figure} of {amount}",
    "use_short": "at most {amps} A {air}",
    "use_short_motor": "at most {amps} A (a motor of {motor} W) {air}",
    "at_air": "at {air}",
    "from_air": "from {air}",
    "load_current_open": "{load}: the current it takes is open while the voltage is",
    "load_takes": "{load} takes {takes}: {verdict}",
    "load_within": "within what it can be trusted with",
    "load_too_much": "too much even at best",
    "load_open": "cannot tell yet whether it is too much",
    "load_waits": "not as it is",
    "load_without_reserve": "inside its limit of {limit}, but not with our reserve",
    "load_set": "yes, with the controller set to {advised} A",
    "load_set_motor": "yes, with the controller set to {advised} A ({motor} W when nearly empty)",
    "load_if_true": "fits if the {claimed} claimed is true",
    "load_if_true_no_reserve": "no reserve is left of the {claimed} claimed: that would need {needed} A or more",
    "load_above_claim": "when nearly empty it may take more than the {claimed} claimed",
    "load_above_use": "more than the {advised} A to use at most: only with the controller set to {advised} A",
    "load_may_exceed_use": "when nearly empty it may take more than the {advised} A to use at most: only with the "
    "controller set to {advised} A",
    "controller_above_use": "the controller draws {draws}, more than the {advised} A to use at most: set it to "
    "{advised} A",
    "load_worn_out": "not with these cells",
    "load_worn_unless": "not before that discharge shows that they hold enough",
    "controller_above_best": "the controller draws {draws}, more than the {advised} A to use even if all that is open "
    "turns out well: set it to less",
    "controller_open": "the controller draws {draws}: cannot tell yet whether the pack carries it",
    "load_above_best": "more than the {advised} A to use even if all that is open turns out well: only with the "
    "controller set to less",
    "load_may_exceed_best": "when nearly empty it may take more than the {advised} A to use even if all that is open "
    "turns out well",
    "may_settle": "{asked} (may settle {figures})",
    "with_others": "{asked} (helps with {figures})",
    "figures_and_more": "{figures} and {more} more",
    "cell_against": "{cell} is named, but something speaks against it: not used",
    "cell_named": "{cell}, named by {whom}; {evidence}",
    "by_wrapper": "the wrapper",
    "by_case": "the case",
    "by_seller": "the seller",
    "wrappers_scraped": "{cells}; their wrappers are blank or scraped",
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
    "air": "air of {air}. Of each limit {part} may be used; tables show all of it",
    "air_default": "air of {air} (our default; set yours with --temperature). Of each limit {part} may be used; tables "
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
        *_under("decision", _decision(report)),
        *_under("cannot be true", (partial(_excluded, each) for each in _untrue(report))),
        *_use(report),
        *_under("charge with", _charger(report)),
        *_under("your load", _intended(report)),
        *_under("beware", (partial(remark_text, each) for each in _beware(report))),
        *_under("ask first", (partial(_asked, each) for each in answer.ask_first)),
        ("cells", partial(_cells, report)),
        ("judged for", partial(_air, report)),
        *_under("own limits", _own_limits(report)),
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
        told(report.contradictions), report.registry.cells, used=answer.used,
        gave_far_less=answer.gave_far_less, unreadable=_unreadable(report), language=language,
    )  # fmt: skip


def _unreadable(report: Report) -> bool:
    """Whether the wrappers of its cells are blank or scraped."""
    return bool(report.case.observed.cell.marking_unreadable)


def said_by_alarms(report: Report) -> frozenset[str]:
    """Return the codes of the remarks that say what an alarm has said already."""
    return frozenset(code for each in report.alarms for code in SAID_BY.get(each.code, ()))


def dangers(report: Report) -> list[Remark]:
    """Return what is dangerous in the pack as it is built and to be used, whatever is claimed of it."""
    said = said_by_alarms(report)
    never = any(each.code in LEAVE_ALONE for each in report.alarms)
    worn = report.answer.worn_out is not None
    found = [
        each
        for finding in report.findings
        for each in finding.cautions
        # What an alarm has said is said; and what nobody can tell for want of facts is no danger yet.
        if each.code in DANGERS
        and each.code not in said
        # Nobody is told to mend or to use a pack that is to be left alone.
        and not (each.code in OF_USE and never)
        # "Not below 10 C" would allow it above.
        and not (each.code == "no_charging_below" and (never or worn or not in_use.charger_is_known(report)))
        and not (each.code in OF_WHAT_IS_SURE and each.numbers["sure_a"] <= 0)
    ]
    # Of a code that two facts give, the last: what was seen comes after what is claimed.
    last: dict[str, Remark] = {}
    for each in reversed(found):
        last.setdefault(each.code, each)
    return [*last.values()][::-1]


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
        scraped = condition == "new" and _unreadable(report)
        told_as = in_language(partial(_say, "new_but_scraped" if scraped else condition), language)
    elif report.stage == "listed" and not report.answer.alarms and not report.answer.used:
        told_as = in_language(partial(_say, "condition_not_stated"), language)
    else:
        told_as = None
    named = (
        ("job", case.job), ("customer", case.customer), ("date", case.date), ("by", case.by),
        ("condition", told_as), ("notes", case.notes),
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
        alone = to_be_left_alone(report)
        then = (partial(_once_charged_so, each) for each in answer.once_charged_so)
        first = partial(_say, "leave_alone" if alone else "until_alarm")
        return _under(label, (first, *_for_a_repairer(report), *then))
    if answer.worn_out is not None:
        return [(label, partial(_worn_out, answer.worn_out))]
    if any(excludes_itself(each) for each in report.contradictions):
        return [(label, partial(_say, "not_true"))]
    if answer.use_at_most:
        use = (partial(use_text, each) for each in answer.use_at_most)
        return _under(
            "use at most", (*use, *_which_decides(report), *_why_less(report), *_of_battery(report))
        )
    if answer.at_best is None:
        weak = next((each for each in dangers(report) if each.code in _TOO_WEAK), None)
        return [(label, partial(_say, "too_little") if weak is None else partial(_too_weak, weak))]
    if answer.at_best.continuous_a <= 0:
        return [(label, partial(_say, "no_limit_stated"))]
    return [(label, partial(_at_best, report))]


def to_be_left_alone(report: Report) -> bool:
    """Whether an alarm is of the cells themselves: such a pack is neither charged nor used, nor anything mended."""
    return any(each.code in LEAVE_ALONE for each in report.answer.alarms)


def _for_a_repairer(report: Report) -> Iterator[Maker]:
    """Yield what to look at first in a pack that is open already, where one group alone is empty."""
    if report.stage in ("opened", "tested"):
        for alarm in report.answer.alarms:
            if alarm.code == "group_deeply_discharged" and groups_beyond(alarm.numbers):
                yield partial(_repair_group, alarm)


def _repair_group(alarm: Warned, language: Language) -> str:
    return _say("repair_group", language, groups=groups_beyond(alarm.numbers, language))


def _once_charged_so(use: UseAtMost, language: Language) -> str:
    return _say("once_charged_so", language, use=use_text(use, language))


def _too_weak(weak: Remark, language: Language) -> str:
    return _say("too_weak", language, part=element_name(_TOO_WEAK[weak.code], language))


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
        yield partial(_say, decided)


def _doubt_of_the_charger(report: Report) -> Remark | None:
    """Return why the charge voltage may be wrong: nothing is said to be right beside it."""
    cautions = report.finding("charge_voltage").cautions
    return next((each for each in cautions if each.code in DOUBTS_OF_A_CHARGER), None)


def _of_the_charger(doubt: Remark, language: Language) -> str:
    return _say(_FOR_THE_CHARGER, language, why=remark_text(doubt, language))


def _beside_what_excludes_itself(report: Report) -> list[Finding]:
    """Return the findings without counts that exclude each other, which are told as such."""
    clash = any(excludes_itself(each) for each in report.contradictions)
    return [each for each in report.findings if not (clash and each.figure == "configuration")]


def _refused(report: Report, code: str, language: Language) -> str:
    found = _beside_what_excludes_itself(report)
    return _say(code, language, refuted=refuted_text(found, told(report.contradictions), language))


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
        return _say("worn_out", language, **slots)
    return _say(
        "worn_out_unless", language, **slots, empty=digits(worn.empty_v, language=language),
        needed=digits(up(worn.needed_ah, 3), language=language),
    )  # fmt: skip


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
    slots = {"claims": joined(claims, language)}
    if code == "less_current":
        slots["limit"] = amount(tight[0].supported.low, "A", language)
    return _say(code, language, **slots)


def _charger(report: Report) -> Iterator[Maker]:
    seen, worn = in_use.charger_seen(report), report.answer.worn_out
    if _unread_charger(report):
        yield partial(_say, "plug_none_in" if to_be_left_alone(report) else "volts_open_at_hand")
    elif worn is not None:
        yield from _of_worn_out(report, worn, seen)
    elif to_be_left_alone(report):
        # Of a wrong one its own alarm says so.
        if seen is not None and not CHARGER_ALARMS.intersection(each.code for each in report.alarms):
            yield partial(_of_charger_seen, "plug_nothing_in", seen)
    elif in_use.charger_is_known(report):
        yield partial(in_use.charging, report, short=False)
    elif seen is not None:
        yield from _of_one_at_hand(report, seen)
    elif report.stage != "listed" and not report.answer.alarms and not report.contradictions:
        yield from _of_none_at_hand(report)


def _under_an_alarm(report: Report) -> str:
    """Return what is said of a charger of the right voltage beside an alarm, as a code: the alarm may be of it."""
    strong = [each for each in report.answer.alarms if each.code == "charger_above_cells"]
    if not strong:
        return "alarm_first_at_hand"
    if not strong[0].numbers.get("elsewhere"):
        return "too_strong_at_hand"
    return "in_air_at_hand" if len(report.answer.alarms) == 1 else "alarm_first_at_hand"


def _unread_charger(report: Report) -> bool:
    """Whether a charger was seen of which nobody has read the voltage, of a pack that nobody may charge as it is."""
    answer, charger = report.answer, report.case.observed.charger
    allowed = in_use.charger_is_known(report) and not answer.alarms and answer.worn_out is None
    return in_use.charger_seen(report) is None and charger.current_a is not None and not allowed


def _of_none_at_hand(report: Report) -> Iterator[Maker]:
    """Yield why a pack in hand is not charged yet: whoever has it does so, unless told not to.

    A closed one is charged by the charger that came with it, of which remarks say what it is right for.
    """
    if report.stage == "arrived" and _charger_stated(report):
        return
    volts, counted = report.finding("charge_voltage"), report.case.observed.series
    if counted is None or not counted.exact:
        yield partial(_say, "count_open")
    elif volts.sellers_word or not volts.supported.exact:
        yield partial(_say, "chemistry_open")


def _of_worn_out(report: Report, worn: WornOut, seen: Bounds | None) -> Iterator[Maker]:
    """Yield that a pack to be recycled is charged no more, but once for the test that could clear it."""
    if not worn.surely and in_use.charger_is_known(report):
        yield partial(_for_test, report)
    elif seen is not None:
        yield partial(_of_charger_seen, "worn_at_hand", seen)


def _for_test(report: Report, language: Language) -> str:
    volts = span(report.finding("charge_voltage").supported, "V", language)
    return _say("charge_for_test", language, volts=volts) + in_use.of_charger_at_hand(report, language)


def _of_one_at_hand(report: Report, volts: Bounds) -> Iterator[Maker]:
    """Yield what to do with a charger that was seen, where nothing says which is right: it is about to be plugged in.

    At every stage, for whoever holds it in the hand reads no table first.
    """
    if CHARGER_ALARMS.intersection(each.code for each in report.alarms):
        # A wrong one is the alarm.
        return
    finding, counted = report.finding("charge_voltage"), report.case.observed.series
    about = [
        each for each in finding.cautions if str(each.numbers.get("volts_of", "")).startswith("observed.")
    ]
    if (
        report.answer.alarms
        and in_use.of_one_kind(finding.supported)
        and not in_use.gives_right_voltage(report)
    ):
        code = "unlike_word_at_hand" if finding.said_by_seller else "unlike_at_hand"
        yield partial(_unlike, code, volts, finding.supported)
    elif report.answer.alarms:
        yield partial(_of_charger_seen, _under_an_alarm(report), volts)
    elif any(excludes_itself(each) for each in report.contradictions):
        yield partial(_of_charger_seen, "untrue_at_hand", volts)
    elif (counted is None and report.stage in ("opened", "tested")) or (
        counted is not None and not counted.exact
    ):
        yield partial(_of_charger_seen, "count_open_at_hand", volts)
    elif (
        # A closed pack with its own charger is told what that is right for; one opened, or without a wrapper, is not
        # charged before its cells are known.
        report.stage in ("listed", "arrived")
        and not _unreadable(report)
        and (right_for := next((each for each in about if each.code in _RIGHT_FOR), None)) is not None
    ):
        yield partial(remark_text, right_for)
    elif (
        not in_use.of_one_kind(finding.supported)
        or _unreadable(report)
        or any(each.code in DOUBTS_OF_A_CHARGER for each in about)
    ):
        yield partial(_of_charger_seen, "chemistry_open_at_hand", volts)
    elif in_use.gives_right_voltage(report):
        yield partial(_of_charger_seen, "word_at_hand", volts)
    else:
        yield partial(_unlike, "unlike_word_at_hand", volts, finding.supported)


def _unlike(code: str, volts: Bounds, right: Bounds, language: Language) -> str:
    """Return that a charger is of another pack, and what this one takes."""
    return _say(code, language, volts=span(volts, "V", language), right=span(right, "V", language))


def _of_charger_seen(code: str, volts: Bounds, language: Language) -> str:
    return _say(code, language, volts=span(volts, "V", language))


def _charger_stated(report: Report) -> bool:
    """Whether a charger's voltage is known, seen or said."""
    charger = report.case.observed.charger
    return any(
        each is not None
        for each in (charger.voltage_v, charger.no_load_v, report.case.claim.charge_voltage_v)
    )


def _at_best(report: Report, language: Language) -> str:
    best, claimed = report.answer.at_best, report.finding("continuous_current").claimed
    if best is None:
        return _say("too_little", language)
    if claimed is not None and best.continuous_a >= claimed.high:
        code = "claim_not_sure" if report.case.is_seen else "nothing_seen"
        return _say(code, language, claimed=digits(claimed.high, language=language))
    air = _say("from_air", language, air=temperatures(*report.temperature_c, language))
    limit = element_name(best.limited_by, language)
    return _say_motor("at_best", best.motor_w, best.continuous_a, language, limit=limit, air=air)


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
    return _say(
        code,
        language,
        draws=span(draws, "A", language),
        advised=digits(most_a, language=language),
    )


def _load(report: Report, language: Language) -> str:
    rely = report.rely_on
    load = "" if rely.intended_load_w is None else span(rely.intended_load_w, "W", language)
    if rely.intended_current_a is None:
        return _say("load_current_open", language, load=load)
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
    return _say("load_takes", language, load=load, takes=takes, verdict=_say(code, language, **slots))


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


def _cells(report: Report, language: Language) -> str:
    cells = _cell(report, language)
    return _say("wrappers_scraped", language, cells=cells) if _unreadable(report) else cells


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
    # Of a pack that is to be left alone it is nothing to anybody what other cells could do.
    able = None if to_be_left_alone(report) else could_do(report)
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
