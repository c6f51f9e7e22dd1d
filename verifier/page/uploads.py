"""Files from a browser: kept in a folder of our own under names of our own while they are read, then gone."""

from __future__ import annotations

import secrets
import tempfile
import threading
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from shutil import copyfileobj
from typing import Generic, TypeVar

from starlette.datastructures import FormData, UploadFile

from registry.errors import ManyProblems, PlacedError
from verifier.errors import UnreadableInput

Kept = TypeVar("Kept")


def file_in(form: FormData) -> UploadFile:
    """Return the file of a form. Raises ``UnreadableInput`` when none was chosen."""
    file = form.get("file")
    if not isinstance(file, UploadFile) or not file.filename:
        raise UnreadableInput("file", "none was chosen", "choose one, or drop it on the field")
    return file


def files_in(form: FormData) -> list[UploadFile]:
    """Return the files of a form in which several may be chosen. Raises ``UnreadableInput`` when none was."""
    chosen = [each for each in form.getlist("file") if isinstance(each, UploadFile) and each.filename]
    return chosen if chosen else [file_in(form)]


def ending_of(file: UploadFile, known: Sequence[str]) -> str:
    """Return the ending of a file's name if it is one of those known, else the first of them."""
    ending = PurePosixPath(str(file.filename).replace("\\", "/")).suffix.lower()
    return ending if ending in known else known[0]


def shown_name(file: UploadFile) -> str:
    """Return the last part of a file's name, to be shown; it names no file here."""
    return PurePosixPath(str(file.filename).replace("\\", "/")).name[:100]


def save(file: UploadFile, folder: Path, known: Sequence[str]) -> Path:
    """Write a file into a folder under a name of our own, with an ending that says how it is read."""
    path = folder / f"upload{ending_of(file, known)}"
    with path.open("wb") as target:
        copyfileobj(file.file, target)
    return path


@contextmanager
def held(form: FormData, known: Sequence[str]) -> Iterator[Path]:
    """Hold the file of a form on disk for as long as it is read."""
    with tempfile.TemporaryDirectory(prefix="packclaim-") as folder:
        yield save(file_in(form), Path(folder), known)


@contextmanager
def told_as(path: Path, shown: str) -> Iterator[None]:
    """Let what is wrong with a file be told by what its sender calls it, and not by where it lies here."""
    try:
        yield
    except PlacedError as error:
        for each in (error, *(error.problems if isinstance(error, ManyProblems) else ())):
            each.place = each.place.replace(str(path), shown)
        raise


class Shelf(Generic[Kept]):
    """Things that a browser comes back for, by a name nobody can guess; the oldest go when there are too many."""

    def __init__(self, most: int) -> None:
        self._most, self._kept, self._lock = most, OrderedDict[str, Kept](), threading.Lock()

    def put(self, thing: Kept) -> str:
        """Keep a thing and return its name."""
        name = secrets.token_urlsafe(12)
        with self._lock:
            self._kept[name] = thing
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return name

    def get(self, name: str) -> Kept:
        """Return a thing. Raises ``UnreadableInput`` where it is there no longer."""
        with self._lock:
            if name not in self._kept:
                raise UnreadableInput("file", "is there no longer", "drop it once more")
            return self._kept[name]

    def drop(self, name: str) -> None:
        """Let a thing go."""
        with self._lock:
            self._kept.pop(name, None)
