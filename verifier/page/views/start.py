"""The start: what somebody has in hand, and the first case made of it."""

from __future__ import annotations

import io
import re

from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

import verifier
from registry.errors import PlacedError
from registry.input_bounds import LISTING_FILE
from verifier.errors import UnreadableInput
from verifier.page.rendering import LANGUAGE, render, to_pack, to_packs, words_of
from verifier.page.safety import PICTURE_POLICY
from verifier.page.texts import LANGUAGES

STAGES = ("arrived", "opened", "tested")
_FEW = 8
_LINK = re.compile(r"(https?://|www\.)\S+", re.IGNORECASE)


def start(request: Request) -> Response:
    """Show the one question that everything begins with."""
    return _page(request)


def _page(request: Request, status: int = 200, **more: object) -> Response:
    cases = request.app.state.cases
    return render(
        request, "start.html", status, recent=[(each, cases.title(each)) for each in cases.names()[:_FEW]],
        network=request.app.state.settings.network, encrypted=request.app.state.settings.encrypted, **more,
    )  # fmt: skip


def phone(request: Request) -> Response:
    """Return the code by which a phone in the shop's network opens the page."""
    import segno

    settings = request.app.state.settings
    if settings.network is None:
        raise HTTPException(404)
    drawn = io.BytesIO()
    segno.make(settings.link(settings.network), error="m").save(drawn, kind="svg", scale=6, border=2)
    return Response(
        drawn.getvalue(), media_type="image/svg+xml", headers={"content-security-policy": PICTURE_POLICY}
    )


def language(request: Request) -> Response:
    """Keep the reader's language, and go back."""
    answer = RedirectResponse(_inside(request.query_params.get("back", "/")), 303)
    code = request.path_params["code"]
    if code in LANGUAGES:
        answer.set_cookie(LANGUAGE, code, httponly=True, samesite="strict", max_age=365 * 24 * 3600)
    return answer


def _inside(place: str) -> str:
    """Return a place of this page to go to, never one of another site."""
    return place if place.startswith("/") and not place.startswith(("//", "/\\")) else "/"


def listing(request: Request, form: FormData) -> Response:
    """Make a case of every pack that a listing offers, holding what the seller claims of it."""
    try:
        text = _text_of(form)
    except PlacedError as error:
        return _page(request, 422, problem=error)
    reading = request.app.state.judge.reading(text)
    if not any(variant.claims for variant in reading.variants):
        return _page(request, 422, unread=text, unread_link=_LINK.fullmatch(text.strip()) is not None)
    before = request.app.state.cases.read_from(text)
    if before and form.get("anew") is None:
        return _page(
            request, 200, before=[(each, request.app.state.cases.title(each)) for each in before], text=text
        )
    names = []
    for draft in verifier.case_drafts(reading):
        title = str(verifier.parse_case(draft, "listing").case.case.title)
        names.append(request.app.state.cases.create(title, draft, text))
    return to_packs(names, "listing")


def _text_of(form: FormData) -> str:
    file, text = form.get("file"), form.get("text")
    if isinstance(file, UploadFile) and file.filename:
        return verifier.listing_text(file.file.read(LISTING_FILE.most + 1), file.filename)
    if not isinstance(text, str) or not text.strip():
        raise UnreadableInput("listing", "there is no text", "paste the listing, or choose a saved page")
    # A browser sends every line end as two signs.
    return verifier.listing_text(text.replace("\r\n", "\n").encode(), "listing")


def new(request: Request, form: FormData) -> Response:
    """Make an empty case for a pack in hand."""
    stage, title = form.get("stage"), form.get("title")
    words = words_of(request)
    named = title.strip()[:100] if isinstance(title, str) else ""
    named = named if named else words("start.unnamed")
    data = {"case": {"title": named, "stage": stage if stage in STAGES else STAGES[0]}}
    name = request.app.state.cases.create(named, verifier.edited_text("", data, schema=None))
    return to_pack(name, "pack")
