"""Changing a registry kept in SQLite: every call is one transaction, every change stays in the history."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from registry import verification
from registry.bundle import cell_line, parse_line, validate_cell
from registry.cell import Cell
from registry.connection import (
    PATIENCE_S,
    error_kind,
    is_sqlite,
    open_to_read,
    open_to_write,
    plain_errors,
)
from registry.derived import COLUMNS, ROWS, cell_row, insert
from registry.errors import InvalidRecord, ManyProblems, PlacedError, UnknownCell, UnreadableFile
from registry.migrations import migrate, pending


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


@dataclass(frozen=True, slots=True)
class _Deed:
    """What the history says of all changes of one call."""

    action: str
    at: str
    who: str
    why: str


def _deed(action: str, who: str, why: str) -> _Deed:
    return _Deed(action, datetime.now(UTC).isoformat(timespec="seconds"), _one_line(who), _one_line(why))


def _one_line(text: str) -> str:
    return " ".join(text.encode(errors="replace").decode().split())


class Store:
    """A registry opened to be changed. Use ``with Store.open(path, create=True) as store``."""

    def __init__(self, connection: sqlite3.Connection, place: str) -> None:
        self.place = place
        self._connection = connection

    @classmethod
    @contextmanager
    def open(cls, path: Path, *, create: bool) -> Iterator[Store]:
        """Open a registry, bringing an older one to the newest form in one transaction.

        Parameters
        ----------
        path
            The SQLite file.
        create
            Whether to start a registry where there is none.

        Raises
        ------
        UnreadableFile
            When there is no registry and `create` is false, or the file is something else.
        StoreProblem
            When the registry is damaged, locked for long, or was written by a newer program; a newer one is
            left as it is.
        """
        place = str(path)
        with plain_errors(place):
            _check_before_opening(path, create)
            connection = open_to_write(path)
        with closing(connection):
            with plain_errors(place):
                _use_write_ahead_log(connection)
                if pending(connection, place):
                    migrate(connection)
            yield cls(connection, place)

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        with plain_errors(self.place):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._connection.execute("COMMIT")
            finally:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")

    def add(self, cells: Sequence[Cell], *, who: str, why: str) -> None:
        """Add new cells, all or none.

        Raises
        ------
        InvalidRecord, ManyProblems
            When an id exists already or stands twice among the new ones.
        """
        deed = _deed("add", who, why)
        with self._transaction():
            self._refuse_repeated(cells)
            self._refuse(
                [
                    InvalidRecord(f"cell {cell.id}", "exists already", "use 'cells edit' to supersede it")
                    for cell in cells
                    if self._record(cell.id) is not None
                ]
            )
            for cell in cells:
                self._put(cell, None, deed)

    def edit(self, cell: Cell, *, who: str, why: str) -> bool:
        """Let a cell supersede the one with its id; return whether anything differs.

        Raises
        ------
        UnknownCell
            When there is none with this id.
        """
        with self._transaction():
            before = self._known_record(cell.id)
            if before == cell_line(cell):
                return False
            self._put(cell, before, _deed("edit", who, why))
        return True

    def retire(self, cell_id: str, *, who: str, why: str) -> None:
        """Take a cell out of use and say why; it stays readable.

        Raises
        ------
        UnknownCell
            When there is none with this id.
        InvalidRecord
            When it is retired already, or no reason is given.
        """
        deed = _deed("retire", who, why)
        with self._transaction():
            before = self._known_record(cell_id)
            cell = parse_line(before, f"{self.place} cell {cell_id}")
            if cell.retired is not None:
                raise InvalidRecord(f"cell {cell_id}", f"is retired already ('{cell.retired}')")
            if not deed.why:
                raise InvalidRecord(f"cell {cell_id}", "is retired without a reason", "say why")
            self._put(_with_retired(cell, deed.why), before, deed)

    def take(self, cells: Sequence[Cell], *, who: str, why: str) -> dict[str, int]:
        """Import cells, all or none: new ones are added, known ones superseded.

        An import never brings a retired cell back: its figures are taken and the retirement stays, until
        someone edits it.

        Returns
        -------
        dict
            How many were ``added``, ``changed`` and ``unchanged``, and of these ``kept_retired``.

        Raises
        ------
        InvalidRecord, ManyProblems
            When an id stands twice among them.
        """
        deed = _deed("import", who, why)
        counts = dict.fromkeys(("added", "changed", "unchanged", "kept_retired"), 0)
        with self._transaction():
            self._refuse_repeated(cells)
            for cell in cells:
                before, retired = self._record(cell.id), self._retired(cell.id)
                if retired is not None and cell.retired is None:
                    cell = _with_retired(cell, retired)
                    counts["kept_retired"] += 1
                if before == cell_line(cell):
                    counts["unchanged"] += 1
                    continue
                counts["added" if before is None else "changed"] += 1
                self._put(cell, before, deed)
        return counts

    def history(self, cell_id: str) -> list[Change]:
        """Return every change of a cell, oldest first.

        Raises
        ------
        UnknownCell
            When there is none with this id.
        """
        with plain_errors(self.place):
            self._known_record(cell_id)
            rows = self._connection.execute(
                "SELECT number, action, at, who, why, before, after FROM history"
                " WHERE cell_id = ? ORDER BY number",
                (cell_id,),
            ).fetchall()
        changes = []
        for number, action, at, who, why, before, after in rows:
            here = f"{self.place} history {number}"
            earlier = None if before is None else parse_line(before, here)
            changes.append(Change(number, cell_id, action, at, who, why, earlier, parse_line(after, here)))
        return changes

    def verify(self) -> list[str]:
        """Check everything the file holds; return one line a finding, none when all is well.

        A finding that begins with ``warning:`` is no damage.
        """
        with plain_errors(self.place):
            return verification.findings(self._connection, self.place)

    def search(self, text: str) -> list[str]:
        """Return the ids of cells that hold every word of `text` or a word that begins so, best first.

        Retired cells come last. Signs between words have no meaning, so no text is an error.
        """
        words = "".join(letter if letter.isalnum() else " " for letter in text).split()
        if not words:
            return []
        with plain_errors(self.place):
            rows = self._connection.execute(
                "SELECT cells.id FROM cells_fts JOIN cells ON cells.rowid = cells_fts.rowid"
                " WHERE cells_fts MATCH ? ORDER BY cells.retired IS NOT NULL, cells_fts.rank, cells.id",
                (" ".join(f'"{word}"*' for word in words),),
            ).fetchall()
        return [cell_id for (cell_id,) in rows]

    def _record(self, cell_id: str) -> str | None:
        found = self._connection.execute("SELECT record FROM cells WHERE id = ?", (cell_id,)).fetchone()
        return None if found is None else str(found[0])

    def _retired(self, cell_id: str) -> str | None:
        found = self._connection.execute("SELECT retired FROM cells WHERE id = ?", (cell_id,)).fetchone()
        return None if found is None or found[0] is None else str(found[0])

    def _known_record(self, cell_id: str) -> str:
        record = self._record(cell_id)
        if record is None:
            raise UnknownCell(
                f"cell {cell_id}", "is not in the registry", "'packclaim cells list' shows all ids"
            )
        return record

    def _refuse_repeated(self, cells: Sequence[Cell]) -> None:
        seen: set[str] = set()
        repeated = [cell.id for cell in cells if cell.id in seen or seen.add(cell.id)]  # type: ignore[func-returns-value]
        self._refuse([InvalidRecord(f"cell {cell_id}", "stands twice in the input") for cell_id in repeated])

    def _refuse(self, found: Sequence[PlacedError]) -> None:
        if len(found) == 1:
            raise found[0]
        if found:
            raise ManyProblems(self.place, list(found))

    def _put(self, cell: Cell, before: str | None, deed: _Deed) -> None:
        row = cell_row(cell)
        if before is None:
            insert(self._connection, "cells", [row])
        else:
            columns = ", ".join(f"{name} = ?" for name in COLUMNS["cells"][1:])
            self._connection.execute(f"UPDATE cells SET {columns} WHERE id = ?", (*row[1:], cell.id))  # noqa: S608
            for table in reversed(ROWS):
                self._connection.execute(f"DELETE FROM {table} WHERE cell_id = ?", (cell.id,))  # noqa: S608
        for table, rows in ROWS.items():
            insert(self._connection, table, rows(cell))
        self._connection.execute(
            "INSERT INTO history (cell_id, action, at, who, why, before, after) VALUES (?, ?, ?, ?, ?, ?, ?)",
            (cell.id, deed.action, deed.at, deed.who, deed.why, before, row[-1]),
        )


def _with_retired(cell: Cell, reason: str) -> Cell:
    return validate_cell({**cell.model_dump(), "retired": reason}, f"cell {cell.id}")


def _check_before_opening(path: Path, create: bool) -> None:
    """Refuse, before anything is written, a file that is missing, is no registry, or is newer."""
    if path.exists() and is_sqlite(path):
        # After a crash of the very first write SQLite must restore the file before it can be read.
        if not path.with_name(path.name + "-journal").exists():
            with closing(open_to_read(path)) as reader:
                pending(reader, str(path))
    elif path.exists() and path.stat().st_size:
        raise UnreadableFile(
            str(path), "is not a SQLite registry", "cells of a bundle are taken with 'packclaim cells import'"
        )
    elif not create:
        raise UnreadableFile(
            str(path), "holds no registry", "add a cell first, or name another with --registry"
        )
    else:
        path.parent.mkdir(parents=True, exist_ok=True)


def _use_write_ahead_log(connection: sqlite3.Connection) -> None:
    """Let readers and one writer work at the same time.

    SQLite does not wait for other programs when it changes this mode, so we do.
    """
    give_up = time.monotonic() + PATIENCE_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL").fetchone()
        except sqlite3.OperationalError as error:
            if error_kind(error) != "BUSY" or time.monotonic() > give_up:
                raise
            time.sleep(0.02)
        else:
            return
