"""What a pack is to be charged with, and what becomes of a charger at hand, in words."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from verifier.bounds import Bounds
from verifier.case_report import Report
from verifier.contradictions import excludes_itself
from verifier.pack.wear import WornOut
from verifier.possible_chemistries import of_one_kind
from verifier.report import in_use
from verifier.report.cell_line import unreadable
from verifier.report.dangers import CHARGER_ALARMS, DOUBTS_OF_A_CHARGER, to_be_left_alone
from verifier.report.opening_texts import Maker, say
from verifier.words import (
    Language,
    remark_text,
    span,
)

# What a charge voltage is right for, and wrong.
_RIGHT_FOR = frozenset({"right_for_lithium_ion", "right_for_iron_phosphate", "right_for_titanate"})


def charger_lines(report: Report) -> Iterator[Maker]:
    """Yield what a pack is to be charged with, and what to do with a charger at hand."""
    seen, worn = in_use.charger_seen(report), report.answer.worn_out
    if _unread_charger(report):
        yield partial(say, "plug_none_in" if to_be_left_alone(report) else "volts_open_at_hand")
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
        yield partial(say, "count_open")
    elif volts.sellers_word or not volts.supported.exact:
        yield partial(say, "chemistry_open")


def _of_worn_out(report: Report, worn: WornOut, seen: Bounds | None) -> Iterator[Maker]:
    """Yield that a pack to be recycled is charged no more, but once for the test that could clear it."""
    if not worn.surely and in_use.charger_is_known(report):
        yield partial(_for_test, report)
    elif seen is not None:
        yield partial(_of_charger_seen, "worn_at_hand", seen)


def _for_test(report: Report, language: Language) -> str:
    volts = span(report.finding("charge_voltage").supported, "V", language)
    return say("charge_for_test", language, volts=volts) + in_use.of_charger_at_hand(report, language)


def _of_one_at_hand(report: Report, volts: Bounds) -> Iterator[Maker]:
    """Yield what to do with a charger that was seen, where nothing says which is right: it is about to be plugged in.

    At every stage, for whoever holds it in the hand reads no table first.
    """
    if CHARGER_ALARMS.intersection(each.code for each in report.alarms):
        # A wrong one is the alarm.
        return
    finding, counted = report.finding("charge_voltage"), report.case.observed.series
    one_kind = of_one_kind(finding.supported.low, finding.supported.high)
    about = [
        each for each in finding.cautions if str(each.numbers.get("volts_of", "")).startswith("observed.")
    ]
    if report.answer.alarms and one_kind and not in_use.gives_right_voltage(report):
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
        and not unreadable(report)
        and (right_for := next((each for each in about if each.code in _RIGHT_FOR), None)) is not None
    ):
        yield partial(remark_text, right_for)
    elif not one_kind or unreadable(report) or any(each.code in DOUBTS_OF_A_CHARGER for each in about):
        yield partial(_of_charger_seen, "chemistry_open_at_hand", volts)
    elif in_use.gives_right_voltage(report):
        below = volts.high < finding.supported.low * (1 - report.limits.number("charger_tolerance"))
        if below:
            yield partial(_unlike, "gentle_word_at_hand", volts, finding.supported)
        else:
            yield partial(_of_charger_seen, "word_at_hand", volts)
    else:
        yield partial(_unlike, "unlike_word_at_hand", volts, finding.supported)


def _unlike(code: str, volts: Bounds, right: Bounds, language: Language) -> str:
    """Return that a charger is of another pack, and what this one takes."""
    return say(code, language, volts=span(volts, "V", language), right=span(right, "V", language))


def _of_charger_seen(code: str, volts: Bounds, language: Language) -> str:
    return say(code, language, volts=span(volts, "V", language))


def _charger_stated(report: Report) -> bool:
    """Whether a charger's voltage is known, seen or said."""
    charger = report.case.observed.charger
    return any(
        each is not None
        for each in (charger.voltage_v, charger.no_load_v, report.case.claim.charge_voltage_v)
    )
