"""``cells list``: which cells are registered, narrowed by what is wanted of them."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, fields
from pathlib import Path

import click

from registry import sheet_limits
from registry.catalogue import Catalogue
from registry.cell import EVIDENCE_BEST_FIRST, Cell, Sheet
from registry.chemistry import CHEMISTRIES
from verifier.cli.cells.rendering import number, span
from verifier.cli.options import (
    HOW_TO_FILL,
    FiniteNumber,
    TemperatureRange,
    format_option,
    read_registry,
    registry_option,
)
from verifier.report.columns import counted, paragraph, table

Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Row:
    """One cell of the list. Figures are the cautious ones; ``None`` is not known."""

    id: str
    maker: str
    model: str
    size: str | None
    chemistry: str
    capacity_ah: float | None
    continuous_a: float | None
    evidence: str
    sheets: int
    retired: str | None


@click.command("list")
@click.option(
    "--text", default="", metavar="WORDS", help="Words, or beginnings of words, of names and titles."
)
@click.option("--size", metavar="CODE", help="Size code, such as 18650.")
@click.option("--chemistry", type=click.Choice(CHEMISTRIES, case_sensitive=False), help="Chemistry.")
@click.option(
    "--min-ah", type=FiniteNumber("Ah"), metavar="AH", help="Least capacity, by the minimum of the sheet."
)
@click.option(
    "--max-ah", type=FiniteNumber("Ah"), metavar="AH", help="Largest capacity, by the minimum of the sheet."
)
@click.option(
    "--min-current", type=FiniteNumber("A"), metavar="A",
    help="Least continuous discharge, over --temperature where it is given, else in the best band.",
)  # fmt: skip
@click.option("--temperature", type=TemperatureRange(), help="Temperatures of use in C, such as -5..35.")
@click.option("--all", "with_retired", is_flag=True, help="Retired cells too.")
@format_option("text", "json", "csv")
@registry_option
def list_cells(
    registry_path: Path | None, format_name: str, text: str, size: str | None, chemistry: str | None,
    min_ah: float | None, max_ah: float | None, min_current: float | None, temperature: Range | None,
    with_retired: bool,
) -> None:  # fmt: skip
    """List the registered cells.

    Capacity and continuous current are what a check grants one cell.

    Example: packclaim cells list --size 21700 --min-current 10 --temperature 0..40
    """
    catalogue = read_registry(registry_path)
    registered = catalogue.cells(all=with_retired)
    named = [
        cell
        for cell in registered
        if (size is None or (cell.size or "").lower() == size.lower())
        and (chemistry is None or cell.chemistry == chemistry)
        and holds_words(cell, text)
    ]
    rows = [row_of(cell, temperature) for cell in named]
    rows, notes = _within(rows, "capacity_ah", "capacity", min_ah, max_ah)
    rows, more = _within(rows, "continuous_a", "continuous current", min_current, None)
    if format_name == "json":
        _echo_json(catalogue, registered, rows)
    elif format_name == "csv":
        click.echo(_csv(rows), nl=False)
    else:
        click.echo(_text(catalogue, len(registered), rows, temperature))
    for note in notes + more:
        click.echo(paragraph(f"note: {note}"), err=True)


def row_of(cell: Cell, temperature: Range | None) -> Row:
    """Return what the list says of a cell."""
    ranges = [sheet_limits.capacity(sheet) for sheet in sheet_limits.governing_sheets(cell, "capacity")]
    best = min(cell.sheets, key=lambda sheet: EVIDENCE_BEST_FIRST.index(sheet.evidence))
    return Row(
        cell.id, cell.maker, cell.model, cell.size, cell.chemistry,
        min((each.low_ah for each in ranges if each is not None), default=None),
        continuous_a(cell, temperature), best.evidence, len(cell.sheets), cell.retired,
    )  # fmt: skip


def continuous_a(cell: Cell, temperature: Range | None) -> float | None:
    """Return the continuous current the sheets grant over a range, else in their best band; of several
    sheets that decide, the least. ``None`` when no sheet states a limit. [A].
    """  # noqa: D205
    granted = []
    for sheet in sheet_limits.governing_sheets(cell, _calls_continuous):
        if temperature is not None:
            limit = sheet_limits.discharge_limit(sheet, *temperature)
            granted.append(0.0 if limit is None else limit.low_a)
        else:
            granted.append(
                max((limit.low_a for *_, limit in sheet_limits.discharge_bands(sheet)), default=0.0)
            )
    return min(granted, default=None)


def _calls_continuous(sheet: Sheet) -> bool:
    """Say whether a sheet states a continuous discharge limit; a maximum alone is neither one nor zero."""
    return any(
        sheet.amperes(band.max_continuous_a, band.max_continuous_c) is not None for band in sheet.discharge
    )


def holds_words(cell: Cell, text: str) -> bool:
    """Whether every word of a text begins a word of the cell's names or of its sheets' titles."""
    titles = (sheet.title for sheet in cell.sheets)
    known = _words(
        " ".join([cell.id, cell.maker, cell.model, cell.size or "", cell.chemistry, *cell.markings, *titles])
    )
    return all(any(word.startswith(wanted) for word in known) for wanted in _words(text))


def _words(text: str) -> list[str]:
    return "".join(letter if letter.isalnum() else " " for letter in text.casefold()).split()


def _within(
    rows: list[Row], field: str, words: str, low: float | None, high: float | None
) -> tuple[list[Row], list[str]]:
    """Return the rows whose figure lies within, and a note on those of which it is not known."""
    if low is None and high is None:
        return rows, []
    known: list[tuple[float, Row]] = [
        (getattr(row, field), row) for row in rows if getattr(row, field) is not None
    ]
    unknown = len(rows) - len(known)
    kept = [row for value, row in known if (low is None or value >= low) and (high is None or value <= high)]
    notes = [f"{counted(unknown, 'cell')} left out whose {words} no sheet states"] if unknown else []
    return kept, notes


def _echo_json(catalogue: Catalogue, registered: list[Cell], rows: list[Row]) -> None:
    data = {
        "registry": {"place": catalogue.place, "cells": catalogue.count, "digest": catalogue.digest},
        "of": len(registered),
        "cells": [asdict(row) for row in rows],
    }
    click.echo(json.dumps(data, ensure_ascii=False, indent=2))


def _csv(rows: Iterable[Row]) -> str:
    from registry.spreadsheet import safe

    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    names = [field.name for field in fields(Row)]
    writer.writerow(names)
    for row in rows:
        values = (getattr(row, name) for name in names)
        writer.writerow([safe(value) if isinstance(value, str) else value for value in values])
    return stream.getvalue()


def _text(catalogue: Catalogue, registered: int, rows: list[Row], temperature: Range | None) -> str:
    if not registered:
        return f"The registry {catalogue.place} holds no cells in use.\n{HOW_TO_FILL}"
    shown: Callable[[float | None], str] = lambda value: "-" if value is None else number(value)  # noqa: E731
    header = ("cell", "size", "chem.", "Ah", "A", "evidence", "sheets")
    body = [
        (
            row.id + (" (retired)" if row.retired else ""), row.size or "-", row.chemistry,
            shown(row.capacity_ah), shown(row.continuous_a), row.evidence, str(row.sheets),
        )
        for row in rows
    ]  # fmt: skip
    where = "in the best band of the sheet" if temperature is None else f"over {span(*temperature)}"
    return "\n".join(
        [
            f"{len(rows)} of {counted(registered, 'cell')} in {catalogue.place}",
            *([table(header, body, right={3, 4, 6})] if body else []),
            paragraph(
                "Ah and A: lowest capacity and continuous discharge that a check grants one cell, "
                f"{where}. -: not known."
            ),
        ]
    )
