"""The table of cells for spreadsheets: CSV with one row a sheet, rows of one id making one cell.

Lists have numbered columns: ``discharge_1_low_c``, ``discharge_2_low_c``. Every column is read as text and
turned into a value by the rule of its field, so codes keep their zeros; an empty place is an absent figure,
never zero. The table holds every field of the models: what is written reads back as equal cells.
"""

from __future__ import annotations

import csv
import io
import re
import types
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from registry.bundle import in_order, validate_cell
from registry.cell import Cell, Citation, Sheet
from registry.errors import InvalidRecord, ManyProblems, PlacedError
from registry.fields import nearest, problems
from registry.input_bounds import TABLE_COLUMNS, TABLE_ROWS
from registry.sheet_figures import CITED
from registry.spreadsheet import as_written, safe

Path = tuple[str, ...]

_ALWAYS = ("id", "maker", "model", "chemistry", "evidence")
CELL_FIELDS = tuple(name for name in Cell.model_fields if name != "sheets")
# Objects that a sheet has although they hold nothing, such as a citation without page and quote.
_HOLLOW = "present_without_content"
_HOLLOW_WORDS = ("resistance", *(f"citations.{name}" for name in CITED))
LISTED = re.compile(r"_([0-9]{1,4})(?=_|$)")
# Columns that are told to be wrong; a file with more is no table of cells.
_MOST_TOLD = 50
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?")


def write_table(cells: Iterable[Cell]) -> str:
    """Return cells as CSV text (RFC 4180); write it to a file without changing its line ends.

    Raises
    ------
    InvalidRecord
        When two cells have the same id.
    """
    cells = list(cells)
    in_order(cells)  # refuses ids that stand twice; the table keeps the order given
    rows = [row for cell in cells for row in _rows(cell)]
    used = {path for row in rows for path in row} | {(name,) for name in _ALWAYS}
    order = sorted(used, key=_position)
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(_column(path) for path in order)
    writer.writerows([row.get(path, "") for path in order] for row in rows)
    return text.getvalue()


def _rows(cell: Cell) -> Iterator[dict[Path, str]]:
    """Yield one row a sheet: the text of every leaf by its path, such as (discharge, 1, low_c)."""
    own = dict(_leaves(cell.model_dump(include=set(CELL_FIELDS)), ()))
    for sheet in cell.sheets:
        data = sheet.model_dump(exclude_defaults=True)
        words = {("not_stated",): " ".join(data.pop("not_stated", ()))}
        leaves = dict(_leaves(data, ()))
        words[(_HOLLOW,)] = " ".join(".".join(path) for path, value in leaves.items() if value == {})
        row = {path: _text(value) for path, value in (own | leaves).items() if value != {}}
        yield row | {path: text for path, text in words.items() if text}


def _leaves(value: Any, path: Path) -> Iterator[tuple[Path, Any]]:
    if isinstance(value, dict) and value:
        for name, part in value.items():
            yield from _leaves(part, (*path, name))
    elif isinstance(value, tuple):
        for number, part in enumerate(value, start=1):
            yield from _leaves(part, (*path, str(number)))
    elif value is not None:
        yield path, value


def _text(value: str | float | int) -> str:
    if isinstance(value, str):
        return safe(value)
    return repr(value).removesuffix(".0")


def _column(path: Path) -> str:
    return "_".join(path[1:] if path[0] == "citations" else path)


@cache
def _template(path: Path) -> Path:
    return tuple("#" if part.isdigit() else part for part in path)


def _position(path: Path) -> tuple[int, int, int]:
    """Order columns as the models do, the figures of one list entry together."""
    known = list(_fields())
    group = [other for other in known if other[0] == path[0]] if len(path) > 1 and path[1].isdigit() else []
    own = known.index(_template(path))
    return (known.index(group[0]), int(path[1]), own) if group else (own, 0, own)


# Reading ------------------------------------------------------------------------------------------------


def _number(text: str) -> float:
    text = text.strip()
    if not _NUMBER.fullmatch(text):
        if re.fullmatch(r"[+-]?[0-9]+(,[0-9]+)+", text):
            hint = "write a decimal point and no thousands separator, such as 3.35"
        elif "−" in text:
            hint = "write the sign as '-'"
        else:
            hint = "write the number alone; its unit stands in the column's name"
        raise ValueError(f"'{text[:40]}' is not a number; {hint}")
    return float(text)


def _count(text: str) -> int:
    text = text.strip()
    if not re.fullmatch(r"[0-9]{1,20}", text):
        raise ValueError(f"'{text[:40]}' is not a whole number; write digits only")
    return int(text)


