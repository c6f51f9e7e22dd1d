"""Changing a registry kept in SQLite: every call is one transaction, every change stays in the history."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from registry.bundle import cell_line, validate_cell
from registry.cell import Cell
from registry.errors import InvalidRecord, ManyProblems, PlacedError, UnreadableFile
from registry.garbage_collection import garbage_collection_paused
from registry.input_bounds import RECORD
from registry.sqlite.beginning import is_sqlite
from registry.sqlite.catalogue import changes, open_sqlite, unknown_cell
from registry.sqlite.connection import (
    PATIENCE_S,
    Damage,
    error_kind,
    open_to_write,
    plain_errors,
)
from registry.sqlite.index_columns import COLUMNS, ROWS, cell_row, insert
from registry.sqlite.migrations import migrate
from registry.sqlite.records import CHANGE, ROW, Change, cell_of_row, change_of_row, gap_at_end
from registry.sqlite.schema import missing_steps

_PATIENCE_WITH_READERS_MS = 5000
_BATCH = 500  # SQLite takes up to 999 values in one statement, in builds of any age


@dataclass(frozen=True, slots=True)
class _Change:
    """What the history says of all changes of one call."""

    action: str
    at: str
    who: str
    why: str


@dataclass(slots=True)
class _Entry:
    """A cell to be stored, the record it supersedes, and its own record."""

    cell: Cell
    before: str | None
    record: str


def _change(action: str, who: str, why: str) -> _Change:
    return _Change(action, datetime.now(UTC).isoformat(timespec="seconds"), _one_line(who), _one_line(why))


def _one_line(text: str) -> str:
    return " ".join(text.encode(errors="replace").decode().split())


class Store:
    """A registry opened to be changed. Use ``with Store.open(path, create=True) as store``.

    Afterwards ``whole`` says whether the one file holds every change. It does not while another program that
    began to read before is still at it: the newest changes are then in the log beside the file.
    """

    def __init__(self, connection: sqlite3.Connection, place: str) -> None:
        self.place = place
        self.whole = False
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
                lacks = missing_steps(connection, place)
                # The triggers keep the search index, which SQLite lets only a trusted schema do; that they
                # are ours has just been seen.
                connection.execute("PRAGMA trusted_schema = ON")
                _use_write_ahead_log(connection)
                if lacks:
                    migrate(connection)
            store = cls(connection, place)
            try:
                yield store
            finally:
                store.whole = _moved_into_the_file(connection)

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
        change = _change("add", who, why)
        with self._transaction(), garbage_collection_paused():
            self._refuse_repeated(cells)
            self._refuse(
                [
                    InvalidRecord(f"cell {cell_id}", "exists already", "use 'cells edit' to supersede it")
                    for batch in _batches(cells)
                    for cell_id in self._known(batch)
                ]
            )
            for batch in _batches(cells):
                self._put([_Entry(cell, None, cell_line(cell)) for cell in batch], change)

    def edit(self, cell: Cell, *, who: str, why: str, seen: Cell | None = None) -> bool:
        """Let a cell supersede the one with its id; return whether anything differs.

        Parameters
        ----------
        cell
            The cell as it is to be.
        who, why
            Who makes the change, and for what reason.
        seen
            The cell as it stood when the change was thought out. Nothing is stored when somebody else has
            changed it since; without it, whatever stands there is superseded.

        Raises
        ------
        UnknownCell
            When there is none with this id.
        InvalidRecord
            When the cell is no longer as it was `seen`.
        """
        entry = _Entry(cell, None, cell_line(cell))
        with self._transaction():
            entry.before, stands = self._known_as(cell.id)
            if seen is not None and stands != seen:
                raise self._changed_since(cell.id)
            if entry.before == entry.record:
                return False
            self._put([entry], _change("edit", who, why))
        return True

    def _changed_since(self, cell_id: str) -> InvalidRecord:
        who, at = self._connection.execute(
            "SELECT who, at FROM history WHERE cell_id = ? ORDER BY number DESC LIMIT 1", (cell_id,)
        ).fetchone() or ("somebody", "an unknown time")
        return InvalidRecord(
            f"cell {cell_id}", f"has been changed by {who} at {at} in the meantime, so nothing was stored",
            f"look at it again with 'packclaim cells history {cell_id}', then repeat the change",
        )  # fmt: skip

    def retire(self, cell_id: str, *, who: str, why: str) -> None:
        """Take a cell out of use and say why; it stays readable.

        Raises
        ------
        UnknownCell
            When there is none with this id.
        InvalidRecord
            When it is retired already, or no reason is given.
        """
        change = _change("retire", who, why)
        with self._transaction():
            before, cell = self._known_as(cell_id)
            if cell.retired is not None:
                raise InvalidRecord(f"cell {cell_id}", f"is retired already ('{cell.retired}')")
            if not change.why:
                raise InvalidRecord(f"cell {cell_id}", "is retired without a reason", "say why")
            retired = _with_retired(cell, change.why)
            self._put([_Entry(retired, before, cell_line(retired))], change)

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
        change = _change("import", who, why)
        counts = dict.fromkeys(("added", "changed", "unchanged", "kept_retired"), 0)
        with self._transaction(), garbage_collection_paused():
            self._refuse_repeated(cells)
            for batch in _batches(cells):
                self._put(list(self._differing(batch, counts)), change)
        return counts

    def _differing(self, cells: Sequence[Cell], counts: dict[str, int]) -> Iterator[_Entry]:
        """Yield what an import has to store, and count what it does."""
        known = self._known(cells)
        for cell in cells:
            before, stands = known.get(cell.id, (None, None))
            if stands is not None and stands.retired is not None and cell.retired is None:
                cell = _with_retired(cell, stands.retired)
                counts["kept_retired"] += 1
            record = cell_line(cell)
            if before == record:
                counts["unchanged"] += 1
                continue
            counts["added" if before is None else "changed"] += 1
            yield _Entry(cell, before, record)

    def history(self, cell_id: str) -> list[Change]:
        """Return every change of a cell, oldest first.

        Raises
        ------
        UnknownCell
            When there is none with this id.
        """
        with plain_errors(self.place):
            return changes(self._connection, cell_id)

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

    def _known(self, cells: Sequence[Cell]) -> dict[str, tuple[str, Cell]]:
        """Return (record, cell) of those of a batch that are registered, in their order."""
        marks = ", ".join("?" * len(cells))
        asked = f"SELECT {ROW} FROM cells WHERE id IN ({marks})"  # noqa: S608 - marks and a constant
        rows = self._connection.execute(asked, [cell.id for cell in cells]).fetchall()
        found = {row[0]: (row[-1], cell_of_row(row)) for row in rows}
        return {cell.id: found[cell.id] for cell in cells if cell.id in found}

    def _known_as(self, cell_id: str) -> tuple[str, Cell]:
        """Return the record of a cell, and the cell."""
        asked = f"SELECT {ROW} FROM cells WHERE id = ?"  # noqa: S608 - a constant
        row = self._connection.execute(asked, (cell_id,)).fetchone()
        if row is None:
            raise unknown_cell(cell_id)
        return row[-1], cell_of_row(row)

    def _refuse_repeated(self, cells: Sequence[Cell]) -> None:
        seen: set[str] = set()
        repeated = [cell.id for cell in cells if cell.id in seen or seen.add(cell.id)]  # type: ignore[func-returns-value]
        self._refuse([InvalidRecord(f"cell {cell_id}", "stands twice in the input") for cell_id in repeated])

    def _refuse(self, found: Sequence[PlacedError]) -> None:
        if len(found) == 1:
            raise found[0]
        if found:
            raise ManyProblems(self.place, list(found))

    def _put(self, entries: Sequence[_Entry], change: _Change) -> None:
        """Store cells, what is derived from them, and the history of the change."""
        for each in entries:
            if len(each.record.encode()) > RECORD.most:
                raise InvalidRecord(f"cell {each.cell.id}", f"is larger than {RECORD}", RECORD.why)
            self._refuse_to_go_on_from_a_gap(each)
        new = [each for each in entries if each.before is None]
        known = [each for each in entries if each.before is not None]
        insert(self._connection, "cells", [cell_row(each.cell, each.record) for each in new])
        columns = ", ".join(f"{name} = ?" for name in COLUMNS["cells"][1:])
        self._connection.executemany(
            f"UPDATE cells SET {columns} WHERE id = ?",  # noqa: S608 - names of a constant
            [(*cell_row(each.cell, each.record)[1:], each.cell.id) for each in known],
        )
        for table in reversed(ROWS):
            delete = f"DELETE FROM {table} WHERE cell_id = ?"  # noqa: S608 - names of a constant
            self._connection.executemany(delete, [(each.cell.id,) for each in known])
        for table, rows in ROWS.items():
            insert(self._connection, table, [row for each in entries for row in rows(each.cell)])
        self._connection.executemany(
            "INSERT INTO history (cell_id, action, at, who, why, before, after) VALUES (?, ?, ?, ?, ?, ?, ?)",
            [
                (each.cell.id, change.action, change.at, change.who, change.why, each.before, each.record)
                for each in entries
            ],
        )

    def _refuse_to_go_on_from_a_gap(self, entry: _Entry) -> None:
        """Look at the change that this one goes on from: one more behind a gap would hide the gap."""
        asked = f"SELECT {CHANGE} FROM history WHERE cell_id = ? ORDER BY number DESC LIMIT 1"  # noqa: S608
        row = self._connection.execute(asked, (entry.cell.id,)).fetchone()
        if row is not None:
            change_of_row(entry.cell.id, row)
        if gap := gap_at_end(entry.cell.id, None if row is None else row[-1], entry.before):
            raise Damage(gap)


def _batches(cells: Sequence[Cell]) -> Iterator[Sequence[Cell]]:
    for start in range(0, len(cells), _BATCH):
        yield cells[start : start + _BATCH]


def _with_retired(cell: Cell, reason: str) -> Cell:
    return validate_cell({**cell.model_dump(), "retired": reason}, f"cell {cell.id}")


def _check_before_opening(path: Path, create: bool) -> None:
    """Refuse, before anything is written, a file that is missing, is no registry, or is newer."""
    if path.exists() and is_sqlite(path):
        # After a crash of the very first write SQLite must restore the file before it can be read.
        if not path.with_name(path.name + "-journal").exists():
            open_sqlite(path).close()
    elif path.exists() and (path.stat().st_size or not path.is_file()):
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


def _moved_into_the_file(connection: sqlite3.Connection) -> bool:
    """Move every change from the log into the file, so that a copy of the one file is a copy of all."""
    try:
        connection.execute(f"PRAGMA busy_timeout = {_PATIENCE_WITH_READERS_MS}")
        busy, *_ = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    except sqlite3.Error:
        # What is in the log is safe there; it was moved as far as the disk allows.
        return False
    return not busy
