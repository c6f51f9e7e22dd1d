"""The registry: browse and search, one cell with its history, change it, which cells meet a current, in and out."""

from __future__ import annotations

import getpass
from typing import Any

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from registry.cell import Cell
from registry.cells import Cells, InMemory
from registry.errors import ManyProblems, PlacedError
from registry.input_bounds import FILE
from verifier import (
    Air,
    CellsAsked,
    Limits,
    Store,
    bundle_text,
    cell_of_rows,
    find_cells,
    history_of_cell,
    is_column_of_cell,
    parse_bundle,
    parse_cell_table,
    read_quantity,
    rows_of_cell,
    write_cell_table,
)
from verifier.errors import UnreadableInput
from verifier.page.cell_form import figure_forms
from verifier.page.judged import Judge
from verifier.page.rendering import download, picture, render, spoken, words_of
from verifier.page.uploads import ending_of, file_in
from verifier.report.cells import change_lines, disagreements, figure_lines
from verifier.report.which_cells import Found, answer, name_of, table_of

_MOST_LISTED = 300
_MOST_DRAWN = 8
_DRAWN_AT = (-20, -10, 0, 10, 20, 30, 40, 50, 60)
_TABLES = (".jsonl", ".ndjson", ".json", ".csv")


def _registry(request: Request) -> Cells:
    judge: Judge = request.app.state.judge
    return judge.cells()


def _store(request: Request) -> Any:
    judge: Judge = request.app.state.judge
    return Store.open(judge.path, create=True)


def author(form: FormData) -> str:
    """Return who makes a change: as typed, else the login name of whoever started the page."""
    typed = form.get("who")
    if isinstance(typed, str) and typed.strip():
        return typed.strip()[:100]
    return login_name()


def login_name() -> str:
    """Return the login name of whoever started the page; "unknown" where the system knows none."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "unknown"


def cell_named(request: Request) -> Cell:
    """Return the cell that the address names. Raises ``HTTPException`` where there is none."""
    cell = _registry(request).get(request.path_params["id"])
    if cell is None:
        raise HTTPException(404)
    return cell


def every(request: Request) -> Response:
    """List the registered cells, or those that hold every word of a search."""
    wanted = request.query_params.get("q", "")[:200]
    words = wanted.casefold().split()
    cells = [
        each for each in _registry(request).cells(all=True) if all(word in _said(each) for word in words)
    ]
    return render(
        request, "cells.html", cells=cells[:_MOST_LISTED], count=len(cells), wanted=wanted,
        place=_registry(request).place, who=login_name(),
    )  # fmt: skip


def _said(cell: Cell) -> str:
    parts = (
        cell.id,
        cell.maker,
        cell.model,
        cell.chemistry,
        *cell.markings,
        *([cell.size] if cell.size else []),
    )
    return " ".join(parts).casefold()


def one(request: Request) -> Response:
    """Show one cell: every sheet with its figures, where each stands, and where the sheets disagree."""
    cell = cell_named(request)
    sheets = [(list(figure_lines(each)), each) for each in cell.sheets]
    return render(
        request,
        "cell.html",
        cell=cell,
        sheets=sheets,
        differing=disagreements(cell, spoken(request)),
        who=login_name(),
    )


def history(request: Request) -> Response:
    """Show every change of a cell, the newest first."""
    cell = cell_named(request)
    judge: Judge = request.app.state.judge
    changes = [
        (each, change_lines(each.before, each.after, spoken(request)) if each.before is not None else [])
        for each in reversed(history_of_cell(judge.path, cell.id))
    ]
    return render(request, "cell_history.html", cell=cell, changes=changes)


def edit(request: Request) -> Response:
    """Show a cell as a form: the columns of the table of cells, one sheet beside the other."""
    cell = cell_named(request)
    columns, rows = rows_of_cell(cell)
    return _form(request, cell, columns, rows)


def _form(
    request: Request,
    cell: Cell,
    columns: list[str],
    rows: list[list[str]],
    error: PlacedError | None = None,
    why: str = "",
) -> Response:
    of_cell = [each for each in columns if is_column_of_cell(each)]
    problems = error.problems if isinstance(error, ManyProblems) else [error] if error is not None else []
    return render(
        request, "cell_edit.html", 422 if problems else 200, cell=cell,
        rows=[figure_forms(columns, row, of_cell if at else ()) for at, row in enumerate(rows)],
        problems=problems, typed_why=why, who=login_name(), seen=bundle_text([cell]),
    )  # fmt: skip


def change(request: Request, form: FormData) -> Response:
    """Store a changed cell; what somebody else has changed meanwhile is told, and nothing is stored."""
    cell = cell_named(request)
    columns, rows = rows_of_cell(cell)
    typed = [
        [_typed(form, at, name, old) for name, old in zip(columns, row, strict=True)]
        for at, row in enumerate(rows)
    ]
    why = str(form.get("why", "")).strip()
    try:
        if not why:
            raise UnreadableInput("why", "is empty", "a change is kept with its reason")
        seen = next(iter(parse_bundle(str(form.get("seen", "")).strip() + "\n", "the form")), None)
        if seen is None or seen.id != cell.id:
            raise UnreadableInput("the form", "is of another cell", "load the page anew")
        with _store(request) as store:
            store.edit(cell_of_rows(columns, typed, cell.id), who=author(form), why=why, seen=seen)
    except PlacedError as error:
        return _form(request, cell, columns, typed, error, why)
    return RedirectResponse(f"/cells/{cell.id}", 303)


def _typed(form: FormData, at: int, column: str, old: str) -> str:
    """Return what was typed for a column of a sheet; what is the cell's own stands with its first sheet alone."""
    if at > 0 and column != "id" and is_column_of_cell(column):
        return ""
    return str(form.get(f"{at}.{column}", old))


