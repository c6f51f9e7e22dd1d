"""Reading JSON Lines: one object a line, its fields by dotted keys or in objects inside it."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Any, NoReturn

from verifier.errors import InvalidCase
from verifier.screening.columns import SECTIONS, check_columns, is_field, refuse_many
from verifier.screening.rows import HOLDS_NUL, LONGEST_ROW, TOO_LONG, Lines, Rows

_DEEPEST = 8
# How exports name the two sides of an attribute: common practice, no source.
_NAME_KEYS = ("name", "key", "label", "attribute", "property", "title")
_VALUE_KEYS = ("value", "val", "values")


class _Unreadable(ValueError):
    """What is wrong with one line."""


def records(lines: Lines) -> Iterator[bytes]:
    """Yield every line that is not empty."""
    while line := lines.next():
        if not line.isspace():
            yield line


def read(lines: Sequence[bytes]) -> Rows:
    """Return rows by column, a column for every key that occurs; what a row does not state is None.

    Raises
    ------
    InvalidCase
        When there are more than `MOST_COLUMNS` different keys.
    """
    columns: dict[str, list[Any]] = {}
    faults: list[str | None] = [None] * len(lines)
    for row, line in enumerate(lines):
        try:
            stated = _fields(line)
        except _Unreadable as problem:
            faults[row] = str(problem)
            continue
        for name, value in stated.items():
            if name not in columns:
                columns[name] = [None] * len(lines)
                refuse_many(columns)
            columns[name][row] = value
    return Rows(columns, faults)


def _fields(line: bytes) -> dict[str, Any]:
    """Return the fields of a line by dotted name."""
    if len(line) > LONGEST_ROW:
        raise _Unreadable(TOO_LONG)
    try:
        found = json.loads(line.decode(), object_pairs_hook=_distinct, parse_constant=_no_constant)
    except _Unreadable:
        raise
    except UnicodeDecodeError as error:
        raise _Unreadable(f"byte {error.start + 1} of the row is not UTF-8") from None
    except json.JSONDecodeError as error:
        raise _Unreadable(f"the row is not JSON ({error.msg} at column {error.colno})") from None
    except (ValueError, RecursionError):
        raise _Unreadable("the row is nested too deeply, or a number in it is too long") from None
    if not isinstance(found, dict):
        raise _Unreadable('the row is no JSON object; write {"claim.capacity_ah": 20}')
    if b"\\u" in line:
        _refuse_unfit_text(found)
    flat: dict[str, Any] = {}
    _flatten(found, "", flat)
    return flat


def _distinct(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise _Unreadable(f"key '{twice}' stands twice")
    return found


def _no_constant(name: str) -> NoReturn:
    raise _Unreadable(f"{name} is not a number; leave out what is not known")


def _refuse_unfit_text(found: Any) -> None:
    try:
        json.dumps(found, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        raise _Unreadable("the row holds half of a character") from None
    if _holds_nul(found):
        raise _Unreadable(HOLDS_NUL)


def _holds_nul(found: Any) -> bool:
    if isinstance(found, dict):
        return any(_holds_nul(name) or _holds_nul(value) for name, value in found.items())
    if isinstance(found, list):
        return any(map(_holds_nul, found))
    return isinstance(found, str) and "\0" in found


def _flatten(found: Mapping[str, Any], before: str, flat: dict[str, Any]) -> None:
    for key, value in found.items():
        name = before + key
        if isinstance(value, dict):
            if name.count(".") >= _DEEPEST:
                raise _Unreadable("the row is nested too deeply")
            _flatten(value, f"{name}.", flat)
            continue
        pairs = None if name.partition(".")[0] in SECTIONS else _pairs(value)
        if pairs is not None:
            for each, stated in pairs.items():
                if f"{name}.{each}" in flat:
                    raise _Unreadable(f"key '{name}.{each}' stands twice")
                flat[f"{name}.{each}"] = stated
            continue
        if problem := _problem(name):
            if value is None and name in SECTIONS:
                continue
            raise _Unreadable(problem)
        if name in flat:
            raise _Unreadable(f"key '{name}' stands twice")
        flat[name] = value


def _pairs(value: Any) -> dict[str, Any] | None:
    """Return a list of names and values as a shop's export has it: [{"name": "Weight", "value": "4.1 kg"}].

    A name that stands twice has a list of both values. None for any other list.
    """
    if not isinstance(value, list) or not value:
        return None
    found: dict[str, Any] = {}
    for each in value:
        pair = _pair(each)
        if pair is None:
            return None
        name, stated = pair
        if name not in found:
            found[name] = stated
        elif isinstance(found[name], list):
            found[name].append(stated)
        else:
            found[name] = [found[name], stated]
    return found


def _pair(each: Any) -> tuple[str, Any] | None:
    if not isinstance(each, dict):
        return None
    name = next((each[key] for key in _NAME_KEYS if isinstance(each.get(key), str)), "").strip()
    key = next((key for key in _VALUE_KEYS if key in each), None)
    if not name or key is None or isinstance(each[key], dict):
        return None
    stated, unit = each[key], each.get("unit")
    if (
        isinstance(stated, int | float)
        and not isinstance(stated, bool)
        and isinstance(unit, str)
        and unit.strip()
    ):
        return name, f"{stated:.15g} {unit.strip()}"
    return name, stated


@cache
def _problem(name: str) -> str:
    """Return what is wrong with a key, or nothing."""
    if not name.strip():
        return "a key is empty"
    if name in SECTIONS:
        return f"'{name}' holds no fields; write it as an object, or a dotted key such as {name}.NAME"
    if is_field(name):
        try:
            check_columns([name])
        except InvalidCase as error:
            return str(error)
    return ""
