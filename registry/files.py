"""The one way out: a file is written whole or not at all, and never over what must not be lost."""

from __future__ import annotations

import os
import secrets
import stat
import sys
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path

from registry.errors import UnreadableFile
from registry.sqlite.beginning import MAGIC

DRAFT_PREFIX = ".packclaim-"
"""How a file is called while it is written."""
_ANOTHER = "name another file"
_LOGS = ("-wal", "-shm", "-journal")

Precious = Callable[[Path], str | None]
"""Says of a file that is there why it must not be written over, such as ``holds observations``."""


def write_file(
    name: str | Path, data: bytes, *, inputs: Iterable[str | Path] = (), precious: Precious | None = None
) -> str:
    """Write a file, wholly or not at all; a pipe or a device is written into.

    Parameters
    ----------
    name
        Where to write. A link stays a link to its file, which keeps its rights.
    data
        What to write.
    inputs
        Files that were read for it, the registry among them.
    precious
        What else is not written over.

    Returns
    -------
    str
        What was done, such as ``wrote report.html (48,211 bytes)``.

    Raises
    ------
    UnreadableFile
        When the target is refused, as `refuse_target` does, or cannot be written; nothing is left behind.
    """
    refuse_target(name, inputs=inputs, precious=precious)
    try:
        _write(Path(name), data)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else None
        raise UnreadableFile(str(name), f"cannot be written ({reason or error})") from error
    return f"wrote {name} ({len(data):,} byte{'' if len(data) == 1 else 's'})"


def refuse_target(
    name: str | Path, *, inputs: Iterable[str | Path] = (), precious: Precious | None = None
) -> None:
    """Refuse a file that must not be written over; to be asked before long work, too.

    Raises
    ------
    UnreadableFile
        When it is one of the files read, a SQLite file or the log of one, or precious.
    """
    path = Path(name)
    if _is_sqlite(path) or any(
        path.name.endswith(log) and _is_sqlite(path.with_name(path.name.removesuffix(log))) for log in _LOGS
    ):
        raise UnreadableFile(
            str(name), "is a SQLite registry or belongs to one, which is not overwritten", _ANOTHER
        )
    if any(_same_file(path, Path(other)) for other in inputs):
        raise UnreadableFile(str(name), "is a file that this is made from", _ANOTHER)
    reason = precious(path) if precious is not None and _is_plain(path) else None
    if reason is not None:
        raise UnreadableFile(str(name), reason, _ANOTHER)


def is_stream(name: str | Path) -> bool:
    """Whether something is there that can only be written into: a pipe, a device, this program's stdout."""
    path = Path(name)
    with suppress(OSError, ValueError):
        return (path.exists() and not path.is_file()) or _is_stdout(path)
    return False


def _write(path: Path, data: bytes) -> None:
    if _is_stdout(path):
        sys.stdout.flush()
        with os.fdopen(os.dup(1), "wb") as stream:
            stream.write(data)
        return
    if is_stream(path):
        path.write_bytes(data)
        return
    target = path.resolve() if path.is_symlink() else path
    draft = target.with_name(f"{DRAFT_PREFIX}{secrets.token_hex(4)}")
    try:
        # Made with the rights that the user's files have; a draft of that name is never there already.
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if target.exists():
            draft.chmod(stat.S_IMODE(target.stat().st_mode))
        draft.replace(target)
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def _is_stdout(path: Path) -> bool:
    with suppress(OSError, ValueError):
        return os.path.samestat(path.stat(), os.fstat(1))
    return False


def _is_plain(path: Path) -> bool:
    with suppress(OSError, ValueError):
        return path.is_file()
    return False


def _same_file(path: Path, other: Path) -> bool:
    with suppress(OSError, ValueError):
        return path.is_file() and path.samefile(other)
    return False


def _is_sqlite(path: Path) -> bool:
    with suppress(OSError, ValueError):
        if path.is_file():
            with path.open("rb") as file:
                return file.read(len(MAGIC)) == MAGIC
    return False
