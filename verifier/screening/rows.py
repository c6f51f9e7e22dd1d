"""Rows of a table of listings: raw in chunks where the file is read, by column where they are judged."""

from __future__ import annotations

import hashlib
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Any, BinaryIO

from registry.input_bounds import CHUNK, ROW
from verifier.errors import UnreadableInput

BOM = b"\xef\xbb\xbf"
CHUNK_ROWS = 20_000
# The first chunks are small, so that a run can tell at once how fast it goes.
FIRST_ROWS = 100
LONGEST_ROW = ROW.most
TOO_LONG = f"the row is longer than {ROW}"
HOLDS_NUL = "the row holds a NUL character"
LARGEST_CHUNK = CHUNK.most


@dataclass(frozen=True, slots=True)
class Chunk:
    """Consecutive rows as the file holds them, not read yet.

    ``raw`` is whatever the table's ``read`` takes. ``share`` is the part of the input that the chunk is; None
    where the end of the input is not known.
    """

    number: int
    first_row: int
    rows: int
    raw: Any
    share: float | None

    @property
    def digest(self) -> str:
        """SHA-256 of the rows, in hexadecimal."""
        raw = self.raw.serialize() if hasattr(self.raw, "serialize") else b"".join(self.raw)
        return hashlib.sha256(raw).hexdigest()


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows by column, and for each row what made it unreadable; all of one length."""

    columns: dict[str, list[Any]]
    faults: list[str | None]


class Lines:
    """The lines of a stream as bytes. Of a line that is too long, only enough to tell."""

    def __init__(self, stream: BinaryIO, place: str) -> None:
        self.position = 0
        self._stream = stream
        self._place = place
        self._ahead: deque[tuple[bytes, int]] = deque()
        self._begun = False

    def ahead(self) -> bytes:
        """Return the next line without taking it."""
        return next(iter(self.several_ahead(1)), b"")

    def several_ahead(self, count: int) -> list[bytes]:
        """Return the next lines without taking them, at most `count`."""
        while len(self._ahead) < count and (found := self._read())[0]:
            self._ahead.append(found)
        return [line for line, _ in islice(self._ahead, count)]

    def next(self) -> bytes:
        """Return the next line with its end, or nothing at the end of the stream.

        Raises
        ------
        UnreadableInput
            When the stream fails.
        """
        line, size = self._ahead.popleft() if self._ahead else self._read()
        self.position += size
        return line

    def _read(self) -> tuple[bytes, int]:
        """Return a line, and how many bytes it takes in the stream."""
        line = self._part(LONGEST_ROW + 1)
        size = len(line)
        if len(line) > LONGEST_ROW and not line.endswith(b"\n"):
            rest = b" "
            while rest and not rest.endswith(b"\n"):
                rest = self._part(LONGEST_ROW)
                size += len(rest)
        first, self._begun = not self._begun, True
        return (line.removeprefix(BOM) if first else line), size

    def _part(self, most: int) -> bytes:
        try:
            return self._stream.readline(most)
        except OSError as error:
            raise UnreadableInput(self._place, f"cannot be read ({error.strerror or error})") from error


def chunk_sizes(most: int) -> Iterator[int]:
    """Yield how many rows each chunk has: few at first, then ten times as many each time, up to the most."""
    size = min(most, FIRST_ROWS)
    while True:
        yield size
        size = min(most, 10 * size)


def in_chunks(
    records: Iterable[bytes], rows: int, total: int | None
) -> Iterator[tuple[list[bytes], float | None]]:
    """Yield records in chunks of at most `rows`, each with the part of the `total` bytes that it holds itself.

    What was read ahead of it is no part of it: nobody has judged that yet.
    """
    held: list[bytes] = []
    sizes = chunk_sizes(rows)
    size, most = 0, next(sizes)
    for record in records:
        held.append(record)
        size += len(record)
        if len(held) == most or size >= LARGEST_CHUNK:
            yield held, _share(size, total)
            held, size, most = [], 0, next(sizes)
    if held:
        yield held, _share(size, total)


def _share(size: int, total: int | None) -> float | None:
    return size / total if total else None
