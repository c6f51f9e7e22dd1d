"""The commands that keep the registry of cells."""

from __future__ import annotations

import click

from verifier.cli.lazy_group import Commands, LazyGroup

COMMANDS: Commands = {
    "add": (
        "verifier.cli.cells.add:add",
        "Add a cell with a sheet, or with --to a further sheet of a cell.",
    ),
    "show": (
        "verifier.cli.cells.show:show",
        "Show a cell with all its sheets.",
    ),
    "list": (
        "verifier.cli.cells.listing:list_cells",
        "List the registered cells.",
    ),
    "edit": (
        "verifier.cli.cells.edit:edit",
        "Change a cell or the figures of one of its sheets.",
    ),
    "retire": (
        "verifier.cli.cells.edit:retire",
        "Take a cell out of use, or bring it back.",
    ),
    "history": (
        "verifier.cli.cells.history:history",
        "Show every change of a cell.",
    ),
    "verify": (
        "verifier.cli.cells.history:verify",
        "Check that a registry holds together.",
    ),
    "read-sheet": (
        "verifier.cli.cells.read_sheet:read_sheet",
        "Read a cell's spec sheet into a draft for the registry.",
    ),
    "accept": (
        "verifier.cli.cells.accept:accept",
        "Store a draft of 'cells read-sheet' in the registry, with page and line of each figure.",
    ),
    "import": (
        "verifier.cli.cells.transfer:import_cells",
        "Take cells from bundles and tables.",
    ),
    "export": (
        "verifier.cli.cells.transfer:export_cells",
        "Write all cells to a bundle or a table.",
    ),
}


@click.group(cls=LazyGroup, commands_at=COMMANDS)
def cells() -> None:
    """Keep a registry of cells: their sheets, figures and where each comes from."""
