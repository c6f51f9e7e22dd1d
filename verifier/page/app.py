"""The application: every address with its view, and what is checked before any of them."""

from __future__ import annotations

import atexit
from importlib import import_module
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles

from registry.errors import PlacedError
from registry.input_bounds import FILE, LISTING_FILE
from verifier.errors import UnreadableInput, fault_of_the_program
from verifier.page.cases import Cases
from verifier.page.judged import Judge
from verifier.page.logs import Logs
from verifier.page.photos import Photos
from verifier.page.rendering import REPORT_STYLE, is_live, render
from verifier.page.safety import LONGEST_FIELD, SAFE, Guard, View, changing, opened
from verifier.page.settings import Settings
from verifier.page.tables import Tables
from verifier.page.uploads import Shelf
from verifier.page.views import start
from verifier.report.photos import MOST_BYTES, MOST_PHOTOS

_STATIC = Path(__file__).parent / "static"
# A form is a listing at most; files have their own bound.
FORM = 2_000_000
# A table of some hundred thousand listings.
TABLE = 500_000_000
# Datasheets that wait to be looked at, with their pictures.
_SHEETS = 12
# Logs that were read alone, some MB each.
_LOGS = 40
# What a form holds beside its file.
_BESIDE = 100_000


def application(settings: Settings) -> Starlette:
    """Return the page, ready to be served."""
    app = Starlette(
        routes=_routes(),
        middleware=[Middleware(Guard, settings=settings)],
        exception_handlers={
            PlacedError: _refused,
            404: _missing,
            400: _too_much,
            413: _too_much,
            Exception: _fault,
        },
    )
    app.state.settings = settings
    app.state.cases = Cases(settings.cases)
    app.state.photos = Photos(app.state.cases)
    app.state.judge = Judge(settings.registry)
    app.state.tables = Tables(settings.cases, settings.registry)
    app.state.pack_logs = Logs(app.state.cases)
    app.state.logs = Shelf(_LOGS)
    app.state.sheets = Shelf(_SHEETS)
    atexit.register(app.state.judge.close)
    return app


