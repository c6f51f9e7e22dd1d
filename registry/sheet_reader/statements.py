"""Rows of cells as statements: what a sheet says under which label, with its notes and its place."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from enum import IntEnum

from registry.sheet_reader.columns import Header
from registry.sheet_reader.footnotes import Footnotes, bare, footnotes_of
from registry.sheet_reader.letters import WHY, with_digits
from registry.sheet_reader.lines import (
    NOUNS,
    QUALIFIERS,
    FIGURE_DIMENSIONS,
    figure_places,
    figure_quantities,
    fitting_dimensions,
    goes_with,
    is_band_only,
    is_duration,
    is_prose,
    label_and_value,
    lines_apart,
    section_number,
    sentences,
    without_item_number,
    without_number,
)  # fmt: skip
from registry.sheet_reader.pairs import Pair, pairs
from registry.sheet_reader.quantities import normal, quantities
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings


class Rank(IntEnum):
    """How much the place of a statement says: the later ones speak only where the earlier are silent."""

    TABLE = 0
    PROSE = 1
    ASIDE = 2
    EXCLUDED = 3
    """It stands in a section of tests, warnings, examples or earlier revisions."""


@dataclass(frozen=True, slots=True)
class Statement:
    """What stands under one label: the texts in their one form, and the line as it is printed."""

    label: str
    value: str
    note: str
    page: int | None
    quote: str
    rank: Rank = Rank.TABLE
    carried: bool = False
    extra: frozenset[str] = frozenset()
    """What the header of the value's column says of it, such as ``{'minimum'}``."""
    footnotes: tuple[str, ...] = ()
    doubt: str | None = None

    @property
    def prose(self) -> bool:
        """Whether it is a sentence."""
        return self.rank is Rank.PROSE


@dataclass(slots=True)
class _Open:
    """A label that a later line without one may go on with, and where it and its value stand."""

    label: str
    left: float
    value: tuple[float, float] | None = None
    group: str = ""
    line: int = 0
    """The line of the document it stands in."""
    given: bool = False
    """Whether it was the first half of a label and is no label by itself."""


_HALVES = QUALIFIERS - {"bare", "assembled", "bms", "ac", "dc", "storage", "operating", "method"}
_LONGEST_HEADING = 60
_SAME_PLACE = 2.5


@dataclass(slots=True)
class _State:
    """Where in the document a row stands: its section, the header of its table, the labels that hold on."""

    notes: Footnotes
    excluded: str | None = None
    excluded_number: str | None = None
    excluded_left: float = 0.0
    header: Header | None = None
    block: int | None = None
    open: list[_Open] = field(default_factory=list)
    band: str = ""
    context: str = ""
    margin: float = 0.0
    first: bool = False
    seen: list[Statement] = field(default_factory=list)
    marks: tuple[str, ...] = ()
    doubt: str | None = None
    line: int = 0
    joined: str = ""
    previous: str = ""
    """The line above, as it is printed."""

    def add(self, row: Row, label: str, value: str, note: str = "", **settings: object) -> None:
        """Keep a statement of a row."""
        rank = Rank.TABLE if self.excluded is None else Rank.EXCLUDED
        made: dict[str, object] = {"rank": rank, "footnotes": self.marks, "doubt": self.doubt} | settings
        if self.excluded is not None:
            made["rank"] = Rank.EXCLUDED
        self.seen.append(Statement(label, value, note, row.page, row.quote, **made))  # type: ignore[arg-type]

    def forget(self) -> None:
        """Let no later line go on with a label from before."""
        self.open, self.band = [], ""


def statements(document: Document) -> list[Statement]:
    """Return every statement of a document, those of tests, warnings and examples by their rank."""
    notes, document = footnotes_of(document)
    state = _State(notes, margin=min((r.cells[0].left for r in document.rows if not r.ruled), default=0.0))
    for number, row in enumerate(_in_order(document.rows)):
        state.first, state.line = number == 0, number
        state.marks = notes.of(row.quote)
        for cells in lines_apart([bare(cell, notes) for cell in row.cells]):
            plain = [replace(cell, text=_plain(cell.text)) for cell in cells]
            state.doubt = WHY if any(_plain(c.text) != _plain(c.text, letters=True) for c in cells) else None
            _read_row(row, without_number(plain), state)
        state.previous = state.joined or row.quote
        state.joined = ""
    return state.seen


