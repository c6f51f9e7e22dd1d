"""The answer of a report: one object, one rule, worked out once; every format opens with it.

In this order: alarms, the conclusion, what cannot be true together, what to use the pack for at most, what to find
out. Numbers are rounded to the safe side, two figures.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from enum import StrEnum
from math import floor, inf
from types import MappingProxyType
from typing import Any, NamedTuple

from registry.cell_names import normalise
from registry.chemistry import VOLTAGES
from verifier.alarms import CHARGED_SO, LEAVE_ALONE, Alarm
from verifier.bounds import down
from verifier.case.fields import case_fields
from verifier.case_facts import CaseFacts
from verifier.cell_figures import chemistries_in
from verifier.contradictions import Contradiction, excludes_itself, in_doubt, unlike_claimed, withdrawn
from verifier.fact_names import MISSING
from verifier.facts import rests_on
from verifier.finding import ELEMENTS, Finding
from verifier.next_step import NextStep
from verifier.observations import ASK_THE_SELLER, OBSERVATIONS, subject
from verifier.pack.capacity import is_used
from verifier.pack.current import pack_current
from verifier.pack.power import load_power
from verifier.pack.use import drive_efficiency
from verifier.pack.use_at_most import UseAtMost, use_at_most
from verifier.pack.voltage import pack_empty_voltage, pack_full_voltage
from verifier.pack.wear import WornOut, gave_far_less, worn_out
from verifier.questions import Statement, statements, which_is_right
from verifier.verdict import ON_SELLERS_WORD, REFUTED, Verdict
from verifier.words import (
    ENGLISH,
    Language,
    alarm_text,
    asked_directly,
    asked_of_the_seller,
    contradiction_text,
    datasheet_in_place,
    datasheet_wanted,
    digits,
    joined,
    makers_sheet,
    observation_text,
    once_more,
    rest_of_the_test,
    sentence,
    voltage_when_full,
    which_letters,
    which_of_one_name,
)
from verifier.words.filling import unseen_part

MOST_ASKED = 3
# Of what a current waits for, the BMS limits most often; common practice, no source.
_MOST_TELLING = "observed.bms.continuous_a"
# Of strip through which BMS and fuse let more than it carries.
_THROUGH_STRIP = frozenset({"bms_above_links", "bms_above_strip"})
_ROOM_C = 20.0
_ABOVE_FULL = "observed.charged_above_full"
_AGE, _REST = "observed.age_years", "observed.resting_voltage_v"
_BMS_RATINGS = ("observed.bms.continuous_a", "observed.bms.peak_a")
_COUNT_OF_BMS = "observed.bms.series"
_COUNTS = frozenset({"observed.series", "observed.parallel"})
_OF_CURRENT = frozenset({"continuous_current", "peak_current", "power", "load_power"})
# What a sound pack has left of its full voltage some hours after the charger has ended; common practice, no source.
_FULL_AT_REST = 0.97
# Of kinds of cells that are full at so much and keep nearly all of it at rest; from memory.
_STEADY_V = 4.0
# No kind of cell that is full above it is harmed by a discharge so far down; from memory.
_SAFELY_DOWN_TO_V = 3.0


class Conclusion(StrEnum):
    """What a report comes to, worst first."""

    DO_NOT_USE = "do not use"
    CONTRADICTS_ITSELF = "contradicts itself"
    NOT_AS_ADVERTISED = "not as advertised"
    NOT_SETTLED = "not settled"
    IF_SELLERS_WORD_HOLDS = "as advertised if the seller's word holds"
    WITHOUT_RESERVE = "as advertised without reserve"
    AS_ADVERTISED = "as advertised"
    NOTHING_CLAIMED = "nothing claimed"


class Warned(NamedTuple):
    """One alarm as the answer gives it: in English, and as its code with the numbers of its sentence."""

    code: str
    text: str
    fields: tuple[str, ...]
    numbers: Mapping[str, Any] = MappingProxyType({})


class CannotBeTrue(NamedTuple):
    """Statements that exclude each other, as an alarm is told, and the fields they stand in."""

    code: str
    text: str
    fields: tuple[str, ...]
    numbers: Mapping[str, Any] = MappingProxyType({})


class AtBest(NamedTuple):
    """What could be drawn with reserve if everything open turned out well."""

    continuous_a: float
    motor_w: float | None
    limited_by: str


class AskFirst(NamedTuple):
    """One thing to find out: the field, the figures that it could settle and those that wait for it.

    ``marking`` was read and names no registered cell, or several, of which it is ``one_of``, or is a part of their
    ``near`` names; ``withdrawn`` is the registered cell named, whose datasheet is; ``quoted`` the one of which only
    somebody's figures are known; what is found out ``again`` is in
    doubt; ``said`` are a listing's statements of which one is wrong; what is wanted ``of_the_seller`` nobody else can
    look at yet; ``full_v`` is what the
    pack should have when full; ``rest`` is whether a test that ended early goes on. [V]
    """

    observe: str
    settles: tuple[str, ...]
    waiting: tuple[str, ...] = ()
    marking: str | None = None
    again: bool = False
    said: tuple[Statement, ...] = ()
    withdrawn: str | None = None
    of_the_seller: bool = False
    one_of: tuple[str, ...] = ()
    near: bool = False
    full_v: float | None = None
    rest: bool = False
    quoted: str | None = None

    @property
    def text(self) -> str:
        """What to find out, in English words."""
        return asked_text(self)


def asked_text(asked: AskFirst, language: Language = ENGLISH) -> str:
    """Return what to find out, in words."""
    if asked.said:
        return which_is_right(asked.said, language)
    if asked.rest:
        return rest_of_the_test(language)
    if asked.marking is not None and asked.near:
        return which_letters(asked.marking, joined(asked.one_of, language), language)
    if asked.marking is not None and asked.one_of:
        return which_of_one_name(asked.marking, joined(asked.one_of, language), language)
    if asked.marking is not None:
        # It has been read; what is missing is a sheet that goes by this name.
        return datasheet_wanted(asked.marking, language)
    if asked.withdrawn is not None:
        return datasheet_in_place(asked.withdrawn, language)
    if asked.quoted is not None:
        return makers_sheet(asked.quoted, language)
    if asked.of_the_seller:
        text = asked_of_the_seller(asked.observe, language)
        if asked.full_v is None:
            return text
        least, full = floor(asked.full_v * _FULL_AT_REST), digits(asked.full_v, language=language)
        return voltage_when_full(text, digits(least, language=language), full, language)
    text = asked_directly(asked.observe, language) or observation_text(asked.observe, language)
    return once_more(text, language) if asked.again else text


@dataclass(frozen=True, slots=True)
class Answer:
    """What every format opens with."""

    conclusion: Conclusion
    sentence: str
    alarms: tuple[Warned, ...]
    cannot_be_true: tuple[CannotBeTrue, ...]
    use_at_most: tuple[UseAtMost, ...]
    at_best: AtBest | None
    ask_first: tuple[AskFirst, ...]
    # Of a used pack the sentence says nothing of new cells.
    used: bool
    worn_out: WornOut | None = None
    # Whether a test gave far less than is claimed, or than new cells make.
    gave_far_less: bool = False
    # What to draw at most where the only alarm is of how it is charged, once it is charged as that says.
    once_charged_so: tuple[UseAtMost, ...] = ()


def conclude(
    verdicts: Sequence[Verdict], *, alarmed: bool, contradicted: bool, unlike_claimed: bool, quoted: bool
) -> Conclusion:
    """Return what verdicts, alarms and contradictions come to: the one rule, for a check and for a table.

    A pass that needs what somebody quotes, ``quoted``, settles nothing: whoever filters on the conclusion would take
    hearsay for a datasheet.
    """
    made = [each for each in verdicts if each is not Verdict.NOT_CLAIMED]
    if alarmed:
        return Conclusion.DO_NOT_USE
    if contradicted:
        return Conclusion.CONTRADICTS_ITSELF
    if unlike_claimed or any(each in REFUTED for each in made):
        return Conclusion.NOT_AS_ADVERTISED
    if quoted or any(each in (Verdict.NOT_SETTLED, Verdict.CHECK_FAILED) for each in made):
        return Conclusion.NOT_SETTLED
    if any(each in ON_SELLERS_WORD for each in made):
        return Conclusion.IF_SELLERS_WORD_HOLDS
    if Verdict.HOLDS_WITHOUT_RESERVE in made:
        return Conclusion.WITHOUT_RESERVE
    return Conclusion.AS_ADVERTISED if made else Conclusion.NOTHING_CLAIMED


def told(against: Sequence[Contradiction]) -> list[Contradiction]:
    """Return what the sentence tells: contradictions in the listing itself, else what was seen against it.

    Where there is neither, a datasheet that was withdrawn.
    """
    for kind in (excludes_itself, unlike_claimed, withdrawn):
        found = [each for each in against if kind(each)]
        if found:
            return found
    return []


def answer(
    facts: CaseFacts,
    findings: Sequence[Finding],
    against: Sequence[Contradiction],
    warned: Sequence[Alarm],
    steps: Sequence[NextStep],
    registered: int,
) -> Answer:
    """Return the answer of one pack."""
    conclusion = conclude(
        [each.verdict for each in findings],
        alarmed=bool(warned),
        contradicted=any(excludes_itself(each) for each in against),
        unlike_claimed=any(unlike_claimed(each) for each in against),
        quoted=any(each.by_hearsay for each in findings),
    )
    # What a failed check shares with the others may be what failed: then nothing is granted.
    failed = any(each.verdict is Verdict.CHECK_FAILED for each in findings)
    granted = () if warned or failed or in_doubt(against) else use_at_most(facts)
    worn = worn_out(facts)
    listed = facts.case.stage == "listed"
    false = any(not withdrawn(each) for each in against)
    found = [
        _asked(facts, step.observe, step.settles, step.waiting)
        for step in _first(
            [each for each in steps if _worth_asking(facts, each, worn)],
            {each.figure for each in findings if each.verdict is Verdict.NOT_SETTLED},
            listed=listed,
        )
    ]
    # A datasheet that was withdrawn comes first: nothing that rests on it can be settled otherwise.
    found.sort(key=lambda each: each.withdrawn is None)
    ask = [*_which_is_right(facts, against), *found]
    codes = [each.code for each in warned]
    if not LEAVE_ALONE.isdisjoint(codes):
        # Such a pack goes out of the house; nobody looks closer at it for a figure.
        open_ = "may_be_overcharged" in codes and facts.case.observed.charged_above_full is None
        ask = [AskFirst(_ABOVE_FULL, ())] if open_ else []
    elif not (granted or failed or warned or worn):
        ask += _for_any_use(facts, [each.observe for each in ask])
    if listed and not warned:
        ask = _of_a_listing(facts, findings, ask, false=false)
    elif not (warned or worn):
        if not listed:
            ask = [*_unseen_of_a_strip(facts, findings), *ask]
        if facts.case.observed.cell.marking_unreadable:
            ask = [*_chemistry_first(facts), *_of_three_cells(facts), *ask]
    if not (warned or failed or false):
        ask = [*_rest_of_a_test(findings), *_makers_sheet(facts, findings), *ask]
    little = bool(gave_far_less(facts))
    if _may_have_overcharged(facts, findings, codes):
        ask = [AskFirst(_ABOVE_FULL, ()), *ask]
    return Answer(
        conclusion=conclusion,
        sentence=sentence(
            conclusion.value,
            findings,
            [each.remark for each in warned],
            told(against),
            registered,
            used=is_used(facts),
            gave_far_less=little,
            unreadable=bool(facts.case.observed.cell.marking_unreadable),
        ),
        alarms=tuple(
            Warned(each.code, alarm_text(each.remark), each.fields, each.numbers) for each in warned
        ),
        cannot_be_true=_told_once(against),
        use_at_most=granted,
        at_best=None if failed or warned or worn or false else _at_best(facts),
        ask_first=_each_once(ask)[:MOST_ASKED],
        used=is_used(facts),
        worn_out=None if warned else worn,
        gave_far_less=little,
        once_charged_so=() if failed or in_doubt(against) else _once_charged_so(facts, codes, worn),
    )


def _makers_sheet(facts: CaseFacts, findings: Sequence[Finding]) -> list[AskFirst]:
    """Return what settles a claim that fits only what somebody quotes of the cell: its maker's own datasheet."""
    cell = facts.inside.cell
    quoted = tuple(each.figure for each in findings if each.by_hearsay)
    if cell is None or not quoted:
        return []
    return [AskFirst("observed.cell.marking", quoted, quoted=f"{cell.maker} {cell.model}")]


