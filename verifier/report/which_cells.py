"""The cells that a pack could be built of, as text, JSON, CSV, Markdown and HTML. Nothing is judged here."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from registry.cell import Cell
from registry.spreadsheet import safe
from verifier.bounds import Bounds
from verifier.report.as_json import number
from verifier.report.layout import counted, paragraph, table
from verifier.verdict import MEANINGS, VERDICTS, Verdict
from verifier.which_cells import Asked, Choice, Chosen
from verifier.words import (
    ENGLISH,
    Language,
    digits,
    evidence_name,
    percent,
    remark_text,
    source_text,
    span,
    verdict_name,
)

CAUTION = (
    "Counted as sharing evenly, from what the datasheets say of single cells. A pack is also limited by its "
    "strips, links, leads and BMS: 'packclaim needs' says what those must carry."
)
OUTCOMES = tuple(
    verdict
    for verdict in sorted(VERDICTS, key=lambda each: -MEANINGS[each].rank)
    if verdict
    in (
        Verdict.HOLDS_WITH_RESERVE, Verdict.HOLDS_WITHOUT_RESERVE, Verdict.NOT_SETTLED, Verdict.DOES_NOT_HOLD
    )
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Found:
    """The question, the registry that was asked, what was found, and how many cells a table shows."""

    asked: Asked
    place: str
    registered: int
    digest: str
    chosen: Chosen
    shown: int
    how_to_fill: str
    with_failing: bool = False

    @property
    def choices(self) -> Sequence[Choice]:
        """The cells that a table shows."""
        if self.with_failing:
            return self.chosen.choices
        able = [each for each in self.chosen.choices if each.verdict is not Verdict.DOES_NOT_HOLD]
        return able[: self.shown]


def name_of(cell: Cell) -> str:
    """Return what is printed on a cell's wrapper, else its maker and model."""
    return cell.markings[0] if cell.markings else f"{cell.maker} {cell.model}"


WHICH_CELLS = {
    "one": "1 registered{kind} cell",
    "several": "{count} registered{kind} cells",
    "kind": " {kind}",
    "none_of_kind": "None of {cells} is {kind}, so nothing can be said.",
    "none_in_use": "The registry {place} holds no cells in use, so nothing can be said.",
    "could": "{able} of {cells} could supply {amps} A{build}{sold} at {air}{default}{split}. {rest}.",
    "none": "None",
    "build": " from {parallel} in parallel",
    "sold": " in a pack sold as {volts} V",
    "default": " ({default})",
    "split": ": {kept} with reserve, {used_up} without",
    "open": "{count} cannot tell yet",
    "cannot": "{count} cannot",
    "other_voltage": "{count} left out: no count of them is sold as {volts} V",
    "not_judged": "{count} rank behind these and were not judged one by one",
    "cell": "cell",
    "verdict": "verdict",
    "parallel": "parallel",
    "pack": "pack",
    "margin": "margin",
    "evidence": "evidence",
    "one_cell": "one cell",
    "any": "any",
    "why": "; not known: {why}",
    "why_no_limit": "its datasheet's continuous discharge limit",
    "why_not_continuous": "whether the {current_a} A of its datasheet are continuous",
    "why_until_hot": "a continuous limit; {current_a} A stand only until the cell is at {temperature_c} C",
    "why_no_band": "what its datasheet allows from {low_c} to {high_c} C",
    "why_no_temperature": "at which temperature its datasheet's limit holds",
    "why_sheets_differ": "which of its datasheets is right",
    "why_no_capacity": "its datasheet's capacity, of which the limit is a multiple",
    "why_by_air": "the air of use, narrower: the limit changes within it",
}
"""The answer and the heads of its table, by code."""