def _plain(text: str, *, letters: bool = False) -> str:
    """Return the text of a cell in its one form; a cell of signs alone holds nothing."""
    text = normal(text if letters else with_digits(text)).strip().lstrip(":= ")
    return text if re.search(r"\w", text) else ""


def _read_row(row: Row, cells: list[Cell], state: _State) -> None:
    if row.block != state.block:
        # A table goes on over a page break without its header; a new one has its own.
        if state.header is None or len(state.header.row.cells) != len(row.cells) or not row.ruled:
            state.header = None
        if not (row.ruled and state.header):
            state.forget()
        if row.aside:
            # What stands at the right of a warning or a sentence is no part of it.
            state.excluded, state.context = None, ""
        state.block = row.block
    filled = [cell for cell in cells if cell.text]
    if not filled:
        return
    if len({cell.text for cell in filled}) == 1:
        if _heading(row, filled[0], state):
            return
        filled = filled[:1]
    if _is_of_changes(filled):
        state.excluded, state.excluded_number = row.quote, None
        state.forget()
        return
    header = Header.of(row, cells)
    if header is not None:
        if state.excluded is not None and row.ruled and "not_rating" not in meanings(row.quote):
            state.excluded = None
        state.header = header
        state.forget()
    elif len(filled) == 1:
        _one_cell(row, cells, filled[0], state)
    else:
        _many_cells(row, cells, state)


def _is_of_changes(filled: Sequence[Cell]) -> bool:
    """Whether a row heads a table of revisions, whose figures held once."""
    said = [meanings(cell.text) for cell in filled]
    return len(filled) > 1 and sum("h_revision" in each for each in said) >= 2


def _heading(row: Row, cell: Cell, state: _State) -> bool:
    """Take a line as the heading of a section of tests or ratings, if it is one; returns whether it was."""
    text, number = cell.text, section_number(row.quote)
    outside = state.excluded is None or number is None or _leaves(number, state.excluded_number)
    if figure_quantities(text):
        if number and outside and "not_rating" not in meanings(label_and_value(text)[0]):
            state.excluded = None
        elif state.excluded is not None and number is None and _is_back(cell, text, state):
            state.excluded = None
        return False
    if not re.search(r"[^\W\d_]", text) or (not row.ruled and cell.left > state.margin + 150):
        return False
    if _begins_tests(text, state) and not (number is None and len(text) > _LONGEST_HEADING):
        if outside:
            state.excluded, state.excluded_number, state.excluded_left = text, number, cell.left
        state.forget()
        return True
    ends = "ratings" in meanings(text) if number is None else outside
    if state.excluded is not None and ends and len(text) <= _LONGEST_HEADING:
        state.excluded = None
        state.forget()
    return False


def _is_back(cell: Cell, text: str, state: _State) -> bool:
    """Whether a line stands as far left as the heading of a section of tests whose lines were indented."""
    told = state.seen[-1] if state.seen else None
    label = label_and_value(text)[0]
    indented = told is not None and told.rank is Rank.EXCLUDED and state.open and state.open[-1].left > cell.left
    return bool(indented) and "not_rating" not in meanings(label) and cell.left <= state.excluded_left


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


def _one_cell(row: Row, cells: Sequence[Cell], cell: Cell, state: _State) -> None:
    text = without_item_number(cell.text)
    if is_prose(text):
        _sentences(row, text, state)
        state.forget()
        return
    if _in_brackets(text) and figure_places(text) and text.count("(") == 1:
        text = text[1:-1].strip()
    if _goes_to_last(row, text, cell, state):
        return
    label, value = label_and_value(text)
    if label and not value and not figure_quantities(text) and not cell.carried and not is_duration(label):
        _label_alone(row, label, cell, state)
        return
    _bind(row, [replace(cell, text=text)], not cells[0].text, state)


