"""How the registry's SQLite file is opened, and how SQLite's errors are told in plain words."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from registry.errors import StoreProblem

MAGIC = b"SQLite format 3\x00"  # the first 16 bytes of a file: https://www.sqlite.org/fileformat.html
PATIENCE_S = 60.0

_EXPLANATIONS = {
    "BUSY": ("another program is writing to the registry", "wait for it to finish, then try again"),
    "LOCKED": ("another program is writing to the registry", "wait for it to finish, then try again"),
    "FULL": ("the disk is full", "free some space and try again; nothing was changed"),
    "READONLY": ("the registry can only be read here", "check the rights of the file and its folder"),
    "CANTOPEN": ("the registry cannot be opened", "check that the folder exists and what rights it gives"),
    "PERM": ("the registry may not be opened", "check the rights of the file and its folder"),
    "IOERR": ("the disk reported an error", "check the disk and its free space, then try again"),
    "CORRUPT": ("the registry is damaged", "restore it from a copy or from an exported bundle"),
    "NOTADB": ("the registry is damaged", "restore it from a copy or from an exported bundle"),
    "CONSTRAINT": ("the registry refused the change", "run 'packclaim cells verify'"),
}


def is_sqlite(path: Path) -> bool:
    """Say whether a file begins as every SQLite file does."""
    with path.open("rb") as file:
        return file.read(len(MAGIC)) == MAGIC


def open_to_write(path: Path) -> sqlite3.Connection:
    """Open a registry to be changed; the caller begins and ends each transaction."""
    connection = sqlite3.connect(path, timeout=PATIENCE_S, isolation_level=None)
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


def open_to_read(path: Path) -> sqlite3.Connection:
    """Open a registry that must not be changed, and hold on to how it stands now.

    In a folder that cannot be written SQLite cannot put the index of its log beside the file. The file is
    then read as one that nobody can change, or, where a log holds changes that are not in it yet, as a copy
    of both.
    """
    address = path.resolve().as_uri()
    try:
        return _held(f"{address}?mode=ro")
    except sqlite3.Error as error:
        if error_kind(error) not in {"CANTOPEN", "READONLY"}:
            raise
        log, index = (path.with_name(path.name + ending) for ending in ("-wal", "-shm"))
        if not log.exists() or not log.stat().st_size:
            return _held(f"{address}?mode=ro&immutable=1")
        if index.exists():
            raise
    # Whoever has a file open keeps the index of its log beside it, so nobody is writing to either.
    return _copied(path, log)


def _held(address: str) -> sqlite3.Connection:
    connection = sqlite3.connect(address, uri=True, timeout=PATIENCE_S, isolation_level=None)
    try:
        connection.execute("BEGIN")
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def _copied(path: Path, log: Path) -> sqlite3.Connection:
    """Return a copy in memory of a file and of its log."""
    memory = sqlite3.connect(":memory:", isolation_level=None)
    with tempfile.TemporaryDirectory(prefix="packclaim-") as folder:
        for each in (path, log):
            shutil.copyfile(each, Path(folder, each.name))
        with closing(sqlite3.connect(Path(folder, path.name))) as copy:
            copy.backup(memory)
    memory.execute("PRAGMA query_only = ON")
    return memory


def error_kind(error: sqlite3.Error) -> str:
    """Return the primary result code, such as ``BUSY``; names: https://www.sqlite.org/rescode.html."""
    name = getattr(error, "sqlite_errorname", None) or "SQLITE_ERROR"
    return str(name).split("_")[1]


@contextmanager
def plain_errors(place: str) -> Iterator[None]:
    """Turn errors of SQLite and of the disk into ``StoreProblem``."""
    try:
        yield
    except sqlite3.Error as error:
        what, remedy = _EXPLANATIONS.get(error_kind(error), ("the registry cannot be used", ""))
        raise StoreProblem(place, f"{what} ({error})", remedy) from error
    except UnicodeEncodeError as error:
        raise StoreProblem(place, "was asked for a text that holds half of a character") from error
    except OSError as error:
        raise StoreProblem(place, f"cannot be used ({error.strerror or error})") from error
