"""Opening the registry that a command names, and finding a cell in it."""

from __future__ import annotations

import getpass
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from difflib import get_close_matches
from pathlib import Path

import click

from registry.cell import Cell
from registry.cells import Cells, InMemory
from registry.envelope import doubts
from registry.errors import UnknownCell, UnreadableFile
from registry.opening import open_registry
from registry.sqlite.beginning import MAGIC
from registry.sqlite.store import Store
from verifier.cli.options import Command, registry_path_or_default, say

_TEXT_ENDINGS = {".jsonl", ".ndjson", ".json", ".csv"}


def path_to_change(path: Path | None) -> Path:
    """Return the SQLite registry that a command is to change.

    Raises
    ------
    UnreadableFile
        When the path is a bundle or another text file, which a change would have no history for.
    """
    target = registry_path_or_default(path)
    if is_text_file(target):
        raise UnreadableFile(
            str(target),
            "is a text file, which is read as it is and keeps no history of changes",
            f"take it into a registry with 'packclaim cells import {target} --registry "
            f"{target.with_suffix('.sqlite')}', then name that one",
        )
    if target.suffix.lower() in _TEXT_ENDINGS and not _beginning(target):
        raise UnreadableFile(
            str(target), "is named like a text file; changes are kept in SQLite",
            f"name a registry such as {target.with_suffix('.sqlite')}",
        )  # fmt: skip
    return target


@contextmanager
def registered(path: Path) -> Iterator[Cells]:
    """Open what is registered so far, where nothing may be yet; it is closed again before a change."""
    begun = path.exists() and (path.stat().st_size or not path.is_file())
    with closing(open_registry(path) if begun else InMemory((), str(path))) as cells:
        yield cells


@contextmanager
def changing(path: Path, *, create: bool) -> Iterator[Store]:
    """Open a registry to be changed, and say so when its one file does not hold the change yet."""
    with Store.open(path, create=create) as store:
        yield store
    if not store.whole:
        say(
            f"note: another program is at work on the registry, so the change is still in {path}-wal; "
            "a copy now needs both files",
            err=True,
        )


def is_text_file(path: Path) -> bool:
    """Whether a path is a file that holds something else than a SQLite registry."""
    held = _beginning(path)
    return bool(held) and held != MAGIC


def _beginning(path: Path) -> bytes:
    try:
        if path.exists() and not path.is_file():
            return b""
        with path.open("rb") as file:
            return file.read(len(MAGIC))
    except OSError:
        # What is missing may be created; what cannot be read is told by the store, with its reason.
        return b""


def author_options(*, why_required: bool) -> Callable[[Command], Command]:
    """Add ``--who`` and ``--why``, which every change carries in the history."""

    def add(command: Command) -> Command:
        if why_required:
            reason = click.option("--why", required=True, metavar="TEXT", help="Reason, kept in the history.")
        else:
            reason = click.option("--why", default="", metavar="TEXT", help="Reason, kept in the history.")
        command = reason(command)
        return click.option(
            "--who",
            default=login_name,
            metavar="NAME",
            help="Who makes the change.  [default: your login name]",
        )(command)

    return add


def login_name() -> str:
    """Return the user's login name, or ask for ``--who`` where the system knows none."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError) as error:
        raise click.UsageError(
            "your login name is not known here; say who makes the change with --who"
        ) from error


def cell_with_id(registry: Cells, cell_id: str) -> Cell:
    """Return the cell with an id, retired or not.

    Raises
    ------
    UnknownCell
        When there is none; names the ids that are nearest.
    """
    cell = registry.get(cell_id)
    if cell is None:
        raise unknown_cell(cell_id, registry.place, registry.ids())
    return cell


def unknown_cell(name: str, place: str, ids: Iterable[str]) -> UnknownCell:
    """Return the error for a name that no cell of a registry has."""
    known = list(ids)
    near = get_close_matches(name.lower(), known, n=3, cutoff=0.5)
    hint = "'packclaim cells list' shows all ids" if known else "it holds none; add a cell first"
    if near:
        hint = f"near it: {', '.join(near)}"
    return UnknownCell(f"cell '{name}'", f"is not in the registry {place}", hint)


def say_doubts(*cells: Cell) -> None:
    """Tell of every figure stored that no cell of the size has, on stderr."""
    for doubt in (each for cell in cells for each in doubts(cell)):
        say(f"note: {doubt}", err=True)
