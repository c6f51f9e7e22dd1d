"""Rows of cells as statements: what a sheet says under which label, with its notes and its place."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from registry.sheet_reader.columns import Header
from registry.sheet_reader.lines import (
    NOUNS,
    QUALIFIERS,
    figure_quantities,
    goes_with,
    is_band_only,
    is_duration,
    is_prose,
    is_value,
    label_and_value,
    lines_apart,
    section_number,
    without_item_number,
    without_number,
)  # fmt: skip
from registry.sheet_reader.pairs import pairs
from registry.sheet_reader.quantities import normal, quantities
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings


@dataclass(frozen=True, slots=True)
class Statement:
    """What stands under one label: the texts in their one form, and the line as it is printed."""

    label: str
    value: str
    note: str
    page: int | None
    quote: str
    prose: bool = False
    carried: bool = False
    extra: frozenset[str] = frozenset()
    """What the header of the value's column says of it, such as ``{'minimum'}``."""


_LONGEST_HEADING = 60


@dataclass(slots=True)
class _State:
    """Where in the document a row stands: the section, the header of the table, the label that holds on."""

    excluded: str | None = None
    excluded_number: str | None = None
    header: Header | None = None
    table: int | None = None
    label: str = ""
    label_left: float = 0.0
    band: str = ""
    block: int = 0
    margin: float = 0.0
    first: bool = False
    parent: str = ""
    lefts: list[float] = field(default_factory=list)
    seen: list[Statement] = field(default_factory=list)


def statements(document: Document) -> list[Statement]:
    """Return every statement of a document outside of its sections of tests, warnings and examples."""
    state = _State(margin=min((row.cells[0].left for row in document.rows if row.placed), default=0.0))
    for row in document.rows:
        state.first = row is document.rows[0]
        for cells in lines_apart(list(row.cells)):
            plain = [replace(cell, text=normal(cell.text).strip()) for cell in cells]
            _read_row(row, without_number(plain), state)
    return state.seen


def _read_row(row: Row, cells: list[Cell], state: _State) -> None:
    if row.table != state.table:
        # A table goes on over a page break without its header; a new one has its own.
        if row.table is not None and (state.header is None or len(state.header.row.cells) != len(row.cells)):
            state.header = None
        state.table = row.table
    filled = [cell for cell in cells if cell.text]
    if not filled:
        return
    if len({cell.text for cell in filled}) == 1 and _heading(row, filled[0], state):
        return
    header = Header.is_one(filled)
    if state.excluded is not None:
        if row.table is None or not header or "not_rating" in meanings(row.quote):
            return
        state.excluded = None
    if header:
        state.header = Header(row, cells)
        state.label, state.band = "", ""
    elif len(filled) == 1:
        _one_cell(row, filled[0], state)
    else:
        _many_cells(row, cells, state)


def _heading(row: Row, cell: Cell, state: _State) -> bool:
    """Take a line as the heading of a section of tests or ratings, if it is one; returns whether it was."""
    text, number = cell.text, section_number(row.quote)
    outside = state.excluded is None or number is None or _leaves(number, state.excluded_number)
    if figure_quantities(text):
        if number and outside and "not_rating" not in meanings(label_and_value(text)[0]):
            state.excluded = None
        return False
    if not re.search(r"[^\W\d_]", text) or (row.placed and cell.left > state.margin + 150):
        return False
    if _begins_tests(text, state) and not (number is None and len(text) > _LONGEST_HEADING):
        if outside:
            state.excluded, state.excluded_number = text, number
        state.label, state.band, state.block = "", "", 0
        return True
    ends = "ratings" in meanings(text) if number is None else outside
    if state.excluded is not None and ends and len(text) <= _LONGEST_HEADING:
        state.excluded, state.label = None, ""
    return False


def _begins_tests(text: str, state: _State) -> bool:
    """Whether a line heads a section of tests, warnings, examples or the like."""
    said = meanings(text)
    if "not_rating" not in said or state.first or ("temperature" in said and said & {"operating", "storage"}):
        return False
    return not any(each.dimension for each in quantities(masked(text, temperatures(text))))


def _leaves(number: str, excluded: str | None) -> bool:
    """Whether a section number lies outside of the excluded section."""
    if excluded is None:
        return True
    return not (number == excluded or number.startswith(excluded + "."))


def _add(state: _State, row: Row, label: str, value: str, note: str = "", **settings: object) -> None:
    state.seen.append(
        Statement(label, value, note, row.page, row.quote, **settings)  # type: ignore[arg-type]
    )