def _may_have_overcharged(facts: CaseFacts, findings: Sequence[Finding], codes: Sequence[str]) -> bool:
    """Return whether a charger that was seen overcharges all usual cells: whoever has it knows if it was used."""
    if facts.case.observed.charged_above_full is not None or codes:
        return False
    cautions = next(each.cautions for each in findings if each.figure == "charge_voltage")
    return any(
        each.code == "overcharges_most" and str(each.numbers["volts_of"]).startswith("observed.charger.")
        for each in cautions
    )


def _once_charged_so(facts: CaseFacts, codes: Sequence[str], worn: WornOut | None) -> tuple[UseAtMost, ...]:
    """Return what to draw at most from a pack of which the alarms say no more than how not to charge it."""
    if not codes or worn is not None or not CHARGED_SO.issuperset(codes):
        return ()
    return use_at_most(facts)


def _each_once(asked: Sequence[AskFirst]) -> tuple[AskFirst, ...]:
    """Return what to ask, the same question once."""
    found: dict[str, AskFirst] = {}
    for each in asked:
        found.setdefault(each.text, each)
    return tuple(found.values())


def _told_once(against: Sequence[Contradiction]) -> tuple[CannotBeTrue, ...]:
    """Return what excludes each other, each sentence once: 10S5P is a count in parallel written in two ways."""
    found: dict[str, CannotBeTrue] = {}
    for each in against:
        text = contradiction_text(each.code, each.numbers)
        before = found.get(text)
        fields = each.fields if before is None else tuple(dict.fromkeys((*before.fields, *each.fields)))
        found[text] = CannotBeTrue(each.code, text, fields, each.numbers)
    return tuple(found.values())


