"""The parts of a result while it is being made: a folder beside it, so that at most a chunk is ever lost.

Each chunk's part is written under another name and then renamed, so it is there wholly or not at all. The
manifest says what the parts belong to. Only when every part is there are they put together.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, Self

from verifier.errors import UnreadableInput
from verifier.screening.columns import refuse_many
from verifier.screening.judging import METADATA
from verifier.screening.rows import Chunk
from verifier.screening.tally import Tally

if TYPE_CHECKING:
    import pyarrow as pa

FORMAT = "packclaim screening parts 1"
MANIFEST, LOCK, WHOLE = "manifest.json", "lock", "whole"
PART_ENDING = ".arrow"
_DRAFT_ENDING = ".draft"
_EDGE_BYTES = 1_000_000
GO_ON = "go on with --resume, or begin anew with --start-over"


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
        try:
            folder.mkdir(exist_ok=True)
            self._lock = _locked(folder)
        except OSError as error:
            raise UnreadableInput(str(folder), f"cannot be made ({error.strerror or error})") from error
        try:
            self._begin(resume=resume, start_over=start_over)
        except BaseException:
            self._lock.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if not self._paths():
            # Nothing is lost with it, and the next run need not ask.
            self.remove()
        self._lock.close()

    def _begin(self, *, resume: bool, start_over: bool) -> None:
        self._refuse_strange_files()
        if start_over:
            self._clear()
        path = self.folder / MANIFEST
        if path.exists() and self._paths():
            if not resume:
                raise UnreadableInput(str(self.folder), "holds parts of a run that did not end", GO_ON)
            self._refuse_other(path)
            self._find_done()
        else:
            self._clear()
            write_whole(path, json.dumps(self._manifest, indent=1).encode())

    def _refuse_strange_files(self) -> None:
        ours = {MANIFEST, LOCK, WHOLE}
        for path in self.folder.iterdir():
            if path.name not in ours and path.suffix not in (PART_ENDING, _DRAFT_ENDING):
                raise UnreadableInput(
                    str(self.folder), f"holds '{path.name}', which is no part of a run", "move it elsewhere"
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
                about = _about(path)
                self._done[int(path.stem)] = about
                self._keep_names(about["carried"])

    def _paths(self) -> list[Path]:
        return sorted(self.folder.glob(f"*{PART_ENDING}"))

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
        about = self._done.get(chunk.number)
        if about is None:
            return False
        if (about["first_row"], about["rows"], about["digest"]) != (
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
        write_whole(self.folder / f"{chunk.number:08d}{PART_ENDING}", part)

    def finished(self, chunks: int) -> Tally:
        """Return the counts of all parts, and learn the names of all carried columns in order of appearance.

        Raises
        ------
        UnreadableInput
            When not every chunk has its part.
        """
        paths = self._paths()
        if [int(path.stem) for path in paths] != list(range(chunks)):
            raise UnreadableInput(str(self.folder), f"holds {len(paths)} parts instead of {chunks}", GO_ON)
        tally = Tally()
        self.carried = {}
        for path in paths:
            about = _about(path)
            self._keep_names(about["carried"])
            tally.add(Tally.from_data(about["tally"]))
        return tally

    def batches(self) -> Iterator[pa.RecordBatch]:
        """Yield the parts in order."""
        import pyarrow as pa

        for path in self._paths():
            with path.open("rb") as file, pa.ipc.open_stream(file) as stream:
                yield from stream

    def remove(self) -> None:
        """Remove the folder and what a run has put into it."""
        self._clear()
        (self.folder / LOCK).unlink(missing_ok=True)
        with suppress(OSError):
            self.folder.rmdir()

    def _clear(self) -> None:
        # The manifest goes last: without it nothing else would be known for what it is.
        for path in [*self._paths(), *self.folder.glob(f"*{_DRAFT_ENDING}")]:
            path.unlink(missing_ok=True)
        for name in (WHOLE, MANIFEST):
            (self.folder / name).unlink(missing_ok=True)


def _about(path: Path) -> dict[str, Any]:
    import pyarrow as pa

    try:
        with path.open("rb") as file, pa.ipc.open_stream(file) as stream:
            about: dict[str, Any] = json.loads(stream.schema.metadata[METADATA])
            if sum(batch.num_rows for batch in stream) == about["rows"]:
                return about
    except (OSError, pa.ArrowException, ValueError, KeyError, TypeError) as error:
        raise UnreadableInput(str(path), "is damaged", GO_ON) from error
    raise UnreadableInput(str(path), "is damaged", GO_ON)


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


def write_whole(path: Path, data: bytes) -> None:
    """Write a file wholly or not at all.

    Raises
    ------
    UnreadableInput
        When it cannot be written.
    """
    draft = path.with_name(f"{path.name}{_DRAFT_ENDING}")
    try:
        with draft.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)
    except OSError as error:
        raise UnreadableInput(str(path), f"cannot be written ({error.strerror or error})") from error
