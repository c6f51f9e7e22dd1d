"""The tables a registry has, step by step; a file is compared with them before anything in it is used.

What is in a schema runs: a view in the place of a table, a trigger or a generated column can make a reading
endless or a change silent. So a file holds what is written here, by its text, and nothing more.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator

from registry.errors import StoreProblem, UnreadableFile
from registry.sqlite.connection import Damage

SET = "packclaim"
STEPS = ("cells_and_history", "figures", "search", "operation")
"""The names of `registry.sqlite.migrations.STEPS`, in order."""

_MIGRATIONS = "_sqlite_migrations"
_MOST_OBJECTS = 200
# SQLite's own: what ANALYZE writes for the planner.
_STATISTICS = {"sqlite_stat1", "sqlite_stat4"}

_APPLIED = """
CREATE TABLE _sqlite_migrations (id INTEGER PRIMARY KEY, migration_set TEXT, name TEXT, applied_at TEXT);
CREATE UNIQUE INDEX idx__sqlite_migrations_migration_set_name ON _sqlite_migrations (migration_set, name);
"""
APPEND_ONLY = """
CREATE TRIGGER history_keeps_rows BEFORE DELETE ON history
BEGIN SELECT RAISE(ABORT, 'history is never deleted'); END;
CREATE TRIGGER history_keeps_words BEFORE UPDATE ON history
BEGIN SELECT RAISE(ABORT, 'history is never changed'); END;
CREATE TRIGGER history_keeps_places BEFORE INSERT ON history
WHEN EXISTS (SELECT 1 FROM history WHERE number = new.number)
BEGIN SELECT RAISE(ABORT, 'history is never replaced'); END;
CREATE TRIGGER cells_keeps_rows BEFORE DELETE ON cells
BEGIN SELECT RAISE(ABORT, 'a cell is retired, never deleted'); END;
CREATE TRIGGER cells_keeps_ids BEFORE UPDATE OF id ON cells WHEN new.id <> old.id
BEGIN SELECT RAISE(ABORT, 'the id of a cell never changes'); END;
CREATE TRIGGER cells_keeps_places BEFORE INSERT ON cells WHEN EXISTS (SELECT 1 FROM cells WHERE id = new.id)
BEGIN SELECT RAISE(ABORT, 'a cell with this id exists'); END;
"""
_CELLS = (
    "id TEXT PRIMARY KEY NOT NULL, maker TEXT NOT NULL, model TEXT NOT NULL, form TEXT NOT NULL, size TEXT,"
    " chemistry TEXT, retired TEXT, record TEXT NOT NULL"
)
_SHEETS = (
    "cell_id TEXT REFERENCES cells(id), number INTEGER, title TEXT, revision TEXT, date TEXT,"
    " evidence TEXT NOT NULL, file_sha256 TEXT, minimum_ah REAL, typical_ah REAL, nominal_ah REAL,"
    " rated_ah REAL, c_rate_base_ah REAL, nominal_voltage_v REAL, charge_voltage_v REAL,"
    " cutoff_voltage_v REAL, standard_charge_a REAL, ac_mohm REAL, dc_mohm REAL, mass_g REAL,"
    " diameter_mm REAL, length_mm REAL, width_mm REAL, thickness_mm REAL, cycles INTEGER,"
    " cycles_to_fraction REAL"
)
_OPERATION = "discharge_low_c REAL, discharge_high_c REAL, charge_low_c REAL, charge_high_c REAL"
_FOUND = "id, maker, model, size, chemistry, markings"
_NEW, _OLD = ("new." + _FOUND.replace(", ", ", new."), "old." + _FOUND.replace(", ", ", old."))
_INDEX_NEW = f"INSERT INTO cells_fts (rowid, {_FOUND}) VALUES (new.rowid, {_NEW});"  # noqa: S608 - constants
_UNINDEX_OLD = f"INSERT INTO cells_fts (cells_fts, rowid, {_FOUND}) VALUES('delete', old.rowid, {_OLD});"

# What each step makes, or makes anew; of the tables of the search index SQLite writes the text.
_MADE = {
    "cells_and_history": f"""
CREATE TABLE cells ({_CELLS});
CREATE INDEX idx_cells_size_chemistry ON cells (size, chemistry);
CREATE TABLE names (normalised TEXT, cell_id TEXT REFERENCES cells(id), PRIMARY KEY (normalised, cell_id));
CREATE INDEX idx_names_cell_id ON names (cell_id);
CREATE TABLE history (number INTEGER PRIMARY KEY, cell_id TEXT NOT NULL REFERENCES cells(id),
 action TEXT NOT NULL, at TEXT NOT NULL, who TEXT NOT NULL, why TEXT NOT NULL, before TEXT,
 after TEXT NOT NULL);
CREATE INDEX idx_history_cell_id ON history (cell_id);
{APPEND_ONLY}""",
    "figures": f"""
CREATE TABLE sheets ({_SHEETS}, PRIMARY KEY (cell_id, number));
CREATE INDEX idx_sheets_minimum_ah ON sheets (minimum_ah);
CREATE TABLE limits (cell_id TEXT, sheet INTEGER, kind TEXT, number INTEGER, low_c REAL, high_c REAL,
 basis TEXT, max_a REAL, max_c REAL, unspecified_a REAL, unspecified_c REAL, seconds REAL,
 FOREIGN KEY (cell_id, sheet) REFERENCES sheets(cell_id, number),
 PRIMARY KEY (cell_id, sheet, kind, number));
CREATE INDEX idx_limits_kind_max_a_low_c_high_c ON limits (kind, max_a, low_c, high_c);
""",
    "search": f"""