def _one_cell(row: Row, cell: Cell, state: _State) -> None:
    text = without_item_number(cell.text)
    if is_prose(text):
        if "not_rating" not in meanings(text):
            for sentence in re.split(r"(?<=[^\d])[.;](?:\s|$)|(?<=\d)\.\s(?=[A-Z])", text):
                if sentence.strip():
                    _add(state, row, "", sentence.strip(), prose=True)
        state.label, state.band, state.block = "", "", 0
        return
    label, value = label_and_value(text)
    dims = figure_quantities(value)
    if label and not dims and not value:
        _label_alone(label, cell, state)
        return
    said = meanings(label)
    lasting = not said & (NOUNS | QUALIFIERS) and is_duration(label) and goes_with(state.label, "", dims)
    if label and (NOUNS & said or not said & QUALIFIERS) and not is_band_only(label) and not lasting:
        if said & (NOUNS | QUALIFIERS):
            state.label, state.label_left, state.block = label, cell.left, 1
            state.band = ""
        _add(state, row, label, value)
        if not said & (NOUNS | QUALIFIERS):
            state.label = ""
        return
    _under_label(row, cell, label, value or text, dims, state)


def _label_alone(label: str, cell: Cell, state: _State) -> None:
    said = meanings(label)
    if NOUNS & said or (state.label == "" and said & QUALIFIERS and len(label) < 50):
        state.block = 0
        state.label, state.label_left, state.band = label, cell.left, ""
    elif said & {"ac", "dc"} and state.block == 1 and state.seen:
        last = state.seen[-1]
        state.seen[-1] = replace(last, note=f"{last.note} {label}".strip())
    elif said & QUALIFIERS and len(label) < 40 and state.label:
        # A sub-item on a line of its own narrows the label above: "Internal resistance", then "Max".
        state.label = f"{state.label} {label}"
    elif not temperatures(label):
        state.label, state.band, state.block = "", "", 0


def _under_label(row: Row, cell: Cell, label: str, value: str, dims: list[str], state: _State) -> None:
    """Take a line that has a value and no label of its own: it stands under the label before it."""
    if not state.label:
        if label:
            _add(state, row, label, value)
        return
    if row.placed and abs(cell.left - state.label_left) > 40 and not temperatures(cell.text):
        return
    if is_band_only(value) and not (meanings(state.label) & {"operating", "storage", "temperature"}):
        state.band = value
        return
    band_label = label and is_band_only(label)
    if not goes_with(state.label, "" if band_label else label, dims):
        state.label, state.label_left, state.band = "" if band_label else label, cell.left, ""
        if label and not band_label:
            _add(state, row, label, value)
        return
    if band_label:
        label, value = "", f"{label} {value}"
    _add(state, row, f"{state.label} {label}".strip(), f"{state.band} {value}".strip(), carried=True)
    state.band = ""
    state.block = 1


def _by_header(row: Row, cells: list[Cell], state: _State) -> bool:
    """Read a row by the header of its table, if that parts the values; returns whether it did."""
    read = state.header.read(row, cells, state.label) if state.header is not None else None
    if read is None:
        return False
    state.label = read.label
    for kind, value in read.values:
        _add(state, row, read.label, value, read.note, extra=kind)
    return True


def _is_sub_label(text: str) -> bool:
    if is_duration(text):
        return True
    return not is_value(text) and not is_band_only(text) and bool(meanings(text) & (NOUNS | QUALIFIERS))


def _below_a_value(row: Row, first: Cell, state: _State) -> bool:
    """Whether a line of an unruled table begins under a later column of the row above, its label left out."""
    return (
        row.placed and row.table is None and len(state.lefts) > 1 and first.left > state.lefts[0] + 40
        and any(abs(first.left - left) < 3 for left in state.lefts[1:])
    )  # fmt: skip


def _many_cells(row: Row, cells: list[Cell], state: _State) -> None:
    if _by_header(row, cells, state):
        return
    if state.header is not None and row.table is not None:
        cells = state.header.notes_last(cells)
    filled = [cell for cell in cells if cell.text]
    first = replace(filled[0], text=without_item_number(filled[0].text) or filled[0].text)
    filled[0] = first
    if is_prose(first.text) and not NOUNS & meanings(first.text[:30]):
        _one_cell(row, first, state)
        return
    lead_empty = not cells[0].text or _below_a_value(row, first, state)
    if not lead_empty:
        state.parent = label_and_value(first.text)[0]
        state.lefts = [cell.left for cell in filled]
    elif _is_sub_label(first.text):
        filled[0] = replace(first, text=f"{state.parent} {first.text}".strip())
        lead_empty = False
    for pair in pairs(filled, lead_empty=lead_empty, ruled=row.table is not None):
        label, value, note = pair.words
        if label:
            state.label, state.label_left, state.block, state.band = label, pair.place.left, 1, ""
            _add(state, row, label, value, note)
        elif state.label and (temperatures(value) or temperatures(note) or row.table is not None):
            _add(state, row, state.label, value, note, carried=True)
