"""Changing single fields of a case: what was typed, how a value is shown, and the file with its comments kept."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from typing import Any

from registry.printed import says_unknown
from registry.printed.signs import one_form
from verifier.case.case_field import CaseField
from verifier.case.fields import case_fields
from verifier.case.interview import (
    BadAnswer,
    Data,
    Question,
    answered,
    case_text,
    choices_of,
    plain,
    value_at,
    with_value,
    without,
)
from verifier.case.reading import parse_case
from verifier.case.strict_yaml import parse

LISTS = (
    "claim.certificates",
    "claim.stated_differently",
    "case.photos",
    "observed.groups_v",
    "observed.groups_before_v",
    "observed.take_off.positions",
)
"""Fields that hold several values, typed one after another."""
UNKNOWN = "unknown"
"""What a file may hold where nobody knows; a person leaves such a field out."""
_NO_UNIT = ("", "count", "number", "fraction")
_BETWEEN = re.compile(r"[;\n]|,\s|,(?=[^0-9])")
_BETWEEN_NUMBERS = re.compile(r"[;\s]+|,\s")
_VOLTAGES = ("observed.groups_v", "observed.groups_before_v")
_BARE = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_BEFORE_UNIT = re.compile(r"([0-9])\s+(?=m?V\b)", re.IGNORECASE)
_MILLIVOLTS = re.compile(r"[0-9]mV\b", re.IGNORECASE)
# "1: 3.85V", "Cell 2 = 3840 mV", "G03: 3,71".
_NUMBERED = re.compile(r"(?<![\w.,])(?:[^\W\d_]+\s?)?0?([0-9]{1,2})\s?[:=]\s?")
# More than any cell in use, and what the case takes for one group.
_GROUP_V = 10
_WHOLE = re.compile(r"[0-9]{1,6}")


def question_of(name: str) -> Question:
    """Return the question that asks for a field. Raises ``KeyError`` for a name that no field has."""
    return Question(case_fields()[name], tuple(each for each in choices_of(name) if each != UNKNOWN))


def shown(field: CaseField, value: Any) -> str:
    """Return a value as a person types it, such as ``14 Ah``, ``10..20 A`` or ``yes``; nothing for none."""
    if value is None or value == UNKNOWN:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field.name in LISTS:
        return "; ".join(_figure(each) for each in value)
    unit = "" if field.unit in _NO_UNIT else f" {field.unit}"
    if isinstance(value, (list, tuple)):
        return "..".join(_figure(each) for each in value) + unit
    return f"{_figure(value)}{unit}" if isinstance(value, (int, float)) else str(value)


def _figure(value: Any) -> str:
    return f"{value:.12g}" if isinstance(value, (int, float)) else str(value)


def with_typed(data: Data, name: str, text: str) -> Data:
    """Return the data with what was typed for a field; nothing typed, or "don't know", leaves the field out.

    Raises
    ------
    BadAnswer
        When it is none for this field, with what would be right; the data stays as it was.
    """
    question = question_of(name)
    typed = text.strip()
    if not typed or (question.field.group != "case" and says_unknown(typed)):
        return without(data, question)
    if name in LISTS:
        return with_value(data, name, _values(question.field, typed))
    if question.field.leaf == "configuration":
        # What a configuration stood for before must not contradict what it stands for now.
        data = without(data, question)
    return answered(data, question, typed)


def _values(field: CaseField, typed: str) -> list[Any]:
    if field.name in _VOLTAGES:
        return _voltages(typed)
    numbers = field.name == "observed.take_off.positions"
    parts = (_BETWEEN_NUMBERS if numbers else _BETWEEN).split(typed)
    return [int(each) if _WHOLE.fullmatch(each) else each for part in parts if (each := part.strip())]


def _voltages(typed: str) -> list[str]:
    """Return the voltages of groups as a meter, a BMS app or a person lists them, each with its own unit or in V.

    Raises
    ------
    BadAnswer
        When they are numbered out of order, or one without a unit can be no voltage of a group but one in mV.
    """
    plain = _BEFORE_UNIT.sub(r"\1", one_form(typed)[0])
    numbers = [int(each) for each in _NUMBERED.findall(plain)]
    listed = _BETWEEN_NUMBERS.split(_NUMBERED.sub(" ", plain))
    values = [each for part in listed for each in _parted(part) if each]
    if not values:
        return [typed]
    if numbers and numbers != list(range(1, len(values) + 1)):
        raise BadAnswer("the groups are not numbered 1, 2, 3 and so on; write their voltages alone, in order")
    if _MILLIVOLTS.search(values[-1]) and all(_BARE.fullmatch(each) for each in values[:-1]):
        # One unit behind the last stands for all, as in "3850 3840 420 mV".
        values = [*(f"{each} mV" for each in values[:-1]), values[-1]]
    for each in values:
        if _BARE.fullmatch(each) and _GROUP_V < float(each.replace(",", ".")) <= _GROUP_V * 1000:
            meant = float(each.replace(",", ".")) / 1000
            raise BadAnswer(f"{each}? did you mean {meant:g} V; write {each} mV")
    return values


def _parted(listed: str) -> list[str]:
    """Return voltages that commas alone part: a comma is no decimal sign among several, beside a point or in mV."""
    several = listed.count(",") > 1 or "." in listed or _MILLIVOLTS.search(listed)
    return listed.split(",") if several else [listed]


def with_field(data: Data, name: str, value: Any) -> Data:
    """Return the data with a value that a case held before; None leaves the field out.

    Raises
    ------
    BadAnswer
        When it no longer fits what else the case says.
    """
    return without(data, question_of(name)) if value is None else with_value(data, name, value)


def differing(one: Data, other: Data) -> list[str]:
    """Return the names of the fields whose values differ, in the order of a case."""
    return [name for name in _single_fields() if value_at(one, name) != value_at(other, name)]


@cache
def _single_fields() -> tuple[str, ...]:
    """Return the fields that are no groups of others, in the order of a case."""
    groups = {field.group for field in case_fields().values()}
    return tuple(name for name, field in case_fields().items() if field.group and name not in groups)


def edited_text(before: str, data: Data, *, schema: str | None) -> str:
    """Return a case file with new data in it: a line that holds one field is changed where it stands; JSON stays JSON.

    Parameters
    ----------
    before : str
        The file as it was, with its comments; empty for a new file.
    data : dict
        Everything that the case is to hold.
    schema : str or None
        Where the schema is, for an editor.
    """
    text = before
    if before.lstrip().startswith("{"):
        # JSON holds no comments to keep, and whoever else reads the file expects JSON.
        return json.dumps(plain(data), ensure_ascii=False, indent=2) + "\n"
    if before.strip():
        old = parse_case(before, "case").data
        text = _in_place(before, [(name, value_at(data, name)) for name in differing(old, data)])
    # Whatever did not stand on a line of its own is written anew, section by section.
    return case_text(data, schema=schema, before=text)


def _in_place(text: str, changes: Iterable[tuple[str, Any]]) -> str:
    for name, value in changes:
        changed = _one_line(text, name, value)
        if changed is not None and _reads(changed):
            text = changed
    return text


def _reads(text: str) -> bool:
    try:
        parse_case(text, "case")
    except Exception:
        return False
    return True


def _one_line(text: str, name: str, value: Any) -> str | None:
    """Return the text with one field changed on its own line, or added below its group; None where it has none."""
    lines = text.splitlines()
    places = parse(text, "case").lines
    *groups, leaf = path = name.split(".")
    at = places.get(tuple(path))
    if at is not None:
        match = re.fullmatch(rf"(\s+{leaf}:)\s+([^#]*?|\"[^\"]*\"|'[^']*')(\s+#.*)?", lines[at - 1])
        if match is None:
            return None
        if value is None:
            del lines[at - 1]
        else:
            lines[at - 1] = f"{match[1]} {_scalar(value)}{_or_none(match[3])}"
        return "\n".join(lines) + "\n"
    return None if value is None else _added(lines, places, groups, f"{leaf}: {_scalar(value)}")


def _added(lines: Sequence[str], places: Mapping[Any, int], groups: Sequence[str], entry: str) -> str | None:
    """Return the text with an entry in a group, the group made where it is missing; None where it has no line."""
    there = next((n for n in range(len(groups), 0, -1) if tuple(groups[:n]) in places), 0)
    header = places.get(tuple(groups[:there]))
    if header is None or not re.fullmatch(rf"\s*{groups[there - 1]}:\s*(#.*)?", lines[header - 1]):
        return None
    missing = [*(f"{name}:" for name in groups[there:]), entry]
    return "\n".join(_inserted(lines, header, [f"{'  ' * n}{each}" for n, each in enumerate(missing)])) + "\n"


def _inserted(lines: Sequence[str], header: int, entries: Sequence[str]) -> list[str]:
    """Return lines with entries at the end of the group that a header line opens."""
    depth = _depth(lines[header - 1])
    end, inner = header, depth + 2
    for number in range(header, len(lines)):
        line = lines[number]
        if line.strip() and not line.lstrip().startswith("#"):
            if _depth(line) <= depth:
                break
            inner = _depth(line) if end == header else inner
            end = number + 1
    return [*lines[:end], *(" " * inner + each for each in entries), *lines[end:]]


def _depth(line: str) -> int:
    return len(line) - len(line.lstrip())


def _or_none(comment: str | None) -> str:
    return comment if comment is not None else ""


def _scalar(value: Any) -> str:
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(_scalar(each) for each in value)}]"
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return json.dumps(value, ensure_ascii=False)


__all__ = [
    "LISTS",
    "BadAnswer",
    "differing",
    "edited_text",
    "question_of",
    "shown",
    "with_field",
    "with_typed",
]
