"""``cells import`` and ``cells export``: whole registries as text bundles and tables."""

from __future__ import annotations

import shlex
from pathlib import Path

import click

from registry.bundle import bundle_text, parse_bundle
from registry.cell import Cell
from registry.errors import InvalidRecord, Noted, UnreadableFile
from registry.sqlite.beginning import MAGIC
from verifier.cli.cells.registries import author_options, changing, path_to_change, say_doubts
from verifier.cli.completion import files
from verifier.cli.options import (
    read_registry,
    read_text,
    refuse_out,
    registry_option,
    registry_path_or_default,
    say,
    write_text,
)
from verifier.report.layout import counted

ENDINGS = {".jsonl": "bundle", ".ndjson": "bundle", ".json": "bundle", ".csv": "table"}
type_option = click.option(
    "--type", "kind", type=click.Choice(("bundle", "table")),
    help="bundle is JSON Lines, table is CSV.  [default: by the file's ending, else by its content]",
)  # fmt: skip


@click.command("import")
@click.argument("files", nargs=-1, required=True, metavar="FILE...", shell_complete=files)
@type_option
@author_options(why_required=False)
@registry_option
def import_cells(
    files: tuple[str, ...], kind: str | None, registry_path: Path | None, who: str, why: str
) -> None:
    """Take cells from bundles and tables.

    All cells of all files are taken, or none; '-' is stdin. A cell whose id is registered takes the place of
    the one that is, and the history keeps both.

    Example: packclaim cells import bench.jsonl more.csv
    """
    target = path_to_change(registry_path)
    cells = _cells_of(files, kind)
    with changing(target, create=True) as store:
        counts = store.take(cells, who=who, why=why)
    say(f"{target}: {counts['added']} added, {counts['changed']} changed, {counts['unchanged']} unchanged")
    if counts["kept_retired"]:
        say(
            f"note: {counts['kept_retired']} of them stay retired here; "
            "bring one back with 'packclaim cells retire ID --undo'",
            err=True,
        )
    say_doubts(*cells)
    if not cells:
        say("note: the input holds no cells", err=True)


def _cells_of(files: tuple[str, ...], kind: str | None) -> list[Cell]:
    """Return the cells of all files; every problem of every file is told before anything is taken."""
    cells: list[Cell] = []
    noted = Noted()
    first_in: dict[str, str] = {}
    for name in files:
        parsed: list[Cell] = []
        with noted.of_one():
            parsed = _parsed(name, kind)
        for cell in parsed:
            if first_in.setdefault(cell.id, name) != name:
                noted.problems.append(
                    InvalidRecord(
                        f"{name} cell {cell.id}", f"stands in {first_in[cell.id]} too", "keep one of the two"
                    )
                )
        cells.extend(parsed)
    noted.raise_any(", ".join(files))
    return cells


def _parsed(name: str, kind: str | None) -> list[Cell]:
    place = "stdin" if name == "-" else name
    if name != "-":
        _refuse_sqlite(Path(name))
    text = read_text(name)
    chosen = kind or ENDINGS.get(Path(name).suffix.lower()) or _kind_of(text)
    if chosen == "bundle":
        return parse_bundle(text, place)
    from registry.table import parse_table

    return parse_table(text, place)


def _kind_of(text: str) -> str:
    return "bundle" if text.lstrip().startswith(("{", "[")) else "table"


def _refuse_sqlite(path: Path) -> None:
    try:
        with path.open("rb") as file:
            held = file.read(len(MAGIC))
    except OSError:
        return  # the reading that follows says why
    if held == MAGIC:
        raise UnreadableFile(
            str(path), "is a SQLite registry",
            f"write a bundle of it: packclaim cells export cells.jsonl --registry {shlex.quote(str(path))}",
        )  # fmt: skip


@click.command("export")
@click.argument("file")
@type_option
@registry_option
def export_cells(file: str, kind: str | None, registry_path: Path | None) -> None:
    """Write all cells to a bundle or a table.

    Retired cells are written too. A bundle ends in .jsonl, a table in .csv; '-' is stdout.

    Example: packclaim cells export bench.jsonl
    """
    chosen = kind or ENDINGS.get(Path(file).suffix.lower()) or ("bundle" if file == "-" else None)
    if chosen is None:
        raise click.UsageError(f"'{file}' does not end in .jsonl or .csv; say --type bundle or --type table")
    inputs: list[str | Path] = [registry_path_or_default(registry_path)]
    refuse_out(file, inputs=inputs, bundles=True)
    registry = read_registry(registry_path)
    cells = registry.cells(all=True)
    write_text(file, _text_of(cells, chosen), inputs=inputs, bundles=True)
    say(f"{registry.place}: {counted(len(cells), 'cell')} written", err=True)


def _text_of(cells: list[Cell], kind: str) -> str:
    if kind == "bundle":
        return bundle_text(cells)
    from registry.table import write_table

    return write_table(cells)
