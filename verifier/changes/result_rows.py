"""Reading a result of a screening back, a row at a time."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

from verifier.errors import UnreadableInput
from verifier.screening.output import ANSWER
from verifier.screening.results import CONCLUSION
from verifier.screening.row_answers import UNREADABLE

ENDINGS = (".csv", ".tsv", ".xlsx", ".jsonl", ".ndjson", ".parquet")
NO_RESULT = "a result of 'packclaim screen', or reports saved with --format json"
# A row is a listing; a longer cell is a fault of the file.
_LONGEST_CELL = 1_000_000


@contextmanager
def result_rows(name: str) -> Iterator[tuple[Sequence[str], Iterator[Mapping[str, Any]]]]:
    """Open a result and give its columns and its rows."""
    ending = Path(name).suffix.lower()
    try:
        if ending == ".parquet":
            from verifier.screening.parquet_rows import open_file

            with open_file(name) as file:
                yield _usable(file.schema_arrow.names, name), _of_parquet(file)
        elif ending == ".xlsx":
            from verifier.screening.xlsx_rows import lines, open_sheet

            with open_sheet(name, None) as sheet:
                yield _of_sheet(lines(sheet, name), name)
        else:
            with Path(name).open(encoding="utf-8-sig", newline="") as stream:
                yield _of_csv(stream, name) if ending in (".csv", ".tsv") else _of_json_lines(stream, name)
    except OSError as error:
        raise UnreadableInput(name, f"cannot be read ({error.strerror or error})") from error
    except UnicodeDecodeError as error:
        raise UnreadableInput(name, "is not UTF-8 text", "save it as UTF-8") from error


def _usable(names: Sequence[str], place: str) -> Sequence[str]:
    if "sentence" not in names or CONCLUSION not in names:
        raise UnreadableInput(place, "is no result of a screening", NO_RESULT)
    return names


def _of_parquet(file: Any) -> Iterator[Mapping[str, Any]]:
    for batch in file.iter_batches(batch_size=10_000):
        yield from batch.to_pylist()


def _of_csv(stream: IO[str], place: str) -> tuple[Sequence[str], Iterator[Mapping[str, Any]]]:
    header = stream.readline()
    stream.seek(0)
    # A table that went through a spreadsheet may come back with semicolons.
    mark = max(",;\t", key=header.count)
    csv.field_size_limit(_LONGEST_CELL)
    reader = csv.DictReader(stream, delimiter=mark)
    names = _usable(reader.fieldnames or (), place)

    def rows() -> Iterator[Mapping[str, Any]]:
        try:
            yield from reader
        except csv.Error as error:
            raise UnreadableInput(f"{place} line {reader.line_num}", f"is no row of CSV ({error})") from error

    return names, rows()


def _of_sheet(rows: Iterator[Sequence[Any]], place: str) -> tuple[Sequence[str], Iterator[Mapping[str, Any]]]:
    # A spreadsheet's headings are written for people: "worst figure".
    ours = {name.replace("_", " "): name for name in (*ANSWER, UNREADABLE)}
    names = _usable([ours.get(str(each), str(each)) for each in next(rows, ())], place)
    return names, (dict(zip(names, row, strict=False)) for row in rows)


def _of_json_lines(stream: IO[str], place: str) -> tuple[Sequence[str], Iterator[Mapping[str, Any]]]:
    def rows() -> Iterator[Mapping[str, Any]]:
        for number, line in enumerate(stream, 1):
            if not line.strip():
                continue
            try:
                row = json.loads(line)
            except (ValueError, RecursionError) as error:
                raise UnreadableInput(f"{place} line {number}", "is not JSON") from error
            if not isinstance(row, dict):
                raise UnreadableInput(f"{place} line {number}", "is no row", "a row is a JSON object")
            yield row

    every = rows()
    first = next(every, None)
    if first is None:
        raise UnreadableInput(place, "is empty", NO_RESULT)

    def again() -> Iterator[Mapping[str, Any]]:
        yield first
        yield from every

    return _usable(list(first), place), again()
