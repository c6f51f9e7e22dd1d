"""Does a registry hold together: the file, its tables, every record, what is kept beside it, the history."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

from registry.bundle import cell_line, parse_line
from registry.cell import Cell
from registry.envelope import doubts
from registry.errors import ManyProblems, RegistryError, UnreadableFile
from registry.sqlite.beginning import is_sqlite
from registry.sqlite.catalogue import open_in_newest_form
from registry.sqlite.connection import (
    Damage,
    error_kind,
    error_words,
    open_to_read,
    open_to_write,
    plain_errors,
)
from registry.sqlite.index_columns import cell_row, index_faults
from registry.sqlite.records import CHANGE, ROW, change_of_row, gap_at_end, gap_before
from registry.sqlite.schema import schema_faults


def verify(path: Path) -> list[str]:
    """Return one line for everything that is wrong with a registry, none when all is well.

    A line that begins with ``warning:`` is no damage. The file is left as it was found, and what can only be
    looked at by a program that may write is left out, with a warning, where nobody may.

    Raises
    ------
    UnreadableFile
        When it is no SQLite file, or one of some other program.
    StoreProblem
        When it cannot be opened, is so damaged that not even its list of tables can be read, or was written
        by a newer program.
    """
    place = str(path)
    with plain_errors(place):
        if not is_sqlite(path):
            raise UnreadableFile(place, "is not a SQLite registry", "name a registry or a bundle")
        with closing(open_to_read(path)) as connection:
            found, only_missing = schema_faults(connection, place)
            if found and only_missing:
                found += _contents(connection)
        if not found:
            with closing(open_in_newest_form(path)) as connection:
                found += _contents(connection)
            found += _read_through(lambda: _search_index(path))
    return [line if line.startswith("warning:") else f"{place}: {line}" for line in found]


def _contents(connection: sqlite3.Connection) -> list[str]:
    """Compare everything in the tables. The connection's one transaction shows every check the same state."""
    records: dict[object, object] = {}
    cells: dict[str, Cell] = {}
    checks: tuple[Callable[[], Iterator[str]], ...] = (
        lambda: _file_damage(connection),
        lambda: _records(connection, records, cells),
        lambda: index_faults(connection, cells, records.keys() - cells.keys()),
        lambda: _history(connection, records),
        lambda: _shared_names(connection),
        lambda: _beyond_their_size(cells),
    )
    return [line for check in checks for line in _read_through(check)]


def _read_through(check: Callable[[], Iterator[str]]) -> list[str]:
    """Return what a check finds, and as one more line where it cannot go on."""
    found: list[str] = []
    try:
        for line in check():
            found.append(line)
    except (sqlite3.Error, UnicodeDecodeError) as error:
        found.append(f"the file cannot be read through ({error_words(error)})")
    except Damage as damage:
        found.append(str(damage))
    return found


def _file_damage(connection: sqlite3.Connection) -> Iterator[str]:
    for (answer,) in connection.execute("PRAGMA integrity_check"):
        if answer != "ok":
            yield f"SQLite finds damage: {answer}"
    for table, row, points_to, _ in connection.execute("PRAGMA foreign_key_check"):
        yield f"row {row} of {table} points to no row of {points_to}"


def _records(
    connection: sqlite3.Connection, records: dict[object, object], cells: dict[str, Cell]
) -> Iterator[str]:
    """Name every row that is no valid cell, and fill `records` with all and `cells` with those that are."""
    for row in connection.execute(f"SELECT {ROW} FROM cells ORDER BY id"):  # noqa: S608 - a constant
        cell_id, record = row[0], row[-1]
        records[cell_id] = record
        if not isinstance(cell_id, str) or not isinstance(record, str):
            yield f"cell {cell_id if isinstance(cell_id, str) else '?'}: its record is not text"
            continue
        try:
            cell = parse_line(record, f"cell {cell_id}")
        except ManyProblems as several:
            yield from map(str, several.problems)
            continue
        except RegistryError as problem:
            yield str(problem)
            continue
        cells[cell_id] = cell
        if cell.id != cell_id:
            yield f"cell {cell_id}: its record has the id '{cell.id}'"
        elif cell_line(cell) != record:
            yield f"cell {cell_id}: its record is not written as this program writes it"
        if cell_row(cell, record) != row:
            yield f"cell {cell_id}: table cells differs from its record"


def _beyond_their_size(cells: dict[str, Cell]) -> Iterator[str]:
    """Warn of sheets that state what no cell of the size has."""
    return (f"warning: {doubt}" for cell in cells.values() for doubt in doubts(cell))


def _search_index(path: Path) -> Iterator[str]:
    # https://www.sqlite.org/fts5.html#the_integrity_check_command; rank 1 compares with the content too.
    # SQLite takes the question for a change, although it makes none.
    try:
        with closing(open_to_write(path)) as connection:
            connection.execute("BEGIN IMMEDIATE")
            connection.execute("INSERT INTO cells_fts (cells_fts, rank) VALUES ('integrity-check', 1)")
            connection.execute("ROLLBACK")
    except sqlite3.DatabaseError as error:
        if error_kind(error) in {"READONLY", "CANTOPEN", "PERM"}:
            yield "warning: the search index was not compared, because the file can only be read here"
        elif error_kind(error) == "CORRUPT":
            yield "the search index differs from the cells"
        elif "no such table: cells_fts" not in str(error):  # an older form, which has none yet
            raise


def _history(connection: sqlite3.Connection, records: dict[object, object]) -> Iterator[str]:
    last: dict[object, object] = {}
    rows = connection.execute(f"SELECT cell_id, {CHANGE} FROM history ORDER BY number")  # noqa: S608
    for cell_id, *row in rows:
        if gap := gap_before(cell_id, tuple(row), last.get(cell_id)):
            yield gap
        last[cell_id] = row[-1]
        try:
            change_of_row(cell_id, tuple(row))
        except Damage as damage:
            yield f"change {row[0]}: {damage}"
    for cell_id, record in records.items():
        if gap := gap_at_end(cell_id, last.get(cell_id), record):
            yield gap


def _shared_names(connection: sqlite3.Connection) -> Iterator[str]:
    shared = connection.execute(
        "SELECT normalised, group_concat(cell_id, ', ') FROM"
        " (SELECT normalised, cell_id FROM names JOIN cells ON cells.id = names.cell_id"
        " WHERE cells.retired IS NULL ORDER BY normalised, cell_id)"
        " GROUP BY normalised HAVING count(*) > 1"
    )
    for name, cell_ids in shared:
        yield f"warning: the name '{name}' belongs to several cells: {cell_ids}"
