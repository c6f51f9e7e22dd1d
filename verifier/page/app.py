"""The application: every address with its view, and what is checked before any of them."""

from __future__ import annotations

import atexit
from pathlib import Path

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles

from registry.errors import PlacedError
from registry.input_bounds import FILE, LISTING_FILE
from verifier.page.cases import Cases
from verifier.page.judged import Judge
from verifier.page.rendering import REPORT_STYLE, render
from verifier.page.safety import Guard, View, changing, opened
from verifier.page.settings import Settings
from verifier.page.tables import Tables
from verifier.page.uploads import Shelf
from verifier.page.views import cells, logs, packs, papers, sheets, start, tables

_STATIC = Path(__file__).parent / "static"
# A form is a listing at most; files have their own bound.
FORM = 2_000_000
# A table of some hundred thousand listings.
TABLE = 500_000_000
# Datasheets that wait to be looked at, with their pictures.
_SHEETS = 12
# Reports of logs, some 100 kB each.
_LOGS = 40
# What a form holds beside its file.
_BESIDE = 100_000


def application(settings: Settings) -> Starlette:
    """Return the page, ready to be served."""
    app = Starlette(
        routes=_routes(),
        middleware=[Middleware(Guard, settings=settings)],
        exception_handlers={PlacedError: _refused, 404: _missing},
    )
    app.state.settings = settings
    app.state.cases = Cases(settings.cases)
    app.state.judge = Judge(settings.registry)
    app.state.tables = Tables(settings.cases, settings.registry)
    app.state.logs = Shelf[logs.Read](_LOGS)
    app.state.sheets = Shelf[sheets.Dropped](_SHEETS)
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
        _post("/listing", start.listing, LISTING_FILE.most + _BESIDE),
        Route("/packs", packs.every),
        _post("/packs/new", start.new),
        Route("/packs/{name}", packs.first),
        Route("/packs/{name}/next", packs.next_steps),
        Route("/packs/{name}/cells", packs.cells),
        Route("/packs/{name}/papers", papers.papers),
        Route("/packs/{name}/questions.txt", papers.questions),
        Route("/packs/{name}/case.yaml", papers.case_file),
        Route("/packs/{name}/{paper}.html", papers.paper),
        _post("/packs/{name}/undo", packs.undo),
        Route("/packs/{name}/{step}", packs.step),
        _post("/packs/{name}/{step}", packs.change),
        Route("/compare", papers.compare),
        Route("/tables", tables.every),
        _post("/tables", tables.drop, TABLE + _BESIDE),
        Route("/tables/{name}", tables.one),
        _post("/tables/{name}", tables.begin),
        Route("/tables/{name}/progress", tables.progress),
        _post("/tables/{name}/on", tables.go_on),
        Route("/tables/{name}/summary.html", tables.summary),
        Route("/tables/{name}/results.csv", tables.results),
        _post("/tables/{name}/rows", tables.row),
        Route("/logs", logs.drop),
        _post("/logs", logs.read, FILE.most + _BESIDE),
        Route("/logs/{name}", logs.one),
        Route("/logs/{name}/report.html", logs.report),
        Route("/cells", cells.every),
        _post("/cells/take", cells.take, FILE.most + _BESIDE),
        Route("/cells/export.{ending}", cells.give),
        Route("/cells/which", cells.which),
        Route("/cells/which.svg", cells.which_picture),
        _post("/cells/sheets", sheets.drop, FILE.most + _BESIDE),
        Route("/cells/sheets/{name}/{number:int}", sheets.draft),
        _post("/cells/sheets/{name}/{number:int}", sheets.accept),
        Route("/cells/sheets/{name}/{number:int}/{figure:int}.png", sheets.line),
        Route("/cells/{id}", cells.one),
        Route("/cells/{id}/history", cells.history),
        Route("/cells/{id}/edit", cells.edit),
        _post("/cells/{id}/edit", cells.change),
        _post("/cells/{id}/retire", cells.retire),
    ]


def _post(path: str, view: View, most: int = FORM) -> Route:
    return Route(path, changing(view), methods=["POST"], max_body_size=most)


def _report_style(request: Request) -> Response:
    return FileResponse(REPORT_STYLE, media_type="text/css")


async def _refused(request: Request, error: Exception) -> Response:
    """Say what was wrong with what was asked for or given, and what would be right."""
    return await run_in_threadpool(render, request, "refused.html", 422, error=error)


async def _missing(request: Request, error: Exception) -> Response:
    return await run_in_threadpool(render, request, "missing.html", 404)
