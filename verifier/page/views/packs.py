"""One pack: its claims, its build, its use, with the answer above them; and the list of all packs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any
from urllib.parse import urlencode

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from registry.errors import PlacedError
from registry.matching import MOST_SUGGESTIONS
from verifier import Report, Verdict, case_fields, match_marking
from verifier.answer import Conclusion, asked_text
from verifier.errors import UnreadableInput
from verifier.page.cases import Cases, Opened, Outcome, text_of
from verifier.page.forms import STEPS, field_words, fields_of, shown_field, shown_groups, typed_in
from verifier.page.judged import Judge
from verifier.page.listing_marks import marked
from verifier.page.rendering import is_live, render, spoken, to_pack, words_of
from verifier.page.texts import Texts
from verifier.page.views.photos import photos_of, shown_photos
from verifier.report.html import answer as answers
from verifier.report.html.markup import spoken as set_apart
from verifier.report.opening import lines
from verifier.report.opening_texts import ALARM, ANSWER, Line
from verifier.words import Language, figure_name, in_language, joined

NAV = ("listing", "pack", "logs", "use", "papers")
"""The views of a pack, in the order in which they are gone through."""
MARKINGS = {"pack": "observed.cell.marking", "listing": "claim.cell_marking"}
"""The field of a step in which a cell is named."""
_ASK_FIRST = "ask first"
_MOST_JUDGED = 60
_MOST_LEFT = 6
_LONGEST_TYPED = 40
_DECIDED = (Conclusion.DO_NOT_USE, Conclusion.CONTRADICTS_ITSELF, Conclusion.NOT_AS_ADVERTISED)
"""What is said of a pack whatever else is found out."""


def cases_of(request: Request) -> Cases:
    """Return the folder of cases."""
    cases: Cases = request.app.state.cases
    return cases


def judge_of(request: Request) -> Judge:
    """Return what judges."""
    judge: Judge = request.app.state.judge
    return judge


@dataclass(frozen=True, slots=True)
class Above:
    """The answer as it stands above a pack: markup of the report's own renderers, or why there is none."""

    tone: str
    alarms: str
    headline: str
    lines: str
    no_cells: bool = False
    fault: PlacedError | None = None
    untaken: tuple[dict[str, str], ...] = ()
    """The fields for which something was typed that is not saved: the answer knows nothing of it."""


def above(report: Report, language: Language) -> Above:
    """Return the answer of a report; what to ask first stands apart, because it takes longer to find."""
    told = _without([each for each in lines(report, language) if each[0] not in (ALARM, ANSWER)], _ASK_FIRST)
    tone = answers.TONES[report.answer.conclusion]
    return Above(
        tone, answers.alarms(report, language), answers.headline(report, language), answers.definitions(told, language),
        report.registry.cells == 0,
    )  # fmt: skip


def _without(told: list[Line], label: str) -> list[Line]:
    """Return the opening without a label and what goes on under it."""
    kept: list[Line] = []
    under = ""
    for each in told:
        under = each[0] if each[0] else under
        if under != label:
            kept.append(each)
    return kept


def _answered(request: Request, opened: Opened, report: Report | None = None) -> Above:
    try:
        found = above(judge_of(request).report(opened) if report is None else report, spoken(request))
    except PlacedError as error:
        found = Above("bad", "", "", "", fault=error)
    return replace(found, untaken=tuple(_untaken(request, opened.name)))


def _untaken(request: Request, name: str) -> Iterator[dict[str, str]]:
    """Yield where each value stands that was refused, and what was typed."""
    words, held = words_of(request), cases_of(request).untaken(name)
    for step in STEPS:
        for each in fields_of(step):
            if each in held:
                yield {
                    "step": step, "identifier": each.replace(".", "-"), "words": field_words(each, words),
                    "typed": held[each].typed[:_LONGEST_TYPED],
                }  # fmt: skip


def refuse_untaken(request: Request, name: str) -> None:
    """Print nothing as if a value had not been measured that was typed and refused. Raises ``UnreadableInput``."""
    for each in _untaken(request, name):
        raise UnreadableInput(
            each["words"], f"'{each['typed']}' is not saved, so it would be missing here",
            "mend or empty that field first",
        )  # fmt: skip


def pack_head(request: Request, opened: Opened, report: Report | None = None) -> dict[str, Any]:
    """Return what stands at the top of every view of a pack: its name, where one can go, and the answer."""
    return {
        "name": opened.name,
        "opened": opened,
        "steps": NAV,
        "answer": _answered(request, opened, report),
        "may_undo": cases_of(request).may_undo(opened.name),
    }


def every(request: Request) -> Response:
    """List the packs of the folder with the answer of each, or those that one text has offered."""
    names = cases_of(request).names()
    offered = [each for each in request.query_params.getlist("offered") if each in names]
    found = [_entry(request, name) for name in (offered if offered else names)[:_MOST_JUDGED]]
    return render(request, "packs.html", packs=found, offered=bool(offered))


