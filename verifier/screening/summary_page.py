"""The summary of a screening as one HTML page, in the dress of the reports."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import inf

from registry.cells import Cells
from verifier.bounds import Bounds
from verifier.case.limits import DEFAULTS, Limits
from verifier.case_report import CAUTIONS
from verifier.figures import FIGURES
from verifier.report.as_html import page
from verifier.report.html.markup import Content, Markup, bullets, given, table, tag
from verifier.report.html.sections import section
from verifier.report.layout import counted
from verifier.screening.share_bars import Bar, share_bars
from verifier.screening.summary import HEADER, HOW_TO_READ, claimed_figures, head, rows_by_figure, share
from verifier.screening.tally import (
    HOLDS,
    NO_RESERVE,
    ON_WORD,
    OPEN,
    OTHER_SELLERS,
    OUTCOMES,
    SHORT,
    Shortfall,
    Tally,
)
from verifier.words import figure_name, percent, span

MOST_SELLERS_SHOWN = 20
_HEADING = "h2"


def render(tally: Tally, name: str, registry: Cells, limits: Limits) -> str:
    """Return the page.

    Parameters
    ----------
    tally : Tally
        The counts of a run.
    name : str
        What the table of listings is called.
    registry : Cells
        The registry it was judged by.
    limits : Limits
        The limits in force.
    """
    return page(
        f"{name}: listings screened",
        tag("p", "Listings screened", class_="kicker"),
        tag("h1", given(name), class_="title"),
        _answer(tally),
        _by_figure(tally),
        _largest_shortfalls(tally.shortfalls),
        _by_seller(tally),
        section("How to read this", _HEADING, tag("p", HOW_TO_READ)),
        _judged_by(registry, limits),
        section("Cautions", _HEADING, bullets(CAUTIONS)),
    )


def _answer(tally: Tally) -> Markup:
    words = "No row claims a figure that can be judged."
    if tally.claims:
        counts = tally.outcomes
        short, unsettled, on_word, holds = (
            share(each, tally.claims)
            for each in (counts[SHORT], counts[OPEN], counts[ON_WORD], counts[HOLDS] + counts[NO_RESERVE])
        )
        words = (
            f"Of {counted(tally.claims, 'claim')}, {short} do not hold, of {unsettled} nobody can tell yet, "
            f"{on_word} hold if the seller's word does, {holds} hold."
        )
    failed = f"{counted(tally.failed, 'check')} failed; nothing follows from them." if tally.failed else ""
    return tag(
        "section",
        tag("p", words, class_="headline"),
        tag("p", failed) if failed else "",
        tag("p", head(tally)),
        class_="answer",
        aria_label="Answer",
    )


def _by_figure(tally: Tally) -> Markup:
    figures = claimed_figures(tally)
    if not figures:
        return Markup("")
    bars = [Bar(figure_name(each), tally.figures[each]) for each in figures]
    caption = "How many rows claim each figure, and what becomes of the claims"
    return section(
        "Claims by figure",
        _HEADING,
        _drawing(bars, "figures", "Claims by figure"),
        table(caption, HEADER, rows_by_figure(tally)),
    )


def _drawing(bars: Sequence[Bar], name: str, title: str) -> Markup:
    caption = "Each bar is all claims of its kind. The numbers stand in the table below."
    return tag("figure", share_bars(bars, name, title), tag("figcaption", caption))


def _largest_shortfalls(shortfalls: Iterable[Shortfall]) -> Markup:
    rows = [_shortfall_row(each) for each in shortfalls]
    header = ("row", "listing", "figure", "claimed", "supported", "margin at best")
    caption = f"The {counted(len(rows), 'row')} with the largest shortfall, each with its worst claim"
    return section("Largest shortfalls", _HEADING, table(caption, header, rows) if rows else "")


def _shortfall_row(each: Shortfall) -> tuple[Content, ...]:
    unit = FIGURES[each.figure].unit
    return (
        f"row {each.row}",
        given(each.listing) if each.listing else "-",
        figure_name(each.figure),
        given(f"{each.claimed} {unit}") if each.claimed else "-",
        span(Bounds(each.low, inf if each.high is None else each.high), unit),
        percent(Bounds(each.margin_percent, each.margin_percent)),
    )


def _by_seller(tally: Tally) -> Markup:
    if not tally.seller_rows:
        return Markup("")
    order = sorted(tally.sellers, key=lambda each: (each == OTHER_SELLERS, -tally.sellers[each][SHORT], each))
    shown = order[:MOST_SELLERS_SHOWN]
    rows = []
    for name in shown:
        counts = tally.sellers[name]
        total = sum(counts)
        rows.append(
            (
                given(name),
                str(tally.seller_rows[name]),
                str(total),
                share(counts[SHORT], total),
                share(counts[OPEN], total),
            )
        )
    caption = "Rows and claims by seller, most claims that do not hold first"
    if len(shown) < len(order):
        caption += f"; {len(shown)} of {len(order)} sellers"
    return section(
        "By seller",
        _HEADING,
        _drawing([Bar(each, tally.sellers[each]) for each in shown], "sellers", "Claims by seller"),
        table(caption, ("seller", "rows", "claims", OUTCOMES[SHORT], OUTCOMES[OPEN]), rows),
        tag("p", "A share counts claims of this table. It says nothing about why, nor about any other pack."),
    )


def _judged_by(registry: Cells, limits: Limits) -> Markup:
    in_force = {
        "Reserve": f"{limits.number('reserve'):.3g} of a current or power limit",
        "Air of use where a row names none": span(
            limits["use_temperature_c"], DEFAULTS["use_temperature_c"].unit
        ),
        "Limits overridden": ", ".join(sorted(limits.overrides)) or "none",
    }
    facts: list[tuple[str, Content]] = [
        ("Registry", counted(registry.count, "cell")),
        ("Registry digest", tag("span", registry.digest, class_="mono")),
        *in_force.items(),
    ]
    entries = (tag("div", tag("dt", name), tag("dd", value)) for name, value in facts)
    return section("Judged by", _HEADING, tag("dl", *entries, class_="facts"))
