"""``which-cells``: which registered cells could supply a current."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from registry.catalogue import Catalogue
from registry.cell import Cell
from registry.chemistry import CHEMISTRIES
from registry.selection import OUTCOMES_BEST_FIRST, Choice, Outcome, shortlist
from registry.selection import which_cells as select
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.cli.options import (
    HOW_TO_FILL,
    FiniteNumber,
    TemperatureRange,
    format_option,
    read_registry,
    registry_option,
)
from verifier.report.columns import counted, paragraph, table

MOST_SHOWN = 100
"""Rows of a table that somebody reads, rather than a program."""
CAUTION = (
    "The figures are what the sheets say of single cells, not tested. A pack is also limited by its strips, "
    "links, leads and BMS, and carries less where its cells share the current unevenly."
)


@dataclass(frozen=True, slots=True)
class Question:
    """What the pack is to do, and which cells are asked about."""

    current_a: float
    series: int | None
    parallel: int | None
    temperature_c: tuple[float, float]
    reserve: float
    size: str | None
    chemistry: str | None


@dataclass(frozen=True, slots=True)
class Fitting:
    """The cells of a size and chemistry."""

    catalogue: Catalogue
    size: str | None
    chemistry: str | None

    def cells(self) -> list[Cell]:
        """Return the cells in use that fit."""
        return self.catalogue.fitting(self.size, self.chemistry)


@click.command("which-cells")
@click.option(
    "--current",
    "current_a",
    type=FiniteNumber("A"),
    required=True,
    metavar="A",
    help="Continuous current of the pack.",
)
@click.option(
    "--series", type=click.IntRange(1), metavar="S", help="Cells in series; adds voltage, energy and mass."
)
@click.option(
    "--parallel", type=click.IntRange(1), metavar="P",
    help="Cells in parallel.  [default: as few as keep the reserve]",
)  # fmt: skip
@click.option("--size", metavar="CODE", help="Only cells of this size, such as 18650.")
@click.option(
    "--chemistry", type=click.Choice(CHEMISTRIES, case_sensitive=False), help="Only this chemistry."
)
@click.option(
    "--temperature",
    type=TemperatureRange(),
    help="Temperatures of use in C, such as -5..35.  [default: 0..40]",
)
@click.option(
    "--reserve", type=FiniteNumber("fraction"), help="Fraction of a cell's limit to use.  [default: 2/3]"
)
@click.option("--all", "with_failing", is_flag=True, help="Show the cells that cannot, too.")
@format_option("text", "json", "csv", "markdown")
@registry_option
def which_cells(
    registry_path: Path | None, format_name: str, with_failing: bool, current_a: float, series: int | None,
    parallel: int | None, temperature: tuple[float, float] | None, reserve: float | None, size: str | None,
    chemistry: str | None,
) -> None:  # fmt: skip
    """Say which registered cells could supply a current, with what margin, on whose evidence.

    A cell that cannot be shown to supply it is 'not settled' or 'does not hold'; what no sheet states
    never counts as a pass. JSON and CSV always hold every cell.

    Example: packclaim which-cells --current 40 --parallel 4 --temperature -5..35
    """
    overrides = {} if reserve is None else {"reserve": reserve}
    limits = Limits().with_overrides(overrides)
    use = limits["use_temperature_c"]
    question = Question(
        current_a,
        series,
        parallel,
        temperature or (use.low, use.high),
        limits.number("reserve"),
        size,
        chemistry,
    )
    catalogue = read_registry(registry_path)
    if format_name in ("json", "csv"):
        choices = _every_choice(question, catalogue)
        if format_name == "csv":
            click.echo(_as_csv(choices), nl=False)
        else:
            click.echo(json.dumps(_as_data(question, catalogue, choices), ensure_ascii=False, indent=2))
        return
    if with_failing:
        shown = _every_choice(question, catalogue)
        counts = Counter(each.verdict for each in shown)
    else:
        best = shortlist(catalogue, most=MOST_SHOWN, size=size, chemistry=chemistry, **_asked(question))
        shown, counts = best.choices, best.counts
    render = _as_markdown if format_name == "markdown" else _as_text
    click.echo(render(question, catalogue, counts, shown))


def _every_choice(question: Question, catalogue: Catalogue) -> list[Choice]:
    return select(Fitting(catalogue, question.size, question.chemistry), **_asked(question))


def _asked(question: Question) -> dict[str, Any]:
    low_c, high_c = question.temperature_c
    return {
        "current_a": question.current_a, "series": question.series, "parallel": question.parallel,
        "low_c": low_c, "high_c": high_c, "reserve": question.reserve,
    }  # fmt: skip


def answer(question: Question, catalogue: Catalogue, counts: Counter[Outcome]) -> str:
    """Return the answer in a sentence or two."""
    kind = " ".join(filter(None, (question.chemistry, question.size)))
    if not counts.total():
        if catalogue.count:
            return f"None of {counted(catalogue.count, 'registered cell')} is {kind}, so nothing can be said."
        return f"The registry {catalogue.place} holds no cells in use, so nothing can be said."
    kept, used_up = counts["holds with reserve"], counts["holds without reserve"]
    low, high = question.temperature_c
    of = counted(counts.total(), f"registered {kind} cell" if kind else "registered cell")
    text = f"{kept + used_up or 'None'} of {of} could supply {question.current_a:g} A"
    if question.parallel is not None:
        text += f" from {question.parallel} in parallel"
    text += f" at {low:g}..{high:g} C"
    if kept + used_up:
        text += f": {kept} with reserve, {used_up} without"
    return f"{text}. {counts['not settled']} not settled, {counts['does not hold']} cannot."


PACK_HEADER = ("cell", "cells", "voltage", "energy", "cells' mass")


def _table(shown: Sequence[Choice], question: Question) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Return the header and the rows; the parallel count has a column where it is open."""
    from verifier.report.words import evidence_words, percent, span

    is_open = question.parallel is None
    header = (
        "cell",
        "verdict",
        *(("parallel",) if is_open else ()),
        "pack",
        "margin",
        "evidence",
        "one cell",
    )
    rows = [
        (
            each.cell.id, str(each.verdict),
            *(("any" if each.parallel is None else str(each.parallel),) if is_open else ()),
            span(_bounds(each.pack_current_a), "A"), percent(_bounds(each.margin_percent)),
            evidence_words(each.evidence), _governing(each),
        )
        for each in shown
    ]  # fmt: skip
    return header, rows


