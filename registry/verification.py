"""Does a registry hold together: the file, every record, what is derived from it, and the history."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Callable, Iterator

from registry.bundle import cell_line, parse_line
from registry.cell import Cell
from registry.connection import error_kind
from registry.derived import COLUMNS, ROWS, Row, cell_row
from registry.envelope import impossible
from registry.errors import ManyProblems, RegistryError

_GUARDS = {
    "history_keeps_rows", "history_keeps_words", "history_keeps_places",
    "cells_keeps_rows", "cells_keeps_ids", "cells_keeps_places",
}  # fmt: skip


def findings(connection: sqlite3.Connection, place: str) -> list[str]:
    """Return one line for everything that is wrong, none when all is well.

    Parameters
    ----------
    connection
        The registry; it is left as it was found.
    place
        What findings call the file.
    """
    found: list[str] = []
    records: dict[str, str] = {}
    cells: dict[str, Cell] = {}

    def read_records() -> Iterator[str]:
        records.update(connection.execute("SELECT id, record FROM cells ORDER BY id"))
        yield from _invalid_records(records, cells)

    checks: tuple[Callable[[], Iterator[str]], ...] = (
        lambda: _file_damage(connection),
        lambda: _missing_guards(connection),
        read_records,
        lambda: _derived_rows(connection, cells),
        lambda: _history_chain(connection, records),
        lambda: _shared_names(connection),
        lambda: _beyond_their_size(cells),
    )
    # One transaction, so that every check sees the same state while others go on writing.
    for begin, together in (("BEGIN", checks), ("BEGIN IMMEDIATE", (lambda: _search_index(connection),))):
        connection.execute(begin)
        try:
            for check in together:
                try:
                    found.extend(check())
                except sqlite3.Error as error:
                    found.append(f"the file cannot be read through ({error})")
        finally:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
    return [line if line.startswith("warning:") else f"{place}: {line}" for line in found]


def _file_damage(connection: sqlite3.Connection) -> Iterator[str]:
    for (answer,) in connection.execute("PRAGMA integrity_check"):
        if answer != "ok":
            yield f"SQLite finds damage: {answer}"
    for table, row, points_to, _ in connection.execute("PRAGMA foreign_key_check"):
        yield f"row {row} of {table} points to no row of {points_to}"


def _missing_guards(connection: sqlite3.Connection) -> Iterator[str]:
    present = {
        name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
    }
    for name in sorted(_GUARDS - present):
        yield f"trigger {name} is gone, so the history could have been changed"


def _invalid_records(records: dict[str, str], cells: dict[str, Cell]) -> Iterator[str]:
    """Name every record that is no valid cell, and fill `cells` with those that are."""
    for cell_id, record in records.items():
        try:
            cell = parse_line(record, f"cell {cell_id}")
        except ManyProblems as several:
            yield from map(str, several.problems)
        except RegistryError as problem:
            yield str(problem)
        else:
            cells[cell_id] = cell
            if cell.id != cell_id:
                yield f"cell {cell_id}: its record has the id '{cell.id}'"
            elif cell_line(cell) != record:
                yield f"cell {cell_id}: its record is not written as this program writes it"


def _derived_rows(connection: sqlite3.Connection, cells: dict[str, Cell]) -> Iterator[str]:
    for table, key in (("cells", "id"), *((table, "cell_id") for table in ROWS)):
        columns = COLUMNS[table]
        stored: dict[str, set[Row]] = defaultdict(set)
        for row in connection.execute(f"SELECT {', '.join(columns)} FROM {table}"):  # noqa: S608
            stored[row[columns.index(key)]].add(row)
        for cell_id, cell in cells.items():
            expected = [cell_row(cell)] if table == "cells" else ROWS[table](cell)
            if stored.get(cell_id, set()) != set(expected):
                yield f"cell {cell_id}: table {table} differs from its record"


def _beyond_their_size(cells: dict[str, Cell]) -> Iterator[str]:
    """Warn of sheets that state what no cell of the size has; a slip in a sheet lets false claims pass."""
    for cell in cells.values():
        for number, sheet in enumerate(cell.sheets, start=1):
            for text in impossible(sheet, cell.size) if cell.size is not None else ():
                yield f"warning: cell {cell.id} sheet {number}: {text}; compare it with the sheet itself"


def _search_index(connection: sqlite3.Connection) -> Iterator[str]:
    # https://www.sqlite.org/fts5.html#the_integrity_check_command; rank 1 compares with the content too.
    try:
        connection.execute("INSERT INTO cells_fts (cells_fts, rank) VALUES ('integrity-check', 1)")
    except sqlite3.DatabaseError as error:
        if error_kind(error) != "CORRUPT":
            raise
        yield "the search index differs from the cells"


def _history_chain(connection: sqlite3.Connection, records: dict[str, str]) -> Iterator[str]:
    last: dict[str, str] = {}
    rows = connection.execute("SELECT number, cell_id, before, after FROM history ORDER BY number")
    for number, cell_id, before, after in rows:
        if before != last.get(cell_id):
            yield f"cell {cell_id}: change {number} does not begin where the change before it ended"
        last[cell_id] = after
    for cell_id, record in records.items():
        if cell_id not in last:
            yield f"cell {cell_id}: has no history"
        elif last[cell_id] != record:
            yield f"cell {cell_id}: differs from the last change in its history"


def _shared_names(connection: sqlite3.Connection) -> Iterator[str]:
    shared = connection.execute(
        "SELECT normalised, group_concat(cell_id, ', ') FROM"
        " (SELECT normalised, cell_id FROM names JOIN cells ON cells.id = names.cell_id"
        " WHERE cells.retired IS NULL ORDER BY normalised, cell_id)"
        " GROUP BY normalised HAVING count(*) > 1"
    )
    for name, cell_ids in shared:
        yield f"warning: the name '{name}' belongs to several cells: {cell_ids}"
