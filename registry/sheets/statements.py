"""Rows of cells as statements: what a sheet says under which label, with its notes and its place."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from registry.sheets.quantities import normal, quantities
from registry.sheets.rows import Cell, Document, Row
from registry.sheets.temperatures import masked, temperatures
from registry.sheets.vocabulary import meanings

NOUNS = frozenset({
    "capacity", "voltage", "current", "resistance", "mass", "diameter", "length", "size", "temperature",
    "cycle", "cell_life", "energy",
})  # fmt: skip
_NOUN_DIMENSIONS = {
    "capacity": {"charge"}, "voltage": {"voltage"}, "current": {"current", "rate"}, "resistance": {"resistance"},
    "mass": {"mass"}, "diameter": {"length"}, "length": {"length"}, "size": {"length"},
    "temperature": {"temperature"}, "cycle": {"count"}, "cell_life": {"count"},
}  # fmt: skip
FIGURE_DIMENSIONS = frozenset({"charge", "current", "rate", "voltage", "resistance", "mass", "length", "count"})
_QUALIFIERS = frozenset({
    "charge", "discharge", "continuous", "maximum", "minimum", "typical", "nominal", "rated", "standard",
    "fast", "pulse", "ac", "dc", "storage", "operating", "bare", "assembled", "not_continuous",
    "temperature_cut", "cutoff", "board",
})  # fmt: skip
_HEADER = ("minimum", "typical", "maximum", "nominal", "h_item", "h_value", "h_unit", "h_note")
_NUMBERED = re.compile(r"^\s*[(（]?(\d{1,2}(?:\.\d{1,2}){0,3})[.)）、:]?\s+(?=\D|\d+C)|^\s*(\d{1,2}(?:\.\d{1,2}){0,3})[.)）、]\s*(?=[^\d\s.])|^\s*[•·*\-–]\s+(?=[^\d\s])")
_ONLY_NUMBER = re.compile(r"\s*[(（]?\d{1,2}(?:[.\-]\d{1,2}){0,3}[.)）、]?\s*")
_LABEL_UNIT = re.compile(r"[(\[/,]\s*([^()\[\]/,]{1,12}?)\s*[)\]]?\s*$")


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
    section: str = ""


@dataclass(slots=True)
class _State:
    """Where in the document a row stands: the section, the header of the table, the label that holds on."""

    excluded: str | None = None
    excluded_number: str | None = None
    header: dict[int, frozenset[str]] | None = None
    header_row: Row | None = None
    table: int | None = None
    label: str = ""
    label_left: float = 0.0
    band: str = ""
    block: int = 0
    heading: str = ""
    margin: float = 0.0
    seen: list[Statement] = field(default_factory=list)


def figure_quantities(text: str) -> list[str]:
    """Return the dimensions of the quantities in a normal text that may be figures, temperatures included."""
    found = temperatures(text)
    dims = [each.dimension for each in quantities(masked(text, found)) if each.dimension in FIGURE_DIMENSIONS]
    return dims + ["temperature"] * sum(not each.single and not each.twin for each in found)


def _goes_with(label: str, own: str, dims: Sequence[str]) -> bool:
    """Whether a line without a noun of its own may stand under the label before it."""
    held, said = meanings(label), meanings(own)
    fitting = set().union(*(_NOUN_DIMENSIONS.get(noun, set()) for noun in held))
    if not fitting:
        fitting = {"current", "rate"} if held & {"charge", "discharge", "continuous", "pulse"} else set()
    if not dims or dims[0] not in fitting:
        return False
    modes = {"charge", "discharge"}
    if said & modes and held & modes:
        return False
    return not (said & {"continuous", "pulse"} and held & {"continuous", "pulse"})


def statements(document: Document) -> list[Statement]:
    """Return every statement of a document outside of its sections of tests, warnings and examples."""
    state = _State(margin=min((row.cells[0].left for row in document.rows if row.placed), default=0.0))
    for row in document.rows:
        cells = [replace(cell, text=normal(cell.text).strip()) for cell in row.cells]
        _read_row(row, _without_number(cells), state)
    return state.seen


def _without_number(cells: list[Cell]) -> list[Cell]:
    filled = [cell for cell in cells if cell.text]
    if len(filled) > 1 and filled[0] is cells[0] and _ONLY_NUMBER.fullmatch(filled[0].text):
        if not figure_quantities(filled[0].text) and re.search(r"[^\W\d_]", filled[1].text):
            return cells[1:]
    return cells


def _section_number(text: str) -> str | None:
    match = re.match(r"\s*(\d{1,2}(?:\.\d{1,2}){0,3})[.)、]?\s", text + " ")
    return match[1] if match else None


def _read_row(row: Row, cells: list[Cell], state: _State) -> None:
    if row.table != state.table:
        # A table goes on over a page break without its header; a new one has its own.
        if row.table is not None and (state.header_row is None or len(state.header_row.cells) != len(row.cells)):
            state.header = None
        state.table = row.table
    filled = [cell for cell in cells if cell.text]
    if not filled:
        return
    if len({cell.text for cell in filled}) == 1 and _heading(row, filled[0], state):
        return
    if state.excluded is not None:
        if row.table is not None and _is_header(filled) and not meanings(row.quote) & {"not_rating"}:
            state.excluded = None
        else:
            return
    if _is_header(filled):
        state.header = {cell.column: _column_role(cell.text) for cell in cells if cell.text}
        state.header_row = row
        state.label, state.band = "", ""
        return
    if len(filled) == 1:
        _one_cell(row, filled[0], state)
    else:
        _many_cells(row, cells, state)


def _heading(row: Row, cell: Cell, state: _State) -> bool:
    """Take a line without any figure as a heading if it is one; returns whether it was."""
    text = cell.text
    number = _section_number(row.quote)
    said = meanings(text)
    dims = figure_quantities(text)
    if dims:
        if state.excluded is not None and number and _leaves(number, state.excluded_number):
            if "not_rating" not in meanings(_split(text)[0]):
                state.excluded = None
        return False
    if not re.search(r"[^\W\d_]", text) or (row.placed and cell.left > state.margin + 150):
        return False
    numbers = [each for each in quantities(masked(text, temperatures(text))) if each.dimension]
    if "not_rating" in said and not numbers and not (said & {"operating", "storage"} and "temperature" in said):
        if number is None and len(text) > 60:
            return False
        if state.excluded is None or number is None or _leaves(number, state.excluded_number):
            state.excluded, state.excluded_number = text, number
        state.label, state.band, state.block = "", "", 0
        return True
    if state.excluded is not None:
        resets = "ratings" in said if number is None else _leaves(number, state.excluded_number)
        if resets and len(text) <= 60:
            state.excluded = None
            state.label = ""
    return False


def _leaves(number: str, excluded: str | None) -> bool:
    """Whether a section number lies outside of the excluded section."""
    if excluded is None:
        return True
    return not (number == excluded or number.startswith(excluded + "."))


def _is_header(filled: Sequence[Cell]) -> bool:
    if len(filled) < 2 or any(re.search(r"\d", cell.text) for cell in filled):
        return False
    roles = [_column_role(cell.text) for cell in filled]
    return sum(bool(role) for role in roles) >= max(2, len(filled) - 1) and not any(
        NOUNS & meanings(cell.text) for cell in filled
    )


def _column_role(text: str) -> frozenset[str]:
    if len(text) > 40:
        return frozenset()
    return frozenset(meanings(text) & set(_HEADER))


def _split(text: str) -> tuple[str, str]:
    """Return the label and the value of a line: parted by its first colon, else before its first quantity."""
    depth = 0
    found = temperatures(text)
    plain = masked(text, found)
    inside = [False] * (len(text) + 1)
    for index, letter in enumerate(text):
        depth += (letter in "([") - (letter in ")]" and depth > 0)
        inside[index] = depth > 0
        if letter in ":=" and depth == 0 and (letter == ":" or not re.search(r"\d\s*C\w*\s*$", text[:index])):
            if re.search(r"[^\W\d_]", text[:index]):
                return text[:index].strip(), text[index + 1 :].strip()
    places = [
        each.start for each in quantities(plain)
        if each.dimension in FIGURE_DIMENSIONS and not inside[each.start]
    ] + [each.start for each in found if not each.single and not inside[each.start]]  # fmt: skip
    later = [place for place in places if re.search(r"[^\W\d_]", text[:place])]
    if not later:
        return ("", text) if places else (text, "")
    if min(places) < min(later) and NOUNS & meanings(text[min(places) : ]) and not NOUNS & meanings(text[: min(places)]):
        # "1C discharge capacity 2500 mAh": the first number belongs to the label.
        cut = next((place for place in sorted(later) if NOUNS & meanings(text[:place])), min(later))
    else:
        cut = min(later)
    while cut > 0 and text[cut - 1] in " ≤≥<>~(±":
        if text[cut - 1] == "(":
            break
        cut -= 1
    return text[:cut].strip(), text[cut:].strip()


def is_prose(text: str) -> bool:
    """Whether a line is a sentence and not a label with its value."""
    words = re.findall(r"[^\W\d_]{2,}", re.sub(r"\([^()]*\)", "", text))
    said = meanings(text)
    if "limit_speech" in said and len(words) > 4:
        return True
    return len(words) > 18 or (len(words) > 6 and "verb" in said)


def _add(state: _State, row: Row, label: str, value: str, note: str = "", **settings: object) -> None:
    state.seen.append(
        Statement(label, value, note, row.page, row.quote, section=state.heading, **settings)  # type: ignore[arg-type]
    )


def _one_cell(row: Row, cell: Cell, state: _State) -> None:
    text = _NUMBERED.sub("", cell.text, count=1)
    if is_prose(text):
        if "not_rating" not in meanings(text):
            for sentence in re.split(r"(?<=[^\d])[.;](?:\s|$)|(?<=\d)\.\s(?=[A-Z])", text):
                if sentence.strip():
                    _add(state, row, "", sentence.strip(), prose=True)
        state.label, state.band, state.block = "", "", 0
        return
    label, value = _split(text)
    dims = figure_quantities(value)
    if label and not dims and not value:
        _label_alone(label, cell, state)
        return
    said = meanings(label)
    if label and (NOUNS & said or not said & _QUALIFIERS) and not _is_band_only(label):
        if said & (NOUNS | _QUALIFIERS):
            state.label, state.label_left, state.block = label, cell.left, 1
            state.band = ""
        _add(state, row, label, value)
        if not said & (NOUNS | _QUALIFIERS):
            state.label = ""
        return
    _under_label(row, cell, label, value or text, dims, state)


def _label_alone(label: str, cell: Cell, state: _State) -> None:
    said = meanings(label)
    if NOUNS & said or (state.label == "" and said & _QUALIFIERS and len(label) < 50):
        state.block = 0
        state.label, state.label_left, state.band = label, cell.left, ""
    elif said & {"ac", "dc"} and state.block == 1 and state.seen:
        last = state.seen[-1]
        state.seen[-1] = replace(last, note=f"{last.note} {label}".strip())
    elif said & _QUALIFIERS and len(label) < 40 and state.label:
        # A sub-item on a line of its own narrows the label above: "Internal resistance", then "Max".
        state.label = f"{state.label} {label}"
    elif not temperatures(label):
        state.label, state.band, state.block = "", "", 0
        state.heading = label


def _is_band_only(text: str) -> bool:
    found = temperatures(text, about_temperature=False)
    rest = re.sub(r"[\x00\s():,;|/]|\bT\b", "", masked(text, found))
    return bool(found) and not rest


def _under_label(row: Row, cell: Cell, label: str, value: str, dims: list[str], state: _State) -> None:
    """Take a line that has a value and no label of its own: it stands under the label before it."""
    if not state.label:
        if label:
            _add(state, row, label, value)
        return
    if row.placed and abs(cell.left - state.label_left) > 40 and not temperatures(cell.text):
        return
    if _is_band_only(value) and not (meanings(state.label) & {"operating", "storage", "temperature"}):
        state.band = value
        return
    band_label = label and _is_band_only(label)
    if not _goes_with(state.label, "" if band_label else label, dims):
        state.label, state.label_left, state.band = "" if band_label else label, cell.left, ""
        if label and not band_label:
            _add(state, row, label, value)
        return
    if band_label:
        label, value = "", f"{label} {value}"
    _add(state, row, f"{state.label} {label}".strip(), f"{state.band} {value}".strip(), carried=True)
    state.band = ""
    state.block = 1


def _many_cells(row: Row, cells: list[Cell], state: _State) -> None:
    if state.header and _by_columns(row, cells, state):
        return
    if state.header and row.table is not None:
        roles = state.header
        # A column of conditions may stand between the label and the value.
        cells = sorted(cells, key=lambda cell: "h_note" in roles.get(cell.column, ()))
    filled = [cell for cell in cells if cell.text]
    first = replace(filled[0], text=_NUMBERED.sub("", filled[0].text, count=1) or filled[0].text)
    filled[0] = first
    if is_prose(first.text) and not NOUNS & meanings(first.text[:30]):
        _one_cell(row, first, state)
        return
    lead_empty = not cells[0].text and row.table is not None
    for pair in _pairs(filled, state, lead_empty=lead_empty, ruled=row.table is not None):
        label, value, note, label_cell = pair
        if label:
            state.label, state.label_left, state.block, state.band = label, label_cell.left, 1, ""
            _add(state, row, label, value, note)
        elif state.label and (temperatures(value) or temperatures(note) or row.table is not None):
            _add(state, row, state.label, value, note, carried=True)


def _is_value(text: str) -> bool:
    plain = masked(text, temperatures(text))
    if _label_goes_on(text):
        return False
    if re.match(r"\s*[≤≥<>±~Φ+\-]?\s*\d", text) and not NOUNS & meanings(text):
        return True
    return bool(figure_quantities(text)) and bool(plain)


def _pairs(
    filled: list[Cell], state: _State, *, lead_empty: bool, ruled: bool
) -> Iterator[tuple[str, str, str, Cell]]:
    """Yield label, value, note of each pair in a row, which may hold several."""
    index = 0
    while index < len(filled):
        label_parts: list[str] = []
        label_cell = filled[index]
        own = _split(label_cell.text) if not lead_empty or index else ("", "")
        if index < len(filled) and not (lead_empty and index == 0) and not (_is_value(label_cell.text) and not own[0]):
            if own[1] and figure_quantities(own[1]) and own[0] and NOUNS & meanings(own[0]) and not _label_goes_on(label_cell.text):
                # Label and value share one cell.
                note, index = _note(filled, index + 1, ruled)
                yield own[0], own[1], note, label_cell
                continue
            label_parts.append(label_cell.text)
            index += 1
            while index < len(filled) and not _is_value(filled[index].text):
                label_parts.append(filled[index].text)
                index += 1
        value_parts: list[str] = []
        while index < len(filled) and _is_band_only(filled[index].text) and index + 1 < len(filled) and _is_value(filled[index + 1].text) and not (meanings(" ".join(label_parts)) & {"temperature", "operating", "storage"}):
            value_parts.append(filled[index].text)
            index += 1
        if index < len(filled):
            value_parts.append(filled[index].text)
            index += 1
            if index < len(filled) and re.fullmatch(r"[≤≥<>±~\s]*[\d.,\s]+(?:±\s*[\d.,]+)?", value_parts[-1]):
                if figure_quantities(f"1 {filled[index].text}") and not re.search(r"\d", filled[index].text):
                    value_parts.append(filled[index].text)
                    index += 1
        note, index = _note(filled, index, ruled)
        if value_parts:
            yield " ".join(label_parts), " ".join(value_parts), note, label_cell
        elif label_parts:
            yield " ".join(label_parts), "", "", label_cell


def _label_goes_on(text: str) -> bool:
    """Whether words with a noun follow the last quantity: "1C5A discharge capacity"."""
    found = quantities(masked(text, temperatures(text)))
    rated = bool(found) and found[-1].dimension == "rate"
    return rated and bool(NOUNS & meanings(text[found[-1].end :]))


def _note(filled: list[Cell], index: int, ruled: bool) -> tuple[str, int]:
    notes: list[str] = []
    while index < len(filled):
        text = filled[index].text
        label, value = _split(text)
        if NOUNS & meanings(label) and (
            (not figure_quantities(text) and index + 1 < len(filled) and _is_value(filled[index + 1].text))
            or (value and figure_quantities(value) and not ruled)
        ):
            break
        notes.append(text)
        index += 1
    return " ; ".join(notes), index


def _by_columns(row: Row, cells: list[Cell], state: _State) -> bool:
    """Read a row by the header of its table, if that has columns for minimum, typical or maximum."""
    roles = state.header or {}
    kinds = {column: role & {"minimum", "typical", "maximum", "nominal"} for column, role in roles.items()}
    if sum(bool(kind) for kind in kinds.values()) < 2 or state.header_row is None:
        return False
    by_role: dict[str, list[str]] = {"label": [], "unit": [], "note": []}
    values: list[tuple[frozenset[str], str]] = []
    first_kind = min(column for column, kind in kinds.items() if kind)
    for cell in cells:
        column = _column_of(cell, state.header_row) if row.table is None and row.placed else cell.column
        role = roles.get(column, frozenset())
        if not cell.text or (cell.carried and column > 0 and row.table is not None and kinds.get(column)):
            continue
        if kinds.get(column):
            if re.search(r"\d", cell.text):
                values.append((frozenset(kinds[column]), cell.text))
        elif "h_unit" in role:
            by_role["unit"].append(cell.text)
        elif "h_note" in role or column > first_kind:
            by_role["note"].append(cell.text)
        else:
            by_role["label"].append(cell.text)
    label = " ".join(by_role["label"]) or state.label
    if not values or not label:
        return False
    state.label = label
    unit, note = " ".join(by_role["unit"]), " ; ".join(by_role["note"])
    for extra, value in _preferred(label, values):
        own = "" if figure_quantities(value) else unit
        _add(state, row, label, f"{value} {own}".strip(), note, extra=extra)
    return True


def _preferred(label: str, values: list[tuple[frozenset[str], str]]) -> list[tuple[frozenset[str], str]]:
    """Return the columns that make the figure: all of a capacity, the limit of what has one."""
    said = meanings(label)
    if "capacity" in said:
        return [each for each in values if "maximum" not in each[0]]
    order = ("maximum", "typical", "nominal", "minimum")
    if "voltage" in said:
        order = ("typical", "nominal", "minimum", "maximum") if "cutoff" in said else ("typical", "nominal", "maximum", "minimum")
    if "temperature" in said:
        low = next((text for kind, text in values if "minimum" in kind), None)
        high = next((text for kind, text in values if "maximum" in kind), None)
        return [(frozenset(), f"{low} ~ {high}")] if low and high else []
    for name in order:
        chosen = [each for each in values if name in each[0]]
        if chosen:
            return chosen[:1]
    return values[:1]


def _column_of(cell: Cell, header: Row) -> int:
    """Return the column of the header that a cell lies under."""
    middle = (cell.left + cell.right) / 2
    return min(header.cells, key=lambda each: abs((each.left + each.right) / 2 - middle)).column

