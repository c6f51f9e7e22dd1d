"""Headers of tables: columns for minimum, typical and maximum, for charge and discharge, units, notes,
temperatures, and columns that each hold one figure.
"""  # noqa: D205

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from registry.sheet_reader.footnotes import Footnotes
from registry.sheet_reader.lines import (
    NOUNS,
    QUALIFIERS,
    figure_quantities,
    fitting_dimensions,
    is_band_only,
)  # fmt: skip
from registry.sheet_reader.rows import Cell, Row
from registry.sheet_reader.temperatures import temperatures
from registry.sheet_reader.units_at_values import before_mark, parted_head, unit_of, with_unit
from registry.sheet_reader.vocabulary import meanings

_MODES = frozenset({"charge", "discharge"})
_UNHEADED = -1
_OF_ONE_VOLTAGE = frozenset(
    {"charge", "discharge", "cutoff", "nominal", "full", "rated", "storage", "shipping"}
)
_TOLERANCE = 1.15
"""By more than this two voltages are no limits of one."""
_FEWEST_BANDS = 2
_NUMBER = re.compile(r"[≤<]?\s?\d+(?:[.,]\d+)?")
_BASES = frozenset({"ambient", "surface"})
_LEVELS = frozenset({"minimum", "typical", "maximum", "nominal"})
_ROLES = _MODES | _LEVELS | {"h_item", "h_value", "h_unit", "h_note"}
_LONGEST_ROLE = 40
_LIMIT_FIRST = ("maximum", "typical", "nominal", "minimum")
_VALUE_FIRST = ("typical", "nominal", "maximum", "minimum")
_FLOOR_FIRST = ("typical", "nominal", "minimum", "maximum")


@dataclass(frozen=True, slots=True)
class Valued:
    """A value with what its column says of it and, where the column names them, its label and temperature."""

    kind: frozenset[str]
    text: str
    head: str = ""
    label: str = ""
    goes_on: bool = False
    """Whether it stands in a merged cell that began in a row above."""
    column: int | None = None
    """The column of the header that it lies under."""


@dataclass(frozen=True, slots=True)
class ColumnRow:
    """A row read by its header: the label, each value, and the note."""

    label: str
    values: tuple[Valued, ...]
    note: str
    measured: bool = False
    """Whether it shows how a figure changes with the current, and rates nothing."""