def answer(
    found: Found, default: str = "our default; set yours with --temperature", language: Language = ENGLISH
) -> str:
    """Return the answer in a sentence or two; ``default`` says what air is meant where none was named."""
    asked, chosen, counts = found.asked, found.chosen, found.chosen.counts
    say = partial(_say, language)
    kind = " ".join(filter(None, (asked.chemistry, asked.size)))

    def cells(count: int, kind: str = "") -> str:
        told = say("kind", kind=kind) if kind else ""
        return say("one" if count == 1 else "several", count=count, kind=told)

    if not chosen.asked_about:
        if found.registered:
            return say("none_of_kind", cells=cells(found.registered), kind=kind)
        return say("none_in_use", place=found.place)
    kept, used_up = counts[Verdict.HOLDS_WITH_RESERVE], counts[Verdict.HOLDS_WITHOUT_RESERVE]
    failing = counts[Verdict.DOES_NOT_HOLD] + chosen.too_weak
    volts = None if asked.voltage_v is None else digits(asked.voltage_v, language=language)
    low, high, assumed = asked.air
    rest = [say("open", count=counts[Verdict.NOT_SETTLED]), say("cannot", count=failing)]
    if chosen.other_voltage:
        rest.append(say("other_voltage", count=chosen.other_voltage, volts=volts))
    if chosen.not_judged:
        rest.append(say("not_judged", count=chosen.not_judged))
    return say(
        "could",
        able=kept + used_up or say("none"), cells=cells(chosen.asked_about, kind),
        amps=digits(asked.current_a, language=language),
        build="" if asked.parallel is None else say("build", parallel=asked.parallel),
        sold="" if volts is None else say("sold", volts=volts),
        air=f"{low:g}..{high:g} C",
        default=say("default", default=default) if assumed else "",
        split=say("split", kept=kept, used_up=used_up) if kept + used_up else "",
        rest=", ".join(rest),
    )  # fmt: skip


def _say(language: Language, code: str, **slots: object) -> str:
    return language.text("which_cells", code, WHICH_CELLS).format_map(slots)


