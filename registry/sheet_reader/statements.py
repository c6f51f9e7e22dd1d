"""Rows of cells as statements: what a sheet says under which label, with its notes and its place."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from registry.sheet_reader.c_rate import says_only_what_c_is
from registry.sheet_reader.columns import Header, Valued, joined_bands
from registry.sheet_reader.footnotes import NOT_FOUND, Footnotes, bare, footnotes_of
from registry.sheet_reader.holding import SAME_PLACE, Held, Holding, above
from registry.sheet_reader.letters import WHY, with_digits
from registry.sheet_reader.lines import (
    FIGURE_DIMENSIONS,
    LEVELS,
    NOUNS,
    QUALIFIERS,
    figure_places,
    figure_quantities,
    fitting_dimensions,
    goes_with,
    in_brackets,
    is_axis,
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
from registry.sheet_reader.ordered import in_order, listed
from registry.sheet_reader.pairs import Pair, pairs
from registry.sheet_reader.quantities import normal, quantities
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.sections import Sections
from registry.sheet_reader.statement import Rank, Statement
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings

_LONGEST_SUB_ITEM = 40
_MODES = frozenset({"charge", "discharge"})
_BASES = frozenset({"ambient", "surface"})
_MAY_BE_SHARED = "the temperatures behind the list may be of each of its numbers"
_NOT_READ = "the line below it was not read"
_BY_ORDER = "several values stand above these temperatures, which may be of any of them"
SAYS_WHAT_C_IS = re.compile(r"\W*1(?:\.0)?\s?C\w{0,3}\s*(?:=|:=|is\b|refers|entspricht|表示|为)", re.I)
"""What says which capacity C is, and is no current of its own."""


@dataclass(slots=True)
class _State:
    """Where in the document a row stands, and what of the rows above it still holds."""

    notes: Footnotes
    sections: Sections
    holding: Holding = field(default_factory=Holding)
    header: Header | None = None
    title: tuple[str, int] = ("", -1)
    """The last label that stood alone on a line, and which line that was."""
    captioned: int = -1
    """The last line of a table that held one cell alone, without a figure."""
    table: str = ""
    """What a table is called by the line above its header."""
    block: int | None = None
    band: str = ""
    """Temperatures that stand before the value they belong to."""
    seen: list[Statement] = field(default_factory=list)
    marks: tuple[str, ...] = ()
    doubt: str | None = None
    previous: str = ""
    """The line above, as it is printed."""
    joined: str = ""

    def add(self, row: Row, label: str, value: str, note: str = "", **settings: object) -> None:
        """Keep a statement of a row."""
        made: dict[str, object] = {"footnotes": self.marks, "doubt": self.doubt} | settings
        if self.sections.tests:
            made["rank"] = Rank.EXCLUDED
        self.seen.append(Statement(label, value, note, row.page, row.quote, **made))  # type: ignore[arg-type]

    def header_marks(self, column: int | None) -> dict[str, Any]:
        """Return the footnotes and doubts of a row with those that the head of a column adds."""
        told, unexplained = self.header.marks_of(column) if self.header else ((), False)
        doubt = self.doubt or (NOT_FOUND if unexplained else None)
        return {"footnotes": tuple(dict.fromkeys((*self.marks, *told))), "doubt": doubt}

    def forget(self) -> None:
        """Let no later line go on with a label from before."""
        self.holding.forget()
        self.band = ""


def statements(document: Document) -> list[Statement]:
    """Return every statement of a document, those of tests, warnings and examples by their rank."""
    notes, document = footnotes_of(document)
    margin = min((row.cells[0].left for row in document.rows if not row.ruled), default=0.0)
    state = _State(notes, Sections(margin))
    for number, row in enumerate(in_order(document.rows)):
        state.holding.line = number
        if row.unowned:
            continue
        state.marks = notes.of_row(row)
        begins = row.filled[:1]
        for cells in lines_apart([bare(cell, notes, first=[cell] == begins) for cell in row.cells]):
            plain = [replace(cell, text=_plain(cell.text)) for cell in cells]
            state.doubt = WHY if any(_plain(c.text) != _plain(c.text, letters=True) for c in cells) else None
            if notes.unfollowed(row):
                state.doubt = state.doubt or NOT_FOUND
            state.doubt = row.doubt or state.doubt
            _read_row(row, without_number(plain), state)
        state.previous = state.joined or row.quote
        state.joined = ""
    return [*_named_by_range(state.seen)]


_ALLOWED = "by its range"
"""What is said of a current that is given by temperature: it is a limit, though its label does not say so."""


def _named_by_range(said: Sequence[Statement]) -> Iterator[Statement]:
    """Yield statements; a current of charging that several lines give by temperature is named a limit."""
    bands = [_band_of_current(each) for each in said]
    for at, each in enumerate(said):
        own = bands[at]
        others = [bands[place] for place in (at - 1, at + 1) if 0 <= place < len(said)]
        by_range = own is not None and any(o is not None and o[0] == own[0] and o != own for o in others)
        yield replace(each, label=f"{each.label} {_ALLOWED}") if by_range else each


def _band_of_current(each: Statement) -> tuple[str, float | None, float | None] | None:
    """Return the label and the band of a current that is called neither standard nor a limit, else ``None``."""
    heat = [one for text in (each.label, each.value) for one in temperatures(text) if not one.twin]
    label = masked(each.label, temperatures(each.label)).replace("\x00", " ").strip()
    said = meanings(label)
    plain = said & _MODES and not said & (LEVELS | {"continuous", "pulse", "by_range"})
    if not plain or len(heat) != 1 or heat[0].single or not _holds_current(each):
        return None
    return " ".join(label.split()), heat[0].low, heat[0].high


def _is_of_other_heads(row: Row, filled: Sequence[Cell], state: _State) -> bool:
    """Whether a row right below a caption holds words alone, so that another table begins with heads of its own."""
    if state.header is None or not row.ruled or state.captioned != state.holding.line - 1:
        return False
    return (
        not any(re.search(r"\d", cell.text) for cell in filled)
        and filled[0].column == state.header.cells[0].column
    )


def _plain(text: str, *, letters: bool = False) -> str:
    """Return the text of a cell in its one form; a cell of signs alone holds nothing."""
    text = normal(text if letters else with_digits(text)).strip().lstrip(":= ")
    return text if re.search(r"\w", text) else ""


def _read_row(row: Row, cells: list[Cell], state: _State) -> None:
    if row.block != state.block:
        _begin_block(row, state)
    if _holds_no_figure(row, state):
        return
    filled = [cell for cell in cells if cell.text]
    if not filled:
        return
    if len({cell.text for cell in filled}) == 1:
        filled = filled[:1]
        if state.sections.take(row, filled[0], first=state.holding.line == 0):
            state.forget()
            return
    state.sections.pass_line(filled[0].left)
    if state.sections.is_of_changes(filled):
        state.forget()
    elif len(filled) > 1 and (header := _header_of(row, cells, state)) is not None:
        if row.ruled and "not_rating" not in meanings(row.quote):
            state.sections.leave()
        title, line = state.title
        header.take_marks(state.notes)
        state.header, state.table = header, title if line == state.holding.line - 1 else ""
        state.forget()
    elif len(filled) == 1:
        _one_cell(row, cells, filled[0], state)
    else:
        _many_cells(row, cells, state)


def _header_of(row: Row, cells: Sequence[Cell], state: _State) -> Header | None:
    """Return the header that a row is; one of temperatures below columns of charge and discharge is a row of theirs."""
    header, above = Header.of(row, cells), state.header
    if header is None or header.of_roles or above is None or not row.ruled:
        return header
    modes = frozenset().union(*above.parting.values()) & _MODES
    return None if modes == _MODES and above.parts_values else header


def _holds_no_figure(row: Row, state: _State) -> bool:
    """Whether a row only says what C is, or is the axis of a chart, whose title labels no later line."""
    quote = normal(row.quote)
    if not row.ruled and is_axis(quote):
        state.forget()
        return True
    return bool(SAYS_WHAT_C_IS.match(quote)) or says_only_what_c_is(quote)


def _begin_block(row: Row, state: _State) -> None:
    # A table goes on over a page break without its header; a new one has its own.
    if state.header is None or len(state.header.row.cells) != len(row.cells) or not row.ruled:
        state.header = None
        state.forget()
    if row.aside:
        state.sections.begin_beside()
    state.block = row.block


def _one_cell(row: Row, cells: Sequence[Cell], cell: Cell, state: _State) -> None:
    state.captioned = -1 if figure_quantities(cell.text) else state.holding.line
    text = without_item_number(cell.text)
    if is_prose(text) and _is_item(row, text):
        state.doubt = state.doubt or "the words behind its value were not read"
    elif is_prose(text):
        _sentences(row, text, state)
        state.forget()
        return
    if in_brackets(text) and figure_places(text) and text.count("(") == 1:
        text = text[1:-1].strip()
    if _goes_to_last(row, text, cell, state):
        return
    label, value = label_and_value(text)
    only_time = is_duration(label) and not NOUNS & meanings(label)
    if label and not value and not figure_quantities(text) and not cell.carried and not only_time:
        _label_alone(row, label, cell, state)
        return
    _bind(row, [replace(cell, text=text)], not cells[0].text, state)


def _is_item(row: Row, text: str) -> bool:
    """Whether a numbered line is a label with its value, however many words stand behind it."""
    label, value = label_and_value(text)
    dims = figure_quantities(value)
    if "." not in (section_number(row.quote) or "") or len(sentences(label)) > 1 or "verb" in meanings(label):
        return False
    return bool(dims) and dims[0] in fitting_dimensions(label) - {"temperature"}


def _goes_to_last(row: Row, text: str, cell: Cell, state: _State) -> bool:
    """Take a line that only says how, below a value, as a note of that value; returns whether it did."""
    told = state.seen[-1] if state.seen else None
    last = state.holding.last
    if told is None or last is None or last.value is None or cell.left < last.left - SAME_PLACE:
        return False
    if not told.value or told.quote != state.previous or not _only_says_how(text, told):
        return False
    note = f"{told.note} ; {text}".strip(" ;")
    before = state.seen[-2] if len(state.seen) > 1 else None
    rival = before is not None and before.label == told.label and told.carried and not _banded(before.note)
    doubt = _BY_ORDER if rival and _banded(text) else told.doubt
    state.seen[-1] = replace(told, note=note, quote=f"{told.quote}  {row.quote}", doubt=doubt)
    state.joined = state.seen[-1].quote
    return True


def _only_says_how(text: str, told: Statement) -> bool:
    """Whether a line is a time, a method or a temperature that the statement above does not have yet."""
    found = quantities(masked(text, temperatures(text)))
    if meanings(text) & (NOUNS | QUALIFIERS - {"ac", "dc"}):
        return False
    if any(each.dimension in FIGURE_DIMENSIONS for each in found):
        return False
    heat = [each for each in temperatures(text) if not each.twin]
    if not heat:
        return bool(found)
    banded = any(not each.single for each in temperatures(f"{told.value} ; {told.note}"))
    return not banded and not _about_heat(told.label) and _holds_current(told)


def _holds_current(told: Statement) -> bool:
    return bool({"current", "rate", "charge"} & set(figure_quantities(told.value)))


def _about_heat(label: str) -> bool:
    return bool(meanings(label) & {"operating", "storage", "temperature"})


def _sentences(row: Row, text: str, state: _State) -> None:
    """Keep the sentences of a text; "a minimum of 4.9 Ah" after a semicolon has the subject before it."""
    subject = ""
    end = 0
    for words in sentences(text):
        begin = max(text.find(words, end), end)
        if ";" not in text[end:begin]:
            subject = ""
        end = begin + len(words)
        if "not_rating" in meanings(label_and_value(words)[0][:60]):
            continue
        named = [word for word in words.split() if NOUNS & meanings(word)]
        state.add(row, "" if named else subject, words, rank=Rank.PROSE)
        subject = named[-1] if named else subject


def _label_alone(row: Row, label: str, cell: Cell, state: _State) -> None:
    said, last = meanings(label), state.holding.last
    narrows = bool(said & QUALIFIERS) and not NOUNS & said and len(label) < _LONGEST_SUB_ITEM
    if last and narrows and last.value is None and NOUNS & meanings(last.label) and cell.left >= last.left:
        # A sub-item on a line of its own narrows the label above: "Internal resistance", then "Max".
        last.label = f"{last.label} {label}"
    elif last and said & {"ac", "dc"} and not NOUNS & said and state.seen and last.value is not None:
        told = state.seen[-1]
        state.seen[-1] = replace(told, note=f"{told.note} {label}".strip())
    elif NOUNS & said or narrows:
        _adopt(label, state)
        state.title = ("" if state.sections.tests else label, state.holding.line)
        state.sections.take_label(label)
        state.holding.hold(label, cell.left)
        state.holding.head = Held(label, cell.left) if NOUNS & said else None
        state.band = ""
        state.add(row, label, "")
    elif temperatures(label):
        state.band = label if is_band_only(label) else ""
    else:
        _mark_last(cell.text, state)
        state.sections.mode = ""
        state.forget()


def _mark_last(text: str, state: _State) -> None:
    """Mark the value right above a short line that begins with a number in an unknown unit and was not read.

    A capital letter behind the number begins a numbered heading.
    """
    told = state.seen[-1] if state.seen else None
    short = len(text) < _LONGEST_SUB_ITEM and re.match(r"\W*\d[\d.,]*\s?[a-zà-ÿ]", text)
    if told is not None and told.value and short and told.quote == state.previous:
        state.seen[-1] = replace(told, doubt=told.doubt or _NOT_READ)


def _adopt(label: str, state: _State) -> None:
    """Give a value that stands above its label, in the middle of merged lines, that label."""
    told = state.seen[-1] if state.seen else None
    if told is None or NOUNS & meanings(told.label) or not meanings(told.label) & QUALIFIERS or told.carried:
        return
    if told.value and goes_with(label, told.label, figure_quantities(told.value)):
        state.seen[-1] = replace(
            told, label=f"{label} {told.label}", doubt="its label stands on the line below", carried=True
        )


def _many_cells(row: Row, cells: list[Cell], state: _State) -> None:
    if _is_of_other_heads(row, [cell for cell in cells if cell.text], state):
        state.header = None
        state.forget()
        state.add(row, " ".join(cell.text for cell in cells if cell.text), "")
        return
    if _by_header(row, cells, state):
        return
    if state.header is not None and row.ruled:
        cells = state.header.notes_last(cells)
        own = state.header_marks(None)
        state.marks, state.doubt = own["footnotes"], own["doubt"]
    kept: list[Cell] = []
    for cell in cells:
        if cell.text and is_prose(cell.text) and not any(before.text for before in kept):
            _sentences(row, cell.text, state)
        else:
            kept.append(cell)
    filled = [cell for cell in kept if cell.text]
    if filled:
        filled[0] = replace(filled[0], text=without_item_number(filled[0].text) or filled[0].text)
        _bind(row, filled, not kept[0].text or not cells[0].text, state)


def _by_header(row: Row, cells: list[Cell], state: _State) -> bool:
    """Read a row by the header of its table, if that parts the values; returns whether it did."""
    last = state.holding.last
    read = None if state.header is None else state.header.read(row, cells, last.label if last else "")
    if read is None:
        return False
    state.holding.hold(read.label, cells[0].left, (0.0, 0.0))
    for each in read.values:
        label = f"{read.label} {each.label}".strip()
        if not each.kind & _MODES and _needs_title(label, each.text, state.table):
            label = f"{state.table} {label}".strip()
        if each.goes_on and _widened(row, label, each, read.note, state):
            continue
        note = " ; ".join(filter(None, (each.head, read.note)))
        rank = Rank.EXCLUDED if read.measured else Rank.TABLE
        more = state.header_marks(each.column)
        state.add(row, label, each.text, note, extra=each.kind, rank=rank, **more)
    return True


def _needs_title(label: str, value: str, title: str) -> bool:
    """Whether the title of a table says of a current what its column and row leave open: "Current", "Charge".

    A column of another level than the title's, such as "Standard", is a figure of its own.
    """
    dims, own, over = figure_quantities(value), meanings(label) & LEVELS, meanings(title) & LEVELS
    if not {"current", "rate"} & set(dims[:1]) or (own and over and own != over):
        return False
    return goes_with(title, label, dims)


def _widened(row: Row, label: str, valued: Valued, note: str, state: _State) -> bool:
    """Widen the band of a value whose merged cell reaches down to this row; returns whether it did."""
    at = next((n for n in range(len(state.seen) - 1, -1, -1) if state.seen[n].label == label), None)
    told = None if at is None else state.seen[at]
    if at is None or told is None or told.value != valued.text:
        return False
    wider = joined_bands(told.note, valued.head)
    if not wider:
        return False
    quote = f"{told.quote} ... {row.quote}"
    state.seen[at] = replace(told, note=" ; ".join(filter(None, (wider, note))), quote=quote)
    return True


def _bind(row: Row, filled: list[Cell], lead_empty: bool, state: _State) -> None:
    """Read cells as pairs, each under its own label or under one that holds on."""
    own = len(filled)
    filled = state.holding.under_head(filled)
    headed = len(filled) > own
    grouped = filled[0].carried and not figure_places(filled[0].text)
    for number, pair in enumerate(pairs(filled)):
        if number == 0 and pair.label:
            state.holding.put_half_label(pair)
        label, value, note = pair.words
        if not value and not label:
            continue
        parent = state.holding.over(pair, row, lead_empty=lead_empty and number == 0)
        if parent is not None and not grouped:
            # "Up to 1 month" and "up to 6 months" below it are two times, and no range.
            between = " ; " if is_duration(label) else " "
            whole = f"{above(parent.label, label)}{between}{label}".strip()
        else:
            whole = label if grouped else state.sections.with_mode(label)
            pair.stub = pair.stub if grouped else state.sections.with_mode(pair.stub or label)
        if number == 0 and headed and whole.startswith(filled[0].text):
            rest = whole[len(filled[0].text) :]
            whole = f"{above(filled[0].text, rest)}{rest}"
        if is_band_only(value) and not label and not _about_heat(whole) and not note:
            state.band = value
            continue
        if number == 0 and headed and state.band:
            pair.value.insert(0, state.band)
        if parent is not None and lead_empty and not note:
            _take_basis(row, pair, state)
        _add_pair(row, pair, whole, state, carried=parent is not None)
        state.holding.keep(pair, whole, parent, lead_empty=lead_empty)


def _take_basis(row: Row, pair: Pair, state: _State) -> None:
    """Let a line without a note, below one of the same item, be of the surface where the note there says so."""
    told = state.seen[-1] if state.seen else None
    if told is None or told.page != row.page or not _about_heat(told.label):
        return
    if (
        "surface" in meanings(told.note)
        and not temperatures(told.note)
        and not _BASES & meanings(pair.words[1])
    ):
        pair.notes.append(told.note)


def _add_pair(row: Row, pair: Pair, whole: str, state: _State, *, carried: bool) -> None:
    label, value, note = pair.words
    band = "" if NOUNS & meanings(label) else state.band
    state.band = ""
    several = listed(whole, value)
    shared = (
        _banded(several[-1][1]) and not any(_banded(each) for _, each in several[:-1]) if several else False
    )
    for number, (own, each) in enumerate(several, 1):
        doubt = state.doubt or (_MAY_BE_SHARED if shared and number < len(several) else None)
        state.add(row, own, each, note, carried=carried, doubt=doubt)
    if not several and (whole or value):
        doubt = state.doubt or ("several values stand side by side" if pair.several else None)
        state.add(row, whole, f"{band} {value}".strip(), note, carried=carried, doubt=doubt)


def _banded(text: str) -> bool:
    return any(not each.single for each in temperatures(text))