def _safe_to_ask(facts: CaseFacts, field: str) -> bool:
    """Return whether it is no discharge, or one of cells of which it is known how far down they may go."""
    known = facts.cell.known or len(chemistries_in(int(facts.cell.chemistries))) == 1
    if facts.case.observed.cell.marking_unreadable and facts.case.observed.cell.chemistry is None:
        # Of cells without a wrapper the seller's word is no reason to charge the whole pack and empty it.
        known = False
    return bool(known) or not case_fields()[field].under_load


def _worth_asking(facts: CaseFacts, step: NextStep, worn: WornOut | None) -> bool:
    """Return whether a step is safe, and could change anything: of a pack that is worn out no current is granted."""
    helps = worn is None or not _OF_CURRENT.issuperset(step.settles or step.waiting)
    return helps and _safe_to_ask(facts, step.observe)


def _of_a_listing(
    facts: CaseFacts, findings: Sequence[Finding], ask: Sequence[AskFirst], *, false: bool
) -> list[AskFirst]:
    """Return what to ask before buying: what a seller can show of a closed pack, its age and voltage before all.

    Of a listing that cannot be true only what is wrong in it is asked, and of one whose claims are refuted nothing: no
    answer makes them true.
    """
    if any(each.verdict in REFUTED and not (false and each.figure == "configuration") for each in findings):
        return []
    if false:
        return [each for each in ask if each.said]
    # What he can safely tell and show comes before any part of the pack.
    full = facts.find(pack_full_voltage)
    # Iron phosphate and titanate fall much farther by themselves.
    kinds = chemistries_in(int(facts.cell.chemistries))
    steady = min(VOLTAGES[name].full_v[0] for name in kinds) >= _STEADY_V  # type: ignore[index]
    full_v = full.high if steady and full.low == full.high < inf else None
    return [AskFirst(_AGE, (), of_the_seller=True, full_v=full_v), *ask]


