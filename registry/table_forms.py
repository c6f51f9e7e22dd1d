"""One cell as the rows of a table, to be changed place by place: the same columns and the same reading as the table."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from registry.cell import Cell
from registry.errors import InvalidRecord, ManyProblems
from registry.sheet_figures import CITED, expected_of
from registry.table import CELL_FIELDS, LISTED, parse_table, write_table

# Columns that a change leaves as they are: what names the cell, and what came from a file.
KEPT = ("id", "file_sha256", "present_without_content")
# What a sheet may state once, offered also where it does not yet; and one further band each.
_OFFERED = ("size", "date_code", "title", "revision", "date")
_OFFERED_PARTS = (
    "resistance_ac_mohm", "resistance_dc_mohm", "cycle_life_cycles", "cycle_life_to_fraction",
)  # fmt: skip
FURTHER = {
    "markings": ("",),
    "capacity": ("kind", "value_ah", "current_a", "temperature_c"),
    "discharge": ("low_c", "high_c", "basis", "max_continuous_a", "max_continuous_c"),
    "charge": ("low_c", "high_c", "basis", "max_a", "max_c"),
    "pulse": ("current_a", "seconds"),
}
"""Lists of which one further entry is offered, with its parts."""


def rows_of(cell: Cell) -> tuple[list[str], list[list[str]]]:
    """Return the columns of a cell and one row of texts a sheet, with the columns that may be filled in too."""
    header, *rows = list(csv.reader(io.StringIO(write_table([cell]), newline="")))
    places = {name: at for at, name in enumerate(header)}
    columns = list(header)
    for name, parts in FURTHER.items():
        count = 1
        while any(each == f"{name}_{count}" or each.startswith(f"{name}_{count}_") for each in header):
            count += 1
        columns += [f"{name}_{count}_{part}".rstrip("_") for part in parts]
    numbers = (name for name in expected_of(round_cell=cell.form == "cylindrical") if name in CITED)
    offered = (*_OFFERED, *numbers, *_OFFERED_PARTS)
    columns += [name for name in offered if name not in places]
    return columns, [[row[places[name]] if name in places else "" for name in columns] for row in rows]


def cell_of(columns: Sequence[str], rows: Sequence[Sequence[str]], place: str) -> Cell:
    """Return the cell that rows of texts make.

    Raises
    ------
    InvalidRecord, ManyProblems
        Naming every column whose text cannot be taken.
    """
    # A list whose places are all empty is no entry of it.
    used = [
        at for at, _ in enumerate(columns) if any(row[at].strip() for row in rows) or columns[at] in _ALWAYS
    ]
    stream = io.StringIO(newline="")
    writer = csv.writer(stream)
    writer.writerow(columns[at] for at in used)
    writer.writerows([row[at] for at in used] for row in rows)
    try:
        cells = parse_table(stream.getvalue(), place)
    except ManyProblems as several:
        if len(several.problems) == 1:
            raise several.problems[0] from several
        raise
    if len(cells) != 1:
        raise InvalidRecord(place, "is no longer one cell", "an id stays as it is")
    return cells[0]


def is_of_cell(column: str) -> bool:
    """Whether a column says something of the cell itself, the same whichever sheet its row is of."""
    return LISTED.sub("", column) in CELL_FIELDS


_ALWAYS = ("id", "maker", "model", "chemistry", "evidence")
