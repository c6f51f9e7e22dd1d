"""The text of a listing as people save it: plain text, a page, a mail, a word processor's file."""

from __future__ import annotations

import email
import email.policy
import io
import re
import zipfile
from email.message import EmailMessage
from xml.etree.ElementTree import ParseError, iterparse

from registry.input_bounds import LISTING, LISTING_FILE
from registry.text_encoding import encoding_of
from verifier.errors import UnreadableInput
from verifier.listing.source import looks_like_html

_LARGEST_PART = 5_000_000
_WORD = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
_BREAKS = {"tab": "\t", "tc": "\t", "br": "\n", "tr": "\n"}
_MAIL = re.compile(r"(?:[A-Z][A-Za-z\-]{1,40}: .*\r?\n(?:[ \t].*\r?\n)*){3,}\r?\n")
_MAIL_FIELDS = ("from", "subject", "date", "to", "mime-version", "content-type")
_BINARY = (
    (b"%PDF", "is a PDF", "copy its text and paste it, or save it as a text file"),
    (b"\xff\xd8\xff", "is a picture", "type or paste the words that stand on it"),
    (b"\x89PNG", "is a picture", "type or paste the words that stand on it"),
    (b"GIF8", "is a picture", "type or paste the words that stand on it"),
    (b"RIFF", "is a picture or a recording", "type or paste the words"),
    (b"\xd0\xcf\x11\xe0", "is an old word processor's or spreadsheet's file", "save it as text or .docx"),
    (b"{\\rtf", "is an RTF file", "save it as text or .docx"),
)


def listing_text(data: bytes, place: str) -> str:
    """Return the text of a listing's file.

    Parameters
    ----------
    data : bytes
        Text in whatever encoding (see `registry.text_encoding`), a page saved as HTML, a mail, or a .docx file.
    place : str
        What to call the file in messages.

    Raises
    ------
    UnreadableInput
        For anything else, with what would help, and for a text longer than any listing.
    """
    if len(data) > LISTING_FILE.most:
        raise UnreadableInput(place, f"is larger than {LISTING_FILE}", LISTING_FILE.why)
    for start, what, remedy in _BINARY:
        if data.startswith(start):
            raise UnreadableInput(place, what, remedy)
    text = _docx(data, place) if data.startswith(b"PK") else _mail(_decoded(data, place))
    refuse_too_long(text, place)
    return text


def refuse_too_long(text: str, place: str) -> None:
    """Refuse a text longer than any listing; a page has more letters than words."""
    if len(text) > (20 * LISTING.most if looks_like_html(text) else LISTING.most):
        raise UnreadableInput(place, f"is longer than {LISTING}", "give the part that describes the pack")


def _decoded(data: bytes, place: str) -> str:
    encoding = encoding_of(data)
    if encoding is None:
        raise UnreadableInput(
            place, "is no text", "give the listing's text, a saved page, a mail or a .docx file"
        )
    return data.decode(encoding, errors="replace").removeprefix("\ufeff")


def _mail(text: str) -> str:
    """Return the words of a mail, and any other text as it is."""
    if _MAIL.match(text[:20_000]) is None:
        return text
    message = email.message_from_string(text, policy=email.policy.default)
    if sum(name in message for name in _MAIL_FIELDS) < 3 or not isinstance(message, EmailMessage):
        return text
    body = message.get_body(("plain", "html"))
    if body is None:
        return text
    try:
        words = str(body.get_content())
    except (LookupError, ValueError, KeyError):
        return text
    subject = str(message.get("subject", "")).strip()
    # The subject says what it is about; a page's own title stands in the page.
    return words if looks_like_html(words) or not subject else f"{subject}\n\n{words}"


def _docx(data: bytes, place: str) -> str:
    """Return the paragraphs of a word processor's file, a tab between the cells of a row."""
    remedy = "save it as a text file, or copy its text and paste it"
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            part = archive.getinfo("word/document.xml")
            if part.file_size > _LARGEST_PART:
                raise UnreadableInput(
                    place, "holds more than 5 MB of text", "give the part that describes the pack"
                )
            document = archive.read(part)
    except (zipfile.BadZipFile, KeyError, OSError, RuntimeError, NotImplementedError, ValueError) as error:
        raise UnreadableInput(place, "is a zip archive or a file of another program", remedy) from error
    try:
        return "".join(_words_of(document))
    except ParseError as error:
        raise UnreadableInput(place, "is a damaged .docx file", remedy) from error


def _words_of(document: bytes) -> list[str]:
    # A document type definition can make a short file endless; a word processor writes none.
    if b"<!DOCTYPE" in document or b"<!ENTITY" in document:
        raise ParseError("a document type definition")
    words: list[str] = []
    cells = 0
    # Without a document type definition there are no entities to expand.
    for event, element in iterparse(io.BytesIO(document), ("start", "end")):  # noqa: S314
        name = element.tag.removeprefix(_WORD)
        if event == "start":
            cells += name == "tc"
            continue
        cells -= name == "tc"
        if name == "t":
            words.append(element.text or "")
        elif name == "p":
            words.append(" " if cells else "\n")
        else:
            words.append(_BREAKS.get(name, ""))
    return words
