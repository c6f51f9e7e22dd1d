"""The answer of each pack of a table, as a report opens with it: conclusion, sentence, worst figure, proof.

The sentence is that of a check, made from the same findings by the same words. A proof says on what a refusal
rests, surest first; what only a default temperature would refuse is refused by no figure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from math import inf, isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from registry.cells import Cells
from verifier.alarms import Alarm
from verifier.answer import Conclusion, told
from verifier.bounds import Bounds
from verifier.case.fields import case_fields
from verifier.case.model import Case
from verifier.cell_figures import TemperatureRange, chemistries_in
from verifier.contradictions import Contradiction, excludes_itself, unlike_claimed
from verifier.fact_names import GRADES, MISSING, RESTS_ON, SELLERS_WORD
from verifier.figures import FIGURES
from verifier.figures.common import Judged
from verifier.finding import Could, Finding
from verifier.pack.counts import parallel
from verifier.possible_cells import ABOUT, at_best, can_meet, grade_of, kg_a_cell
from verifier.questions import Language, in_words, questions
from verifier.screening import columns as table
from verifier.screening.batch import TableFacts
from verifier.screening.columns import Column
from verifier.screening.result_table import Column as ResultColumn
from verifier.screening.result_table import ResultTable, Texts
from verifier.verdict import CODE, MEANINGS, ON_SELLERS_WORD, REFUTED, VERDICTS, Claim, Verdict
from verifier.words import alarm_text, contradiction_text, figure_name, sentence, span

UNREADABLE = "unreadable"
CONCLUSIONS: tuple[str, ...] = (*(str(each) for each in Conclusion), UNREADABLE)
"""What a row comes to, worst first; its severity is its place, counted from 1."""
CONTRADICTION, NO_CELL, DATASHEET, PARTS, NO_FIT = (
    "contradiction", "no cell of its kind ever", "beyond the datasheets", "beyond its own parts", "does not fit",
)  # fmt: skip
PROOFS = (CONTRADICTION, NO_CELL, DATASHEET, PARTS, NO_FIT)
_OTHER_PARTS = frozenset(
    {"bms", "connector", "fuse", "leads", "take_off", "series_links", "charge_leads", "charger"}
)
_PASSES = frozenset(
    {
        Conclusion.AS_ADVERTISED, Conclusion.WITHOUT_RESERVE, Conclusion.IF_SELLERS_WORD_HOLDS,
        Conclusion.NOTHING_CLAIMED,
    }
)  # fmt: skip
TEXTS = (
    "conclusion", "sentence", "alarm", "contradiction", "worst_figure", "claimed", "supported", "proof", "questions",
    "not_read",
)  # fmt: skip
COLUMNS = ("pack", "severity", "margin_percent", *TEXTS)
"""The columns of an answer; ``pack`` is which of its listing's, such as "1 of 2"."""
BESIDE = " | "
"""Between several alarms, contradictions or values of one row, whose texts have semicolons of their own."""
_NOT_CLAIMED = CODE[Verdict.NOT_CLAIMED]
_MOST_KEPT = 100_000
# Packs whose findings are held at once.
_AT_ONCE = 2_000


