"""A summary as a page, a spreadsheet, Markdown, or text for a terminal."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

from verifier.errors import UnreadableInput
from verifier.report.layout import block, printable
from verifier.report.layout import table as text_table
from verifier.screening.summary.contents import (
    CONCLUSIONS_TITLE,
    FIGURES_TITLE,
    OF_SELLERS_TITLE,
    SELLERS_TITLE,
    Summary,
    Table,
)

_SHORT = (CONCLUSIONS_TITLE, FIGURES_TITLE)


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
        if each.title in _SHORT:
            right = range(1, len(each.header))
            blocks.append(text_table(each.header, [tuple(map(str, row)) for row in each.rows], right=right))
    blocks += [block(each) for each in summary.how_to_read[:1]]
    blocks.append("\n".join(block(f"- {each}", indent="  ") for each in summary.cautions))
    return "\n\n".join(blocks) + "\n"


def _markdown(summary: Summary) -> bytes:
    parts = [f"# {_escaped(summary.name)}: listings screened", f"**{_escaped(summary.headline)}**"]
    for each in summary.tables:
        lines = [f"## {_escaped(each.title)}", "", _escaped(each.caption), ""] if each.caption else [
            f"## {_escaped(each.title)}", "",
        ]  # fmt: skip
        lines.append(f"| {' | '.join(map(_escaped, each.header))} |")
        lines.append(f"|{'---|' * len(each.header)}")
        lines += [f"| {' | '.join(_escaped(str(value)) for value in row)} |" for row in each.rows]
        parts.append("\n".join(lines))
    parts.append("## How to read this\n\n" + "\n\n".join(summary.how_to_read))
    parts.append(
        "## Judged by\n\n"
        + "\n".join(f"- {name}: {_escaped(value)}" for name, value in summary.judged_by.items())
    )
    parts.append("## Cautions\n\n" + "\n".join(f"- {each}" for each in summary.cautions))
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
        return join(shown, " ", tag("a", "file", href=quote(file))) if file else shown

    def drawn(each: Table) -> str:
        # Only what others wrote may be broken within a word.
        of_sellers = each.title not in _SHORT
        rows = [tuple(given(str(value)) if of_sellers else str(value) for value in row) for row in each.rows]
        if each.title == SELLERS_TITLE:
            rows = [
                (_linked(row[0], anchor, summary.files.get(str(source[0]))), *row[1:])
                for row, anchor, source in zip(rows, each.anchors, each.rows, strict=True)
            ]
        elif each.title == OF_SELLERS_TITLE:
            rows = [
                (tag("span", row[0], id=anchor) if anchor else row[0], *row[1:])
                for row, anchor in zip(rows, each.anchors, strict=True)
            ]
        picture: str = ""
        if each.title == FIGURES_TITLE:
            bars = share_bars([Bar(label, counts) for label, counts in summary.bars], "figures", each.title)
            caption = "Each bar is all claims of its kind. The numbers stand in the table below."
            picture = tag("figure", bars, tag("figcaption", caption))
        return section(each.title, "h2", picture, table(each.caption, each.header, rows))

    by = (tag("div", tag("dt", name), tag("dd", value)) for name, value in summary.judged_by.items())
    return page(
        f"{summary.name}: listings screened",
        tag("p", "Listings screened", class_="kicker"),
        tag("h1", given(summary.name), class_="title"),
        tag("section", tag("p", summary.headline, class_="headline"), class_="answer", aria_label="Answer"),
        *map(drawn, summary.tables),
        section("How to read this", "h2", *(tag("p", each) for each in summary.how_to_read)),
        section("Judged by", "h2", tag("dl", *by, class_="facts lines")),
        section("Cautions", "h2", bullets(summary.cautions)),
    ).encode()


def _sheet(summary: Summary) -> bytes:
    from openpyxl import Workbook

    from verifier.report.as_xlsx import _fill, _without_time

    book = Workbook()
    book.remove(book.worksheets[0])
    notes = [("result", summary.headline), *summary.judged_by.items()]
    notes += [("how to read", each) for each in summary.how_to_read] + [
        ("caution", each) for each in summary.cautions
    ]
    _fill(book.create_sheet("Summary"), ("what", summary.name), notes)
    for each in summary.tables:
        title = each.title.replace("Worst by proof: ", "Worst, ").replace(
            "Statements that exclude each other", "Contradictions"
        )
        title = title.split(" (")[0]
        _fill(book.create_sheet(title[:31]), each.header, each.rows)
    stream = io.BytesIO()
    book.save(stream)
    return _without_time(stream.getvalue())


ENDINGS: dict[str, Callable[[Summary], bytes]] = {
    ".html": _page, ".htm": _page, ".xlsx": _sheet, ".md": _markdown,
}  # fmt: skip
"""The forms of a summary, by the ending of its file."""
