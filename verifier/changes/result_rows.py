"""Reading a result of a screening back, a row at a time."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import IO, Any

from verifier.errors import UnreadableInput
from verifier.screening.results import CONCLUSION
from verifier.screening.words import HEADS, NAMES, heads
from verifier.screening.words import name as named
from verifier.words import Language, language_of, languages

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
            with Path(name).open(encoding="utf-8-sig", newline="") as stream, _long_cells():
                yield _of_csv(stream, name) if ending in (".csv", ".tsv") else _of_json_lines(stream, name)
    except OSError as error:
        raise UnreadableInput(name, f"cannot be read ({error.strerror or error})") from error
    except UnicodeDecodeError as error:
        raise UnreadableInput(name, "is not UTF-8 text", "save it as UTF-8") from error


@contextmanager
def _long_cells() -> Iterator[None]:
    """Let the CSV reader take a long cell; its limit is of the whole process, so it is put back."""
    usual = csv.field_size_limit(_LONGEST_CELL)
    try:
        yield
    finally:
        csv.field_size_limit(usual)


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
    reader = csv.DictReader(stream, delimiter=mark)
    names = _usable(_in_english(reader.fieldnames or ()), place)
    reader.fieldnames = names

    def rows() -> Iterator[Mapping[str, Any]]:
        try:
            yield from map(_words_in_english, reader)
        except csv.Error as error:
            raise UnreadableInput(f"{place} line {reader.line_num}", f"is no row of CSV ({error})") from error

    return names, rows()


def _of_sheet(rows: Iterator[Sequence[Any]], place: str) -> tuple[Sequence[str], Iterator[Mapping[str, Any]]]:
    names = _usable(_in_english([str(each) for each in next(rows, ())]), place)
    return names, (_words_in_english(dict(zip(names, row, strict=False))) for row in rows)


def _in_english(names: Sequence[str]) -> list[str]:
    """Return the headings of a result as a program knows them, in whichever language they were written for people."""
    return max((_of_language(names, language_of(code)) for code in languages()), key=lambda found: found[0])[
        1
    ]


def _of_language(names: Sequence[str], language: Language) -> tuple[int, list[str]]:
    """Return how many headings are those of an answer in a language, and all of them with those in English.

    They stand first and in their order: behind them a shop's own column may have the same name.
    """
    found, known = list(names), 0
    shown = heads(language)
    wanted = list(HEADS)
    for at, name in enumerate(names):
        place = next((to for to, each in enumerate(wanted) if name in _written(each, shown[each])), None)
        if place is None:
            break
        found[at], known = wanted[place], known + 1
        del wanted[: place + 1]
    # Whoever puts columns in another order keeps the English ones.
    english = {written: each for each in wanted for written in _written(each, each)}
    return known, [english.get(each, each) for each in found]


def _written(name: str, shown: str) -> tuple[str, str, str]:
    """Return how a column may be headed; a spreadsheet's headings are written for people: "worst figure"."""
    return name, shown, shown.replace("_", " ")


@cache
def _english_words() -> Mapping[str, Mapping[str, str]]:
    return {
        column: {named(group, word, language_of(code)): word for code in languages() for word in NAMES[group]}
        for column, group in ((CONCLUSION, "conclusions"), ("proof", "proofs"))
    }


def _words_in_english(row: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return a row with its conclusion and proof as a program knows them."""
    said = {
        column: words[row[column]] for column, words in _english_words().items() if row.get(column) in words
    }
    return {**row, **said}


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
