"""Which kind a file is, by what it holds and not by what it is called, and how each kind becomes rows."""

from __future__ import annotations

from email import message_from_bytes, policy
from email.message import EmailMessage
from pathlib import Path
from typing import NoReturn

from registry.errors import UnreadableFile
from registry.sheet_reader.files.keyed import rows_of_record
from registry.sheet_reader.files.markup import looks_like_html, rows_of_html
from registry.sheet_reader.files.pages import Pages
from registry.sheet_reader.files.recognition import with_recognised
from registry.sheet_reader.files.sandbox import Told, rows_apart
from registry.sheet_reader.files.text import decoded, rows_of_csv, rows_of_text
from registry.sheet_reader.rows import Document

MOST_BYTES = 60_000_000
MOST_TEXT_BYTES = 2_000_000
_WORKBOOKS = frozenset({".xlsx", ".xlsm"})
_TYPE_IN = "type the figures in with 'packclaim cells add --guided'"
_PICTURES = (b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"II*\x00", b"MM\x00*", b"RIFF", b"BM6")


def rows_of(path: Path, data: bytes, pages: Pages | None = None, told: Told | None = None) -> Document:
    """Return the rows of a file.

    Raises
    ------
    UnreadableFile
        When it cannot be read as any of the kinds; says what would help.
    """
    place = str(path)
    if not data.strip():
        raise UnreadableFile(place, "is empty")
    if b"%PDF-" in data[:1024]:
        return with_recognised(path, rows_apart(path, "PDF", pages, told), told)
    if data.startswith(b"PK\x03\x04"):
        return _packed(path, data, pages, told)
    _refuse_others(path, data)
    refuse_large(data, MOST_TEXT_BYTES, place)
    if path.suffix.lower() in {".eml", ".mht", ".mhtml"}:
        return _mail(data, place)
    if looks_like_html(data):
        return rows_of_html(decoded(data, place))
    text = decoded(data, place)
    record = None if path.suffix.lower() in {".csv", ".tsv"} else rows_of_record(text)
    if record is not None:
        return record
    return rows_of_csv(text) if path.suffix.lower() in {".csv", ".tsv"} else rows_of_text(text)


def refuse_large(data: bytes, most: int, place: str) -> None:
    """Raise `UnreadableFile` for more bytes than a sheet can have."""
    if len(data) > most:
        raise UnreadableFile(place, f"is larger than {most / 1e6:.0f} MB", "give the sheet alone")


def _packed(path: Path, data: bytes, pages: Pages | None, told: Told | None) -> Document:
    if path.suffix.lower() in _WORKBOOKS:
        return rows_apart(path, "workbook", pages, told)
    if path.suffix.lower() in {".docx", ".odt", ".pages"} or b"word/" in data[:4000]:
        raise UnreadableFile(str(path), "is a text document", "save it as PDF, or its table as text or CSV")
    raise UnreadableFile(str(path), "is a zip archive", "give the PDF, text, CSV or .xlsx file itself")


def _refuse_others(path: Path, data: bytes) -> None:
    place, ending = str(path), path.suffix.lower()
    if data.startswith(_PICTURES):
        raise UnreadableFile(place, "is a picture, which holds no text to read", _TYPE_IN)
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise UnreadableFile(
            place, "is an old office or mail file", "save it as PDF, .xlsx or text; save a mail's attachment"
        )
    if data.startswith(b"{\\rtf"):
        raise UnreadableFile(place, "is a formatted text document", "save it as PDF or plain text")
    if ending in {".pdf", *_WORKBOOKS}:
        raise UnreadableFile(place, f"is named {ending} and is something else", "save it anew")


def _mail(data: bytes, place: str) -> Document:
    """Return the rows of a mail's own text; a sheet that hangs on it is named."""
    message = message_from_bytes(data, policy=policy.default)
    if not isinstance(message, EmailMessage):
        _no_text(place)
    hanging = [name for part in message.iter_attachments() if (name := part.get_filename())]
    sheets = [n for n in hanging if n.lower().endswith((".pdf", ".xlsx", ".csv", ".txt", ".html"))]
    if sheets:
        raise UnreadableFile(
            place, "is a mail with attachments", f"save '{sheets[0][:80]}' and give that file"
        )
    body = message.get_body(("html", "plain"))
    if body is None:
        _no_text(place)
    text = str(body.get_content())
    return rows_of_html(text) if body.get_content_subtype() == "html" else rows_of_text(text)


def _no_text(place: str) -> NoReturn:
    raise UnreadableFile(place, "is a mail without text", "save its attachment and give that file")
