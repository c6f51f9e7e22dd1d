"""A registry that another tool, a bad disk or somebody with a purpose has changed is told, never believed.

Every way in is tried: reading it whole, as one of very many cells, changing it, and ``cells verify``.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import pytest

from registry.cell import Cell
from registry.cell_names import normalise
from registry.errors import PlacedError, StoreProblem
from registry.input_bounds import Bound
from registry.matching import match_marking
from registry.opening import open_registry
from registry.sqlite import catalogue, connection
from registry.sqlite.store import Store
from registry.sqlite.verification import verify

Make = Callable[..., Cell]
BY: dict[str, Any] = {"who": "Quay Street", "why": "test"}


@pytest.fixture
def path(make_cell: Make, tmp_path: Path) -> Path:
    """A sound registry of two twins of which one carries a third of the other's current."""
    weak = make_cell().sheets[0].model_dump(exclude_defaults=True)
    weak["discharge"] = [{"low_c": -20, "high_c": 45, "max_continuous_a": 2.5}]
    weak["pulse"] = []
    with Store.open(tmp_path / "r.sqlite", create=True) as store:
        store.add([make_cell("osk-1"), make_cell("osk-2", sheets=[weak])], **BY)
    assert verify(tmp_path / "r.sqlite") == []
    return tmp_path / "r.sqlite"


