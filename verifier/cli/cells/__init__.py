"""The commands that keep the registry of cells."""

from __future__ import annotations

import click

from verifier.cli import LazyGroup

COMMANDS = {
    "add": "verifier.cli.cells.add:add",
    "show": "verifier.cli.cells.show:show",
    "list": "verifier.cli.cells.listing:list_cells",
    "edit": "verifier.cli.cells.edit:edit",
    "retire": "verifier.cli.cells.edit:retire",
    "history": "verifier.cli.cells.history:history",
    "verify": "verifier.cli.cells.history:verify",
    "read-sheet": "verifier.cli.cells.read_sheet:read_sheet",
    "accept": "verifier.cli.cells.accept:accept",
    "import": "verifier.cli.cells.transfer:import_cells",
    "export": "verifier.cli.cells.transfer:export_cells",
}


@click.group(cls=LazyGroup, commands_at=COMMANDS)
def cells() -> None:
    """Keep a registry of cells: their sheets, figures and where each comes from."""