class Answers:
    """Makes the answers of the packs of one table after another."""

    def __init__(self, registry: Cells, language: Language | None = None) -> None:
        self.registry, self.language = registry, language
        self._most: dict[tuple[Any, ...], tuple[NDArray[np.float64], ...]] = {}
        self._able: dict[tuple[Any, ...], Could] = {}

    def of(self, facts: TableFacts, row: int, findings: Sequence[Finding]) -> Could | None:
        """Return how many registered cells could meet the claims of one pack, as a check does; None for nothing."""
        count = float(np.broadcast_to(facts.find(parallel).high, (facts.count,))[row])
        if (
            bool(np.broadcast_to(facts.cell.known, (facts.count,))[row])
            or count == inf
            or not self.registry.count
        ):
            return None
        claims = {
            "capacity": _claim(facts.claim("capacity_ah"), row),
            "continuous_current": _claim(facts.claim("continuous_current_a"), row),
        }
        if not any(each.made for each in claims.values()):
            return None
        refuted = any(each.figure in ABOUT and each.verdict is Verdict.DOES_NOT_HOLD for each in findings)
        size, chemistries, air = facts.cell_asked(row)
        weighs_kg = tuple(float(np.broadcast_to(each, (facts.count,))[row]) for each in kg_a_cell(facts))
        key = (size, chemistries, air, count, weighs_kg, refuted, *(each for each in claims.values()))
        if key not in self._able:
            if len(self._able) > _MOST_KEPT:
                self._able.clear()
            best = self._at_best(size, chemistries, air, facts)
            able = int(np.sum(can_meet(claims, count, weighs_kg, best, facts.limits)))
            possible = len(best[0])
            self._able[key] = Could(able, possible, grade_of(able, possible, refuted))
        return self._able[key]

    def _at_best(
        self, size: str | None, chemistries: int, air: TemperatureRange, facts: TableFacts
    ) -> tuple[NDArray[np.float64], ...]:
        key = (size, chemistries, air)
        if key not in self._most:
            if len(self._most) > 1000:
                self._most.clear()
            possible = chemistries_in(chemistries)
            cells = [cell for cell in self.registry.fitting(size, None) if cell.chemistry in possible]
            found = np.array([at_best(cell, air, facts.limits) for cell in cells]).reshape(len(cells), 4)
            self._most[key] = tuple(found.T)
        return self._most[key]


def _claim(claim: Claim, row: int) -> Claim:
    made = claim.made if isinstance(claim.made, bool) else bool(claim.made[row])
    return Claim(float(_at(claim.low, row)), float(_at(claim.high, row)), made)


def _at(value: Any, row: int) -> Any:
    """Return one row of a value that may be a column."""
    return value[row].item() if isinstance(value, np.ndarray) else value


