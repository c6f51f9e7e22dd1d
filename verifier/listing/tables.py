"""Tables: the head of a column, or the first cell of a row, is the label of what stands in its cells."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from verifier.listing.labels import KINDS, Label, affects
from verifier.listing.layout import Line
from verifier.listing.quantity import Quantity, number_value
from verifier.listing.source import LETTER
from verifier.listing.taken_out import Price
from verifier.listing.vocabulary import Unit, Vocabulary

# packs_in_rows: a pack a row under a head; packs_in_columns: a pack a column; pairs: label, value by turns.
Shape = Literal["packs_in_rows", "packs_in_columns", "pairs", ""]
_UNIT_IN_HEAD = re.compile(
    rf"[(\[（]\s?([{LETTER}€$£/]{{1,8}})\s?[)\]）]|^\s*([{LETTER}]{{1,6}})\s*$|\s(?:in\s|/)?\s?([{LETTER}€$£]{{1,5}})\s*$"
)
_BARE = re.compile(
    r"\s*(?:[~≈<>≤≥+]|ca\.?|about|approx\.?)?\s?(\d+(?:[.,]\d+)?)(?:\s?[-–~]\s?(\d+(?:[.,]\d+)?))?\s*"
)
# "Peak A (6 s)": a bracket with a number holds no unit of the column.
_CONDITION = re.compile(r"[(\[（][^()\[\]（）]{0,20}\d[^()\[\]（）]{0,20}[)\]）]")
# "Peak current (5 s)", "Capacity at 25 °C": what may stand in a head beside its label.
_IN_HEADS = ("seconds", "seconds_or_series", "nothing")
_FEWEST_ROWS = 3
# A label, a number and its unit.
_WITH_UNIT = 3
_STROKES = "/·・"
_KIND_OF_DIMENSION = {
    "voltage": "voltage",
    "capacity": "capacity",
    "energy": "energy",
    "mass": "mass",
    "power": "power",
}


@dataclass(slots=True)
class Cell:
    """What stands in one cell."""

    start: int
    end: int
    quantities: list[Quantity]
    labels: list[Label]

    @property
    def names(self) -> frozenset[str]:
        """What its words mean."""
        return frozenset(name for label in self.labels for name in label.names)

    @property
    def is_label(self) -> bool:
        """Whether it names a figure and holds none."""
        return bool(self.labels) and all(q.dimension in _IN_HEADS for q in self.quantities)


@dataclass(slots=True)
class Table:
    """Rows that stand under one another, and what heads their cells."""

    rows: list[list[Cell]]
    lines: list[Line]
    shape: Shape = ""
    bare: list[Quantity] = field(default_factory=list)
    prices: list[Price] = field(default_factory=list)

    def bind(self, lower: str) -> None:
        """Give every number the label at the head of its column or row, as its own."""
        for head, cell in self._pairs():
            names = _by_side(lower, head, cell) or [head.names] * len(cell.quantities)
            for quantity, label in zip(cell.quantities, names, strict=True):
                quantity.own |= {name for name in label if affects(name, quantity)}
        for head, cell in self.headed():
            _give_seconds(head, cell)

    def _pairs(self) -> Iterator[tuple[Cell, Cell]]:
        for head, cell in self.headed():
            # In a list of two columns a figure may stand in the label's cell too.
            if self.shape != "pairs" or not head.quantities or head.labels:
                yield head, cell

    def headed(self) -> Iterator[tuple[Cell, Cell]]:
        """Yield every cell with the cell that heads it."""
        if self.shape == "packs_in_rows":
            for row in self.rows[1:]:
                yield from zip(self.rows[0], row, strict=False)
            return
        for row in self.rows:
            if self.shape == "packs_in_columns":
                yield from ((row[0], cell) for cell in row[1:])
            else:
                yield from zip(row[::2], row[1::2], strict=False)


def _by_side(lower: str, head: Cell, cell: Cell) -> list[frozenset[str]]:
    """Return for each number of a cell what its side of the head names ("continuous/peak", "30/60 A")."""
    cuts = [place for place in range(head.start, head.end) if lower[place] in _STROKES]
    count = len(cell.quantities)
    if not cuts or count != len(cuts) + 1 or len({q.dimension for q in cell.quantities}) != 1:
        return []
    sides = [
        frozenset(name for label in head.labels if start <= label.start < end for name in label.names)
        for start, end in zip([head.start, *cuts], [*cuts, head.end], strict=True)
    ]
    # "Continuous/peak current": what is measured goes for both.
    common = head.names & KINDS.keys() | head.names & {"bms", "charger", "cell"}
    return [side | common for side in sides] if all(sides) and len(set(sides)) == count else []


def _give_seconds(head: Cell, cell: Cell) -> None:
    """Give the currents of a cell the seconds in its head ("Load, 12 s")."""
    seconds = next((q for q in head.quantities if q.dimension in ("seconds", "seconds_or_series")), None)
    currents = [q for q in cell.quantities if q.dimension == "current"]
    if seconds is None or not currents or any(q.dimension == "seconds" for q in cell.quantities):
        return
    seconds.unit = replace(seconds.unit, dimension="seconds")
    seconds.about.add("head")
    for current in currents:
        current.seconds = seconds.high if seconds.high is not None else seconds.value


def tables_of(
    lower: str,
    lines: Sequence[Line],
    quantities: Sequence[Quantity],
    labels: Sequence[Label],
    words: Vocabulary,
    without_sizes: str,
) -> list[Table]:
    """Return the tables of a text; rows that are none become plain lines.

    Parameters
    ----------
    lower : str
        The folded text.
    lines, quantities, labels : sequence
        What was found, in order of place.
    words : Vocabulary
        For the units in a head ("Capacity (Ah)").
    without_sizes : str
        The folded text without the size codes of cells, which count nothing.
    """
    grouped: dict[int, list[Line]] = {}
    for line in lines:
        if line.is_row:
            grouped.setdefault(line.table, []).append(line)
    number_places = [quantity.start for quantity in quantities]
    label_places = [label.start for label in labels]

    def cell(start: int, end: int) -> Cell:
        return Cell(
            start, end,
            list(quantities[bisect_left(number_places, start) : bisect_left(number_places, end)]),
            list(labels[bisect_left(label_places, start) : bisect_left(label_places, end)]),
        )  # fmt: skip

    found: list[Table] = []
    for group in grouped.values():
        table = Table([[cell(start, end) for start, end in line.cells] for line in group], group)
        with_units = _join_units(lower, table, words, without_sizes)
        table.shape = _shape(
            table, _dimensions(lower, table.rows[0], words), _bare_rows(lower, table, words, without_sizes)
        )
        if not table.shape:
            _make_plain(table)
            continue
        table.bare += with_units
        _read_bare(lower, table, words, without_sizes)
        found.append(table)
    return found


def _join_units(lower: str, table: Table, words: Vocabulary, without_sizes: str) -> list[Quantity]:
    """Join the units of a column of their own to the numbers before them ("Nominal voltage; 72; V")."""
    found: list[tuple[list[Cell], Quantity]] = []
    for row in table.rows:
        if len(row) != _WITH_UNIT:
            continue
        match = _BARE.fullmatch(without_sizes, row[1].start, row[1].end)
        unit = words.units.get(lower[row[2].start : row[2].end].strip())
        value = number_value(match[1], thousands=unit.thousands) if match and unit is not None else None
        plain = match is not None and match[2] is None and not row[1].quantities
        if match is not None and unit is not None and value and plain:
            quantity = Quantity(unit, round(value * unit.factor, 9), match.start(1), row[2].end)
            found.append((row, quantity))
    if len(found) < _FEWEST_ROWS or 2 * len(found) < len(table.rows):
        return []
    for row, quantity in found:
        row[1].quantities.append(quantity)
    for line, row in zip(table.lines, table.rows, strict=True):
        if len(row) == _WITH_UNIT:
            row[1].end = row[2].end
            row[1].quantities += row[2].quantities
            row[1].labels += row[2].labels
            del row[2]
            line.cells = [(cell.start, cell.end) for cell in row]
    return [quantity for _, quantity in found]


def _make_plain(table: Table) -> None:
    for line in table.lines:
        line.cells = [(line.start, line.end)]
    for row in table.rows:
        for cell in row:
            for quantity in cell.quantities:
                quantity.cell = 0


def _dimensions(lower: str, head: Sequence[Cell], words: Vocabulary) -> set[str]:
    """Return what the units in a head measure ("V", "Cont. A", "kg")."""
    units = (_unit_of(lower, cell, words) for cell in head)
    return {unit.dimension for unit in units if unit is not None}


def _bare_rows(lower: str, table: Table, words: Vocabulary, without_sizes: str) -> int:
    """Return how many rows have a label with a unit, and plain numbers behind it ("Mass [kg] | 2.3 | 3.2")."""
    return sum(
        row[0].is_label
        and _unit_of(lower, row[0], words) is not None
        and any(
            _BARE.fullmatch(without_sizes, cell.start, cell.end) for cell in row[1:] if not cell.quantities
        )
        for row in table.rows
        if row
    )


def _shape(table: Table, dimensions: set[str], bare_rows: int) -> Shape:
    width = Counter(len(row) for row in table.rows).most_common(1)[0][0]
    head = table.rows[0]
    heads = [cell for cell in head if cell.is_label or _is_unit_head(cell)]
    empty_head = all(q.dimension in _IN_HEADS for cell in head for q in cell.quantities)
    if width >= 3 and len(table.rows) >= 2 and empty_head:
        kinds = {kind for cell in head for kind in cell.names & {*KINDS, "bms", "charger", "cell"}}
        if (
            (len(kinds) >= 2 or len(dimensions) >= 2)
            and len(heads) >= 2
            and not max(_labelled_rows(table), bare_rows) >= max(2, len(table.rows) - 1)
        ):
            return "packs_in_rows"
    if width >= 3 and empty_head and _is_one_column(table):
        return "packs_in_rows"
    if width == 4 and _by_turns(table):
        return "pairs"
    if width >= 3 and max(_labelled_rows(table), bare_rows) >= 2:
        return "packs_in_columns"
    return "pairs" if width == 2 and (_labelled_rows(table) or bare_rows) else ""


def _is_one_column(table: Table) -> bool:
    """Return whether all figures are of one kind in one column, below its head ("Model | Capacity | Fits")."""
    columns = {index for row in table.rows[1:] for index, cell in enumerate(row) if cell.quantities}
    if len(columns) != 1 or len(table.rows) < _FEWEST_ROWS:
        return False
    dimensions = {q.dimension for row in table.rows[1:] for cell in row for q in cell.quantities}
    return 0 < columns.pop() < len(table.rows[0]) and len(dimensions) == 1


def _is_unit_head(cell: Cell) -> bool:
    return not cell.labels and not cell.quantities and cell.end - cell.start <= 8


def _labelled_rows(table: Table) -> int:
    return sum(
        bool(row) and row[0].is_label and any(cell.quantities for cell in row[1:]) for row in table.rows
    )


def _by_turns(table: Table) -> bool:
    turned = [row for row in table.rows if len(row) == 4 and row[0].is_label and row[2].is_label]
    return len(turned) >= max(1, len(table.rows) // 2)


def _read_bare(lower: str, table: Table, words: Vocabulary, without_sizes: str) -> None:
    """Read the numbers that stand without a unit below or beside a head that gives it."""
    for head, cell in table.headed():
        if cell.quantities or cell.labels:
            continue
        match = _BARE.fullmatch(without_sizes, cell.start, cell.end)
        unit = (_unit_of(lower, head, words) or _counted(lower, head, words)) if match else None
        if match is not None and unit is None and (currency := _currency(lower, head, words)) is not None:
            price = number_value(match[1], thousands=True)
            if price:
                table.prices.append(Price(price, currency, *match.span(1), plus=False))
        if match is None or unit is None:
            continue
        value = number_value(match[1], thousands=unit.thousands)
        if value is None:
            continue
        quantity = Quantity(
            unit, round(value * unit.factor, 9), match.start(1), match.end(2) if match[2] else match.end(1)
        )
        high = number_value(match[2], thousands=unit.thousands) if match[2] else None
        if high is not None:
            quantity.high, quantity.low_end, quantity.high_start = (
                high * unit.factor,
                match.end(1),
                match.start(2),
            )
        cell.quantities.append(quantity)
        table.bare.append(quantity)
        _name_by_unit(head, quantity)
    for quantity in table.bare:
        line = next(line for line in table.lines if line.start <= quantity.start < line.end)
        quantity.line = line.number
        quantity.cell = bisect_right([start for start, _ in line.cells], quantity.start) - 1


def _counted(lower: str, head: Cell, words: Vocabulary) -> Unit | None:
    """Return the unit of a plain number under "number of cells", "cells in series" or "cycle life", else None."""
    for word, unit in words.units.items():
        whole = " " in word or not word.isascii()
        if unit.name in ("series", "parallel") and whole and word in lower[head.start : head.end]:
            return Unit(unit.name, unit.dimension, 1)
    kinds = head.names & KINDS.keys()
    if head.names >= {"count", "cell"} and kinds == {"count"}:
        return Unit("cell", "cells", 1)
    return Unit("cycle", "cycles", 1, thousands=True) if kinds == {"life"} else None


def _name_by_unit(head: Cell, quantity: Quantity) -> None:
    if not head.labels and (kind := _KIND_OF_DIMENSION.get(quantity.dimension)):
        quantity.own.add(kind)


def _currency(lower: str, head: Cell, words: Vocabulary) -> str | None:
    """Return the currency that a head names ("Price (€)", "Preis EUR")."""
    parts = re.findall(r"[^\W\d_]+|[€$£¥]", lower[head.start : head.end])
    return next((words.currencies[part] for part in parts if part in words.currencies), None)


def _unit_of(lower: str, head: Cell, words: Vocabulary) -> Unit | None:
    match = _UNIT_IN_HEAD.search(_CONDITION.sub(" ", lower[head.start : head.end]).strip())
    written = next((each for each in match.groups() if each), "") if match else ""
    unit = words.units.get(written)
    return unit if unit is not None and unit.dimension not in ("nothing", "seconds_or_series") else None
