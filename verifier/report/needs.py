"""What a pack must have, as text and as JSON. Nothing is worked out here."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from typing import Any

from verifier.bounds import Bounds
from verifier.needed_parts import Need
from verifier.needs import Controller, Needs
from verifier.report.as_json import number
from verifier.report.layout import block, paragraph, table
from verifier.words import digits, element_name, part, remark_text, span
from verifier.words.needs import need_text

CAUTION = (
    "Arithmetic on stated figures: no replacement for a test, local rules or licensed practice. Strips by what "
    "practice grants them, leads by their heat in the hottest air of use."
)
MOST_WAYS = 2
"""Ways to build a part that somebody reads; JSON holds all."""
_STATES = {
    "enough": "+ enough",
    "too little": "x too little",
    "not known": "? not known",
    "not fitted": "- not fitted",
}


def _head(needs: Needs) -> str:
    low, high = needs.temperature_c
    air = f"{digits(low)} to {digits(high)} C" + (" (our default)" if needs.temperature_assumed else "")
    return (
        f"To deliver {digits(needs.current_a)} A in air of {air}, using {part(needs.reserve)} of each limit, every "
        f"part must carry {digits(needs.current_a / needs.reserve)} A."
    )


def _controller(needs: Needs) -> list[str]:
    limit, lines = needs.controller, []
    if limit.set_a > 0:
        lines.append(
            f"Set the controller to {digits(limit.set_a)} A (limited by the {element_name(limit.limited_by)})."
        )
    elif limit.sellers_word:
        lines.append("Set no limit yet: what is known of the pack is only the seller's word.")
    else:
        lines.append("Set no limit yet: nothing is sure of the pack as it is.")
    if limit.cells_a is not None and limit.cells_a > limit.set_a:
        lines.append(f"The cells alone give {digits(limit.cells_a)} A, if they share evenly.")
    if limit.not_checked:
        lines.append(f"Not checked: {', '.join(element_name(each) for each in limit.not_checked)}.")
    if limit.cutoff_v is not None:
        lines.append(f"Let it stop at {digits(limit.cutoff_v)} V or above.")
    return lines


def _ways(need: Need) -> str:
    """Return the first ways to build a part; what a fuse must be holds all together."""
    said = [need_text(option) for option in need.options]
    return "; ".join(said) if need.element == "fuse" else "; or ".join(said[:MOST_WAYS])


def _one(needs: Needs, width: int) -> str:
    rows = [
        (
            element_name(each.element), _ways(each),
            "" if each.now is None or each.state == "not fitted" else span(each.now, "A"), _STATES[each.state],
        )
        for each in needs.needs
    ]  # fmt: skip
    blocks = [
        block(needs.title, width=width),
        paragraph(_head(needs), width=width),
        table(("part", "must be", "carries now", ""), rows, width=width),
    ]
    said = [paragraph(f"- {remark_text(each)}", indent="  ", width=width) for each in needs.remarks]
    if said:
        blocks.append("\n".join(said))
    controller = "\n".join(paragraph(line, indent="  ", width=width) for line in _controller(needs))
    return "\n\n".join([*blocks, f"The pack as it is\n{controller}"])


def render_text(found: Sequence[Needs], width: int = 80) -> str:
    """Return the needs of every pack, one after another, as text."""
    return "\n\n\n".join(_one(each, width) for each in found) + f"\n\n{paragraph(CAUTION, width=width)}\n"


def data(needs: Needs) -> dict[str, Any]:
    """Return the needs of one pack as plain data."""
    return {
        "case": {"title": needs.title},
        "asked": {
            "current_a": number(needs.current_a), "reserve": number(needs.reserve),
            "temperature_c": {
                "low": number(needs.temperature_c[0]), "high": number(needs.temperature_c[1]),
                "assumed": needs.temperature_assumed,
            },
        },
        "cell": needs.cell,
        "series": _ends(needs.series), "parallel": _ends(needs.parallel),
        "parallel_needed": needs.parallel_needed, "cells_needed": number(needs.cells_needed),
        "met": needs.met,
        "parts": [_need(each) for each in needs.needs],
        "controller": _controller_data(needs.controller),
        "notes": [remark_text(each) for each in needs.remarks],
        "cautions": [CAUTION],
    }  # fmt: skip


def _need(need: Need) -> dict[str, Any]:
    return {
        "element": need.element, "at_least_a": number(need.at_least_a), "now": _ends(need.now),
        "state": need.state,
        "options": [
            {
                "code": each.code, "text": need_text(each),
                **{name: number(value) if isinstance(value, float) else value for name, value in each.numbers.items()},
            }
            for each in need.options
        ],
    }  # fmt: skip


def _controller_data(limit: Controller) -> dict[str, Any]:
    return {
        "set_a": number(limit.set_a), "cells_a": number(limit.cells_a), "limited_by": limit.limited_by,
        "not_checked": list(limit.not_checked), "on_sellers_word": limit.sellers_word,
        "cutoff_v": number(limit.cutoff_v),
    }  # fmt: skip


def _ends(bounds: Bounds | None) -> dict[str, float | None] | None:
    return None if bounds is None else {"low": number(bounds.low), "high": number(bounds.high)}


def render_json(found: Sequence[Needs]) -> str:
    """Return one pack's needs as a JSON object, those of several as an array."""
    made = [data(each) for each in found]
    return (
        json.dumps(made[0] if len(made) == 1 else made, ensure_ascii=False, indent=2, allow_nan=False) + "\n"
    )


RENDERERS: dict[str, Callable[[Sequence[Needs]], str]] = {"text": render_text, "json": render_json}
