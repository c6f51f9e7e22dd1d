"""Judging a table of listings: columns in, one result row a listing out, by the figures of a check."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import reduce
from math import isnan
from typing import Any

import numpy as np
from numpy.typing import NDArray

from registry.cells import Cells, InMemory
from registry.errors import PlacedError
from verifier.alarms import alarms
from verifier.answer import Conclusion
from verifier.case.limits import Limits
from verifier.cell_inside import NAMING_FIELDS, Inside, Naming, named_inside
from verifier.contradictions import Contradiction, contradictions, disputed, excludes_itself, unlike_claimed
from verifier.fact_names import MISSING, RESTS_ON, SELLERS_WORD
from verifier.figures import FIGURES
from verifier.figures.common import Judged
from verifier.quantities import distinct, either
from verifier.report.as_json import number
from verifier.screening import columns as table
from verifier.screening.batch import CellCache, Named, TableFacts
from verifier.screening.columns import Column
from verifier.screening.listings import Packs, expand, states_in_words, worst_rows
from verifier.screening.result_table import Column as ResultColumn
from verifier.screening.result_table import ResultTable, Texts
from verifier.screening.results import NUMBERS, PARTS, READABLE, TEXTS, column_names, reason
from verifier.screening.row_answers import Answers, RowAnswers, notes_of
from verifier.verdict import CODE, MEANINGS, ON_SELLERS_WORD, REFUTED, VERDICTS, Verdict, by_hearsay

# Distinct namings of a cell that are kept.
_MOST_NAMED = 20_000
# Texts whose packs are kept: each takes some kilobytes, and few stand twice.
_MOST_TEXTS = 5_000
_POSITIONS = "observed.take_off.positions"
_POWERS_OF_TEN = np.array([10.0**power for power in range(23)])
_CONCLUSIONS = tuple(Conclusion)


class Screener:
    """Judges tables of listings against one registry.

    Parameters
    ----------
    registry : Cells
        The cells and sheets to judge by.
    limits : Limits, optional
        The limits in force.
    """

    FAULT = table.FAULT

    def __init__(self, registry: Cells, limits: Limits | None = None) -> None:
        self.registry = InMemory.copy_of(registry)
        self.limits = limits or Limits()
        self.cells = CellCache(self.limits)
        self._readers: dict[str, table.ColumnReader] = {}
        self._named: dict[Naming, Inside | str] = {}
        self._lines: dict[str, Packs] = {}

    def screen(self, columns: Mapping[str, Sequence[Any]], first_row: int) -> ResultTable:
        """Judge rows, each as `verifier.judge.judge` would.

        Parameters
        ----------
        columns : mapping of column name to n_rows values
            Fields of a case by dotted name, `text` for a listing as written, `FAULT` for what was wrong with
            a row already; other columns are not looked at. ``None`` and empty text state nothing.
        first_row : int
            Number of the first row.

        Returns
        -------
        ResultTable
            n_rows rows in the same order, with the columns of `verifier.screening.results.column_names`.
        """
        return self._table(columns).judged(first_row)

    def answers(
        self, columns: Mapping[str, Sequence[Any]], first_row: int, answers: Answers
    ) -> tuple[ResultTable, ResultTable]:
        """Judge rows as `screen` does, a row for every pack of a listing, with the answer of each.

        A value that cannot be read states nothing: its row is judged without it, says so and is no pass.

        Returns
        -------
        pair of ResultTable
            What was found, in the columns of `verifier.screening.results.column_names`, and the answers, in those
            of `verifier.screening.row_answers.COLUMNS`. The rows of a listing share their number.
        """
        return self._table(columns, spoil=True).answered(first_row, answers)

    def _table(self, columns: Mapping[str, Sequence[Any]], *, spoil: bool = False) -> _Table:
        listing = np.arange(len(next(iter(columns.values()), ())))
        if states_in_words(columns):
            if len(self._lines) > _MOST_TEXTS:
                self._lines.clear()
            expanded = expand(columns, self.registry, self._lines)
            columns, listing = expanded.columns, expanded.listing
        columns = table.with_counts(columns)
        stated = [self._reader(name).read(raw) for name, raw in columns.items() if name in table.fields()]
        already = columns.get(self.FAULT) or [None] * len(listing)
        if not spoil and (noted := columns.get(table.NOTE)):
            already = [fault or note for fault, note in zip(already, noted, strict=True)]
        faults = table.faults(stated, already, spoil=spoil)
        return _Table(self, stated, faults, listing, columns)

    def _reader(self, name: str) -> table.ColumnReader:
        if name not in self._readers:
            self._readers[name] = table.ColumnReader(name)
        return self._readers[name]

    def inside(self, naming: Naming) -> Inside | str:
        """Return which cell is inside by what a row says of it, or why a check refuses it."""
        found = self._named.get(naming)
        if found is None:
            if len(self._named) > _MOST_NAMED:
                self._named.clear()
            try:
                found = named_inside(naming, self.registry, suggest=False)
            except PlacedError as error:
                found = str(error)
            self._named[naming] = found
        return found


def as_reported(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return numbers as `verifier.report.as_json.number` reports them: to twelve digits, exactly.

    A whole number of twelve digits over a power of ten is what the decimal number reads as. Only where the
    thirteenth digit all but lies in the middle the product cannot tell which way to round; those few, and
    numbers far out, are reported one by one.
    """
    found = values.copy()
    usual = np.isfinite(values) & (np.abs(values) >= 1e-9) & (np.abs(values) < 1e11)
    sizes = np.abs(values[usual])
    scale = _POWERS_OF_TEN[11 - np.floor(np.log10(sizes)).astype(np.int64)]
    scaled = sizes * scale
    sure = (np.abs(scaled % 1 - 0.5) > 1e-3) & (scaled >= 1e11) & (scaled < 999_999_999_999)
    places = np.flatnonzero(usual)
    found[places[sure]] = np.copysign(np.rint(scaled[sure]) / scale[sure], values[places[sure]])
    unsure = np.isfinite(values)
    unsure[places[sure]] = False
    unsure &= values != 0
    found[unsure] = [number(each) for each in values[unsure].tolist()]
    return found


