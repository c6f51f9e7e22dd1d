"""The text bundle: JSON Lines, one cell a line, sorted by id, the same bytes for the same cells.

A bundle can live in a version control system and be shared. Its line is also the record that the SQLite
registry keeps, so both forms of a registry have the same digest.
"""

from __future__ import annotations

import hashlib
import json
from codecs import BOM_UTF8
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from typing import Any, BinaryIO

from pydantic import ValidationError

from registry.cell import Cell
from registry.errors import InvalidRecord, ManyProblems, PlacedError, UnreadableFile
from registry.fields import problems
from registry.files import write_file
from registry.garbage_collection import garbage_collection_paused
from registry.input_bounds import DIGITS, RECORD

_FIELDS = tuple(Cell.model_fields)
_encoded = json.JSONEncoder(ensure_ascii=False, allow_nan=False, separators=(", ", ": ")).encode


def cell_line(cell: Cell) -> str:
    """Return a cell as one line of JSON: keys in model order, absent and empty fields left out.

    Equal cells give equal lines: citations stand in order of name, and no zero is negative.
    """
    found = cell.model_dump(exclude_defaults=True) | {"form": cell.form}
    record = {name: found[name] for name in _FIELDS if name in found}
    for sheet in record["sheets"]:
        if "citations" in sheet:
            sheet["citations"] = dict(sorted(sheet["citations"].items()))
    line = _encoded(record)
    return _encoded(_without_negative_zero(record)) if "-0.0" in line else line


def _without_negative_zero(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _without_negative_zero(part) for name, part in value.items()}
    if isinstance(value, (tuple, list)):
        return [_without_negative_zero(part) for part in value]
    return value + 0.0 if isinstance(value, float) else value


def in_order(cells: Iterable[Cell]) -> list[Cell]:
    """Return cells sorted by id.

    Raises
    ------
    InvalidRecord
        When two cells have the same id.
    """
    ordered = sorted(cells, key=lambda cell: cell.id)
    for cell, following in pairwise(ordered):
        if cell.id == following.id:
            raise InvalidRecord(f"cell {cell.id}", "the id stands twice", "give each cell its own id")
    return ordered


def bundle_text(cells: Iterable[Cell]) -> str:
    """Return cells as the text of a bundle. Raises ``InvalidRecord`` when two have the same id."""
    return "".join(f"{cell_line(cell)}\n" for cell in in_order(cells))


def digest(cells: Iterable[Cell]) -> str:
    """Return the SHA-256 of the cells' bundle, in hexadecimal."""
    return hashlib.sha256(bundle_text(cells).encode()).hexdigest()


def write_bundle(cells: Iterable[Cell], path: Path) -> None:
    """Write cells as a bundle; the file is either the old one or the whole new one, never half of it."""
    write_file(path, bundle_text(cells).encode())


def read_bundle(path: Path) -> list[Cell]:
    """Read a bundle file.

    Raises
    ------
    UnreadableFile
        When the file cannot be read at all.
    ManyProblems
        When any line is not a valid cell; every bad line is among its problems.
    """
    try:
        with path.open("rb") as file, garbage_collection_paused():
            return _parse(_lines(file, str(path)), str(path))
    except OSError as error:
        raise UnreadableFile(str(path), f"cannot be read ({error.strerror or error})") from error


def _lines(file: BinaryIO, place: str) -> Iterator[bytes]:
    """Yield the lines of a bundle; one that no cell could need is not read whole."""
    number = 0
    while line := file.readline(RECORD.most + 1):
        number += 1
        if len(line) > RECORD.most:
            raise UnreadableFile(
                f"{place} line {number}", f"is longer than {RECORD}", RECORD.why,
            )  # fmt: skip
        yield line.removeprefix(BOM_UTF8) if number == 1 else line


def parse_bundle(text: str, place: str) -> list[Cell]:
    """Read the text of a bundle; `place` is what errors call it. Raises ``ManyProblems``."""
    with garbage_collection_paused():
        return _parse(text.removeprefix("\ufeff").split("\n"), place)


