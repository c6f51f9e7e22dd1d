"""Opening a table of listings, whatever its form, and going through it in chunks."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import chain, islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

from registry.cells import Cells
from registry.errors import PlacedError
from registry.text_encoding import UTF_8
from verifier.errors import UnreadableInput
from verifier.screening import csv_head, csv_rows, json_rows
from verifier.screening.columns import fields, refuse_many
from verifier.screening.encoding import decoded
from verifier.screening.heading_names import Use
from verifier.screening.headings import ColumnMap, check_names, left_of
from verifier.screening.rows import CHUNK_ROWS, Chunk, Lines, Rows, chunk_sizes, in_chunks
from verifier.screening.told_columns import Left, as_told, check_there, how_read
from verifier.screening.values import decimal_commas

if TYPE_CHECKING:
    import pyarrow.parquet as pq

# Stdin where a table is read, stdout where one is written.
PIPE = "-"
CSV, TSV, JSON_LINES, PARQUET, XLSX = "csv", "tsv", "jsonl", "parquet", "xlsx"
FORMS = {
    ".csv": CSV, ".tsv": TSV, ".tab": TSV, ".jsonl": JSON_LINES, ".ndjson": JSON_LINES, ".parquet": PARQUET,
    ".xlsx": XLSX,
}  # fmt: skip
_PEEKED = 200
_LONGEST_SHOWN = 60


@dataclass(frozen=True, slots=True)
class Source:
    """A table of listings and how it is to be read.

    Parameters
    ----------
    name : str
        A file; what its ending says it is. ``-`` is stdin, JSON Lines where it begins with a brace, else CSV.
    columns : ColumnMap
        Which column gives which field.
    sheet_name : str, optional
        The sheet of a spreadsheet; the first where it is left out.
    encoding : str, optional
        Of a table of text; found out where it is left out.
    chunk_rows : int
        Rows of a chunk, at most.
    cells : Cells, optional
        The registry, by which a column is known to name cells.
    """

    name: str
    columns: ColumnMap = field(default_factory=ColumnMap)
    sheet_name: str | None = None
    encoding: str | None = None
    chunk_rows: int = CHUNK_ROWS
    cells: Cells | None = None


@dataclass(frozen=True, slots=True)
class Listings:
    """A table that is open: its columns where it names them once, its rows, and how a chunk is read.

    ``read`` can be sent to another process; it turns the raw rows of a chunk into columns. ``uses`` says what the
    columns are used as, ``left`` which are not and what they seem to be, ``told`` how the file is written where that is
    not usual and which sheet is read, ``separator`` what divides its cells. ``seen`` are the columns of the first rows
    where the table does not name them. ``decimal_commas`` is whether those rows write decimals with a comma throughout.
    """

    place: str
    names: tuple[str, ...] | None
    read: Callable[[Any], Rows]
    blocks: Iterable[tuple[Any, float | None]] = field(repr=False)
    uses: tuple[Use, ...] = ()
    left: Left = field(default_factory=Left)
    told: str = ""
    separator: str = csv_rows.COMMA
    seen: tuple[str, ...] = ()
    decimal_commas: bool = False

    @property
    def how_read(self) -> dict[str, str]:
        """How the table is read: its columns by what is judged of them."""
        return how_read(self.place, self.told, self.uses, self.left, self.names or self.seen)

    def as_told(self, otherwise: ColumnMap) -> ColumnMap:
        """Return how columns are used, settled once for the table; those of later rows alone go by their names."""
        names = self.names or self.seen
        return ColumnMap(as_told(self.uses, names), self.decimal_commas) if names else otherwise

    def chunks(self) -> Iterator[Chunk]:
        """Yield the rows in chunks, each with its number and that of its first row."""
        first_row = 1
        for number, (raw, share) in enumerate(self.blocks):
            rows = raw.num_rows if hasattr(raw, "num_rows") else len(raw)
            yield Chunk(number, first_row, rows, raw, share)
            first_row += rows


def form_of(name: str) -> str:
    """Return the form that a file's ending stands for.

    Raises
    ------
    UnreadableInput
        When it stands for none.
    """
    ending = Path(name).suffix.lower()
    if ending not in FORMS:
        hint = (
            "save it as .xlsx" if ending in (".xls", ".ods", ".xlsm") else f"use {', '.join(FORMS)}, or '-'"
        )
        raise UnreadableInput(name, f"ends in '{ending}'" if ending else "has no ending", hint)
    return FORMS[ending]


@contextmanager
def open_listings(source: Source | str) -> Iterator[Listings]:
    """Open a table of listings for as long as it is read.

    Raises
    ------
    UnreadableInput
        When it cannot be read, has no header, or a header that cannot be used.
    InvalidCase
        When a column claims to be a field of a case and is none, or no column is one.
    """
    source = Source(source) if isinstance(source, str) else source
    name = source.name
    form = None if name == PIPE else form_of(name)
    if source.sheet_name is not None and form != XLSX:
        raise UnreadableInput("--sheet-name", f"'{name}' has no sheets", "leave it out")
    if form == PARQUET:
        from verifier.screening import parquet_rows

        with parquet_rows.open_file(name) as file:
            yield _parquet(file, source)
    elif form == XLSX:
        from verifier.screening import xlsx_rows

        with xlsx_rows.open_sheet(name, source.sheet_name) as sheet:
            yield _xlsx(sheet, source)
    elif form is None:
        yield _text(sys.stdin.buffer, "stdin", form, source, None)
    else:
        with _opened(name) as stream:
            yield _text(stream, name, form, source, os.fstat(stream.fileno()).st_size)


def _opened(name: str) -> BinaryIO:
    try:
        return Path(name).open("rb")
    except OSError as error:
        raise UnreadableInput(name, f"cannot be read ({error.strerror or error})") from error


def _text(stream: BinaryIO, place: str, form: str | None, source: Source, size: int | None) -> Listings:
    found = decoded(stream, place, source.encoding)
    total = None if size is None else max(1, round(size * found.ratio))
    lines = Lines(found.stream, place)
    told = [] if found.encoding == UTF_8 else [f"encoded in {found.encoding}"]
    if form is None:
        form = JSON_LINES if lines.ahead().lstrip().startswith(b"{") else CSV
    if form == JSON_LINES:
        objects = json_rows.records(lines)
        first = list(islice(objects, _PEEKED))
        blocks = in_chunks(chain(first, objects), source.chunk_rows, total)
        return _by_first_rows(
            source, Listings(place, None, json_rows.read, blocks, told=", ".join(told)), first
        )
    separator, above = csv_head.begin(lines, "\t" if form == TSV else None)
    if separator != csv_rows.COMMA and form != TSV:
        told.append(
            "divided by " + {";": "semicolons", "\t": "tabs", "|": "bars"}.get(separator, f"'{separator}'")
        )
    if above:
        shown = above[0] if len(above[0]) <= _LONGEST_SHOWN else f"{above[0][: _LONGEST_SHOWN - 1]}…"
        told.append(f"the headings stand below '{shown}'")
    rows = csv_rows.Records(lines, separator)
    records = iter(rows)
    names = _header(next(records, b""), place, separator)
    rows.cells = len(names)
    # Of what is judged the head is no part.
    total = None if total is None else max(1, total - lines.position)
    peeked = list(islice(records, _PEEKED))
    sample = csv_rows.read(peeked, names, separator).columns if peeked else {}
    return _with_uses(
        source, names, sample,
        Listings(
            place, names, partial(csv_rows.read, names=names, separator=separator),
            in_chunks(chain(peeked, records), source.chunk_rows, total), told=", ".join(told),
            separator=separator,
        ),
    )  # fmt: skip


def _header(record: bytes, place: str, separator: str) -> tuple[str, ...]:
    if not record:
        raise UnreadableInput(place, "is empty", "the first line names the columns")
    cells, fault = csv_rows.cells_of(record, separator)
    if fault is not None:
        raise UnreadableInput(f"{place} header", fault)
    return _usable(cells, f"{place} header")


def _parquet(file: pq.ParquetFile, source: Source) -> Listings:
    from verifier.screening import parquet_rows

    names = _usable(parquet_rows.column_names(file), source.name)
    blocks = parquet_rows.batches(file, source.chunk_rows, source.name)
    return _with_uses(
        source,
        names,
        parquet_rows.first_rows(file, _PEEKED, source.name, names),
        Listings(source.name, names, partial(parquet_rows.read, names=names), blocks),
    )


def _xlsx(sheet: Any, source: Source) -> Listings:
    from verifier.screening import xlsx_rows

    rows = xlsx_rows.lines(sheet, source.name)
    header = next(rows, None)
    if header is None:
        raise UnreadableInput(source.name, "is empty", "the first row names the columns")
    names = _usable(["" if each is None else str(each) for each in header], f"{source.name} header")
    peeked = list(islice(rows, _PEEKED))
    sample = {name: [row[at] for row in peeked if at < len(row)] for at, name in enumerate(names)}
    blocks = xlsx_rows.in_chunks(chain(peeked, rows), chunk_sizes(source.chunk_rows), sheet.max_row)
    told = xlsx_rows.which_sheet(sheet)
    try:
        return _with_uses(
            source, names, sample,
            Listings(source.name, names, partial(xlsx_rows.read, names=names), blocks, told=told),
        )  # fmt: skip
    except PlacedError as error:
        others = xlsx_rows.other_sheets(sheet)
        if not others or source.sheet_name is not None:
            raise
        # A cover page says nothing of the listings behind it.
        found = f"{error.found}; only its first sheet '{sheet.title}' was read"
        raise UnreadableInput(f"{source.name}: {error.place}", found, f"--sheet-name for {others}") from error


def _with_uses(
    source: Source, names: tuple[str, ...], sample: Mapping[str, Sequence[Any]], listings: Listings
) -> Listings:
    check_there(source.columns.told, names)
    uses = check_names(source.columns, names, sample, source.cells)
    left = left_of(source.columns, names, uses, sample, source.cells)
    commas = decimal_commas(sample.values())
    return replace(listings, uses=tuple(uses), left=left, decimal_commas=commas)


def _by_first_rows(source: Source, listings: Listings, first: Sequence[bytes]) -> Listings:
    """Return a table whose rows name their columns, those of the first rows settled."""
    sample = json_rows.read(first).columns
    names = tuple(sample)
    uses = source.columns.uses(names, sample, source.cells)
    left = left_of(source.columns, names, uses, sample, source.cells)
    commas = decimal_commas(sample.values())
    return replace(listings, uses=tuple(uses), left=left, seen=names, decimal_commas=commas)


def _usable(names: Sequence[str], place: str) -> tuple[str, ...]:
    """Return the names of columns, blanks around them taken off, each different; a field may not stand twice."""
    refuse_many(names)
    bare: dict[str, None] = {}
    times: dict[str, int] = {}
    for number, name in enumerate((" ".join(each.split()) for each in names), 1):
        if name in bare and name in fields():
            raise UnreadableInput(place, f"column '{name}' stands twice", "keep one of them")
        called = name or f"column {number}"
        while called in bare:
            # Counted on from the last one of this name: thousands alike must not be tried again and again.
            times[name] = times.get(name, 1) + 1
            called = f"{name or 'column'} ({times[name]})"
        bare[called] = None
    return tuple(bare)
