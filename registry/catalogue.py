"""Reading a registry, be it a SQLite file or a text bundle. Nothing here changes a file."""

from __future__ import annotations

import hashlib
import sqlite3
import weakref
from abc import ABC, abstractmethod
from collections import defaultdict
from collections.abc import Iterable
from contextlib import closing
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from registry.bundle import digest, in_order, many_objects, read_bundle, read_record
from registry.cell import Cell
from registry.connection import is_sqlite, open_to_read, plain_errors
from registry.derived import normalised_names
from registry.errors import UnknownCell, UnreadableFile
from registry.migrations import migrate, pending

DischargeRow = tuple[Any, ...]
"""Of a cell 0 id, 1 size; of a sheet 2 number, 3 evidence, 4 and 5 lowest and highest temperature of
operation; of one of its discharge limits 6 number, 7 low_c, 8 high_c, 9 max_a, 10 unspecified_a, 11 basis."""


@dataclass(frozen=True, slots=True)
class Change:
    """One entry of the history: what was done to a cell, by whom, why, and the cell before and after."""

    number: int
    cell_id: str
    action: str
    at: str
    who: str
    why: str
    before: Cell | None
    after: Cell


def default_registry_path() -> Path:
    """Return where a user's registry lives when no other is named."""
    from platformdirs import user_data_path

    return user_data_path("packclaim", appauthor=False) / "registry.sqlite"


def open_catalogue(path: Path) -> Catalogue:
    """Open a registry to be read; whether it is SQLite or a bundle, its content decides.

    Raises
    ------
    UnreadableFile
        When there is no file, or it is neither.
    StoreProblem
        When the SQLite file is damaged, locked, or was written by a newer program.
    ManyProblems
        When lines of a bundle are not valid cells.
    """
    try:
        if is_sqlite(path):
            return SqliteCatalogue(path)
        with path.open("rb") as file:
            begins = file.read(4096).removeprefix(b"\xef\xbb\xbf").lstrip()
    except OSError as error:
        remedy = "add a cell first, or name another file with --registry" if not path.exists() else ""
        raise UnreadableFile(
            str(path), f"the registry cannot be read ({error.strerror or error})", remedy
        ) from error
    if begins and not begins.startswith(b"{"):
        raise UnreadableFile(
            str(path),
            "is neither a SQLite registry nor a bundle",
            "a bundle has one cell in JSON on each line",
        )
    return BundleCatalogue(in_order(read_bundle(path)), str(path))


class Catalogue(ABC):
    """The cells of one registry as they stood when it was opened."""

    place: str

    @property
    @abstractmethod
    def count(self) -> int:
        """How many cells are in use, that is not retired."""

    @property
    @abstractmethod
    def digest(self) -> str:
        """SHA-256 of all cells, retired ones too: the same for SQLite and bundle."""

    @abstractmethod
    def cells(self, *, all: bool = False) -> list[Cell]:
        """Return the cells in order of id; with `all`, the retired ones too."""

    @abstractmethod
    def ids(self) -> list[str]:
        """Return the ids of all cells in order, retired ones too."""

    @abstractmethod
    def get(self, cell_id: str) -> Cell | None:
        """Return the cell with an id, retired or not."""

    @abstractmethod
    def named(self, normalised: str) -> list[Cell]:
        """Return the cells in use of which one name, normalised, is this text."""

    @abstractmethod
    def fitting(self, size: str | None, chemistry: str | None) -> list[Cell]:
        """Return the cells in use of a size and a chemistry; ``None`` leaves either open.

        A cell whose size the registry does not know is of no stated size, so it fits only where the size
        is left open.
        """

    def discharge_rows(self, size: str | None, chemistry: str | None) -> list[DischargeRow] | None:
        """Return the sheets of the cells that `fitting` gives with their discharge limits, as columns.

        In order of cell and sheet, one row a limit; a sheet that states none has one row without a band.
        ``None`` when the registry keeps no columns, so that only its cells can tell.
        """
        return None

    @abstractmethod
    def history(self, cell_id: str) -> list[Change]:
        """Return every change of a cell, oldest first.

        Raises
        ------
        UnknownCell
            When there is none with this id.
        UnreadableFile
            When the registry is a text file, which keeps no history.
        """


class BundleCatalogue(Catalogue):
    """Cells held in memory, such as those of a text bundle; their order is the one given."""

    def __init__(self, cells: Iterable[Cell], place: str) -> None:
        self.place = place
        self._cells = {cell.id: cell for cell in cells}

    @property
    def count(self) -> int:  # noqa: D102
        return len(self.cells())

    @cached_property
    def digest(self) -> str:  # noqa: D102
        return digest(self._cells.values())

    def cells(self, *, all: bool = False) -> list[Cell]:  # noqa: D102
        return [cell for cell in self._cells.values() if all or cell.retired is None]

    def ids(self) -> list[str]:  # noqa: D102
        return list(self._cells)

    def get(self, cell_id: str) -> Cell | None:  # noqa: D102
        return self._cells.get(cell_id)

    @cached_property
    def _by_name(self) -> dict[str, list[Cell]]:
        found: dict[str, list[Cell]] = defaultdict(list)
        for cell in self.cells():
            for name in normalised_names(cell):
                found[name].append(cell)
        return dict(found)

    def named(self, normalised: str) -> list[Cell]:  # noqa: D102
        return list(self._by_name.get(normalised, []))

    def fitting(self, size: str | None, chemistry: str | None) -> list[Cell]:  # noqa: D102
        return [
            cell
            for cell in self.cells()
            if (size is None or cell.size == size) and (chemistry is None or cell.chemistry == chemistry)
        ]

    def history(self, cell_id: str) -> list[Change]:  # noqa: D102
        raise UnreadableFile(self.place, "is a text file, which keeps no history", "name a SQLite registry")


