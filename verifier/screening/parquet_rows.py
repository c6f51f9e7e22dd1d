"""Reading Parquet by batches of rows; fields inside struct columns are columns by their dotted names."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isnan
from pathlib import Path
from typing import TYPE_CHECKING, Any

from registry.input_bounds import PARQUET_COLUMN, PARQUET_RATIO, PARQUET_ROWS
from verifier.errors import UnreadableInput
from verifier.extras import require
from verifier.screening.columns import is_field
from verifier.screening.rows import HOLDS_NUL, LARGEST_CHUNK, LONGEST_ROW, TOO_LONG, Rows, chunk_sizes

if TYPE_CHECKING:
    import pyarrow as pa
    import pyarrow.parquet as pq


def open_file(path: str) -> pq.ParquetFile:
    """Open a file.

    Raises
    ------
    UnreadableInput
        When it is missing, or no Parquet file, or the extra that reads one is not installed.
    """
    require("parquet", path)
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        metadata = pq.read_metadata(path)
        _refuse_bomb(metadata, path)
        # A text that stands in very many rows is held once; it is laid out a few rows at a time.
        return pq.ParquetFile(path, read_dictionary=_texts_of(metadata.schema))
    except OSError as error:
        raise UnreadableInput(path, f"cannot be read ({error.strerror or 'damaged'})") from error
    except (pa.ArrowException, ValueError) as error:
        raise UnreadableInput(path, "is no Parquet file, or a damaged one") from error


def _texts_of(schema: Any) -> list[str]:
    """Return the paths of columns that hold one text a row."""
    columns = (schema.column(number) for number in range(len(schema)))
    return [
        column.path
        for column in columns
        if column.physical_type == "BYTE_ARRAY" and column.max_repetition_level == 0
    ]


def _refuse_bomb(metadata: Any, path: str) -> None:
    """Refuse, before anything is unpacked, a file of which a few bytes would fill the memory."""
    for group in range(metadata.num_row_groups):
        row_group = metadata.row_group(group)
        for number in range(row_group.num_columns):
            column = row_group.column(number)
            unpacked = column.total_uncompressed_size
            packed = max(1, min(column.total_compressed_size, Path(path).stat().st_size))
            if unpacked > PARQUET_COLUMN.most and unpacked > PARQUET_RATIO.most * packed:
                raise UnreadableInput(
                    path, f"column '{column.path_in_schema}' unpacks to {unpacked / 1e6:,.0f} MB from "
                    f"{packed / 1e3:,.0f} kB", "write the table anew, each row with its own text",
                )  # fmt: skip


def column_names(file: pq.ParquetFile) -> list[str]:
    """Return the names of the columns, struct columns flattened."""
    return [name.strip() for name in _flat(file.schema_arrow.empty_table()).column_names]


def batches(file: pq.ParquetFile, rows: int, place: str) -> Iterator[tuple[pa.RecordBatch, float | None]]:
    """Yield batches of at most `rows` rows, each with the part of the file's rows that it holds."""
    import pyarrow as pa

    total, wanted = file.metadata.num_rows, chunk_sizes(rows)
    try:
        for batch in file.iter_batches(batch_size=_rows_at_once(file, rows)):
            sizes = _bytes_laid_out(batch)
            _refuse_repetition(sum(sizes), place)
            for start, count in _pieces(sizes, wanted):
                piece = _laid_out(batch.slice(start, count))
                yield piece, piece.num_rows / total
    except (OSError, pa.ArrowException) as error:
        raise UnreadableInput(place, "is damaged; not all of its rows can be read") from error


def first_rows(file: pq.ParquetFile, rows: int, place: str, names: Sequence[str]) -> dict[str, list[Any]]:
    """Return the first few rows by column; they are read again with the others."""
    first = next(batches(file, rows, place), None)
    return {} if first is None else dict(read(first[0], names).columns)


def _refuse_repetition(laid_out: int, place: str) -> None:
    """Refuse rows that are one long text over and over: the result would be millions of times the file."""
    size = Path(place).stat().st_size
    if laid_out > PARQUET_ROWS.most and laid_out > PARQUET_RATIO.most * size:
        raise UnreadableInput(
            place, f"holds {laid_out / 1e6:,.0f} MB of repeated text in {size / 1e3:,.0f} kB",
            "leave out the column that repeats a long text",
        )  # fmt: skip


def _rows_at_once(file: pq.ParquetFile, rows: int) -> int:
    """Return how many rows are unpacked together, by what the largest group of rows says of its own."""
    groups = [file.metadata.row_group(number) for number in range(file.metadata.num_row_groups)]
    longest = max((group.total_byte_size / max(1, group.num_rows) for group in groups), default=0.0)
    return max(1, min(rows, int(LARGEST_CHUNK / max(1.0, longest))))


def _bytes_laid_out(batch: pa.RecordBatch) -> list[int]:
    """Return how much each row takes once its texts stand in it."""
    import pyarrow as pa
    import pyarrow.compute as pc

    size = pa.array([0] * batch.num_rows, pa.int64())
    for column in _flat(pa.Table.from_batches([batch])).columns:
        for chunk in column.chunks:
            if pa.types.is_dictionary(chunk.type):
                lengths = pc.binary_length(chunk.dictionary).cast(pa.int64()).take(chunk.indices)
                size = pc.add(size, pc.fill_null(lengths, 0))
            else:
                size = pc.add(size, pa.scalar(chunk.nbytes // max(1, len(chunk)), pa.int64()))
    return [int(each) for each in size.to_pylist()]


def _pieces(sizes: list[int], wanted: Iterator[int]) -> Iterator[tuple[int, int]]:
    """Yield (first row, count) of runs of rows that are no more than a chunk, each at least one row."""
    start, held, most = 0, 0, next(wanted)
    for row, size in enumerate(sizes):
        if row > start and (held + size > LARGEST_CHUNK or row - start == most):
            yield start, row - start
            start, held, most = row, 0, next(wanted)
        held += size
    if start < len(sizes):
        yield start, len(sizes) - start


def _laid_out(batch: pa.RecordBatch) -> pa.RecordBatch:
    """Return rows with every text in its place, which any process can take without the others."""
    import pyarrow as pa

    return pa.RecordBatch.from_arrays(
        [_with_texts(column) for column in batch.columns], names=batch.schema.names
    )


def _with_texts(column: pa.Array) -> pa.Array:
    import pyarrow as pa

    if pa.types.is_dictionary(column.type):
        return column.dictionary.take(column.indices)
    if pa.types.is_struct(column.type):
        kind = column.type
        inside = [_with_texts(column.field(number)) for number in range(kind.num_fields)]
        names = [kind.field(number).name for number in range(kind.num_fields)]
        return pa.StructArray.from_arrays(inside, names, mask=column.is_null())
    return column


def _flat(table: pa.Table) -> pa.Table:
    import pyarrow as pa

    while any(pa.types.is_struct(column.type) for column in table.schema):
        table = table.flatten()
    return table


def read(batch: pa.RecordBatch, names: Sequence[str]) -> Rows:
    """Return rows by column; numbers, truth values and lists as they are, anything else as text."""
    import pyarrow as pa

    table = _flat(pa.Table.from_batches([batch]))
    faults: list[str | None] = [None] * table.num_rows
    columns: dict[str, list[Any]] = {}
    for name, column in zip(names, table.columns, strict=True):
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
