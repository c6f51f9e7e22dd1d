"""How the registry's SQLite file is opened, and how SQLite's errors are told in plain words."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from registry.errors import StoreProblem
from registry.input_bounds import STORED_ROW

PATIENCE_S = 60.0
LONGEST_STATEMENT_S = 120.0
"""No statement over a sound registry comes near it; one that a hostile file makes endless ends here."""

_RESTORE = "restore it from a copy or an exported bundle; 'packclaim cells verify' tells all that is wrong"
_OTHER_WRITES = ("another program is writing to the registry", "wait for it to finish, then try again")
_EXPLANATIONS = {
    "BUSY": _OTHER_WRITES,
    "LOCKED": _OTHER_WRITES,
    "FULL": ("the disk is full", "free some space and try again; nothing was changed"),
    "READONLY": ("the registry can only be read here", "check the rights of the file and its folder"),
    "CANTOPEN": ("the registry cannot be opened", "check that the folder exists and what rights it gives"),
    "PERM": ("the registry may not be opened", "check the rights of the file and its folder"),
    "AUTH": ("the registry may not be opened", "check the rights of the file and its folder"),
    "IOERR": ("the disk reported an error", "check the disk and its free space, then try again"),
    "NOMEM": ("there is not enough memory", "close other programs and try again; nothing was changed"),
    "CONSTRAINT": ("the registry refused the change", "run 'packclaim cells verify'"),
}
# What a sound file with the known tables never answers.
_DAMAGE = {"CORRUPT", "NOTADB", "ERROR", "TOOBIG", "MISMATCH", "INTERRUPT", "FORMAT", "RANGE"}


class Damage(Exception):
    """The file holds what no registry holds; `plain_errors` tells it with the path of the file."""


def damaged(place: str, what: str) -> StoreProblem:
    """Return the error for a registry that is not as this program writes it."""
    return StoreProblem(place, f"the registry is damaged ({what})", _RESTORE)


class Connection(sqlite3.Connection):
    """A connection that trusts nothing the file brings along and ends a statement that takes too long.

    Values are bounded in length, functions and virtual tables with side effects cannot be called from the
    schema, and each statement has a deadline.
    """

    def __init__(self, *arguments: Any, **settings: Any) -> None:
        super().__init__(*arguments, **settings)
        self._give_up = 0.0
        self._begin()
        self.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, STORED_ROW.most)
        self.setlimit(sqlite3.SQLITE_LIMIT_ATTACHED, 0)
        self.set_progress_handler(self._too_long, 100_000)
        super().execute("PRAGMA trusted_schema = OFF")
        super().execute("PRAGMA cell_size_check = ON")

    def _begin(self) -> None:
        self._give_up = time.monotonic() + LONGEST_STATEMENT_S

    def _too_long(self) -> bool:
        return time.monotonic() > self._give_up

    def execute(self, *arguments: Any) -> sqlite3.Cursor:
        """Run one statement; its deadline begins now."""
        self._begin()
        return super().execute(*arguments)

    def executemany(self, *arguments: Any) -> sqlite3.Cursor:
        """Run one statement for many rows; its deadline begins now."""
        self._begin()
        return super().executemany(*arguments)


def open_to_write(path: Path) -> sqlite3.Connection:
    """Open a registry to be changed; the caller begins and ends each transaction."""
    connection = sqlite3.connect(path, timeout=PATIENCE_S, isolation_level=None, factory=Connection)
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


def open_in_memory() -> sqlite3.Connection:
    """Open an empty registry that no file keeps."""
    return sqlite3.connect(":memory:", isolation_level=None, factory=Connection)


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
    connection = sqlite3.connect(
        address, uri=True, timeout=PATIENCE_S, isolation_level=None, factory=Connection
    )
    try:
        connection.execute("BEGIN")
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except BaseException:
        connection.close()
        raise
    return connection


def _copied(path: Path, log: Path) -> sqlite3.Connection:
    """Return a copy in memory of a file and of its log."""
    memory = open_in_memory()
    with tempfile.TemporaryDirectory(prefix="packclaim-") as folder:
        for each in (path, log):
            shutil.copyfile(each, Path(folder, each.name))
        with closing(sqlite3.connect(Path(folder, path.name))) as copy:
            copy.backup(memory)
    memory.execute("PRAGMA query_only = ON")
    return memory


def error_kind(error: sqlite3.Error) -> str:
    """Return the primary result code, such as ``BUSY``; names: https://www.sqlite.org/rescode.html."""
    name = getattr(error, "sqlite_errorname", None)
    if name is None:
        # The library's own words where a text of the file is not UTF-8; SQLite itself saw nothing wrong.
        return "CORRUPT" if str(error).startswith("Could not decode") else "UNKNOWN"
    return str(name).split("_")[1]


def error_words(error: sqlite3.Error | UnicodeDecodeError) -> str:
    """Return what SQLite says, without the bytes of a text that cannot be read."""
    if isinstance(error, UnicodeDecodeError):
        return "it holds bytes that are not text"
    if error_kind(error) == "INTERRUPT":
        return f"reading one part of it takes longer than {LONGEST_STATEMENT_S:g} s"
    return str(error).split(" with text ")[0]


@contextmanager
def plain_errors(place: str) -> Iterator[None]:
    """Turn errors of SQLite and of the disk into ``StoreProblem``."""
    try:
        yield
    except Damage as error:
        raise damaged(place, str(error)) from error
    except UnicodeDecodeError as error:
        # SQLite's own message quotes what is damaged, and that is not UTF-8.
        raise damaged(place, error_words(error)) from error
    except sqlite3.Error as error:
        if error_kind(error) in _DAMAGE:
            raise damaged(place, error_words(error)) from error
        what, remedy = _EXPLANATIONS.get(error_kind(error), ("the registry cannot be used", ""))
        raise StoreProblem(place, f"{what} ({error})", remedy) from error
    except UnicodeEncodeError as error:
        raise StoreProblem(place, "was asked for a text that holds half of a character") from error
    except OSError as error:
        raise StoreProblem(place, f"cannot be used ({error.strerror or error})") from error