def _unseen_of_a_strip(facts: CaseFacts, findings: Sequence[Finding]) -> Iterator[AskFirst]:
    """Yield what was not seen of a strip through which more may flow than it surely carries: it is not called weak."""
    for each in findings:
        for caution in each.cautions:
            field = unseen_part(int(caution.numbers["lacking"])) if caution.code in _THROUGH_STRIP else None
            if field is not None:
                yield _asked(facts, field, (), ("continuous_current",))


def _chemistry_first(facts: CaseFacts) -> list[AskFirst]:
    """Return the chemistry where several are possible: no cell is charged for a test before it is known."""
    # No wrapper says it; whoever built or sold the pack may know.
    if facts.cell.known or facts.case.claim.chemistry or facts.case.observed.cell.chemistry:
        return []
    return [AskFirst("claim.chemistry", (), ("capacity", "continuous_current"))]


def _of_three_cells(facts: CaseFacts) -> list[AskFirst]:
    """Return the test that tells most of cells whose wrappers tell nothing, where it is safe to discharge them."""
    full = [VOLTAGES[name].full_v[1] for name in chemistries_in(int(facts.cell.chemistries))]  # type: ignore[index]
    if min(full) <= _SAFELY_DOWN_TO_V:
        # Which kinds they may be, the voltage at rest tells first.
        return [] if facts.case.observed.resting_voltage_v is not None else [AskFirst(_REST, ())]
    if facts.case.observed.cell.capacity_ah is not None:
        return []
    return [AskFirst("observed.cell.capacity_ah", (), ("capacity", "continuous_current"))]


