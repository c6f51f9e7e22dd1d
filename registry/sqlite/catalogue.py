"""Reading a registry kept in SQLite. Nothing here changes a file."""

from __future__ import annotations

import hashlib
import sqlite3
import weakref
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import cached_property
from pathlib import Path
from typing import Any

from registry.bundle import cell_line
from registry.cell import Cell
from registry.cell_names import normalised_names
from registry.cells import Cells, InMemory
from registry.errors import UnknownCell
from registry.garbage_collection import garbage_collection_paused
from registry.input_bounds import READ_WHOLE
from registry.sqlite.connection import Damage, open_in_memory, open_to_read, plain_errors
from registry.sqlite.index_columns import index_faults
from registry.sqlite.migrations import migrate
from registry.sqlite.records import CHANGE, ROW, Change, cell_of_row, change_of_row, gap_at_end, gap_before
from registry.sqlite.schema import missing_steps

Ceiling = tuple[Any, ...]
"""Of a cell 0 id, 1 size, 2 whether a sheet states a discharge limit; then the most that its columns leave
possible in A: 3 and 4 granted at the lower and at the higher end of the air, 5 and 6 possible there, 7 possible
at any temperature. What is None is nothing; what is infinite is open."""

_NUMBERS = (("limits", ("low_c", "high_c", "max_a", "max_c", "unspecified_a", "unspecified_c")),)


def open_sqlite(path: Path) -> Cells:
    """Open a registry to be read; one of an older form is brought up to date in memory only.

    An ordinary registry is read whole: every record, and every column beside the records is compared with
    them. Of one with very many cells only what is asked for is read and compared.

    Raises
    ------
    UnreadableFile
        When it is a SQLite file of some other program.
    StoreProblem
        When it is damaged, locked, or was written by a newer program.
    """
    place = str(path)
    with plain_errors(place):
        connection = open_in_newest_form(path)
        try:
            count = connection.execute("SELECT count(*) FROM cells").fetchone()[0]
            if count > READ_WHOLE.most:
                return SqliteCells(connection, place)
            cells = read_whole(connection)
        except BaseException:
            connection.close()
            raise
        connection.close()
    return InMemory(cells, place)


def read_whole(connection: sqlite3.Connection) -> list[Cell]:
    """Return all cells. Raises ``Damage`` when a record or a column beside it is not as it was written."""
    with garbage_collection_paused():
        rows = connection.execute(f"SELECT {ROW} FROM cells ORDER BY id").fetchall()  # noqa: S608 - a constant
        cells = {}
        for row in rows:
            cell = cell_of_row(row)
            if cell_line(cell) != row[-1]:
                raise Damage(f"cell {cell.id}: its record is not written as this program writes it")
            cells[cell.id] = cell
    for line in index_faults(connection, cells):
        raise Damage(line)
    return list(cells.values())


_NAMED = "retired IS NULL AND id IN (SELECT cell_id FROM names WHERE normalised = ?)"
_NAMED_RETIRED = "retired IS NOT NULL AND id IN (SELECT cell_id FROM names WHERE normalised = ?)"


class SqliteCells:
    """The cells of a SQLite file as they stood when it was opened, for a file that is not read whole."""

    def __init__(self, connection: sqlite3.Connection, place: str) -> None:
        self._place = place
        self._connection = connection
        self._close = weakref.finalize(self, connection.close)

    @property
    def place(self) -> str:  # noqa: D102
        return self._place

    def close(self) -> None:  # noqa: D102
        self._close()

    def _records(self, condition: str = "1", *values: str) -> list[Cell]:
        query = f"SELECT {ROW} FROM cells WHERE {condition} ORDER BY id"  # noqa: S608 - conditions of this class
        with plain_errors(self.place), garbage_collection_paused():
            return [cell_of_row(row) for row in self._connection.execute(query, values).fetchall()]

    @property
    def count(self) -> int:  # noqa: D102
        with plain_errors(self.place):
            found = self._connection.execute("SELECT count(*) FROM cells WHERE retired IS NULL").fetchone()
        return int(found[0])

    @cached_property
    def digest(self) -> str:  # noqa: D102
        # A record is its bundle line, so this is the digest of the bundle without reading any cell.
        running = hashlib.sha256()
        with plain_errors(self.place):
            for cell_id, record in self._connection.execute("SELECT id, record FROM cells ORDER BY id"):
                if not isinstance(record, str):
                    raise Damage(f"cell {cell_id}: its record is not text")
                running.update(f"{record}\n".encode())
        return running.hexdigest()

    def cells(self, *, all: bool = False) -> list[Cell]:  # noqa: D102
        return self._records("1" if all else "retired IS NULL")

    def ids(self) -> list[str]:  # noqa: D102
        with plain_errors(self.place):
            found = [cell_id for (cell_id,) in self._connection.execute("SELECT id FROM cells ORDER BY id")]
            if not all(isinstance(cell_id, str) for cell_id in found):
                raise Damage("the id of a cell is not text")
        return found

    def get(self, cell_id: str) -> Cell | None:  # noqa: D102
        return next(iter(self._records("id = ?", cell_id)), None)

    def named(self, normalised: str, *, retired: bool = False) -> list[Cell]:  # noqa: D102
        found = self._records(_NAMED_RETIRED if retired else _NAMED, normalised)
        with plain_errors(self.place):
            for cell in found:
                if normalised not in normalised_names(cell):
                    raise Damage(f"cell {cell.id}: table names differs from its record")
        return found

    def fitting(self, size: str | None, chemistry: str | None) -> list[Cell]:  # noqa: D102
        return self._records(*_in_use(size, chemistry))

    def current_ceilings(
        self, low_c: float, high_c: float, size: str | None, chemistry: str | None
    ) -> list[Ceiling]:
        """Return what the columns leave possible of the cells that `fitting` gives, in order of id.

        A ceiling, and no more: where sheets disagree, are silent or limit the surface, the record decides.
        """
        condition, *values = _in_use(size, chemistry)
        with plain_errors(self.place):
            self._refuse_other_than_numbers()
            return self._connection.execute(
                _CEILINGS.format(condition=condition), [low_c, high_c, *values]
            ).fetchall()

    def _refuse_other_than_numbers(self) -> None:
        for table, columns in _NUMBERS:
            other = " OR ".join(f"typeof({name}) NOT IN ('real', 'null')" for name in columns)
            asked = f"SELECT cell_id FROM {table} WHERE {other} LIMIT 1"  # noqa: S608 - names of a constant
            for (cell_id,) in self._connection.execute(asked):
                raise Damage(f"cell {cell_id}: table {table} differs from its record")