def _goes_to_last(row: Row, text: str, cell: Cell, state: _State) -> bool:
    """Take a line that only says how, below a value, as a note of that value; returns whether it did."""
    told = state.seen[-1] if state.seen else None
    last = state.open[-1] if state.open else None
    if told is None or last is None or last.value is None or not told.value or cell.left < last.left - _SAME_PLACE:
        return False
    found = quantities(masked(text, temperatures(text)))
    if meanings(text) & (NOUNS | QUALIFIERS - {"ac", "dc"}) or told.quote != state.previous:
        return False
    if any(each.dimension in FIGURE_DIMENSIONS for each in found):
        return False
    heat = [each for each in temperatures(text) if not each.twin]
    banded = any(not each.single for each in temperatures(f"{told.value} ; {told.note}"))
    if not (heat or found) or (heat and (banded or _about_heat(told.label) or not _holds_current(told))):
        return False
    state.seen[-1] = replace(
        told, note=f"{told.note} ; {text}".strip(" ;"), quote=f"{told.quote}  {row.quote}"
    )
    state.joined = state.seen[-1].quote
    return True


def _holds_current(told: Statement) -> bool:
    return bool({"current", "rate", "charge"} & set(figure_quantities(told.value)))


def _sentences(row: Row, text: str, state: _State) -> None:
    subject = ""
    end = 0
    for words in sentences(text):
        begin = max(text.find(words, end), end)
        if ";" not in text[end:begin]:
            subject = ""
        end = begin + len(words)
        lead, value = label_and_value(words)
        if "not_rating" in meanings(lead[:60]):
            continue
        names = NOUNS & meanings(words)
        state.add(row, "" if names else subject, words, rank=Rank.PROSE)
        # "The typical capacity is 5 Ah; a minimum of 4.9 Ah is guaranteed."
        named = [word for word in words.split() if NOUNS & meanings(word)]
        subject = named[-1] if named else subject


def _label_alone(row: Row, label: str, cell: Cell, state: _State) -> None:
    said = meanings(label)
    last = state.open[-1] if state.open else None
    narrows = bool(said & QUALIFIERS) and not NOUNS & said and len(label) < 40
    if last and narrows and last.value is None and NOUNS & meanings(last.label) and cell.left >= last.left:
        # A sub-item on a line of its own narrows the label above: "Internal resistance", then "Max".
        last.label = f"{last.label} {label}"
    elif last and said & {"ac", "dc"} and not NOUNS & said and state.seen and last.value is not None:
        told = state.seen[-1]
        state.seen[-1] = replace(told, note=f"{told.note} {label}".strip())
    elif NOUNS & said or narrows:
        _adopt(label, state)
        state.context = label if _is_context(said, label) else ""
        state.open.append(_Open(label, cell.left, line=state.line))
        state.band = ""
        state.add(row, label, "")
    elif temperatures(label):
        state.band = label if is_band_only(label) else ""
    else:
        state.context = ""
        state.forget()


def _adopt(label: str, state: _State) -> None:
    """Give a value that stands above its label, in the middle of merged lines, that label."""
    told = state.seen[-1] if state.seen else None
    if told is None or NOUNS & meanings(told.label) or not meanings(told.label) & QUALIFIERS or told.carried:
        return
    if told.value and goes_with(label, told.label, figure_quantities(told.value)):
        state.seen[-1] = replace(
            told, label=f"{label} {told.label}", doubt="its label stands on the line below", carried=True
        )


def _is_context(said: frozenset[str], label: str) -> bool:
    """Whether a heading says of the lines under it that they are of charging or of discharging."""
    if NOUNS & said or said & {"standard", "maximum"} or re.search(r"\d", label):
        return False
    return len(said & {"charge", "discharge"}) == 1 and len(label) < 40