def _rest_of_a_test(findings: Sequence[Finding]) -> Iterator[AskFirst]:
    """Yield the rest of a capacity test that ended early and left the capacity open: most of it is done."""
    for each in findings:
        early = any(caution.code == "test_ended_early" for caution in each.cautions)
        if each.figure == "capacity" and early and each.verdict is Verdict.NOT_SETTLED:
            yield AskFirst("observed.capacity_ah", ("capacity",), rest=True)


def _first(steps: Sequence[NextStep], open_: Set[str], *, listed: bool) -> list[NextStep]:
    """Return the few steps that are worth most, the easiest of equals first.

    Of a pack that is only listed the seller alone is asked, as nobody has it in hand yet; where asking him settles
    nothing more, what to look at. The same count asked of the seller and looked for in the pack is one question.
    """
    asked = [step for step in steps if step.effort == ASK_THE_SELLER] if listed else []
    asked = asked or [*steps]
    if listed:
        # Nobody sees the charge leads of a closed pack, and what it is charged with they rarely limit.
        asked = [step for step in asked if not step.observe.startswith("observed.charge_leads")]
    known: dict[str, NextStep] = {}
    for step in asked:
        # One photo tells both counts.
        about = "counts" if listed and step.observe in _COUNTS else subject(step.observe)
        if about in known and about == "counts":
            before = known[about]
            known[about] = before._replace(
                settles=tuple(dict.fromkeys((*before.settles, *step.settles))),
                waiting=tuple(dict.fromkeys((*before.waiting, *step.waiting))),
                worth=max(before.worth, step.worth),
            )
        known.setdefault(about, step)
    most = MOST_ASKED - 1 if listed else MOST_ASKED
    found = sorted(known.values(), key=lambda step: -step.worth)[:most]
    if open_ and all(open_.isdisjoint(step.settles or step.waiting) for step in found):
        # What is said to be open would be named by none of them.
        waiting = [step for step in known.values() if not open_.isdisjoint(step.settles or step.waiting)]
        found[most - 1 :] = sorted(waiting, key=lambda step: step.observe != _MOST_TELLING)[:1]
    return found


