"""Discharge logs: of a pack, with what each says of the claims and its evidence for the case; or read alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from registry.errors import PlacedError
from verifier import case_fields, shown_value
from verifier.page.cases import Opened, text_of
from verifier.page.forms import shown_field
from verifier.page.logs import LogOfCase, Logs, reading_of_log
from verifier.page.rendering import picture, render, report_page, spoken, to_pack, words_of
from verifier.page.uploads import Shelf, file_in, held, save, shown_name
from verifier.page.views.packs import cases_of, pack_head
from verifier.report.html import shapes
from verifier.report.html.markup import spoken as set_apart
from verifier.words import Language, amount, figure_name, in_language, span

if TYPE_CHECKING:
    from verifier import Case, LogReading
    from verifier.discharge_log.against_claims import ClaimTested

ENDINGS = (".csv", ".txt", ".tsv", ".log", ".json", ".xlsx")
STEP = "logs"
_MOST_CASES = 200
_MOST_DRAWN = 6


@dataclass(frozen=True, slots=True)
class Read:
    """A log that was read alone: what it is called, and what was found in it."""

    name: str
    reading: LogReading


def _shelf(request: Request) -> Shelf[Read]:
    shelf: Shelf[Read] = request.app.state.logs
    return shelf


def _logs(request: Request) -> Logs:
    logs: Logs = request.app.state.pack_logs
    return logs


# -- logs of a pack ----------------------------------------------------------------------------------------------


def of_pack(request: Request) -> Response:
    """Show the logs of a pack, and what each says of it."""
    opened = cases_of(request).open(request.path_params["name"])
    logs = [_shown_log(request, opened, each.name, each.shown) for each in _logs(request).of(opened.name)]
    return render(request, "pack_logs.html", step=STEP, logs=logs, **pack_head(request, opened))


def _shown_log(request: Request, opened: Opened, log: str, shown: str) -> dict[str, Any]:
    place = f"/packs/{quote(opened.name, safe='')}/logs/{log}"
    told: dict[str, Any] = {"name": log, "shown": shown, "place": place, "fault": None}
    try:
        said = _logs(request).said(opened, log)
    except PlacedError as error:
        return {**told, "fault": error}
    evidence = _evidence(request, opened, said)
    return {
        **told,
        **_result(request, said.reading, said.tested),
        "evidence": evidence,
        "why_none": said.why_none,
        "over": any(each["now"] and each["differs"] for each in evidence),
        "taken": bool(evidence) and not any(each["differs"] for each in evidence),
    }


def _evidence(request: Request, opened: Opened, said: LogOfCase) -> list[dict[str, Any]]:
    """Return the fields that a log fills, each as the case has it now and as the log has it."""
    found = []
    for name, value in said.observed.items():
        now, by_log = text_of(name, opened.data), shown_value(case_fields()[name], value)
        label = shown_field(name, opened.data, words_of(request)).words
        found.append({"label": label, "now": now, "log": by_log, "differs": now != by_log})
    return found


def add(request: Request, form: FormData) -> Response:
    """Keep a log of a pack."""
    name = request.path_params["name"]
    _keep(request, form, name)
    return to_pack(name, STEP)


def _keep(request: Request, form: FormData, name: str) -> None:
    file = file_in(form)
    _logs(request).add(name, shown_name(file), lambda folder: save(file, folder, ENDINGS), _channel(form))


def _channel(form: FormData) -> str | None:
    """Return which of several packs or channels of a log to read, None where none is named."""
    return str(form.get("channel", "")).strip() or None


def take(request: Request, form: FormData) -> Response:
    """Take what a log measured into its case."""
    name = request.path_params["name"]
    _logs(request).take(name, request.path_params["log"], str(form.get("seen", "")), over="over" in form)
    return to_pack(name, STEP)


def remove(request: Request, form: FormData) -> Response:
    """Delete a log of a pack."""
    name = request.path_params["name"]
    _logs(request).remove(name, request.path_params["log"])
    return to_pack(name, STEP)


def picture_of_pack(request: Request) -> Response:
    """Draw one picture of a pack's log."""
    opened = cases_of(request).open(request.path_params["name"])
    said = _logs(request).said(opened, request.path_params["log"])
    return _picture(request, said.reading, _case_of(opened))


