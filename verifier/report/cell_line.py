"""Which cells are inside, as far as anybody can tell, in words."""

from __future__ import annotations

from verifier.case_report import Report
from verifier.contradictions import withdrawn
from verifier.finding import Could
from verifier.possible_cells import NONE_EVER
from verifier.report.dangers import to_be_left_alone
from verifier.report.opening_texts import say
from verifier.verdict import REFUTED
from verifier.words import (
    Language,
    contradiction_text,
    evidence_name,
    joined,
    remark_text,
)

_NAMED_BY = {"observed.cell.marking": "by_wrapper", "observed.cell.id": "by_case"}
# Score of a suggestion whose name is the one that was read.
_SAME = 100.0


def unreadable(report: Report) -> bool:
    """Whether the wrappers of its cells are blank or scraped."""
    return bool(report.case.observed.cell.marking_unreadable)


def cell_text(report: Report, language: Language) -> str:
    """Return which cells are inside, as far as anybody can tell."""
    cells = _cell(report, language)
    return say("wrappers_scraped", language, cells=cells) if unreadable(report) else cells


def _cell(report: Report, language: Language) -> str:
    cell = report.cell
    if cell.id is not None:
        name = str(cell.name)
        whom = say(_NAMED_BY.get(cell.source, "by_seller"), language)
        gone = next((each for each in report.contradictions if withdrawn(each)), None)
        if gone is not None:
            why = contradiction_text(gone.code, gone.numbers, language)
            return say("cell_withdrawn", language, cell=name, whom=whom, why=why)
        if not cell.used:
            return say("cell_against", language, cell=name)
        return say(
            "cell_named", language, cell=name, whom=whom, evidence=evidence_name(cell.evidence, language)
        )
    if not report.registry.cells:
        return say("no_cells", language)
    fit = _cells_fit(report, language)
    if cell.suggestions and cell.suggestions[0].score >= _SAME and cell.notes:
        # The very name is registered, of a retired cell or of several: nothing is to be read again.
        return say(
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
        return say("closest", language, fit=fit, name=near[0])
    return say("as_close", language, fit=fit, names=joined(near, language))


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
        return say("cells_none_ever", language)
    if not report.cell.candidates:
        return say("cells_none_fit", language, cells=counts["cells"])
    if able is None:
        return say("cells_fit", language, **counts)
    if not able.registered_able:
        return say("cells_cannot", language, **counts)
    return say("cells_can", language, able=str(able.registered_able), **counts)
