"""Whether the text of pictures can be recognised here, and a document with what was recognised on its pages."""

from __future__ import annotations

from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path

from registry.errors import UnreadableFile
from registry.sheet_reader.files.pages import Pages
from registry.sheet_reader.files.sandbox import Told, rows_apart
from registry.sheet_reader.rows import Document

LIBRARIES = ("rapidocr", "onnxruntime")
"""What the extra `ocr` brings; the models that recognise are in the first one's wheel."""
ADDED_WITH = 'pip install "packclaim[ocr]"'
"""How the extra is added. These quotes are right in every shell."""
MOST_PAGES = 12
"""So many pages are recognised at once: each takes seconds."""


def can_recognise() -> bool:
    """Whether the libraries of the extra are installed."""
    return all(find_spec(name) is not None for name in LIBRARIES)


def with_recognised(path: Path, document: Document, told: Told | None = None) -> Document:
    """Return the document of a PDF with the rows that are recognised on its pages without text, if that can be done.

    Such pages stay ``scanned``: what they state may be read from them, and never be said to be missing.
    """
    if not document.scanned or not can_recognise():
        return document
    wanted = document.scanned[:MOST_PAGES]
    left = len(document.scanned) - len(wanted)
    remarks = document.remarks
    if left:
        remarks += (
            f"{left} more pages are pictures; name them with --pages, {MOST_PAGES} at most are recognised at once",
        )
    try:
        found = rows_apart(
            path, "scan", Pages(tuple((number, number) for number in wanted), named=True), told
        )
    except UnreadableFile as error:
        return replace(
            document, remarks=(*remarks, f"the pages that are pictures were not recognised: {error.found}")
        )
    rows = sorted((*document.rows, *found.rows), key=lambda row: row.page or 0)
    running = dict.fromkeys((*document.running, *found.running))
    return replace(
        document, rows=tuple(rows), recognised=found.recognised, running=tuple(running), remarks=remarks
    )