def _words(text: str) -> list[str]:
    return text.split()


def _hollow(text: str) -> list[str]:
    for word in text.split():
        if word not in _HOLLOW_WORDS:
            raise ValueError(f"'{word[:40]}' cannot be without content; {nearest(word, list(_HOLLOW_WORDS))}")
    return text.split()


@cache
def _fields() -> dict[Path, Callable[[str], Any]]:
    """Return how the text of each column is read, by path and in column order; ``#`` is a number."""
    readers: dict[Path, Callable[[str], Any]] = {}
    for name in CELL_FIELDS:
        readers |= _readers(Cell.model_fields[name].annotation, (name,))
    for name, info in Sheet.model_fields.items():
        if name == "citations":
            continue
        readers |= {(name,): _words} if name == "not_stated" else _readers(info.annotation, (name,))
        if name in CITED:
            readers |= _readers(Citation, ("citations", name))
    readers[(_HOLLOW,)] = _hollow
    return readers


def _readers(annotation: Any, path: Path) -> dict[Path, Callable[[str], Any]]:
    origin, parts = get_origin(annotation), get_args(annotation)
    if origin in (Union, types.UnionType):
        return _readers(next(part for part in parts if part is not type(None)), path)
    if origin is Annotated:
        return _readers(parts[0], path)
    if origin is tuple:
        return _readers(parts[0], (*path, "#"))
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return {
            inner: reader
            for name, info in annotation.model_fields.items()
            for inner, reader in _readers(info.annotation, (*path, name)).items()
        }
    if origin is Literal:
        return {path: str.strip}
    return {path: {str: as_written, float: _number, int: _count}[annotation]}


@dataclass
class _Row:
    """One row of the file: where it stands, and its values by field name and list number."""

    line: int
    readable: bool = True
    cell: dict[str, Any] = field(default_factory=dict)
    sheet: dict[str, Any] = field(default_factory=dict)

    def put(self, path: Path, value: Any) -> None:
        if path == (_HOLLOW,):
            for word in value:
                self._inside(tuple(word.split(".")))
        else:
            top = self.cell if path[0] in CELL_FIELDS else self.sheet
            self._inside(path[:-1], top)[path[-1]] = value

    def _inside(self, path: Path, top: dict[str, Any] | None = None) -> dict[str, Any]:
        inner = self.sheet if top is None else top
        for name in path:
            inner = inner.setdefault(name, {})
        return inner


def parse_table(text: str, place: str) -> list[Cell]:
    """Read cells from the text of a table.

    Parameters
    ----------
    text
        CSV whose columns are divided by comma, semicolon or tab, whichever the first line uses.
    place
        What errors call it.

    Raises
    ------
    ManyProblems
        When any column is unknown or any row is wrong; every bad row is among its problems, by line.
    """
    text = text.removeprefix("\ufeff")
    found: list[PlacedError] = []
    lines = _split(text, place, found)
    header = next(lines, None)
    if header is None:
        found = found or [InvalidRecord(f"{place} line 1", "is empty", "the first line names the columns")]
        raise ManyProblems(place, found)
    columns = _read_header(header[1], f"{place} line {header[0]}")
    rows: dict[str, list[_Row]] = {}
    for count, (line, values) in enumerate(lines, start=1):
        if count > TABLE_ROWS.most:
            raise InvalidRecord(f"{place} line {line}", f"is beyond {TABLE_ROWS}", TABLE_ROWS.why)
        row, wrong = _read_row(columns, values, line, place)
        row.readable = not wrong
        found.extend(wrong)
        if "id" in row.cell:
            rows.setdefault(row.cell["id"].strip(), []).append(row)
    cells = [_join(cell_rows, place, found) for cell_rows in rows.values()]
    if found:
        raise ManyProblems(place, sorted(found, key=_line_of))
    return [cell for cell in cells if cell is not None]


def _line_of(problem: PlacedError) -> int:
    found = re.search(r" line ([0-9]+)", problem.place)
    return int(found[1]) if found else 0


def _split(text: str, place: str, found: list[PlacedError]) -> Iterator[tuple[int, list[str]]]:
    """Yield (line, values) of every row that is not empty."""
    first = re.search("[,;\t]", text.split("\n", 1)[0])
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=first[0] if first else ",", strict=True)
    line = 1
    try:
        for values in reader:
            if any(value.strip() for value in values):
                yield line, values
            line = reader.line_num + 1
    except csv.Error as error:
        found.append(
            InvalidRecord(f"{place} line {line}", f"is not CSV ({error})", "check its quotation marks")
        )