def _many_cells(row: Row, cells: list[Cell], state: _State) -> None:
    if _by_header(row, cells, state):
        return
    if state.header is not None and row.ruled:
        cells = state.header.notes_last(cells)
    kept = []
    for cell in cells:
        if cell.text and is_prose(cell.text) and not (kept and any(k.text for k in kept)):
            _sentences(row, cell.text, state)
        else:
            kept.append(cell)
    filled = [cell for cell in kept if cell.text]
    if not filled:
        return
    filled[0] = replace(filled[0], text=without_item_number(filled[0].text) or filled[0].text)
    _bind(row, filled, not kept[0].text or not cells[0].text, state)


def _by_header(row: Row, cells: list[Cell], state: _State) -> bool:
    """Read a row by the header of its table, if that parts the values; returns whether it did."""
    last = state.open[-1].label if state.open else ""
    read = state.header.read(row, cells, last) if state.header is not None else None
    if read is None:
        return False
    state.open.append(_Open(read.label, cells[0].left, (0.0, 0.0), line=state.line))
    for each in read.values:
        note = " ; ".join(filter(None, (each.head, read.note)))
        state.add(row, f"{read.label} {each.label}".strip(), each.text, note, extra=each.kind)
    return True


def _bind(row: Row, filled: list[Cell], lead_empty: bool, state: _State) -> None:
    """Read cells as pairs, each under its own label or under one that holds on."""
    group = filled[0].text if filled[0].carried and not figure_places(filled[0].text) else ""
    for number, pair in enumerate(pairs(filled)):
        label, value, note = pair.words
        if number == 0 and pair.label:
            _take_half_label(pair, state)
            label = pair.words[0]
        parent = _parent(pair, label, value, row, state, lead_empty=lead_empty and number == 0)
        whole = _joined(parent, label, state) if not group else label
        if not value and not label:
            continue
        if is_band_only(value) and not label and not _about_heat(whole) and not note:
            state.band = value
            continue
        if NOUNS & meanings(label):
            state.band = ""
        carried = bool(parent)
        listed = _listed(whole, value)
        if len(listed) > 1:
            for own, each in listed:
                state.add(row, own, each, note, carried=carried)
        elif whole or value:
            doubt = state.doubt or ("several values stand side by side" if pair.several else None)
            state.add(row, whole, f"{state.band} {value}".strip(), note, carried=carried, doubt=doubt)
        state.band = ""
        _keep_open(pair, label, parent, state, lead_empty=lead_empty)


def _about_heat(label: str) -> bool:
    return bool(meanings(label) & {"operating", "storage", "temperature"})


_LISTS = (
    frozenset({"nominal", "minimum", "typical", "rated", "maximum"}), frozenset({"standard", "maximum", "fast"}),
    frozenset({"ac", "dc"}), frozenset({"continuous", "pulse"}),
)  # fmt: skip


def _listed(label: str, value: str) -> list[tuple[str, str]]:
    """Part "Capacity nom. / min." with "2500 / 2450 mAh" into one label and value for each."""
    parts = [part for part in re.split(r"\s?/\s?", label)]
    if len(parts) < 2:
        return []
    tails = [meanings(parts[0].split()[-1] if parts[0].split() else ""), *map(meanings, parts[1:])]
    found = quantities(masked(value, temperatures(value)))
    if len(found) != len(parts) or not any(all(said & group for said in tails) for group in _LISTS):
        return []
    if len({each.dimension for each in found}) != 1 or not found[0].dimension:
        return []
    stem = " ".join(parts[0].split()[:-1])
    own = [parts[0], *(f"{stem} {part}" for part in parts[1:])]
    ends = [*(each.start for each in found[1:]), len(value)]
    shown = [value[each.start : end].strip(" /,;") for each, end in zip(found, ends, strict=True)]
    unit = next((quantity.unit for quantity in found if re.search(r"[^\W\d_]", quantity.printed)), "")
    return [
        (name, text if re.search(r"[^\W\d_]", text) else f"{text} {_spelled(found[-1].printed)}")
        for name, text in zip(own, shown, strict=True)
        if unit
    ]


