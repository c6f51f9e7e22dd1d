"""A whole table: dropped, its columns mapped, judged while one does something else, its rows opened as cases."""

from __future__ import annotations

from typing import Any

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response

from registry.errors import PlacedError
from verifier import (
    ColumnMap,
    TableSource,
    as_told,
    case_fields,
    check_told,
    open_listings,
    parse_case,
    row_cases,
)
from verifier.errors import UnreadableInput
from verifier.page.forms import STEPS, fields_of
from verifier.page.rendering import download, is_live, render, report_page, to_packs, words_of
from verifier.page.screening_job import RESULTS, SELLERS, SUMMARY
from verifier.page.tables import ENDINGS, Table, Tables, chosen_rows
from verifier.page.uploads import file_in, save, shown_name
from verifier.page.views.packs import judge_of

_ROLES = ("-", "text", "title", "seller")
_SAMPLE = 3
_ROWS = 50
_LONGEST = 80


def tables_of(request: Request) -> Tables:
    """Return the tables."""
    found: Tables = request.app.state.tables
    return found


def _table(request: Request) -> Table:
    return tables_of(request).get(request.path_params["name"])


def every(request: Request) -> Response:
    """List the tables, and take another one."""
    tables = [tables_of(request).get(name) for name in tables_of(request).names()]
    return render(request, "tables.html", tables=tables)


def drop(request: Request, form: FormData) -> Response:
    """Keep a table; it is judged once its columns are looked at."""
    file = file_in(form)
    name = tables_of(request).add(shown_name(file), lambda folder: save(file, folder, ENDINGS))
    return RedirectResponse(f"/tables/{name}", 303)


def one(request: Request) -> Response:
    """Show a table as far as it is: its columns, its progress, or its results."""
    table = _table(request)
    if table.state in ("running", "stopped", "failed"):
        return render(request, "table_running.html", table=table, live=is_live(request))
    if table.state == "done" and "columns" not in request.query_params:
        return _results(request, table)
    return _columns(request, table)


def progress(request: Request) -> Response:
    """Return how far a table is, to be put into the open page."""
    table = _table(request)
    answer = render(request, "table_progress.html", table=table)
    if table.state == "done":
        answer.headers["hx-redirect"] = f"/tables/{table.name}"
    return answer


def _columns(
    request: Request, table: Table, told: dict[str, str] | None = None, error: PlacedError | None = None
) -> Response:
    columns: list[dict[str, Any]] = []
    said = ""
    try:
        columns, said = _headings(table, told)
    except PlacedError as problem:
        error = problem
    return render(
        request, "table_columns.html", 422 if error is not None else 200, table=table, columns=columns, said=said,
        problem=error, targets=_targets(request),
    )  # fmt: skip


def _headings(table: Table, told: dict[str, str] | None) -> tuple[list[dict[str, Any]], str]:
    """Return each column with what it is taken for and some of its values."""
    with open_listings(TableSource(str(table.file), ColumnMap({}))) as listings:
        chunk = next(iter(listings.chunks()), None)
        rows = listings.read(chunk.raw).columns if chunk is not None else {}
        names = listings.names if listings.names is not None else tuple(rows)
        used = as_told(listings.uses or ColumnMap({}).uses(names), names)
        if told is not None:
            used |= told
        return [
            {
                "name": name, "target": used[name],
                "sample": [str(each)[:_LONGEST] for each in rows.get(name, ())[:_SAMPLE] if each not in (None, "")],
            }
            for name in names
        ], listings.told  # fmt: skip


def _targets(request: Request) -> list[tuple[str, str]]:
    """Return what a column may be taken for, in the reader's words."""
    words = words_of(request)
    found = [(role, words(f"tables.roles.{'carried' if role == '-' else role}")) for role in _ROLES]
    for name in (each for step in STEPS for each in fields_of(step) if each.startswith("claim.")):
        named = words.word("fields", name)
        found.append((name, named if named is not None else case_fields()[name].words))
    return found


def begin(request: Request, form: FormData) -> Response:
    """Judge a table by its columns as they were mapped."""
    table = _table(request)
    told = {
        name.removeprefix("column."): str(value) for name, value in form.items() if name.startswith("column.")
    }
    try:
        tables_of(request).start(table.name, check_told(told, "the columns"), words_of(request).language)
    except PlacedError as error:
        return _columns(request, table, told, error)
    return RedirectResponse(f"/tables/{table.name}", 303)


def go_on(request: Request, form: FormData) -> Response:
    """Go on with a table that was stopped, or judge one that is done once more in the reader's language."""
    table = _table(request)
    if table.state == "done":
        tables_of(request).start(table.name, table.about.columns, words_of(request).language)
    else:
        tables_of(request).start(table.name)
    return RedirectResponse(f"/tables/{table.name}", 303)


def _results(request: Request, table: Table) -> Response:
    conclusion = request.query_params.get("conclusion", "")[:60]
    asked = request.query_params.get("from", "")
    first = int(asked) if asked.isdecimal() and len(asked) < 9 else 0
    rows, counts = chosen_rows(table, conclusion, first, _ROWS)
    fitting = counts[conclusion] if conclusion else sum(counts.values())
    return render(
        request, "table_results.html", table=table, rows=rows, counts=counts.most_common(), conclusion=conclusion,
        first=first, most=_ROWS, fitting=fitting,
    )  # fmt: skip


def summary(request: Request) -> Response:
    """Return the summary as the program writes it."""
    table = _table(request)
    if table.state != "done":
        raise HTTPException(404)
    return report_page((table.folder / SUMMARY).read_text(encoding="utf-8"))


def results(request: Request) -> Response:
    """Return every row with its answer, for a spreadsheet."""
    table = _table(request)
    if table.state != "done":
        raise HTTPException(404)
    data = (table.folder / RESULTS).read_bytes()
    # By this mark a spreadsheet knows that it is UTF-8.
    return download(b"\xef\xbb\xbf" + data, f"{table.name}-results.csv", "text/csv; charset=utf-8")


def sellers(request: Request) -> Response:
    """Return a file for each seller, ready to be sent, packed into one."""
    table = _table(request)
    if table.state != "done" or not table.has_sellers:
        raise HTTPException(404)
    name = f"{table.name}-sellers.zip"
    return FileResponse(table.folder / SELLERS, media_type="application/zip", filename=name)


def row(request: Request, form: FormData) -> Response:
    """Open a row of a table as cases."""
    table, number = _table(request), str(form.get("row", ""))
    if not number.isdecimal() or len(number) > 9:
        raise HTTPException(404)
    source = TableSource(str(table.file), ColumnMap(table.about.columns))
    try:
        found = row_cases(source, int(number), judge_of(request).cells())
    except PlacedError as error:
        # It is found by an option's name, which nobody has typed here.
        raise UnreadableInput("row", error.found, error.expected) from error
    cases = request.app.state.cases
    names = [cases.create(str(parse_case(draft, "row").case.case.title), draft) for draft in found.drafts]
    return to_packs(names, "listing")
