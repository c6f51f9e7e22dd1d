"""Which columns are the voltages of groups of cells: by their headings, by their sum, or in one entry together."""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import isfinite

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.headings import Meaning
from verifier.discharge_log.layout import Finder, Series

Array = npt.NDArray[np.float64]

_NUMBERED = re.compile(r"(?<!\d)\d{1,2}(?!\d)")
_GROUP_VOLTAGE = re.compile(r"\d+(?:\.\d+)?")


def find_groups(finder: Finder) -> list[Series]:
    """Return the columns of group voltages, in order of their numbers."""
    table = finder.table
    found = []
    for column in table.of("voltage", "group"):
        meaning = table.meanings[column]
        values = table.numbers(column)
        values = values[np.isfinite(values) & (values != 0)]
        if meaning is None or meaning.number is None or not len(values):
            continue
        middle = float(np.median(values)) * (meaning.unit.factor if meaning.unit else 1.0)
        factor = meaning.unit.factor if meaning.unit else 0.001 if middle > 500 else 1.0
        if 0.5 < float(np.median(values)) * factor < 5:
            found.append((meaning.number, column, factor))
    if len(found) < 2:
        found = _summed_to_the_pack(finder)
    numbers = [each for each, _, _ in found]
    if len(found) < 2 or len(set(numbers)) != len(numbers) or max(numbers) - min(numbers) + 1 != len(numbers):
        return []
    told = []
    for label, column, factor in sorted(found):
        series = finder.series(
            column,
            f"voltage of group {label - min(numbers) + 1}",
            "V" if factor == 1 else "mV",
            "heading",
            factor,
        )
        series.label = label - min(numbers) + 1
        told.append(series)
    if min(numbers) == 0:
        finder.remarks.append("groups are counted from 0 in the log and from 1 here")
    return told


def _summed_to_the_pack(finder: Finder) -> list[tuple[int, int, float]]:
    """Return columns side by side that are called alike and numbered, and together make the pack's voltage.

    Such columns are the groups, whatever they are called; each as its number, column, and factor to V.
    """
    table = finder.table
    if not table.form.has_headings:
        return _summed_without_headings(finder)
    totals = [
        table.numbers(each) * (unit.factor if (unit := (table.meanings[each] or Meaning("")).unit) else 1.0)
        for each in table.of("voltage", "", "total")
    ]
    named = [_NUMBERED.search(table.heading(each)) for each in range(table.width)]
    stems = [
        f"{table.heading(n)[: each.start()]}#{table.heading(n)[each.end() :]}" if each is not None else ""
        for n, each in enumerate(named)
    ]
    for stem in dict.fromkeys(filter(None, stems)):
        alike = [n for n in range(table.width) if stems[n] == stem and n not in finder.told]
        if len(alike) < 3 or alike[-1] - alike[0] + 1 != len(alike):
            continue
        parts = np.sum([table.numbers(n) for n in alike], axis=0)
        for factor in (1.0, 0.001):
            for total in totals:
                if _is_sum(factor * parts, total):
                    return [(int(found[0]), n, factor) for n in alike if (found := named[n]) is not None]
    return []


def _summed_without_headings(finder: Finder) -> list[tuple[int, int, float]]:
    """Return columns side by side of cell voltages that together make another column, of a table without headings."""
    table = finder.table
    middles = []
    for column in range(table.width):
        values = table.numbers(column)
        known = values[np.isfinite(values) & (values != 0)]
        usable = column not in finder.told and len(known) > 0.8 * len(values)
        middles.append(float(np.median(known)) if usable else 0.0)
    for factor in (1.0, 0.001):
        cells = [0.5 < each * factor < 5 for each in middles]
        for begin, end in _runs_of_cells(cells):
            parts = np.sum([table.numbers(n) for n in range(begin, end)], axis=0)
            for total in (n for n in range(table.width) if not begin <= n < end and middles[n]):
                if _is_sum(parts, table.numbers(total)):
                    finder.remarks.append(
                        f"columns {begin + 1} to {end} read as the groups: together they make column {total + 1}"
                    )
                    return [(n - begin + 1, n, factor) for n in range(begin, end)]
    return []


