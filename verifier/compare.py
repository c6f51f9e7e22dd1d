"""Several packs side by side: what each can be trusted with, what that costs, and who comes first.

Trusted is what a report grants, at its low end: never what only a seller has said, what somebody quotes, what
rests on a fact in dispute, or anything of a pack with an alarm. What is not known ranks last, whatever it may
turn out to be.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf

from registry.cell import EVIDENCE_BEST_FIRST
from verifier.answer import Answer
from verifier.bounds import Bounds
from verifier.case_report import CAUTIONS, Report
from verifier.errors import VerifierError
from verifier.finding import Finding
from verifier.verdict import Verdict

# The figures that are laid side by side; a pack is bought for these.
COMPARED = ("continuous_current", "capacity", "energy")
_OPEN = (Verdict.NOT_SETTLED, Verdict.CHECK_FAILED)
_PRICE_ORDERS = ("price_per_wh", "price_per_a")


@dataclass(frozen=True, slots=True)
class ComparedPack:
    """One pack of a comparison.

    ``answer`` is what its report opens with, ``temperature_c`` and ``reserve`` what it was judged by.
    ``trusted_a`` and ``trusted_wh`` are zero
    where nothing is trusted yet. ``wh_per_kg`` rests on the mass that was ``weighed`` or ``claimed``, else on
    what the cells alone weigh, so that only its high end is known. ``open_figures`` are those that are not
    settled, rest on the seller's word, or of which nothing is supported yet. ``rank`` is None for a pack of
    which the value that ranks is not known.
    """

    answer: Answer
    title: str
    stage: str
    cell: str | None
    temperature_c: tuple[float, float]
    reserve: float
    findings: tuple[Finding, ...]
    evidence: str | None
    sellers_word: tuple[str, ...]
    contradictions: int
    trusted_a: float
    trusted_wh: float
    wh_per_kg: Bounds | None
    mass_source: str
    price: Bounds | None
    currency: str | None
    price_per_trusted_wh: Bounds | None
    price_per_trusted_a: Bounds | None
    open_figures: tuple[str, ...]
    next_step: str | None
    rank: int | None = None

    def finding(self, figure: str) -> Finding:
        """Return the finding of one of the compared figures."""
        return next(each for each in self.findings if each.figure == figure)


@dataclass(frozen=True, slots=True)
class Comparison:
    """Packs in order of rank, those of which the value is not known last, and what ranks them.

    ``notes`` say where the packs were not judged alike.
    """

    by: str
    packs: tuple[ComparedPack, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...] = CAUTIONS


def _margin(pack: ComparedPack) -> float | None:
    """Return the margin of the continuous current that is sure; None where nothing is. [%]."""
    margin = pack.finding("continuous_current").margin_percent
    return None if margin is None or pack.trusted_a <= 0 else margin.low


def _evidence(pack: ComparedPack) -> float | None:
    if pack.evidence is None or pack.sellers_word or pack.answer.alarms:
        return None
    return -float(EVIDENCE_BEST_FIRST.index(pack.evidence))


def _cheap(price: Bounds | None) -> float | None:
    return None if price is None else -price.high


# What ranks: the larger value comes first, and None is not known.
ORDERS: dict[str, Callable[[ComparedPack], float | None]] = {
    "current": lambda pack: pack.trusted_a or None,
    "energy": lambda pack: pack.trusted_wh or None,
    "price_per_wh": lambda pack: _cheap(pack.price_per_trusted_wh),
    "price_per_a": lambda pack: _cheap(pack.price_per_trusted_a),
    "margin": _margin,
    "evidence": _evidence,
    "open": lambda pack: -float(len(pack.open_figures)),
}


def compare(reports: Sequence[Report], by: str = "current") -> Comparison:
    """Lay packs side by side, the best first.

    Parameters
    ----------
    reports : sequence of Report
        One a pack. Packs that tie keep this order and share a rank.
    by : str
        What ranks, one of `ORDERS`.

    Raises
    ------
    VerifierError
        If packs are to be ranked by prices in more than one currency.
    """
    packs = [_compared(report) for report in reports]
    currencies = sorted({pack.currency or "not stated" for pack in packs if pack.price is not None})
    if by in _PRICE_ORDERS and len(currencies) > 1:
        raise VerifierError(
            f"--by {by}", f"the prices are in several currencies: {', '.join(currencies)}",
            "write every claim.price in one currency, with claim.currency",
        )  # fmt: skip
    return Comparison(by, tuple(_ranked(packs, ORDERS[by])), tuple(_not_alike(packs)))


def _not_alike(packs: Sequence[ComparedPack]) -> list[str]:
    """Return in what the packs were not judged alike, so that their figures are not quite comparable."""
    notes = []
    if len({pack.temperature_c for pack in packs}) > 1:
        notes.append(
            "the packs are judged over different temperatures; --temperature judges all over one range"
        )
    if len({pack.reserve for pack in packs}) > 1:
        notes.append("the packs are judged with different reserves; --reserve judges all with one")
    return notes


def _ranked(packs: list[ComparedPack], value: Callable[[ComparedPack], float | None]) -> list[ComparedPack]:
    known = [pack for pack in packs if value(pack) is not None]
    known.sort(key=lambda pack: -(value(pack) or 0.0))
    values = [value(pack) for pack in known]
    ranked = [replace(pack, rank=values.index(value(pack)) + 1) for pack in known]
    return [*ranked, *(pack for pack in packs if value(pack) is None)]


def _compared(report: Report) -> ComparedPack:
    findings = tuple(report.finding(figure) for figure in COMPARED)
    current, _, energy = findings
    trusted_a = report.rely_on.continuous_current_a.low if report.grants(current) else 0.0
    trusted_wh = energy.supported.low if report.grants(energy) else 0.0
    wh_per_kg, mass_source = _wh_per_kg(report, energy.supported)
    price = report.case.claim.price
    return ComparedPack(
        answer=report.answer,
        title=report.title,
        stage=report.stage,
        cell=report.cell.name,
        temperature_c=report.temperature_c,
        reserve=report.limits.number("reserve"),
        findings=findings,
        evidence=_worst_grade(findings),
        sellers_word=_on_word(findings),
        contradictions=len(report.contradictions),
        trusted_a=trusted_a,
        trusted_wh=trusted_wh,
        wh_per_kg=wh_per_kg,
        mass_source=mass_source,
        price=price,
        currency=report.case.claim.currency,
        price_per_trusted_wh=_price_per(price, trusted_wh),
        price_per_trusted_a=_price_per(price, trusted_a),
        open_figures=_open_figures(report),
        next_step=next((each.text for each in report.answer.ask_first), None),
    )


def _on_word(findings: Sequence[Finding]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for each in findings for name in each.said_by_seller))


def _price_per(price: Bounds | None, trusted: float) -> Bounds | None:
    return None if price is None or trusted <= 0 else price * (1 / trusted)


def _worst_grade(findings: Sequence[Finding]) -> str | None:
    """Return the worst grade that the compared figures rest on; None when one of them rests on none."""
    grades = [each.evidence for each in findings]
    if any(grade not in EVIDENCE_BEST_FIRST for grade in grades):
        return None
    return max(grades, key=EVIDENCE_BEST_FIRST.index)


def _wh_per_kg(report: Report, energy: Bounds) -> tuple[Bounds | None, str]:
    """Return the energy supported over the mass, and where the mass comes from. [Wh/kg]."""
    weighed, claimed = report.case.observed.mass_kg, report.case.claim.mass_kg
    mass, source = (weighed, "weighed") if weighed is not None else (claimed, "claimed")
    if mass is None:
        # Nobody has stated it: a pack weighs at least what its cells do.
        mass, source = report.finding("mass").supported, "cells alone"
    if not energy.known or mass.low <= 0:
        return None, ""
    return Bounds(0.0 if mass.high == inf else energy.low / mass.high, energy.high / mass.low), source


def _open_figures(report: Report) -> tuple[str, ...]:
    return tuple(
        each.figure
        for each in report.findings
        if each.verdict in _OPEN
        or each.sellers_word
        or (each.figure in COMPARED and each.supported.high > 0 and not report.grants(each))
    )
