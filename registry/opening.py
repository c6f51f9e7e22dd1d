"""Opening a registry to be read, be it a SQLite file or a text bundle. Nothing here changes a file."""

from __future__ import annotations

from pathlib import Path

from registry.bundle import read_bundle
from registry.cells import Cells, InMemory
from registry.errors import UnreadableFile
from registry.sqlite.beginning import is_sqlite


def default_registry_path() -> Path:
    """Return where a user's registry lives when no other is named."""
    from platformdirs import user_data_path

    return user_data_path("packclaim", appauthor=False) / "registry.sqlite"


def open_registry(path: Path) -> Cells:
    """Open a registry to be read; whether it is SQLite or a bundle, its content decides.

    Raises
    ------
    UnreadableFile
        When there is no file, or it is neither.
    StoreProblem
        When the SQLite file is damaged, locked, or was written by a newer program.
    ManyProblems
        When lines of a bundle are not valid cells.
    """
    try:
        if path.exists() and not path.is_file() and not path.is_dir():
            raise UnreadableFile(
                str(path), "is a pipe or a device, which cannot be read twice", "save it to a file first"
            )
        if is_sqlite(path):
            from registry.sqlite.catalogue import open_sqlite

            return open_sqlite(path)
        with path.open("rb") as file:
            begins = file.read(4096).removeprefix(b"\xef\xbb\xbf").lstrip()
    except OSError as error:
        remedy = "add a cell first, or name another file with --registry" if not path.exists() else ""
        raise UnreadableFile(
            str(path), f"the registry cannot be read ({error.strerror or error})", remedy
        ) from error
    if begins and not begins.startswith(b"{"):
        raise UnreadableFile(
            str(path),
            "is neither a SQLite registry nor a bundle",
            "a bundle has one cell in JSON on each line",
        )
    return InMemory(read_bundle(path), str(path))
