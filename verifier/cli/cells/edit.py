"""``cells edit`` and ``cells retire``: changing what is registered; the history keeps how it stood."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from registry.bundle import parse_line, validate_cell
from registry.cell import Cell
from registry.errors import InvalidRecord
from registry.input_bounds import RECORD
from registry.sheet_figures import FIGURES
from verifier.cli.cells.answers import Values
from verifier.cli.cells.figures import (
    NOTATION,
    figure_options,
    given_figures,
    plain_usage,
    with_figures,
    without_figure,
)
from verifier.cli.cells.identity import IDENTITY, SHEET, identity_options, sheet_options, taken_from
from verifier.cli.cells.registries import author_options, cell_with_id, changing, path_to_change, registered
from verifier.cli.completion import cells
from verifier.cli.options import read_text, registry_option, say
from verifier.report.cells import change_lines, paragraph_after
from verifier.report.layout import counted


@click.command(epilog=NOTATION)
@click.argument("cell_id", metavar="ID", shell_complete=cells)
@click.option(
    "--sheet",
    "number",
    type=click.IntRange(1),
    metavar="N",
    help="Sheet to change, as 'cells show' numbers it.",
)
@identity_options
@click.option(
    "--remove-marking", "unmarked", multiple=True, metavar="TEXT", help="Marking to take out.  [repeatable]"
)
@sheet_options
@figure_options
@click.option(
    "--clear",
    multiple=True,
    type=click.Choice(FIGURES),
    metavar="FIGURE",
    help="Figure to make 'not known'.  [repeatable]",
)
@click.option(
    "--replace",
    "replaced",
    multiple=True,
    type=click.Choice(("discharge", "charge")),
    help="Let the bands given here take the place of all bands of this limit.  [repeatable]",
)
@click.option("--remove-sheet", is_flag=True, help="Take the sheet out.")
@click.option(
    "--set",
    "record_file",
    metavar="FILE",
    help="Put this JSON object, one whole cell, in place of the record.",
)
@click.option("--dry-run", is_flag=True, help="Show what would change and store nothing.")
@author_options(why_required=True)
@registry_option
def edit(
    registry_path: Path | None, cell_id: str, who: str, why: str, record_file: str | None, dry_run: bool,
    **typed: Any,
) -> None:  # fmt: skip
    """Change a cell or the figures of one of its sheets.

    A figure given here takes the place of the one the sheet has, a band that of the same temperatures; other
    bands stay, unless --replace says that they go.
    A marking is added to those known. What changes is shown, and the history keeps what was before.

    Example: packclaim cells edit lyr-18650-35p --sheet 1 --mass-g 47.5 --page 3 --why "misread"
    """
    target = path_to_change(registry_path)
    with registered(target) as known:
        before = cell_with_id(known, cell_id)
    record = _edited(before, typed)
    if record_file is None:
        after = validate_cell(record, f"cell {cell_id}")
    elif record != before.model_dump():
        raise click.UsageError("--set replaces the whole record; it stands alone")
    else:
        after = _record_from(record_file, cell_id)
    lines = change_lines(before, after)
    if after == before:
        say(f"{cell_id}: nothing differs; nothing was stored")
        return
    if not dry_run:
        with changing(target, create=False) as store:
            store.edit(after, who=who, why=why, seen=before)
    say(f"{cell_id}: {'would change' if dry_run else 'changed'}")
    for line in lines or ["only the order of figures"]:
        say(paragraph_after("  ", line, "    "))


def _record_from(name: str, cell_id: str) -> Cell:
    place = "stdin" if name == "-" else name
    cell = parse_line(read_text(name, RECORD), place)
    if cell.id != cell_id:
        raise InvalidRecord(
            f"{place} id", f"'{cell.id}' is another cell than '{cell_id}'", "an id stays as it is"
        )
    return cell


def _edited(before: Cell, typed: dict[str, Any]) -> Values:
    """Return a cell's record with what was typed in place of what it held."""
    record = before.model_dump()
    identity = _or_absent(taken_from(typed, IDENTITY))
    added, unmarked = identity.pop("markings", []), typed.pop("unmarked")
    for marking in unmarked:
        if marking not in record["markings"]:
            raise click.UsageError(
                f"--remove-marking '{marking}' is none of: {'; '.join(record['markings'])}"
            )
    kept = [marking for marking in record["markings"] if marking not in unmarked]
    record |= identity | {"markings": tuple(kept + [marking for marking in added if marking not in kept])}
    given, head = given_figures(typed), _or_absent(taken_from(typed, SHEET))
    removal = typed.pop("remove_sheet")
    if not (given or head or removal or typed["clear"] or typed["not_stated"]):
        return record
    if removal and (given or head or typed["clear"] or typed["not_stated"]):
        raise click.UsageError("--remove-sheet takes the sheet out; give no figure of it")
    at = _sheet_index(before, typed["number"])
    sheets = list(record["sheets"])
    if removal:
        del sheets[at]
    else:
        sheets[at] = _edited_sheet(sheets[at] | head, given, typed)
    return record | {"sheets": tuple(sheets)}


def _or_absent(given: Values) -> Values:
    """Return options with an empty size, date or pattern as not known; an empty title is simply none."""
    return {
        name: None if value == "" and name in ("size", "date", "date_code") else value
        for name, value in given.items()
    }


def _edited_sheet(sheet: Values, given: list[Any], typed: dict[str, Any]) -> Values:
    with plain_usage():
        record = with_figures(sheet, given, typed["not_stated"], typed["replaced"])
    for figure in typed["clear"]:
        without_figure(record, figure)
    return record


def _sheet_index(cell: Cell, number: int | None) -> int:
    count = len(cell.sheets)
    if number is None and count > 1:
        raise click.UsageError(f"{cell.id} has {count} sheets; say which with --sheet 1 to --sheet {count}")
    if number is not None and number > count:
        raise click.UsageError(f"{cell.id} has {counted(count, 'sheet')}, no sheet {number}")
    return (number or 1) - 1


@click.command()
@click.argument("cell_id", metavar="ID", shell_complete=cells)
@click.option("--undo", is_flag=True, help="Bring a retired cell back into use.")
@author_options(why_required=True)
@registry_option
def retire(registry_path: Path | None, cell_id: str, undo: bool, who: str, why: str) -> None:
    """Take a cell out of use, or bring it back.

    A retired cell stays readable with its history, and no check uses it.

    Example: packclaim cells retire lyr-18650-35p --why "out of production"
    """
    target = path_to_change(registry_path)
    with registered(target) as known:
        cell = cell_with_id(known, cell_id)
    if undo and cell.retired is None:
        raise InvalidRecord(f"cell {cell_id}", "is not retired")
    with changing(target, create=False) as store:
        if undo:
            back = validate_cell(cell.model_dump() | {"retired": None}, f"cell {cell_id}")
            store.edit(back, who=who, why=why, seen=cell)
        else:
            store.retire(cell_id, who=who, why=why)
    say(f"{cell_id}: {'back in use' if undo else 'retired'}: {why}")
