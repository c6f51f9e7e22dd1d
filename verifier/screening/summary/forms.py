"""A summary as a page, a spreadsheet, Markdown, or text for a terminal."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

from verifier.errors import UnreadableInput
from verifier.report.layout import block, printable
from verifier.report.layout import table as text_table
from verifier.screening.summary.contents import (
    BY_CONCLUSION,
    BY_FIGURE,
    BY_SELLER,
    OF_SELLERS,
    Summary,
    Table,
)
from verifier.screening.words import say

_SHORT = (BY_CONCLUSION, BY_FIGURE)
# What a spreadsheet takes for the name of a sheet: ECMA-376 as spreadsheets apply it.
_LONGEST_TITLE, _NOT_IN_TITLE = 31, re.compile(r"[\[\]:*?/\\]")


def _said(summary: Summary, code: str, **slots: object) -> str:
    return say("summary", code, summary.language, **slots)


def form_of(name: str) -> str:
    """Return the ending that says in which form a summary is written.

    Raises
    ------
    UnreadableInput
        When it is none of `ENDINGS`.
    """
    ending = Path(name).suffix.lower()
    if ending not in ENDINGS:
        found = f"ends in '{ending}'" if ending else "has no ending"
        raise UnreadableInput(f"--summary {name}", found, f"use {', '.join(ENDINGS)}")
    return ending


def render(summary: Summary, ending: str) -> bytes:
    """Return a summary in the form of an ending."""
    return ENDINGS[ending](summary)


def as_text(summary: Summary) -> str:
    """Return what a terminal shows after a run: the headline, listings by conclusion, figures."""
    blocks = [block(summary.headline)]
    for each in summary.tables:
        if each.about in _SHORT:
            right = range(1, len(each.header))
            blocks.append(text_table(each.header, [tuple(map(str, row)) for row in each.rows], right=right))
    blocks += [block(each) for each in summary.how_to_read[:1]]
    blocks.append("\n".join(block(f"- {each}", indent="  ") for each in summary.cautions))
    return "\n\n".join(blocks) + "\n"


def _markdown(summary: Summary) -> bytes:
    parts = [
        f"# {_escaped(_said(summary, 'screened', name=summary.name))}",
        f"**{_escaped(summary.headline)}**",
    ]
    for each in summary.tables:
        lines = [f"## {_escaped(each.title)}", "", _escaped(each.caption), ""] if each.caption else [
            f"## {_escaped(each.title)}", "",
        ]  # fmt: skip
        lines.append(f"| {' | '.join(map(_escaped, each.header))} |")
        lines.append(f"|{'---|' * len(each.header)}")
        lines += [f"| {' | '.join(_escaped(str(value)) for value in row)} |" for row in each.rows]
        parts.append("\n".join(lines))
    parts.append(f"## {_said(summary, 'how_to_read')}\n\n" + "\n\n".join(summary.how_to_read))
    parts.append(
        f"## {_said(summary, 'judged_by')}\n\n"
        + "\n".join(f"- {name}: {_escaped(value)}" for name, value in summary.judged_by.items())
    )
    parts.append(f"## {_said(summary, 'cautions')}\n\n" + "\n".join(f"- {each}" for each in summary.cautions))
    return ("\n\n".join(parts) + "\n").encode()


def _escaped(text: str) -> str:
    """Return text in which nothing is taken for Markdown or HTML."""
    plain = printable(" ".join(text.split())).replace("&", "&amp;").replace("<", "&lt;")
    return "".join(f"\\{letter}" if letter in r"\`*_[]|#~" else letter for letter in plain)


def _page(summary: Summary) -> bytes:
    from verifier.report.as_html import page
    from verifier.report.html.markup import Content, Markup, bullets, given, join, table, tag, text
    from verifier.report.html.sections import section
    from verifier.screening.share_bars import Bar, share_bars

    def _linked(name: Content, anchor: str, file: str | None) -> Markup:
        # To the listings below, and to the file of all of them where there is one.
        shown = tag("a", name, href=f"#{anchor}") if anchor else text(name)
        return join(shown, " ", tag("a", _said(summary, "file"), href=quote(file))) if file else shown

    def drawn(each: Table) -> str:
        # Only what others wrote may be broken within a word.
        of_sellers = each.about not in _SHORT
        rows = [tuple(given(str(value)) if of_sellers else str(value) for value in row) for row in each.rows]
        if each.about == BY_SELLER:
            rows = [
                (_linked(row[0], anchor, summary.files.get(str(source[0]))), *row[1:])
                for row, anchor, source in zip(rows, each.anchors, each.rows, strict=True)
            ]
        elif each.about == OF_SELLERS:
            rows = [
                (tag("span", row[0], id=anchor) if anchor else row[0], *row[1:])
                for row, anchor in zip(rows, each.anchors, strict=True)
            ]
        picture: str = ""
        if each.about == BY_FIGURE:
            shown = [Bar(label, counts) for label, counts in summary.bars]
            bars = share_bars(shown, "figures", each.title, summary.language)
            picture = tag("figure", bars, tag("figcaption", _said(summary, "bars")))
        return section(each.title, "h2", picture, table(each.caption, each.header, rows))

    by = (tag("div", tag("dt", name), tag("dd", value)) for name, value in summary.judged_by.items())
    return page(
        _said(summary, "screened", name=summary.name),
        tag("p", _said(summary, "kicker"), class_="kicker"),
        tag("h1", given(summary.name), class_="title"),
        tag(
            "section",
            tag("p", summary.headline, class_="headline"),
            class_="answer",
            aria_label=_said(summary, "answer"),
        ),
        *map(drawn, summary.tables),
        section(_said(summary, "how_to_read"), "h2", *(tag("p", each) for each in summary.how_to_read)),
        section(_said(summary, "judged_by"), "h2", tag("dl", *by, class_="facts lines")),
        section(_said(summary, "cautions"), "h2", bullets(summary.cautions)),
        lang=summary.language.code,
    ).encode()


def _sheet(summary: Summary) -> bytes:
    from openpyxl import Workbook

    from verifier.report.as_xlsx import _fill, _without_time

    book = Workbook()
    book.remove(book.worksheets[0])
    notes = [(_said(summary, "result"), summary.headline), *summary.judged_by.items()]
    notes += [(_said(summary, "how_to_read"), each) for each in summary.how_to_read]
    notes += [(_said(summary, "cautions"), each) for each in summary.cautions]
    _fill(book.create_sheet(_said(summary, "sheet")), (_said(summary, "what"), summary.name), notes)
    for each in summary.tables:
        title = _NOT_IN_TITLE.sub(" ", (each.short or each.title).split(" (")[0])
        _fill(book.create_sheet(title[:_LONGEST_TITLE]), each.header, each.rows)
    stream = io.BytesIO()
    book.save(stream)
    return _without_time(stream.getvalue())


ENDINGS: dict[str, Callable[[Summary], bytes]] = {
    ".html": _page, ".htm": _page, ".xlsx": _sheet, ".md": _markdown,
}  # fmt: skip
"""The forms of a summary, by the ending of its file."""
