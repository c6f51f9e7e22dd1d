"""The top of an HTML report: the decision, what to rely on, what is open and the cheapest next step."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.bounds import Bounds
from verifier.case_report import RelyOn, Report
from verifier.finding import Finding
from verifier.report.html.markup import Markup, bullets, given, join, tag
from verifier.report.html.shapes import marked
from verifier.report.layout import counted
from verifier.report.words import FIGURE_NAMES, between_words, decision, element_words, percent, span
from verifier.verdict import PASSES, Verdict

_COUNTS = {"series": "cells in series", "parallel": "cells in parallel"}
_UNITS = {"a", "ah", "v", "w", "wh", "kg", "g", "mm", "mm2", "m", "km", "c", "h"}


def claimed(report: Report) -> list[Finding]:
    """Return the findings on what the seller claims."""
    return [each for each in report.findings if each.verdict is not Verdict.NOT_CLAIMED]


def with_verdict(findings: Sequence[Finding], *verdicts: Verdict) -> list[Finding]:
    """Return the findings with one of some verdicts."""
    return [each for each in findings if each.verdict in verdicts]


def headline(report: Report) -> tuple[Verdict, str]:
    """Return the decision as a verdict on the whole listing, and in a few words."""
    made = claimed(report)
    total = counted(len(made), "figure") + " claimed"
    failed = with_verdict(made, Verdict.CHECK_FAILED)
    wrong = with_verdict(made, Verdict.DOES_NOT_HOLD, Verdict.INCONSISTENT)
    unsettled = with_verdict(made, Verdict.NOT_SETTLED)
    also_open = f", {len(unsettled)} cannot be settled yet" if unsettled else ""
    if failed:
        return Verdict.CHECK_FAILED, f"Not fully checked: {counted(len(failed), 'check')} failed."
    if wrong:
        return Verdict.DOES_NOT_HOLD, f"Not as advertised: of {total}, {_count(wrong)} not hold{also_open}."
    if report.contradictions:
        return (
            Verdict.INCONSISTENT,
            f"Do not rely on the listing: it contradicts itself or what was seen{also_open}.",
        )
    if unsettled:
        return Verdict.NOT_SETTLED, f"Not settled: of {total}, {len(unsettled)} cannot be settled yet."
    if any(each.sellers_word for each in made):
        return (
            Verdict.NOT_SETTLED,
            f"As advertised only if the seller's word holds: {total}.",
        )
    if with_verdict(made, Verdict.HOLDS_WITHOUT_RESERVE):
        return Verdict.HOLDS_WITHOUT_RESERVE, f"As advertised, but without reserve: {total}."
    if made:
        hold = f"{total} holds" if len(made) == 1 else f"all of {total} hold"
        return Verdict.HOLDS, f"As advertised: {hold}."
    return Verdict.NOT_CLAIMED, "Nothing is claimed that can be judged."


def _count(findings: Sequence[Finding]) -> str:
    return "1 does" if len(findings) == 1 else f"{len(findings)} do"


def field_words(field: str) -> str:
    """Return the name of a case's field in words: ``observed.strip.thickness_mm`` is strip thickness."""
    parts = [part for part in field.replace(".", "_").split("_") if part not in ("observed", "claim", "use")]
    words = " ".join(parts[:-1] if parts[-1] in _UNITS and len(parts) > 1 else parts)
    return _COUNTS.get(words, words)


def answer(report: Report, heading: str) -> Markup:
    """Return the box at the top; `heading` is the element of its headings, such as ``h3``."""
    verdict, words = headline(report)
    tone = {
        Verdict.HOLDS: "good",
        Verdict.HOLDS_WITHOUT_RESERVE: "narrow",
        Verdict.NOT_SETTLED: "open",
        Verdict.NOT_CLAIMED: "none",
    }.get(verdict, "bad")
    return tag(
        "section",
        tag("p", marked(verdict, words), class_="headline"),
        tag("p", decision(report)),
        _why(report, heading),
        tag(heading, "What to rely on"),
        _rely_on(report),
        _open(report, heading),
        class_=f"answer {tone}",
        aria_label="Decision",
    )


def _why(report: Report, heading: str) -> Markup:
    """Return the reasons for what does not hold or is open; where all holds, for that."""
    made = claimed(report)
    unsettled = with_verdict(made, Verdict.NOT_SETTLED)
    doubtful = [each for each in made if each.verdict not in PASSES and each not in unsettled] + unsettled
    if not made:
        return Markup("")
    return join(tag(heading, "Why"), bullets(_reason(each) for each in doubtful or made))


