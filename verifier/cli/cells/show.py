"""``cells show``: one cell with all its sheets."""

from __future__ import annotations

import json
from pathlib import Path

import click

from registry.bundle import cell_line
from registry.cell import Cell
from registry.cells import Cells
from registry.errors import UnknownCell
from verifier.cli.cells.registries import unknown_cell
from verifier.cli.completion import cells
from verifier.cli.options import format_option, read_registry, registry_option, say, say_json
from verifier.report.cells import cell_text


@click.command()
@click.argument("name", metavar="ID|MARKING", shell_complete=cells)
@format_option("text", "json")
@registry_option
def show(name: str, format_name: str, registry_path: Path | None) -> None:
    """Show a cell with all its sheets.

    It is named by its id or by the marking on its wrapper. With --format json the cell's record is printed,
    which 'cells edit --set' takes back.

    Example: packclaim cells show "LYR 18650-35P"
    """
    cell = find_cell(read_registry(registry_path), name)
    if format_name == "json":
        say_json(json.loads(cell_line(cell)))
        return
    say(cell_text(cell))


def find_cell(registry: Cells, name: str) -> Cell:
    """Return the cell with an id, retired or not, or the one in use that a marking names.

    Raises
    ------
    UnknownCell
        When there is none; names what is near, and never takes it.
    """
    from registry.matching import match_marking

    cell = registry.get(name)
    if cell is not None:
        return cell
    match = match_marking(name, registry)
    if match.cell is not None:
        return match.cell
    near = ", ".join(each.cell_id for each in match.suggestions)
    if not near:
        raise unknown_cell(name, registry.place, registry.ids())
    raise UnknownCell(f"'{name}'", match.note, f"name one by its id: {near}")
