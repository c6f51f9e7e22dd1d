"""A discharge log: dropped, read, its curve, and what it says of the claims of a pack."""

from __future__ import annotations

from dataclasses import dataclass, replace

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from verifier import Limits, against_claims, curves_of, read_log, refuse_other_pack
from verifier.page.cases import Cases
from verifier.page.rendering import render, report_page
from verifier.page.uploads import Shelf, file_in, held, shown_name

ENDINGS = (".csv", ".txt", ".tsv", ".log", ".xlsx")
_MOST_CASES = 200


@dataclass(frozen=True, slots=True)
class Read:
    """A log that was read: what it is called, the pack that it was held against, and its report."""

    name: str
    case: str
    html: str


def _shelf(request: Request) -> Shelf[Read]:
    shelf: Shelf[Read] = request.app.state.logs
    return shelf


def _cases(request: Request) -> Cases:
    cases: Cases = request.app.state.cases
    return cases


def drop(request: Request) -> Response:
    """Ask for a log, and for the pack that it is of."""
    return render(
        request,
        "logs.html",
        packs=_cases(request).names()[:_MOST_CASES],
        chosen=request.query_params.get("pack", ""),
    )


def read(request: Request, form: FormData) -> Response:
    """Read a log and hold it against the claims of a pack, where one is named."""
    from verifier.discharge_log import as_html

    name, pack = shown_name(file_in(form)), str(form.get("pack", ""))
    opened = _cases(request).open(pack) if pack else None
    if opened is not None and opened.fault is not None:
        raise opened.fault
    case = opened.case_file.case if opened is not None and opened.case_file is not None else None
    limits = Limits(case.limits) if case is not None else Limits()
    with held(form, ENDINGS) as path:
        reading = read_log(str(path), limits, None, curves_of(case) if case is not None else None)
    reading = replace(reading, file=name)
    tested = None
    if case is not None:
        refuse_other_pack(reading, case)
        tested = [against_claims(reading, case, limits)]
    kept = _shelf(request).put(Read(name, pack, as_html.render([reading], tested, case)))
    return RedirectResponse(f"/logs/{kept}", 303)


def one(request: Request) -> Response:
    """Show what was read of a log."""
    name = request.path_params["name"]
    return render(request, "log.html", name=name, log=_shelf(request).get(name))


def report(request: Request) -> Response:
    """Return the report of a log as the program writes it."""
    return report_page(_shelf(request).get(request.path_params["name"]).html)