class Header:
    """What the columns of a table hold, by the words at their head."""

    def __init__(self, row: Row, cells: Sequence[Cell]) -> None:
        self.row = row
        self.cells = [cell for cell in cells if cell.text]
        self.roles = _with_middle({cell.column: _role(cell.text) for cell in self.cells})
        self.parting = {column: role & (_MODES | _LEVELS) for column, role in self.roles.items()}
        self.of_roles = True
        """Whether its heads may also say which of the values of one figure a column holds."""
        self.heads: dict[int, str] = {}
        self.footnotes: dict[int, tuple[str, ...]] = {}
        """What the marks in the head of a column refer to."""
        self.unexplained: set[int] = set()
        """The columns with a mark in their head that refers to nothing."""

    def take_marks(self, notes: Footnotes) -> None:
        """Take the footnotes of the marks in the heads, which hold for what stands below them."""
        for cell in self.row.cells:
            self.footnotes[cell.column] = notes.of(cell.text)
            self.unexplained |= {cell.column} if notes.unexplained(cell.text) else set()

    def marks_of(self, column: int | None) -> tuple[tuple[str, ...], bool]:
        """Return the footnotes that hold for a column, and whether a mark there refers to nothing.

        What stands at the head of the labels holds for all columns; without a column, all heads do.
        """
        first = min(self.footnotes, default=0)
        columns = [each for each in self.footnotes if column is None or each in (column, first)]
        told = dict.fromkeys(note for each in columns for note in self.footnotes[each])
        return tuple(told), bool(self.unexplained & {*columns})

    @classmethod
    def of(cls, row: Row, cells: Sequence[Cell]) -> Header | None:
        """Return the header that a row is, or ``None``."""
        filled = [cell for cell in cells if cell.text]
        if len(filled) < 2:
            return None
        roles = _is_of_roles(filled)
        by_heat = _is_of_figures(filled)
        if not roles and not (by_heat or _is_of_temperatures(cells, filled) or _is_of_currents(filled)):
            return None
        made = cls(row, cells)
        if by_heat or not roles:
            made.heads = {cell.column: _with_degrees(cell.text) for cell in filled}
        made.of_roles = roles
        return made

    @property
    def parts_values(self) -> bool:
        """Whether several columns hold values of different kinds."""
        said = frozenset().union(*self.parting.values())
        headed = any("h_item" in role for role in self.roles.values()) or not self.row.cells[0].text
        if said & _MODES and not headed:
            return False
        return sum(bool(kind) for kind in self.parting.values()) > 1

    def notes_last(self, cells: Sequence[Cell]) -> list[Cell]:
        """Return cells with those of the note columns behind; conditions may stand before the value."""

        def is_condition(cell: Cell) -> bool:
            return "h_note" in self.roles.get(cell.column, ()) and bool(
                figure_quantities(cell.text)
                or temperatures(cell.text)
                or not meanings(cell.text) & (NOUNS | QUALIFIERS)
            )

        return sorted(cells, key=is_condition)

    def read(self, row: Row, cells: Sequence[Cell], label_before: str) -> ColumnRow | None:
        """Return a row by its columns, or ``None`` when they do not part its values."""
        read = self._by_heads(row, cells) if self.heads else None
        if read is not None or not self.of_roles:
            return read
        return self._by_roles(row, cells, label_before) if self.parts_values else None

    def _by_heads(self, row: Row, cells: Sequence[Cell]) -> ColumnRow | None:
        """Read a row of a matrix: temperatures along the head, or down the side under one figure a column."""
        filled = [cell for cell in cells if cell.text]
        first, others = filled[0], filled[1:]
        if not others or row.ruled != self.row.ruled:
            return None
        if is_band_only(first.text):
            # What is denied, by a word or a dash, holds no number.
            values = [self._under_head(row, c, first.text) for c in others if re.search(r"\d", c.text)]
            if any(figure_quantities(v.text) and v.label for v in values):
                # What the temperatures are of stands at the head of their column only: "Surface temperature".
                basis = self.cells[0].text if meanings(self.cells[0].text) & _BASES else ""
                return ColumnRow("", tuple(v for v in values if v.label), basis)
        if _is_of_currents(self.cells):
            values = [
                Valued(frozenset(), c.text, self._head(row, c), column=self._column_of(c, row))
                for c in others
            ]
            return ColumnRow(first.text, tuple(values), "", measured=True)
        if not _is_heat(self.cells[-1].text) or figure_quantities(first.text):
            return None
        values = self._along_heat(row, others)
        if not fitting_dimensions(first.text) or not values:
            return None
        basis = self.cells[0].text if meanings(self.cells[0].text) & _BASES else ""
        return ColumnRow(first.text, tuple(values), basis)

    def _along_heat(self, row: Row, cells: Sequence[Cell]) -> list[Valued]:
        """Return values by the temperatures at their heads; a merged cell holds over all that it lies under."""
        values: list[Valued] = []
        for cell in cells:
            head = self._head(row, cell)
            wider = joined_bands(values[-1].head, head) if cell.carried and values else ""
            if wider and values[-1].text == cell.text:
                values[-1] = replace(values[-1], head=wider)
            elif re.search(r"\d", cell.text):
                values.append(Valued(frozenset(), cell.text, head, column=self._column_of(cell, row)))
        return values

    def _under_head(self, row: Row, cell: Cell, band: str) -> Valued:
        words, unit = parted_head(self._head(row, cell))
        # "Charge (C)" is of multiples of the capacity.
        of_rates = unit == "C" and "temperature" not in meanings(words) and _NUMBER.fullmatch(cell.text)
        text = f"{cell.text}C" if of_rates else with_unit(cell.text, unit)
        column = self._column_of(cell, row)
        return Valued(frozenset(), text, band, words, goes_on=cell.carried, column=column)

    def _head(self, row: Row, cell: Cell) -> str:
        return self.heads.get(self._column_of(cell, row), "")

    def _by_roles(self, row: Row, cells: Sequence[Cell], label_before: str) -> ColumnRow | None:
        labels: list[str] = []
        units: list[str] = []
        notes: list[str] = []
        values: list[Valued] = []
        first_value = min(column for column, kind in self.parting.items() if kind)
        first = next((cell for cell in cells if cell.text), None)
        for cell in cells:
            unheaded = cell is first and not row.ruled and self._is_unheaded_label(cell)
            column = _UNHEADED if unheaded else self._column_of(cell, row)
            kind, role = self.parting.get(column, frozenset()), self.roles.get(column, frozenset())
            if not cell.text or (cell.carried and kind):
                continue
            if kind:
                values += [Valued(kind, cell.text, column=column)] if re.search(r"\d", cell.text) else []
            elif "h_unit" in role:
                units.append(cell.text)
            elif "h_note" in role or column > first_value or self._is_sign(column, cell):
                notes.append(cell.text)
            else:
                labels.append(cell.text)
        label = " ".join(labels) or label_before
        if not values or not label:
            return None
        heat = any(unit_of(unit) == "°C" for unit in units)
        chosen = tuple(_with_unit(each, " ".join(units)) for each in _chosen(label, values, heat=heat))
        return ColumnRow(label, chosen, " ; ".join(notes))

    def _is_unheaded_label(self, cell: Cell) -> bool:
        """Whether the first piece of a row is its label, where no head is of labels.

        A page has no empty piece over its labels: the first piece of the heads is of values or units then. A
        label taken for one of those would leave its values to the label of the row above.
        """
        head = self.cells[0]
        if not self.roles[head.column] & (_LEVELS | {"h_unit"}) or unit_of(cell.text):
            return False
        worded = re.search(r"[^\W\d_]{2}" if cell.right <= head.left else r"^[^\W\d_]{2}", cell.text)
        return worded is not None

    def _is_sign(self, column: int, cell: Cell) -> bool:
        """Whether a cell behind the label stands in a column of its own and names nothing: "U", "m"."""
        named = any(head.column == column for head in self.cells) and not self.roles.get(column)
        return named and column > self.cells[0].column and len(cell.text) < 8

    def _column_of(self, cell: Cell, row: Row) -> int:
        """Return the column of the header that a cell lies under."""
        if row.ruled:
            return cell.column
        first = self.row.cells[0]
        if not first.text and cell.right <= self.cells[0].left:
            # Nothing heads the labels.
            return _UNHEADED
        return min(self.cells, key=lambda each: apart(cell, each)).column


