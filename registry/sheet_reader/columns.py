"""Headers of tables: columns for minimum, typical and maximum, for charge and discharge, units and notes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from registry.sheet_reader.lines import NOUNS, figure_quantities
from registry.sheet_reader.rows import Cell, Row
from registry.sheet_reader.vocabulary import meanings

_MODES = frozenset({"charge", "discharge"})
_LEVELS = frozenset({"minimum", "typical", "maximum", "nominal"})
_ROLES = _MODES | _LEVELS | {"h_item", "h_value", "h_unit", "h_note"}
_LIMIT_FIRST = ("maximum", "typical", "nominal", "minimum")
_VALUE_FIRST = ("typical", "nominal", "maximum", "minimum")
_FLOOR_FIRST = ("typical", "nominal", "minimum", "maximum")

Valued = tuple[frozenset[str], str]


@dataclass(frozen=True, slots=True)
class ColumnRow:
    """A row read by its header: the label, each value with what its column says of it, and the note."""

    label: str
    values: tuple[Valued, ...]
    note: str


class Header:
    """What the columns of a table hold, by the words at their head."""

    def __init__(self, row: Row, cells: Sequence[Cell]) -> None:
        self.row = row
        self.roles = {cell.column: _role(cell.text) for cell in cells if cell.text}
        self.parting = {column: role & (_MODES | _LEVELS) for column, role in self.roles.items()}

    @staticmethod
    def is_one(filled: Sequence[Cell]) -> bool:
        """Whether cells are a header: no number and no figure's name, nearly all of them words of headers."""
        if len(filled) < 2 or any(re.search(r"\d", cell.text) for cell in filled):
            return False
        if any(NOUNS & meanings(cell.text) for cell in filled):
            return False
        return sum(bool(_role(cell.text)) for cell in filled) >= max(2, len(filled) - 1)

    @property
    def parts_values(self) -> bool:
        """Whether several columns hold values of different kinds."""
        said = frozenset().union(*self.parting.values())
        if said & _MODES and not any("h_item" in role for role in self.roles.values()):
            return False
        return sum(bool(kind) for kind in self.parting.values()) > 1

    def notes_last(self, cells: Sequence[Cell]) -> list[Cell]:
        """Return cells with those of the note columns behind; conditions may stand before the value."""
        return sorted(cells, key=lambda cell: "h_note" in self.roles.get(cell.column, ()))

    def read(self, row: Row, cells: Sequence[Cell], label_before: str) -> ColumnRow | None:
        """Return a row by its columns, or ``None`` when they do not part its values."""
        if not self.parts_values:
            return None
        labels: list[str] = []
        units: list[str] = []
        notes: list[str] = []
        values: list[Valued] = []
        first_value = min(column for column, kind in self.parting.items() if kind)
        for cell in cells:
            column = self._column_of(cell) if row.table is None and row.placed else cell.column
            kind, role = self.parting.get(column, frozenset()), self.roles.get(column, frozenset())
            if not cell.text or (cell.carried and kind):
                continue
            if kind:
                values += [(kind, cell.text)] if re.search(r"\d", cell.text) else []
            elif "h_unit" in role:
                units.append(cell.text)
            else:
                (notes if "h_note" in role or column > first_value else labels).append(cell.text)
        label = " ".join(labels) or label_before
        if not values or not label:
            return None
        unit = " ".join(units)
        chosen = tuple(
            (kind, text if figure_quantities(text) else f"{text} {unit}".strip())
            for kind, text in _chosen(label, values)
        )
        return ColumnRow(label, chosen, " ; ".join(notes))

    def _column_of(self, cell: Cell) -> int:
        """Return the column of the header that a cell lies under."""
        middle = (cell.left + cell.right) / 2
        return min(self.row.cells, key=lambda each: abs((each.left + each.right) / 2 - middle)).column


def _role(text: str) -> frozenset[str]:
    return frozenset() if len(text) > 40 else frozenset(meanings(text) & _ROLES)


def _chosen(label: str, values: list[Valued]) -> list[Valued]:
    """Return the columns that make the figure: all of a capacity, the limit of what has one."""
    said = meanings(label)
    if any(kind & _MODES for kind, _ in values):
        return values
    if "capacity" in said:
        return [each for each in values if "maximum" not in each[0]]
    if "temperature" in said:
        low = next((text for kind, text in values if "minimum" in kind), None)
        high = next((text for kind, text in values if "maximum" in kind), None)
        return [(frozenset(), f"{low} ~ {high}")] if low and high else []
    order = _LIMIT_FIRST
    if "voltage" in said:
        order = _FLOOR_FIRST if "cutoff" in said else _VALUE_FIRST
    return next(([each] for name in order for each in values if name in each[0]), values[:1])