def _spelled(printed: str) -> str:
    return re.sub(r"^[\d.,\s±+-]+", "", printed)


def _take_half_label(pair: Pair, state: _State) -> None:
    """Put before a label the line above that is its first half: "Maximum continuous", "charge current"."""
    last = state.open[-1] if state.open else None
    if last is None or re.search(r"\d", last.label) or abs(last.left - pair.left) > 3 * _SAME_PLACE:
        return
    if last.value is not None or last.given or not NOUNS & meanings(pair.words[0]):
        return
    said = meanings(last.label)
    whole = said | meanings(pair.words[0])
    if re.search(r"time|zeit|temps|tiempo|时间|시간", last.label, re.I) or {"charge", "discharge"} <= whole:
        return
    if not NOUNS & said and said & _HALVES and len(last.label) < 40 and not said & meanings(pair.words[0]):
        pair.label.insert(0, last.label)
        pair.stub = f"{last.label} {pair.stub}".strip()
        last.given = True


def _in_brackets(label: str) -> bool:
    return label.startswith("(") and label.endswith(")")


def _parent(pair: Pair, label: str, value: str, row: Row, state: _State, *, lead_empty: bool) -> _Open | None:
    """Return the label that a pair without a whole one of its own stands under, or ``None``."""
    said = meanings(label)
    dims = figure_quantities(value)
    if not state.open:
        return None
    if said == {"current"} and _is_second_half(state.open[-1], dims):
        return state.open[-1]
    if NOUNS & said and not _in_brackets(label):
        return _group(state.open[-1], said) if lead_empty else None
    if label and not said & QUALIFIERS and not _in_brackets(label) and not is_duration(label) and not is_band_only(label):
        # A label in unknown words is a label all the same.
        return None
    band_label = is_band_only(label) or is_duration(label) or _in_brackets(label)
    for each in _nearest(pair, row, state, lead_empty=lead_empty):
        for held in (each, _without_modes(each)):
            if goes_with(held.label, "" if band_label else label, dims):
                return held
    return None


def _without_modes(each: _Open) -> _Open:
    """Return a label without the mode that it ends with: "Operating temperature, charge" goes on with discharge."""
    words = each.label.split()
    while len(words) > 1 and meanings(words[-1]) & {"charge", "discharge"} and not NOUNS & meanings(words[-1]):
        words.pop()
    return replace(each, label=" ".join(words).rstrip(" ,:;/("))


def _is_second_half(last: _Open, dims: Sequence[str]) -> bool:
    """Whether "current" alone is the second line of a label such as "Max. continuous discharge"."""
    said = meanings(last.label)
    return not NOUNS & said and bool(said & {"charge", "discharge", "pulse"}) and goes_with(last.label, "", dims)


def _group(last: _Open, said: frozenset[str]) -> _Open | None:
    """Return the group that a sub-item with a name of its own belongs to, where that says more."""
    held = meanings(last.group)
    if not last.group or NOUNS & held & said or held & {"charge", "discharge"} & said:
        return None
    return _Open(last.group, last.left, last.value, last.group)


def _nearest(pair: Pair, row: Row, state: _State, *, lead_empty: bool) -> Iterable[_Open]:
    """Yield the labels that hold on, the most likely one first: by place, then the last one."""
    last = state.open[-1]
    if last.value is None or row.ruled or lead_empty:
        yield last
    if not row.ruled:
        yield from (
            each for each in reversed(state.open)
            if each.value and each.line == last.line and _stands_under(pair, each.value)
        )  # fmt: skip
    if len(row.filled) == 1 and (pair.left >= last.left - _SAME_PLACE or row.ruled):
        yield last


def _stands_under(pair: Pair, value: tuple[float, float]) -> bool:
    """Whether a pair, or its value where its label is only a sub-item, stands below another value."""
    left, right = (pair.left, pair.right) if pair.value_left is None else (pair.value_left, pair.value_right)
    return left <= value[1] and right >= value[0]