def _pack_rows(shown: Sequence[Choice], series: int) -> list[tuple[str, ...]]:
    """Return the rows of whole packs, of the cells whose parallel count is known."""
    return [_pack_row(each, series, each.parallel) for each in shown if each.parallel is not None]


def _pack_row(choice: Choice, series: int, parallel: int) -> tuple[str, ...]:
    from verifier.report.words import digits, span

    voltage, energy, mass = choice.pack_voltage_v, choice.pack_energy_wh, choice.cells_mass_kg
    return (
        choice.cell.id,
        f"{series * parallel} ({series} x {parallel})",
        "-" if voltage is None else f"{digits(voltage)} V",
        "-" if energy is None else span(Bounds(*energy), "Wh"),
        "-" if mass is None else f"{digits(mass)} kg",
    )


def _reserve(question: Question) -> str:
    return f"With reserve: at most {question.reserve:.3g} of a cell's limit is used."


def _bounds(ends: tuple[float, float | None]) -> Bounds:
    return Bounds(ends[0], float("inf") if ends[1] is None else ends[1])


def _governing(choice: Choice) -> str:
    """Return what one cell is granted, and the band that governs."""
    from verifier.report.words import span

    granted = span(_bounds((choice.limit.low_a, choice.limit.high_a)), "A")
    band = choice.limit.band
    if band is None:
        return granted
    return granted if band.low_c is None else f"{granted} ({band.low_c:g}..{band.high_c:g} C)"


def _notes(choices: Sequence[Choice]) -> list[str]:
    """Return what has to be known of the cells shown, cells that share a note together."""
    owners: dict[str, list[str]] = {}
    for each in choices:
        if each.note:
            owners.setdefault(each.note, []).append(each.cell.id)
    return [f"{', '.join(ids)}: {note}" for note, ids in owners.items()]


def _not_shown(counts: Counter[Outcome], shown: Sequence[Choice]) -> str:
    """Return which cells the table leaves out, or nothing when it holds all."""
    left = counts - Counter(each.verdict for each in shown)
    failing = left.pop("does not hold", 0)
    parts = [f"{counted(left.total(), 'more cell')} that rank lower"] if left.total() else []
    if failing:
        parts.append(f"{counted(failing, 'cell')} that cannot")
    return f"Not shown: {' and '.join(parts)}; --all shows them." if parts else ""


