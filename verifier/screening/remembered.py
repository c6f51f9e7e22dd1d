"""A registry whose cells are all in memory, by id and by name."""

from __future__ import annotations

from collections import defaultdict

from registry.cell import Cell
from registry.derived import normalised_names
from verifier.pack import CellSource


class RememberedRegistry:
    """The cells of a registry, read once. It has nothing to suggest for a name that no cell has.

    A table is matched by exact names only: suggestions are for a person who looks at one wrapper, and for
    many thousand listings would take longer than the judging.
    """

    def __init__(self, registry: CellSource) -> None:
        self._registry = registry
        self.count = registry.count
        self._by_name: dict[str, list[Cell]] = defaultdict(list)
        self._by_id: dict[str, Cell] = {}
        for cell in registry.cells(all=True):
            self._by_id[cell.id] = cell
            for name in normalised_names(cell) if cell.retired is None else ():
                self._by_name[name].append(cell)

    @property
    def digest(self) -> str:
        """A digest of all its cells."""
        return self._registry.digest

    def named(self, normalised: str) -> list[Cell]:
        """Return the cells in use of which one name, normalised, is this text."""
        return self._by_name.get(normalised, [])

    def get(self, cell_id: str) -> Cell | None:
        """Return the cell with an id, retired or not."""
        return self._by_id.get(cell_id)

    def cells(self, *, all: bool = False) -> list[Cell]:
        """Return nothing: there is nothing to suggest."""
        return []

    def fitting(self, size: str | None, chemistry: str | None) -> list[Cell]:
        """Return the cells in use of a size and chemistry; ``None`` leaves either open."""
        return self._registry.fitting(size, chemistry)