def retire(request: Request, form: FormData) -> Response:
    """Take a cell out of use; it stays readable, and no check uses it."""
    cell = cell_named(request)
    with _store(request) as store:
        store.retire(cell.id, who=author(form), why=str(form.get("why", "")))
    return RedirectResponse(f"/cells/{cell.id}", 303)


# -- which cells meet a current ----------------------------------------------------------------------------------


def which(request: Request) -> Response:
    """Say which registered cells could supply a current, as a table and a picture."""
    typed = {
        name: request.query_params.get(name, "").strip()[:60]
        for name in ("current", "parallel", "air", "size")
    }
    if not typed["current"]:
        return render(request, "which.html", typed=typed, found=None, problem=None)
    try:
        found = _found(request, typed)
    except PlacedError as error:
        return render(request, "which.html", 422, typed=typed, found=None, problem=error)
    header, rows = table_of(found, spoken(request), reasons=True)
    return render(
        request, "which.html", typed=typed, found=found, problem=None,
        answer=answer(found, words_of(request)("which.our_air"), spoken(request)), header=header,
        rows=rows, ids=[each.cell.id for each in found.choices],
    )  # fmt: skip


def _found(request: Request, typed: dict[str, str]) -> Found:
    asked, registry = _asked(typed), _registry(request)
    chosen = find_cells(registry, asked, _MOST_LISTED)
    return Found(asked, registry.place, registry.count, registry.digest, chosen, _MOST_LISTED, "")


def _asked(typed: dict[str, str]) -> CellsAsked:
    current, _ = read_quantity(typed["current"], "A")
    usual = Limits()["use_temperature_c"]
    air = Air(usual.low, usual.high, True)
    if typed["air"]:
        low_c, high_c = read_quantity(typed["air"], "C")
        air = Air(low_c, high_c, False)
    parallel = int(read_quantity(typed["parallel"], None, counts=True)[0]) if typed["parallel"] else None
    return CellsAsked(
        current, air, Limits(), None, parallel, None, typed["size"] if typed["size"] else None, None
    )


def which_picture(request: Request) -> Response:
    """Draw the margin of the best cells by the temperature of the air."""
    from verifier.report.pictures import margins

    typed = {
        name: request.query_params.get(name, "").strip()[:60]
        for name in ("current", "parallel", "air", "size")
    }
    best = _found(request, typed).choices[:_MOST_DRAWN]
    few = InMemory([each.cell for each in best])
    lows: dict[str, list[float | None]] = {each.cell.id: [] for each in best}
    asked = _asked(typed)
    for at in _DRAWN_AT:
        here = CellsAsked(asked.current_a, Air(at, at, False), asked.limits, None, asked.parallel)
        for each in find_cells(few, here).choices:
            low = each.margin_percent.low
            lows[each.cell.id].append(low if low > -100 else None)
    names = [name_of(each.cell) for each in best]
    return picture(
        margins(names, _DRAWN_AT, [lows[each.cell.id] for each in best], "margins", spoken(request)).svg
    )


# -- in and out --------------------------------------------------------------------------------------------------


def take(request: Request, form: FormData) -> Response:
    """Take all cells of a bundle or a table, or none."""
    file = file_in(form)
    data = file.file.read(FILE.most + 1)
    if len(data) > FILE.most:
        raise UnreadableInput("file", f"is larger than {FILE}", FILE.why)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UnreadableInput("file", f"byte {error.start} is not UTF-8", "save it as UTF-8") from error
    table = ending_of(file, _TABLES) == ".csv"
    cells = parse_cell_table(text, "the table") if table else parse_bundle(text, "the bundle")
    with _store(request) as store:
        counts = store.take(cells, who=author(form), why="taken in on the page")
    asked = "&".join(f"{name}={counts[name]}" for name in ("added", "changed", "unchanged"))
    return RedirectResponse(f"/cells?{asked}", 303)


def give(request: Request) -> Response:
    """Return the whole registry as a bundle or a table."""
    cells = _registry(request).cells(all=True)
    if request.path_params["ending"] == "csv":
        return download("\ufeff" + write_cell_table(cells), "cells.csv", "text/csv; charset=utf-8")
    if request.path_params["ending"] == "jsonl":
        return download(bundle_text(cells), "cells.jsonl", "application/jsonl; charset=utf-8")
    raise HTTPException(404)