class _Table:
    """The packs of one table, read; a listing with a fault is not judged."""

    def __init__(
        self,
        screener: Screener,
        stated: Sequence[Column],
        faults: list[str | None],
        listing: NDArray[np.int64],
        columns: Mapping[str, Sequence[Any]],
    ) -> None:
        self.noted, self.no_pack, self.places = (
            columns.get(name) for name in (table.NOTE, table.NO_PACK, table.PLACES)
        )
        self.screener, self.stated, self.faults, self.listing = screener, stated, faults, listing
        self.count = len(faults)
        self._answers = {figure: _Answers(self.count, figure) for figure in FIGURES}
        self._whole = _Whole(self.count)
        self._said: RowAnswers | None = None

    def judged(self, first_row: int) -> ResultTable:
        """Return what was found, a row a listing."""
        read = self._judge_all()
        rows = np.arange(first_row, first_row + len(read))
        return self._found(rows, read, np.bincount(self.listing, minlength=len(read)), self.listing)

    def answered(self, first_row: int, answers: Answers) -> tuple[ResultTable, ResultTable]:
        """Return what was found and the answers, a row a pack."""
        said = self._said = RowAnswers(answers, self.count, self.stated)
        notes = notes_of(self.stated, self.count, self.noted)
        of_listing = self._judge_all()
        said.spoilt(notes)
        said.no_pack(self.no_pack or ())
        said.placed(self.places or ())
        read = [of_listing[each] for each in self.listing.tolist()]
        said.unreadable([None if each == READABLE else each for each in read])
        packs = np.bincount(self.listing, minlength=len(of_listing))
        starts = np.cumsum(packs) - packs
        found = self._found(first_row + self.listing, read, packs[self.listing], np.arange(self.count))
        return found, said.table(np.arange(self.count) - starts[self.listing] + 1, packs[self.listing])

    def _judge_all(self) -> list[str]:
        """Judge every pack that can be; return for every listing that it was read, or why not."""
        named = self._named()
        self._refuse_positions()
        read = self._read()
        good = np.flatnonzero((np.array(read, dtype=object) == READABLE)[self.listing])
        for rows, positions in self._by_positions(good):
            self._judge(rows, positions, named)
        return read

    def _found(
        self, rows: NDArray[np.int64], read: list[str], packs: NDArray[np.int64], group: NDArray[np.int64]
    ) -> ResultTable:
        columns: list[ResultColumn] = [rows, Texts.of(read), packs, *self._whole.columns(group)]
        for figure in FIGURES:
            columns += self._answers[figure].columns(group)
        return ResultTable(dict(zip(column_names(), columns, strict=True)))

    def _judge(
        self,
        rows: NDArray[np.int64],
        positions: tuple[int, ...],
        named: Named,
    ) -> None:
        columns = {column.field.name: column.of(rows) for column in self.stated}
        stated = TableFacts(
            columns, len(rows), Named(named.inside, named.which[rows]), self.screener.cells, positions
        )
        against = contradictions(stated)
        facts = stated.without(disputed(against)) if against else stated
        found: dict[str, Judged] = {}
        for figure, entry in FIGURES.items():
            found[figure] = facts.find(entry.judge)
            self._answers[figure].put(rows, found[figure])
        verdicts = [np.broadcast_to(each.outcome.verdict, len(rows)) for each in found.values()]
        quoted = [by_hearsay(each.outcome.verdict, each.supported.grade) for each in found.values()]
        warned = alarms(facts, stated)
        conclusions = self._whole.put(
            rows,
            np.stack(verdicts),
            [(each.code, np.broadcast_to(each.holds, len(rows))) for each in warned],
            [(each, np.broadcast_to(each.holds, len(rows))) for each in against],
            np.broadcast_to(reduce(either, quoted), len(rows)),
        )
        if self._said is not None:
            self._said.put(rows, facts, found, warned, against, conclusions)

    def _by_positions(self, good: NDArray[np.int64]) -> list[tuple[NDArray[np.int64], tuple[int, ...]]]:
        """Return the rows to be judged, apart by the places of their take-off: a ladder has a shape."""
        placed = next((column for column in self.stated if column.field.name == _POSITIONS), None)
        if placed is None or not len(good):
            return [(good, ())] if len(good) else []
        codes = placed.codes[good]
        return [
            (good[codes == code], tuple(placed.values[code] or ()) if code >= 0 else ())
            for code in np.unique(codes).tolist()
        ]

    def _read(self) -> list[str]:
        """Return for every listing that it was read, or the first fault in any of its packs."""
        read = [READABLE] * (int(self.listing[-1]) + 1 if self.count else 0)
        for row, fault in zip(self.listing.tolist(), self.faults, strict=True):
            if fault is not None and read[row] == READABLE:
                read[row] = fault
        return read

    def _named(self) -> Named:
        """Return the cells inside, each distinct naming looked up once; a naming that is refused is a fault."""
        by_name = {column.field.name: column for column in self.stated}
        columns = [by_name.get(str(name)) for name in NAMING_FIELDS]
        stated = [column for column in columns if column is not None]
        if not stated:
            return Named([named_inside(Naming(), InMemory())], np.zeros(self.count, dtype=np.int64))
        first, which = distinct([column.codes for column in stated])
        parts = [
            [None] * len(first) if column is None else column.values_at(column.codes[first])
            for column in columns
        ]
        inside = []
        for place, naming in enumerate(map(Naming, *parts)):
            found = self.screener.inside(naming)
            if isinstance(found, str):
                for same in np.flatnonzero(which == place).tolist():
                    self.faults[same] = self.faults[same] or found
                found = named_inside(Naming(), InMemory())
            inside.append(found)
        return Named(inside, which)

    def _refuse_positions(self) -> None:
        """Mark the rows whose take-off lies outside the row of cells, which only a whole pack can tell."""
        placed = next((column for column in self.stated if column.field.name == _POSITIONS), None)
        counted = next((column for column in self.stated if column.field.name == "observed.parallel"), None)
        if placed is None or counted is None:
            return
        for row, (code, cells) in enumerate(
            zip(placed.codes.tolist(), counted.ends()[0].tolist(), strict=True)
        ):
            if code < 0 or isnan(cells) or self.faults[row] is not None or placed.values[code] is None:
                continue
            farthest = max(placed.values[code])
            if farthest > cells:
                self.faults[row] = (
                    f"{_POSITIONS}: {farthest} lies outside a row of {cells:g}; count the cells of the row from 1"
                )


