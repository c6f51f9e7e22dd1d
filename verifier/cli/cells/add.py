"""``cells add``: a new cell with its first sheet, or one more sheet of a registered cell."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click

from registry.bundle import validate_cell, with_sheet
from registry.cell import Cell, cell_id_from
from registry.errors import InvalidRecord
from verifier.cli.cells.figures import NOTATION, Given, figure_options, given_figures, plain_usage
from verifier.cli.cells.guided import Draft, ask_sheet
from verifier.cli.cells.identity import IDENTITY, SHEET, identity_options, sheet_options, taken_from
from verifier.cli.cells.registries import (
    author_options,
    cell_with_id,
    changing,
    path_to_change,
    registered,
    say_doubts,
)
from verifier.cli.options import registry_option, say


@click.command(epilog=NOTATION)
@identity_options
@sheet_options
@figure_options
@click.option("--id", "cell_id", metavar="ID", help="Id in the registry.  [default: from maker and model]")
@click.option("--to", "to_id", metavar="ID", help="Add the sheet to this registered cell.")
@click.option("--guided", is_flag=True, help="Ask for each figure in turn; the default on a terminal.")
@author_options(why_required=False)
@registry_option
def add(
    registry_path: Path | None, who: str, why: str, cell_id: str | None, to_id: str | None, guided: bool,
    **typed: Any,
) -> None:  # fmt: skip
    """Add a cell with a sheet, or with --to a further sheet of a cell.

    Without a figure among the options, each figure is asked for in turn.

    Example: packclaim cells add --maker Lyr --model 18650-35P --size 18650 --chemistry NMC --evidence maker
    --minimum-ah 3350mAh --discharge 0..45=8A --discharge -20..0=0.5C
    """
    given = given_figures(typed)
    target = path_to_change(registry_path)
    draft = Draft(
        taken_from(typed, IDENTITY), taken_from(typed, SHEET), _by_key(given), set(typed["not_stated"])
    )
    if cell_id:
        draft.cell["id"] = cell_id
    if to_id and draft.cell:
        raise click.UsageError("--to names a registered cell; change what that cell is with 'cells edit'")
    with registered(target) as known:
        base = cell_with_id(known, to_id) if to_id else None
        taken = set(known.ids())
    if guided or (not given and not draft.not_stated and sys.stdin.isatty()):
        if not ask_sheet(draft, base=base, taken=taken):
            say("nothing was stored", err=True)
            return
    else:
        _complete(draft, given, new=base is None)
    cell = _cell(draft, base, taken)
    with changing(target, create=True) as store:
        if base is None:
            store.add([cell], who=who, why=why)
        else:
            store.edit(cell, who=who, why=why, seen=base)
    say(f"{cell.id}: sheet {len(cell.sheets)} added")
    for note in _lacking(cell):
        say(f"note: {note}", err=True)
    say_doubts(cell)


def _by_key(given: Iterable[Given]) -> dict[str, list[Given]]:
    found: dict[str, list[Given]] = {}
    for item in given:
        found.setdefault(item.source.key, []).append(item)
    return found


def _complete(draft: Draft, given: list[Given], *, new: bool) -> None:
    """Refuse what cannot make a cell, naming every option that lacks."""
    needed = ["maker", "model", "chemistry"] if new else []
    missing = [f"--{name}" for name in needed if name not in draft.cell]
    if "evidence" not in draft.sheet:
        missing.append("--evidence")
    if missing:
        raise click.UsageError(f"{', '.join(missing)} missing; or answer questions one by one with --guided")
    if not given and not draft.not_stated:
        raise click.UsageError("no figure is given, such as --minimum-ah 3.35; or use --guided")


def _cell(draft: Draft, base: Cell | None, taken: set[str]) -> Cell:
    with plain_usage():
        sheet = draft.sheet_record()
    if base is not None:
        return with_sheet(base, sheet)
    suggested = cell_id_from(draft.cell["maker"], draft.cell["model"])
    if not suggested and "id" not in draft.cell:
        raise click.UsageError("maker and model hold no letter that an id may have; give one with --id")
    record = {"id": suggested} | draft.cell | {"sheets": [sheet]}
    if record["id"] in taken:
        raise InvalidRecord(
            f"cell {record['id']}", "is registered already",
            f"add this sheet to it with --to {record['id']}, or choose another id with --id",
        )  # fmt: skip
    return validate_cell(record, f"cell {record['id']}")


def _lacking(cell: Cell) -> Iterable[str]:
    """Yield what a check of a pack will miss most."""
    if not any(sheet.discharge for sheet in cell.sheets):
        yield "no discharge limit is known, so no current of a pack can be confirmed by this cell"
    if not any(sheet.capacity for sheet in cell.sheets):
        yield "no capacity is known, so no capacity of a pack can be confirmed by this cell"
    if not cell.markings:
        yield "no marking is known; a pack's cells are then only found by maker and model, or by id"
