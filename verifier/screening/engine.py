"""Judging a table of listings: columns in, one result row a listing out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, cast

import numpy as np
from numpy.typing import NDArray

from registry.catalogue import BundleCatalogue
from registry.errors import PlacedError
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.figures import FIGURES
from verifier.finding import Finding
from verifier.judge import judge_figure
from verifier.lockstep.gathering import distinct
from verifier.lockstep.lanes import Lanes
from verifier.lockstep.packs import Batch, Memory, Rows, Stated
from verifier.lockstep.running import run_together
from verifier.pack import CellSource, Pack
from verifier.report.as_json import number
from verifier.screening import columns as table
from verifier.screening.listings import WORST_FIRST, expand, worst_rows
from verifier.screening.results import NUMBERS, PARTS, READABLE, TEXTS, reason, schema
from verifier.verdict import Verdict

if TYPE_CHECKING:
    import pyarrow

# What tells which cell is inside: nothing else of a case does.
_IDENTITY = (
    "observed.cell.id",
    "observed.cell.marking",
    "claim.cell_marking",
    "observed.cell.size",
    "observed.cell.chemistry",
)
# Distinct namings of a cell that are remembered.
_MOST_NAMED = 100_000
_POSITIONS = "observed.take_off.positions"
_POWERS_OF_TEN = np.array([10.0**power for power in range(23)])


class _ScreenedPack(Pack):
    """A row of a table. Suggestions are for a person who looks at one wrapper."""

    suggests = False


class Screener:
    """Judges tables of listings against one registry.

    Parameters
    ----------
    registry : CellSource
        The cells and sheets to judge by.
    limits : Limits, optional
        The limits in force.
    """

    FAULT = table.FAULT

    def __init__(self, registry: CellSource, limits: Limits | None = None) -> None:
        self.registry = BundleCatalogue(registry.cells(all=True), "the registry")
        self.limits = limits or Limits()
        self.memory = Memory(self.registry, self.limits)
        self._readers: dict[str, table.ColumnReader] = {}
        self._named: dict[str, tuple[int, str, str | None]] = {}

    def screen(self, columns: Mapping[str, Sequence[Any]], first_row: int) -> pyarrow.RecordBatch:
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
        pyarrow.RecordBatch
            n_rows rows in the same order, with the columns of `verifier.screening.results.schema`.
        """
        self.memory.trim()
        listing = np.arange(len(next(iter(columns.values()), ())))
        if table.TEXT in columns:
            expanded = expand(columns)
            columns, listing = expanded.columns, expanded.listing
        columns = table.with_counts(columns)
        stated = [self._reader(name).read(raw) for name, raw in columns.items() if name in table.fields()]
        faults = table.faults(stated, columns.get(self.FAULT) or [None] * len(listing))
        return _Table(self, stated, faults, listing).judged(first_row)

    def _reader(self, name: str) -> table.ColumnReader:
        if name not in self._readers:
            self._readers[name] = table.ColumnReader(name)
        return self._readers[name]

    def cell_named(self, naming: dict[str, Any]) -> tuple[int, str, str | None]:
        """Return the cell that is inside by what a case says of it.

        Parameters
        ----------
        naming : dict
            The fields of a case that name a cell or doubt it, as plain data.

        Returns
        -------
        (code, origin, refused)
            The cell's code in the memory, -1 for none; where it is known from; what a check refuses.
        """
        key = repr(naming)
        if len(self._named) > _MOST_NAMED:
            self._named.clear()
        if key not in self._named:
            try:
                pack = _ScreenedPack(Case.model_validate(naming), self.registry, self.limits)
            except PlacedError as error:
                self._named[key] = (-1, "", str(error))
            else:
                code = -1 if pack.cell is None else self.memory.code_of(pack.cell.id)
                self._named[key] = (code, pack.cell_source, None)
        return self._named[key]


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
        stated: Sequence[table.Column],
        faults: list[str | None],
        listing: NDArray[np.int64],
    ) -> None:
        self.screener, self.stated, self.faults, self.listing = screener, stated, faults, listing
        self.count = len(faults)
        self._alone: dict[int, Pack] = {}

    def judged(self, first_row: int) -> pyarrow.RecordBatch:
        import pyarrow as pa

        batch = self._batch()
        read = self._read()
        good = np.flatnonzero((np.array(read, dtype=object) == READABLE)[self.listing])
        arrays = [
            pa.array(np.arange(first_row, first_row + len(read))),
            pa.array(read, pa.string()),
            pa.array(np.bincount(self.listing, minlength=len(read))),
        ]
        for figure in FIGURES:
            arrays += self._figure(figure, batch, good)
        return pa.RecordBatch.from_arrays(arrays, schema=schema())

    def _figure(self, figure: str, batch: Batch, good: Rows) -> list[pyarrow.Array]:
        answers = _Answers(self.count)
        if len(good):
            judge: Callable[[Pack], Finding] = FIGURES[figure].judge
            for rows, finding in run_together(judge, batch, good, lambda row: self._judge_alone(figure, row)):
                answers.put(rows, finding)
        return answers.arrays(self.listing)

    def _read(self) -> list[str]:
        """Return for every listing that it was read, or the first fault in any of its packs."""
        read = [READABLE] * (int(self.listing[-1]) + 1 if self.count else 0)
        for row, fault in zip(self.listing.tolist(), self.faults, strict=True):
            if fault is not None and read[row] == READABLE:
                read[row] = fault
        return read

    def _judge_alone(self, figure: str, row: int) -> Finding:
        return judge_figure(figure, self._pack(row))

    def _pack(self, row: int) -> Pack:
        if row not in self._alone:
            case = Case.model_validate(table.stated(self.stated, row))
            self._alone[row] = _ScreenedPack(case, self.screener.registry, self.screener.limits)
        return self._alone[row]

    # -- which cell is inside --------------------------------------------------------------------------------

    def _batch(self) -> Batch:
        fields = {column.field.path: Stated.of(column.codes, column.values) for column in self.stated}
        cells, origins, origin_codes = self._cells()
        self._refuse_positions()
        return Batch(self.count, fields, cells, origins, origin_codes, self.screener.memory)

    def _cells(self) -> tuple[NDArray[np.int64], list[str], NDArray[np.int64]]:
        """Return the cells inside and where they are known from, each distinct naming looked up once."""
        naming = [column for column in self.stated if column.field.name in _IDENTITY]
        first, which = distinct([column.codes for column in naming], self.count)
        origins: dict[str, int] = {}
        cell_of, origin_of = [], []
        for naming_of, row in enumerate(first.tolist()):
            cell, origin, refused = self.screener.cell_named(table.stated(naming, row))
            cell_of.append(cell)
            origin_of.append(origins.setdefault(origin, len(origins)))
            if refused is not None:
                for same in np.flatnonzero(which == naming_of).tolist():
                    self.faults[same] = self.faults[same] or refused
        return (
            np.asarray(cell_of, dtype=np.int64)[which],
            list(origins),
            np.asarray(origin_of, dtype=np.int64)[which],
        )

    def _refuse_positions(self) -> None:
        """Mark the rows whose take-off lies outside the row of cells, which only a whole pack can tell."""
        placed = next((column for column in self.stated if column.field.name == _POSITIONS), None)
        for row, code in enumerate(placed.codes.tolist() if placed is not None else ()):
            if code >= 0 and self.faults[row] is None:
                try:
                    self._pack(row)
                except PlacedError as error:
                    self.faults[row] = str(error)


