"""A comparison of packs as text, Markdown, CSV, JSON and HTML. Nothing is computed here."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from registry.plain_text import printable_json
from verifier.bounds import Bounds, down
from verifier.case.limits import Limits
from verifier.compare import ComparedPack, Comparison
from verifier.report import as_markdown, layout, rows
from verifier.report.as_csv import safe_row
from verifier.report.as_json import answer_data, finding_data, number
from verifier.schemas import COMPARED_KEYS, COMPARISON_FORMAT, refuse_invalid
from verifier.words import (
    ENGLISH,
    Language,
    amount,
    digits,
    evidence_name,
    figure_name,
    percent,
    span,
    temperatures,
    verdict_name,
)

if TYPE_CHECKING:
    from verifier.report.html.markup import Markup

NOTHING = "nothing trusted"
ORDER_WORDS = {
    "current": "continuous current that can be trusted, most first",
    "energy": "energy that can be trusted, most first",
    "price_per_wh": "price of a Wh you can trust, least first",
    "price_per_a": "price of an A you can trust, least first",
    "margin": "margin of the continuous current that is sure, most first",
    "evidence": "evidence, best first",
    "open": "number of figures that cannot be told yet, fewest first",
}
_HOW = (
    "Trusted is what may be relied on whatever is still open: for the current with the reserve; never on the "
    "seller's word alone, and nothing of a pack with an alarm or a fact in dispute. What is not known ranks last. "
    "A place here is no advice to buy."
)
_SHORT = 24

CSV_COLUMNS = (
    "rank", "case", "stage", "conclusion", "answer", "alarms", "cell", "from_c", "to_c", "reserve",
    "trusted_a", "trusted_wh", "wh_per_kg_low", "wh_per_kg_high", "mass_from",
    "price_low", "price_high", "currency", "price_per_trusted_wh_low", "price_per_trusted_wh_high",
    "price_per_trusted_a_low", "price_per_trusted_a_high", "evidence", "sellers_word", "contradictions",
    "open", "open_figures", "next_step",
)  # fmt: skip
CSV_FIGURE_COLUMNS = (
    "claimed_low", "claimed_high", "supported_low", "supported_high", "margin_low_percent",
    "margin_high_percent", "verdict", "limited_by", "evidence",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Table:
    """One table of the comparison, for text and Markdown alike; packs are its rows."""

    title: str
    header: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]


def trusted(value: float, unit: str, language: Language = ENGLISH) -> str | None:
    """Return what can be trusted, to the safe side; None where it is nothing."""
    return amount(down(value), unit, language) if value > 0 else None


def _trusted(value: float, unit: str) -> str:
    told = trusted(value, unit)
    return NOTHING if told is None else told


def _per(pack: ComparedPack, price: Bounds | None, unit: str) -> str:
    if price is not None:
        return span(price, f"{pack.currency or ''} a {unit}".strip())
    return "-" if pack.price is None else NOTHING


def _price(pack: ComparedPack) -> str:
    return "-" if pack.price is None else span(pack.price, pack.currency or "(currency not stated)")


def _evidence(pack: ComparedPack) -> str:
    words = evidence_name(pack.evidence)
    return f"{words}, on the seller's word" if pack.sellers_word else words


def _wh_per_kg(pack: ComparedPack) -> str:
    if pack.wh_per_kg is None:
        return "not known"
    if pack.mass_source == "cells alone":
        return f"at most {digits(pack.wh_per_kg.high)} Wh/kg (cells alone)"
    return f"{span(pack.wh_per_kg, 'Wh/kg')} ({pack.mass_source})"


def _short(title: str) -> str:
    first, *others = layout.wrap(title, _SHORT)
    return f"{first}…" if others else first


def _tables(comparison: Comparison) -> list[_Table]:
    packs = [(f"{at} {_short(pack.title)}", pack) for at, pack in enumerate(comparison.packs, 1)]
    trust = [
        (
            name, "-" if pack.rank is None else str(pack.rank), _trusted(pack.trusted_a, "A"),
            _trusted(pack.trusted_wh, "Wh"), str(pack.contradictions), str(len(pack.open_figures)),
        )
        for name, pack in packs
    ]  # fmt: skip
    cost = [
        (
            name, _wh_per_kg(pack), _price(pack), _per(pack, pack.price_per_trusted_wh, "Wh"),
            _per(pack, pack.price_per_trusted_a, "A"), _evidence(pack),
        )
        for name, pack in packs
    ]  # fmt: skip
    tables = [
        _Table(
            "What each can be trusted with",
            ("pack", "rank", "current", "energy", "contradictions", "cannot tell yet"),
            trust,
        ),
        _Table(
            "Mass, price and evidence",
            ("pack", "energy by mass", "price", "a Wh you can trust", "an A you can trust", "evidence"),
            cost,
        ),
    ]
    for at, figure in enumerate(each.figure for each in comparison.packs[0].findings):
        told = [(name, *_finding_row(pack, at)) for name, pack in packs]
        header = ("pack", *rows.FIGURES[1:], "verdict")
        tables.append(_Table(figure_name(figure).capitalize(), header, told))
    return tables


def _finding_row(pack: ComparedPack, at: int) -> tuple[str, ...]:
    finding = pack.findings[at]
    _, *others = rows.figure_row(finding)
    return (*(text or "-" for text in others), verdict_name(finding.verdict))


def _answer(comparison: Comparison) -> str:
    order = f"Ranked by {ORDER_WORDS[comparison.by]}."
    first = [pack for pack in comparison.packs if pack.rank == 1]
    if not first:
        return f"{order} None of these packs can be ranked: what ranks them is not known of any."
    names = " and ".join(f"{pack.title} ({_value(pack, comparison.by)})" for pack in first)
    return f"{order} First: {names}."


def _how(comparison: Comparison) -> str:
    return " ".join([_HOW, *(f"Note: {text}." for text in comparison.notes)])


def _value(pack: ComparedPack, by: str) -> str:
    """Return what ranks a pack, in words."""
    words = {
        "energy": lambda: _trusted(pack.trusted_wh, "Wh"),
        "price_per_wh": lambda: _per(pack, pack.price_per_trusted_wh, "Wh"),
        "price_per_a": lambda: _per(pack, pack.price_per_trusted_a, "A"),
        "margin": lambda: percent(pack.finding("continuous_current").margin_percent),
        "evidence": lambda: _evidence(pack),
        "open": lambda: f"{len(pack.open_figures)} cannot be told yet",
    }
    return words.get(by, lambda: _trusted(pack.trusted_a, "A"))()


def _pack_lines(comparison: Comparison) -> list[str]:
    """Return a line for each pack: its answer, its cells, and what to find out first."""
    found = []
    for at, pack in enumerate(comparison.packs, 1):
        alarms = "".join(f" {each.text}." for each in pack.answer.alarms)
        text = f"{at} {pack.title} ({pack.stage}):{alarms} {pack.answer.sentence}"
        text += f" Cells: {pack.cell or 'not known'}; judged for {temperatures(*pack.temperature_c)}."
        found.append(f"{text} Ask first: {pack.next_step}." if pack.next_step else text)
    return found


def render_text(comparison: Comparison) -> str:
    """Return the comparison for a terminal, within 80 columns."""
    blocks = [
        "\n".join(layout.block(f"- {line}", indent="  ") for line in _pack_lines(comparison)),
        layout.block(_answer(comparison)),
        layout.block(_how(comparison)),
    ]
    blocks += [f"{each.title}\n{layout.table(each.header, each.rows)}" for each in _tables(comparison)]
    blocks.append(
        "\n".join(["Cautions", *(layout.block(f"- {each}", indent="  ") for each in comparison.cautions)])
    )
    return "\n\n".join(blocks) + "\n"


def render_markdown(comparison: Comparison) -> str:
    """Return the comparison as Markdown, to paste into a forum or an issue tracker."""
    escape = as_markdown.escape
    blocks = [
        "## Packs compared",
        as_markdown.listed(_pack_lines(comparison)),
        escape(_answer(comparison)),
        escape(_how(comparison)),
    ]
    for each in _tables(comparison):
        blocks += [f"### {each.title}", as_markdown.table(each.header, each.rows)]
    blocks.append(as_markdown.quoted(comparison.cautions))
    return "\n\n".join(blocks) + "\n"


def _ends(bounds: Bounds | None) -> tuple[float | None, float | None]:
    return (None, None) if bounds is None else (number(bounds.low), number(bounds.high))


def render_csv(comparison: Comparison) -> str:
    """Return a header and one row a pack, safe to open in a spreadsheet."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    figures = [each.figure for each in comparison.packs[0].findings]
    writer.writerow(
        [*CSV_COLUMNS, *(f"{name}_{column}" for name in figures for column in CSV_FIGURE_COLUMNS)]
    )
    for pack in comparison.packs:
        row: list[Any] = [
            pack.rank, pack.title, pack.stage, str(pack.answer.conclusion), pack.answer.sentence,
            "; ".join(each.text for each in pack.answer.alarms), pack.cell, *pack.temperature_c, number(pack.reserve),
            number(pack.trusted_a), number(pack.trusted_wh),
            *_ends(pack.wh_per_kg), pack.mass_source, *_ends(pack.price), pack.currency,
            *_ends(pack.price_per_trusted_wh), *_ends(pack.price_per_trusted_a), pack.evidence,
            "; ".join(pack.sellers_word), pack.contradictions, len(pack.open_figures),
            "; ".join(pack.open_figures), pack.next_step,
        ]  # fmt: skip
        for each in pack.findings:
            row += [
                *_ends(each.claimed), *_ends(each.supported), *_ends(each.margin_percent), str(each.verdict),
                each.limited_by, each.evidence,
            ]  # fmt: skip
        writer.writerow(safe_row(row))
    return stream.getvalue()


