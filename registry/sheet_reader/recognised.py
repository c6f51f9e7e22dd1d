"""Figures that were recognised in a picture of their page: each to be confirmed, with its place on the page."""

from __future__ import annotations

from registry.sheet_reader.draft import DraftFigure, SheetDraft, as_text
from registry.sheet_reader.footnotes import footnotes_of
from registry.sheet_reader.rows import Document, Row

WHY = "its letters were recognised in a picture of the page; compare it with the page"


def with_marks(draft: SheetDraft, document: Document) -> SheetDraft:
    """Return a draft whose every figure that may rest on a recognised page is marked, with its place there.

    Parameters
    ----------
    draft
        What was read of a document.
    document
        The document, its recognised rows with their places.
    """
    if not document.recognised:
        return draft
    rows = [row for row in document.rows if row.place is not None]
    told = _tells_others(document)
    figures = tuple(
        _marked(each, rows) if told or each.page in document.recognised or each.derived_from else each
        for each in draft.figures
    )
    return draft.model_copy(update={"figures": figures, "model_confirm": True})


def _tells_others(document: Document) -> bool:
    """Whether a note on a recognised page is of figures elsewhere."""
    notes, _ = footnotes_of(document)
    printed = Document(tuple(row for row in document.rows if row.place is None))
    return notes != footnotes_of(printed)[0] and len(printed.rows) > 0


def _marked(figure: DraftFigure, rows: list[Row]) -> DraftFigure:
    why = "; ".join(filter(None, (figure.why_confirm, WHY)))
    place = _place(figure, rows)
    return figure.model_copy(update={"confirm": True, "why_confirm": why, "place": place})


def _place(figure: DraftFigure, rows: list[Row]) -> tuple[float, float] | None:
    """Return top and bottom of the lines that a figure was read from, in parts of the page's height."""
    quote = figure.quote or ""
    on_page = [row for row in rows if row.page == figure.page]
    quoted = [row for row in on_page if as_text(row.quote) == quote]
    quoted = quoted or [row for row in on_page if row.quote.strip() and as_text(row.quote) in quote]
    places = [row.place for row in quoted if row.place is not None]
    return (min(top for top, _ in places), max(bottom for _, bottom in places)) if places else None
