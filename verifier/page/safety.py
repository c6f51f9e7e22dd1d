"""Who may ask, from where, and what an answer may do: checked before any view, for every request.

A page of another site can make a browser send requests here, and can let its own name point to this machine. So the
host must be one of ours, a change must come from our own page and carry its token, and whoever asks must have been
shown the key.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Awaitable, Callable
from typing import Any

from starlette.datastructures import FormData, Headers, MutableHeaders
from starlette.requests import Request, cookie_parser
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from verifier.page.settings import Settings

COOKIE = "packclaim"
TOKEN = "token"  # noqa: S105 - the name of a field
# Fields of a form, and letters of the longest: a listing and room to spare.
MOST_FIELDS, LONGEST_FIELD = 1000, 1_000_000

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; frame-src 'self'; frame-ancestors 'self'; base-uri 'none'"
)
# A report brings its own style, and is nobody's way back into the page.
REPORT_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'self'; sandbox allow-modals allow-popups"
)
# A picture is vector graphics with styles of its own.
PICTURE_POLICY = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
SAFE = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    # With "no-referrer" a browser would not say where a change comes from.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}
"""What every answer carries, unless it says otherwise itself."""
_OPEN_TO_ALL = ("/static/", "/open")

View = Callable[[Request, FormData], Response]


class Guard:
    """Refuses what does not come from our own page in a browser that has the key."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self.app, self.settings = app, settings

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in SAFE.items():
                    headers.setdefault(name, value)
            await send(message)

        refusal = self._refusal(scope)
        await (refusal if refusal is not None else self.app)(scope, receive, with_headers)

    def _refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self.settings.hosts:
            return PlainTextResponse("This address is not one under which the page is served.\n", 421)
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return PlainTextResponse("There is no such request.\n", 405)
        if scope["method"] == "POST" and headers.getlist("origin") != [
            f"{self.settings.scheme}://{hosts[0]}"
        ]:
            return PlainTextResponse("A change must come from the page itself.\n", 403)
        if scope["path"].startswith(_OPEN_TO_ALL) or has_key(headers, self.settings):
            return None
        return HTMLResponse(_LOCKED, 403)


_LOCKED = (
    '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>packclaim</title>'
    '<meta name="viewport" content="width=device-width, initial-scale=1">'
    '<link rel="stylesheet" href="/static/report.css"></head><body><main><h1>This page needs its key</h1>'
    "<p>Open it by the link that packclaim printed when it was started, or by its QR code.</p></main></body></html>"
)


def has_key(headers: Headers, settings: Settings) -> bool:
    """Whether a request comes from a browser that was shown the key."""
    shown = cookie_parser(headers.get("cookie", "")).get(COOKIE, "")
    return hmac.compare_digest(shown.encode(), _derived(settings, "cookie").encode())


def token_of(settings: Settings) -> str:
    """Return what every change must carry; only our own page can read it."""
    return _derived(settings, "token")


def _derived(settings: Settings, purpose: str) -> str:
    # Neither the cookie nor the token is the key, so that reading one gives none of the others.
    return hmac.new(settings.key.encode(), purpose.encode(), hashlib.sha256).hexdigest()


def opened(request: Request) -> Response:
    """Take the key of a link and go on to the page, without the key in the address."""
    settings: Settings = request.app.state.settings
    if not hmac.compare_digest(request.query_params.get("key", "").encode(), settings.key.encode()):
        return HTMLResponse(_LOCKED, 403)
    answer = RedirectResponse("/", 303)
    answer.set_cookie(
        COOKIE, _derived(settings, "cookie"), httponly=True, samesite="strict", secure=settings.encrypted
    )
    return answer


def changing(view: View, longest: int = LONGEST_FIELD) -> Callable[[Request], Awaitable[Response]]:
    """Return a view that takes a form: only with the token of our own page, and no field longer than so many bytes."""
    from starlette.concurrency import run_in_threadpool

    async def checked(request: Request) -> Response:
        async with request.form(max_files=4, max_fields=MOST_FIELDS, max_part_size=longest) as form:
            shown: Any = form.get(TOKEN)
            wanted = token_of(request.app.state.settings)
            if not isinstance(shown, str) or not hmac.compare_digest(shown.encode(), wanted.encode()):
                return PlainTextResponse("The page is out of date; load it again.\n", 403)
            return await run_in_threadpool(view, request, form)

    checked.__name__ = view.__name__
    return checked