class _Answers:
    """The answers of one figure for every row, filled part by part."""

    def __init__(self, count: int) -> None:
        self._texts = {part: np.full(count, -1, dtype=np.int32) for part in TEXTS}
        self._words: dict[str, dict[str, int]] = {part: {} for part in TEXTS}
        self._numbers = {part: np.full(count, np.nan) for part in NUMBERS}

    def put(self, rows: Rows, finding: Finding) -> None:
        """Note a finding of some rows."""
        for part, text in (
            ("verdict", finding.verdict.value),
            ("limited_by", finding.limited_by),
            ("reason", reason(finding)),
        ):
            if text is not None:
                words = self._words[part]
                self._texts[part][rows] = words.setdefault(text, len(words))
        margin = finding.margin_percent
        claimed = finding.claimed.high if finding.claimed is not None else np.nan
        ends = (claimed, finding.supported.low, finding.supported.high)
        margins = (margin.low, margin.high) if margin is not None else (np.nan, np.nan)
        for part, end in zip(NUMBERS, (*ends, *margins), strict=True):
            values: Any = cast(Any, end).values if isinstance(end, Lanes) else end
            self._numbers[part][rows] = values

    def arrays(self, listing: NDArray[np.int64]) -> list[pyarrow.Array]:
        """Return the columns of the figure, a row for every listing; what is not known is null."""
        import pyarrow as pa

        if len(listing) and listing[-1] + 1 < len(listing):
            self._keep(self._worst(listing))
        found: dict[str, Any] = {}
        for part in TEXTS:
            codes = self._texts[part]
            words = pa.array(list(self._words[part]), pa.string())
            found[part] = pa.DictionaryArray.from_arrays(pa.array(codes, mask=codes < 0), words)
        for part, values in self._numbers.items():
            found[part] = pa.array(as_reported(values), mask=~np.isfinite(values))
        return [found[part] for part in PARTS]

    def _worst(self, listing: NDArray[np.int64]) -> Rows:
        words = [WORST_FIRST.index(Verdict(text)) for text in self._words["verdict"]]
        # The last entry is that of a pack without a verdict, code -1: its listing was not read.
        ranks = np.asarray([*words, len(WORST_FIRST)])[self._texts["verdict"]]
        return worst_rows(ranks, self._numbers["margin_low_percent"], listing)

    def _keep(self, rows: Rows) -> None:
        self._texts = {part: codes[rows] for part, codes in self._texts.items()}
        self._numbers = {part: numbers[rows] for part, numbers in self._numbers.items()}