def _routes() -> list[BaseRoute]:
    return [
        Route("/open", opened),
        Route("/static/report.css", _report_style),
        Mount("/static", StaticFiles(directory=_STATIC)),
        Route("/", start.start),
        Route("/language/{code}", start.language),
        Route("/phone.svg", start.phone),
        # A text that is pasted may be as long as one that is a file.
        _post("/listing", start.listing, LISTING_FILE.most + _BESIDE, LISTING_FILE.most),
        Route("/packs", _view("packs.every")),
        _post("/packs/new", start.new),
        Route("/packs/{name}", _view("packs.first")),
        Route("/packs/{name}/next", _view("packs.next_steps")),
        Route("/packs/{name}/watch", _view("packs.watch")),
        Route("/packs/{name}/cells", _view("packs.cells")),
        Route("/packs/{name}/papers", _view("papers.papers")),
        Route("/packs/{name}/questions.txt", _view("papers.questions")),
        Route("/packs/{name}/case.yaml", _view("papers.case_file")),
        Route("/packs/{name}/{paper}.html", _view("papers.paper")),
        Route("/packs/{name}/photos/{number:int}.jpg", _view("photos.one")),
        _post("/packs/{name}/photos", _view("photos.add"), MOST_PHOTOS * MOST_BYTES + _BESIDE),
        _post("/packs/{name}/photos/remove", _view("photos.remove")),
        Route("/packs/{name}/logs", _view("logs.of_pack")),
        _post("/packs/{name}/logs", _view("logs.add"), FILE.most + _BESIDE),
        Route("/packs/{name}/logs/{log}/report.html", _view("logs.report_of_pack")),
        Route("/packs/{name}/logs/{log}/{number:int}-{kind}.svg", _view("logs.picture_of_pack")),
        _post("/packs/{name}/logs/{log}/take", _view("logs.take")),
        _post("/packs/{name}/logs/{log}/remove", _view("logs.remove")),
        _post("/packs/{name}/undo", _view("packs.undo")),
        Route("/packs/{name}/{step}", _view("packs.step")),
        _post("/packs/{name}/{step}", _view("packs.change")),
        Route("/compare", _view("papers.compare")),
        Route("/comparison.html", _view("papers.comparison")),
        Route("/tables", _view("tables.every")),
        _post("/tables", _view("tables.drop"), TABLE + _BESIDE),
        Route("/tables/{name}", _view("tables.one")),
        _post("/tables/{name}", _view("tables.begin")),
        Route("/tables/{name}/progress", _view("tables.progress")),
        _post("/tables/{name}/on", _view("tables.go_on")),
        Route("/tables/{name}/summary.html", _view("tables.summary")),
        Route("/tables/{name}/results.csv", _view("tables.results")),
        Route("/tables/{name}/sellers.zip", _view("tables.sellers")),
        _post("/tables/{name}/rows", _view("tables.row")),
        Route("/logs", _view("logs.drop")),
        _post("/logs", _view("logs.read"), FILE.most + _BESIDE),
        Route("/logs/{name}", _view("logs.one")),
        Route("/logs/{name}/report.html", _view("logs.report")),
        Route("/logs/{name}/{number:int}-{kind}.svg", _view("logs.picture_alone")),
        Route("/cells", _view("cells.every")),
        _post("/cells/take", _view("cells.take"), FILE.most + _BESIDE),
        Route("/cells/export.{ending}", _view("cells.give")),
        Route("/cells/which", _view("cells.which")),
        Route("/cells/which.svg", _view("cells.which_picture")),
        _post("/cells/sheets", _view("sheets.drop"), FILE.most + _BESIDE),
        Route("/cells/sheets/{name}/{number:int}", _view("sheets.draft")),
        _post("/cells/sheets/{name}/{number:int}", _view("sheets.accept")),
        Route("/cells/sheets/{name}/{number:int}/{figure:int}.png", _view("sheets.line")),
        Route("/cells/sheets/{name}/{number:int}/page-{page:int}.png", _view("sheets.page")),
        Route("/cells/{id}", _view("cells.one")),
        Route("/cells/{id}/history", _view("cells.history")),
        Route("/cells/{id}/edit", _view("cells.edit")),
        _post("/cells/{id}/edit", _view("cells.change")),
        _post("/cells/{id}/retire", _view("cells.retire")),
    ]


def _view(name: str) -> Any:
    """Return a view that is imported when it is first asked for, so that the page is there at once."""
    module, _, function = name.partition(".")

    def late(request: Request, *form: FormData) -> Response:
        view = getattr(import_module(f"verifier.page.views.{module}"), function)
        answer: Response = view(request, *form)
        return answer

    return late


def _post(path: str, view: View, most: int = FORM, longest: int = LONGEST_FIELD) -> Route:
    return Route(path, changing(view, longest), methods=["POST"], max_body_size=most)


def _report_style(request: Request) -> Response:
    return FileResponse(REPORT_STYLE, media_type="text/css")


async def _refused(request: Request, error: Exception) -> Response:
    """Say what was wrong with what was asked for or given, and what would be right."""
    template = "refused_part.html" if is_live(request) else "refused.html"
    return await run_in_threadpool(render, request, template, 422, error=error)


async def _missing(request: Request, error: Exception) -> Response:
    return await run_in_threadpool(render, request, "missing.html", 404)


async def _too_much(request: Request, error: Exception) -> Response:
    """Say that more was sent than is taken of its kind."""
    told = UnreadableInput("", "more was sent than is taken here", "send a part of it, or another file")
    template = "refused_part.html" if is_live(request) else "refused.html"
    return await run_in_threadpool(render, request, template, 413, error=told)


async def _fault(request: Request, error: Exception) -> Response:
    """Say that the program itself is at fault; where, stands on the terminal."""
    told = fault_of_the_program(error)
    template = "refused_part.html" if is_live(request) else "refused.html"
    answer = await run_in_threadpool(render, request, template, 500, error=told)
    # Such an answer is sent from outside of what stands before every view.
    answer.headers.update(SAFE)
    return answer