def _reason(finding: Finding) -> Markup:
    words = f"{FIGURE_NAMES[finding.figure]} {finding.verdict}"
    claim = "" if finding.claimed is None else f"{span(finding.claimed, finding.unit)} claimed, "
    limited = f"; limited by: {element_words(finding.limited_by)}" if finding.limited_by else ""
    margin = "" if finding.margin_percent is None else f" ({percent(finding.margin_percent)})"
    said = f": {claim}{span(finding.supported, finding.unit)} supported{margin}{limited}"
    return join(marked(finding.verdict, words), said)


def _rely_on(report: Report) -> Markup:
    rely = report.rely_on
    reserve = f"{report.limits.number('reserve'):.3g}"
    parts = []
    if rely.continuous_current_a.low > 0:
        entries = (
            ("Draw continuously", rely.continuous_current_a, "A"),
            ("Take from the battery", rely.continuous_power_w, "W"),
            ("Motor, at the shaft", rely.load_power_w, "W"),
        )
        parts.append(tag("dl", *(_entry(*each) for each in entries), class_="rely"))
        if not all(value.exact for _, value, _ in entries):
            parts.append(
                tag("p", "Use the lower ends: they hold whatever is known only as a range turns out to be.")
            )
    elif rely.continuous_current_a.known:
        parts.append(
            tag(
                "p", tag("strong", "No current is sure yet."),
                f" At most {_top(rely.continuous_current_a, 'A')} continuous and a motor of "
                f"{_top(rely.load_power_w, 'W')}, if all that is not known for sure turns out well.",
            )
        )  # fmt: skip
    else:
        parts.append(tag("p", tag("strong", "No current is sure yet.")))
    low, high = report.temperature_c
    parts.append(tag("p", f"In air from {low:g} to {high:g} C, at {reserve} of the limit (the reserve)."))
    if rely.on_sellers_word:
        facts = ", ".join(map(field_words, rely.on_sellers_word))
        parts.append(tag("p", f"Rests on the seller's word alone: {facts}."))
    parts.append(_intended(rely))
    return join(*parts)


def _entry(name: str, value: Bounds, unit: str) -> Markup:
    return tag("div", tag("dt", name), tag("dd", span(value, unit)))


def _top(value: Bounds, unit: str) -> str:
    return span(Bounds(value.high, value.high), unit)


def _intended(rely: RelyOn) -> Markup:
    if rely.intended_load_w is None:
        return Markup("")
    verdict = rely.intended_verdict
    outcome = {
        Verdict.HOLDS: "within what to rely on",
        Verdict.DOES_NOT_HOLD: "more than to rely on",
    }.get(verdict, "not sure to be within what to rely on")
    words = f"Intended load of {span(rely.intended_load_w, 'W')} at the motor: {outcome}."
    needed = ""
    if rely.intended_current_a is not None:
        needed = f" It takes {span(rely.intended_current_a, 'A')} when the pack is nearly empty."
    return tag("p", marked(verdict, words), needed)


def _open(report: Report, heading: str) -> Markup:
    unsettled = with_verdict(report.findings, Verdict.NOT_SETTLED)
    parts = [tag(heading, "What is open")]
    if unsettled:
        parts.append(
            bullets(
                f"{FIGURE_NAMES[each.figure]}: {between_words(each)}; not known: "
                f"{', '.join(map(field_words, each.unknown)) or 'within the bounds given'}"
                for each in unsettled
            )
        )
    else:
        parts.append(tag("p", "Nothing; every figure claimed is settled."))
    if report.next_steps:
        first = report.next_steps[0]
        settled = ", ".join(FIGURE_NAMES[each] for each in first.settles)
        effect = f"it could settle {settled}" if settled else "nothing can be settled without it"
        step = f"{first.effort.capitalize()}: {field_words(first.observe)}"
        words = join(tag("strong", step), f"; {effect}.")
        parts += [tag(heading, "Cheapest next step"), tag("p", words)]
    return join(*parts)


def contradictions(report: Report, heading: str) -> Markup:
    """Return what cannot all be true, or nothing."""
    if not report.contradictions:
        return Markup("")
    rows = (given(each.text) for each in report.contradictions)
    words = marked(Verdict.INCONSISTENT, "Contradictions: these cannot all be true")
    return tag("section", tag(heading, words), bullets(rows), class_="alarm")