def _entry(request: Request, name: str) -> dict[str, Any]:
    try:
        opened = cases_of(request).open(name)
        report = judge_of(request).report(opened)
    except PlacedError as error:
        return {"name": name, "title": name, "headline": None, "fault": error}
    return {
        "name": name,
        "title": report.title,
        "headline": answers.headline(report, spoken(request)),
        "fault": None,
    }


def first(request: Request) -> Response:
    """Go on where a pack was left: at its listing where there is one, else at the pack."""
    name = request.path_params["name"]
    opened = cases_of(request).open(name)
    seen = opened.case_file is not None and opened.case_file.case.is_seen
    return to_pack(name, "listing" if opened.data.get("claim") and not seen else "pack")


def step(request: Request) -> Response:
    """Show one step of a pack: its form under the answer."""
    _known(request)
    return _page(request, Outcome(cases_of(request).open(request.path_params["name"])))


def _known(request: Request) -> str:
    here: str = request.path_params["step"]
    if here not in STEPS:
        raise HTTPException(404)
    return here


def change(request: Request, form: FormData) -> Response:
    """Take what was typed: the whole page again, or the parts of it that differ now."""
    here, name = _known(request), request.path_params["name"]
    done = cases_of(request).change(name, typed_in(form, here))
    wrong, then = [*done.refused, *done.clashing], str(form.get("then", ""))
    if is_live(request):
        answer = _parts(request, done, form)
        if then in NAV and not wrong:
            answer.headers["hx-redirect"] = to_pack(name, then).headers["location"]
        elif wrong and then in NAV:
            # Whoever wants to go on is led to what keeps him here.
            answer.headers["hx-reswap"] = f"innerHTML show:#f-{wrong[0].replace('.', '-')}:top"
        return answer
    if wrong:
        return _page(request, done, form, status=422)
    return to_pack(name, then if then in NAV else here, query="saved")


def undo(request: Request, form: FormData) -> Response:
    """Take the last change back."""
    name, here = request.path_params["name"], form.get("step")
    photos = photos_of(request)
    before = photos.of(name)
    done = cases_of(request).undo(name)
    photos.follow(before, photos.of(name))
    shown = str(here) if here in NAV else "pack"
    fields = [each for each in done.saved if each in set(fields_of(shown))] if shown in STEPS else []
    part = f"f-{fields[0].replace('.', '-')}" if fields else ""
    return to_pack(name, shown, part, query=urlencode([("undone", each) for each in done.saved]))


def _undone(request: Request, words: Texts) -> list[str]:
    """Return what the fields are called that an undoing has just changed."""
    return [
        field_words(each, words) for each in request.query_params.getlist("undone") if each in case_fields()
    ]


def _page(request: Request, done: Outcome, form: FormData | None = None, status: int = 200) -> Response:
    here, opened, words, judge = (
        request.path_params["step"],
        done.opened,
        words_of(request),
        judge_of(request),
    )
    untaken = {
        each: held for each, held in cases_of(request).untaken(opened.name).items() if each in fields_of(here)
    }
    refused = {each: held.why for each, held in untaken.items()} | done.refused
    typed = {each: held.typed for each, held in untaken.items()}
    typed |= {name: str(form[name]) for name in (*done.refused, *done.clashing) if form and name in form}
    text = cases_of(request).listing(opened.name) if here == "listing" else None
    return render(
        request, "pack.html", status, step=here, **pack_head(request, opened),
        groups=shown_groups(here, opened.data, words, typed, refused, done.clashing),
        listing=None if text is None
        else marked(judge.reading(text), text, words, _changed_claims(judge, text, opened)),
        cells=_near(opened, request), registry=judge.stamp(), marking=MARKINGS.get(here), then=_after(here),
        **shown_photos(opened),
        **_next(request, opened, at_once=_at_once(request, opened)),
        wrong=[shown_field(each, opened.data, words) for each in (*done.refused, *done.clashing)],
        saved="saved" in request.query_params, undone=_undone(request, words),
    )  # fmt: skip


def _changed_claims(judge: Judge, text: str, opened: Opened) -> frozenset[str]:
    """Return the claims, by their last names, that no pack which the listing offers was read with."""
    read = judge.claims_read(text)
    names = [name for name in fields_of("listing") if name.startswith("claim.")]
    return frozenset(
        name.removeprefix("claim.")
        for name in names
        if all(text_of(name, each) != text_of(name, opened.data) for each in read)
    )


def _after(step: str) -> str:
    """Return where a form leads on to; the logs of a test are asked of nobody who has none."""
    return {"listing": "pack", "pack": "use"}.get(step, "papers")


def _at_once(request: Request, opened: Opened) -> bool:
    """Whether what to find out first is to stand in the page: it is known, or asked for where no script runs."""
    return "steps" in request.query_params or judge_of(request).has_steps(opened)