def _as_text(
    question: Question, catalogue: Catalogue, counts: Counter[Outcome], shown: Sequence[Choice]
) -> str:
    blocks = [paragraph(answer(question, catalogue, counts))]
    if shown:
        blocks.append(table(*_table(shown, question), right={2} if question.parallel is None else ()))
        if question.series is not None:
            blocks.append(table(PACK_HEADER, _pack_rows(shown, question.series), right={2, 3, 4}))
    notes = [paragraph(f"- {note}", indent="  ") for note in _notes(shown)]
    if notes:
        blocks.append("\n".join(notes))
    if left_out := _not_shown(counts, shown):
        blocks.append(paragraph(left_out))
    if not counts and not catalogue.count:
        blocks.append(HOW_TO_FILL)
    if counts:
        blocks.append(paragraph(f"{_reserve(question)} {CAUTION}"))
    return "\n\n".join(blocks)


def _as_markdown(
    question: Question, catalogue: Catalogue, counts: Counter[Outcome], shown: Sequence[Choice]
) -> str:
    from verifier.report.as_markdown import escape
    from verifier.report.as_markdown import table as markdown_table

    blocks = [escape(answer(question, catalogue, counts))]
    if shown:
        blocks.append(markdown_table(*_table(shown, question)))
        if question.series is not None:
            blocks.append(markdown_table(PACK_HEADER, _pack_rows(shown, question.series)))
    notes = _notes(shown)
    if notes:
        blocks.append("\n".join(f"- {escape(note)}" for note in notes))
    if left_out := _not_shown(counts, shown):
        blocks.append(escape(left_out))
    if counts:
        blocks.append(f"> {_reserve(question)} {CAUTION}")
    return "\n\n".join(blocks)


def _as_data(question: Question, catalogue: Catalogue, choices: Sequence[Choice]) -> dict[str, Any]:
    counts = Counter(each.verdict for each in choices)
    return {
        "asked": {
            "current_a": question.current_a, "series": question.series, "parallel": question.parallel,
            "temperature_c": list(question.temperature_c), "reserve": question.reserve, "size": question.size,
            "chemistry": question.chemistry,
        },
        "registry": {"cells": catalogue.count, "digest": catalogue.digest},
        "answer": answer(question, catalogue, counts),
        "counts": {verdict: counts[verdict] for verdict in OUTCOMES_BEST_FIRST},
        "cells": [_choice_data(each) for each in choices],
        "cautions": [CAUTION],
    }  # fmt: skip


def _choice_data(choice: Choice) -> dict[str, Any]:
    band = choice.limit.band
    return {
        "id": choice.cell.id, "maker": choice.cell.maker, "model": choice.cell.model,
        "verdict": choice.verdict, "parallel": choice.parallel, "parallel_needed": choice.parallel_needed,
        "pack_current_a": _ends(choice.pack_current_a), "margin_percent": _ends(choice.margin_percent),
        "cell_limit_a": _ends((choice.limit.low_a, choice.limit.high_a)),
        "band": None if band is None else {"low_c": band.low_c, "high_c": band.high_c, "basis": band.basis},
        "evidence": choice.evidence, "note": choice.note, "pack_voltage_v": _number(choice.pack_voltage_v),
        "pack_energy_wh": None if choice.pack_energy_wh is None else _ends(choice.pack_energy_wh),
        "cells_mass_kg": _number(choice.cells_mass_kg),
    }  # fmt: skip


def _number(value: float | None) -> float | None:
    from verifier.report.as_json import number

    return number(value)


def _ends(ends: tuple[float, float | None]) -> dict[str, float | None]:
    return {"low": _number(ends[0]), "high": _number(ends[1])}


COLUMNS = (
    "id", "maker", "model", "verdict", "parallel", "parallel_needed",
    "pack_current_low_a", "pack_current_high_a", "margin_low_percent", "margin_high_percent",
    "cell_limit_low_a", "cell_limit_high_a", "band_low_c", "band_high_c", "evidence",
    "pack_voltage_v", "pack_energy_low_wh", "pack_energy_high_wh", "cells_mass_kg", "note",
)  # fmt: skip


def _as_csv(choices: Sequence[Choice]) -> str:
    import csv
    import io

    from registry.spreadsheet import safe

    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(COLUMNS)
    for choice in choices:
        data = _choice_data(choice)
        pairs = (data["pack_current_a"], data["margin_percent"], data["cell_limit_a"])
        band, energy = data["band"] or {}, data["pack_energy_wh"] or {}
        row = [
            *(data[name] for name in COLUMNS[:6]),
            *(pair[end] for pair in pairs for end in ("low", "high")),
            band.get("low_c"), band.get("high_c"), data["evidence"], data["pack_voltage_v"],
            energy.get("low"), energy.get("high"), data["cells_mass_kg"], data["note"],
        ]  # fmt: skip
        writer.writerow([safe(value) if isinstance(value, str) else value for value in row])
    return stream.getvalue()