def _runs_of_cells(cells: list[bool]) -> Iterator[tuple[int, int]]:
    """Yield where runs of columns that may be cells begin and end, the longest first, with others at their ends."""
    edges = np.flatnonzero(np.diff([0, *map(int, cells), 0]))
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        cuts = [(int(begin) + first, int(end) - last) for first in range(4) for last in range(4)]
        yield from sorted((cut for cut in cuts if cut[1] - cut[0] >= 2), key=lambda cut: cut[0] - cut[1])


def _is_sum(parts: Array, total: Array) -> bool:
    """Whether a column is the sum of others in nearly all rows."""
    share = parts / np.where(total == 0, np.nan, total)
    share = share[np.isfinite(share)]
    return len(share) > 0.5 * len(parts) and bool((np.abs(share - 1) < 0.01).mean() > 0.95)


def find_group_list(finder: Finder) -> tuple[Series, int] | None:
    """Return a column whose entries hold the voltages of all groups, and their number."""
    for column in range(finder.table.width):
        if column in finder.told:
            continue
        lists = [_GROUP_VOLTAGE.findall(each) for each in finder.table.entries(column)[:200] if each]
        counts = {len(each) for each in lists}
        if len(counts) != 1 or not 3 <= (count := counts.pop()) <= 40:
            continue
        middle = float(np.median([float(each) for entry in lists for each in entry]))
        factor = 1.0 if 0.5 < middle < 5 else 0.001 if 500 < middle < 5000 else 0.0
        if factor:
            series = finder.series(
                column, f"voltages of {count} groups", "V" if factor == 1 else "mV", "values", factor
            )
            finder.remarks.append(
                f"{finder.table.name(column)} read as the voltages of {count} groups in one entry"
            )
            return series, count
    return None


def check_sum(finder: Finder, voltage: Series, groups: list[Series]) -> None:
    """Say where the groups together are not the pack's voltage."""
    total = finder.table.numbers(voltage.number) * voltage.factor
    parts = sum(
        (finder.table.numbers(each.number) * each.factor for each in groups), start=np.zeros(len(total))
    )
    share = (
        np.median((parts / np.where(total == 0, np.nan, total))[np.isfinite(parts)]) if len(total) else np.nan
    )
    if isfinite(float(share)) and abs(float(share) - 1) > 0.03:
        finder.remarks.append(
            f"the {len(groups)} groups together are {100 * float(share):.0f} % of "
            f"{finder.table.name(voltage.number)}"
        )


def names_a_cell_apart(finder: Finder) -> bool:
    """Whether a log holds the lowest or highest cell: only what measures every group knows it."""
    abouts = {each.about for each in finder.table.meanings if each is not None}
    return bool(abouts & {"lowest group", "highest group"})


def find_cells_apart(finder: Finder) -> list[Series]:
    """Return the voltage of the lowest cell and of the highest, else the mean one; nothing where one is not there."""
    table = finder.table
    found = []
    for keys in (("lowest",), ("highest", "mean")):
        columns = [
            n
            for key in keys
            for n in table.of("other")
            if (table.meanings[n] or Meaning("")).about == f"{key} group" and n not in finder.told
        ]
        if not columns:
            return []
        unit = (table.meanings[columns[0]] or Meaning("")).unit
        middle = float(np.nanmedian(table.numbers(columns[0])))
        factor = unit.factor if unit is not None else 0.001 if middle > 500 else 1.0
        if not 0.5 < middle * factor < 5:
            return []
        found.append((columns[0], "lowest cell" if "lowest" in keys else "cell beside the lowest", factor))
    return [
        finder.series(column, f"voltage of the {name}", "V" if factor == 1 else "mV", "heading", factor)
        for column, name, factor in found
    ]
