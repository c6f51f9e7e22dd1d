"""The one sentence with which every format opens."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf
from typing import NamedTuple

from verifier.contradictions import Contradiction, withdrawn
from verifier.finding import OF_DATASHEETS, Finding, Remark
from verifier.verdict import ON_SELLERS_WORD, REFUTED, Verdict
from verifier.words.alarms import alarm_name
from verifier.words.contradictions import contradiction_text, contradiction_topic
from verifier.words.language import ENGLISH, Language
from verifier.words.lists import listed
from verifier.words.names import COUNTED, element_name, figure_name, not_seen, registered_cells
from verifier.words.numbers import amount, span, temperatures

SENTENCES = {
    "do_not_use": "Do not use it as it is: {alarms}.",
    "contradicts": "Do not rely on it: it contradicts itself about {topics}.",
    "contradicts_and_refuted": "Do not rely on it: what it claims cannot be met ({figures}), and it contradicts itself "
    "about {topics}.",
    "not_as_advertised": "Not as advertised: {what}.",
    "and_more_claims": "{what}; also refuted: {figures}",
    "maximum_current": "maximum current",
    "does_not_go_with": "{name} {claimed} does not go with {beside}",
    "does_not_go_with_known": "{name} {claimed} does not go with {beside} ({fit})",
    **{f"beside_{name}": text for name, text in COUNTED.items()},
    "beside_else": "what else is known",
    "counted_otherwise": "{claimed} claimed, {fit} by what was seen",
    "takes_longer": "charging takes {least} or more, {claimed} is claimed",
    "no_datasheet_allows": "{name} {claimed} claimed, and no datasheet allows any at these temperatures",
    "as_measured": "{name} {claimed} claimed, {most} at most as measured",
    "as_measured_worn": "{name} {claimed} claimed, {most} at most as measured: worn, and no more than one expects",
    "at_most": "{name} {claimed} claimed, at most {most} possible",
    "in_air": "{limit}, in air of {air}",
    "at_most_by": "{name} {claimed} claimed, at most {most} possible ({limit})",
    "not_settled": "Cannot tell yet: {figures}; nothing claimed is shown to be false.",
    "not_settled_able": "Cannot tell yet: {figures}; nothing claimed is shown to be false. {could}",
    "not_settled_unable": "Cannot tell yet: {figures}. {could}",
    "not_settled_little": "Cannot tell yet: {figures}; what a test gave is far less than what is claimed or new cells "
    "make.",
    "not_settled_withdrawn": (
        "Cannot tell yet: {figures}; the datasheet of its cells was withdrawn; nothing claimed is shown to be false."
    ),
    "not_settled_bare": "Cannot tell yet: {figures}.",
    "could": "{cells} could make this.",
    "could_not": "{cells} could make this: find out which cell it is.",
    "on_word": "As advertised only if the seller's word holds, {cells}: {figures}.",
    "on_word_not_seen": "As advertised only if the seller's word holds, {cells}: {figures}; not seen yet: {facts}.",
    "without_reserve": "As advertised, but without reserve, {cells}: {figures} close to the limit.",
    "hearsay": "Cannot tell yet: {figures} fit only what somebody quoted; find the maker's datasheet, or measure.",
    "one_holds": "As advertised: the one figure claimed holds, {cells}.",
    "both_hold": "As advertised: both figures claimed hold, {cells}.",
    "all_hold": "As advertised: all {count} figures claimed hold, {cells}.",
    # What a figure that holds is said of.
    "for_new": "for new and genuine cells",
    "for_used": "for genuine cells",
    "nothing_claimed": "Nothing is claimed that can be judged.",
    "unreadable": " The wrappers of its cells are blank or scraped: take them for used and mixed.",
    "empty_registry": (
        " Your cell registry is empty, so no cell name can be checked: add datasheets with packclaim cells add."
    ),
}


def _say(code: str, language: Language, **slots: object) -> str:
    return language.text("sentence", code, SENTENCES).format_map(slots)


class _Known(NamedTuple):
    """What a sentence follows from, and the language to say it in."""

    made: Sequence[Finding]
    alarms: Sequence[Remark]
    against: Sequence[Contradiction]
    used: bool
    gave_far_less: bool
    unreadable: bool
    language: Language

    def say(self, code: str, **slots: object) -> str:
        return _say(code, self.language, **slots)

    def genuine(self) -> str:
        """Return of which cells a figure that holds is said."""
        return self.say("for_used" if self.used else "for_new")

    def names(self, findings: Sequence[Finding]) -> str:
        return listed([figure_name(each.figure, self.language) for each in findings], self.language)


def sentence(
    conclusion: str,
    findings: Sequence[Finding],
    alarms: Sequence[Remark],
    contradictions: Sequence[Contradiction],
    registered: int,
    *,
    used: bool,
    gave_far_less: bool,
    unreadable: bool,
    language: Language = ENGLISH,
) -> str:
    """Return the conclusion as one sentence, with the figure that decides it.

    Parameters
    ----------
    conclusion
        One of `verifier.answer.Conclusion`.
    findings, alarms, contradictions
        What it follows from; the contradictions are those that `verifier.answer.told` picks.
    registered
        How many cells the registry holds; an empty one is told.
    used
        Whether the pack is a used one, which nobody calls new.
    gave_far_less
        Whether a test gave far less than is claimed, or than new cells make: then nothing is said to speak for it.
    unreadable
        Whether the wrappers of its cells tell nothing: that no claim is shown to be false would reassure.
    language
        In which it is said.
    """
    made = [each for each in findings if each.verdict is not Verdict.NOT_CLAIMED]
    known = _Known(made, alarms, contradictions, used, gave_far_less, unreadable, language)
    return _beside(registered, _TEXTS[conclusion](known), language, unreadable=unreadable and not alarms)


def refuted_sentence(
    worst: Finding,
    others: Sequence[str],
    registered: int,
    language: Language = ENGLISH,
    *,
    unreadable: bool = False,
) -> str:
    """Return the sentence of a pack not as advertised: of its refuted claims that of which most is missing.

    Parameters
    ----------
    worst, others
        That claim, and the other figures that are refuted.
    registered, unreadable, language
        See `sentence`.
    """
    text = _say("not_as_advertised", language, what=_refuted_claims(worst, others, language))
    return _beside(registered, text, language, unreadable=unreadable)


def unlike_sentence(
    contradiction: str, registered: int, language: Language = ENGLISH, *, unreadable: bool = False
) -> str:
    """Return the sentence of a pack not as advertised of which no figure is refuted: what was seen, in words."""
    text = _say("not_as_advertised", language, what=contradiction)
    return _beside(registered, text, language, unreadable=unreadable)


def _beside(registered: int, text: str, language: Language, *, unreadable: bool) -> str:
    """Return a sentence with what is told beside every one: scraped wrappers, and that no cell is registered."""
    text += _say("unreadable", language) if unreadable else ""
    return text + (_say("empty_registry", language) if registered == 0 else "")


def _do_not_use(known: _Known) -> str:
    names = list(dict.fromkeys(alarm_name(each.code, known.language) for each in known.alarms))
    return known.say("do_not_use", alarms=listed(names, known.language))


def _contradicts(known: _Known) -> str:
    topics = list(dict.fromkeys(contradiction_topic(each.code, known.language) for each in known.against))
    # Counts that exclude each other are among the topics.
    refuted = [each for each in _refuted_of(known.made) if each.figure != "configuration"]
    if refuted:
        # That a claim cannot be met weighs more than that two of them do not go together.
        figures = known.names(refuted)
        return known.say("contradicts_and_refuted", figures=figures, topics=listed(topics, known.language))
    return known.say("contradicts", topics=listed(topics, known.language))


def _not_as_advertised(known: _Known) -> str:
    return known.say("not_as_advertised", what=refuted_text(known.made, known.against, known.language))


def _refuted_of(findings: Sequence[Finding]) -> list[Finding]:
    return [each for each in findings if each.verdict in REFUTED and not told_as_peak(each, findings)]


def refuted_text(
    findings: Sequence[Finding], contradictions: Sequence[Contradiction], language: Language = ENGLISH
) -> str:
    """Return what is refuted: the claim of which most is missing and the others, else what was seen to be otherwise."""
    refuted = _refuted_of(findings)
    if not refuted:
        unlike = contradictions[0]
        return contradiction_text(unlike.code, unlike.numbers, language)
    worst = min(
        refuted,
        key=lambda each: each.margin_percent.high if each.margin_percent is not None else 0.0,
    )
    others = [each.figure for each in refuted if each is not worst]
    return _refuted_claims(worst, others, language)


def _refuted_claims(worst: Finding, others: Sequence[str], language: Language) -> str:
    what = _refuted(worst, language)
    if others:
        figures = listed([figure_name(each, language) for each in others], language)
        what = _say("and_more_claims", language, what=what, figures=figures)
    return what


def told_as_peak(finding: Finding, findings: Sequence[Finding]) -> bool:
    """Whether a refuted claim is told with the peak: one current only called a maximum, judged in both senses."""
    return (
        finding.figure == "continuous_current"
        and finding.only_a_maximum
        and any(each.figure == "peak_current" and each.only_a_maximum for each in findings)
    )


_MEASURED = "as measured"


def _refuted(finding: Finding, language: Language) -> str:
    name = (
        _say("maximum_current", language) if finding.only_a_maximum else figure_name(finding.figure, language)
    )
    if finding.claimed is None:
        return name
    claimed = span(finding.claimed, finding.unit, language)
    if finding.verdict is Verdict.INCONSISTENT:
        return _does_not_go_with(finding, name, claimed, language)
    if finding.figure == "charge_time":
        least = amount(finding.supported.low, "h", language)
        return _say("takes_longer", language, least=least, claimed=claimed)
    if finding.supported.high <= 0 and finding.figure in OF_DATASHEETS:
        return _say("no_datasheet_allows", language, name=name, claimed=claimed)
    most = amount(finding.supported.high, finding.unit, language)
    if finding.limited_by == _MEASURED:
        expected = any(each.code == "worn_as_expected" for each in finding.cautions)
        code = "as_measured_worn" if expected else "as_measured"
        return _say(code, language, name=name, claimed=claimed, most=most)
    if not finding.limited_by:
        return _say("at_most", language, name=name, claimed=claimed, most=most)
    limit = element_name(finding.limited_by, language)
    if finding.air_c is not None:
        limit = _say("in_air", language, limit=limit, air=temperatures(*finding.air_c, language))
    return _say("at_most_by", language, name=name, claimed=claimed, most=most, limit=limit)


def _does_not_go_with(finding: Finding, name: str, claimed: str, language: Language) -> str:
    """Return what a figure was held against, and what would go with that: ``its cells in series (29.9 to 44 V)``."""
    limit = finding.limited_by
    beside = _say(f"beside_{limit if limit in COUNTED else 'else'}", language)
    if finding.supported.low <= 0 and finding.supported.high == inf:
        return _say("does_not_go_with", language, name=name, claimed=claimed, beside=beside)
    fit = span(finding.supported, finding.unit, language)
    if finding.figure == "configuration":
        return _say("counted_otherwise", language, claimed=claimed, fit=fit)
    return _say("does_not_go_with_known", language, name=name, claimed=claimed, beside=beside, fit=fit)


def _not_settled(known: _Known) -> str:
    open_ = [each for each in known.made if each.verdict in (Verdict.NOT_SETTLED, Verdict.CHECK_FAILED)]
    if not open_:
        return known.say("hearsay", figures=known.names([each for each in known.made if each.by_hearsay]))
    able = next((each.could for each in open_ if each.could is not None), None)
    figures = known.names(open_)
    if known.gave_far_less:
        return known.say("not_settled_little", figures=figures)
    if known.unreadable:
        return known.say("not_settled_bare", figures=figures)
    if any(withdrawn(each) for each in known.against):
        # Which other cells could make it tells nothing: the one inside has been named.
        return known.say("not_settled_withdrawn", figures=figures)
    if able is None or not able.registered_possible:
        return known.say("not_settled", figures=figures)
    cells = registered_cells(able.registered_able, able.registered_possible, known.language)
    if able.registered_able:
        return known.say(
            "not_settled_able", figures=figures, could=_first_large(known.say("could", cells=cells))
        )
    return known.say(
        "not_settled_unable", figures=figures, could=_first_large(known.say("could_not", cells=cells))
    )


def _first_large(text: str) -> str:
    return text[:1].upper() + text[1:]


def _on_word(known: _Known) -> str:
    said = [each for each in known.made if each.verdict in ON_SELLERS_WORD]
    facts = list(
        dict.fromkeys(not_seen(field, known.language) for each in said for field in each.sellers_word)
    )
    if not facts:
        return known.say("on_word", figures=known.names(said), cells=known.genuine())
    seen = listed(facts, known.language)
    return known.say("on_word_not_seen", figures=known.names(said), facts=seen, cells=known.genuine())


def _without_reserve(known: _Known) -> str:
    tight = [each for each in known.made if each.verdict is Verdict.HOLDS_WITHOUT_RESERVE]
    return known.say("without_reserve", figures=known.names(tight), cells=known.genuine())


def _as_advertised(known: _Known) -> str:
    code = {1: "one_holds", 2: "both_hold"}.get(len(known.made), "all_hold")
    return known.say(code, count=len(known.made), cells=known.genuine())


def _nothing(known: _Known) -> str:
    return known.say("nothing_claimed")


_TEXTS: dict[str, Callable[[_Known], str]] = {
    "do not use": _do_not_use,
    "contradicts itself": _contradicts,
    "not as advertised": _not_as_advertised,
    "not settled": _not_settled,
    "as advertised if the seller's word holds": _on_word,
    "as advertised without reserve": _without_reserve,
    "as advertised": _as_advertised,
    "nothing claimed": _nothing,
}
