"""Packs in tables: a pack a row, or a pack a column."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence

from verifier.listing.found import Found
from verifier.listing.offer_finder import EDGE, LONGEST_NAME, MOST_VARIANTS, Finder, Offers
from verifier.listing.tables import Cell, Table


class InTables(Finder):
    """Finds the packs of tables."""

    def by_tables(self) -> Offers | None:
        """Find a table with a pack a row or a pack a column."""
        for table in self.tables:
            if table.shape == "packs_in_rows":
                offers = self._rows(table)
            elif table.shape == "packs_in_columns":
                offers = self._columns(table)
            else:
                continue
            if offers is not None:
                return offers
        return None

    def _cells(self, cells: Sequence[Cell]) -> list[Found]:
        places = [(cell.start, cell.end) for cell in cells]
        lines = {bisect_right([line.start for line in self.lines], start) - 1 for start, _ in places}
        return [
            each
            for number in sorted(lines)
            for each in self.by_line.get(number, [])
            if any(start <= each.start < end for start, end in places)
        ]

    def _rows(self, table: Table) -> Offers | None:
        parts = [self._cells(row) for row in table.rows[1:]]
        for row, part in zip(table.rows[1:], parts, strict=True):
            if self.is_charger(part) or (_names_charger(row) and not _has(part, "capacity_ah")):
                self.call_another(part)
        rows = [
            (row, part)
            for row, part in zip(table.rows[1:], parts, strict=True)
            if any(each.claimed for each in part)
        ]
        return self._from_parts([part for _, part in rows], [self._cell_name(row[0]) for row, _ in rows])

    def _columns(self, table: Table) -> Offers | None:
        width = max(len(row) for row in table.rows)
        parts = [
            self._cells([row[column] for row in table.rows if column < len(row)])
            for column in range(1, width)
        ]
        filled = [part for part in parts if len({each.field for each in part if each.claimed}) >= 2]
        if len(filled) < 2:
            return None
        head = table.rows[0]
        names = [
            self._cell_name(head[column]) if column < len(head) and not head[0].quantities else ""
            for column in range(1, width)
        ]
        if any(cell.quantities for cell in head[1:]) and head[0].labels:
            names = [""] * len(parts)
        chosen = [(part, name) for part, name in zip(parts, names, strict=True) if part in filled]
        return self._from_parts([part for part, _ in chosen], [name for _, name in chosen])

    def _cell_name(self, cell: Cell) -> str:
        if cell.quantities and not re.match(rf"[^\d]*[{'a-z'}]", self.lower[cell.start : cell.end].strip()):
            return ""
        return " ".join(self.text[cell.start : cell.end].strip(EDGE).split())[:LONGEST_NAME]

    def _from_parts(self, parts: list[list[Found]], names: list[str]) -> Offers | None:
        """Return offers where the parts are different packs."""
        if not 2 <= len(parts) <= MOST_VARIANTS:
            return None
        signatures = [frozenset((each.field, each.value) for each in part if each.claimed) for part in parts]
        if len(set(signatures)) != len(signatures) or not all(signatures):
            return None
        return Offers(
            names,
            [_short_key(name) for name in names],
            {each: (index,) for index, part in enumerate(parts) for each in part},
        )


def _names_charger(row: Sequence[Cell]) -> bool:
    """Return whether the first cells of a row name a charger, and no pack."""
    names = frozenset[str]().union(*(cell.names for cell in row[:2]))
    return "charger" in names and "pack" not in names


def _has(found: Sequence[Found], field: str) -> bool:
    return any(each.field == field and each.claimed for each in found)


def _short_key(name: str) -> str:
    """Return the letter or number that a name ends with or consists of, else the name."""
    match = re.fullmatch(r"(?:\D{0,14}[\s#.])?([A-Ha-h]|[1-9]|[①-⑩])", name) or re.match(
        r"([A-Ha-h]|[1-9]|[①-⑩])\s?[:：)]", name
    )
    return match[1].upper() if match else name