class RowAnswers:
    """The answers of the packs of one table."""

    def __init__(self, answers: Answers, count: int, stated: Sequence[Column]) -> None:
        self._answers, self._stated, self.count = answers, stated, count
        self._texts: dict[str, list[str | None]] = {name: [None] * count for name in TEXTS}
        self._severity = [len(CONCLUSIONS)] * count
        self._margin: list[float | None] = [None] * count

    def put(
        self,
        rows: NDArray[np.int64],
        facts: TableFacts,
        judged: Mapping[str, Judged],
        warned: Sequence[Alarm],
        against: Sequence[Contradiction],
        conclusions: NDArray[np.int64],
    ) -> None:
        """Note the answers of some rows, by what was found of them.

        Parameters
        ----------
        rows, conclusions : array of shape (n,)
            Which rows, and the place of the conclusion of each in `Conclusion`.
        facts
            What is known of these rows.
        """
        known = np.broadcast_to(facts.cell.known, (len(rows),)).tolist()
        for start in range(0, len(rows), _AT_ONCE):
            piece = range(start, min(start + _AT_ONCE, len(rows)))
            for at, findings in zip(piece, findings_of(judged, len(rows), piece), strict=True):
                found = [each for each in warned if _at(each.holds, at)]
                excluded = [each for each in against if _at(each.holds, at)]
                self._answer(at, int(rows[at]), facts, findings, found, excluded, conclusions[at], known[at])

    def _answer(
        self,
        at: int,
        row: int,
        facts: TableFacts,
        findings: list[Finding],
        warned: Sequence[Alarm],
        against: Sequence[Contradiction],
        concluded: int,
        known: bool,
    ) -> None:
        conclusion = CONCLUSIONS[concluded]
        if conclusion == Conclusion.NOT_SETTLED:
            findings = self._with_could(facts, at, findings)
        remarks = [_of_row(each, at).remark for each in warned]
        contradicted = [_of_row(each, at) for each in against]
        itself = any(map(excludes_itself, contradicted))
        said: dict[str, str | None] = {
            "conclusion": conclusion,
            "sentence": sentence(
                conclusion, findings, remarks, told(contradicted), self._answers.registry.count
            ),
            "alarm": BESIDE.join(map(alarm_text, remarks)) or None,
            "contradiction": BESIDE.join(contradiction_text(each.code, each.numbers) for each in contradicted)
            or None,
            "proof": proof_of(findings, known, contradicts=itself)
            or (NO_FIT if any(map(unlike_claimed, contradicted)) else None),
            "questions": self._questions(row, conclusion, findings, contradicted),
        }
        self._put(row, said, worst_of(findings))

    def _put(self, row: int, said: Mapping[str, str | None], worst: Finding | None) -> None:
        for name, text in said.items():
            self._texts[name][row] = text
        self._severity[row] = CONCLUSIONS.index(said["conclusion"] or UNREADABLE) + 1
        if worst is None or worst.claimed is None:
            return
        self._texts["worst_figure"][row] = figure_name(worst.figure)
        self._texts["claimed"][row] = span(worst.claimed, worst.unit)
        self._texts["supported"][row] = span(worst.supported, worst.unit)
        self._margin[row] = shown_margin(worst)

    def _with_could(self, facts: TableFacts, at: int, findings: list[Finding]) -> list[Finding]:
        could = self._answers.of(facts, at, findings)
        return [
            replace(each, could=could) if could is not None and each.figure in ABOUT else each
            for each in findings
        ]

    def _questions(
        self, row: int, conclusion: str, findings: Sequence[Finding], against: Sequence[Contradiction]
    ) -> str | None:
        language = self._answers.language
        if language is None or conclusion == Conclusion.AS_ADVERTISED:
            return None
        case = Case.model_validate(table.stated(self._stated, row))
        asked = in_words(questions(findings, against, case), language)
        return "\n".join(f"{number}. {text}" for number, text in enumerate(asked, 1)) or None

    def spoilt(self, notes: Sequence[str | None]) -> None:
        """Note what could not be read of rows: what was not read is no pass."""
        for row, note in enumerate(notes):
            self._texts["not_read"][row] = note
            if note and self._texts["conclusion"][row] in _PASSES:
                self._texts["conclusion"][row] = str(Conclusion.NOT_SETTLED)
                self._severity[row] = CONCLUSIONS.index(Conclusion.NOT_SETTLED) + 1
                self._texts["sentence"][row] = (
                    f"Cannot tell yet: not all that is stated could be read ({note})."
                )

    def unreadable(self, faults: Sequence[str | None]) -> None:
        """Note the rows that were not judged, and why."""
        for row, fault in enumerate(faults):
            if fault is not None:
                self._texts["conclusion"][row] = UNREADABLE
                self._texts["sentence"][row] = f"Not judged: {fault}."

    def table(self, packs: NDArray[np.int64], of: NDArray[np.int64]) -> ResultTable:
        """Return the answers as columns; ``packs`` is which of its listing's packs each row is, from 1."""
        which = [
            f"{pack} of {count}" if count > 1 else None
            for pack, count in zip(packs.tolist(), of.tolist(), strict=True)
        ]
        columns: list[ResultColumn] = [
            Texts.of(which), np.array(self._severity, dtype=np.int64), np.array(self._margin, dtype=np.float64),
            *(Texts.of(self._texts[name]) for name in TEXTS),
        ]  # fmt: skip
        return ResultTable(dict(zip(COLUMNS, columns, strict=True)))


def _of_row(each: Any, at: int) -> Any:
    """Return an alarm or a contradiction of a column as that of one of its packs."""
    return replace(each, holds=True, numbers={name: _at(value, at) for name, value in each.numbers.items()})


@cache
def _missing(names: int) -> tuple[str, ...]:
    return MISSING.in_words(names)