def _read_header(names: list[str], place: str) -> list[Path]:
    by_column = {_column(path): path for path in _fields()}
    columns: dict[Path, None] = {}
    found: list[PlacedError] = []
    while names and not names[-1].strip():  # a spreadsheet leaves empty columns behind
        names.pop()
    if len(names) > TABLE_COLUMNS.most:
        raise InvalidRecord(place, f"has more than {TABLE_COLUMNS}", TABLE_COLUMNS.why)
    for name in (name.strip() for name in names):
        if len(found) >= _MOST_TOLD:
            found.append(InvalidRecord(place, "has still more columns that cannot be read"))
            break
        template = by_column.get(LISTED.sub("_#", name))
        if template is None:
            hint = nearest(LISTED.sub("_1", name), [known.replace("#", "1") for known in by_column])
            found.append(InvalidRecord(f"{place} {name}".rstrip(), f"unknown column '{name}'", hint))
            continue
        number = LISTED.search(name)
        path = tuple(str(int(number[1])) if number and part == "#" else part for part in template)
        if path in columns:
            found.append(InvalidRecord(f"{place} {name}", "the column stands twice", "keep one of them"))
        columns[path] = None
    found.extend(
        InvalidRecord(place, f"column '{name}' is missing", "a table has it for every row")
        for name in _ALWAYS
        if not found and (name,) not in columns
    )
    if found:
        raise ManyProblems(place, found)
    return list(columns)


def _read_row(
    columns: list[Path], values: list[str], line: int, place: str
) -> tuple[_Row, list[PlacedError]]:
    row, here, wrong = _Row(line), f"{place} line {line}", list[PlacedError]()
    if any(value.strip() for value in values[len(columns) :]):
        wrong.append(
            InvalidRecord(
                here,
                f"has {len(values)} values for {len(columns)} columns",
                "a value that holds a comma needs quotation marks",
            )
        )
    for path, text in zip(columns, values, strict=False):
        if text == "":
            continue
        try:
            row.put(path, _fields()[_template(path)](text))
        except ValueError as error:
            wrong.append(InvalidRecord(f"{here} {_column(path)}", str(error)))
    if not wrong and "id" not in row.cell:
        wrong.append(InvalidRecord(f"{here} id", "is empty", "every row names its cell"))
    return row, wrong


def _join(rows: list[_Row], place: str, found: list[PlacedError]) -> Cell | None:
    """Return the cell that rows of one id make, or note in `found` what is wrong with each."""
    first = rows[0]
    before = len(found)
    read: list[tuple[int, Cell]] = []
    for row in (row for row in rows if row.readable):
        here = f"{place} line {row.line}"
        # A further row may leave out what the first one says of the cell.
        data = _listed(first.cell | row.cell) | {"sheets": [_listed(row.sheet)]}
        try:
            cell = Cell.model_validate(data)
        except ValidationError as error:
            for _, path, what in problems(error, Cell):
                column = _column_of(path, row, first)
                found.append(InvalidRecord(f"{here} {column}".rstrip(), what))
            continue
        read.append((row.line, cell))
        first_line, told = read[0]
        for name in CELL_FIELDS:
            said, differs = getattr(told, name), getattr(cell, name)
            if said != differs:
                what = f"'{differs}' differs from '{said}' on line {first_line}"
                found.append(InvalidRecord(f"{here} {name}", what, "rows of one id are one cell"))
    if len(found) > before or not read:
        return None
    data = read[0][1].model_dump() | {"sheets": [sheet for _, cell in read for sheet in cell.sheets]}
    return validate_cell(data, f"{place} line {first.line}")


def _listed(value: Any) -> Any:
    """Turn what is numbered into lists in order of the numbers."""
    if not isinstance(value, dict):
        return value
    if value and all(name.isdigit() for name in value):
        return [_listed(value[name]) for name in sorted(value, key=int)]
    return {name: _listed(part) for name, part in value.items()}


def _column_of(path: str, row: _Row, first: _Row) -> str:
    """Return the column that a field path of the model was read from, in this row or the cell's first."""

    def numbered(match: re.Match[str]) -> str:
        entries = row.sheet.get(match[1]) or row.cell.get(match[1]) or first.cell.get(match[1]) or {}
        numbers = sorted(entries, key=int)
        return f"{match[1]}_{numbers[int(match[2])]}"

    inside = re.sub(r"^sheets\[0\]\.?", "", path).removeprefix("citations.")
    return re.sub(r"(\w+)\[([0-9]+)\]", numbered, inside).replace(".", "_")
