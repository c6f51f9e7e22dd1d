"""Putting the parts of a result together, as CSV, JSON Lines or Parquet, one part in memory at a time."""

from __future__ import annotations

import json
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, BinaryIO

from registry.spreadsheet import safe
from verifier.screening.crews import available_workers
from verifier.screening.rows import BOM
from verifier.screening.tables import CSV, PARQUET, TSV, XLSX

if TYPE_CHECKING:
    import pyarrow as pa

# Rows that are made text at once: enough to be quick, few enough for their text to be small.
_PIECE = 4000
_MOST_THREADS = 4


SEMICOLON = ";"


@dataclass(frozen=True, slots=True)
class CsvStyle:
    """How CSV is written: what divides cells and decimals, and whether a byte order mark tells spreadsheets UTF-8."""

    separator: str = ","
    decimal: str = "."
    marked: bool = False


PLAIN = CsvStyle()
# By whether the spreadsheet divides cells at semicolons, as it does where decimals have a comma.
SPREADSHEET = {False: CsvStyle(marked=True), True: CsvStyle(SEMICOLON, ",", marked=True)}


def write_table(
    batches: Iterable[pa.RecordBatch],
    whole: pa.Schema,
    form: str,
    stream: BinaryIO,
    style: CsvStyle = PLAIN,
) -> None:
    """Write a result.

    Parameters
    ----------
    batches : iterable of pyarrow.RecordBatch
        The rows in order. A column that one of them lacks is null there.
    whole : pyarrow.Schema
        The columns, in order.
    form : str
        One of `verifier.screening.tables.FORMS`.
    stream : binary file
        Where to write.
    style : CsvStyle
        How CSV is written.
    """
    complete = (_completed(batch, whole) for batch in batches)
    if form == PARQUET:
        _write_parquet(complete, whole, stream)
        return
    if form == XLSX:
        from verifier.screening.xlsx_writing import write_sheet

        write_sheet(complete, whole, stream)
        return
    as_text: Callable[[pa.RecordBatch], bytes] = _json_lines
    if form in (CSV, TSV):
        if form == TSV:
            style = replace(style, separator="\t")
        as_text = partial(_csv_lines, style=style)
        import pyarrow as pa

        names = pa.schema([pa.field(safe(name), pa.string()) for name in whole.names])
        stream.write(BOM if style.marked else b"")
        stream.write(_csv_text(names.empty_table(), header=True, separator=style.separator))
    pieces = (batch.slice(at, _PIECE) for batch in complete for at in range(0, batch.num_rows, _PIECE))
    for text in _in_order(as_text, pieces):
        stream.write(text)


def _in_order(
    as_text: Callable[[pa.RecordBatch], bytes], pieces: Iterable[pa.RecordBatch]
) -> Iterator[bytes]:
    """Yield the text of each piece; several are made at once, for Arrow does not hold other threads up."""
    at_once = min(_MOST_THREADS, available_workers())
    waiting: deque[Future[bytes]] = deque()
    with ThreadPoolExecutor(at_once) as threads:
        for piece in pieces:
            waiting.append(threads.submit(as_text, piece))
            if len(waiting) > at_once:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()


def _completed(batch: pa.RecordBatch, whole: pa.Schema) -> pa.RecordBatch:
    import pyarrow as pa

    there = dict(zip(batch.schema.names, batch.columns, strict=True))
    columns = [
        there[column.name] if column.name in there else pa.nulls(batch.num_rows, column.type)
        for column in whole
    ]
    return pa.RecordBatch.from_arrays(columns, schema=whole)


def _write_parquet(batches: Iterable[pa.RecordBatch], whole: pa.Schema, stream: BinaryIO) -> None:
    import pyarrow.parquet as pq

    with pq.ParquetWriter(stream, whole) as writer:
        for batch in batches:
            writer.write_batch(batch)


def _csv_lines(batch: pa.RecordBatch, style: CsvStyle) -> bytes:
    import pyarrow as pa

    columns = [_with_decimals(_safe_column(column), style.decimal) for column in batch.columns]
    return _csv_text(
        pa.RecordBatch.from_arrays(columns, names=batch.schema.names), header=False, separator=style.separator
    )


def _with_decimals(column: pa.Array, decimal: str) -> pa.Array:
    import pyarrow as pa
    import pyarrow.compute as pc

    if decimal == "." or not pa.types.is_floating(column.type):
        return column
    return pc.replace_substring(column.cast(pa.string()), ".", decimal)


def _csv_text(rows: pa.Table | pa.RecordBatch, *, header: bool, separator: str) -> bytes:
    import pyarrow as pa
    from pyarrow import csv

    sink = pa.BufferOutputStream()
    csv.write_csv(rows, sink, csv.WriteOptions(include_header=header, delimiter=separator))
    return bytes(sink.getvalue())


def _safe_column(column: pa.Array) -> pa.Array:
    """Return a column as CSV holds it: text that a spreadsheet would take for a formula is made text."""
    import pyarrow as pa

    if pa.types.is_string(column.type):
        column = column.dictionary_encode()
    if not pa.types.is_dictionary(column.type):
        return column
    made_safe = [None if text is None else safe(text) for text in column.dictionary.to_pylist()]
    return pa.array(made_safe, pa.string()).take(column.indices)


def _json_lines(batch: pa.RecordBatch) -> bytes:
    """Return a line of JSON for each row, what is null left out."""
    import pyarrow.compute as pc

    members = [_members(name, column) for name, column in zip(batch.schema.names, batch.columns, strict=True)]
    rows = pc.binary_join_element_wise(*members, ", ", null_handling="skip")
    return "".join(f"{{{row}}}\n" for row in rows.to_pylist()).encode()


def _members(name: str, column: pa.Array) -> pa.Array:
    """Return a column as ``"name": value`` in JSON, null where it is null or no number."""
    import pyarrow as pa
    import pyarrow.compute as pc

    if pa.types.is_dictionary(column.type):
        return _members(name, column.dictionary).take(column.indices)
    if pa.types.is_string(column.type):
        values = pa.array(map(_json_text, column.to_pylist()), pa.string())
    else:
        if pa.types.is_floating(column.type):
            column = pc.if_else(pc.is_finite(column), column, None)
        values = column.cast(pa.string())
    return pc.binary_join_element_wise(f"{json.dumps(name, ensure_ascii=False)}: ", values, "")


def _json_text(text: str | None) -> str | None:
    return None if text is None else json.dumps(text, ensure_ascii=False)
