"""How every SQLite file begins."""

from __future__ import annotations

from pathlib import Path

MAGIC = b"SQLite format 3\x00"  # the first 16 bytes of a file: https://www.sqlite.org/fileformat.html


def is_sqlite(path: Path) -> bool:
    """Say whether a file begins as every SQLite file does; nothing is taken from a pipe or a device."""
    if path.exists() and not path.is_file() and not path.is_dir():
        return False
    with path.open("rb") as file:
        return file.read(len(MAGIC)) == MAGIC
