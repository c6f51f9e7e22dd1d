"""Opening a registry to read where SQLite cannot put the index of its log beside the file."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from registry.errors import StoreProblem
from registry.sqlite import connection
from registry.sqlite.beginning import is_sqlite
from registry.sqlite.connection import error_kind, open_to_read, plain_errors


class _ReadOnly(sqlite3.OperationalError):
    """What SQLite raises in a folder that cannot be written; rank and right make no difference to a test."""

    sqlite_errorname = "SQLITE_CANTOPEN"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of which SQLite says that it cannot be written, with a registry of one row."""
    held = connection._held

    def refusing(address: str) -> sqlite3.Connection:
        if address.endswith("?mode=ro"):
            raise _ReadOnly("unable to open database file")
        return held(address)

    monkeypatch.setattr(connection, "_held", refusing)
    with closing(sqlite3.connect(tmp_path / "r.sqlite", isolation_level=None)) as made:
        made.execute("PRAGMA journal_mode = WAL")
        made.execute("CREATE TABLE cells (id TEXT)")
        made.execute("INSERT INTO cells VALUES ('lyr-1')")
    return tmp_path


def ids(path: Path) -> list[str]:
    with closing(open_to_read(path)) as reader:
        return [name for (name,) in reader.execute("SELECT id FROM cells ORDER BY id")]


def test_a_registry_on_a_disk_that_cannot_be_written_is_read(folder: Path) -> None:
    """A registry shared on a read-only disk could not be used. Source: sqlite.org/wal.html, "Read-Only"."""
    assert ids(folder / "r.sqlite") == ["lyr-1"]


def test_changes_that_are_only_in_the_log_are_read_too(folder: Path, tmp_path: Path) -> None:
    """A cell withdrawn yesterday would still be granted its old limits. Source: sqlite.org/wal.html."""
    elsewhere = tmp_path / "shared"
    elsewhere.mkdir()
    with closing(sqlite3.connect(folder / "r.sqlite", isolation_level=None)) as writer:
        writer.execute("INSERT INTO cells VALUES ('osk-2')")
        for name in ("r.sqlite", "r.sqlite-wal"):
            shutil.copy(folder / name, elsewhere / name)
    before = {path.name: path.read_bytes() for path in elsewhere.iterdir()}
    assert ids(elsewhere / "r.sqlite") == ["lyr-1", "osk-2"]
    with closing(open_to_read(elsewhere / "r.sqlite")) as reader, pytest.raises(sqlite3.OperationalError):
        reader.execute("DELETE FROM cells")
    assert {path.name: path.read_bytes() for path in elsewhere.iterdir()} == before


def test_a_log_that_somebody_may_be_writing_is_not_copied(folder: Path) -> None:
    """Half a change of another program would be read as the registry."""
    with closing(sqlite3.connect(folder / "r.sqlite", isolation_level=None)) as writer:
        writer.execute("INSERT INTO cells VALUES ('osk-2')")
        with pytest.raises(sqlite3.OperationalError):
            open_to_read(folder / "r.sqlite")


@pytest.mark.parametrize(
    ("name", "said"),
    [("SQLITE_BUSY", "another program is writing"), ("SQLITE_IOERR_READ", "reported an error"),
     ("SQLITE_TOOBIG", "is damaged"), ("SQLITE_NOLFS", "cannot be used")],
)  # fmt: skip
def test_each_kind_of_error_is_told_in_plain_words(name: str, said: str) -> None:
    """A full disk and a damaged file would read alike. Source of the names: sqlite.org/rescode.html."""
    error = sqlite3.OperationalError("x")
    error.sqlite_errorname = name
    assert error_kind(error) == name.split("_")[1]
    with pytest.raises(StoreProblem, match=said), plain_errors("r.sqlite"):
        raise error


def test_half_a_character_is_told_as_such() -> None:
    """A search for a damaged text would end in a traceback."""
    with pytest.raises(StoreProblem, match="half of a character"), plain_errors("r.sqlite"):
        "\ud800".encode()


def test_a_registry_is_known_by_its_first_bytes(folder: Path, tmp_path: Path) -> None:
    """A bundle named like a registry would be opened as one. Source: sqlite.org/fileformat.html, 1.3.1."""
    (tmp_path / "bundle.sqlite").write_text('{"id": "lyr-1"}\n')
    assert is_sqlite(folder / "r.sqlite")
    assert not is_sqlite(tmp_path / "bundle.sqlite")
