"""Tables with the models side by side as columns: each model gets the table without the columns of the others.

A head that names models is undone before anything else is read of its table, so what follows reads a table
of one model like any other. Heads may be merged over several columns, a line of a page or a text may stand
for a row, and one column may hold the values of several models with a stroke between.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from registry.sheet_reader.lines import (
    LEVELS,
    NOUNS,
    QUALIFIERS,
    figure_quantities,
    fitting_dimensions,
    is_band_only,
    is_caption,
    label_and_value,
)  # fmt: skip
from registry.sheet_reader.names import clean_name, codes, looks_like_a_model
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.tables import same_table
from registry.sheet_reader.temperatures import temperatures
from registry.sheet_reader.units_at_values import unit_of
from registry.sheet_reader.vocabulary import meanings

_FEWEST_ROWS = 2
"""So many rows with values of several models make a table of models."""
_MOST_HEADS = 3
_FARTHEST = 10
"""So many rows below a head are looked at for values."""
_LONGEST_HEADING = 80
_TITLE_LINES = 6
_BY_ORDER = "which model it is of was told by the order of the values in their line alone"
_SAME_PLACE = 2.5
"""Two lines begin at one place within this. [pt, or letters]."""
_ONCE = "it is printed once in the middle of several models, and may be of one of them alone"
_HEADS = frozenset({"h_unit", "h_note", "h_value", "h_item"})
_TELLING = NOUNS | QUALIFIERS
_STROKES = ("/", "|", ",", ";", "、", "&")
_NUMBER = re.compile(r"[≤≥<>±~Φ+\-−–]?\s?\d")
_NO_VALUE = re.compile(r"\W*|n/?a\.?|tbd", re.I)


@dataclass(frozen=True, slots=True)
class _Table:
    """A table of models within the rows of a document: ``start``..``end``, with the heads up to ``first``."""

    start: int
    first: int
    end: int
    head: Row
    """Its heads as one row; without what names the models."""
    rows: tuple[Row, ...]
    """The rows behind the heads, as those of a ruled table."""
    columns: dict[str, frozenset[int]]
    """The places of the cells that are of each model."""
    parts: dict[str, int]
    """Which part of a cell is of each model, where one column holds several."""
    by_order: bool = False
    """Whether the values were told apart by their order in the line alone."""


def models_by_column(document: Document) -> list[tuple[str, Document]] | str | None:
    """Return each model of tables with a column a model, with its rows; ``None`` where there is no such table.

    What stands outside of these tables is of every model, but below a heading that names one of them alone.
    A text instead says why the columns cannot be told apart.
    """
    tables = _tables(document.rows)
    if not tables and (listed := _tables(rows := _with_lists_apart(document.rows))):
        document, tables = replace(document, rows=tuple(rows)), listed
    if isinstance(tables, str):
        return tables
    full = _with_full_names(document.rows, tables)
    if full is not None:
        document = replace(document, rows=full)
        tables = _tables(document.rows)
        if isinstance(tables, str):
            return tables
    names = list(dict.fromkeys(name for table in tables for name in table.columns))
    if not names:
        return None
    unsure = document.unsure or (_BY_ORDER if any(table.by_order for table in tables) else "")
    return [
        (name, replace(document, rows=tuple(_rows_of(document.rows, tables, name, names)), unsure=unsure))
        for name in names
    ]


def _tables(rows: Sequence[Row]) -> list[_Table] | str:
    """Return the tables of models among rows, or why one of them cannot be read."""
    tables: list[_Table] = []
    at = 0
    while at < len(rows):
        table = _table(rows, at)
        if isinstance(table, str):
            return table
        if table is not None:
            tables.append(table)
        at = at + 1 if table is None else table.end
    return tables


def _with_full_names(rows: Sequence[Row], tables: Sequence[_Table]) -> tuple[Row, ...] | None:
    """Return rows whose heads call the models by the end of their names with the whole names, or ``None``.

    "45P | 50E" heads the columns of ABC-21700-45P and ABC-21700-50E, which another table or the title names.
    """
    known = dict.fromkeys(name for table in tables for name in table.columns)
    titled = [dict.fromkeys(codes(row.quote)) for row in rows[:_TITLE_LINES]]
    known |= next((each for each in titled if len(each) > 1), {}) if not known else {}
    short = _short_names([*known])
    if not short:
        return None
    inside = {at for table in tables for at in range(table.start, table.end)}
    made = [row if at in inside else _with_whole_names(row, short) for at, row in enumerate(rows)]
    return tuple(made) if made != [*rows] else None


def _short_names(names: Sequence[str]) -> dict[str, str]:
    """Return the ends of names that are of one of them alone, each with its whole name."""
    ends: dict[str, set[str]] = {}
    for name in names:
        for found in re.finditer(r"[-_/ ]", name):
            ends.setdefault(name[found.end() :], set()).add(name)
    return {end: of.copy().pop() for end, of in ends.items() if len(of) == 1 and len(end) > 1}


def _with_whole_names(row: Row, short: dict[str, str]) -> Row:
    named = [cell for cell in row.filled if cell.text in short]
    if len({short[cell.text] for cell in named}) < 2 or not all(_may_head(cell.text) for cell in row.filled):
        return row
    cells = (replace(cell, text=short.get(cell.text, cell.text)) for cell in row.cells)
    return replace(row, cells=tuple(cells))


def _table(rows: Sequence[Row], at: int) -> _Table | str | None:
    """Return the table whose head names models at a place, if one does, or why it cannot be read."""
    named = _named(rows[at])
    if not named:
        return None
    if len(named) == 1 and len(next(iter(named.values()))) > 1:
        return _shared_column(rows, at, *named.items())
    if any(len(each) > 1 for each in named.values()) or len({*named.values()}) < 2:
        return None
    return _ruled(rows, at, named) if rows[at].ruled else _placed(rows, at, named)


def _named(row: Row) -> dict[int, tuple[str, ...]]:
    """Return the models that cells of a row name, by their places; empty where it heads no columns of models."""
    filled = [cell for cell in row.filled if not cell.carried]
    if len(filled) < 2:
        return {}
    first = meanings(filled[0].text)
    titled = not re.search(r"\d", filled[0].text) and bool(first & {"model", "h_item"})
    named: dict[int, tuple[str, ...]] = {}
    for at, cell in enumerate(row.cells):
        if not cell.text or (titled and cell is filled[0]):
            continue
        names = _models_in(cell.text, titled=titled)
        before = row.cells[at - 1] if at else None
        if cell.carried and before is not None and before.text == cell.text and at - 1 in named:
            named[at] = named[at - 1]
        elif names and not cell.carried:
            named[at] = names
        elif not _may_head(cell.text):
            return {}
    return named


def _may_head(text: str) -> bool:
    """Whether a text beside names of models may head a column, and holds no value."""
    plain = normal(text)
    return len(text) < _LONGEST_HEADING and not figure_quantities(plain) and not _NUMBER.fullmatch(plain)


def _models_in(text: str, *, titled: bool) -> tuple[str, ...]:
    """Return the models that a head names, beside words that say which of its values a column holds."""
    found = tuple(dict.fromkeys(codes(text)))
    rest = text
    for code in found:
        rest = rest.replace(code, " ")
    words = re.findall(r"[^\W\d_]{2,}", re.sub(r"\([^()]*\)", " ", rest))
    if found and all(meanings(word) for word in words) and not figure_quantities(normal(rest)):
        return (
            found if len(found) == 1 or re.search(r"[/|,;、&]|\s[+]\s|\b(?:and|und|et|y|e)\b", rest) else ()
        )
    if titled and not found and looks_like_a_model(text) and not NOUNS & meanings(text):
        return (_without_level(clean_name(text) or text),)
    return ()


def _without_level(name: str) -> str:
    words = name.split()
    while len(words) > 1 and meanings(words[-1]) & (LEVELS | {"charge", "discharge"}):
        words.pop()
    return " ".join(words)


def _ruled(rows: Sequence[Row], at: int, named: dict[int, tuple[str, ...]]) -> _Table | None:
    """Return the table of a ruled head, whose columns are those of all its rows."""
    first = at + 1
    while first < len(rows) and first - at < _MOST_HEADS and _is_lower_head(rows[at], rows[first], named):
        first += 1
    end = first
    while end < len(rows) and _goes_on(rows[at], rows[end]):
        end += 1
    named = _spread(rows[at:first], named)
    over = [
        _spread_over(row, named) for row in rows[max(0, at - 1) : at] if _says_modes(row, rows[at], named)
    ]
    columns = _columns(named)
    if _rows_with_values(rows[first : min(end, first + _FARTHEST)], columns) < _FEWEST_ROWS:
        return None
    start = at
    while start and _is_over(rows[start - 1], rows[at]):
        start -= 1
    start -= start == at and bool(over)
    heads = [*over, *rows[at:first]]
    head = _with_units_headed(_joined_heads(heads, named), rows[first:end])
    return _Table(start, first, end, head, tuple(rows[first:end]), columns, {})


def _goes_on(head: Row, row: Row) -> bool:
    """Whether a row is of the table of a head: not one that names models anew or heads columns of others."""
    if not same_table(head, row):
        # A table may go on over the page.
        return row.ruled and head.ruled and len(row.cells) == len(head.cells) > 2 and _is_labelled(row)
    return not _named(row) and not _heads_others(row)


def _is_labelled(row: Row) -> bool:
    filled = row.filled
    return (
        len(filled) > 2
        and bool(_TELLING & meanings(filled[0].text))
        and any(_NUMBER.match(c.text) for c in filled[1:])
    )


def _heads_others(row: Row) -> bool:
    """Whether a row heads columns of figures, modes or levels, and no longer of models."""
    filled = [cell for cell in row.cells if cell.text and not cell.carried]
    telling = _TELLING | {"h_value", "h_note"}
    return len(filled) > 2 and all(
        telling & meanings(cell.text) and not figure_quantities(normal(cell.text)) for cell in filled[1:]
    )


def _is_over(row: Row, head: Row) -> bool:
    """Whether a row above the names says what stands in their columns: "Item | Value | Value"."""
    texts = {cell.text for cell in row.filled}
    return (
        same_table(row, head) and len(texts) > 1 and all(_may_head(text) and not codes(text) for text in texts)
        and all(meanings(text) & (_HEADS | {"model"}) for text in texts)
    )  # fmt: skip


def _says_modes(row: Row, head: Row, named: dict[int, tuple[str, ...]]) -> bool:
    """Whether a row above the names says which figure their columns are of: "Charge" and "Discharge" over each."""
    if not same_table(row, head) or not all(_may_head(cell.text) for cell in row.filled):
        return False
    own = {cell.text for at, cell in enumerate(row.cells) if at in named and cell.text}
    return len(own) > 1 and all(_TELLING & meanings(text) and not codes(text) for text in own)


def _spread_over(row: Row, named: dict[int, tuple[str, ...]]) -> Row:
    """Return a row whose texts reach over the empty places at their right that lie above names."""
    cells = list(row.cells)
    for at in sorted(named):
        if not cells[at].text and at - 1 in named:
            cells[at] = replace(cells[at], text=cells[at - 1].text)
    return replace(row, cells=tuple(cells))


def _is_lower_head(head: Row, row: Row, named: dict[int, tuple[str, ...]]) -> bool:
    """Whether a row below the names says more of their columns: words in several of them and no value."""
    if not same_table(head, row):
        return False
    own = [cell for at, cell in enumerate(row.cells) if cell.text and not _still(cell, at, named)]
    under = [cell for cell in own if _TELLING & meanings(cell.text) or unit_of(cell.text)]
    return (
        len(under) > 1
        and all(_may_head(cell.text) and not _NUMBER.match(cell.text) for cell in own)
        and len({cell.text for cell in own[1:]}) < len(own)
        and (own[0] is not row.cells[0] or row.cells[0].carried)
    )


def _still(cell: Cell, at: int, named: dict[int, tuple[str, ...]]) -> bool:
    """Whether a cell only carries a head from the row above."""
    return cell.carried and at not in named


def _spread(heads: Sequence[Row], named: dict[int, tuple[str, ...]]) -> dict[int, tuple[str, ...]]:
    """Return the names by column; one with empty places at its right reaches over those with a head below."""
    if len(heads) < 2:
        return named
    made = dict(named)
    for at, (before, cell) in enumerate(pairwise(heads[0].cells), 1):
        below = any(row.cells[at].text and not row.cells[at].carried for row in heads[1:])
        if not cell.text and below and at - 1 in made and (before.text or at - 1 not in named):
            made[at] = made[at - 1]
    return made


def _columns(named: dict[int, tuple[str, ...]]) -> dict[str, frozenset[int]]:
    names = dict.fromkeys(each[0] for each in named.values())
    return {name: frozenset(at for at, each in named.items() if each[0] == name) for name in names}


def _rows_with_values(rows: Sequence[Row], columns: dict[str, frozenset[int]]) -> int:
    """Return how many rows hold a label and values of several models."""
    return sum(
        sum(
            any(_NUMBER.match(row.cells[at].text) for at in own if at < len(row.cells))
            for own in columns.values()
        )
        > 1
        and any(
            re.search(r"[^\W\d_]", cell.text) or is_band_only(normal(cell.text))
            for cell in row.cells[: min(map(min, columns.values()))]
        )
        for row in rows
    )


def _joined_heads(heads: Sequence[Row], named: dict[int, tuple[str, ...]]) -> Row:
    """Return rows of heads as one, without the names of the models."""
    cells = []
    for at, top in enumerate(heads[0].cells):
        texts: list[str] = []
        for row in heads:
            text = row.cells[at].text
            for name in named.get(at, ()):
                text = " ".join(text.replace(name, " ").split()).strip(" :,;–-")
            if text and text not in texts:
                texts.append(text)
        bare = at in named and not any(_TELLING & meanings(text) or unit_of(text) for text in texts)
        cells.append(replace(top, text="Value" if bare else " ".join(texts), carried=False))
    if not cells[0].text:
        cells[0] = replace(cells[0], text="Item")
    return replace(heads[0], cells=tuple(cells), quote="  ".join(row.quote for row in heads))


def _with_units_headed(head: Row, body: Sequence[Row]) -> Row:
    """Return heads; an empty one over a column of nothing but units says so."""
    cells = list(head.cells)
    for at, cell in enumerate(cells):
        below = [row.cells[at].text for row in body if at < len(row.cells) and row.cells[at].text]
        if at and not cell.text and len(below) >= _FEWEST_ROWS and all(map(unit_of, below)):
            cells[at] = replace(cell, text="Unit")
    return replace(head, cells=tuple(cells))


def _placed(rows: Sequence[Row], at: int, named: dict[int, tuple[str, ...]]) -> _Table | str | None:
    """Return the table of a head that is a line: its columns are where the values below it stand."""
    head = rows[at]
    end = at + 1
    while end < len(rows) and _goes_on_placed(head, rows[end]):
        end += 1
    first = next((n for n in range(at + 1, end) if _is_line_of_values(rows[n], len(named))), end)
    if first - at > _MOST_HEADS + 1:
        return None
    while end > first and not _is_line_of_values(rows[end - 1], 1):
        end -= 1
    body = rows[first:end]
    wide = [row for row in body if _is_line_of_values(row, len(named))]
    if len(wide) < _FEWEST_ROWS:
        return None
    places = _places([*wide, head, *rows[at + 1 : first]])
    heads = [_in_places(row, places) for row in rows[at:first]]
    columns = _columns_below(heads[0], {head.cells[n].text: each for n, each in named.items()}, heads[1:])
    if not columns or any(each is None for each in heads):
        return _by_order(at, first, end, rows, named)
    models = frozenset().union(*columns.values())
    made = [_placed_row(row, places, models) for row in body]
    if _rows_with_values([row for row in made if row.ruled], columns) < _FEWEST_ROWS:
        told = _by_order(at, first, end, rows, named)
        return None if isinstance(told, str) else told
    by_place: dict[int, tuple[str, ...]] = {place: (name,) for name, own in columns.items() for place in own}
    joined = _joined_heads([each for each in heads if each is not None], by_place)
    head = _with_units_headed(joined, [row for row in made if row.ruled])
    return _Table(at, first, end, head, tuple(made), columns, {})


def _by_order(
    at: int, first: int, end: int, rows: Sequence[Row], named: dict[int, tuple[str, ...]]
) -> _Table | str:
    """Return a table whose values stand below no head: a line with a value a model gives one to each in turn."""
    names = [each[0] for _, each in sorted(named.items())]
    if len({*names}) < len(names) or any(len(each) > 1 for each in named.values()):
        return _not_told(rows[at], named)
    made: list[Row] = []
    for row in rows[first:end]:
        filled = row.filled
        whole = len(filled) == len(names) + 1 and _is_line_of_values(row, len(names))
        cells = tuple(replace(cell, column=n) for n, cell in enumerate(filled))
        made.append(
            replace(row, cells=cells, ruled=True)
            if whole
            else row
            if len(filled) == 1
            else replace(row, unowned=True)
        )
    if sum(row.ruled for row in made) < _FEWEST_ROWS:
        return _not_told(rows[at], named)
    head = replace(
        rows[at], cells=(Cell("Item", 0), *(Cell("Value", n) for n in range(1, len(names) + 1))), ruled=True
    )
    columns = {name: frozenset({n}) for n, name in enumerate(names, 1)}
    return _Table(at, first, end, head, tuple(made), columns, {}, by_order=True)


def _goes_on_placed(head: Row, row: Row) -> bool:
    """Whether a line is still of the table of a head that is a line: not one that titles or heads another."""
    if row.ruled or row.page != head.page or _named(row):
        return False
    return not (is_caption(row.filled[0].text) if row.filled else False)


def _placed_row(row: Row, places: Sequence[tuple[float, float]], models: frozenset[int]) -> Row:
    """Return a line as a row of the table; one whose pieces are not of one column each is of nobody."""
    if len(row.filled) == 1:
        only = row.filled[0]
        # A further value of one model has no label on its line.
        below = _NUMBER.match(only.text) and only.left >= min(places[n][0] for n in models) - _SAME_PLACE
        return _in_places(row, places, models) or replace(row, unowned=True) if below else row
    row = _with_value_apart(row, min(places[n][0] for n in models))
    return _in_places(row, places, models) or replace(row, unowned=True)


def _with_value_apart(row: Row, left: float) -> Row:
    """Return a line whose label reaches to where the values begin with its value as a cell of its own.

    A long label may leave one blank only before the first value.
    """
    first = row.filled[0]
    label, value = label_and_value(normal(first.text))
    fits = fitting_dimensions(label) & {*figure_quantities(value)}
    if first.right < left or not fits or not _NUMBER.match(value):
        return row
    begin = first.right - (first.right - first.left) * len(value) / len(first.text)
    cells = [
        part
        for cell in row.cells
        for part in (
            (
                replace(cell, text=label, right=begin),
                replace(cell, text=value, left=begin, column=cell.column + 1),
            )
            if cell is first
            else (cell,)
        )
    ]
    return replace(row, cells=tuple(cells))


def _with_lists_apart(rows: Sequence[Row]) -> list[Row]:
    """Return rows; lines of "label: value" below one that lists models are a label and a value each.

    "Model: A / B" with "Capacity: 2500 mAh / 3500 mAh" below it is a table whose one column is of both.
    """
    made: list[Row] = []
    page: int | None = None
    listing = False
    for row in rows:
        parted = _parted_line(row)
        if parted is not None and "model" in meanings(parted.cells[0].text):
            listing, page = len(_models_in(parted.cells[1].text, titled=True)) > 1, row.page
        made.append(parted if listing and parted is not None and row.page == page else row)
    return made


def _parted_line(row: Row) -> Row | None:
    """Return a line "label: value" as two cells, or ``None`` for any other."""
    if row.ruled or len(row.filled) != 1:
        return None
    cell = row.filled[0]
    found = re.match(r"([^:：]{1,40})[:：]\s*(\S.*)", cell.text)
    if found is None:
        return None
    return replace(row, cells=(replace(cell, text=found[1].strip()), replace(cell, text=found[2], column=1)))


def _not_told(row: Row, named: dict[int, tuple[str, ...]]) -> str:
    some = ", ".join(dict.fromkeys(each[0] for each in [*named.values()][:6]))
    return (
        f"several models stand in columns ({some}) and their values cannot be told apart in the "
        f"row '{row.quote[:80]}'; give each model a file of its own"
    )


def _is_line_of_values(row: Row, count: int) -> bool:
    """Whether a line is a label with so many values behind it."""
    filled = row.filled
    values = [cell for cell in filled[1:] if _NUMBER.match(cell.text) or _NO_VALUE.fullmatch(cell.text)]
    labelled = bool(re.search(r"[^\W\d_]|°", filled[0].text)) and bool(
        not _NUMBER.match(filled[0].text) or is_band_only(normal(filled[0].text))
    )
    return labelled and len(values) >= count


def _places(rows: Sequence[Row]) -> list[tuple[float, float]]:
    """Return where the columns of lines stand: the cells of lines that have a cell a column, and what overlaps them."""
    most = max(len(row.filled) for row in rows)
    places: list[tuple[float, float]] = []
    for row in (row for row in rows if len(row.filled) == most):
        own = [(cell.left, cell.right) for cell in row.filled]
        if not places:
            places = own
        elif all(one[0] <= two[1] and two[0] <= one[1] for one, two in zip(places, own, strict=True)):
            places = [(min(a[0], b[0]), max(a[1], b[1])) for a, b in zip(places, own, strict=True)]
    return places


def _in_places(
    row: Row, places: Sequence[tuple[float, float]], models: frozenset[int] = frozenset()
) -> Row | None:
    """Return a line as a row of a table, each cell in the column that it is nearest to, or ``None``.

    What stands between the columns of two models is of both.
    """
    cells = [Cell("", at, *place) for at, place in enumerate(places)]
    doubt = row.doubt
    for cell in row.filled:
        at = min(range(len(places)), key=lambda n: _apart(cell, places[n]))
        reached = [at]
        if at in models and "of_all" in meanings(cell.text):
            reached = sorted(models)
        elif at in models and _lies_between(cell, places[at]):
            beside = at + 1 if cell.left + cell.right > sum(places[at]) else at - 1
            reached += [beside] if beside in models else []
        if _is_of_all(row, places, models, reached):
            reached, doubt = sorted(models), _ONCE
        for place in reached:
            if cells[place].text:
                return None
            cells[place] = replace(cell, column=place, carried=False)
    return replace(row, cells=tuple(cells), ruled=True, doubt=doubt)


def _is_of_all(
    row: Row, places: Sequence[tuple[float, float]], models: frozenset[int], reached: Sequence[int]
) -> bool:
    """Whether a value is the only one of its line and stands in the middle of three or more models."""
    own = sorted(models)
    if len(own) < 3 or {*reached} != {own[(len(own) - 1) // 2], own[len(own) // 2]}:
        return False
    left = min(places[at][0] for at in own)
    return sum(cell.right > left for cell in row.filled) == 1


def _lies_between(cell: Cell, place: tuple[float, float]) -> bool:
    """Whether a cell stands beside a column, or reaches out of it with its larger part and begins at no edge of it."""
    if _apart(cell, place)[0] > 0:
        return True
    middle, own = (cell.left + cell.right) / 2, sum(place) / 2
    leaves = middle > place[1] and cell.left > own
    return leaves or (middle < place[0] and cell.right < own)


def _apart(cell: Cell, place: tuple[float, float]) -> tuple[float, float]:
    """Return how far a cell lies from a place, and how far their middles are apart."""
    gap = max(place[0] - cell.right, cell.left - place[1], 0.0)
    return gap, abs(cell.left + cell.right - place[0] - place[1])


def _columns_below(
    head: Row | None, texts: dict[str, tuple[str, ...]], lower: Sequence[Row | None]
) -> dict[str, frozenset[int]]:
    """Return the columns of each model: the one below its name, and those of lower heads nearest to it."""
    if head is None:
        return {}
    at = {place: texts[cell.text] for place, cell in enumerate(head.cells) if cell.text in texts}
    under = {
        n
        for row in lower
        if row is not None
        for n, cell in enumerate(row.cells)
        if n and cell.text and not (meanings(cell.text) & {"h_unit", "h_note"})
    }
    middles = {place: (head.cells[place].left + head.cells[place].right) / 2 for place in at}
    if len(at) != len(texts):
        return {}
    own: dict[str, set[int]] = {names[0]: {place} for place, names in at.items()}
    for n in under - at.keys():
        cell = next(row.cells[n] for row in lower if row is not None and row.cells[n].text)
        nearest = min(middles, key=lambda place: abs(middles[place] - (cell.left + cell.right) / 2))
        own[at[nearest][0]].add(n)
    sizes = {len(each) for each in own.values()}
    return {name: frozenset(each) for name, each in own.items()} if len(sizes) == 1 else {}


def _shared_column(rows: Sequence[Row], at: int, column: tuple[int, tuple[str, ...]]) -> _Table | None:
    """Return the table of a head that names several models over one column: "2600 / 4500" below "A / B"."""
    place, names = column
    head = rows[at]
    if place == 0:
        return None
    end = at + 1
    while end < len(rows) and rows[end].ruled == head.ruled and (not head.ruled or _goes_on(head, rows[end])):
        if not head.ruled and (rows[end].page != head.page or _named(rows[end])):
            break
        end += 1
    made: list[Row] = []
    several = 0
    for row in rows[at + 1 : end]:
        cell = row.cells[place] if place < len(row.cells) else None
        parts = _parts_of(cell.text, len(names)) if cell is not None else []
        several += bool(parts)
        numbers = len(re.findall(r"\d+(?:[.,]\d+)?", cell.text)) if cell is not None else 0
        # Several numbers that are not one a model are of nobody that can be told.
        untold = (
            not parts and numbers > 1 and any(stroke in (cell.text if cell else "") for stroke in _STROKES)
        )
        made.append(replace(row, unowned=row.unowned or untold))
    if several < _FEWEST_ROWS:
        return None
    plain = tuple(replace(c, text="Value") if n == place else c for n, c in enumerate(head.cells))
    return _Table(
        at, at + 1, end, replace(head, cells=plain), tuple(made),
        {name: frozenset({place}) for name in names}, {name: n for n, name in enumerate(names)},
    )  # fmt: skip


def _parts_of(text: str, count: int) -> list[str]:
    """Return the parts of a cell that holds a value a model, each with its unit; empty for any other cell."""
    for stroke in _STROKES:
        spaced = re.split(rf"\s*{re.escape(stroke)}\s+|\s+{re.escape(stroke)}\s*", text)
        parts = spaced if len(spaced) == count else text.split(stroke)
        parts = [part.strip() for part in parts]
        if len(parts) == count and all(_NUMBER.match(part) for part in parts):
            unit = re.search(r"[^\W\d_°%][^\d]*$|[°%][^\d]*$", parts[-1])
            return [f"{part} {unit[0]}" if unit and re.search(r"\d$", part) else part for part in parts]
    return []


def _rows_of(rows: Sequence[Row], tables: Sequence[_Table], name: str, names: Sequence[str]) -> Iterator[Row]:
    """Yield the rows that are of one model; what stands below a heading of another one is seen and of nobody."""
    others = [other for other in names if other != name]
    of_other = False
    at = 0
    while at < len(rows):
        table = next((each for each in tables if each.start == at), None)
        if table is not None:
            if name in table.columns:
                yield from _of_one(table, name)
            of_other, at = False, table.end
            continue
        row = _without_others(rows[at], name, names)
        told = _alone(row, names)
        of_other = told != name if told else of_other
        named_elsewhere = any(other in row.quote for other in others) and name not in row.quote
        yield replace(row, unowned=True) if of_other or named_elsewhere else row
        at += 1


def _alone(row: Row, names: Sequence[str]) -> str:
    """Return the model that a heading names alone, or an empty text."""
    told = [each for each in names if each in row.quote]
    short = len({cell.text for cell in row.filled}) == 1 and len(row.quote) < _LONGEST_HEADING
    words = re.findall(r"[^\W\d_]{2,}", row.quote)
    return (
        told[0]
        if len(told) == 1 and short and len(words) < 8 and not figure_quantities(normal(row.quote))
        else ""
    )


def _of_one(table: _Table, name: str) -> Iterator[Row]:
    """Yield the rows of a table that are of one model, as a table without the other models' columns."""
    own = table.columns[name]
    left_out = frozenset().union(*table.columns.values()) - own
    names = [*table.columns]
    for row in (table.head, *table.rows):
        if not row.ruled and row is not table.head and name not in table.parts:
            yield _without_others(row, name, names)
            continue
        cells = [cell for at, cell in enumerate(row.cells) if at not in left_out]
        if name in table.parts and row is not table.head:
            cells = [
                _part(cell, table.parts[name], len(names)) if at in own else cell
                for at, cell in enumerate(row.cells)
            ]
        else:
            first = next((at for at in sorted(own)), 0)
            cells = (
                [replace(cell, carried=False) if cell is row.cells[first] else cell for cell in cells]
                if first < len(row.cells)
                else cells
            )
        cells = [replace(cell, column=at) for at, cell in enumerate(cells)] if row.ruled else cells
        quote = row.quote
        if any(temperatures(normal(row.cells[at].text)) for at in left_out if at < len(row.cells)):
            # The temperatures of another model are none that were left unread.
            quote = "  ".join(cell.text for cell in cells if cell.text)
        made = _without_others(replace(row, cells=tuple(cells), quote=quote), name, names)
        if any(cell.text for cell in made.cells):
            yield made


def _part(cell: Cell, number: int, count: int) -> Cell:
    parts = _parts_of(cell.text, count)
    return replace(cell, text=parts[number]) if parts else cell


def _without_others(row: Row, name: str, names: Sequence[str]) -> Row:
    """Return a row without what its brackets say of another model."""

    def kept(found: re.Match[str]) -> str:
        other = any(each in found[0] and each != name for each in names)
        return "" if other and name not in found[0] else found[0]

    cells = tuple(replace(cell, text=re.sub(r"\s?\([^()]*\)", kept, cell.text)) for cell in row.cells)
    return replace(row, cells=cells)
