"""The answer of each pack of a table, as a report opens with it: conclusion, sentence, worst figure, proof.

The sentence is that of a check, made from the same findings by the same words. A proof says on what a refusal
rests, surest first; what only a default temperature would refuse is refused by no figure.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from math import isfinite
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from registry.cells import Cells
from verifier.alarms import Alarm
from verifier.answer import Conclusion, told
from verifier.bounds import Bounds
from verifier.case.model import Case
from verifier.contradictions import Contradiction, excludes_itself, unlike_claimed, withdrawn
from verifier.contradictions.refuting import Refuted
from verifier.facts import YES
from verifier.figures.common import Judged
from verifier.finding import Could, Finding, RemarkWhere, remark
from verifier.pack.capacity import is_used
from verifier.pack.wear import gave_far_less
from verifier.possible_cells import ABOUT
from verifier.quantities import distinct
from verifier.questions import Language as Asking
from verifier.questions import best_first, in_words, questions
from verifier.screening import columns as table
from verifier.screening.able_cells import AbleCells
from verifier.screening.batch import TableFacts
from verifier.screening.columns import BESIDE, Column, fault_in_words
from verifier.screening.holding import Holding
from verifier.screening.result_table import Column as ResultColumn
from verifier.screening.result_table import ResultTable, Texts
from verifier.screening.results import (
    BY_CONTRADICTION,
    BY_NO_FIT,
    CONCLUSIONS,
    NO_BATTERY,
    PROOFS,
    UNREADABLE,
)
from verifier.screening.row_dangers import row_dangers
from verifier.screening.row_findings import (
    HARMLESS,
    HARMS,
    NO_PROOF,
    RowFindings,
)
from verifier.screening.words import row_text
from verifier.verdict import ON_SELLERS_WORD, REFUTED, Verdict, by_hearsay
from verifier.words import (
    ENGLISH,
    Language,
    alarm_text,
    contradiction_text,
    figure_name,
    in_language,
    in_places,
    refuted_sentence,
    remark_text,
    sentence,
    span,
    unlike_sentence,
)
from verifier.words.translated import in_readers_words

_PASSES = frozenset(
    {
        Conclusion.AS_ADVERTISED, Conclusion.WITHOUT_RESERVE, Conclusion.IF_SELLERS_WORD_HOLDS,
        Conclusion.NOTHING_CLAIMED,
    }
)  # fmt: skip
TEXTS = (
    "conclusion", "sentence", "alarm", "danger", "contradiction", "worst_figure", "claimed", "supported", "proof",
    "questions", "not_read",
)  # fmt: skip
COLUMNS = ("pack", "severity", "harm", "margin_percent", *TEXTS)
"""The columns of an answer: ``pack`` is which of its listing's, such as "1 of 2"; ``harm`` is 0 where an alarm or a
danger holds, else one more than the place in `verifier.screening.row_findings.HARMS` of what is refuted."""
ENDANGERS = 0
# Of which verdicts a sentence without numbers names the figures.
_NAMED: dict[Conclusion, tuple[Verdict, ...]] = {
    Conclusion.NOT_SETTLED: (Verdict.NOT_SETTLED, Verdict.CHECK_FAILED),
    Conclusion.IF_SELLERS_WORD_HOLDS: tuple(ON_SELLERS_WORD),
    Conclusion.WITHOUT_RESERVE: (Verdict.HOLDS_WITHOUT_RESERVE,),
    Conclusion.AS_ADVERTISED: tuple(each for each in Verdict if each is not Verdict.NOT_CLAIMED),
}
# A sentence that may name what only hearsay lets pass.
_MAY_BE_QUOTED = Conclusion.NOT_SETTLED
_CONCLUSIONS = tuple(Conclusion)
_CODES = {conclusion: code for code, conclusion in enumerate(_CONCLUSIONS)}
_MOST_KEPT = 20_000
# Packs whose findings are held at once.
_AT_ONCE = 2_000


class Answers:
    """Makes the answers of the packs of one table after another; sentences without numbers are made once."""

    def __init__(
        self,
        registry: Cells,
        asking: Asking | None = None,
        language: Language = ENGLISH,
        most: int | None = None,
    ) -> None:
        self.registry, self.asking, self.language, self.most = registry, asking, language, most
        self.able = AbleCells(registry)
        self.registered = registry.count
        self._sentences: dict[tuple[Any, ...], str] = {}

    def sentence_of(self, key: tuple[Any, ...]) -> str | None:
        """Return the sentence that was made for packs of a kind."""
        return self._sentences.get(key)

    def keep(self, key: tuple[Any, ...], text: str) -> str:
        """Keep the sentence of packs of a kind, and return it."""
        if len(self._sentences) >= _MOST_KEPT:
            self._sentences.clear()
        self._sentences[key] = text
        return text


class _Kinds(NamedTuple):
    """What a sentence hangs on beside the findings, for each pack: see `verifier.words.sentence`."""

    used: NDArray[np.bool_]
    gave_far_less: NDArray[np.bool_]
    unreadable: NDArray[np.bool_]

    @classmethod
    def of(cls, facts: TableFacts) -> _Kinds:
        """Return it for the packs of a table."""
        unreadable = facts.choice("observed.cell.marking_unreadable") == YES
        found = (is_used(facts), gave_far_less(facts), unreadable)
        return cls(*(np.broadcast_to(np.asarray(each), (facts.count,)) for each in found))


class RowAnswers:
    """The answers of the packs of one table."""

    def __init__(self, answers: Answers, count: int, stated: Sequence[Column]) -> None:
        self._answers, self._stated, self.count = answers, stated, count
        self._texts: dict[str, list[str | None]] = {name: [None] * count for name in TEXTS}
        self._severity = [CONCLUSIONS.index(UNREADABLE) + 1] * count
        self._harm = [HARMLESS] * count
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
        found = RowFindings(judged, len(rows), facts.air, facts.charging_air)
        remarks = Holding(len(rows), warned, self._alarm)
        clashes = Holding(len(rows), against, self._contradiction)
        could = self._could(facts, found, conclusions)
        known = np.broadcast_to(facts.cell.known, (len(rows),))
        kinds = _Kinds.of(facts)
        proofs = np.where(clashes.where(unlike_claimed), PROOFS.index(BY_NO_FIT), NO_PROOF)
        proofs = np.minimum(found.proofs(known), proofs)
        proofs[clashes.where(excludes_itself)] = PROOFS.index(BY_CONTRADICTION)
        names = [*PROOFS, None]
        dangers = Holding(len(rows), row_dangers(facts, judged, warned), self._danger)
        said: dict[str, Sequence[str | None]] = {
            "conclusion": [CONCLUSIONS[code] for code in conclusions.tolist()],
            "sentence": self._with_dangers(
                self._sentences(found, conclusions, remarks, clashes, could, kinds), dangers
            ),
            "alarm": remarks.joined(),
            "danger": dangers.joined(),
            "contradiction": clashes.joined(),
            "proof": [names[code] for code in proofs.tolist()],
        }
        if self._answers.asking is not None:
            said["questions"] = self._questions(
                self._answers.asking, rows, found, conclusions, clashes, could
            )
        places = rows.tolist()
        for name, texts in said.items():
            column = self._texts[name]
            for row, text in zip(places, texts, strict=True):
                column[row] = text
        for row, code in zip(places, conclusions.tolist(), strict=True):
            self._severity[row] = code + 1
        self._put_worst(rows, found, clashes)
        for place, pack in enumerate(places):
            if dangers.of(place) or conclusions[place] == _CODES[Conclusion.DO_NOT_USE]:
                self._harm[pack] = ENDANGERS

    def _alarm(self, each: Alarm, numbers: Mapping[str, Any]) -> str:
        warned = remark(each.code, **numbers)
        return in_language(lambda language: alarm_text(warned, language), self._answers.language)

    def _contradiction(self, each: Contradiction, numbers: Mapping[str, Any]) -> str:
        return in_language(
            lambda language: contradiction_text(each.code, numbers, language), self._answers.language
        )

    def _danger(self, each: RemarkWhere, numbers: Mapping[str, Any]) -> str:
        warned = remark(each.code, *each.fields, **numbers)
        return in_language(lambda language: remark_text(warned, language), self._answers.language)

    def _with_dangers(self, sentences: Sequence[str], dangers: Holding[RemarkWhere]) -> list[str]:
        """Return sentences with what each pack is warned of: who reads no more must not miss it."""
        return [
            row_text("beware", self._answers.language, sentence=text, dangers="; ".join(each))
            if each
            else text
            for text, each in zip(sentences, dangers.texts(), strict=True)
        ]

    def _could(
        self, facts: TableFacts, found: RowFindings, conclusions: NDArray[np.int64]
    ) -> dict[int, Could]:
        """Return which cells could be in the packs of which it cannot be told yet what a cell limits, by pack."""
        about = [found.figures.index(figure) for figure in ABOUT]
        open_ = found.among(*_NAMED[Conclusion.NOT_SETTLED])[about].any(axis=0)
        packs = np.flatnonzero(open_ & (conclusions == _CODES[Conclusion.NOT_SETTLED]))
        if not len(packs):
            return {}
        # What is refuted concludes otherwise.
        able = self._answers.able.of(facts, packs, np.zeros(len(packs), dtype=bool))
        return {pack: each for pack, each in zip(packs.tolist(), able, strict=True) if each is not None}

    def _sentences(
        self,
        found: RowFindings,
        conclusions: NDArray[np.int64],
        warned: Holding[Alarm],
        against: Holding[Contradiction],
        could: Mapping[int, Could],
        kinds: _Kinds,
    ) -> list[str]:
        texts = [""] * found.count
        for code in np.unique(conclusions).tolist():
            conclusion, packs = _CONCLUSIONS[code], np.flatnonzero(conclusions == code)
            if conclusion is Conclusion.NOT_AS_ADVERTISED:
                made = self._refuted(found, packs, against, kinds.unreadable)
            else:
                made = self._without_numbers(conclusion, found, packs, warned, against, could, kinds)
            for pack, text in zip(packs.tolist(), made, strict=True):
                texts[pack] = text
        return texts

    def _refuted(
        self,
        found: RowFindings,
        packs: NDArray[np.int64],
        against: Holding[Contradiction],
        unreadable: NDArray[np.bool_],
    ) -> list[str]:
        """Return the sentences of packs that are not as advertised: every one has its own numbers."""
        registered = self._answers.registered
        counts = found.told.sum(axis=0)[packs]
        some = packs[counts > 0]
        shortest = found.most_short()
        worst = iter(found.at(shortest[some], some))
        unlike = against.first_texts(unlike_claimed)

        def others(pack: int) -> list[str]:
            refuted = np.flatnonzero(found.told[:, pack]).tolist()
            return [found.figures[each] for each in refuted if each != shortest[pack]]

        def said(pack: int, finding: Finding | None, language: Language) -> str:
            if finding is None:
                return unlike_sentence(unlike[pack], registered, language, unreadable=bool(unreadable[pack]))
            return refuted_sentence(
                finding, others(pack), registered, language, unreadable=bool(unreadable[pack])
            )

        return [
            in_language(partial(said, pack, next(worst) if count else None), self._answers.language)
            for pack, count in zip(packs.tolist(), counts.tolist(), strict=True)
        ]

    def _without_numbers(
        self,
        conclusion: Conclusion,
        found: RowFindings,
        packs: NDArray[np.int64],
        warned: Holding[Alarm],
        against: Holding[Contradiction],
        could: Mapping[int, Could],
        kinds: _Kinds,
    ) -> list[str]:
        """Return sentences that only name what they are about: those of packs of one kind are made once."""
        names = [*found.figures, *(f"{each} by hearsay" for each in found.figures)]
        hearsay = by_hearsay(found.verdicts, found.grades)
        masks = [
            *found.among(*_NAMED.get(conclusion, ())),
            *(hearsay if conclusion is _MAY_BE_QUOTED else []),
        ]
        if conclusion is Conclusion.DO_NOT_USE:
            names, masks = [each.code for each in warned.kinds], warned.holds
        elif conclusion is Conclusion.CONTRADICTS_ITSELF:
            # It names the figures that are refuted too.
            names = [*(each.code for each in against.kinds), *found.figures]
            masks = [*against.holds, *found.told]
        elif conclusion is Conclusion.NOT_SETTLED:
            names = [*names, "withdrawn", "gave far less"]
            masks = [*masks, against.where(withdrawn), kinds.gave_far_less]
        able = [could.get(pack) for pack in packs.tolist()]
        # The sentence names what only the seller says.
        by_word = conclusion is Conclusion.IF_SELLERS_WORD_HOLDS
        said = found.said[packs] if by_word else np.zeros(len(packs), dtype=np.int64)
        first, which = distinct(
            [
                np.unique(said, return_inverse=True)[1],
                kinds.used[packs],
                kinds.unreadable[packs],
                *(mask[packs] for mask in masks),
                np.array([-1 if each is None else each.registered_able for each in able]),
                np.array([-1 if each is None else each.registered_possible for each in able]),
            ]
        )
        keys = [
            (
                conclusion,
                tuple(name for name, mask in zip(names, masks, strict=False) if mask[pack]),
                able[place],
                int(said[place]),
                bool(kinds.used[pack]),
                bool(kinds.unreadable[pack]),
            )
            for place, pack in zip(first.tolist(), packs[first].tolist(), strict=True)
        ]
        kept = [self._answers.sentence_of(key) for key in keys]
        texts = {place: text for place, text in enumerate(kept) if text is not None}
        new = [place for place in range(len(keys)) if place not in texts]
        for start in range(0, len(new), _AT_ONCE):
            places = new[start : start + _AT_ONCE]
            some = packs[first[places]]
            for place, pack, findings in zip(
                places, some.tolist(), _with_could(found, some, could, whole=by_word), strict=True
            ):
                # It names alarms and contradictions by their codes alone.
                alarms = [remark(each.code) for each in warned.of(pack)]
                said_of = partial(
                    sentence, conclusion, findings, alarms, told(against.of(pack)), self._answers.registered,
                    used=bool(kinds.used[pack]), gave_far_less=bool(kinds.gave_far_less[pack]),
                    unreadable=bool(kinds.unreadable[pack]),
                )  # fmt: skip
                text = in_language(partial(_spoken, said_of), self._answers.language)
                texts[place] = self._answers.keep(keys[place], text)
        return [texts[kind] for kind in which.tolist()]

    def _put_worst(
        self, rows: NDArray[np.int64], found: RowFindings, against: Holding[Contradiction]
    ) -> None:
        worst = found.worst()
        contradicting = against.where(lambda each: excludes_itself(each) or unlike_claimed(each))
        # Of statements that exclude each other a figure that nothing refutes says nothing.
        worst[contradicting & ~found.refuted.any(axis=0)] = -1
        packs = np.flatnonzero(worst >= 0)
        best = dict(zip(packs.tolist(), found.at(worst[packs], packs), strict=True))
        for pack in sorted({*packs.tolist(), *np.flatnonzero(contradicting).tolist()}):
            finding = best.get(pack)
            shown = None
            if finding is not None and finding.claimed is not None:
                shown = Refuted(
                    finding.figure, finding.claimed, finding.supported, finding.unit, shown_margin(finding)
                )
            refuted = finding is not None and finding.verdict in REFUTED
            for each in (
                _with_claims(found, pack, against.refuted.get(pack, ())) if contradicting[pack] else ()
            ):
                if shown is None or _shown_before(each, shown):
                    shown, refuted = each, True
            if shown is not None:
                self._show(int(rows[pack]), shown, refuted=refuted)

    def _show(self, row: int, shown: Refuted, *, refuted: bool) -> None:
        def written(bounds: Bounds | None) -> str | None:
            return None if bounds is None else in_language(partial(span, bounds, shown.unit), language)

        language = self._answers.language
        self._texts["worst_figure"][row] = in_language(partial(figure_name, shown.figure), language)
        self._texts["claimed"][row] = written(shown.claimed)
        self._texts["supported"][row] = written(shown.supported)
        self._margin[row] = None if shown.margin_percent is None else round(shown.margin_percent, 1)
        if refuted:
            self._harm[row] = 1 + HARMS[shown.figure]

    def _questions(
        self,
        asking: Asking,
        rows: NDArray[np.int64],
        found: RowFindings,
        conclusions: NDArray[np.int64],
        against: Holding[Contradiction],
        could: Mapping[int, Could],
    ) -> list[str | None]:
        texts: list[str | None] = [None] * found.count
        packs = np.flatnonzero(conclusions != _CODES[Conclusion.AS_ADVERTISED])
        for start in range(0, len(packs), _AT_ONCE):
            some = packs[start : start + _AT_ONCE]
            for pack, findings in zip(
                some.tolist(), _with_could(found, some, could, whole=True), strict=True
            ):
                case = Case.model_validate(table.stated(self._stated, int(rows[pack])))
                clashes = [each.of_pack(pack) for each in against.of(pack)]
                wanted = best_first(questions(findings, clashes, case), ())[: self._answers.most]
                asked = in_words(wanted, asking)
                texts[pack] = "\n".join(f"{number}. {text}" for number, text in enumerate(asked, 1)) or None
        return texts

    def spoilt(self, notes: Sequence[str | None]) -> None:
        """Note what could not be read of rows: what was not read is no pass."""
        for row, english in enumerate(notes):
            note = english and BESIDE.join(
                in_readers_words(each, self._answers.language) for each in english.split(BESIDE)
            )
            self._texts["not_read"][row] = note
            if note and self._texts["conclusion"][row] in _PASSES:
                self._texts["conclusion"][row] = str(Conclusion.NOT_SETTLED)
                self._severity[row] = CONCLUSIONS.index(Conclusion.NOT_SETTLED) + 1
                self._texts["sentence"][row] = row_text("not_all_read", self._answers.language, note=note)

    def no_pack(self, offered: Sequence[str | None]) -> None:
        """Note the rows that offer something else than a pack."""
        for row, thing in enumerate(offered):
            # Its claims were left out; what else was found, such as an alarm, stands.
            nothing = (Conclusion.NOTHING_CLAIMED, Conclusion.NOT_SETTLED)
            if thing is not None and self._texts["conclusion"][row] in nothing:
                self._texts["conclusion"][row] = NO_BATTERY
                self._severity[row] = CONCLUSIONS.index(NO_BATTERY) + 1
                offers = in_readers_words(thing, self._answers.language)
                self._texts["sentence"][row] = row_text("no_pack", self._answers.language, thing=offers)
                self._texts["not_read"][row] = None

    def placed(self, places: Sequence[Mapping[str, tuple[str, str]] | None]) -> None:
        """Say in which place of a row each of two numbers stands."""
        for row, found in enumerate(places):
            text = self._texts["contradiction"][row]
            for field, (lower, higher) in (found or {}).items():
                if text:
                    text = in_places(text, field, lower, higher)
            self._texts["contradiction"][row] = text

    def unreadable(self, faults: Sequence[str | None]) -> None:
        """Note the rows that were not judged, and why."""
        for row, fault in enumerate(faults):
            if fault is not None:
                self._texts["conclusion"][row] = UNREADABLE
                self._texts["sentence"][row] = row_text(
                    "not_judged",
                    self._answers.language,
                    fault=in_readers_words(fault, self._answers.language),
                )

    def table(self, packs: NDArray[np.int64], of: NDArray[np.int64]) -> ResultTable:
        """Return the answers as columns; ``packs`` is which of its listing's packs each row is, from 1."""
        which = [
            row_text("pack_of", self._answers.language, pack=pack, count=count) if count > 1 else None
            for pack, count in zip(packs.tolist(), of.tolist(), strict=True)
        ]
        columns: list[ResultColumn] = [
            Texts.of(which), np.array(self._severity, dtype=np.int64), np.array(self._harm, dtype=np.int64),
            np.array(self._margin, dtype=np.float64), *(Texts.of(self._texts[name]) for name in TEXTS),
        ]  # fmt: skip
        return ResultTable(dict(zip(COLUMNS, columns, strict=True)))