class _Whole:
    """What is said of each pack as a whole: its conclusion, its alarms and what contradicts what."""

    def __init__(self, count: int) -> None:
        self._conclusion = np.full(count, -1, dtype=np.int64)
        self._alarms = np.full(count, "", dtype=object)
        self._against = np.full(count, "", dtype=object)

    def put(
        self,
        rows: NDArray[np.int64],
        verdicts: NDArray[np.int64],
        warned: Sequence[tuple[str, NDArray[np.bool_]]],
        against: Sequence[tuple[Contradiction, NDArray[np.bool_]]],
        quoted: NDArray[np.bool_],
    ) -> NDArray[np.int64]:
        """Note what was found of some rows; return the places of their conclusions.

        Parameters
        ----------
        rows : array of shape (n,)
        verdicts : array of shape (n_figures, n)
        warned, against : codes or contradictions with where they hold, shape (n,)
        quoted : array of shape (n,)
            Whether something passes by hearsay.
        """
        alarmed, excluded, unlike = np.zeros((3, len(rows)), dtype=bool)
        for code, holds in warned:
            alarmed |= holds
            self._add(self._alarms, rows, code, holds)
        for each, holds in against:
            if excludes_itself(each):
                excluded |= holds
            if unlike_claimed(each):
                unlike |= holds
            self._add(self._against, rows, each.code, holds)
        concluded = _concluded(verdicts, alarmed, excluded, unlike, quoted)
        self._conclusion[rows] = concluded
        return concluded

    @staticmethod
    def _add(
        texts: NDArray[np.object_], rows: NDArray[np.int64], code: str, holds: NDArray[np.bool_]
    ) -> None:
        for row in rows[holds].tolist():
            if code not in texts[row].split("; "):
                texts[row] = f"{texts[row]}; {code}" if texts[row] else code

    def columns(self, listing: NDArray[np.int64]) -> list[Texts]:
        """Return the columns, the worst pack of a listing standing for it; no text where nothing was judged."""
        codes = np.where(self._conclusion < 0, len(_CONCLUSIONS), self._conclusion)
        rows = worst_rows(codes, np.zeros(len(codes)), listing)
        return [
            Texts(self._conclusion[rows].astype(np.int32), tuple(map(str, _CONCLUSIONS))),
            *(
                Texts.of(text or None for text in texts[rows].tolist())
                for texts in (self._alarms, self._against)
            ),
        ]


