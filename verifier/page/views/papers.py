"""What leaves the page: reports, the label, the message to the seller, the case file, and packs side by side."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from verifier import Report, compare_packs
from verifier.compare import ORDERS
from verifier.page.rendering import download, render, report_page, spoken, words_of
from verifier.page.views.packs import cases_of, judge_of, pack_head, refuse_untaken
from verifier.page.views.photos import shown_photos
from verifier.questions import ENGLISH, languages, load_language, message
from verifier.report.html import answer as answers

_FEW_QUESTIONS = 4
_MOST_COMPARED = 40


def papers(request: Request) -> Response:
    """Show what can be printed, sent and kept of a pack."""
    opened = cases_of(request).open(request.path_params["name"])
    report = judge_of(request).report(opened, steps=True)
    code, most = _language(request), _most(request)
    others = [each for each in cases_of(request).names() if each != opened.name][:_MOST_COMPARED]
    return render(
        request, "papers.html", step="papers", **pack_head(request, opened, report),
        letter=_letter(request, code, most), code=code, most=most,
        known=[(each, load_language(each).texts["name"]) for each in languages()],
        others=[(each, cases_of(request).title(each)) for each in others], **shown_photos(opened),
    )  # fmt: skip


def _language(request: Request) -> str:
    """Return the language of the message: as chosen, else the reader's."""
    asked = request.query_params.get("language", words_of(request).language)
    return asked if asked in languages() else ENGLISH


def _most(request: Request) -> int:
    asked = request.query_params.get("most", "")
    return int(asked) if asked.isdecimal() and 1 <= int(asked) <= 100 else _FEW_QUESTIONS


def _letter(request: Request, code: str, most: int) -> str | None:
    """Return the message to the seller; None for a customer's pack, or one of which no seller says anything."""
    opened = cases_of(request).open(request.path_params["name"])
    report = judge_of(request).report(opened, steps=True)
    if not opened.data.get("claim") or report.case.case.customer:
        return None
    return message(report.asked_first()[:most], report.case, load_language(code))


def questions(request: Request) -> Response:
    """Return the message to the seller as plain text."""
    letter = _letter(request, _language(request), _most(request))
    if letter is None:
        raise HTTPException(404)
    return PlainTextResponse(letter)


def case_file(request: Request) -> Response:
    """Return the case file, to keep or to send on."""
    opened = cases_of(request).open(request.path_params["name"])
    plain = "".join(
        each if each.isascii() and (each.isalnum() or each in "-_.") else "-" for each in opened.name
    )
    kind = "application/json" if opened.path.suffix.lower() == ".json" else "application/yaml"
    return download(opened.text, plain, kind)


def paper(request: Request) -> Response:
    """Return a report, a one-page report or a label, as the program writes it to a file."""
    from verifier.report import as_handover, as_html, as_label

    kind = request.path_params["paper"]
    if kind not in ("report", "handover", "label"):
        raise HTTPException(404)
    opened = cases_of(request).open(request.path_params["name"])
    refuse_untaken(request, opened.name)
    report = judge_of(request).report(opened, steps=True, explain=kind == "report")
    language = spoken(request)
    if kind == "handover":
        return report_page(
            as_handover.render([report], [cases_of(request).folder], language=language, today=date.today())
        )
    return report_page(
        as_html.render([report], language=language)
        if kind == "report"
        else as_label.render([report], language=language)
    )


def compare(request: Request) -> Response:
    """Show several packs side by side, ranked by what each can be trusted with; ask which where fewer than two are."""
    from verifier.report.comparison import trusted

    names = _compared_names(request)
    if len(names) < 2:
        found = [(each, cases_of(request).title(each)) for each in cases_of(request).names()[:_MOST_COMPARED]]
        return render(request, "compare.html", packs=found, chosen=names, orders=list(ORDERS))
    reports = _reports(request, names)
    comparison = compare_packs(reports, _order(request))
    named = {id(report.answer): (name, report) for name, report in zip(names, reports, strict=True)}
    language = spoken(request)
    rows = []
    for pack in comparison.packs:
        name, report = named[id(pack.answer)]
        rows.append(
            {
                "rank": pack.rank, "name": name, "title": pack.title, "headline": answers.headline(report, language),
                "current": trusted(pack.trusted_a, "A", language),
                "energy": trusted(pack.trusted_wh, "Wh", language),
                "open": len(pack.open_figures),
            }
        )  # fmt: skip
    return render(
        request, "compared.html", rows=rows, chosen=names, by=comparison.by, orders=list(ORDERS),
        alike=not comparison.notes,
    )  # fmt: skip


def comparison(request: Request) -> Response:
    """Return several packs side by side as the program writes it."""
    from verifier.report.comparison import RENDERERS

    names = _compared_names(request)
    if len(names) < 2:
        raise HTTPException(404)
    return report_page(RENDERERS["html"](compare_packs(_reports(request, names), _order(request))))


def _compared_names(request: Request) -> list[str]:
    return list(dict.fromkeys(request.query_params.getlist("pack")))[:_MOST_COMPARED]


def _order(request: Request) -> str:
    by = request.query_params.get("by", "")
    return by if by in ORDERS else next(iter(ORDERS))


def _reports(request: Request, names: Sequence[str]) -> list[Report]:
    return [judge_of(request).report(cases_of(request).open(name), steps=True) for name in names]