def _joined(parent: _Open | None, label: str, state: _State) -> str:
    if parent is not None:
        return f"{parent.label} {label}".strip()
    said = meanings(label)
    if state.context and said and not said & {"charge", "discharge", "capacity", "storage", "operating"}:
        held = meanings(state.context)
        if said & {"voltage", "current", "temperature", "maximum", "standard"} and not said & {"nominal", "rated"}:
            return f"{state.context} {label}" if held else label
    return label


def _keep_open(pair: Pair, label: str, parent: _Open | None, state: _State, *, lead_empty: bool) -> None:
    value = None if pair.value_left is None else (pair.value_left, pair.value_right)
    if parent is not None:
        if parent.value is None and value is not None:
            state.open = [each for each in state.open if each is not parent]
        state.open.append(_Open(parent.label, parent.left, value or parent.value, parent.group, state.line))
    elif label:
        parts = [part for part in pair.label if part]
        group = parts[0] if len(parts) > 1 else ""
        if lead_empty and state.open and not group:
            group = state.open[-1].group
        state.open.append(_Open(pair.stub or label, pair.left, value, group, state.line))
    del state.open[:-12]


def _in_order(rows: Sequence[Row]) -> list[Row]:
    """Return rows; labels that stand one a line and their values that follow one a line become pairs.

    They are paired only where both runs are of one length and each value is of the kind of its label.
    """
    made: list[Row] = []
    at = 0
    rows = [row for row in rows if not re.fullmatch(r"\s*\d?\s*", " ".join(c.text for c in row.filled))]
    while at < len(rows):
        labels = _run(rows, at, values=False)
        skipped = at + labels
        if labels >= 3 and skipped < len(rows) and _is_filler(rows[skipped]):
            skipped += 1
        count = _run(rows, skipped, values=True) if labels >= 3 else 0
        start = at + labels - count
        if count >= 3 and start >= at and _all_fit(rows[start : start + count], rows[skipped:], count):
            made += rows[at:start]
            made += [
                replace(value, cells=(replace(label.filled[0], column=0), replace(value.filled[0], column=1)),
                        quote=f"{label.quote}  {value.quote}", ruled=True)
                for label, value in zip(rows[start : start + count], rows[skipped : skipped + count], strict=True)
            ]  # fmt: skip
            at = skipped + count
        else:
            made.append(rows[at])
            at += 1
    return made


def _run(rows: Sequence[Row], at: int, *, values: bool) -> int:
    """Return how many rows from here on hold one cell each: a label without a value, or a value."""
    count = 0
    for row in rows[at : at + 60]:
        filled = row.filled
        if len(filled) != 1:
            break
        text = without_item_number(normal(filled[0].text))
        label, value = label_and_value(text)
        is_value = bool(figure_quantities(text)) and not NOUNS & meanings(label.partition("(")[0])
        is_value = is_value or bool(_dimensions_of(text) and not NOUNS & meanings(label))
        alone = bool(NOUNS & meanings(text) or meanings(text) & QUALIFIERS) and not figure_quantities(text)
        if not (is_value or _is_named(text)) if values else not alone:
            break
        count += 1
    return count


def _is_named(text: str) -> bool:
    """Whether a value names its own parts, as "Height 65 mm max, Diameter 18 mm" and "Charge 0 to 45" do."""
    return bool(figure_quantities(text)) and not meanings(text) & {"voltage", "current", "capacity"}


def _is_filler(row: Row) -> bool:
    return len(row.filled) == 1 and not re.search(r"\d", row.quote) and bool(
        meanings(row.quote) & {"h_value", "h_note", "h_unit", "ratings"}
    )  # fmt: skip


def _dimensions_of(text: str) -> set[str]:
    return set(figure_quantities(text))


def _all_fit(labels: Sequence[Row], values: Sequence[Row], count: int) -> bool:
    return all(
        fitting_dimensions(normal(label.quote)) & _dimensions_of(normal(value.quote))
        for label, value in zip(labels, values[:count], strict=True)
    )
