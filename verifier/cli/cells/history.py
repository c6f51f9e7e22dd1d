"""``cells history`` and ``cells verify``: what was changed and by whom, and whether all holds together."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from registry.bundle import cell_line
from registry.cell import Cell
from registry.errors import UnreadableFile
from registry.opening import open_registry
from registry.sqlite.catalogue import history as changes_of
from registry.sqlite.records import Change
from registry.sqlite.verification import verify as findings
from verifier.cli.cells.registries import cell_with_id, is_text_file
from verifier.cli.completion import cells
from verifier.cli.options import format_option, registry_option, registry_path_or_default, say, say_json
from verifier.report.cells import change_lines, figure_lines, paragraph_after
from verifier.report.layout import counted, paragraph

INDENT = "      "


@click.command()
@click.argument("cell_id", metavar="ID", shell_complete=cells)
@format_option("text", "json")
@registry_option
def history(cell_id: str, format_name: str, registry_path: Path | None) -> None:
    """Show every change of a cell.

    Each with its time, who made it and why, and every figure that changed, from what to what.

    Example: packclaim cells history lyr-18650-35p
    """
    target = registry_path_or_default(registry_path)
    if is_text_file(target):
        raise UnreadableFile(str(target), "is a text file, which keeps no history", "name a SQLite registry")
    cell_with_id(open_registry(target), cell_id)
    changes = changes_of(target, cell_id)
    if format_name == "json":
        say_json([_as_data(change) for change in changes])
        return
    say(f"{cell_id}: {counted(len(changes), 'change')}, oldest first")
    for change in changes:
        say("\n" + "\n".join(_as_text(change)))


def _as_text(change: Change) -> Iterator[str]:
    why = f": {change.why}" if change.why else ", no reason given"
    when = change.at.replace("T", " ").replace("+00:00", " UTC")
    yield paragraph_after(f"{change.number:>4}  ", f"{when}, {change.action} by {change.who}{why}", INDENT)
    if change.before is None:
        figures = sum(1 for sheet in change.after.sheets for _ in figure_lines(sheet))
        held = f"{counted(len(change.after.sheets), 'sheet')}, {counted(figures, 'figure')}"
        yield f"{INDENT}the cell's first record: {held}"
        return
    for line in change_lines(change.before, change.after):
        yield paragraph_after(INDENT, line, INDENT + "  ")


def _as_data(change: Change) -> dict[str, Any]:
    before, after = _flat(change.before), _flat(change.after)
    return {
        "number": change.number, "cell_id": change.cell_id, "action": change.action,
        "at": change.at, "who": change.who, "why": change.why,
        "changes": [
            {"field": path, "before": before.get(path), "after": after.get(path)}
            for path in dict.fromkeys([*before, *after])
            if before.get(path) != after.get(path)
        ],
    }  # fmt: skip


def _flat(cell: Cell | None) -> dict[str, Any]:
    return {} if cell is None else dict(_leaves(json.loads(cell_line(cell)), ""))


def _leaves(value: Any, path: str) -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict):
        for name, part in value.items():
            yield from _leaves(part, f"{path}.{name}" if path else name)
    elif isinstance(value, list):
        for at, part in enumerate(value):
            yield from _leaves(part, f"{path}[{at}]")
    else:
        yield path, value


@click.command()
@registry_option
def verify(registry_path: Path | None) -> int:
    """Check that a registry holds together.

    The file, every record, the search index and the history are compared. Exit status 0 when all is well,
    2 when something is damaged; a warning is no damage.

    Example: packclaim cells verify
    """
    target = registry_path_or_default(registry_path)
    found = _findings(target)
    damage = [line for line in found if not line.startswith("warning:")]
    for line in found:
        say(paragraph(line, indent="  "))
    if damage:
        say(f"{target}: damaged, {counted(len(damage), 'finding')}; restore a copy")
        return 2
    say(f"{target}: holds together, {counted(open_registry(target).count, 'cell')} in use")
    return 0


def _findings(target: Path) -> list[str]:
    if is_text_file(target):
        # A bundle is sound when every line of it can be read as a cell.
        open_registry(target)
        return []
    return findings(target)
