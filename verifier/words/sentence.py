"""The one sentence with which every format opens."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from verifier.contradictions import Contradiction
from verifier.fact_names import GRADES, SECONDHAND
from verifier.finding import Finding, Remark
from verifier.verdict import ON_SELLERS_WORD, REFUTED, Verdict
from verifier.words.alarms import alarm_name
from verifier.words.contradictions import contradiction_text, contradiction_topic
from verifier.words.names import element_name, figure_name, not_seen, registered_cells
from verifier.words.numbers import amount, span

_EMPTY = (
    " Your cell registry is empty, so no cell name can be checked: add datasheets with packclaim cells add."
)
# What a figure that holds is said of.
_FOR_NEW, _FOR_USED = "for new and genuine cells", "for genuine cells"
_MOST_NAMED = 3
_SECONDHAND = GRADES[SECONDHAND]


def sentence(
    conclusion: str,
    findings: Sequence[Finding],
    alarms: Sequence[Remark],
    contradictions: Sequence[Contradiction],
    registered: int,
    *,
    used: bool,
) -> str:
    """Return the conclusion as one sentence, with the figure that decides it.

    Parameters
    ----------
    conclusion
        One of `verifier.answer.Conclusion`.
    findings, alarms, contradictions
        What it follows from; the contradictions are those in the listing itself, else what was seen against it.
    registered
        How many cells the registry holds; an empty one is told.
    used
        Whether the pack is a used one, which nobody calls new.
    """
    made = [each for each in findings if each.verdict is not Verdict.NOT_CLAIMED]
    text = _TEXTS[conclusion](made, alarms, contradictions)
    return _beside(registered, text.replace(_FOR_NEW, _FOR_USED) if used else text)


def refuted_sentence(worst: Finding, count: int, registered: int) -> str:
    """Return the sentence of a pack not as advertised: of its refuted claims that of which most is missing.

    Parameters
    ----------
    worst, count
        That claim, and how many are refuted.
    registered
        See `sentence`.
    """
    return _beside(registered, _refuted_claims(worst, count))


def unlike_sentence(contradiction: str, registered: int) -> str:
    """Return the sentence of a pack not as advertised of which no figure is refuted: what was seen, in words."""
    return _beside(registered, _unlike(contradiction))


def _beside(registered: int, text: str) -> str:
    return text + (_EMPTY if registered == 0 else "")


Texts = Callable[[Sequence[Finding], Sequence[Remark], Sequence[Contradiction]], str]


def _do_not_use(made: Sequence[Finding], alarms: Sequence[Remark], _: Sequence[Contradiction]) -> str:
    return (
        f"Do not use it as it is: {_listed(list(dict.fromkeys(alarm_name(each.code) for each in alarms)))}."
    )


def _contradicts(made: Sequence[Finding], _: Sequence[Remark], against: Sequence[Contradiction]) -> str:
    topics = list(dict.fromkeys(contradiction_topic(each.code) for each in against))
    return f"Do not rely on it: it contradicts itself about {_listed(topics)}."


def _not_as_advertised(made: Sequence[Finding], _: Sequence[Remark], unlike: Sequence[Contradiction]) -> str:
    refuted = [each for each in made if each.verdict in REFUTED and not told_as_peak(each, made)]
    if not refuted:
        return _unlike(contradiction_text(unlike[0].code, unlike[0].numbers))
    worst = min(
        refuted,
        key=lambda each: each.margin_percent.high if each.margin_percent is not None else 0.0,
    )
    return _refuted_claims(worst, len(refuted))


def _unlike(contradiction: str) -> str:
    return f"Not as advertised: {contradiction}."


def _refuted_claims(worst: Finding, count: int) -> str:
    more = f" (and {count - 1} more)" if count > 1 else ""
    return f"Not as advertised: {_refuted(worst)}{more}."


def told_as_peak(finding: Finding, findings: Sequence[Finding]) -> bool:
    """Whether a refuted claim is told with the peak: one current only called a maximum, judged in both senses."""
    return (
        finding.figure == "continuous_current"
        and finding.only_a_maximum
        and any(each.figure == "peak_current" and each.only_a_maximum for each in findings)
    )


_MEASURED = "as measured"
_OF_DATASHEETS = ("continuous_current", "peak_current", "power", "load_power", "charge_current")


def _refuted(finding: Finding) -> str:
    name = "maximum current" if finding.only_a_maximum else figure_name(finding.figure)
    if finding.claimed is None:
        return name
    claimed = span(finding.claimed, finding.unit)
    if finding.verdict is Verdict.INCONSISTENT:
        return f"{name} {claimed} does not fit what is inside"
    if finding.figure == "charge_time":
        return f"charging takes {amount(finding.supported.low, 'h')} or more, {claimed} is claimed"
    limit = f" ({element_name(finding.limited_by)})" if finding.limited_by else ""
    if finding.supported.high <= 0 and finding.figure in _OF_DATASHEETS:
        return f"{name} {claimed} claimed, and no datasheet allows any at these temperatures"
    if finding.limited_by == _MEASURED:
        return f"{name} {claimed} claimed, {amount(finding.supported.high, finding.unit)} at most as measured"
    return f"{name} {claimed} claimed, at most {amount(finding.supported.high, finding.unit)} possible{limit}"


def _names(findings: Sequence[Finding]) -> str:
    return _listed([figure_name(each.figure) for each in findings])


def _listed(names: Sequence[str]) -> str:
    """Return names in a row: three of them, and how many more."""
    if len(names) > _MOST_NAMED:
        return f"{', '.join(names[:_MOST_NAMED])} and {len(names) - _MOST_NAMED} more"
    return " and ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)


def _not_settled(made: Sequence[Finding], *_: object) -> str:
    open_ = [each for each in made if each.verdict in (Verdict.NOT_SETTLED, Verdict.CHECK_FAILED)]
    able = next((each.could for each in open_ if each.could is not None), None)
    text = f"Cannot tell yet: {_names(open_)}; nothing claimed is shown to be false"
    if able is not None and able.registered_possible:
        cells = registered_cells(able.registered_able, able.registered_possible)
        text += f"; {cells} could do it{' at best' if able.registered_able else ''}"
    return text + "."


def _on_word(made: Sequence[Finding], *_: object) -> str:
    said = [each for each in made if each.verdict in ON_SELLERS_WORD]
    facts = list(dict.fromkeys(not_seen(field) for each in said for field in each.sellers_word))
    unseen = f"; not seen yet: {_listed(facts)}" if facts else ""
    return f"As advertised only if the seller's word holds: {_names(said)}{unseen}."


def _without_reserve(made: Sequence[Finding], *_: object) -> str:
    tight = [each for each in made if each.verdict is Verdict.HOLDS_WITHOUT_RESERVE]
    return f"As advertised, but without reserve: {_names(tight)} at the limit."


def _as_advertised(made: Sequence[Finding], *_: object) -> str:
    hearsay = [each for each in made if each.evidence == _SECONDHAND]
    if hearsay:
        names = _names(hearsay)
        return f"As advertised only by a figure that somebody quoted ({names}): nothing may be used by it."
    count = {1: "the one figure claimed holds", 2: "both figures claimed hold"}.get(
        len(made), f"all {len(made)} figures claimed hold"
    )
    return f"As advertised: {count}, {_FOR_NEW}."


def _nothing(*_: object) -> str:
    return "Nothing is claimed that can be judged."


_TEXTS: dict[str, Texts] = {
    "do not use": _do_not_use,
    "contradicts itself": _contradicts,
    "not as advertised": _not_as_advertised,
    "not settled": _not_settled,
    "as advertised if the seller's word holds": _on_word,
    "as advertised without reserve": _without_reserve,
    "as advertised": _as_advertised,
    "nothing claimed": _nothing,
}
