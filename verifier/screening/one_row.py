"""One row of a table as case files, to be judged as any other: a case for every pack that the listing offers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from registry.cells import Cells
from verifier.errors import UnreadableInput
from verifier.screening import columns as table
from verifier.screening.headings import ColumnMap, Given
from verifier.screening.rows import Rows
from verifier.screening.tables import Source, open_listings


@dataclass(frozen=True, slots=True)
class RowCases:
    """The text of a case file for each pack, and what of the row could not be read."""

    drafts: tuple[str, ...]
    not_read: tuple[str, ...]


def row_cases(source: Source, number: int, cells: Cells | None = None) -> RowCases:
    """Return one row as case files.

    Parameters
    ----------
    source : Source
        The table.
    number : int
        Of the row, from 1.
    cells : Cells, optional
        The registry: its cells are found wherever a text names one of them.

    Raises
    ------
    UnreadableInput
        When there is no such row, or it cannot be read.
    """
    place = f"{source.name} row {number}"
    columns, rows = _one(source if cells is None else replace(source, cells=cells), number)
    given = columns.given(rows)
    if rows.faults[0] is not None:
        raise UnreadableInput(place, rows.faults[0])
    return _cases(place, given, cells)


def _one(source: Source, number: int) -> tuple[ColumnMap, Rows]:
    with open_listings(source) as listings:
        last = 0
        for chunk in listings.chunks():
            last = chunk.first_row + chunk.rows - 1
            if number <= last:
                read = listings.read(chunk.raw)
                at = number - chunk.first_row
                columns = {name: [values[at]] for name, values in read.columns.items()}
                return listings.as_told(source.columns), Rows(columns, [read.faults[at]])
    raise UnreadableInput("--row", f"there is no row {number}", f"the table has {last} rows, counted from 1")


def _cases(place: str, given: Given, cells: Cells | None) -> RowCases:
    from verifier.screening.listings import expand, states_in_words
    from verifier.screening.row_answers import notes_of

    columns: Any = given.fields
    count = 1
    if states_in_words(columns):
        columns = expand(columns, cells).columns
        fault = columns[table.FAULT][0]
        if fault is not None:
            raise UnreadableInput(place, fault)
        count = len(columns[table.FAULT])
    columns = table.with_counts(columns)
    stated = [table.ColumnReader(name).read(raw) for name, raw in columns.items() if name in table.fields()]
    drafts = [
        _draft(given.title[0] or place, place, pack, count, table.stated(stated, pack))
        for pack in range(count)
    ]
    notes = dict.fromkeys(each for each in notes_of(stated, count, columns.get(table.NOTE)) if each)
    return RowCases(tuple(drafts), tuple(notes))


def _draft(title: str, place: str, pack: int, count: int, data: dict[str, Any]) -> str:
    import json

    import yaml

    # Numbers remember how they were written, and lists are tuples; a file holds neither.
    data = json.loads(json.dumps(data))
    about = {"title": title + (f" (pack {pack + 1} of {count})" if count > 1 else "")}
    text = yaml.safe_dump({"case": about, **data}, sort_keys=False, allow_unicode=True, width=100)
    return f"# From {' '.join(place.split())}; what the seller claims there.\n{text}"