# A multiple of C has no ceiling here: what 1C may be at most, only the whole sheet tells. A gap of one degree
# belongs to the lower band, and whatever is said of the surface may hold in any air.
_CEILINGS = """
WITH asked AS (SELECT ? AS low_c, ? AS high_c), bands AS (
  SELECT limits.cell_id, low_c, high_c, basis = 'surface' OR low_c IS NULL AS anywhere,
    CASE WHEN max_a IS NULL THEN 0.0 ELSE min(max_a, ifnull(unspecified_a, max_a)) END AS granted,
    CASE WHEN max_c IS NOT NULL OR unspecified_c IS NOT NULL THEN 9e999
      ELSE min(ifnull(max_a, 9e999), ifnull(unspecified_a, 9e999)) END AS most
  FROM limits WHERE kind = 'discharge'
), ceilings AS (
  SELECT cell_id,
    max(granted) FILTER (WHERE anywhere OR bands.low_c <= asked.low_c AND asked.low_c <= bands.high_c + 1)
      AS cold_a,
    max(granted) FILTER (WHERE anywhere OR bands.low_c <= asked.high_c AND asked.high_c <= bands.high_c + 1)
      AS hot_a,
    max(most) FILTER (WHERE anywhere OR bands.low_c <= asked.low_c AND asked.low_c <= bands.high_c + 1)
      AS cold_most_a,
    max(most) FILTER (WHERE anywhere OR bands.low_c <= asked.high_c AND asked.high_c <= bands.high_c + 1)
      AS hot_most_a,
    max(most) AS most_a
  FROM bands, asked GROUP BY cell_id
)
SELECT id, size, cell_id IS NOT NULL, cold_a, hot_a, cold_most_a, hot_most_a, most_a
FROM cells LEFT JOIN ceilings ON cell_id = id WHERE {condition} ORDER BY id
"""


def _in_use(size: str | None, chemistry: str | None) -> tuple[str, ...]:
    """Return the condition for cells in use of a size and a chemistry, and its values."""
    known = {"size": size, "chemistry": chemistry}
    wanted = {name: value for name, value in known.items() if value is not None}
    return " AND ".join(["retired IS NULL", *(f"{name} = ?" for name in wanted)]), *wanted.values()


def history(path: Path, cell_id: str) -> list[Change]:
    """Return every change of a cell, oldest first.

    Raises
    ------
    UnknownCell
        When there is none with this id.
    StoreProblem
        When the file is damaged, locked, or was written by a newer program.
    """
    with plain_errors(str(path)), closing(open_in_newest_form(path)) as connection:
        return changes(connection, cell_id)


def changes(connection: sqlite3.Connection, cell_id: str) -> list[Change]:
    """Return every change of a cell, oldest first.

    Raises
    ------
    UnknownCell
        When there is none with this id.
    Damage
        When there is one without a history, a change is not as it was written, one does not begin where the
        change before it ended, or the last does not end with the cell as it stands.
    """
    asked = f"SELECT {CHANGE} FROM history WHERE cell_id = ? ORDER BY number"  # noqa: S608 - a constant
    rows = connection.execute(asked, (cell_id,)).fetchall()
    stands = connection.execute("SELECT record FROM cells WHERE id = ?", (cell_id,)).fetchone()
    if not rows and stands is None:
        raise unknown_cell(cell_id)
    made = [change_of_row(cell_id, row) for row in rows]
    last = None
    for row in rows:
        if gap := gap_before(cell_id, row, last):
            raise Damage(gap)
        last = row[-1]
    if gap := gap_at_end(cell_id, last, None if stands is None else stands[0]):
        raise Damage(gap)
    return made


def unknown_cell(cell_id: str) -> UnknownCell:
    """Return the error for an id that no cell has."""
    return UnknownCell(f"cell {cell_id}", "is not in the registry", "'packclaim cells list' shows all ids")


def open_in_newest_form(path: Path) -> sqlite3.Connection:
    """Open a registry to be read whose tables are all known; of an older form a copy in memory is opened.

    Raises ``Damage`` and whatever SQLite raises, to be told by `plain_errors`.
    """
    connection = open_to_read(path)
    try:
        if not missing_steps(connection, str(path)):
            return connection
        with _closed_on_failure(open_in_memory()) as copy:
            connection.backup(copy)
            migrate(copy)
            copy.execute("PRAGMA query_only = ON")
        connection.close()
    except BaseException:
        connection.close()
        raise
    return copy


@contextmanager
def _closed_on_failure(connection: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    try:
        yield connection
    except BaseException:
        connection.close()
        raise