@pytest.fixture(params=["read whole", "asked"])
def form(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """How a registry is read: a small one whole, one of very many cells by what is asked of it."""
    if request.param == "asked":
        monkeypatch.setattr(catalogue, "READ_WHOLE", Bound(-1, "cells", "so that nothing is read whole"))
    return str(request.param)


def spoil(path: Path, statements: str) -> None:
    """Change a file as another tool would, its guards out of the way and put back."""
    with closing(sqlite3.connect(path)) as other:
        other.execute("PRAGMA foreign_keys = OFF")
        guards = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND name LIKE '%keeps%'"
        kept = other.execute(guards).fetchall()
        for name, _ in kept:
            other.execute(f"DROP TRIGGER {name}")
        other.executescript(statements)
        for _, sql in kept:
            with suppress(sqlite3.OperationalError):  # a view in the place of the table takes no guard
                other.execute(sql)
        other.commit()


def everything(path: Path) -> Iterator[Callable[[], object]]:
    """Yield every way to use a registry."""
    yield lambda: [open_registry(path).named(normalise(f"LYR osk-{number}")) for number in (1, 2)]
    yield lambda: open_registry(path).cells(all=True)
    yield lambda: [open_registry(path).get(cell_id) for cell_id in open_registry(path).ids()]
    yield lambda: open_registry(path).digest
    yield lambda: catalogue.history(path, "osk-1")
    yield lambda: change(path)


def change(path: Path) -> None:
    with Store.open(path, create=False) as store:
        store.retire("osk-1", who="Quay Street", why="a change")


def test_a_name_that_leads_to_another_cell_is_damage(path: Path, form: str) -> None:
    """A pack would be judged by a cell of three times the current, "matched exactly", without a word."""
    spoil(path, "UPDATE names SET cell_id = 'osk-1' WHERE normalised = 'lyrosk2'")
    with pytest.raises(StoreProblem, match=r"damaged \(cell osk-[12]: table names differs from its record\)"):
        match_marking("LYR osk-2", open_registry(path))


def test_a_record_in_the_place_of_another_is_damage(path: Path, form: str) -> None:
    """A report would show one cell and judge by another."""
    spoil(path, "UPDATE cells SET record = (SELECT record FROM cells WHERE id = 'osk-1') WHERE id = 'osk-2'")
    with pytest.raises(StoreProblem, match=r"damaged \(cell osk-2: its record has the id 'osk-1'\)"):
        match_marking("LYR osk-2", open_registry(path))


def test_a_name_that_is_gone_is_damage(path: Path) -> None:
    """A marking that two cells share would match the one whose name was left."""
    spoil(path, "DELETE FROM names WHERE cell_id = 'osk-2' AND normalised LIKE 'lyr%'")
    with pytest.raises(StoreProblem, match=r"damaged \(cell osk-2: table names differs"):
        open_registry(path)


TYPES = {
    "a record that is nothing": "PRAGMA writable_schema = 1; UPDATE sqlite_master SET sql = replace(sql,"
    " '\"record\" TEXT NOT NULL', '\"record\" TEXT') WHERE name = 'cells'",
    "a record of bytes": "UPDATE cells SET record = x'00ff'",
    "an id of bytes": "UPDATE cells SET id = x'ff00' WHERE id = 'osk-1'",
    "a record that is a number": "UPDATE cells SET record = 7",
    "a record that is no JSON": "UPDATE cells SET record = '{'",
    "a record that nests too deep": "UPDATE cells SET record = replace(hex(zeroblob(50000)), '0', '[')",
    "a record of another retirement": "UPDATE cells SET retired = 'gone' WHERE id = 'osk-1'",
    "a name of bytes": "UPDATE cells SET maker = x'c328'",
    "a name that is no UTF-8": "UPDATE cells SET maker = CAST(x'c328' AS TEXT)",
}


@pytest.mark.parametrize("kind", TYPES)
def test_a_value_of_another_kind_is_damage(kind: str, path: Path, form: str) -> None:
    """Every command would end in a traceback, and a script would read its status as a verdict."""
    spoil(path, TYPES[kind])
    told = []
    for use in everything(path):
        try:
            use()
        except PlacedError as problem:
            told.append(str(problem))
    assert any("damaged (" in each for each in told)
    # Of very many cells those are told that are asked for; of one that is not found, that it is not there.
    assert all("damaged (" in each or (form == "asked" and "cell osk-1: is" in each) for each in told)
    assert any(not line.startswith("warning:") for line in verify(path))


HISTORY = {
    "a time that is a blob": "UPDATE history SET at = x'00'",
    "no record after": "PRAGMA writable_schema = 1; UPDATE sqlite_master SET sql = replace(sql,"
    " '\"after\" TEXT NOT NULL', '\"after\" TEXT') WHERE name = 'history'",
    "a record before that is a number": "UPDATE history SET before = 7",
    "none at all": "DELETE FROM history",
    "a record after of another cell": "UPDATE history SET after = replace(after, 'osk-1', 'osk-9')",
}


@pytest.mark.parametrize("kind", HISTORY)
def test_a_history_of_another_kind_is_damage(kind: str, path: Path) -> None:
    """``cells history`` would end in a traceback, or show the past of another cell as this one's."""
    spoil(path, HISTORY[kind])
    with pytest.raises(StoreProblem, match=r"damaged \("):
        catalogue.history(path, "osk-1")
    assert any(not line.startswith("warning:") for line in verify(path))


@pytest.mark.parametrize("wrong", ["'many'", "x'00'"])
def test_a_limit_that_is_no_number_is_damage(wrong: str, path: Path, form: str) -> None:
    """``which-cells`` would end in a traceback, or rank a cell by a text."""
    spoil(path, f"UPDATE limits SET max_a = {wrong}")  # noqa: S608

    def asked() -> object:
        cells = open_registry(path)
        return isinstance(cells, catalogue.SqliteCells) and cells.current_ceilings(0.0, 35.0, None, None)

    with pytest.raises(StoreProblem, match=r"damaged \(cell osk-[12]: table limits differs"):
        asked()


ENDLESS = "WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n) SELECT x FROM n"
MILLIONS = (
    "WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n WHERE x < 300000000)"
    " SELECT x AS id, 'a' AS maker, 'a' AS model, 'a' AS form, NULL AS size, 'NMC' AS chemistry,"
    " NULL AS retired, '{}' AS record, '' AS markings FROM n"
)
SCHEMAS = {
    "a view in the place of the cells": (
        f"PRAGMA legacy_alter_table = 1; ALTER TABLE cells RENAME TO old; CREATE VIEW cells AS {MILLIONS}",
        "no part of a registry",
    ),
    "a view in the place of the history": (
        f"PRAGMA legacy_alter_table = 1; ALTER TABLE history RENAME TO old; CREATE VIEW history AS {ENDLESS}",
        "no part of a registry",
    ),
    "a view beside the tables": (f"CREATE VIEW more AS {ENDLESS}", "view 'more'"),
    "a huge value in a column": (
        "ALTER TABLE limits ADD COLUMN more TEXT AS (hex(zeroblob(400000000)))", "table limits is not as",
    ),
    "an endless trigger": (
        f"CREATE TRIGGER slow AFTER UPDATE ON cells BEGIN SELECT count(*) FROM ({ENDLESS}); END",  # noqa: S608
        "trigger 'slow'",
    ),
    "a trigger that hides a change": (
        "CREATE TRIGGER evil BEFORE INSERT ON history BEGIN SELECT RAISE(IGNORE); END", "trigger 'evil'",
    ),
    "a guard that guards nothing": (
        "PRAGMA writable_schema = 1; UPDATE sqlite_master SET sql ="
        " 'CREATE TRIGGER cells_ai AFTER INSERT ON cells BEGIN SELECT 1; END' WHERE name = 'cells_ai'",
        "trigger cells_ai is not as",
    ),
    "an index less": ("DROP INDEX idx_names_cell_id", "index idx_names_cell_id is gone"),
    "a table more": ("CREATE TABLE boats (name TEXT)", "table 'boats'"),
    "very many tables": (
        "".join(f"CREATE TABLE t{number} (x);" for number in range(300)), "more tables",
    ),
    "steps that are a view": (
        "ALTER TABLE _sqlite_migrations RENAME TO old; CREATE TABLE _sqlite_migrations"
        " (id INTEGER PRIMARY KEY, migration_set TEXT, name TEXT AS (hex(zeroblob(400000000))),"
        " applied_at TEXT)", "table _sqlite_migrations is not as",
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", SCHEMAS)
def test_tables_that_are_not_ours_are_never_used(kind: str, path: Path) -> None:
    """Every command would hang or take all memory, or a change would leave no trace in the history.

    Rule: a file holds the known tables, indexes and triggers by their text, and nothing more.
    """
    statements, said = SCHEMAS[kind]
    spoil(path, statements)
    for use in everything(path):
        with pytest.raises(StoreProblem, match=rf"damaged \(.*{said}"):
            use()
    try:
        found = verify(path)
    except StoreProblem as problem:
        found = [str(problem)]
    assert any(said in line and not line.startswith("warning:") for line in found)


def test_what_other_tools_may_leave_is_no_damage(path: Path) -> None:
    """A registry that somebody has opened, analysed and compacted elsewhere would be refused.

    Source: sqlite.org/lang_analyze.html; the names are quoted anew by a tool that rewrites the schema.
    """
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("ANALYZE")
        other.execute("PRAGMA writable_schema = 1")
        other.execute("UPDATE sqlite_master SET sql = replace(replace(sql, '\"', '`'), char(10), '  ')")
        other.execute("VACUUM")
    assert verify(path) == []
    assert open_registry(path).count == 2
    change(path)


def test_a_letter_of_the_schema_that_is_no_text_is_damage(path: Path) -> None:
    """One flipped bit would end every command in a traceback. Source: sqlite.org/fileformat.html, 2.6.

    Every bit 7 of the page that holds the schema is flipped in turn, each in a file of its own.
    """
    content = path.read_bytes()
    begin = content.index(b'CREATE TABLE "cells"')
    faults = 0
    for at in range(begin, begin + 200, 7):
        path.write_bytes(content[:at] + bytes([content[at] ^ 0x80]) + content[at + 1 :])
        for use in (lambda: open_registry(path), lambda: change(path)):
            with pytest.raises(StoreProblem, match="damaged"):
                use()
        try:
            faults += bool(verify(path))
        except StoreProblem as problem:
            faults += "damaged" in str(problem)
    assert faults == len(range(begin, begin + 200, 7))


def test_torn_pages_are_told_in_every_command(path: Path) -> None:
    """A failing disk would show as a traceback. Source: sqlite.org/fileformat.html; any page may be torn."""
    content = path.read_bytes()
    told = 0
    for at in range(4096, len(content), 4096):
        path.write_bytes(content[: at + 8] + b"\x5a" * 300 + content[at + 308 :])
        for use in everything(path):
            try:
                use()
            except PlacedError as problem:
                told += "damaged" in str(problem)
        path.write_bytes(content)
        for log in path.parent.glob("r.sqlite-*"):
            log.unlink()
    assert told > 20


def test_a_statement_that_never_ends_is_ended(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A program would hang where something slow is in a file that nobody has thought of."""
    monkeypatch.setattr(connection, "LONGEST_STATEMENT_S", 0.2)
    with closing(connection.open_to_read(path)) as reader:
        slow = r"damaged \(reading one part of it takes longer than 0.2 s"
        with pytest.raises(StoreProblem, match=slow), connection.plain_errors("r.sqlite"):
            reader.execute(f"SELECT count(*) FROM ({ENDLESS})").fetchone()  # noqa: S608
        # The next one has its own time.
        assert reader.execute("SELECT count(*) FROM cells").fetchone() == (2,)
        with pytest.raises(StoreProblem, match="damaged"), connection.plain_errors("r.sqlite"):
            reader.execute("SELECT hex(zeroblob(400000000))").fetchone()


# The one file ----------------------------------------------------------------------------------------------


def only_file(path: Path, folder: Path) -> Path:
    """Copy the one file of a registry somewhere else, as somebody does who makes a backup."""
    folder.mkdir()
    (folder / "copy.sqlite").write_bytes(path.read_bytes())
    return folder / "copy.sqlite"


def test_after_a_change_the_one_file_holds_it(path: Path, make_cell: Make, tmp_path: Path) -> None:
    """A backup of the one file would lack the cell that was added last. Source: sqlite.org/wal.html."""
    known = open_registry(path)
    with Store.open(path, create=False) as store:
        store.add([make_cell("osk-3")], **BY)
        store.edit(make_cell("osk-1", maker="Osk"), **BY)
    assert store.whole
    copy = only_file(path, tmp_path / "backup")
    assert verify(copy) == []
    assert open_registry(copy).ids() == ["osk-1", "osk-2", "osk-3"]
    assert len(catalogue.history(copy, "osk-1")) == 2
    assert known.ids() == ["osk-1", "osk-2"]


def test_a_reader_that_goes_on_is_said_and_the_next_change_makes_up_for_it(
    path: Path, make_cell: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody would copy the one file and believe it whole while another program holds it open."""
    from registry.sqlite import store as stores

    monkeypatch.setattr(stores, "_PATIENCE_WITH_READERS_MS", 50)
    with closing(connection.open_to_read(path)), Store.open(path, create=False) as store:
        store.add([make_cell("osk-3")], **BY)
    assert not store.whole
    with Store.open(path, create=False) as store:
        store.add([make_cell("osk-4")], **BY)
    assert store.whole
    assert open_registry(only_file(path, tmp_path / "backup")).ids() == ["osk-1", "osk-2", "osk-3", "osk-4"]


def test_a_registry_that_can_only_be_read_is_verified(
    path: Path, make_cell: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sound registry on a read-only disk would be told to be damaged, and thrown away for an older copy."""
    from registry.sqlite import verification

    def refusing(path: Path) -> sqlite3.Connection:
        return sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True, isolation_level=None)

    monkeypatch.setattr(verification, "open_to_write", refusing)
    (warning,) = verify(path)
    assert warning == "warning: the search index was not compared, because the file can only be read here"