def apart(one: Cell, other: Cell) -> tuple[float, float]:
    """Return how wide the gap between two cells of a page is, side by side, and how far their middles are apart."""
    gap = max(other.left - one.right, one.left - other.right, 0.0)
    return gap, abs(one.left + one.right - other.left - other.right)


def joined_bands(one: str, other: str) -> str:
    """Return two bands that touch as one, or an empty text."""
    bands = [*temperatures(one, about_temperature=True), *temperatures(other, about_temperature=True)]
    if len(bands) != 2 or bands[0].high is None or bands[0].high != bands[1].low:
        return ""
    low, high = bands[0].low, bands[1].high
    return "" if low is None or high is None else f"{low:g} ~ {high:g} °C"


def _is_of_roles(filled: Sequence[Cell]) -> bool:
    """Whether cells hold no number and no figure's name, and are nearly all words of headers."""
    if any(re.search(r"\d", cell.text) for cell in filled):
        return False
    if any(NOUNS & meanings(cell.text) for cell in filled):
        return False
    levels = sum(bool(_role(cell.text) & _LEVELS) for cell in filled[1:])
    # Beside two columns of levels the others may be headed by any word: "Quantity | Sign | Min. | Typ.".
    return levels > 1 or sum(bool(_role(cell.text)) for cell in filled) >= max(2, len(filled) - 1)


def _is_of_temperatures(cells: Sequence[Cell], filled: Sequence[Cell]) -> bool:
    """Whether cells head columns by temperature: "Temperature | 0~10 C | 10~45 C"."""
    others = filled[1:] if cells[0].text else filled
    if len(others) < 2 or not all(_is_heat(cell.text) for cell in others):
        return False
    said = meanings(filled[0].text) if cells[0].text else frozenset({"temperature"})
    if _is_of_use(said):
        return False
    # Three bands or more head columns whatever stands before them, but the name of a figure.
    unnamed = len(others) > _FEWEST_BANDS and not said & (NOUNS | _MODES)
    return bool(said & {"temperature", "h_item"}) or unnamed


def _is_of_currents(filled: Sequence[Cell]) -> bool:
    """Whether cells head columns by the current of a test: "Current | 1 A | 5 A | 10 A"."""
    dims = [figure_quantities(cell.text) for cell in filled[1:]]
    headed = "current" in meanings(filled[0].text) and not meanings(filled[0].text) & (_LEVELS | QUALIFIERS)
    return headed and len(dims) > 1 and all(each in (["current"], ["rate"]) for each in dims)


def _is_heat(text: str) -> bool:
    found = temperatures(text, about_temperature=True)
    return len(found) == 1 and found[0].end - found[0].start >= len(text.strip(" ()T")) - 2


