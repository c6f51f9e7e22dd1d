"""``cells list``: which cells are registered, narrowed by what is wanted of them."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, fields
from pathlib import Path

import click

from registry import sheet_capacity, sheet_limits
from registry.cell import EVIDENCE_BEST_FIRST, Cell
from registry.cells import Cells
from registry.chemistry import CHEMISTRIES
from registry.governing_sheets import governing_sheets
from verifier.case.limits import Limits
from verifier.cell_figures import TemperatureRange as Air
from verifier.cell_reading import cell_figures
from verifier.cli.options import (
    HOW_TO_FILL,
    FiniteNumber,
    TemperatureRange,
    format_option,
    read_registry,
    registry_option,
    say,
    say_json,
)
from verifier.report.cells import span
from verifier.report.layout import counted, paragraph, table
from verifier.words.numbers import digits

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
    registry = read_registry(registry_path)
    registered = registry.cells(all=with_retired)
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
        _echo_json(registry, registered, rows)
    elif format_name == "csv":
        click.echo(_csv(rows), nl=False)
    else:
        left_out = 0 if with_retired else len(registry.cells(all=True)) - len(registered)
        say(_text(registry, len(registered), left_out, rows, temperature))
    for note in notes + more:
        say(paragraph(f"note: {note}"), err=True)


def row_of(cell: Cell, temperature: Range | None) -> Row:
    """Return what the list says of a cell."""
    ranges = [sheet_capacity.capacity(sheet) for sheet in governing_sheets(cell, "capacity")]
    best = min(cell.sheets, key=lambda sheet: EVIDENCE_BEST_FIRST.index(sheet.evidence))
    return Row(
        cell.id, cell.maker, cell.model, cell.size, cell.chemistry,
        min((each.minimum_ah for each in ranges if each is not None), default=None),
        continuous_a(cell, temperature), best.evidence, len(cell.sheets), cell.retired,
    )  # fmt: skip


def continuous_a(cell: Cell, temperature: Range | None) -> float | None:
    """Return the continuous current that a check grants one cell over a range, else in its best band. [A].

    Of bands of the surface none is the best, as each ampere warms it: then it is that in a room. None when no sheet
    calls a limit continuous: a maximum alone is neither that limit nor zero.
    """
    rules = [rule for sheet in cell.sheets for rule in sheet_limits.rules_of(sheet, "discharge")]
    if not any(rule.low_a > 0 or rule.high_a == 0 for rule in rules):
        return None
    of_surface = any(rule.of_surface for rule in rules)
    if temperature is not None:
        bands = [temperature]
    else:
        bands = [sheet_limits.ROOM_C] if of_surface else list(sheet_limits.bands_c(cell, "discharge"))
    return max((_granted(cell, band, of_surface) for band in bands), default=0.0)


def _granted(cell: Cell, band: Range, of_surface: bool) -> float:
    if of_surface:
        # How warm the current makes the surface takes the whole cell to tell.
        air = Air(*band, assumed=False)
        return float(
            cell_figures(
                cell, size=None, chemistries=0, air=air, charging_air=air, limits=Limits()
            ).continuous_a.low
        )
    found = sheet_limits.granted(cell, "discharge", *band)
    return 0.0 if found is None else found.low_a


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


def _echo_json(registry: Cells, registered: list[Cell], rows: list[Row]) -> None:
    data = {
        "registry": {"place": registry.place, "cells": registry.count, "digest": registry.digest},
        "of": len(registered),
        "cells": [asdict(row) for row in rows],
    }
    say_json(data)


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


def _text(registry: Cells, registered: int, retired: int, rows: list[Row], temperature: Range | None) -> str:
    if not registered:
        return f"The registry {registry.place} holds no cells in use.\n{HOW_TO_FILL}"
    shown: Callable[[float | None], str] = lambda value: "-" if value is None else digits(value, 4)  # noqa: E731
    header = ("cell", "size", "chem.", "Ah", "A", "evidence", "sheets")
    body = [
        (
            row.id + (" (retired)" if row.retired else ""), row.size or "-", row.chemistry,
            shown(row.capacity_ah), shown(row.continuous_a), row.evidence, str(row.sheets),
        )
        for row in rows
    ]  # fmt: skip
    where = (
        "in the best band of the datasheet, in a room where its bands are of the surface"
        if temperature is None
        else f"over {span(*temperature)}"
    )
    without = f"; {retired} retired, shown with --all" if retired else ""
    return "\n".join(
        [
            f"{len(rows)} of {counted(registered, 'cell')} in {registry.place}{without}",
            *([table(header, body, right={3, 4, 6})] if body else []),
            paragraph(
                "Ah and A: lowest capacity and continuous discharge that a check grants one cell, "
                f"{where}. -: not known."
            ),
        ]
    )
