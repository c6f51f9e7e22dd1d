"""Opening a table of listings, whatever its form, and going through it in chunks."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

from verifier.errors import UnreadableInput
from verifier.screening import csv_rows, json_rows
from verifier.screening.columns import check_columns, refuse_many
from verifier.screening.rows import CHUNK_ROWS, Chunk, Lines, Rows, in_chunks

if TYPE_CHECKING:
    import pyarrow.parquet as pq

# Stdin where a table is read, stdout where one is written.
PIPE = "-"
CSV, JSON_LINES, PARQUET = "csv", "jsonl", "parquet"
FORMS = {".csv": CSV, ".jsonl": JSON_LINES, ".ndjson": JSON_LINES, ".parquet": PARQUET}


@dataclass(frozen=True, slots=True)
class Listings:
    """A table that is open: its columns where it names them once, its rows, and how a chunk is read.

    ``read`` can be sent to another process; it turns the raw rows of a chunk into columns.
    """

    place: str
    names: tuple[str, ...] | None
    read: Callable[[Any], Rows]
    blocks: Iterable[tuple[Any, float | None]] = field(repr=False)

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
        raise UnreadableInput(name, f"ends in '{ending}'" if ending else "has no ending",
                              f"use {', '.join(FORMS)}, or '-'")  # fmt: skip
    return FORMS[ending]


@contextmanager
def open_listings(name: str, chunk_rows: int = CHUNK_ROWS) -> Iterator[Listings]:
    """Open a table of listings for as long as it is read.

    Parameters
    ----------
    name : str
        A file; what its ending says it is. ``-`` is stdin, JSON Lines where it begins with a brace, else CSV.
    chunk_rows : int
        Rows of a chunk.

    Raises
    ------
    UnreadableInput
        When it cannot be read, has no header, or a header that cannot be used.
    InvalidCase
        When a column claims to be a field of a case and is none, or no column is one.
    """
    if name == PIPE:
        lines = Lines(sys.stdin.buffer, "stdin")
        form = JSON_LINES if lines.ahead().lstrip().startswith(b"{") else CSV
        yield _text(lines, "stdin", form, chunk_rows, None)
    elif (form := form_of(name)) == PARQUET:
        from verifier.screening import parquet_rows

        with parquet_rows.open_file(name) as file:
            yield _parquet(file, name, chunk_rows)
    else:
        with _opened(name) as stream:
            yield _text(Lines(stream, name), name, form, chunk_rows, os.fstat(stream.fileno()).st_size)


def _opened(name: str) -> BinaryIO:
    try:
        return Path(name).open("rb")
    except OSError as error:
        raise UnreadableInput(name, f"cannot be read ({error.strerror or error})") from error


def _text(lines: Lines, place: str, form: str, chunk_rows: int, total: int | None) -> Listings:
    if form == JSON_LINES:
        return Listings(
            place, None, json_rows.read, in_chunks(json_rows.records(lines), lines, chunk_rows, total)
        )
    found = csv_rows.Records(lines)
    records = iter(found)
    names = _header(next(records, b""), place)
    found.cells = len(names)
    return Listings(
        place, names, partial(csv_rows.read, names=names), in_chunks(records, lines, chunk_rows, total)
    )


def _header(record: bytes, place: str) -> tuple[str, ...]:
    if not record:
        raise UnreadableInput(place, "is empty", "the first line names the columns")
    cells, fault = csv_rows.cells_of(record)
    if fault is not None:
        raise UnreadableInput(f"{place} header", fault)
    if len(cells) == 1 and any(mark in cells[0] for mark in ";\t"):
        raise UnreadableInput(f"{place} header", "has no comma", "save the table as CSV with commas")
    return _usable(cells, f"{place} header")


def _parquet(file: pq.ParquetFile, name: str, chunk_rows: int) -> Listings:
    from verifier.screening import parquet_rows

    names = _usable(parquet_rows.column_names(file), name)
    return Listings(name, names, parquet_rows.read, parquet_rows.batches(file, chunk_rows, name))


def _usable(names: Sequence[str], place: str) -> tuple[str, ...]:
    """Return the names of columns, blanks around them taken off; refuse those that cannot be used."""
    bare = tuple(name.strip() for name in names)
    for number, name in enumerate(bare, 1):
        if not name:
            raise UnreadableInput(place, f"column {number} has no name")
        if name in bare[: number - 1]:
            raise UnreadableInput(place, f"column '{name}' stands twice", "keep one of them")
    refuse_many(dict.fromkeys(bare))
    check_columns(bare)
    return bare
