"""The photos of cases: kept beside them under names of our own, drawn anew, and gone when they are taken away.

Photos that somebody has named in a case file by hand are shown too; their files are left alone.
"""

from __future__ import annotations

import re
import secrets
from collections import OrderedDict
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Any

from registry.files import write_file
from verifier import CaseFile, value_at, with_field
from verifier.errors import UnreadableInput
from verifier.page.cases import Cases, slug
from verifier.report.photos import MOST_PHOTOS, cleaned, inside

FOLDER = "photos"
_FIELD = "case.photos"
_OURS = re.compile(rf"{FOLDER}/[a-z0-9-]+\.jpg")
# Photos that were taken away while the page runs, for undo: some 0.5 MB each.
_MOST_REMEMBERED = 60


class Photos:
    """The photos of the cases of a folder."""

    def __init__(self, cases: Cases) -> None:
        self._cases, self._gone = cases, OrderedDict[str, bytes]()

    def of(self, name: str) -> list[str]:
        """Return the photos that a case names, as it names them."""
        return named_photos(self._cases.open(name).data)

    def picture(self, name: str, number: int) -> bytes:
        """Return a photo of a case as JPEG. Raises ``UnreadableInput`` where it has none of that number or file."""
        named = self.of(name)
        if number >= len(named):
            raise UnreadableInput("photo", "is there no longer")
        path = inside(named[number], self._cases.folder)
        if not path.is_file():
            raise UnreadableInput(f"photo {named[number]}", "is not in the folder of the cases")
        # Only our own are known to hold nothing but their pixels.
        return path.read_bytes() if _OURS.fullmatch(named[number]) else cleaned(path, named[number])

    def add(self, name: str, photos: Sequence[tuple[str, Path]]) -> None:
        """Keep photos, each given by what it is called and where it lies, and name them in a case.

        Raises
        ------
        UnreadableInput
            If one is no photo, or there are too many: then none is kept.
        """
        _room(self.of(name), len(photos))
        drawn = [cleaned(path, shown) for shown, path in photos]
        kept = [f"{FOLDER}/{slug(Path(name).stem)}-{secrets.token_hex(4)}.jpg" for _ in drawn]
        (self._cases.folder / FOLDER).mkdir(exist_ok=True)
        try:
            for each, data in zip(kept, drawn, strict=True):
                write_file(self._cases.folder / each, data)
            self._cases.edit(name, partial(_with, kept))
        except BaseException:
            self._unlink(kept)
            raise

    def take_away(self, name: str, photo: str) -> None:
        """Take a photo out of a case; a file of our own is deleted where no other case names it."""
        self._cases.edit(name, partial(_without, photo))
        self._delete(photo)

    def follow(self, before: Sequence[str], after: Sequence[str]) -> None:
        """Let the files follow a change that was undone: bring back what is named again, delete what is not."""
        for photo in set(after) - set(before):
            path = self._cases.folder / photo
            if photo in self._gone and not path.exists():
                write_file(path, self._gone.pop(photo))
        for photo in set(before) - set(after):
            self._delete(photo)

    def _delete(self, photo: str) -> None:
        path = self._cases.folder / photo
        if not _OURS.fullmatch(photo) or not path.is_file() or self._cases.mention(photo):
            return
        self._gone[photo] = path.read_bytes()
        while len(self._gone) > _MOST_REMEMBERED:
            self._gone.popitem(last=False)
        self._unlink([photo])

    def _unlink(self, photos: Sequence[str]) -> None:
        for each in photos:
            (self._cases.folder / each).unlink(missing_ok=True)


def named_photos(data: dict[str, Any]) -> list[str]:
    """Return the photos that the data of a case name."""
    found = value_at(data, _FIELD)
    return [] if found is None else list(found)


def _room(named: Sequence[str], more: int) -> None:
    if len(named) + more > MOST_PHOTOS:
        raise UnreadableInput(
            "photos", f"{len(named)} are there, and {more} more make too many",
            f"a printed page has room for {MOST_PHOTOS}; take one away first",
        )  # fmt: skip


def _with(kept: Sequence[str], file: CaseFile) -> dict[str, Any]:
    named = named_photos(file.data)
    _room(named, len(kept))
    return with_field(file.data, _FIELD, [*named, *kept])


def _without(photo: str, file: CaseFile) -> dict[str, Any]:
    named = [each for each in named_photos(file.data) if each != photo]
    return with_field(file.data, _FIELD, named if named else None)
