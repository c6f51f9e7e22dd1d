"""How the registry's SQLite file is opened, and how SQLite's errors are told in plain words."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
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

    Where SQLite may not even put its lock files (a read-only folder), the file is read as one that nobody
    can change.
    """
    address = path.resolve().as_uri()
    last: sqlite3.Error | None = None
    for settings in ("?mode=ro", "?mode=ro&immutable=1"):
        connection = sqlite3.connect(
            f"{address}{settings}", uri=True, timeout=PATIENCE_S, isolation_level=None
        )
        try:
            connection.execute("BEGIN")
            connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        except sqlite3.Error as error:
            connection.close()
            last = error
            unlogged = not path.with_name(path.name + "-wal").exists()
            if not (error_kind(error) in {"CANTOPEN", "READONLY"} and unlogged):
                raise
        else:
            return connection
    raise last or sqlite3.OperationalError("the registry cannot be opened")


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
