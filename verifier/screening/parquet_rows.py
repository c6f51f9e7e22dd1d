"""Reading Parquet by batches of rows; fields inside struct columns are columns by their dotted names."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan
from typing import TYPE_CHECKING, Any

from verifier.errors import UnreadableInput
from verifier.screening.columns import is_field
from verifier.screening.rows import HOLDS_NUL, LARGEST_CHUNK, LONGEST_ROW, TOO_LONG, Rows

if TYPE_CHECKING:
    import pyarrow as pa
    import pyarrow.parquet as pq


def open_file(path: str) -> pq.ParquetFile:
    """Open a file.

    Raises
    ------
    UnreadableInput
        When it is missing, or no Parquet file.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        return pq.ParquetFile(path)
    except OSError as error:
        raise UnreadableInput(path, f"cannot be read ({error.strerror or 'damaged'})") from error
    except (pa.ArrowException, ValueError) as error:
        raise UnreadableInput(path, "is no Parquet file, or a damaged one") from error


def column_names(file: pq.ParquetFile) -> list[str]:
    """Return the names of the columns, struct columns flattened."""
    return [name.strip() for name in _flat(file.schema_arrow.empty_table()).column_names]


def batches(file: pq.ParquetFile, rows: int, place: str) -> Iterator[tuple[pa.RecordBatch, float | None]]:
    """Yield batches of at most `rows` rows, each with the part of the file's rows that it holds."""
    import pyarrow as pa

    total = file.metadata.num_rows
    try:
        for batch in file.iter_batches(batch_size=rows):
            step = max(1, int(batch.num_rows * min(1.0, LARGEST_CHUNK / max(1, batch.nbytes))))
            for start in range(0, batch.num_rows, step):
                piece = batch.slice(start, step)
                yield piece, piece.num_rows / total
    except (OSError, pa.ArrowException) as error:
        raise UnreadableInput(place, "is damaged; not all of its rows can be read") from error


def _flat(table: pa.Table) -> pa.Table:
    import pyarrow as pa

    while any(pa.types.is_struct(column.type) for column in table.schema):
        table = table.flatten()
    return table


def read(batch: pa.RecordBatch) -> Rows:
    """Return rows by column; numbers, truth values and lists as they are, anything else as text."""
    import pyarrow as pa

    table = _flat(pa.Table.from_batches([batch]))
    faults: list[str | None] = [None] * table.num_rows
    columns: dict[str, list[Any]] = {}
    for name, column in zip(map(str.strip, table.column_names), table.columns, strict=True):
        columns[name] = _values(column, faults, as_text=not is_field(name))
    return Rows(columns, faults)


def _values(column: pa.ChunkedArray, faults: list[str | None], *, as_text: bool) -> list[Any]:
    import pyarrow as pa

    kind = column.type
    if pa.types.is_dictionary(kind):
        column, kind = column.cast(kind.value_type), kind.value_type
    if pa.types.is_string(kind) or pa.types.is_large_string(kind) or pa.types.is_string_view(kind):
        return _texts(column, faults)
    if pa.types.is_decimal(kind) and not as_text:
        column = column.cast(pa.float64())
    elif as_text or pa.types.is_temporal(kind):
        column = _in_words(column)
    # A table has no other way to say that a number is missing.
    return [None if isinstance(each, float) and isnan(each) else each for each in _plain(column, faults)]


def _in_words(column: pa.ChunkedArray) -> pa.ChunkedArray:
    import pyarrow as pa

    try:
        return column.cast(pa.string())
    except pa.ArrowException:
        # Lists and the like; they are written as JSON.
        return column


def _texts(column: pa.ChunkedArray, faults: list[str | None]) -> list[str | None]:
    import pyarrow as pa

    found: list[str | None] = []
    for row, value in enumerate(column.cast(pa.large_binary()).to_pylist()):
        text, fault = (None, None) if value is None else _text(value)
        found.append(text)
        faults[row] = faults[row] or fault
    return found


def _text(value: bytes) -> tuple[str | None, str | None]:
    if len(value) > LONGEST_ROW:
        return None, TOO_LONG
    try:
        text, fault = value.decode(), None
    except UnicodeDecodeError:
        text, fault = value.decode(errors="replace"), "the row holds text that is not UTF-8"
    if "\0" in text:
        text, fault = text.replace("\0", "\N{REPLACEMENT CHARACTER}"), fault or HOLDS_NUL
    return text, fault


def _plain(column: pa.ChunkedArray, faults: list[str | None]) -> list[Any]:
    found: list[Any] = []
    for row, value in enumerate(column):
        try:
            found.append(value.as_py())
        except ValueError:
            found.append(None)
            faults[row] = faults[row] or "the row holds a value that cannot be read"
    return found
