"""What the registry's tables hold beside a cell's record: the same facts as columns, for SQL to select by.

The record decides. These rows are written with it, in the same transaction, and compared with it when a
registry is opened.
"""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence

from registry.bundle import cell_line
from registry.cell import CapacityKind, Cell, Sheet
from registry.cell_names import normalised_names

Row = tuple[str | int | float | None, ...]

COLUMNS: dict[str, tuple[str, ...]] = {
    "cells": ("id", "maker", "model", "form", "size", "chemistry", "markings", "retired", "record"),
    "names": ("normalised", "cell_id"),
    "sheets": (
        "cell_id", "number", "title", "revision", "date", "evidence", "file_sha256",
        "minimum_ah", "typical_ah", "nominal_ah", "rated_ah", "c_rate_base_ah",
        "nominal_voltage_v", "charge_voltage_v", "cutoff_voltage_v", "standard_charge_a",
        "ac_mohm", "dc_mohm", "mass_g", "diameter_mm", "length_mm", "width_mm", "thickness_mm",
        "cycles", "cycles_to_fraction",
        "discharge_low_c", "discharge_high_c", "charge_low_c", "charge_high_c",
    ),
    "limits": (
        "cell_id", "sheet", "kind", "number", "low_c", "high_c", "basis", "max_a", "max_c",
        "unspecified_a", "unspecified_c", "seconds",
    ),
}  # fmt: skip


def cell_row(cell: Cell, record: str | None = None) -> Row:
    """Return a cell's own row: its columns and its record, which is made where it is not at hand."""
    return (
        cell.id, cell.maker, cell.model, cell.form, cell.size, cell.chemistry,
        "\n".join(cell.markings), cell.retired, cell_line(cell) if record is None else record,
    )  # fmt: skip


def name_rows(cell: Cell) -> list[Row]:
    """Return every normalised name a cell answers to."""
    return [(name, cell.id) for name in sorted(normalised_names(cell))]


def sheet_rows(cell: Cell) -> list[Row]:
    """Return one row a sheet; where a kind of capacity is stated more than once, the smallest."""
    return [_sheet_row(cell.id, number, sheet) for number, sheet in enumerate(cell.sheets)]


def _sheet_row(cell_id: str, number: int, sheet: Sheet) -> Row:
    resistance, life = sheet.resistance, sheet.cycle_life
    discharging, charging = sheet.discharge_temperature, sheet.charge_temperature
    kinds: tuple[CapacityKind, ...] = ("minimum", "typical", "nominal", "rated")
    return (
        cell_id, number, sheet.title, sheet.revision, sheet.date, sheet.evidence, sheet.file_sha256,
        *(min(sheet.capacities(kind), default=None) for kind in kinds), sheet.c_rate_base_ah,
        sheet.nominal_voltage_v, sheet.charge_voltage_v, sheet.cutoff_voltage_v, sheet.standard_charge_a,
        resistance.ac_mohm if resistance else None, resistance.dc_mohm if resistance else None,
        sheet.mass_g, sheet.diameter_mm, sheet.length_mm, sheet.width_mm, sheet.thickness_mm,
        life.cycles if life else None, life.to_fraction if life else None,
        discharging.low_c if discharging else None, discharging.high_c if discharging else None,
        charging.low_c if charging else None, charging.high_c if charging else None,
    )  # fmt: skip


def limit_rows(cell: Cell) -> list[Row]:
    """Return one row a discharge, charge or pulse limit, in A wherever the sheet tells what 1C is."""
    rows: list[Row] = []
    for place, sheet in enumerate(cell.sheets):
        for number, band in enumerate(sheet.discharge):
            rows.append((
                cell.id, place, "discharge", number, band.low_c, band.high_c, band.basis,
                sheet.amperes(band.max_continuous_a, band.max_continuous_c), band.max_continuous_c,
                sheet.amperes(band.max_unspecified_a, band.max_unspecified_c), band.max_unspecified_c, None,
            ))  # fmt: skip
        for number, limit in enumerate(sheet.charge):
            rows.append((
                cell.id, place, "charge", number, limit.low_c, limit.high_c, limit.basis,
                sheet.amperes(limit.max_a, limit.max_c), limit.max_c, None, None, None,
            ))  # fmt: skip
        for number, pulse in enumerate(sheet.pulse):
            rows.append((
                cell.id, place, "pulse", number, pulse.low_c, pulse.high_c, None,
                sheet.amperes(pulse.current_a, pulse.current_c), pulse.current_c, None, None, pulse.seconds,
            ))  # fmt: skip
    return rows


# Each table after those its rows point to.
ROWS: dict[str, Callable[[Cell], list[Row]]] = {
    "names": name_rows,
    "sheets": sheet_rows,
    "limits": limit_rows,
}


def insert(
    connection: sqlite3.Connection, table: str, rows: Iterable[Row], columns: Sequence[str] | None = None
) -> None:
    """Add rows that have these columns of a table of this module, by default every one."""
    columns = columns or COLUMNS[table]
    marks = ", ".join("?" * len(columns))
    statement = f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})"  # noqa: S608 - names from above
    connection.executemany(statement, rows)


def index_faults(
    connection: sqlite3.Connection, cells: Mapping[str, Cell], unreadable: Collection[object] = ()
) -> Iterator[str]:
    """Yield a line for every cell of which a table holds other rows than its record asks for.

    Parameters
    ----------
    connection
        The registry.
    cells
        Its cells by id.
    unreadable
        Ids of cells whose record cannot be read, so that nobody knows which rows it asks for.
    """
    for table, rows_of in ROWS.items():
        columns = COLUMNS[table]
        key = columns.index("cell_id")
        stored: dict[object, list[Row]] = defaultdict(list)
        for row in connection.execute(f"SELECT {', '.join(columns)} FROM {table}"):  # noqa: S608 - a constant
            stored[row[key]].append(row)
        for cell_id, cell in cells.items():
            if not _same(stored.pop(cell_id, []), rows_of(cell)):
                yield f"cell {cell_id}: table {table} differs from its record"
        for orphan in stored.keys() - unreadable:
            yield f"cell {orphan}: table {table} has rows of it, and no cell has this id"


def _same(stored: list[Row], expected: list[Row]) -> bool:
    return len(stored) == len(expected) and set(stored) == set(expected)
