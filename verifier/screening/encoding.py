"""A table of text in whatever encoding it comes, as a stream of UTF-8.

Told by its byte order mark, by the NUL bytes of UTF-16, by being UTF-8, and last by what the library makes of
the lines that are not: Western Europe's cp1252, of which Latin-1 is a part, or China's GB 18030. A file that is
UTF-8 but for some broken bytes stays UTF-8: the rows that hold them say so.
"""

from __future__ import annotations

import codecs
import io
import re
from dataclasses import dataclass
from typing import BinaryIO

from verifier.errors import UnreadableInput

UTF_8 = "utf-8"
# Enough to meet a letter outside ASCII where there is one, little enough to hold.
_SAMPLE_BYTES = 4_000_000
_MOST_JUDGED = 60_000
_PIECE = 1 << 16
_MARKS = (
    (codecs.BOM_UTF8, UTF_8), (codecs.BOM_UTF32_LE, "utf-32"), (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"),
)  # fmt: skip
_LEGACY = ("cp1252", "gb18030")
_SEVERAL_BYTES = re.compile(rb"[\xc2-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}")
_ANY_HIGH = re.compile(rb"[\x80-\xff]+")


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
    found = encoding_of(sample) if encoding is None else _known(encoding)
    if found == UTF_8:
        return Decoded(_Joined(sample, source).buffered(), UTF_8, 1.0)
    text = sample.decode(found, errors="replace")
    ratio = len(text.encode()) / max(1, len(sample))
    return Decoded(_Recoded(sample, source, found).buffered(), found, ratio)


def _known(encoding: str) -> str:
    try:
        name = codecs.lookup(encoding).name
        "a".encode(name)
    except (LookupError, UnicodeError) as error:
        raise UnreadableInput(
            "--encoding", f"there is no '{encoding}'", "write utf-8, utf-16, cp1252 or gb18030"
        ) from error
    return name


def encoding_of(sample: bytes) -> str:
    """Return the encoding of a text by its first bytes."""
    for mark, name in _MARKS:
        if sample.startswith(mark):
            return name
    head = sample[:4000]
    nul = [head[parity::2].count(0) for parity in (0, 1)]
    if max(nul) > len(head) / 4 and min(nul) < max(nul) / 10:
        return "utf-16-le" if nul[1] > nul[0] else "utf-16-be"
    if sample.isascii():
        return UTF_8
    rest = _SEVERAL_BYTES.sub(b"", sample)
    right = len(_SEVERAL_BYTES.findall(sample))
    wrong = len(_ANY_HIGH.findall(rest))
    # The sample may end within a letter.
    if right and wrong <= max(1, right // 10):
        return UTF_8
    return _legacy(sample)


def _legacy(sample: bytes) -> str:
    from charset_normalizer import from_bytes

    lines = (line for line in sample.splitlines() if not line.isascii())
    judged = b"\n".join(lines)[:_MOST_JUDGED]
    best = from_bytes(judged, cp_isolation=list(_LEGACY)).best()
    return best.encoding if best is not None and best.encoding in _LEGACY else _LEGACY[0]


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
