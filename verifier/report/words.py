"""How numbers, spans and places are written for people: a unit on every number, no false precision."""

from __future__ import annotations

from collections.abc import Callable
from math import floor, isinf, log10

from verifier.bounds import Bounds
from verifier.case_report import Report
from verifier.finding import Finding
from verifier.support.papers import Paper
from verifier.support.sheets import GRADES
from verifier.verdict import PASSES, Verdict

FIGURE_NAMES = {
    "nominal_voltage": "nominal voltage",
    "configuration": "configuration",
    "capacity": "capacity",
    "energy": "energy",
    "continuous_current": "continuous current",
    "peak_current": "peak current",
    "power": "power",
    "charge_voltage": "charge voltage",
    "charge_current": "charge current",
    "charge_time": "charge time",
    "mass": "mass",
    "cycle_life": "cycle life",
    "range": "range",
    "load_power": "load power",
    "arrival_charge": "arrival charge",
    "build": "build",
}


def digits(value: float) -> str:
    """Return a number with at most four significant digits and no exponent: 31.2, 655.2, 0.0172, 12450."""
    text = f"{value:.4g}"
    if "e" not in text:
        return text
    if abs(value) >= 1:
        return f"{float(text):.0f}"
    return f"{float(text):.{3 - floor(log10(abs(value)))}f}".rstrip("0")


def _of(amount: str, unit: str) -> str:
    return f"{amount} {unit.removesuffix('s')}" if amount == "1" and unit == "cells" else f"{amount} {unit}"


def span(bounds: Bounds, unit: str) -> str:
    """Return bounds in words: ``31.2 A``, ``0 to 140 A``, ``5.2 A or more``, ``not known``."""
    if isinf(bounds.low):
        return "no limit"
    if isinf(bounds.high):
        return "not known" if bounds.low <= 0 else f"{_of(digits(bounds.low), unit)} or more"
    low, high = digits(bounds.low), digits(bounds.high)
    return _of(low, unit) if low == high else f"{low} to {high} {unit}"


def percent(margin: Bounds | None) -> str:
    """Return a margin in words, to a tenth of a percent: ``+24.8 %``, ``-100 to +40 %``."""
    if margin is None:
        return "-"
    low = _tenth(margin.low)
    if isinf(margin.high):
        return f"{low} % or more"
    high = _tenth(margin.high)
    return f"{low} %" if low == high else f"{low} to {high} %"


def _tenth(value: float) -> str:
    text = f"{value:+.0f}" if abs(value) >= 1000 else f"{value:+.1f}".removesuffix(".0")
    return "+0" if text == "-0" else text


def verdict_words(finding: Finding) -> str:
    """Return the verdict, and what a not settled one lies between."""
    if finding.between is None:
        return str(finding.verdict)
    return f"{finding.verdict} ({between_words(finding)})"


def between_words(finding: Finding) -> str:
    """Return the two verdicts that a not settled one lies between."""
    return " or ".join(str(each) for each in finding.between or ())


def evidence_words(grade: str | None) -> str:
    """Return an evidence grade in words."""
    return GRADES.get(grade or "", grade or "no sheet")


def paper_words(paper: Paper) -> str:
    """Return what a mark shows and does not show."""
    return f"{paper.mark}: shows {paper.shows}. It does not show {paper.does_not_show} ({paper.source})."


def element_words(element: str | None) -> str:
    """Return an element's name in words."""
    return (element or "-").replace("_", " ")


def _passes(finding: Finding, *verdicts: Verdict) -> bool:
    return finding.verdict in verdicts and not finding.sellers_word


# How the answer groups what is claimed, worst first; every verdict on a claim falls in one group.
_GROUPS: tuple[tuple[str, Callable[[Finding], bool]], ...] = (
    ("does not hold", lambda each: each.verdict in (Verdict.DOES_NOT_HOLD, Verdict.INCONSISTENT)),
    ("could not be checked", lambda each: each.verdict is Verdict.CHECK_FAILED),
    ("cannot be settled yet", lambda each: each.verdict is Verdict.NOT_SETTLED),
    ("holds on the seller's word only", lambda each: each.verdict in PASSES and bool(each.sellers_word)),
    ("holds without reserve", lambda each: _passes(each, Verdict.HOLDS_WITHOUT_RESERVE)),
    (
        "holds",
        lambda each: _passes(each, Verdict.HOLDS_WITH_RESERVE, Verdict.HOLDS, Verdict.CONSISTENT),
    ),
)


def decision(report: Report) -> str:
    """Return the answer of a report in one sentence."""
    made = [each for each in report.findings if each.verdict is not Verdict.NOT_CLAIMED]
    if not made:
        return "Nothing that this program judges is claimed."
    parts = []
    for words, belongs in _GROUPS:
        names = [FIGURE_NAMES[each.figure] for each in made if belongs(each)]
        if names:
            parts.append(f"{words}: {', '.join(names)}")
    text = "; ".join(parts)
    return text[0].upper() + text[1:] + "."
