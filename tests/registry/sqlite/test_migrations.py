"""Registries of every age: an older one is brought up to date with its history, a newer one is left alone."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from sqlite_utils import Database

from registry.bundle import cell_line, digest
from registry.cell import Cell
from registry.errors import StoreProblem, UnreadableFile
from registry.opening import open_registry
from registry.sqlite.index_columns import COLUMNS
from registry.sqlite.migrations import STEPS as MIGRATIONS
from registry.sqlite.migrations import migrate
from registry.sqlite.schema import SET, STEPS, missing_steps
from registry.sqlite.store import Store
from registry.sqlite.verification import verify

Make = Callable[..., Cell]

# Rows as the first form of the registry holds them; written out so that later code cannot change the test.
FIRST_CELLS = (
    "INSERT INTO cells (id, maker, model, form, size, chemistry, retired, record)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
)
FIRST_HISTORY = (
    "INSERT INTO history (cell_id, action, at, who, why, before, after) VALUES (?, ?, ?, ?, ?, ?, ?)"
)


def older(path: Path, before: str, cells: list[Cell]) -> None:
    """Write a registry as a program wrote it that knew no step from `before` on."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        migrate(connection, before=before)
        for cell in cells:
            former = cell_line(cell.model_copy(update={"maker": "Formerly"}))
            record = cell_line(cell)
            row = (
                cell.id,
                cell.maker,
                cell.model,
                cell.form,
                cell.size,
                cell.chemistry,
                cell.retired,
                record,
            )
            connection.execute(FIRST_CELLS, row)
            for name in (cell.model, f"{cell.maker} {cell.model}", *cell.markings):
                as_compared = name.lower().replace(" ", "").replace("-", "")
                connection.execute("INSERT OR IGNORE INTO names VALUES (?, ?)", (as_compared, cell.id))
            at = "2025-01-02T03:04:05+00:00"
            connection.execute(FIRST_HISTORY, (cell.id, "add", at, "Quay Street", "first", None, former))
            connection.execute(FIRST_HISTORY, (cell.id, "edit", at, "Quay Street", "maker", former, record))


UNDO = {
    "operation": "".join(
        f"ALTER TABLE sheets DROP COLUMN {name};"
        for name in ("discharge_low_c", "discharge_high_c", "charge_low_c", "charge_high_c")
    ),
    "search": "DROP TRIGGER cells_ai; DROP TRIGGER cells_ad; DROP TRIGGER cells_au; DROP TABLE cells_fts;"
    "ALTER TABLE cells DROP COLUMN markings;",
}


def undo(path: Path, step: str) -> None:
    """Take a step and those after it out of a registry."""
    Database(path).disable_wal()
    with closing(sqlite3.connect(path)) as connection:
        for name in reversed(STEPS[STEPS.index(step) :]):
            connection.executescript(f"{UNDO[name]} DELETE FROM _sqlite_migrations WHERE name = '{name}'")  # noqa: S608