def _parse(lines: Iterable[str | bytes], place: str) -> list[Cell]:
    cells: list[Cell] = []
    found: list[PlacedError] = []
    first_line: dict[str, int] = {}
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        here = f"{place} line {number}"
        try:
            cell = parse_line(line, here)
        except ManyProblems as several:
            found.extend(several.problems)
            continue
        except InvalidRecord as problem:
            found.append(problem)
            continue
        if cell.id in first_line:
            found.append(
                InvalidRecord(
                    f"{here} id",
                    f"'{cell.id}' stands already on line {first_line[cell.id]}",
                    "keep one line for each cell",
                )
            )
        first_line.setdefault(cell.id, number)
        cells.append(cell)
    if found:
        raise ManyProblems(place, found)
    return cells


def parse_line(line: str | bytes, place: str) -> Cell:
    """Read one bundle line.

    Raises
    ------
    InvalidRecord
        When one thing is wrong with it.
    ManyProblems
        When several are.
    """
    return validate_cell(_load(line, place), place)


def read_record(record: str, place: str) -> Cell:
    """Read the record of a cell that a registry keeps; errors are those of `parse_line`.

    Quicker than `parse_line`, which also refuses a key that stands twice: such a line this program never
    stores, and ``cells verify`` finds one that another tool has put there.
    """
    try:
        return Cell.model_validate_json(record)
    except ValidationError:
        return parse_line(record, place)


def _load(line: str | bytes, place: str) -> object:
    try:
        text = line.decode() if isinstance(line, bytes) else line
        return _decoded(text)
    except UnicodeDecodeError:
        raise InvalidRecord(place, "holds bytes that are not UTF-8 text", "save the file as UTF-8") from None
    except json.JSONDecodeError as error:
        raise InvalidRecord(place, f"is not JSON: {error.msg} at column {error.colno}") from None
    except _UnfitJson as error:
        raise InvalidRecord(place, str(error)) from None
    except RecursionError:
        raise InvalidRecord(place, "is nested too deeply for a cell") from None


class _UnfitJson(ValueError):
    """The JSON is well formed for some readers and still says nothing definite."""


def _distinct_keys(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) == len(pairs) and "".join(found).isascii():
        return found
    found = {}
    for key, value in pairs:
        if key in found:
            raise _UnfitJson(f"key '{_shown(key)}' stands twice; keep one")
        if _shown(key) != key:
            raise _UnfitJson(f"key '{_shown(key)}' holds half of a character")
        found[key] = value
    return found


def _shown(text: str) -> str:
    return text.encode(errors="backslashreplace").decode()


def _no_constant(name: str) -> None:
    raise _UnfitJson(f"{name} is not a number; leave the key out when nothing is known")


def _whole_number(digits: str) -> int:
    if len(digits) > DIGITS.most:
        raise _UnfitJson(f"number {digits[:12]}... has {len(digits)} digits; no figure of a cell has")
    return int(digits)


_decoded = json.JSONDecoder(
    object_pairs_hook=_distinct_keys, parse_constant=_no_constant, parse_int=_whole_number
).decode


def validate_cell(data: object, place: str) -> Cell:
    """Turn loaded data into a cell.

    Parameters
    ----------
    data
        What JSON, YAML or a table row gave.
    place
        What errors name as the place; the field's path is added to it.

    Raises
    ------
    InvalidRecord
        When one thing is wrong with it.
    ManyProblems
        When several are.
    """
    try:
        return Cell.model_validate(data)
    except ValidationError as error:
        found = [
            InvalidRecord(f"{place} {path}" if path else place, what)
            for _, path, what in problems(error, Cell)
        ]
    if len(found) == 1:
        raise found[0]
    raise ManyProblems(place, list(found))


def with_sheet(cell: Cell, record: Mapping[str, Any]) -> Cell:
    """Return a cell with one more sheet.

    Raises
    ------
    InvalidRecord, ManyProblems
        When something is wrong with it, as `validate_cell` tells.
    """
    known = cell.model_dump()
    return validate_cell(known | {"sheets": [*known["sheets"], record]}, f"cell {cell.id}")