def comparison_data(comparison: Comparison) -> dict[str, Any]:
    """Return the comparison as plain data."""
    return {
        "format": COMPARISON_FORMAT,
        "by": comparison.by,
        "packs": [_pack_data(pack) for pack in comparison.packs],
        "notes": list(comparison.notes),
        "cautions": list(comparison.cautions),
    }


def _bounds_data(bounds: Bounds | None) -> dict[str, float | None] | None:
    return None if bounds is None else {"low": number(bounds.low), "high": number(bounds.high)}


def _pack_data(pack: ComparedPack) -> dict[str, Any]:
    return {
        "rank": pack.rank,
        "answer": answer_data(pack.answer),
        "case": {"title": pack.title, "stage": pack.stage},
        "cell": pack.cell,
        "temperature_c": {"low": number(pack.temperature_c[0]), "high": number(pack.temperature_c[1])},
        "reserve": number(pack.reserve),
        "trusted": {"continuous_current_a": number(pack.trusted_a), "energy_wh": number(pack.trusted_wh)},
        "wh_per_kg": _bounds_data(pack.wh_per_kg),
        "mass_from": pack.mass_source,
        "price": _bounds_data(pack.price),
        "currency": pack.currency,
        "price_per_trusted_wh": _bounds_data(pack.price_per_trusted_wh),
        "price_per_trusted_a": _bounds_data(pack.price_per_trusted_a),
        "evidence": pack.evidence,
        "on_sellers_word": list(pack.sellers_word),
        "contradictions": pack.contradictions,
        "open": list(pack.open_figures),
        "next_step": pack.next_step,
        "findings": [
            {key: value for key, value in finding_data(each, Limits()).items() if key in COMPARED_KEYS}
            for each in pack.findings
        ],
    }