def _concluded(
    verdicts: NDArray[np.int64],
    alarmed: NDArray[np.bool_],
    contradicted: NDArray[np.bool_],
    unlike: NDArray[np.bool_],
    quoted: NDArray[np.bool_],
) -> NDArray[np.int64]:
    """Return the place of each pack's conclusion; see `verifier.answer.conclude`, whose rule this is."""

    def any_of(*which: Verdict) -> NDArray[np.bool_]:
        found: NDArray[np.bool_] = np.asarray(np.isin(verdicts, [CODE[each] for each in which]).any(axis=0))
        return found

    claimed = (verdicts != CODE[Verdict.NOT_CLAIMED]).any(axis=0)
    rules = [
        (alarmed, Conclusion.DO_NOT_USE),
        (contradicted, Conclusion.CONTRADICTS_ITSELF),
        (unlike | any_of(*REFUTED), Conclusion.NOT_AS_ADVERTISED),
        (quoted | any_of(Verdict.NOT_SETTLED, Verdict.CHECK_FAILED), Conclusion.NOT_SETTLED),
        (any_of(*ON_SELLERS_WORD), Conclusion.IF_SELLERS_WORD_HOLDS),
        (any_of(Verdict.HOLDS_WITHOUT_RESERVE), Conclusion.WITHOUT_RESERVE),
        (claimed, Conclusion.AS_ADVERTISED),
    ]
    return np.select(
        [holds for holds, _ in rules],
        [_CONCLUSIONS.index(conclusion) for _, conclusion in rules],
        _CONCLUSIONS.index(Conclusion.NOTHING_CLAIMED),
    )


