"""Logs whose rows name each value, ``t=1.0 V=41.2 I=5.0`` or JSON, written out as a table.

Only the writing changes: a name becomes a heading, a value an entry.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from verifier.discharge_log.entries import kind_of
from verifier.discharge_log.headings import meaning_of
from verifier.discharge_log.table_form import TableForm, fields
from verifier.errors import UnreadableInput

# Without a bound a long word would be looked through once from each of its letters.
_PAIR = re.compile(r"([^\W\d][\w.\[\]/%°()-]{0,80})\s*[=:]\s*([-+]?\d[^\s,;|]*|[^\s,;|=:]+)")
# "[00:00:02] V=29.1" and "2026-10-05T09:15:10Z V=29.1": a stamp stands before the first name.
_STAMP = re.compile(
    r"\s*(?:[\[(<]\s*(\d[\d\s./:,TZ+-]*?)\s*[\])>][\s:,;|]*|(\d[\d\s./:TZ+-]*?)[\s,;|]+)(?=[^\W\d])"
)
_STAMP_NAME = "timestamp"
_TIMES = ("clock", "moment", "number")
_MOST_JSON_BYTES = 100_000_000
_LOOK = 40
_MOST_NAMES = 100


def is_named(head: str) -> bool:
    """Whether most lines of a text name three values or more each, the same on every line."""
    lines = [line for line in head.splitlines()[:_LOOK] if line.strip()]
    names = [tuple(_named(line)) for line in lines]
    several = [each for each in names if len(each) >= 3]
    return bool(several) and len(several) >= 0.6 * len(lines) and len(set(several)) <= 3


def _named(line: str) -> dict[str, str]:
    """Return the values of a line by their names, and the time that stands before them."""
    stamp = _STAMP.match(line)
    written = (stamp[1] or stamp[2]) if stamp is not None else ""
    if stamp is None or kind_of(written, ".") not in _TIMES:
        return dict(_PAIR.findall(line))
    return {_STAMP_NAME: written} | dict(_PAIR.findall(line, stamp.end()))


@dataclass(frozen=True, slots=True)
class LongForm:
    """Which columns of a table with one value a row hold the time, the name of what was measured, and the value."""

    time: int
    name: int
    value: int
    names: tuple[str, ...]


def long_form_of(form: TableForm) -> LongForm | None:
    """Return how a table with a time, a name and a value in each row is read; None where it is none.

    Voltage and current have to be among the names.
    """
    kinds = [[kind_of(each, form.decimal) for each in form.column(n)[:2000]] for n in range(form.width)]
    usual = [max(set(each), key=each.count) for each in kinds]
    values = [n for n, each in enumerate(usual) if each in ("number", "unit")]
    times = [n for n, each in enumerate(usual) if each in ("moment", "clock")]
    # A time in numbers stands before the value.
    if not times and len(values) == 2:
        times, values = values[:1], values[1:]
    if len(values) != 1 or not times:
        return None
    for column in (n for n, each in enumerate(usual) if each == "words"):
        names = tuple(dict.fromkeys(form.column(column)))
        meant = [meaning_of(_spaced(each)) for each in names if each]
        quantities = {each.quantity for each in meant if each is not None}
        if 2 <= len(names) <= _MOST_NAMES and {"voltage", "current"} <= quantities:
            return LongForm(times[0], column, values[0], names)
    return None


def _spaced(name: str) -> str:
    """Return the name of a sensor without the group before its point: ``sensor.pack_voltage`` is pack voltage."""
    return name.rsplit(".", 1)[-1].replace("_", " ")


def long_to_table(path: Path, form: TableForm, long: LongForm, target: Path) -> Path:
    """Write a table with one value a row as one with a column for each name; rows of the same time are one."""
    with (
        path.open(encoding=form.encoding, errors="replace") as file,
        target.open("w", encoding="utf-8") as out,
    ):
        out.write("\t".join([_STAMP_NAME, *map(_spaced, long.names)]) + "\n")
        last = max(long.time, long.name, long.value)
        time, held = "", dict[str, str]()
        for number, line in enumerate(file):
            entries = fields(line.rstrip("\n"), form.separator) if number >= form.first_row else []
            if len(entries) <= last:
                continue
            name = entries[long.name]
            if held and (entries[long.time] != time or name in held):
                out.write("\t".join([time, *(held.get(each, "") for each in long.names)]) + "\n")
                held = {}
            time = entries[long.time]
            held[name] = entries[long.value].replace("\t", " ")
        if held:
            out.write("\t".join([time, *(held.get(each, "") for each in long.names)]) + "\n")
    return target


def is_json(head: str) -> bool:
    """Whether a text is JSON: an object a line, an array of objects, or an object of arrays."""
    return head.lstrip()[:1] == "{" or re.match(r"\s*\[\s*[\[{]", head) is not None


def named_to_table(path: Path, encoding: str, target: Path) -> Path:
    """Write named values as a table divided by tabs."""
    with path.open(encoding=encoding, errors="replace") as file:
        return _written(map(_named, file), target)


def json_to_table(path: Path, encoding: str, target: Path, place: str) -> Path:
    """Write JSON as a table divided by tabs.

    Raises
    ------
    UnreadableInput
        If it is no list of rows.
    """
    with path.open(encoding=encoding, errors="replace") as file:
        first = file.readline()
        try:
            if isinstance(json.loads(first), dict) and file.readline().lstrip()[:1] == "{":
                file.seek(0)
                return _written((json.loads(line) for line in file if line.strip()), target)
        except json.JSONDecodeError:
            pass
    if path.stat().st_size > _MOST_JSON_BYTES:
        raise UnreadableInput(place, "is JSON too large to read", "export the log as CSV")
    try:
        whole = json.loads(path.read_text(encoding=encoding, errors="replace"))
    except (json.JSONDecodeError, RecursionError) as error:
        raise UnreadableInput(place, "is JSON that cannot be read", "export the log as CSV") from error
    rows = _rows_in(whole)
    if rows is None:
        raise UnreadableInput(place, "is JSON without rows of figures", "export the log as CSV")
    return _written(rows, target)


def _rows_in(whole: Any) -> Iterable[Mapping[str, Any]] | None:
    """Return the rows in an object: the longest array of objects, or arrays of one length side by side."""
    if isinstance(whole, list):
        return whole if whole and all(isinstance(each, dict) for each in whole) else None
    if not isinstance(whole, dict):
        return None
    arrays = {name: each for name, each in whole.items() if isinstance(each, list) and each}
    side_by_side = {name: each for name, each in arrays.items() if not isinstance(each[0], (dict, list))}
    if len(side_by_side) >= 2 and len({len(each) for each in side_by_side.values()}) == 1:
        return [dict(zip(side_by_side, row, strict=True)) for row in zip(*side_by_side.values(), strict=True)]
    inside = [found for each in arrays.values() if (found := _rows_in(each)) is not None]
    return max(inside, key=lambda each: len(list(each)), default=None)


def _written(rows: Iterable[Mapping[str, Any]], target: Path) -> Path:
    with target.open("w", encoding="utf-8", newline="") as file:
        names: list[str] = []
        for row in _flat(rows):
            if not names and len(row) >= 2:
                names = list(row)
                file.write("\t".join(names) + "\n")
            if names:
                file.write("\t".join(row.get(name, "") for name in names) + "\n")
    return target


def _flat(rows: Iterable[Mapping[str, Any]]) -> Iterator[dict[str, str]]:
    for row in rows:
        flat: dict[str, str] = {}
        for name, value in row.items():
            if isinstance(value, dict):
                flat |= {f"{name} {inner}": str(each) for inner, each in value.items()}
            elif isinstance(value, list):
                flat |= {f"{name} {number}": str(each) for number, each in enumerate(value, 1)}
            else:
                flat[str(name)] = "" if value is None else " ".join(str(value).split())
        yield flat