class SqliteCatalogue(Catalogue):
    """A registry kept in SQLite. One of an older form is brought up to date in memory only."""

    def __init__(self, path: Path) -> None:
        self.place = str(path)
        with plain_errors(self.place):
            self._connection = _newest_form(open_to_read(path), self.place)
        self._close = weakref.finalize(self, self._connection.close)

    def _records(self, condition: str = "1", *values: str) -> list[Cell]:
        query = f"SELECT id, record FROM cells WHERE {condition} ORDER BY id"  # noqa: S608 - conditions of this class
        with plain_errors(self.place):
            rows = self._connection.execute(query, values).fetchall()
        with many_objects():
            return [read_record(record, f"{self.place} cell {cell_id}") for cell_id, record in rows]

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
            for (record,) in self._connection.execute("SELECT record FROM cells ORDER BY id"):
                running.update(f"{record}\n".encode())
        return running.hexdigest()

    def cells(self, *, all: bool = False) -> list[Cell]:  # noqa: D102
        return self._records("1" if all else "retired IS NULL")

    def ids(self) -> list[str]:  # noqa: D102
        with plain_errors(self.place):
            return [cell_id for (cell_id,) in self._connection.execute("SELECT id FROM cells ORDER BY id")]

    def get(self, cell_id: str) -> Cell | None:  # noqa: D102
        return next(iter(self._records("id = ?", cell_id)), None)

    def named(self, normalised: str) -> list[Cell]:  # noqa: D102
        known = "id IN (SELECT cell_id FROM names WHERE normalised = ?)"
        return self._records(f"retired IS NULL AND {known}", normalised)

    def fitting(self, size: str | None, chemistry: str | None) -> list[Cell]:  # noqa: D102
        return self._records(*_in_use(size, chemistry))

    def discharge_rows(self, size: str | None, chemistry: str | None) -> list[DischargeRow]:  # noqa: D102
        condition, *values = _in_use(size, chemistry)
        # A cross join keeps this order of the tables, in which each is read by its key.
        query = (
            "SELECT cells.id, size, sheets.number, evidence, discharge_low_c, discharge_high_c,"  # noqa: S608
            " limits.number, low_c, high_c, max_a, unspecified_a, basis"
            " FROM sheets CROSS JOIN cells ON cells.id = sheets.cell_id LEFT JOIN limits"
            " ON limits.cell_id = sheets.cell_id AND limits.sheet = sheets.number AND kind = 'discharge'"
            f" WHERE {condition} ORDER BY sheets.cell_id, sheets.number"
        )
        with plain_errors(self.place):
            return self._connection.execute(query, values).fetchall()

    def history(self, cell_id: str) -> list[Change]:  # noqa: D102
        return changes(self._connection, self.place, cell_id)


def _in_use(size: str | None, chemistry: str | None) -> tuple[str, ...]:
    """Return the condition for cells in use of a size and a chemistry, and its values."""
    known = {"size": size, "chemistry": chemistry}
    wanted = {name: value for name, value in known.items() if value is not None}
    return " AND ".join(["retired IS NULL", *(f"{name} = ?" for name in wanted)]), *wanted.values()


def changes(connection: sqlite3.Connection, place: str, cell_id: str) -> list[Change]:
    """Return every change of a cell, oldest first. Raises ``UnknownCell`` when there is none with this id."""
    with plain_errors(place):
        rows = connection.execute(
            "SELECT number, action, at, who, why, before, after FROM history"
            " WHERE cell_id = ? ORDER BY number",
            (cell_id,),
        ).fetchall()
    if not rows:
        raise unknown_cell(cell_id)
    found = []
    for number, action, at, who, why, before, after in rows:
        here = f"{place} history {number}"
        earlier = None if before is None else read_record(before, here)
        found.append(Change(number, cell_id, action, at, who, why, earlier, read_record(after, here)))
    return found


def unknown_cell(cell_id: str) -> UnknownCell:
    """Return the error for an id that no cell has."""
    return UnknownCell(f"cell {cell_id}", "is not in the registry", "'packclaim cells list' shows all ids")


def _newest_form(connection: sqlite3.Connection, place: str) -> sqlite3.Connection:
    """Return the connection itself, or a migrated copy in memory when the file is of an older form."""
    try:
        lacks = pending(connection, place)
    except BaseException:
        connection.close()
        raise
    if not lacks:
        return connection
    copy = sqlite3.connect(":memory:", isolation_level=None)
    with closing(connection):
        connection.backup(copy)
    migrate(copy)
    return copy