def findings_of(judged: Mapping[str, Judged], count: int, rows: range) -> list[list[Finding]]:
    """Return the findings on what each of some packs claims, as a check makes them but for how they were found.

    Parameters
    ----------
    judged
        The answer of each figure for ``count`` packs.
    rows
        Which packs.
    """
    found: list[list[Finding]] = [[] for _ in rows]
    for figure, answer in judged.items():
        entry, outcome, supported = FIGURES[figure], answer.outcome, answer.supported
        verdicts = np.broadcast_to(outcome.verdict, (count,))
        places = rows.start + np.flatnonzero(verdicts[rows.start : rows.stop] != _NOT_CLAIMED)
        if not len(places):
            continue
        columns = [
            np.broadcast_to(each, (count,))[places].tolist()
            for each in (
                outcome.verdict, answer.limited_by, answer.claim.made, answer.claim.low, answer.claim.high,
                supported.low, supported.high, outcome.margin_low_percent, outcome.margin_high_percent,
                supported.missing, supported.rests_on, supported.grade,
            )
        ]  # fmt: skip
        for at, code, limit, made, low, high, least, most, under, over, missing, rests, grade in zip(
            places.tolist(), *columns, strict=True
        ):
            verdict = VERDICTS[code]
            found[at - rows.start].append(
                Finding(
                    figure, entry.unit, Bounds(low, high) if made else None, Bounds(least, most), verdict,
                    margin_percent=None if under != under else Bounds(under, over),
                    limited_by=entry.limits[limit] if limit >= 0 and entry.limits else None,
                    evidence=GRADES[int(grade)] or None,
                    unknown=() if verdict in REFUTED else _missing(missing),
                    sellers_word=RESTS_ON.in_words(rests & SELLERS_WORD) if verdict in ON_SELLERS_WORD else (),
                )
            )  # fmt: skip
    return found


def worst_of(findings: Sequence[Finding]) -> Finding | None:
    """Return the finding that speaks most against a pack: by verdict, of equals by what is short."""

    def order(each: Finding) -> tuple[int, float]:
        margin = each.margin_percent
        if margin is None:
            return MEANINGS[each.verdict].rank, inf
        return MEANINGS[each.verdict].rank, margin.high if each.verdict in REFUTED else margin.low

    return min(findings, key=order, default=None)


def shown_margin(finding: Finding) -> float | None:
    """Return the margin to show [%]: what is missing at best where refuted, the least where it holds, else none."""
    margin = finding.margin_percent
    if margin is None or finding.verdict is Verdict.NOT_SETTLED:
        return None
    value = margin.high if finding.verdict in REFUTED else margin.low
    return round(value, 1) if isfinite(value) else None


def proof_of(findings: Sequence[Finding], cell_known: bool, *, contradicts: bool) -> str | None:
    """Return on what a refusal rests, the surest first; None where nothing is refused."""
    if contradicts:
        return CONTRADICTION
    found = {_proof(each, cell_known) for each in findings if each.verdict in REFUTED}
    return next((each for each in PROOFS if each in found), None)


def _proof(finding: Finding, cell_known: bool) -> str:
    if finding.verdict is Verdict.INCONSISTENT:
        return NO_FIT
    if finding.limited_by in _OTHER_PARTS:
        return PARTS
    return DATASHEET if cell_known else NO_CELL


def notes_of(columns: Sequence[Column], count: int) -> list[str | None]:
    """Return for each row what could not be read of its fields, None where nothing."""
    found: list[list[str]] = [[] for _ in range(count)]
    for column in columns:
        if column.faults:
            known = case_fields().get(column.field.name)
            words = known.words if known is not None else column.field.name
            for row in np.flatnonzero(np.isin(column.codes, list(column.faults))).tolist():
                fault = column.faults[int(column.codes[row])]
                # What would be right helps whoever types, and not whoever reads a result.
                said = fault.removeprefix(column.field.name).strip().partition("; write ")[0]
                found[row].append(f"{words}: {said}")
    return [BESIDE.join(each) or None for each in found]