def _alike(columns: Sequence[NDArray[np.int64]]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return a row of each distinct combination of some columns, in their order, and which each row has.

    One column is sorted after another, for few combinations there are, and numbers sort faster than rows of them.
    """
    which = np.zeros(len(columns[0]), dtype=np.int64)
    first = which
    for column in columns:
        values, codes = np.unique(column, return_inverse=True)
        _, first, which = np.unique(
            which * len(values) + codes.ravel(), return_index=True, return_inverse=True
        )
        which = which.ravel()
    return first, which


class _Answers:
    """The answers of one figure for every row."""

    def __init__(self, count: int, figure: str) -> None:
        self._limits = FIGURES[figure].limits
        self._codes = {name: np.full(count, -1, dtype=np.int64) for name in ("verdict", "limited_by")}
        self._missing = np.zeros(count, dtype=np.int64)
        self._rests_on = np.zeros(count, dtype=np.int64)
        self._numbers = {part: np.full(count, np.nan) for part in NUMBERS}

    def put(self, rows: NDArray[np.int64], judged: Judged) -> None:
        """Note the answers of some rows."""
        outcome, supported = judged.outcome, judged.supported
        self._codes["verdict"][rows] = outcome.verdict
        self._codes["limited_by"][rows] = judged.limited_by
        open_ = np.isin(outcome.verdict, [CODE[each] for each in REFUTED], invert=True)
        self._missing[rows] = np.where(open_, supported.missing, 0)
        self._rests_on[rows] = supported.rests_on
        claimed = np.where(judged.claim.made, judged.claim.high, np.nan)
        ends = (
            claimed,
            supported.low,
            supported.high,
            outcome.margin_low_percent,
            outcome.margin_high_percent,
        )
        for part, end in zip(NUMBERS, ends, strict=True):
            self._numbers[part][rows] = end

    def columns(self, listing: NDArray[np.int64]) -> list[ResultColumn]:
        """Return the columns of the figure, a row for every listing."""
        if len(listing) and listing[-1] + 1 < len(listing):
            self._keep(self._worst(listing))
        found: dict[str, ResultColumn] = {}
        for part in TEXTS:
            codes, words = self._words(part)
            found[part] = Texts(codes.astype(np.int32), tuple(words))
        for part, values in self._numbers.items():
            # Whether a support has no upper end, or none is known: either way there is no number.
            found[part] = np.where(np.isfinite(values), as_reported(values), np.nan)
        return [found[part] for part in PARTS]

    def _words(self, part: str) -> tuple[NDArray[np.int64], list[str]]:
        if part == "verdict":
            return self._codes[part], [str(each) for each in VERDICTS]
        if part == "limited_by":
            return self._codes[part], list(self._limits)
        return self._reasons()

    def _reasons(self) -> tuple[NDArray[np.int64], list[str]]:
        """Return the reason of each row, each distinct one put into words once."""
        verdict, limit = self._codes["verdict"], self._codes["limited_by"]
        if not len(verdict):
            return verdict, []
        keys = [verdict, limit, self._missing, self._rests_on & SELLERS_WORD]
        first, which = _alike(keys)
        words: dict[str, int] = {}
        codes = []
        for code, place, missing, said in zip(*(each[first].tolist() for each in keys), strict=True):
            text = None
            if code >= 0:
                limited_by = self._limits[place] if place >= 0 and self._limits else None
                text = reason(VERDICTS[code], limited_by, MISSING.in_words(missing), RESTS_ON.in_words(said))
            codes.append(-1 if text is None else words.setdefault(text, len(words)))
        return np.array(codes, dtype=np.int64)[which], list(words)

    def _worst(self, listing: NDArray[np.int64]) -> NDArray[np.intp]:
        ranks = np.array([MEANINGS[each].rank for each in VERDICTS] + [len(VERDICTS)])
        return worst_rows(ranks[self._codes["verdict"]], self._numbers["margin_low_percent"], listing)

    def _keep(self, rows: NDArray[np.intp]) -> None:
        self._codes = {part: codes[rows] for part, codes in self._codes.items()}
        self._numbers = {part: numbers[rows] for part, numbers in self._numbers.items()}
        self._missing, self._rests_on = self._missing[rows], self._rests_on[rows]
