"""A file as drafts for the registry: which models it holds, what each states, and why it is refused."""

from __future__ import annotations

import hashlib
import shlex
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from registry.errors import UnreadableFile
from registry.sheet_reader.continued import with_continued
from registry.sheet_reader.draft import DraftFigure, SheetDraft, SheetReading
from registry.sheet_reader.drafting import draft_from
from registry.sheet_reader.files.kinds import MOST_BYTES, refuse_large, rows_of
from registry.sheet_reader.files.pages import MOST_PAGES, Pages
from registry.sheet_reader.files.recognition import ADDED_WITH, can_recognise
from registry.sheet_reader.files.sandbox import Told
from registry.sheet_reader.flattened import with_conditions_beside
from registry.sheet_reader.flattened_models import with_flattened_models
from registry.sheet_reader.footnotes import raised_marks
from registry.sheet_reader.models import models_of, of_model, pack_doubt, pack_reason
from registry.sheet_reader.names import model_name
from registry.sheet_reader.note_columns import notes_by_name
from registry.sheet_reader.recognised import with_marks
from registry.sheet_reader.rows import Document
from registry.sheet_reader.spaced_columns import with_spaced_columns
from registry.sheet_reader.tables import plain_tables

FEWEST_FIGURES = 2
_TELLING = {
    "capacity", "max_continuous_discharge", "max_discharge_unspecified", "pulse_discharge", "max_charge",
    "charge_voltage", "cutoff_voltage", "standard_charge", "nominal_voltage", "ac_resistance",
}  # fmt: skip
_OF_BATTERIES = {"capacity", "charge_voltage", "cutoff_voltage", "nominal_voltage"}
_FEWEST_IN_ALL = 3
_BY_HAND = "packclaim cells add --guided"


def read_sheet(path: Path, pages: Pages | None = None, told: Told | None = None) -> SheetReading:
    """Read a spec sheet: PDF with text, plain text, CSV, .xlsx, a record of keys, a saved web page or mail.

    Parameters
    ----------
    path
        The file.
    pages
        Which pages are read; the first ones by default.
    told
        Called with the seconds gone while a slow file is read.

    Returns
    -------
    SheetReading
        A draft for each cell model; ``refused`` says why none can be stored, such as for a scan.

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
    refuse_large(data, MOST_BYTES, str(path))
    reading = read_document(rows_of(path, data, pages, told), path.name)
    return reading.model_copy(update={"file_sha256": hashlib.sha256(data).hexdigest()})


def read_document(document: Document, name: str) -> SheetReading:
    """Return the drafts that the rows of a document make, and the reason where they are of no single cell."""
    remarks = document.remarks
    remarks = (*remarks, *_of_pictures(document))
    if not document.keyed:
        document = with_flattened_models(document)
        rows = with_conditions_beside(with_spaced_columns(with_continued(document.rows)))
        document = replace(document, rows=tuple(rows))
    document = raised_marks(notes_by_name(document))
    models = models_of(document)
    document = plain_tables(document)
    if isinstance(models, str):
        return SheetReading(file=name, refused=models, next=_read_alone(name), remarks=remarks)
    if not models:
        model = model_name(document)
        document, left_out = of_model(document, model)
        remarks = (*remarks, *left_out)
        models = [(model.name, document)]
        drafts = [with_marks(draft_from(model.name, document, model_confirm=model.doubtful), document)]
    else:
        drafts = [with_marks(draft_from(model, part), part) for model, part in models]
        unsure = next((part.unsure for _, part in models), "")
        drafts = [_all_marked(each, unsure) for each in drafts] if unsure else drafts
    reason, following = _refusal(document, drafts, name)
    if reason is None and (doubt := _doubt(document, drafts)):
        drafts = [_all_marked(each, doubt) for each in drafts]
    if reason is None:
        return SheetReading(file=name, drafts=tuple(drafts), remarks=remarks)
    held = tuple(marked for each in drafts if (marked := _all_marked(each, "the file was refused")).figures)
    return SheetReading(file=name, refused=reason, next=following, drafts=held, remarks=remarks)


def _of_pictures(document: Document) -> Iterator[str]:
    """Yield what is told of the pages that are pictures."""
    plain = [page for page in document.scanned if page not in document.recognised]
    if plain:
        pages = ", ".join(str(page) for page in plain[:12])
        yield f"page {pages}: no text there, only pictures or drawings; look yourself"
    if document.recognised:
        pages = ", ".join(map(str, document.recognised))
        yield f"page {pages}: a picture, its letters recognised; compare every figure with the page"


def _read_alone(name: str) -> str:
    return f"packclaim cells read-sheet {shlex.quote(name)}, with each model in a file of its own"


def _refusal(document: Document, drafts: list[SheetDraft], name: str) -> tuple[str | None, str | None]:
    """Return why a document is no sheet of a cell, and the next command, or ``None`` twice."""
    if document.scanned and not any(draft.figures for draft in drafts):
        return _why_no_picture(document), _BY_HAND
    reason = pack_reason(document, drafts)
    if reason:
        return reason, f"packclaim check {shlex.quote(name)}"
    few = _are_few(drafts)
    if few and document.unread:
        first = max((row.page or 0 for row in document.rows), default=document.pages - document.unread) + 1
        return (
            "hardly any figure of a cell was found on the pages that were read"
        ), f"packclaim cells read-sheet {shlex.quote(name)} --pages {first}-{first + MOST_PAGES - 1}"
    if few and not _may_be_a_cell(drafts):
        return (
            f"this does not read like a cell's spec sheet: hardly any figure of a cell was found; if it is "
            f"one, type the figures in with '{_BY_HAND}'"
        ), _BY_HAND
    return None, None


def _doubt(document: Document, drafts: list[SheetDraft]) -> str | None:
    """Return why every figure of a document that is not refused is to be confirmed, or ``None``."""
    if _are_few(drafts):
        return "hardly any other figure of a cell was found in the file"
    return pack_doubt(document)


def _are_few(drafts: list[SheetDraft]) -> bool:
    telling = sum(len({each.figure for each in draft.figures} & _TELLING) for draft in drafts)
    return telling < FEWEST_FIGURES


def _may_be_a_cell(drafts: list[SheetDraft]) -> bool:
    """Whether the few figures of a document are those of a cell: one that only a battery has, and others."""
    found = {each.figure for draft in drafts for each in draft.figures}
    return bool(found & _OF_BATTERIES) and len(found) >= _FEWEST_IN_ALL


def _why_no_picture(document: Document) -> str:
    """Return why nothing was read from pages that are pictures, and what helps."""
    if document.recognised:
        return f"no figure of a cell was recognised on pages that are pictures; type the figures in with '{_BY_HAND}'"
    why = (
        "the pages are pictures without a text layer, so nothing can be read from them safely; type "
        f"the figures in with '{_BY_HAND}'"
    )
    return (
        why
        if can_recognise()
        else f"{why}, or have their letters recognised, which is added with: {ADDED_WITH}"
    )


def _all_marked(draft: SheetDraft, why: str) -> SheetDraft:
    figures = tuple(_marked(each, why) for each in draft.figures)
    return draft.model_copy(update={"figures": figures, "not_stated": (), "model_confirm": True})


def _marked(figure: DraftFigure, why: str) -> DraftFigure:
    why = "; ".join(filter(None, (figure.why_confirm, why)))
    return figure.model_copy(update={"confirm": True, "why_confirm": why})
