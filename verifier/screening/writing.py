"""Putting the parts of a result together, in whichever form, one part in memory at a time."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import BinaryIO

import numpy as np

from registry.plain_text import harmless
from registry.spreadsheet import safe
from verifier.screening.pass_through import NUMBER_MARK
from verifier.screening.result_table import COUNT, NUMBER, TEXT, Column, ResultTable, Texts
from verifier.screening.results import NUMBERS
from verifier.screening.rows import BOM
from verifier.screening.tables import CSV, PARQUET, TSV, XLSX
from verifier.screening.words import heads
from verifier.screening.words import name as named
from verifier.words import ENGLISH, Language

# Rows that are made text at once: enough to be quick, few enough for their text to be small.
_PIECE = 4000
SEMICOLON = ";"
FOR_PEOPLE = (CSV, TSV, XLSX)
_MOST_DIGITS = 4


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
    tables: Iterable[ResultTable],
    kinds: Mapping[str, str],
    form: str,
    stream: BinaryIO,
    style: CsvStyle = PLAIN,
    about: Mapping[str, str] | None = None,
    language: Language = ENGLISH,
) -> None:
    """Write a result.

    Parameters
    ----------
    tables : iterable of ResultTable
        The rows in order.
    kinds : mapping of column name to kind
        The columns, in order, and what each holds.
    form : str
        One of `verifier.screening.tables.FORMS`.
    stream : binary file
        Where to write.
    style : CsvStyle
        How CSV is written.
    about : mapping, optional
        What is said of the whole where the form has a place for it: how the table was read, by what it was judged.
    language : Language
        Of headings and of what stands for a conclusion, in forms for people; machines read the English ones.
    """
    if form in FOR_PEOPLE:
        tables = (_rounded(_in_words(each, language)) for each in tables)
    if form == PARQUET:
        _write_parquet(tables, kinds, stream)
        return
    if form == XLSX:
        from verifier.screening.xlsx_writing import write_sheet

        write_sheet(tables, list(kinds), stream, about, language)
        return
    as_text: Callable[[ResultTable], str] = _json_lines
    if form in (CSV, TSV):
        if form == TSV:
            style = replace(style, separator="\t")
        as_text = partial(_csv_lines, style=style)
        stream.write(BOM if style.marked else b"")
        shown = heads(language)
        stream.write(f"{style.separator.join(_quoted(shown.get(each, each)) for each in kinds)}\n".encode())
    for table in tables:
        for at in range(0, table.count, _PIECE):
            stream.write(as_text(table.take(slice(at, at + _PIECE))).encode())


def _rounded(table: ResultTable) -> ResultTable:
    """Return rows with the numbers of figures as people read them; what machines read keeps all digits."""
    found = dict(table.columns)
    for column, values in found.items():
        if column.rpartition(".")[2] in NUMBERS and not isinstance(values, Texts):
            different, codes = np.unique(values, return_inverse=True)
            found[column] = np.array([float(f"{each:.{_MOST_DIGITS}g}") for each in different.tolist()])[
                codes
            ]
    return ResultTable(found)


def _in_words(table: ResultTable, language: Language) -> ResultTable:
    """Return rows with the names of conclusions and proofs in a language."""
    if language.english:
        return table
    found = dict(table.columns)
    for column, group in (("conclusion", "conclusions"), ("proof", "proofs")):
        if column in found:
            texts = table.texts(column)
            words = tuple(named(group, word, language) for word in texts.words)
            found[column] = Texts(texts.codes, words)
    return ResultTable(found)


def _write_parquet(tables: Iterable[ResultTable], kinds: Mapping[str, str], stream: BinaryIO) -> None:
    import pyarrow as pa
    import pyarrow.parquet as pq

    types = {TEXT: pa.string(), COUNT: pa.int64(), NUMBER: pa.float64()}
    schema = pa.schema([pa.field(name, types[kind]) for name, kind in kinds.items()])
    with pq.ParquetWriter(stream, schema) as writer:
        for table in tables:
            columns = [
                pa.array(_unmarked(table.values(name)), type=field.type) if isinstance(column, Texts)
                else pa.array(column, type=field.type, from_pandas=True)
                for (name, column), field in zip(table.columns.items(), schema, strict=True)
            ]  # fmt: skip
            writer.write_batch(pa.RecordBatch.from_arrays(columns, schema=schema))


def _unmarked(texts: Iterable[str | None]) -> list[str | None]:
    return [None if each is None else each.removeprefix(NUMBER_MARK) for each in texts]


def _each_written(
    column: Column, of_text: Callable[[str], str], of_number: Callable[[float], str]
) -> list[str]:
    """Return a column as text, nothing where there is no value; each different value is written once."""
    if isinstance(column, Texts):
        return column.each(map(of_text, column.words), "")
    # By their bits, for 0.0 equals -0.0 and would be written as whichever of them comes first.
    different, codes = np.unique(column.view(np.int64), return_inverse=True)
    written = ["" if each != each else of_number(each) for each in different.view(column.dtype).tolist()]
    return [written[code] for code in codes.tolist()]


def _csv_lines(table: ResultTable, style: CsvStyle) -> str:
    def of_number(value: float) -> str:
        if style.decimal == "." or isinstance(value, int):
            return shortest(value)
        return f'"{shortest(value).replace(".", style.decimal)}"'

    def of_text(text: str) -> str:
        if not text.startswith(NUMBER_MARK):
            return _quoted(text)
        # A number of the source is written as it came, but for what spreadsheets take for the decimal sign.
        number = text.removeprefix(NUMBER_MARK)
        return f'"{number.replace(".", style.decimal)}"'

    columns = [_each_written(column, of_text, of_number) for column in table.columns.values()]
    return "".join(f"{style.separator.join(row)}\n" for row in zip(*columns, strict=True))


def _quoted(text: str) -> str:
    """Return text as CSV holds it, always in quotes; what a spreadsheet would take for a formula is made text."""
    return '"' + safe(harmless(text)).replace('"', '""') + '"'


def _json_lines(table: ResultTable) -> str:
    """Return a line of JSON for each row, what is missing left out."""
    columns = []
    for name, column in table.columns.items():
        start = f"{json.dumps(name, ensure_ascii=False)}: "

        def of_text(text: str, start: str = start) -> str:
            if text.startswith(NUMBER_MARK):
                return start + text.removeprefix(NUMBER_MARK)
            return start + json.dumps(text, ensure_ascii=False)

        def of_number(value: float, start: str = start) -> str:
            return start + shortest(value)

        columns.append(_each_written(column, of_text, of_number))
    return "".join(f"{{{', '.join(filter(None, row))}}}\n" for row in zip(*columns, strict=True))


def shortest(value: float) -> str:
    """Return a number by the fewest digits that read as it: 48, 0.00005, 1.5e-7, 1e+10."""
    if isinstance(value, int):
        return str(value)
    if value == 0 or 1e-6 <= abs(value) < 1e10:
        return np.format_float_positional(value, trim="-")
    return np.format_float_scientific(value, trim="-", exp_digits=1)