def table_of(
    found: Found, language: Language = ENGLISH, *, reasons: bool = False
) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Return the header and the rows; the parallel count has a column where it is open.

    With ``reasons`` a verdict that is open says what is not known, which elsewhere stands in notes of their own.
    """
    say = partial(_say, language)
    open_ = found.asked.parallel is None
    heads = ("cell", "verdict", *(("parallel",) if open_ else ()), "pack", "margin", "evidence", "one_cell")
    rows = [
        (
            name_of(each.cell), _verdict(each, language) if reasons else verdict_name(each.verdict, language),
            *((say("any") if each.parallel is None else str(each.parallel),) if open_ else ()),
            span(each.pack_a, "A", language), percent(each.margin_percent, language),
            evidence_name(each.evidence, language), span(each.one_cell_a, "A", language),
        )
        for each in found.choices
    ]  # fmt: skip
    return tuple(map(say, heads)), rows


# What a sheet says in place of a limit that holds, by the remark that tells of it; the first that fits is told.
_IN_PLACE = {
    "no_continuous_limit": "why_no_limit", "not_called_continuous": "why_not_continuous",
    "until_cutoff_temperature": "why_until_hot", "no_discharge_limit": "why_no_band",
    "limit_without_temperature": "why_no_temperature", "sheets_differ": "why_sheets_differ",
}  # fmt: skip


def _verdict(choice: Choice, language: Language) -> str:
    """Return the verdict, and of one that is open what its datasheet lacks, or what else keeps it open."""
    verdict = verdict_name(choice.verdict, language)
    if choice.verdict is not Verdict.NOT_SETTLED:
        return verdict
    return f"{verdict}{_say(language, 'why', why=_why(choice, language))}"


def _why(choice: Choice, language: Language) -> str:
    said = {each.code: each for each in choice.remarks}
    code = next((each for each in _IN_PLACE if each in said), None)
    if code is not None:
        slots = {
            name: digits(value, language=language) if isinstance(value, int | float) else value
            for name, value in said[code].numbers.items()
        }
        return _say(language, _IN_PLACE[code], **slots)
    if "sheet.capacity" in choice.missing:
        return _say(language, "why_no_capacity")
    if "sheet.discharge" in choice.missing:
        return _say(language, "why_no_limit")
    return _say(language, "why_by_air")


_PACKS = ("cell", "build", "voltage", "energy", "cells' mass")


def _packs(found: Found) -> list[tuple[str, ...]]:
    """Return the rows of whole packs, of the cells whose counts are known."""
    return [_pack(each) for each in found.choices if each.series is not None and each.parallel is not None]


def _pack(choice: Choice) -> tuple[str, ...]:
    assert choice.series is not None  # noqa: S101 - the caller has looked
    assert choice.parallel is not None  # noqa: S101 - the caller has looked
    also = f" or {', '.join(str(each) for each in choice.other_series)}S" if choice.other_series else ""
    shown: Callable[[Bounds | None, str], str] = lambda value, unit: (  # noqa: E731
        "not known" if value is None else span(value, unit)
    )
    return (
        name_of(choice.cell),
        f"{choice.series}S{choice.parallel}P{also}, {counted(choice.series * choice.parallel, 'cell')}",
        shown(choice.voltage_v, "V"),
        shown(choice.energy_wh, "Wh"),
        shown(choice.mass_kg, "kg"),
    )


def _reserve(found: Found) -> str:
    return f"With reserve: at most {found.asked.reserve:.3g} of a cell's limit is used."


def _notes(found: Found) -> list[str]:
    """Return what has to be known of the cells shown, cells that share a note together."""
    owners: dict[str, list[str]] = {}
    for each in found.choices:
        for said in each.remarks:
            owners.setdefault(remark_text(said), []).append(name_of(each.cell))
    return [f"{', '.join(names)}: {note}" for note, names in owners.items()]


def _not_shown(found: Found) -> str:
    """Return which cells the table leaves out, or nothing when it holds all that were judged."""
    if found.with_failing:
        return ""
    counts = found.chosen.counts
    failing = counts[Verdict.DOES_NOT_HOLD] + found.chosen.too_weak
    lower = (
        len(found.chosen.choices)
        - counts[Verdict.DOES_NOT_HOLD]
        - len(found.choices)
        + found.chosen.not_judged
    )
    parts = [f"{counted(lower, 'more cell')} that rank lower"] if lower else []
    if failing:
        parts.append(f"{counted(failing, 'cell')} that cannot")
    return f"Not shown: {' and '.join(parts)}; --all shows them." if parts else ""


def render_text(found: Found) -> str:
    """Return the answer, a table of cells and one of packs, and what to know of them."""
    blocks = [paragraph(answer(found))]
    if found.choices:
        blocks.append(table(*table_of(found), right={2} if found.asked.parallel is None else ()))
        if packs := _packs(found):
            blocks.append(table(_PACKS, packs, right={2, 3, 4}))
    if notes := [paragraph(f"- {note}", indent="  ") for note in _notes(found)]:
        blocks.append("\n".join(notes))
    if left_out := _not_shown(found):
        blocks.append(paragraph(left_out))
    if not found.registered:
        blocks.append(found.how_to_fill)
    if found.chosen.asked_about:
        blocks.append(paragraph(f"{_reserve(found)} {CAUTION}"))
    return "\n\n".join(blocks) + "\n"


def render_markdown(found: Found) -> str:
    """Return the same as Markdown."""
    from verifier.report.as_markdown import escape
    from verifier.report.as_markdown import table as markdown_table

    blocks = [escape(answer(found))]
    if found.choices:
        blocks.append(markdown_table(*table_of(found)))
        if packs := _packs(found):
            blocks.append(markdown_table(_PACKS, packs))
    if notes := _notes(found):
        blocks.append("\n".join(f"- {escape(note)}" for note in notes))
    if left_out := _not_shown(found):
        blocks.append(escape(left_out))
    if found.chosen.asked_about:
        blocks.append(f"> {escape(_reserve(found))} {escape(CAUTION)}")
    return "\n\n".join(blocks) + "\n"


def render_html(found: Found) -> str:
    """Return the same as one page that fetches nothing."""
    from verifier.report.as_html import page
    from verifier.report.html.markup import bullets, tag
    from verifier.report.html.markup import table as html_table

    parts = [
        tag("p", "Cells for a pack", class_="kicker"),
        tag("h1", f"Which cells for {digits(found.asked.current_a)} A", class_="title"),
        tag("p", answer(found)),
    ]
    if found.choices:
        parts.append(html_table("What each could supply", *table_of(found)))
        if packs := _packs(found):
            parts.append(html_table("The whole pack", _PACKS, packs))
    if notes := _notes(found):
        parts.append(bullets(notes))
    parts += [tag("p", line) for line in (_not_shown(found), f"{_reserve(found)} {CAUTION}") if line]
    return page("Which cells", tag("article", *parts))


def data(found: Found) -> dict[str, Any]:
    """Return everything that was found, as plain data."""
    asked, chosen = found.asked, found.chosen
    return {
        "asked": {
            "current_a": number(asked.current_a), "series": asked.series, "parallel": asked.parallel,
            "voltage_v": number(asked.voltage_v),
            "temperature_c": {"low": asked.air.low_c, "high": asked.air.high_c, "assumed": asked.air.assumed},
            "reserve": number(asked.reserve), "size": asked.size, "chemistry": asked.chemistry,
        },
        "registry": {"cells": found.registered, "digest": found.digest},
        "answer": answer(found),
        "counts": {verdict: chosen.counts[verdict] for verdict in OUTCOMES},
        "left_out": {
            "too_weak": chosen.too_weak, "not_judged": chosen.not_judged, "other_voltage": chosen.other_voltage,
        },
        "cells": [_choice_data(each) for each in chosen.choices],
        "cautions": [CAUTION],
    }  # fmt: skip


def _choice_data(choice: Choice) -> dict[str, Any]:
    return {
        "id": choice.cell.id, "maker": choice.cell.maker, "model": choice.cell.model,
        "marking": choice.cell.markings[0] if choice.cell.markings else None, "verdict": str(choice.verdict),
        "between": None if choice.between is None else [str(each) for each in choice.between],
        "series": choice.series, "other_series": list(choice.other_series),
        "parallel": choice.parallel, "parallel_needed": choice.parallel_needed,
        "pack_current_a": _ends(choice.pack_a), "margin_percent": _ends(choice.margin_percent),
        "cell_limit_a": _ends(choice.one_cell_a), "evidence": choice.evidence,
        "source": source_text(choice.source), "notes": [remark_text(each) for each in choice.remarks],
        "pack_voltage_v": _ends(choice.voltage_v), "pack_energy_wh": _ends(choice.energy_wh),
        "cells_mass_kg": _ends(choice.mass_kg),
    }  # fmt: skip


def _ends(bounds: Bounds | None) -> dict[str, float | None] | None:
    return None if bounds is None else {"low": number(bounds.low), "high": number(bounds.high)}


def render_json(found: Found) -> str:
    """Return everything that was found as one JSON object."""
    return json.dumps(data(found), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


_PAIRS = (
    "pack_current_a",
    "margin_percent",
    "cell_limit_a",
    "pack_voltage_v",
    "pack_energy_wh",
    "cells_mass_kg",
)
_PLAIN = ("id", "maker", "model", "marking", "verdict", "series", "parallel", "parallel_needed", "evidence")
COLUMNS = (
    *_PLAIN,
    *(f"{stem}_{end}{unit}" for stem, unit in (each.rsplit("_", 1) for each in _PAIRS)
      for end, unit in (("low", f"_{unit}"), ("high", f"_{unit}"))),
    "source", "notes",
)  # fmt: skip


def render_csv(found: Found) -> str:
    """Return a header and one row for every cell that was judged, safe to open in a spreadsheet."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(COLUMNS)
    for choice in found.chosen.choices:
        values = _choice_data(choice)
        row = [
            *(values[name] for name in _PLAIN),
            *((values[name] or {}).get(end) for name in _PAIRS for end in ("low", "high")),
            values["source"], "; ".join(values["notes"]),
        ]  # fmt: skip
        writer.writerow([safe(value) if isinstance(value, str) else value for value in row])
    return stream.getvalue()


RENDERERS: dict[str, Callable[[Found], str]] = {
    "text": render_text,
    "json": render_json,
    "csv": render_csv,
    "html": render_html,
    "markdown": render_markdown,
}
