"""HTML that is escaped by the way it is built: text is text unless a function here made it markup."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from verifier.report.layout import printable
from verifier.words import InEnglish


class Markup(str):
    """Text that is HTML already."""

    __slots__ = ()


Content = str | Markup


def text(content: Content) -> Markup:
    """Return content as HTML: markup as it is, anything else escaped, and what is not to be seen shown."""
    return content if isinstance(content, Markup) else Markup(escape(printable(content)))


def given(content: str) -> Markup:
    """Return words from a case, listing or sheet, set apart so that their direction turns nothing else."""
    return tag("bdi", content, lang="en") if isinstance(content, InEnglish) else tag("bdi", content)


def spoken(content: str) -> Content:
    """Return words of our own: as they are, or set apart as English where the reader's language lacks them."""
    return tag("span", content, lang="en") if isinstance(content, InEnglish) else content


def join(*contents: Content, by: str = "") -> Markup:
    """Return contents one after another."""
    return Markup(by.join(text(each) for each in contents))


def tag(name: str, *contents: Content, **attributes: str) -> Markup:
    """Return an element without its empty attributes; `class_` is written class, `data_label` data-label."""
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{text(value)}"' for key, value in attributes.items()
    )
    return Markup(f"<{name}{written}>{join(*contents)}</{name}>")


def bullets(items: Iterable[Content], *, ordered: bool = False) -> Markup:
    """Return a list."""
    return tag("ol" if ordered else "ul", *(tag("li", each) for each in items))


def table(
    caption: Content, header: Sequence[str], rows: Iterable[Sequence[Content]], marked: Iterable[bool] = ()
) -> Markup:
    """Return a table whose first column names its rows; each cell carries its column's name for a phone.

    Parameters
    ----------
    caption : text or markup
    header : sequence of n_columns texts
    rows : iterable of sequences of n_columns texts or markup
    marked : iterable of bool, optional
        For each row whether it is to stand out.
    """
    head = tag("tr", *(tag("th", spoken(each), scope="col") for each in header))
    stands_out = iter(marked)
    body = []
    for first, *others in rows:
        cells = [tag("th", first, scope="row")]
        cells += [
            tag("td", tag("span", each), data_label=label, class_="nil" if each == "-" else "")
            for label, each in zip(header[1:], others, strict=True)
        ]
        body.append(tag("tr", *cells, class_="limit" if next(stands_out, False) else ""))
    # Three short columns fit a phone as they are; more of them are stacked there.
    wide = "stacks" if len(header) > 3 else ""
    return tag("table", tag("caption", caption), tag("thead", head), tag("tbody", *body), class_=wide)