def _with_degrees(text: str) -> str:
    """Return the temperatures at the head of a column with their unit, which may stand at the left only."""
    return f"{text} °C" if re.fullmatch(r"[-+\d\s.,~≤<T]*\d(?:\s*(?:~|to|bis|-)\s*[-+]?\d+)?", text) else text


def _is_of_figures(filled: Sequence[Cell]) -> bool:
    """Whether cells head columns of one figure each: "Temperature | Max. charge | Max. discharge"."""
    first, others = meanings(filled[0].text), [meanings(cell.text) for cell in filled[1:]]
    if not first & ({"temperature"} | _BASES) or _is_of_use(first):
        return False
    return not any(figure_quantities(cell.text) for cell in filled) and all(
        said & (NOUNS | QUALIFIERS | {"h_note"}) for said in others
    )


def _is_of_use(said: frozenset[str]) -> bool:
    """Whether a head speaks of temperatures of operation or storage, and not of the air around the cell."""
    return "storage" in said or ("operating" in said and "ambient" not in said)


def _role(text: str) -> frozenset[str]:
    if len(text) > _LONGEST_ROLE:
        return frozenset()
    said = meanings(text)
    # "Test condition" names no figure: what stands below it is said beside the values.
    return frozenset({"h_note"}) if said == {"nothing"} else frozenset(said & _ROLES)


def _with_middle(roles: dict[int, frozenset[str]]) -> dict[int, frozenset[str]]:
    """Return the roles of columns; the one between minimum and maximum is the usual value, whatever its head."""
    columns = [*roles]
    for at in range(1, len(columns) - 1):
        left, middle, right = (roles[column] for column in columns[at - 1 : at + 2])
        ends = {*(left & _LEVELS), *(right & _LEVELS)}
        named = middle & (_LEVELS | {"h_item", "h_unit", "h_note"})
        if ends == {"minimum", "maximum"} and left & _LEVELS != right & _LEVELS and not named:
            roles = roles | {columns[at]: frozenset({"typical"})}
    return roles


def _with_unit(valued: Valued, unit: str) -> Valued:
    if figure_quantities(valued.text) or not unit:
        return valued
    return replace(valued, text=before_mark(valued.text, unit))


def _as_limit(valued: Valued) -> Valued:
    """Return a value as a maximum where its sign says so, whatever its column is called."""
    return replace(valued, kind=frozenset({"maximum"})) if re.match(r"\s*[≤<]", valued.text) else valued


def _far_apart(values: Sequence[Valued]) -> bool:
    """Whether the least and the greatest of some values differ by more than a tolerance."""
    ends = []
    for level in ("minimum", "maximum"):
        found = re.search(r"\d+(?:[.,]\d+)?", next((each.text for each in values if level in each.kind), ""))
        ends.append(float(found[0].replace(",", ".")) if found else 0.0)
    return ends[0] > 0 and ends[1] > _TOLERANCE * ends[0]


def _chosen(label: str, values: list[Valued], *, heat: bool) -> list[Valued]:
    """Return the columns that make the figure: all of a capacity, the limit of what has one, ends of degrees."""
    said = meanings(label)
    if any(each.kind & _MODES for each in values):
        return values
    if "capacity" in said:
        return [each for each in values if "maximum" not in each.kind]
    if "temperature" in said or heat:
        low = next((each.text for each in values if "minimum" in each.kind), None)
        high = next((each.text for each in values if "maximum" in each.kind), None)
        if low and high:
            return [Valued(frozenset(), f"{low} ~ {high}")]
        whole = [replace(each, kind=frozenset()) for each in values if is_band_only(each.text)]
        if whole or "temperature" in said:
            # A range that stands in one cell is no end of another one.
            return whole
    values = [_as_limit(each) for each in values]
    if "mass" in said:
        # What it weighs and what it weighs at most are two figures.
        usual = [each for name in ("typical", "nominal") for each in values if name in each.kind][:1]
        return [*usual, *(each for each in values if "maximum" in each.kind)] or values[:1]
    if "voltage" in said and not said & _OF_ONE_VOLTAGE and _far_apart(values):
        # "Voltage | 2.5 | 3.6 | 4.2": the ends are those of discharge and charge.
        return values
    order = _LIMIT_FIRST
    if "voltage" in said:
        order = _FLOOR_FIRST if "cutoff" in said else _VALUE_FIRST
    return next(([each] for name in order for each in values if name in each.kind), values[:1])
