"""The registry's tables, as steps that bring a file of any age to the newest form.

A step that has been released is never changed; a new one is added below it, and what it makes is written down
in `registry.sqlite.schema`. A file that holds a step this program does not know was written by a newer
program and is left alone.
"""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING

from registry.sqlite.index_columns import COLUMNS, insert, limit_rows, sheet_rows
from registry.sqlite.records import stored_cell
from registry.sqlite.schema import APPEND_ONLY, SET

if TYPE_CHECKING:
    from sqlite_utils import Database

_FIRST_SHEETS = COLUMNS["sheets"][: COLUMNS["sheets"].index("cycles_to_fraction") + 1]
_OPERATION = COLUMNS["sheets"][len(_FIRST_SHEETS) :]


def cells_and_history(db: Database) -> None:
    """Cells as records, the names they answer to, and the history of every change."""
    text = ("maker", "model", "form", "size", "chemistry", "retired", "record")
    db.table("cells").create(
        {"id": str} | dict.fromkeys(text, str), pk="id", not_null={"id", "maker", "model", "form", "record"}
    ).create_index(["size", "chemistry"])
    db.table("names").create(
        {"normalised": str, "cell_id": str}, pk=("normalised", "cell_id"), foreign_keys=[("cell_id", "cells")]
    ).create_index(["cell_id"])
    db.table("history").create(
        {"number": int} | dict.fromkeys(("cell_id", "action", "at", "who", "why", "before", "after"), str),
        pk="number",
        not_null={"cell_id", "action", "at", "who", "why", "after"},
        foreign_keys=[("cell_id", "cells")],
    ).create_index(["cell_id"])
    db.executescript(APPEND_ONLY)


def figures(db: Database) -> None:
    """Every sheet's figures and every current limit as plain columns, so that SQL can select by them."""
    text = {"cell_id", "title", "revision", "date", "evidence", "file_sha256", "kind", "basis"}
    whole = {"number", "sheet", "cycles"}
    types = {
        table: {name: str if name in text else int if name in whole else float for name in columns}
        for table, columns in (("sheets", _FIRST_SHEETS), ("limits", COLUMNS["limits"]))
    }
    db.table("sheets").create(
        types["sheets"], pk=("cell_id", "number"), not_null={"evidence"}, foreign_keys=[("cell_id", "cells")]
    ).create_index(["minimum_ah"])
    db.table("limits").create(
        types["limits"],
        pk=("cell_id", "sheet", "kind", "number"),
        foreign_keys=[(("cell_id", "sheet"), "sheets", ("cell_id", "number"))],
    ).create_index(["kind", "max_a", "low_c", "high_c"])
    for cell_id, record in db.execute("SELECT id, record FROM cells").fetchall():
        cell = stored_cell(cell_id, record)
        insert(db.conn, "sheets", [row[: len(_FIRST_SHEETS)] for row in sheet_rows(cell)], _FIRST_SHEETS)
        insert(db.conn, "limits", limit_rows(cell))


def search(db: Database) -> None:
    """Full-text search over what a cell is called.

    The index goes by row number. Cells are never deleted, so the numbers have no gaps that compacting the
    file would close.
    """
    db.table("cells").add_column("markings", str)
    for cell_id, record in db.execute("SELECT id, record FROM cells").fetchall():
        markings = "\n".join(stored_cell(cell_id, record).markings)
        db.conn.execute("UPDATE cells SET markings = ? WHERE id = ?", (markings, cell_id))
    db.table("cells").enable_fts(
        ["id", "maker", "model", "size", "chemistry", "markings"],
        create_triggers=True,
        tokenize="unicode61 remove_diacritics 2",
    )


def operation(db: Database) -> None:
    """Temperatures of operation by the sheet: outside of them no band grants anything."""
    for name in _OPERATION:
        db.table("sheets").add_column(name, float)
    stating = "SELECT id, record FROM cells WHERE record LIKE '%charge_temperature%'"
    update = f"UPDATE sheets SET {', '.join(f'{name} = ?' for name in _OPERATION)}"  # noqa: S608 - names from above
    for cell_id, record in db.execute(stating).fetchall():
        rows = sheet_rows(stored_cell(cell_id, record))
        db.conn.executemany(
            f"{update} WHERE cell_id = ? AND number = ?",
            [(*row[-len(_OPERATION) :], *row[:2]) for row in rows],
        )


STEPS = (cells_and_history, figures, search, operation)


def migrate(connection: sqlite3.Connection, *, before: str | None = None) -> None:
    """Apply every step the file lacks, in one transaction: all of them or none.

    Parameters
    ----------
    connection
        An open connection without a transaction of its own.
    before
        Stop short of this step.

    Raises
    ------
    Damage
        When a record that a step reads is no valid cell.
    """
    from sqlite_utils import Database, Migrations

    steps = Migrations(SET)
    for step in STEPS:
        steps()(step)
    connection.execute("BEGIN IMMEDIATE")
    try:
        steps.apply(Database(connection, execute_plugins=False), stop_before=before)
        connection.execute("COMMIT")
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
