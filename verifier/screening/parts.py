"""The parts of a result while it is being made: a folder beside it, so that at most a chunk is ever lost.

Each chunk's part is written under another name and then renamed, so it is there wholly or not at all. The
manifest says what the parts belong to. Only when every part is there are they put together.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, BinaryIO, Self

from registry.files import DRAFT_PREFIX, write_file
from verifier.errors import UnreadableInput
from verifier.screening.columns import refuse_many
from verifier.screening.part_files import about, read
from verifier.screening.result_table import ResultTable
from verifier.screening.rows import Chunk
from verifier.screening.tally import Tally

FORMAT = "packclaim screening parts 4"
MANIFEST, LOCK, WHOLE = "manifest.json", "lock", "whole"
PART_ENDING = ".npz"
_PART = re.compile(rf"\d{{8,}}{re.escape(PART_ENDING)}")
_EDGE_BYTES = 1_000_000
GO_ON = "go on with --resume, or begin anew with --start-over"
_ELSEWHERE = "move it elsewhere, or write the result to another place"


def input_identity(path: Path) -> dict[str, Any]:
    """Return what tells an input from another: its size and the digest of its head and tail."""
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(_EDGE_BYTES)
        file.seek(max(0, size - _EDGE_BYTES))
        tail = file.read(_EDGE_BYTES)
    return {"bytes": size, "edges_sha256": hashlib.sha256(head + tail).hexdigest()}


def folder_of(out: Path) -> Path:
    """Return where the parts of a result are kept."""
    return out.with_name(f"{out.name}.parts")


class Parts:
    """The parts that are there, and room for those to come; locked for as long as a run works on them.

    Raises
    ------
    UnreadableInput
        When parts are there and it is not said what to do with them, when they belong to something else, or
        when another run is at work.
    """

    def __init__(
        self, folder: Path, manifest: Mapping[str, Any], *, resume: bool = False, start_over: bool = False
    ) -> None:
        self.folder = folder
        self.carried: dict[str, None] = {}
        self.rows = 0
        self._done: dict[int, dict[str, Any]] = {}
        self._manifest = json.loads(json.dumps({"format": FORMAT, **manifest}))
        if folder.is_symlink():
            raise UnreadableInput(str(folder), "is a link, where the parts of a run are kept", _ELSEWHERE)
        locked_before = (folder / LOCK).exists()
        try:
            folder.mkdir(exist_ok=True)
            self._lock = _locked(folder)
        except OSError as error:
            raise UnreadableInput(str(folder), f"cannot be made ({error.strerror or error})") from error
        try:
            self._begin(resume=resume, start_over=start_over)
        except BaseException:
            if not locked_before:
                self._leave_as_found()
            self._lock.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if not self._paths():
            # Nothing is lost with it, and the next run need not ask.
            self.remove()
        self._lock.close()

    def _leave_as_found(self) -> None:
        """Take away what was put into a folder that cannot be used; it goes where nothing else is in it."""
        with suppress(OSError):
            (self.folder / LOCK).unlink(missing_ok=True)
            self.folder.rmdir()

    def _begin(self, *, resume: bool, start_over: bool) -> None:
        path = self.folder / MANIFEST
        self._refuse_strange_files(path)
        if start_over:
            self._clear()
        if path.exists() and self._paths():
            if not resume:
                raise UnreadableInput(str(self.folder), "holds parts of a run that did not end", GO_ON)
            self._refuse_other(path)
            self._find_done()
        else:
            self._clear()
            write_file(path, json.dumps(self._manifest, indent=1).encode())

    def _refuse_strange_files(self, manifest: Path) -> None:
        """Refuse a folder that holds what no run has put there: none of it is read, and none is deleted."""
        found = [path for path in self.folder.iterdir() if path.name != LOCK]
        strange = [path.name for path in found if not _may_be_ours(path)]
        if strange:
            raise UnreadableInput(
                str(self.folder), f"holds '{strange[0]}', which is no part of a run", _ELSEWHERE
            )
        if all(path.name.startswith(DRAFT_PREFIX) for path in found):
            return  # a run was stopped while it wrote its manifest
        try:
            # A damaged manifest is still known by its first words.
            told = FORMAT.encode() in manifest.read_bytes()[:1000]
        except OSError:
            told = False
        if not told:
            raise UnreadableInput(
                str(self.folder), f"holds '{found[0].name}' and no manifest of a run", _ELSEWHERE
            )

    def _refuse_other(self, path: Path) -> None:
        try:
            found = json.loads(path.read_bytes())
        except (OSError, ValueError) as error:
            raise UnreadableInput(str(path), "cannot be read", "begin anew with --start-over") from error
        for name, value in self._manifest.items():
            if not isinstance(found, dict) or found.get(name) != value:
                raise UnreadableInput(
                    str(self.folder),
                    f"was begun with another {name}",
                    "restore it, or begin anew with --start-over",
                )

    def _find_done(self) -> None:
        for path in self._paths():
            with suppress(UnreadableInput):
                found = about(path)
                self._done[int(path.stem)] = found
                self._keep_names(found["carried"])

    def _paths(self) -> list[Path]:
        with suppress(FileNotFoundError):
            return sorted(path for path in self.folder.iterdir() if _PART.fullmatch(path.name))
        return []

    def _keep_names(self, carried: list[str]) -> None:
        self.carried.update(dict.fromkeys(carried))
        refuse_many(self.carried)

    def holds(self, chunk: Chunk) -> bool:
        """Whether a chunk is judged already.

        Raises
        ------
        UnreadableInput
            When its part was made from other rows.
        """
        found = self._done.get(chunk.number)
        if found is None:
            return False
        if (found["first_row"], found["rows"], found["digest"]) != (
            chunk.first_row,
            chunk.rows,
            chunk.digest,
        ):
            raise UnreadableInput(
                str(self.folder),
                f"was begun with another input (from row {chunk.first_row} on)",
                "restore it, or begin anew with --start-over",
            )
        return True

    def write(self, chunk: Chunk, part: bytes) -> None:
        """Keep the part of a chunk."""
        write_file(self.folder / f"{chunk.number:08d}{PART_ENDING}", part)

    def finished(self, chunks: int) -> Tally:
        """Return the counts of all parts, and learn the names of all carried columns in order of appearance.

        Raises
        ------
        UnreadableInput
            When not every chunk has its part.
        """
        paths = self._paths()
        strange = [path.name for path in paths if int(path.stem) >= chunks]
        if strange:
            raise UnreadableInput(
                str(self.folder), f"holds '{strange[0]}', and the table has no such rows", _ELSEWHERE
            )
        if len(paths) != chunks:
            raise UnreadableInput(str(self.folder), f"holds {len(paths)} parts instead of {chunks}", GO_ON)
        tally = Tally()
        self.carried = {}
        for path in paths:
            found = about(path)
            self._keep_names(found["carried"])
            tally.add(Tally.from_data(found["tally"]))
        return tally

    def tables(self, names: Sequence[str]) -> Iterator[ResultTable]:
        """Yield some columns of the parts in order; one that a part lacks has no text there."""
        for number in range(len(self._paths())):
            yield self.table(number, names)

    def table(self, number: int, names: Sequence[str]) -> ResultTable:
        """Return some columns of one part; one that it lacks has no text."""
        return read(self._paths()[number], names)

    def remove(self) -> None:
        """Remove the folder and what a run has put into it."""
        self._clear()
        (self.folder / LOCK).unlink(missing_ok=True)
        with suppress(OSError):
            self.folder.rmdir()

    def _clear(self) -> None:
        # The manifest goes last: without it nothing else would be known for what it is.
        for path in [*self._paths(), *self.folder.glob(f"{DRAFT_PREFIX}*")]:
            path.unlink(missing_ok=True)
        for name in (WHOLE, MANIFEST):
            (self.folder / name).unlink(missing_ok=True)


def _may_be_ours(path: Path) -> bool:
    name = path.name
    ours = name in (MANIFEST, WHOLE) or name.startswith(DRAFT_PREFIX) or _PART.fullmatch(name) is not None
    return ours and path.is_file() and not path.is_symlink()


def _locked(folder: Path) -> BinaryIO:
    """Return the folder's lock, which ends with the process however that ends."""
    lock = (folder / LOCK).open("ab")
    try:
        import fcntl

        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except ImportError:
        pass
    except OSError:
        lock.close()
        raise UnreadableInput(str(folder), "another run is at work on these parts") from None
    return lock
