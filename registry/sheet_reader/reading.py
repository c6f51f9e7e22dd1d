"""A file as drafts for the registry: which kind of file it is, which models, and why it is refused."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from pathlib import Path

from registry.errors import UnreadableFile
from registry.sheet_reader.apart import rows_apart
from registry.sheet_reader.draft import SheetDraft, SheetReading
from registry.sheet_reader.drafting import draft_from
from registry.sheet_reader.models import model_name, models_of, pack_reason
from registry.sheet_reader.rows import Document, Row
from registry.sheet_reader.statements import statements
from registry.sheet_reader.text_files import decoded, rows_of_csv, rows_of_text

MOST_BYTES = 60_000_000
MOST_TEXT_BYTES = 2_000_000
FEWEST_FIGURES = 2
_TELLING = {
    "capacity", "max_continuous_discharge", "max_discharge_unspecified", "pulse_discharge", "max_charge",
    "charge_voltage", "cutoff_voltage", "standard_charge", "nominal_voltage", "ac_resistance",
}  # fmt: skip


def read_sheet(path: Path) -> SheetReading:
    """Read a spec sheet: PDF with a text layer, plain text, CSV or .xlsx.

    Returns
    -------
    SheetReading
        A draft for each cell model; ``refused`` says why none could be made, such as for a scan.

    Raises
    ------
    UnreadableFile
        When the file is missing, damaged, encrypted, not of these kinds, or takes too long.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise UnreadableFile(str(path), f"cannot be read ({error.strerror})") from error
    _refuse_large(data, MOST_BYTES, str(path))
    digest = hashlib.sha256(data).hexdigest()
    document = rows_of(path, data)
    reading = read_document(document, path.name)
    return reading.model_copy(update={"file_sha256": digest})


def _refuse_large(data: bytes, most: int, place: str) -> None:
    if len(data) > most:
        raise UnreadableFile(place, f"is larger than {most / 1e6:.0f} MB", "give the sheet alone")


def rows_of(path: Path, data: bytes) -> Document:
    """Return the rows of a file by what it holds, not by what it is called.

    Raises
    ------
    UnreadableFile
        When it cannot be read as any of the kinds.
    """
    place = str(path)
    if not data.strip():
        raise UnreadableFile(place, "is empty")
    if b"%PDF-" in data[:1024]:
        return rows_apart(path, "PDF")
    if data.startswith(b"PK\x03\x04"):
        if path.suffix.lower() not in {".xlsx", ".xlsm"}:
            raise UnreadableFile(place, "is a zip archive", "give the PDF, text, CSV or .xlsx file itself")
        return rows_apart(path, "workbook")
    if data.startswith((b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"II*\x00", b"MM\x00*")):
        raise UnreadableFile(
            place,
            "is a picture, which holds no text to read",
            "type the figures in with 'packclaim cells add --guided'",
        )
    if path.suffix.lower() in {".pdf", ".xlsx", ".xlsm"}:
        raise UnreadableFile(place, f"is named {path.suffix.lower()} and is something else", "save it anew")
    _refuse_large(data, MOST_TEXT_BYTES, place)
    text = decoded(data, place)
    return rows_of_csv(text) if path.suffix.lower() in {".csv", ".tsv"} else rows_of_text(text)


def read_document(document: Document, name: str) -> SheetReading:
    """Return the drafts that the rows of a document make, or the reason why there are none."""

    def refuse(reason: str) -> SheetReading:
        return SheetReading(file=name, refused=reason, remarks=remarks)

    remarks = document.remarks
    if document.scanned:
        pages = ", ".join(str(page) for page in document.scanned[:12])
        if len(document.scanned) == min(document.pages, 60) or not document.rows:
            return refuse(
                "the pages are pictures without a text layer, so nothing can be read from them safely; type "
                "the figures in with 'packclaim cells add --guided'"
            )
        remarks = (*remarks, f"page {pages}: no text there, only pictures or drawings; look yourself")
    reason = pack_reason(document)
    if reason:
        return refuse(reason)
    models = models_of(document)
    if isinstance(models, str):
        return refuse(models)
    drafts = [_draft(model, part) for model, part in models or [(model_name(document), document)]]
    if sum(_telling(draft) for draft in drafts) < FEWEST_FIGURES:
        return refuse("this does not read like a cell's spec sheet: hardly any figure of a cell was found")
    for draft in drafts:
        for figure in draft.figures:
            if figure.figure == "nominal_voltage" and figure.value is not None and figure.value > 5:
                return refuse(
                    "this is the sheet of a pack, not of a cell: nominal voltage "
                    f"'{figure.as_printed}'; only cells are registered"
                )
    return SheetReading(file=name, drafts=tuple(drafts), remarks=remarks)


def _draft(model: str, document: Document) -> SheetDraft:
    return draft_from(model, statements(document), _quoted(document.rows))


def _quoted(rows: Sequence[Row]) -> Sequence[Row]:
    return [row for row in rows if re.search(r"\d", row.quote)]


def _telling(draft: SheetDraft) -> int:
    return len({each.figure for each in draft.figures} & _TELLING)
