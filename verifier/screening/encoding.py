"""A table of text in whatever encoding it comes, as a stream of UTF-8.

What it is encoded in, `registry.text_encoding` tells. A file that is UTF-8 but for some broken bytes stays UTF-8: the
rows that hold them say so.
"""

from __future__ import annotations

import codecs
import io
from dataclasses import dataclass
from typing import BinaryIO

from registry.text_encoding import UTF_8, encoding_of
from verifier.errors import UnreadableInput

# Enough to meet a letter outside ASCII where there is one, little enough to hold.
_SAMPLE_BYTES = 4_000_000
_PIECE = 1 << 16


@dataclass(frozen=True, slots=True)
class Decoded:
    """A stream of UTF-8, what it was encoded in, and how many bytes of it one byte of the source makes."""

    stream: BinaryIO
    encoding: str
    ratio: float


def decoded(source: BinaryIO, place: str, encoding: str | None = None) -> Decoded:
    """Return a stream as UTF-8.

    Parameters
    ----------
    source : binary file
        Read from where it stands; it need not be able to go back.
    place : str
        What to call it in messages.
    encoding : str, optional
        What it is said to be encoded in; found out where it is left out.

    Raises
    ------
    UnreadableInput
        When it cannot be read, or there is no such encoding.
    """
    try:
        sample = source.read(_SAMPLE_BYTES)
    except OSError as error:
        raise UnreadableInput(place, f"cannot be read ({error.strerror or error})") from error
    found = _found(sample) if encoding is None else _known(encoding)
    if found == UTF_8:
        return Decoded(_Joined(sample, source).buffered(), UTF_8, 1.0)
    text = sample.decode(found, errors="replace")
    ratio = len(text.encode()) / max(1, len(sample))
    return Decoded(_Recoded(sample, source, found).buffered(), found, ratio)


def _found(sample: bytes) -> str:
    """Return the encoding of a table by its first bytes; UTF-8 where they tell none, and its rows say what is wrong."""
    found = encoding_of(sample)
    return UTF_8 if found is None or found == "utf-8-sig" else found


def _known(encoding: str) -> str:
    try:
        name = codecs.lookup(encoding).name
        "a".encode(name)
    except (LookupError, UnicodeError) as error:
        raise UnreadableInput(
            "--encoding", f"there is no '{encoding}'", "write utf-8, utf-16, cp1252 or gb18030"
        ) from error
    return name


class _Joined(io.RawIOBase):
    """What was read ahead of a stream, and the rest of it."""

    def __init__(self, ahead: bytes, source: BinaryIO) -> None:
        self._held, self._source = memoryview(ahead), source

    def buffered(self) -> BinaryIO:
        return io.BufferedReader(self, _PIECE)

    def readable(self) -> bool:
        return True

    def readinto(self, room: bytearray | memoryview) -> int:  # type: ignore[override]
        """Fill a buffer; the base class reads through it."""
        if not self._held:
            self._held = memoryview(self._more(len(room)))
        taken = self._held[: len(room)]
        room[: len(taken)] = taken
        self._held = self._held[len(taken) :]
        return len(taken)

    def _more(self, size: int) -> bytes:
        return self._source.read(size)


class _Recoded(_Joined):
    """A stream in another encoding, as UTF-8; a byte that is none of its letters is marked as replaced."""

    def __init__(self, ahead: bytes, source: BinaryIO, encoding: str) -> None:
        # What cp1252 leaves open, Latin-1 knows.
        self._decoder = codecs.getincrementaldecoder(encoding)(errors="replace")
        self._ended = False
        super().__init__(self._decoder.decode(ahead).encode(), source)

    def _more(self, size: int) -> bytes:
        while not self._ended:
            raw = self._source.read(_PIECE)
            self._ended = not raw
            if text := self._decoder.decode(raw, final=self._ended):
                return text.encode()
        return b""
