"""A datasheet: dropped, read in the sandbox, shown figure beside quote and page, confirmed or mended, stored."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from registry.chemistry import CHEMISTRIES
from registry.errors import ManyProblems, Noted, PlacedError
from registry.sheet_figures import UNITS_READ
from registry.sheet_reader.deciding import missing_of_a_cell
from registry.sheet_reader.files.page_pictures import SheetPictures
from verifier import (
    Decision,
    SheetDraft,
    SheetReading,
    Store,
    cell_with_sheet,
    decided_sheet,
    read_sheet,
    sheet_pictures,
)
from verifier.page.rendering import render
from verifier.page.sheet_pages import NO_PICTURES, marked_page, marks_of
from verifier.page.uploads import Shelf, file_in, save, shown_name, told_as
from verifier.page.views.cells import author, login_name

ENDINGS = (".txt", ".pdf", ".csv", ".tsv", ".xlsx", ".xlsm", ".html", ".htm", ".eml", ".mht", ".mhtml")
_EVIDENCE = ("maker", "own_test", "reseller", "secondhand")
_ABOUT = ("evidence", "title", "revision", "date")
_IDENTITY = ("maker", "model", "size", "chemistry")


@dataclass(frozen=True, slots=True)
class Dropped:
    """A datasheet that was read and is not stored yet, with a picture of each quoted line and of its page."""

    name: str
    reading: SheetReading
    pictures: SheetPictures


def shelf_of(request: Request) -> Shelf[Dropped]:
    """Return the datasheets that wait to be looked at."""
    shelf: Shelf[Dropped] = request.app.state.sheets
    return shelf


def drop(request: Request, form: FormData) -> Response:
    """Read a datasheet; nothing is stored."""
    file = file_in(form)
    with tempfile.TemporaryDirectory(prefix="packclaim-") as folder:
        path = save(file, Path(folder), ENDINGS)
        with told_as(path, shown_name(file)):
            reading = read_sheet(path)
        figures = [each for draft in reading.drafts for each in draft.figures]
        quoted = [
            (each.page, each.quote) for each in figures if each.page is not None and each.quote is not None
        ]
        spans = {
            (each.page, each.quote): each.place
            for each in figures
            if each.page is not None and each.quote is not None and each.place is not None
        }
        pictures = sheet_pictures(path, quoted, spans) if path.suffix == ".pdf" and quoted else NO_PICTURES
    name = shelf_of(request).put(Dropped(shown_name(file), reading, pictures))
    return RedirectResponse(f"/cells/sheets/{name}/0", 303)


def draft(request: Request) -> Response:
    """Show what was read of one model of a datasheet."""
    return _page(request)


def _draft(request: Request) -> tuple[Dropped, SheetDraft | None, int]:
    dropped = shelf_of(request).get(request.path_params["name"])
    number = request.path_params["number"]
    if not dropped.reading.drafts:
        return dropped, None, 0
    if number >= len(dropped.reading.drafts):
        raise HTTPException(404)
    return dropped, dropped.reading.drafts[number], number


def _page(request: Request, form: FormData | None = None, error: PlacedError | None = None) -> Response:
    dropped, read, number = _draft(request)
    problems = error.problems if isinstance(error, ManyProblems) else [error] if error is not None else []
    typed: dict[str, Any] = {name: str(value) for name, value in form.items()} if form is not None else {}
    registry = request.app.state.judge.cells()
    held = [
        (cell.id, at)
        for cell in registry.cells(all=True)
        for at, sheet in enumerate(cell.sheets, 1)
        if sheet.file_sha256 is not None and sheet.file_sha256 == dropped.reading.file_sha256
    ]
    return render(
        request, "sheet.html", 422 if problems else 200, name=request.path_params["name"], number=number,
        dropped=dropped, draft=read, problems=problems, typed=typed, held=held, chemistries=CHEMISTRIES,
        evidence=_EVIDENCE, units=UNITS_READ, ids=registry.ids(), who=login_name(),
        pictured=[(each.page, each.quote) in dropped.pictures.lines for each in read.figures] if read else [],
        pages=marks_of(dropped.pictures, read) if read else {},
    )  # fmt: skip


def line(request: Request) -> Response:
    """Return the picture of the line that a figure was read from."""
    dropped, read, _ = _draft(request)
    at = request.path_params["figure"]
    figure = read.figures[at] if read is not None and at < len(read.figures) else None
    data = None
    if figure is not None and figure.page is not None and figure.quote is not None:
        data = dropped.pictures.lines.get((figure.page, figure.quote))
    if data is None:
        raise HTTPException(404)
    return Response(data, media_type="image/png")


def page(request: Request) -> Response:
    """Return the picture of a page, with the place of each figure of the draft marked."""
    dropped, read, _ = _draft(request)
    marks = {} if read is None else marks_of(dropped.pictures, read)
    at = request.path_params["page"]
    if at not in marks:
        raise HTTPException(404)
    return Response(marked_page(dropped.pictures.pages[at], marks[at]), media_type="image/png")


def accept(request: Request, form: FormData) -> Response:
    """Store a datasheet whose every doubtful figure is decided."""
    dropped, read, _ = _draft(request)
    if read is None:
        raise HTTPException(404)
    base = request.app.state.judge.cells().get(str(form.get("to", "")))
    identity = _typed(form, _IDENTITY)
    noted = Noted()
    record: dict[str, Any] = {}
    try:
        # Everything that is wrong is told at once.
        noted.problems += missing_of_a_cell(identity) if base is None else []
        with noted.of_one():
            record = decided_sheet(
                read, _decisions(form, "figure", len(read.figures)),
                _decisions(form, "unread", len(read.not_understood)),
                file_sha256=dropped.reading.file_sha256, about=_typed(form, _ABOUT),
            )  # fmt: skip
        noted.raise_any(dropped.name)
        marking = str(form.get("marking", "")).strip()
        cell = cell_with_sheet(identity | ({"markings": [marking]} if marking else {}), record, base)
        with Store.open(request.app.state.judge.path, create=True) as store:
            why = f"from {dropped.name}"
            if base is None:
                store.add([cell], who=author(form), why=why)
            else:
                store.edit(cell, who=author(form), why=why, seen=base)
    except PlacedError as error:
        return _page(request, form, error)
    return RedirectResponse(f"/cells/{cell.id}", 303)


def _decisions(form: FormData, kind: str, count: int) -> list[Decision]:
    return [
        Decision(str(form.get(f"{kind}.{at}", "")), str(form.get(f"{kind}.{at}.value", "")).strip())
        for at in range(count)
    ]


def _typed(form: FormData, names: tuple[str, ...]) -> dict[str, Any]:
    return {name: str(form.get(name, "")).strip() for name in names if str(form.get(name, "")).strip()}