CREATE TABLE cells ({_CELLS}, markings TEXT);
CREATE VIRTUAL TABLE cells_fts USING FTS5 ({_FOUND},
 tokenize='unicode61 remove_diacritics 2', content=cells);
CREATE TABLE cells_fts_data(id INTEGER PRIMARY KEY, block BLOB);
CREATE TABLE cells_fts_idx(segid, term, pgno, PRIMARY KEY(segid, term)) WITHOUT ROWID;
CREATE TABLE cells_fts_docsize(id INTEGER PRIMARY KEY, sz BLOB);
CREATE TABLE cells_fts_config(k PRIMARY KEY, v) WITHOUT ROWID;
CREATE TRIGGER cells_ai AFTER INSERT ON cells BEGIN {_INDEX_NEW} END;
CREATE TRIGGER cells_ad AFTER DELETE ON cells BEGIN {_UNINDEX_OLD} END;
CREATE TRIGGER cells_au AFTER UPDATE ON cells BEGIN {_UNINDEX_OLD} {_INDEX_NEW} END;
""",
    "operation": f"CREATE TABLE sheets ({_SHEETS}, {_OPERATION}, PRIMARY KEY (cell_id, number));\n",
}
_STATEMENT = re.compile(r"CREATE (?:VIRTUAL |UNIQUE )?(TABLE|INDEX|TRIGGER) (\w+).*?;(?=\n|\Z)", re.DOTALL)
_TOKEN = re.compile(r"'[^']*'|\"[^\"]*\"|\[[^]]*\]|`[^`]*`|\w+|[^\w\s]")
_QUOTED_WORD = re.compile(r"['\"\[`](\w+)['\"\]`]")

Object = tuple[str, str]
"""What an object is (table, index, trigger or view) and its name."""


def missing_steps(connection: sqlite3.Connection, place: str) -> list[str]:
    """Compare a file with what is known, and return the names of the steps it still lacks, in order.

    Raises
    ------
    UnreadableFile
        When the file is a SQLite file of some other program.
    StoreProblem
        When a newer program has written it.
    Damage
        When it holds anything else than the tables, indexes and triggers of its form, by their text.
    """
    found = _objects(connection)
    if not found:
        return list(STEPS)
    applied = _applied(connection, found, place)
    for line in differences(found, known(applied)):
        raise Damage(line)
    return [name for name in STEPS if name not in applied]


def schema_faults(connection: sqlite3.Connection, place: str) -> tuple[list[str], bool]:
    """Return a line for everything in the schema that is not as known, and whether only parts are missing.

    Raises ``UnreadableFile`` and ``StoreProblem`` as `missing_steps` does.
    """
    found = _objects(connection)
    expected = known(_applied(connection, found, place))
    return list(differences(found, expected)), all(found[name] == expected.get(name) for name in found)


def _objects(connection: sqlite3.Connection) -> dict[Object, tuple[str, ...]]:
    """Return what the file holds, each with its text in tokens."""
    asked = "SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL LIMIT ?"
    rows = connection.execute(asked, (_MOST_OBJECTS + 1,)).fetchall()
    if len(rows) > _MOST_OBJECTS or not all(isinstance(part, str) for row in rows for part in row):
        raise Damage("it holds more tables, or others, than a registry has")
    return {(kind, name): _tokens(sql) for kind, name, sql in rows if name not in _STATISTICS}


def _applied(connection: sqlite3.Connection, found: dict[Object, tuple[str, ...]], place: str) -> list[str]:
    """Return the steps that a file says it has."""
    table = ("table", _MIGRATIONS)
    # Read only when it is the plain table that it should be.
    if found.get(table) == known([])[table]:
        asked = f"SELECT name FROM {_MIGRATIONS} WHERE migration_set = ? ORDER BY id LIMIT ?"  # noqa: S608
        applied = [name for (name,) in connection.execute(asked, (SET, _MOST_OBJECTS))]
    elif table in found:
        raise Damage(f"table {_MIGRATIONS} is not as this program makes it")
    else:
        applied = []
    if not applied:
        raise UnreadableFile(
            place, "is a SQLite file of some other program", "give the path of a packclaim registry or bundle"
        )
    unknown = [name for name in applied if name not in STEPS]
    if unknown:
        raise StoreProblem(
            place, f"was written by a newer packclaim (it has '{unknown[0]}')", "update packclaim to use it"
        )
    return applied


def known(applied: list[str]) -> dict[Object, tuple[str, ...]]:
    """Return the objects of a file with these steps, each with its text in tokens."""
    texts = [_APPLIED, *(_MADE[name] for name in STEPS if name in applied)]
    return {
        (kind.lower(), name): _tokens(statement.group())
        for text in texts
        for statement in _STATEMENT.finditer(text)
        for kind, name in (statement.groups(),)
    }


def differences(
    found: dict[Object, tuple[str, ...]], expected: dict[Object, tuple[str, ...]]
) -> Iterator[str]:
    """Yield a line for every object that is foreign, missing or other than expected."""
    for kind, name in found:
        if (kind, name) not in expected:
            yield f"it holds the {kind} '{name}', which is no part of a registry"
        elif found[kind, name] != expected[kind, name]:
            yield f"{kind} {name} is not as this program makes it"
    for kind, name in expected:
        if (kind, name) not in found:
            kept = ", so the history could have been changed" if "_keeps_" in name else ""
            yield f"{kind} {name} is gone{kept}"


def _tokens(sql: str) -> tuple[str, ...]:
    """Return a statement as its words and signs: however a tool quotes a plain name and sets blanks."""
    tokens = tuple(_QUOTED_WORD.sub(r"\1", token) for token in _TOKEN.findall(sql))
    return tokens[:-1] if tokens[-1:] == (";",) else tokens