def report_of_pack(request: Request) -> Response:
    """Return the report of a pack's log as the program writes it."""
    opened = cases_of(request).open(request.path_params["name"])
    said = _logs(request).said(opened, request.path_params["log"])
    return _report(said.reading, said.tested, _case_of(opened))


def _case_of(opened: Opened) -> Case | None:
    return opened.case_file.case if opened.case_file is not None else None


# -- a log alone -------------------------------------------------------------------------------------------------


def drop(request: Request) -> Response:
    """Ask for a log, and for the pack that it is of."""
    cases = cases_of(request)
    return render(
        request, "logs.html", packs=[(each, cases.title(each)) for each in cases.names()[:_MOST_CASES]],
        chosen=request.query_params.get("pack", ""),
    )  # fmt: skip


def read(request: Request, form: FormData) -> Response:
    """Keep a log with the pack that it is of; read it alone where none is named."""
    pack = str(form.get("pack", ""))
    if pack:
        _keep(request, form, pack)
        return to_pack(pack, STEP)
    name = shown_name(file_in(form))
    with held(form, ENDINGS) as path:
        reading = reading_of_log(path, name, None, _channel(form))
    return RedirectResponse(f"/logs/{_shelf(request).put(Read(name, reading))}", 303)


def one(request: Request) -> Response:
    """Show what was read of a log."""
    name = request.path_params["name"]
    kept = _shelf(request).get(name)
    log = {"name": name, "shown": kept.name, "place": f"/logs/{name}", **_result(request, kept.reading, ())}
    return render(request, "log.html", log=log)


def picture_alone(request: Request) -> Response:
    """Draw one picture of a log that was read alone."""
    return _picture(request, _shelf(request).get(request.path_params["name"]).reading, None)


def report(request: Request) -> Response:
    """Return the report of a log as the program writes it."""
    return _report(_shelf(request).get(request.path_params["name"]).reading, None, None)


# -- what is shown of any log ------------------------------------------------------------------------------------


def _result(request: Request, reading: LogReading, tested: Sequence[ClaimTested]) -> dict[str, Any]:
    from verifier.discharge_log.as_text import ended_words

    language = spoken(request)
    flows = [
        {
            "ah": amount(flow.ah, "Ah", language),
            "wh": amount(flow.wh, "Wh", language),
            "at": amount(flow.current_a, "A", language),
            "from_v": amount(flow.start_v, "V", language),
            "to_v": amount(flow.end_v, "V", language),
            "ended": ended_words(flow),
            "pictures": list(_drawable(flow)),
        }
        for flow in reading.discharges[:_MOST_DRAWN]
    ]
    return {
        "flows": flows,
        "more": len(reading.discharges) - len(flows),
        "claims": [_claim(each, language) for each in tested],
        "warnings": reading.warnings,
        "remarks": reading.remarks,
    }


def _drawable(flow: Any) -> list[str]:
    if flow.curve is None or len(flow.curve.ah) < 2:
        return []
    has = {"voltage": True, "temperature": bool(flow.curve.temperature_c), "groups": bool(flow.curve.group_v)}
    return [name for name, there in has.items() if there]


def _claim(tested: ClaimTested, language: Language) -> dict[str, Any]:
    claimed = (
        "-" if tested.claimed is None else in_language(partial(span, tested.claimed, tested.unit), language)
    )
    return {
        "figure": set_apart(in_language(partial(figure_name, tested.figure), language)),
        "claimed": set_apart(claimed),
        "verdict": shapes.marked(tested.verdict, language),
        "proves": tested.proves,
        "open": tested.does_not_prove,
    }


def _picture(request: Request, reading: LogReading, case: Case | None) -> Response:
    from verifier.discharge_log.as_html import PICTURES, picture_of

    number, kind = request.path_params["number"], request.path_params["kind"]
    if kind not in PICTURES or number >= len(reading.discharges):
        raise HTTPException(404)
    drawn = picture_of(kind, reading.discharges[number], reading, case, f"{kind}-{number}", spoken(request))
    if drawn is None:
        raise HTTPException(404)
    return picture(drawn.svg)


def _report(reading: LogReading, tested: Sequence[ClaimTested] | None, case: Case | None) -> Response:
    from verifier.discharge_log import as_html

    return report_page(as_html.render([reading], None if tested is None else [tested], case))