def _parts(request: Request, done: Outcome, form: FormData) -> Response:
    """Return the answer, and the fields whose state differs from what the open page shows."""
    words, data = words_of(request), done.opened.data
    fields, registry = set(fields_of(request.path_params["step"])), judge_of(request).stamp()
    touched = [*done.saved, *done.refused, *done.clashing]
    states = [
        shown_field(name, data, words, str(form[name]), done.refused.get(name), clash=name in done.clashing)
        for name in touched
    ] + [shown_field(name, data, words) for name in done.as_before]
    # A cell that was stored or retired meanwhile is another answer to the name that stands there.
    renamed = MARKINGS.get(request.path_params["step"]) in touched or form.get("registry") not in (
        None,
        registry,
    )
    answer = render(
        request, "parts.html", name=done.opened.name, step=request.path_params["step"], states=states,
        renewed=[
            shown_field(name, data, words, elsewhere=name in done.elsewhere)
            for name in (*done.elsewhere, *done.followed)
            if name in fields
        ],
        opened=done.opened,
        answer=_answered(request, done.opened), may_undo=cases_of(request).may_undo(done.opened.name),
        cells=_near(done.opened, request) if renamed else None, registry=registry,
    )  # fmt: skip
    # What to find out first is asked for anew, once nothing has been typed for a moment.
    answer.headers["hx-trigger"] = "again"
    return answer


def watch(request: Request) -> Response:
    """Say whether a case file was changed by somebody else since the open page has seen it."""
    opened = cases_of(request).open(request.path_params["name"])
    if request.query_params.get("seen") == opened.digest:
        return Response(status_code=204)
    return render(request, "watch.html", name=opened.name, opened=opened, changed=True, oob=False)


# -- what to find out next ---------------------------------------------------------------------------------------


def next_steps(request: Request) -> Response:
    """Return what to find out first, and the marks of those fields in the form."""
    opened = cases_of(request).open(request.path_params["name"])
    here = request.query_params.get("step", "pack")
    fields = list(fields_of(here)) if here in STEPS else []
    return render(
        request, "next.html", name=opened.name, **_next(request, opened), step=here,
        identifiers=[each.replace(".", "-") for each in fields],
    )  # fmt: skip


def _next(request: Request, opened: Opened, *, at_once: bool = True) -> dict[str, Any]:
    """Return what to find out first, None while it is being looked for; and what is left where that is nothing."""
    nothing = {"next": None, "left": None}
    if not at_once:
        return nothing
    try:
        report = judge_of(request).report(opened, steps=True, patient=False)
    except PlacedError:
        return nothing
    if not judge_of(request).has_steps(opened):
        return nothing
    return {"next": list(_asked(report, spoken(request))), "left": _left(report, words_of(request))}


def _left(report: Report, words: Texts) -> dict[str, Any]:
    """Return whether anything is open, and the fields of which nobody knows what the figures rest on."""
    unknown = dict.fromkeys(name for each in report.findings for name in each.unknown)
    fields = [
        {"step": step, "identifier": name.replace(".", "-"), "words": field_words(name, words)}
        for step in ("listing", "pack")
        for name in fields_of(step)
        if name in unknown
    ]
    unsettled = any(each.verdict is Verdict.NOT_SETTLED for each in report.findings)
    state = "decided" if report.answer.conclusion in _DECIDED else "open" if unsettled else "settled"
    return {"state": state, "fields": fields[:_MOST_LEFT] if state == "open" else []}


def _asked(report: Report, language: Language) -> Iterator[dict[str, Any]]:
    for each in report.answer.ask_first:
        place = next(
            ((step, name) for step in STEPS for name in fields_of(step) if name == each.observe), None
        )
        if place is None:
            # A group is asked for: its first field stands for it.
            place = next(
                (
                    (step, name)
                    for step in STEPS
                    for name in fields_of(step)
                    if name.startswith(f"{each.observe}.")
                ),
                None,
            )
        yield {
            "text": set_apart(in_language(partial(asked_text, each), language)),
            "settles": set_apart(in_language(partial(_figures, each.settles), language)),
            "waiting": set_apart(in_language(partial(_figures, each.waiting), language)),
            "step": place[0] if place else None,
            "identifier": place[1].replace(".", "-") if place else None,
        }


def _figures(names: Sequence[str], language: Language) -> str:
    return joined([figure_name(each, language) for each in names], language)


# -- cells by what is printed on them ----------------------------------------------------------------------------


def cells(request: Request) -> Response:
    """Return the registered cells whose names are near what is being typed."""
    typed = next(
        (request.query_params[each] for each in MARKINGS.values() if each in request.query_params), ""
    )[:200]
    return render(
        request,
        "cells_near.html",
        name=request.path_params["name"],
        cells=_named(request, typed),
        registry=judge_of(request).stamp(),
        oob=False,
    )


def _near(opened: Opened, request: Request) -> dict[str, Any] | None:
    """Return the cells near the name that a step of the case holds."""
    name = MARKINGS.get(request.path_params["step"])
    return _named(request, text_of(name, opened.data)) if name is not None else None


def _named(request: Request, marking: str) -> dict[str, Any] | None:
    if not marking.strip():
        return None
    try:
        registry = judge_of(request).cells()
        match = match_marking(marking, registry)
    except PlacedError as error:
        return {"typed": marking, "cell": None, "near": [], "empty": False, "fault": error}
    return {
        "typed": marking, "cell": match.cell, "near": match.suggestions[:MOST_SUGGESTIONS],
        "empty": registry.count == 0, "fault": None,
    }  # fmt: skip
