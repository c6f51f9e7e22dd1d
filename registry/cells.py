"""A collection of cells, whatever keeps it: what judging, matching and listing ask of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from functools import cached_property
from typing import Protocol

from registry.bundle import bundle_text, digest, in_order, parse_bundle
from registry.cell import Cell
from registry.cell_names import normalised_names
from registry.garbage_collection import garbage_collection_paused


class Cells(Protocol):
    """The cells of one registry as they stood when it was opened.

    A text bundle and an ordinary SQLite file are read whole, as `InMemory`; a SQLite file of very many cells
    is asked (`registry.sqlite.catalogue.SqliteCells`).
    """

    @property
    def place(self) -> str:
        """What errors call the registry, such as its path."""

    @property
    def count(self) -> int:
        """How many cells are in use, that is not retired."""

    @property
    def digest(self) -> str:
        """SHA-256 of all cells, retired ones too: the same for SQLite and bundle."""

    def cells(self, *, all: bool = False) -> list[Cell]:
        """Return the cells in order of id; with `all`, the retired ones too."""

    def ids(self) -> list[str]:
        """Return the ids of all cells in order, retired ones too."""

    def get(self, cell_id: str) -> Cell | None:
        """Return the cell with an id, retired or not."""

    def named(self, normalised: str, *, retired: bool = False) -> list[Cell]:
        """Return the cells in use of which one name, normalised, is this text; or else the retired ones."""

    def fitting(self, size: str | None, chemistry: str | None) -> list[Cell]:
        """Return the cells in use of a size and a chemistry; ``None`` leaves either open.

        A cell whose size the registry does not know is of no stated size, so it fits only where the size
        is left open.
        """

    def close(self) -> None:
        """Let go of the file, so that others may change it; only what was asked before stays known."""


class InMemory:
    """Cells held in memory. Sent to another process they go as the text of their bundle.

    Parameters
    ----------
    cells
        The cells, in any order.
    place
        What errors call the registry.
    known_digest
        Their digest, where it is known already.

    Raises
    ------
    InvalidRecord
        When two cells have the same id.
    """

    def __init__(
        self, cells: Iterable[Cell] = (), place: str = "cells in memory", known_digest: str | None = None
    ) -> None:
        self._place, self._known_digest = place, known_digest
        self._cells = {cell.id: cell for cell in in_order(cells)}

    @classmethod
    def copy_of(cls, registry: Cells) -> InMemory:
        """Return a registry held in memory, so that others can change its file; itself where it is held there."""
        if isinstance(registry, cls):
            return registry
        return cls(registry.cells(all=True), registry.place, registry.digest)

    def __reduce__(self) -> tuple[Callable[[str, str], InMemory], tuple[str, str]]:
        return _unpacked, (self._bundle, self._place)

    @cached_property
    def _bundle(self) -> str:
        # Several processes are sent the same.
        return bundle_text(self._cells.values())

    @property
    def place(self) -> str:  # noqa: D102
        return self._place

    @property
    def count(self) -> int:  # noqa: D102
        return len(self._in_use)

    @cached_property
    def digest(self) -> str:  # noqa: D102
        return digest(self._cells.values()) if self._known_digest is None else self._known_digest

    @cached_property
    def _in_use(self) -> list[Cell]:
        return [cell for cell in self._cells.values() if cell.retired is None]

    def cells(self, *, all: bool = False) -> list[Cell]:  # noqa: D102
        return list(self._cells.values() if all else self._in_use)

    def ids(self) -> list[str]:  # noqa: D102
        return list(self._cells)

    def get(self, cell_id: str) -> Cell | None:  # noqa: D102
        return self._cells.get(cell_id)

    @cached_property
    def _by_name(self) -> dict[str, list[Cell]]:
        return _by_names(self._in_use)

    @cached_property
    def _retired_by_name(self) -> dict[str, list[Cell]]:
        return _by_names([cell for cell in self._cells.values() if cell.retired is not None])

    def named(self, normalised: str, *, retired: bool = False) -> list[Cell]:  # noqa: D102
        return list((self._retired_by_name if retired else self._by_name).get(normalised, []))

    def fitting(self, size: str | None, chemistry: str | None) -> list[Cell]:  # noqa: D102
        return [
            cell
            for cell in self._in_use
            if (size is None or cell.size == size) and (chemistry is None or cell.chemistry == chemistry)
        ]

    def close(self) -> None:  # noqa: D102
        return


def _by_names(cells: Iterable[Cell]) -> dict[str, list[Cell]]:
    found: dict[str, list[Cell]] = defaultdict(list)
    for cell in cells:
        for name in normalised_names(cell):
            found[name].append(cell)
    return dict(found)


def _unpacked(bundle: str, place: str) -> InMemory:
    with garbage_collection_paused():
        return InMemory(parse_bundle(bundle, place), place)
