"""Tables in their plain form: one row of heads, each the path from its group down, and units at their values.

Nothing here looks for a figure; it only undoes how a table is set: heads in several rows, heads that reach
over several columns, units in a row or a column of their own.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from registry.sheet_reader.ends_on_rows import HIGH, LOW, joined_ends
from registry.sheet_reader.heat_rows import with_heat_named
from registry.sheet_reader.keys import labelled, spoken_label
from registry.sheet_reader.level_column import with_level_named
from registry.sheet_reader.lines import LEVELS, NOUNS, figure_quantities, fitting_dimensions, is_band_only
from registry.sheet_reader.names import codes
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.storage_rows import with_storage_named
from registry.sheet_reader.units_at_values import parted_head, unit_of, with_unit
from registry.sheet_reader.vocabulary import meanings

_FEWEST_COLUMNS = 3
_MOST_HEADS = 4
_LONGEST_HEAD = 70
_LABEL_COLUMNS = frozenset({"h_item", "h_note", "h_unit", "model"})
_VALUED = LEVELS | {"h_value", "charge", "discharge"}
"""What the head of a further column of values says."""


def plain_tables(document: Document) -> Document:
    """Return a document whose tables have one row of heads each and their units at the values."""
    document = labelled(document) if document.keyed else _with_labels_spoken(document)
    rows: list[Row] = []
    at = 0
    while at < len(document.rows):
        head, at = _joined_heads(document.rows, at)
        rows.append(head)
    rows = [_with_label_unit(_without_group(row)) for row in rows]
    rows = with_heat_named([*joined_ends(_with_ranges(rows))])
    rows = [*with_storage_named([*_with_units(_with_unit_heads(rows))])]
    rows = [*with_level_named(rows)]
    return replace(document, rows=tuple(rows))


def _with_labels_spoken(document: Document) -> Document:
    rows = (
        replace(row, cells=tuple(replace(cell, text=spoken_label(cell.text)) for cell in row.cells))
        if "_" in row.quote
        else row
        for row in document.rows
    )
    return replace(document, rows=tuple(rows))


def same_table(one: Row, other: Row) -> bool:
    """Whether two rows are of one ruled table."""
    return one.ruled and other.ruled and one.block == other.block and len(one.cells) == len(other.cells)


def _joined_heads(rows: Sequence[Row], at: int) -> tuple[Row, int]:
    """Return the row at a place, joined with the rows of heads below it, and where the next one stands."""
    head, end = rows[at], at + 1
    if not _may_be_heads(head):
        return head, end
    while end < len(rows) and end - at < _MOST_HEADS and (lower := _below(head, rows[end])) is not None:
        head, end = lower, end + 1
    if end > at + 1 and end < len(rows) and same_table(head, rows[end]) and _holds_values(rows[end]):
        return head, end
    return rows[at], at + 1


def _may_be_heads(row: Row) -> bool:
    texts = {cell.text for cell in row.filled}
    return row.ruled and len(row.cells) >= _FEWEST_COLUMNS and len(texts) > 1 and all(map(_is_head, texts))


def _is_head(text: str) -> bool:
    """Whether a text may head a column: words, a temperature band, a rate or a time, and no value."""
    plain = normal(re.sub(r"\([^()]*\)|\[[^\[\]]*\]", " ", text))
    if len(text) > _LONGEST_HEAD or not re.search(r"[^\W\d_]|[Ω°]", text):
        return False
    return is_band_only(plain) or set(figure_quantities(plain)) <= {"rate"}


def _below(head: Row, row: Row) -> Row | None:
    """Return heads joined with the row below them, where that is a further row of heads."""
    if not same_table(head, row) or not all(_is_head(cell.text) for cell in row.filled):
        return None
    over = _spread(head, row)
    units = [cell for cell in row.filled if not cell.carried]
    all_units = len(units) > 1 and all(unit_of(cell.text) for cell in units)
    groups = _groups(over, row)
    if not all_units and not groups:
        return None
    cells = []
    for above, cell in zip(over, row.cells, strict=True):
        own = "" if cell.text == above.text else cell.text
        if own and above.text and not all_units and above.text not in groups and not _narrows(own):
            return None
        shown = f"({unit_of(own)})" if own and unit_of(own) and not own.startswith(("(", "[")) else own
        # Below what all of them are called a model is named by its own name.
        whole = own if codes(own) and not meanings(own) else f"{above.text} {shown}".strip()
        cells.append(replace(above, text=whole, carried=False))
    return replace(head, cells=tuple(cells), quote=f"{head.quote}  {row.quote}")


def _narrows(own: str) -> bool:
    """Whether a lower head only says which value a column has: "max." below "Weight (g)" beside grouped heads."""
    said = meanings(own)
    return bool(said & LEVELS) or bool(fitting_dimensions(own) & {"count"})


def _spread(head: Row, row: Row) -> list[Cell]:
    """Return heads; one with empty places at its right reaches over those that have a head below."""
    made: list[Cell] = []
    for above, cell in zip(head.cells, row.cells, strict=True):
        reaches = not above.text and cell.text and made and made[-1].text
        made.append(replace(above, text=made[-1].text) if reaches else above)
    return made


def _groups(over: Sequence[Cell], row: Row) -> set[str]:
    """Return the heads that reach over several columns with heads of their own below."""
    below: dict[str, set[str]] = {}
    for above, cell in zip(over, row.cells, strict=True):
        if above.text and cell.text and cell.text != above.text:
            below.setdefault(above.text, set()).add(cell.text)
    return {text for text, own in below.items() if len(own) > 1}


def _holds_values(row: Row) -> bool:
    return any(re.search(r"\d", cell.text) and not _is_head(cell.text) for cell in row.filled)


_DEGREES = re.compile(r"[-+−–]?\s?\d+(?:[.,]\d+)?\s?(?:°\s?C|℃)")
"""One temperature and nothing else."""


def _with_ranges(rows: Sequence[Row]) -> list[Row]:
    """Return rows with the low and the high end of a temperature, a column each, as one range."""
    made: list[Row] = []
    head: Row | None = None
    ends: list[tuple[int, str]] = []
    for at, row in enumerate(rows):
        below = rows[at + 1] if at + 1 < len(rows) and same_table(row, rows[at + 1]) else None
        if head is None or not same_table(head, row) or _ends(row, below):
            ends = _ends(row, below)
            head = row if ends else None
            row = _with_heads_of_ranges(row, ends)
        else:
            row = _with_range(row, [at for at, _ in ends])
        made.append(row)
    return made


def _ends(row: Row, below: Row | None) -> list[tuple[int, str]]:
    """Return where two heads of a row are the ends of one temperature, and what that is called.

    Where the heads do not say that they are of temperatures, the degrees of the row below them do.
    """
    if not row.ruled or len(row.filled) < _FEWEST_COLUMNS or not all(_is_head(c.text) for c in row.filled):
        return []
    found = []
    for at, (low, high) in enumerate(pairwise(row.cells)):
        words, unit = parted_head(low.text)
        other, other_unit = parted_head(high.text)
        stem, other_stem = LOW.sub(" ", words).split(), HIGH.sub(" ", other).split()
        ends = len(stem) < len(words.split()) and len(other_stem) < len(other.split())
        heat = unit == other_unit == "°C" or "temperature" in meanings(low.text) & meanings(high.text)
        heat = heat or (
            below is not None and all(_DEGREES.fullmatch(c.text) for c in below.cells[at : at + 2])
        )
        if ends and heat and stem == other_stem:
            found.append((at, " ".join(stem)))
    return found


def _with_heads_of_ranges(row: Row, ends: Sequence[tuple[int, str]]) -> Row:
    cells = list(row.cells)
    for at, name in ends:
        only_heat = meanings(name) <= {"temperature", "ambient", "surface", "bare"}
        cells[at] = replace(cells[at], text="Condition" if only_heat else name)
        cells[at + 1] = replace(cells[at + 1], text="")
    return replace(row, cells=tuple(cells)) if ends else row


def _with_range(row: Row, places: Sequence[int]) -> Row:
    cells = list(row.cells)
    for at in places:
        low, high = (re.sub(r"\s?(?:°\s?C|℃)$", "", cell.text) for cell in cells[at : at + 2])
        number = r"[-+−–]?\s?\d+(?:[.,]\d+)?"
        shown = ""
        if re.fullmatch(number, low) and re.fullmatch(number, high):
            shown = f"{low} ~ {high} °C"
        elif re.fullmatch(number, low) and not high:
            shown = f"above {low} °C"
        elif re.fullmatch(number, high) and not low:
            shown = f"below {high} °C"
        if shown:
            cells[at] = replace(cells[at], text=shown)
            cells[at + 1] = replace(cells[at + 1], text="")
    return replace(row, cells=tuple(cells)) if places else row


def _with_unit_heads(rows: Sequence[Row]) -> list[Row]:
    """Return rows with the units of a table's heads at its values, where its rows name the figures.

    "Item | Voltage (V) | Current (A)" and "Parameter | Min (V) | Max (V)": what such a head says beside its
    unit is only a level or where the value holds.
    """
    made: list[Row] = []
    at = 0
    while at < len(rows):
        units, end = _unit_heads(rows[at]), at + 1
        while units and end < len(rows) and same_table(rows[at], rows[end]) and not _unit_heads(rows[end]):
            end += 1
        body = rows[at + 1 : end]
        if units and _rows_name_figures(body, units):
            signs = _signs(rows[at], body, min(units))
            made.append(_with_plain_heads(rows[at], units, signs))
            made += [_with_heads_units(row, units, signs) for row in body]
        else:
            made += rows[at:end]
        at = end
    return made


_OF_CONDITIONS = frozenset({"°C", "s"})
_OF_TIME = re.compile(r"[(\[]\s*(?:s|sec|sek|seg|秒|초)\.?\s*[)\]]\s*$")


def _unit_heads(row: Row) -> dict[int, str]:
    """Return the unit that each head of a row names, by its place; empty for any other row."""
    if (
        not row.ruled
        or len(row.filled) < _FEWEST_COLUMNS - 1
        or not all(_is_head(c.text) for c in row.filled)
    ):
        return {}
    units: dict[int, str] = {}
    for at, cell in enumerate(row.cells):
        words, unit = parted_head(cell.text)
        if _OF_TIME.search(cell.text):
            units[at] = "s"
        elif at and unit:
            of_heat = unit == "°C" or (unit == "C" and "temperature" in meanings(words))
            units[at] = "°C" if of_heat else unit
    return units


def _rows_name_figures(body: Sequence[Row], units: dict[int, str]) -> bool:
    """Whether the rows of a table hold, each under its own label, values of the kind that label is about."""
    fit = [
        bool(fitting_dimensions(normal(_label_of(row, units))) & {*figure_quantities(normal(valued))})
        for row in body
        for at, unit in units.items()
        if (valued := _at_unit(row.cells[at].text, unit)) != row.cells[at].text and unit not in _OF_CONDITIONS
    ]
    if not fit and set(units.values()) == {"s"}:
        # Beside a column of units a head may only say what its conditions are in: "Value | Unit | Time (s)".
        fit = [bool(fitting_dimensions(normal(row.cells[0].text))) for row in body]
    return len(fit) > 0 and sum(fit) > 0.6 * len(fit)


def _label_of(row: Row, units: dict[int, str]) -> str:
    return " ".join(cell.text for cell in row.cells[: min(units)])


def _at_unit(text: str, unit: str) -> str:
    """Return a number with the unit of its head; a rate is one where the head is not of temperatures."""
    if unit == "C" and re.fullmatch(r"\s*[≤<]?\s*\d+(?:[.,]\d+)?\s*", text):
        return f"{text.strip()}C"
    if unit == "°C" and re.search(r"\d", text) and not re.search(r"[°℃CF]", text):
        return f"{text} °C"
    if not re.search(r"\d", text) or figure_quantities(normal(text)) or "%" in text:
        return text
    # "47.5 max." of grams is "47.5 g max.".
    placed = re.sub(r"(\d)(?=[^\d]*$)", rf"\1 {unit}", text, count=1)
    return placed if figure_quantities(normal(placed)) or unit == "s" else text


def _signs(head: Row, body: Sequence[Row], first: int) -> set[int]:
    """Return the places of columns before the first unit that hold only signs such as "U n"."""

    def only_signs(at: int) -> bool:
        texts = [row.cells[at].text for row in body if row.cells[at].text]
        if "h_unit" in meanings(head.cells[at].text):
            return False
        return bool(texts) and all(re.fullmatch(r"[^\W\d_](?:[ _]\w{1,8})?", text) for text in texts)

    return {at for at in range(1, first) if only_signs(at)}


def _with_plain_heads(row: Row, units: dict[int, str], signs: set[int]) -> Row:
    cells = list(row.cells)
    for at, unit in units.items():
        words = parted_head(cells[at].text)[0]
        beside = unit in _OF_CONDITIONS
        levels = meanings(words) & LEVELS
        text = "Condition" if beside else words if levels and not NOUNS & meanings(words) else "Value"
        cells[at] = replace(cells[at], text=text)
    for at in signs:
        cells[at] = replace(cells[at], text="")
    if not meanings(cells[0].text) & {"h_item"}:
        cells[0] = replace(cells[0], text="Item")
    return replace(row, cells=tuple(cells))


def _with_heads_units(row: Row, units: dict[int, str], signs: set[int]) -> Row:
    cells = list(row.cells)
    for at, unit in units.items():
        cells[at] = replace(cells[at], text=_at_unit(cells[at].text, unit))
    for at in signs:
        cells[at] = replace(cells[at], text="")
    return replace(row, cells=tuple(cells))


_BARE = re.compile(
    r"\s*[≤≥<>±~]?\s*\d+(?:[.,]\d+)?\s*(?:±\s*\d+(?:[.,]\d+)?)?\s*(?:max|min|typ)?\.?\s*", re.I
)


_NUMBER = re.compile(
    r"\s*[≤≥<>±~]?\s*[-+−–]?\d+(?:[.,]\d+)?\s*(?:(?:±|~|…|\.\.\.?|-|–|to|bis|à|至)\s*[-+−–]?\d+(?:[.,]\d+)?)?\s*(?:max|min|typ)?\.?\s*",
    re.I,
)
"""A number or a range without a unit."""
_GROUPS = NOUNS | {"ratings", "whole", "h_item", "h_value"}


def _without_group(row: Row) -> Row:
    """Return a row without the name of its group, where its own label says all: "Voltages | Cut-off voltage"."""
    if len(row.filled) < _FEWEST_COLUMNS:
        return row
    group, label, value = row.filled[:3]
    said = meanings(group.text)
    own = normal(label.text)
    if not said or not said <= _GROUPS or not NOUNS & meanings(own) or figure_quantities(own):
        return row
    if re.search(r"\d", group.text) or not fitting_dimensions(own) & {*figure_quantities(normal(value.text))}:
        return row
    # The label takes its place, as a row that begins with an empty cell goes on with the one above.
    whole = replace(group, text=label.text, carried=label.carried)
    return replace(
        row, cells=tuple(whole if c is group else replace(c, text="") if c is label else c for c in row.cells)
    )


def _with_label_unit(row: Row) -> Row:
    """Return a row with the unit of its label at its numbers: "Charge current (A) | 1.25" is of 1.25 A."""
    if len(row.filled) < 2:
        return row
    beside = row.filled[1]
    if len(row.filled) > 2 and unit_of(beside.text) == "°C" and _NUMBER.fullmatch(row.filled[2].text):
        # A column of units that nothing heads: "Charge | °C | 0 to 45".
        own = unit_of(beside.text)
        cells = (
            replace(c, text="") if c is beside else replace(c, text=with_unit(c.text, own))
            if c.column > beside.column and _NUMBER.fullmatch(c.text) else c
            for c in row.cells
        )  # fmt: skip
        return replace(row, cells=tuple(cells))
    words, unit = parted_head(row.filled[0].text)
    fitting = fitting_dimensions(normal(words))
    if not unit or unit in ("°C", "C") or not fitting & set(figure_quantities(f"1.5 {unit}")):
        return row
    label = row.filled[0]
    cells = (
        replace(cell, text=with_unit(cell.text, unit))
        if cell is not label and _BARE.fullmatch(cell.text)
        else cell
        for cell in row.cells
    )
    return replace(row, cells=tuple(cells))


def _with_units(rows: Sequence[Row]) -> Iterator[Row]:
    """Yield rows with the units of a column of units put behind the values beside them."""
    head: Row | None = None
    for row in rows:
        if head is not None and same_table(head, row) and not _heads_units(row):
            yield _unit_taken(row, head)
            continue
        head = row if _heads_units(row) else None if head and not same_table(head, row) else head
        yield _without_unit_head(row) if head is row else row


def _heads_units(row: Row) -> bool:
    if not row.ruled or len(row.filled) < _FEWEST_COLUMNS or not all(map(_is_head_or_name, row.filled)):
        return False
    return any(_role(cell) == {"h_unit"} for cell in row.filled)


def _without_unit_head(row: Row) -> Row:
    """Return the heads of a table by temperature without that of its units, which go to the values."""
    if not any(is_band_only(normal(cell.text)) for cell in row.filled):
        return row
    cells = (replace(cell, text="") if _role(cell) == {"h_unit"} else cell for cell in row.cells)
    return replace(row, cells=tuple(cells))


def _is_head_or_name(cell: Cell) -> bool:
    if is_band_only(normal(cell.text)):
        return True
    return not figure_quantities(normal(cell.text)) and bool(re.search(r"[^\W\d_]", cell.text))


def _role(cell: Cell) -> frozenset[str]:
    return (
        frozenset(meanings(cell.text) & (_LABEL_COLUMNS | {"h_value"}))
        if len(cell.text) < 40
        else frozenset()
    )


def _unit_taken(row: Row, head: Row) -> Row:
    units = [cell for top, cell in zip(head.cells, row.cells, strict=True) if _role(top) == {"h_unit"}]
    unit = units[0].text.strip() if len(units) == 1 else ""
    if not unit or re.search(r"\d", unit):
        return row
    cells = list(row.cells)
    place = row.cells.index(units[0])
    valued = any(re.search(r"\d", cell.text) for cell in row.cells[1:place])
    for at, (top, cell) in enumerate(zip(head.cells, row.cells, strict=True)):
        if valued and at > place and not meanings(top.text) & _VALUED:
            # Behind a value and its unit stands how it was measured, whatever that column is called.
            continue
        if at and not (_role(top) & _LABEL_COLUMNS and not _role(top) & {"h_value"}):
            cells[at] = replace(cell, text=with_unit(cell.text, unit))
    if all(one is other for one, other in zip(cells, row.cells, strict=True)) or cells == list(row.cells):
        return row
    return replace(row, cells=tuple(replace(c, text="") if c is units[0] else c for c in cells))