def test_the_first_form_becomes_the_newest_with_its_history(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise an update of the program loses cells, limits, search or who changed what."""
    path = tmp_path / "r.sqlite"
    cells = [make_cell("osk-1"), make_cell("osk-2", retired="wrong figures")]
    older(path, "figures", cells)
    with Store.open(path, create=False) as store:
        changes = store.history("osk-1")
        assert [(change.action, change.who, change.why) for change in changes] == [
            ("add", "Quay Street", "first"),
            ("edit", "Quay Street", "maker"),
        ]
        assert changes[0].after.maker == "Formerly"
        assert changes[1].after == cells[0]
        assert store.search("osk") == ["osk-1", "osk-2"]
        store.edit(make_cell("osk-1", maker="Osk"), who="Quay Street", why="after the update")
        assert [change.number for change in store.history("osk-1")] == [1, 2, 5]
    assert verify(path) == []
    with closing(sqlite3.connect(path)) as connection:
        limits = "SELECT max_a FROM limits WHERE cell_id = 'osk-2' AND kind = 'discharge' ORDER BY low_c"
        assert connection.execute(limits).fetchall() == [(0.5 * 3.35,), (8.0,)]
        applied = "SELECT name FROM _sqlite_migrations WHERE migration_set = ? ORDER BY id"
        assert [name for (name,) in connection.execute(applied, (SET,))] == list(STEPS)


@pytest.mark.parametrize("before", STEPS[1:])
def test_an_older_form_is_read_without_a_change(before: str, make_cell: Make, tmp_path: Path) -> None:
    """Otherwise a check on a colleague's registry rewrites it, or cannot read it."""
    path = tmp_path / "r.sqlite"
    cells = [make_cell("osk-1"), make_cell("osk-2", retired="wrong figures")]
    if before == "figures":
        older(path, before, cells)
    else:
        with Store.open(path, create=True) as store:
            store.add(cells, who="Quay Street", why="first")
        undo(path, before)
    content = path.read_bytes()
    catalogue = open_registry(path)
    assert (catalogue.count, catalogue.digest) == (1, digest(cells))
    assert catalogue.cells(all=True) == cells
    assert path.read_bytes() == content


def test_an_update_fills_in_the_temperatures_of_operation(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise SQL grants a current where the sheet allows no operation."""
    path = tmp_path / "r.sqlite"
    first = make_cell().sheets[0].model_dump(exclude_defaults=True)
    second = first | {"discharge_temperature": {"low_c": -10, "high_c": 50}}
    third = first | {"charge_temperature": {"low_c": 5, "high_c": 40}}
    with Store.open(path, create=True) as store:
        store.add([make_cell("osk-1", sheets=[first, second, third])], who="Quay Street", why="first")
    undo(path, "operation")
    with Store.open(path, create=False):
        pass
    assert verify(path) == []
    asked = (
        "SELECT discharge_low_c, discharge_high_c, charge_low_c, charge_high_c FROM sheets ORDER BY number"
    )
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute(asked).fetchall() == [
            (None, None, None, None),
            (-10.0, 50.0, None, None),
            (None, None, 5.0, 40.0),
        ]


def test_a_newer_form_is_refused_and_left_alone(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise an old program writes into tables whose meaning it does not know."""
    path = tmp_path / "r.sqlite"
    with Store.open(path, create=True) as store:
        store.add([make_cell("osk-1")], who="Quay Street", why="first")
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(
            "INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES (?, 'of_next_year', '')",
            (SET,),
        )
        connection.commit()
    content = path.read_bytes()
    with pytest.raises(StoreProblem, match=r"newer packclaim.*of_next_year.*update"):
        open_registry(path)
    for create in (True, False):
        with pytest.raises(StoreProblem, match="newer packclaim"), Store.open(path, create=create):
            pass
    assert path.read_bytes() == content


def test_a_file_of_another_program_is_refused_and_left_alone(tmp_path: Path) -> None:
    """Otherwise a wrong path puts our tables into somebody's database."""
    path = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE boats (name TEXT)")
    content = path.read_bytes()
    with pytest.raises(UnreadableFile, match="some other program"), Store.open(path, create=True):
        pass
    assert path.read_bytes() == content


def test_a_failed_update_leaves_the_older_form(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise one bad record leaves a registry between two forms. Rule: all steps in one transaction."""
    path = tmp_path / "r.sqlite"
    older(path, "figures", [make_cell("osk-1")])
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE cells SET record = replace(record, '3.35', '-3.35')")
        connection.commit()
        before = connection.execute("SELECT sql FROM sqlite_master ORDER BY name").fetchall()
    with pytest.raises(StoreProblem, match=r"damaged \(cell osk-1"), Store.open(path, create=False):
        pass
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT sql FROM sqlite_master ORDER BY name").fetchall() == before


def test_the_tables_have_the_columns_that_are_written(tmp_path: Path) -> None:
    """Otherwise rows are written into columns that no registry has."""
    with Store.open(tmp_path / "r.sqlite", create=True):
        pass
    database = Database(tmp_path / "r.sqlite")
    for table, columns in COLUMNS.items():
        assert set(database[table].columns_dict) == set(columns)
    database.close()


def test_limits_point_to_their_sheet_and_sheets_to_their_cell(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise a limit can outlive its sheet. Source: sqlite.org/foreignkeys.html."""
    with Store.open(tmp_path / "r.sqlite", create=True) as store:
        store.add([make_cell("osk-1")], who="Quay Street", why="first")
    with closing(sqlite3.connect(tmp_path / "r.sqlite")) as connection:
        connection.execute("PRAGMA foreign_keys = ON")
        for statement in (
            "DELETE FROM sheets",
            "UPDATE limits SET sheet = 7",
            "INSERT INTO names VALUES ('x', 'none')",
            "INSERT INTO history (cell_id, action, at, who, why, after) VALUES ('none', '', '', '', '', '')",
        ):
            with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
                connection.execute(statement)


def test_what_is_known_of_the_tables_is_what_the_steps_make() -> None:
    """Every registry would be told to be damaged, or one of an older program would.

    Rule: a file is compared with the tables as they are written down, so both must say the same.
    """
    assert tuple(step.__name__ for step in MIGRATIONS) == STEPS
    for count in range(1, len(STEPS) + 1):
        with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
            migrate(connection, before=STEPS[count] if count < len(STEPS) else None)
            assert missing_steps(connection, "here") == list(STEPS[count:])