def _spoken(said: Callable[..., str], language: Language) -> str:
    return said(language=language)


def _with_claims(found: RowFindings, pack: int, refuted: Sequence[Refuted]) -> list[Refuted]:
    """Return refuted claims, those of which a contradiction names no number with what is claimed of the figure."""
    whole = []
    for each in refuted:
        place = found.figures.index(each.figure)
        if each.claimed is None and found.claimed[place, pack]:
            (finding,) = found.at(np.array([place]), np.array([pack]))
            each = each._replace(claimed=finding.claimed, unit=finding.unit)
        whole.append(each)
    return whole


def _shown_before(first: Refuted, second: Refuted) -> bool:
    """Whether one refuted claim is told before another: what does more harm, what a value refutes, what lies farther.

    Margins of unlike figures are not compared unless both do the same harm.
    """

    def order(each: Refuted) -> tuple[int, bool, float]:
        margin = each.margin_percent
        # Two statements of one figure are told with both of them.
        return HARMS[each.figure], each.claimed is None, 0.0 if margin is None else margin

    return order(first) < order(second)


def _with_could(
    found: RowFindings, packs: NDArray[np.int64], could: Mapping[int, Could], *, whole: bool = False
) -> list[list[Finding]]:
    """Return the findings of some packs, with what their cells could be."""
    return [
        [
            replace(each, could=could[pack]) if pack in could and each.figure in ABOUT else each
            for each in findings
        ]
        for pack, findings in zip(packs.tolist(), found.of_packs(packs, whole=whole), strict=True)
    ]


def shown_margin(finding: Finding) -> float | None:
    """Return the margin to show [%]: what is missing at best where refuted, the least where it holds, else none."""
    margin = finding.margin_percent
    if margin is None or finding.verdict is Verdict.NOT_SETTLED:
        return None
    value = margin.high if finding.verdict in REFUTED else margin.low
    return round(value, 1) if isfinite(value) else None


def notes_of(
    columns: Sequence[Column], count: int, noted: Sequence[str | None] | None = None
) -> list[str | None]:
    """Return for each row what could not be read of its fields, None where nothing; what is noted already first."""
    found: list[list[str]] = [[each] if each else [] for each in noted or [None] * count]
    for column in columns:
        if column.faults:
            for row in np.flatnonzero(np.isin(column.codes, list(column.faults))).tolist():
                found[row].append(fault_in_words(column, column.faults[int(column.codes[row])]))
    return [BESIDE.join(each) or None for each in found]