def render_json(comparison: Comparison) -> str:
    """Return the comparison as one JSON object.

    Raises
    ------
    InvalidReport
        If it does not fit its own schema.
    """
    data = comparison_data(comparison)
    refuse_invalid("comparison", data, "comparison")
    return printable_json(json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False)) + "\n"


def _page_lines(comparison: Comparison) -> Iterator[Markup]:
    """Yield each pack's answer with its shape and tone."""
    from verifier.report.html.answer import TONES
    from verifier.report.html.markup import given
    from verifier.report.html.shapes import toned

    for pack, line in zip(comparison.packs, _pack_lines(comparison), strict=True):
        yield toned(TONES[pack.answer.conclusion], given(line))


def render_html(comparison: Comparison) -> str:
    """Return the comparison as one HTML file that fetches and runs nothing."""
    from verifier.report import as_html, pictures
    from verifier.report.html.markup import bullets, given, table, tag
    from verifier.report.html.sections import drawing

    tables = [
        table(each.title, each.header, [(given(name), *others) for name, *others in each.rows])
        for each in _tables(comparison)
    ]
    numbered = [f"pack {number}" for number in range(1, len(comparison.packs) + 1)]
    picture = pictures.packs(
        numbered,
        [pack.finding("continuous_current") for pack in comparison.packs],
        [pack.trusted_a for pack in comparison.packs],
        "packs",
        [bool(pack.answer.alarms) for pack in comparison.packs],
    )
    caption = (
        "Continuous current of each pack, numbered as in the tables. Filled is sure, hatched is possible; "
        "the thick stroke is what is claimed, the diamond what can be trusted."
    )
    return as_html.page(
        "Packs compared",
        tag("h1", "Packs compared", class_="title"),
        bullets(_page_lines(comparison)),
        tag("p", given(_answer(comparison))),
        tag("p", _how(comparison)),
        drawing(picture, caption),
        *tables,
        tag("h2", "Cautions"),
        bullets(comparison.cautions),
    )


RENDERERS = {
    "text": render_text,
    "markdown": render_markdown,
    "csv": render_csv,
    "json": render_json,
    "html": render_html,
}
