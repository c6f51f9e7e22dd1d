"""Templates into answers: every text of a case or a listing is escaped, unless a renderer made it markup."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode

from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup, escape
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from registry.errors import PlacedError
from verifier import case_fields
from verifier.page.safety import PICTURE_POLICY, REPORT_POLICY, token_of
from verifier.page.texts import ENGLISH, LANGUAGES, Texts, preferred, texts
from verifier.report.html import markup as report_markup
from verifier.report.html.shapes import sprites
from verifier.words import Lacking, Language, language_of
from verifier.words.translated import in_readers_words, translated, translated_error

LANGUAGE = "language"
REPORT_STYLE = Path(__file__).parents[1] / "report" / "html" / "style.css"
_FOLDER = Path(__file__).parent / "templates"
# A dotted name of a field, or the last part of one that only a program writes so. What is quoted stands in a file so,
# and what stands in braces is a slot.
_A_FIELD = re.compile(
    r"'[^']*'|(?<!\{)\b(?:(?:case|claim|observed|use)(?:\.[a-z0-9_]+)+|[a-z]+(?:_[a-z0-9]+)+)\b"
)
_NAMESPACE = 'xmlns="http://www.w3.org/2000/svg"'


@cache
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(_FOLDER), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    made.filters["marked"] = _of_renderer
    made.filters["in_words"] = in_words
    made.filters["said"] = said
    made.filters["shown"] = lambda text, words: in_readers_words(text, language_of(words.language))
    made.globals["drawing"] = _drawing
    made.globals["sprites"] = sprites()
    return made


def _of_renderer(content: str) -> Markup:
    """Return what a renderer of reports made: markup as it is, words escaped as a report escapes them."""
    return Markup(report_markup.text(content))  # noqa: S704 - that function escapes what is not markup


def in_words(text: object) -> str:
    """Return what the program says of a case with its fields called as a person calls them."""
    return _A_FIELD.sub(lambda found: found[0] if found[0][0] == "'" else _field_words(found[0]), str(text))


def _field_words(name: str) -> str:
    fields = case_fields()
    found = next((fields[each] for each in (name, f"claim.{name}") if each in fields), None)
    if found is None and "." not in name:
        # Of a strip or a lead an error names the last part alone.
        found = next((each for full, each in fields.items() if full.endswith(f".{name}")), None)
    return name if found is None else found.words


def said(told: object, words: Texts) -> Markup:
    """Return what the program says in the reader's language, else in English and marked so."""
    found = None
    if words.language != ENGLISH:
        language = language_of(words.language)
        found = (
            translated_error(told, language)
            if isinstance(told, PlacedError)
            else translated(str(told), language)
        )
    if found is None and words.language != ENGLISH:
        return Markup('<span lang="en">{}</span>').format(in_words(told))
    return escape(in_words(told) if found is None else found)


@pass_context
def _drawing(context: Context, name: str) -> Markup:
    """Return a drawing of our own, with its title in the reader's language."""
    source = (_FOLDER / "drawings" / f"{name}.svg").read_text(encoding="utf-8")
    return Markup(source).format(title=context["t"](f"drawings.{name}"))  # noqa: S704 - our own file


def words_of(request: Request) -> Texts:
    """Return the texts in the language of a request."""
    return texts(preferred(request.cookies.get(LANGUAGE), request.headers.get("accept-language", "")))


class OnThePage(Language):
    """A language in which the answer names no option and no command, but what the page has in its place."""

    def __init__(self, words: Texts) -> None:
        super().__init__(words.language)
        self._words, self._others = words, language_of(words.language)

    @property
    def english(self) -> bool:
        """Never: a sentence that stands already as English may name a command."""
        return False

    def text(self, group: str, code: str, english: Mapping[str, str]) -> str:
        """Return a text of the answer, as the page says it. Raises ``Lacking`` as any language does."""
        found = self._words.word("instead", f"{group}.{code}")
        if found is not None:
            return found
        if self._others.english and code not in english:
            # Whoever asks so has a text that no language has a pattern for; it is said in English as it stands.
            raise Lacking(f"{self.code}: {group}.{code}")
        text = self._others.text(group, code, english)
        # English names some fields as a file has them.
        return in_words(text) if self._others.english else text

    def group(self, name: str) -> Mapping[str, str]:
        """Return all texts of a group, which name no command."""
        return self._others.group(name)

    def name(self, group: str, code: str, english: str) -> str:
        """Return a name, as the page says it."""
        found = self._words.word("instead", f"{group}.{code}")
        return found if found is not None else self._others.name(group, code, english)


def spoken(request: Request) -> Language:
    """Return the language in which the answer is said to a reader."""
    return OnThePage(words_of(request))


def is_live(request: Request) -> bool:
    """Whether only parts of the page are asked for, to be put into the one that is open."""
    return request.headers.get("hx-request") == "true"


def render(request: Request, template: str, status: int = 200, **context: Any) -> Response:
    """Return a page."""
    words = words_of(request)
    return HTMLResponse(
        _environment().get_template(template).render(
            t=words, languages=LANGUAGES, token=token_of(request.app.state.settings), here=request.url.path, **context
        ),
        status,
        {"vary": "cookie, accept-language, hx-request"},
    )  # fmt: skip


def to_pack(name: str, step: str, part: str = "", query: str = "") -> Response:
    """Go on to a step of a pack, whatever its file is called, and to a part of that view."""
    place = f"/packs/{quote(name, safe='')}/{step}{f'?{query}' if query else ''}{f'#{part}' if part else ''}"
    return RedirectResponse(place, 303)


def to_packs(names: Sequence[str], step: str) -> Response:
    """Go on to the one pack that was made, or to the list of the several that one text offers."""
    if len(names) == 1:
        return to_pack(names[0], step)
    return RedirectResponse(f"/packs?{urlencode([('offered', each) for each in names])}", 303)


def report_page(html: str) -> Response:
    """Return a report as it is, with a policy of its own."""
    return HTMLResponse(html, headers={"content-security-policy": REPORT_POLICY})


def picture(svg: str) -> Response:
    """Return a drawing of a report as a picture of its own, light or dark as the page is."""
    start = svg.index(">") + 1
    alone = f"{svg[:start].replace('<svg', f'<svg {_NAMESPACE}', 1)}<style>{_palette()}</style>{svg[start:]}"
    return Response(alone, media_type="image/svg+xml", headers={"content-security-policy": PICTURE_POLICY})


@cache
def _palette() -> str:
    """Return the colours that the drawings of reports name, from the style sheet of the reports."""
    return REPORT_STYLE.read_text(encoding="utf-8").partition("* {")[0]


def download(data: str | bytes, name: str, kind: str) -> Response:
    """Return a file to keep; its name is one that this program made."""
    return Response(data, media_type=kind, headers={"content-disposition": f'attachment; filename="{name}"'})