def _which_is_right(facts: CaseFacts, against: Sequence[Contradiction]) -> list[AskFirst]:
    """Return which of a listing's own statements are right, asked before all else: every one that cannot be true."""
    found: dict[str, AskFirst] = {}
    for each in against:
        said = statements(each, facts.case) if excludes_itself(each) else ()
        if said and all(one.side == "claim" for one in said):
            asked = AskFirst(each.fields[0], (), said=said)
            found.setdefault(asked_text(asked), asked)
    return [*found.values()]


def _asked(facts: CaseFacts, field: str, settles: tuple[str, ...], waiting: tuple[str, ...]) -> AskFirst:
    marking = facts.case.observed.cell.marking
    if subject(field) == "observed.cell.marking" and marking is not None and facts.inside.cell is None:
        same = [each.id for each in facts.inside.match.same_name if each.retired is None]
        several = tuple(same) if len(same) > 1 else ()
        if not several and (names := _half_read(marking, facts)):
            return AskFirst(field, settles, waiting, marking=marking, one_of=names, near=True)
        return AskFirst(field, settles, waiting, marking=marking, one_of=several)
    said = facts.case.claim.cell_marking
    if field == "claim.cell_marking" and said is not None and (names := _half_read(said, facts)):
        return AskFirst(field, settles, waiting, marking=said, one_of=names, near=True)
    cell = facts.inside.cell
    if subject(field) == "observed.cell.marking" and cell is not None and cell.retired is not None:
        return AskFirst(field, settles, waiting, withdrawn=cell.id)
    if facts.case.case.stage == "listed" and field.startswith("observed."):
        return AskFirst(field, settles, waiting, of_the_seller=True)
    again = facts.stated(field) is not None and bool(facts.disputed & rests_on(field))
    if again and field in _BMS_RATINGS and facts.disputed & rests_on(_COUNT_OF_BMS):
        # Its ratings are in doubt for its count alone.
        field = _COUNT_OF_BMS
    # Not how often it was read is in doubt, but what it can be set to.
    again = again and field != _COUNT_OF_BMS
    return AskFirst(field, settles, waiting, again=again)


def _half_read(marking: str, facts: CaseFacts) -> tuple[str, ...]:
    """Return the near names of which a marking is a part: those of twins, which one letter tells apart."""
    part = normalise(marking)
    near = [each.name for each in facts.inside.match.suggestions if part and part in normalise(each.name)]
    return tuple(dict.fromkeys(near))


def _for_any_use(facts: CaseFacts, asked: Sequence[str]) -> list[AskFirst]:
    """Return what is missing before anything may be drawn, though every claim may be settled: least effort first."""
    lacking = MISSING.in_words(facts.find(pack_current)[0].missing)
    known = {subject(each) for each in asked}
    listed = facts.case.case.stage == "listed"
    wanted = [
        each
        for each in OBSERVATIONS
        if each.field in lacking
        and _safe_to_ask(facts, each.field)
        and each.possible(facts.case)
        and subject(each.field) not in known
        and (each.effort == ASK_THE_SELLER or not listed)
    ]
    return [_asked(facts, each.field, (), ("continuous_current",)) for each in wanted]


def _at_best(facts: CaseFacts) -> AtBest | None:
    if not facts.cell.known:
        # The best cell ever made tells nobody what this pack may do, nor does a part around cells that nobody knows.
        return None
    # A default span of the air bounds as one that is stated: what holds at its worst is what may be said of it.
    facts = facts.in_air(facts.air.low_c, facts.air.high_c)
    reserve = facts.limits.number("reserve")
    current, limiting = facts.find(pack_current)
    if current.high == inf:
        return None
    amps = down(reserve * current.high)
    # What drives a motor until the pack is nearly empty, as where it is granted: a full pack gives more, for minutes.
    empty_v, efficiency = facts.find(pack_empty_voltage).low, facts.find(drive_efficiency).low
    motor = min(reserve * facts.find(load_power).high, amps * empty_v * efficiency)
    return AtBest(amps, down(motor) or None, ELEMENTS[limiting])
