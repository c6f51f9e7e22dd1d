"""Reading case files: YAML or JSON into a `Case`, with errors that name file, line and field."""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NoReturn

from pydantic import ValidationError

from registry.errors import ManyProblems, PlacedError
from registry.fields import problems
from registry.printed import likely_slip, says_unknown
from verifier.case.case_field import CaseField
from verifier.case.fields import case_fields, meant
from verifier.case.limits import override_problem
from verifier.case.model import Case
from verifier.case.strict_yaml import Document, parse
from verifier.errors import InvalidCase

Location = tuple[str | int, ...]
# So many times more than is usual is a slip whatever the unit.
_FAR = 100
# A change of one field asks for the same few texts again and again.
_MOST_KEPT = 64


@dataclass(frozen=True, slots=True)
class CaseFile:
    """A case, and the same as plain data that reads back to it."""

    place: str
    case: Case
    data: dict[str, Any]


def parse_case(text: str, place: str) -> CaseFile:
    """Read a case from YAML or JSON text that a person wrote.

    Raises
    ------
    InvalidCase, ManyProblems
        Naming the line and field of every fault, also of a bare number that is likely in another unit.
    """
    try:
        found = _read_once(text)
    except PlacedError:
        # Only what is refused names its place.
        return _read(text, place)
    return CaseFile(place, found.case, deepcopy(found.data))


@lru_cache(maxsize=_MOST_KEPT)
def _read_once(text: str) -> CaseFile:
    return _read(text, "")


def _read(text: str, place: str) -> CaseFile:
    document = parse(text, place)
    case = case_from(document, place)
    slips = [_fault(document, place, *slip) for slip in _slips((), document.data)]
    if slips:
        refuse(place, slips)
    return case


def case_from(document: Document, place: str) -> CaseFile:
    """Validate plain data as a case; the data is not changed."""
    if not isinstance(document.data, dict):
        raise InvalidCase(place, "is not a case", "a case has the keys case, claim, observed, use and limits")
    try:
        case = Case.model_validate(_without_unknown((), document.data))
    except ValidationError as error:
        refuse(place, [_fault(document, place, *problem) for problem in problems(error, Case, meant)])
    wrong = [
        _fault(document, place, ("limits", name), f"limits.{name}", *problem)
        for name, value in case.limits.items()
        if (problem := override_problem(name, value)) is not None
    ]
    if wrong:
        refuse(place, wrong)
    return CaseFile(place, case, case.model_dump(mode="json", exclude_unset=True))


def _without_unknown(location: Location, data: dict[str, Any]) -> dict[str, Any]:
    """Return the data without the figures of which it is written that nobody knows them: "?" for a count."""
    found = {}
    for key, each in data.items():
        here = (*location, str(key))
        if isinstance(each, dict):
            found[key] = _without_unknown(here, each)
        elif not (isinstance(each, str) and _is_figure(here) and says_unknown(each)):
            found[key] = each
    return found


def _is_figure(location: Location) -> bool:
    field = case_fields().get(".".join(str(part) for part in location))
    return field is not None and bool(field.unit)


def _fault(
    document: Document, place: str, location: Location, path: str, found: str, expected: str = ""
) -> PlacedError:
    line = document.line(location)
    where = f"{place} line {line}" if line else place
    return InvalidCase(f"{where} {path}".rstrip(), found, expected)


def _slips(location: Location, value: Any) -> Iterator[tuple[Location, str, str, str]]:
    """Yield every bare number that makes no sense in its field's unit and does in another: 10900 for Ah."""
    if isinstance(value, dict):
        for key, each in value.items():
            yield from _slips((*location, str(key)), each)
        return
    path = ".".join(str(part) for part in location)
    field = case_fields().get(path)
    if field is None or field.usual is None:
        return
    for number in value if isinstance(value, list) else [value]:
        bare = isinstance(number, (int, float)) and not isinstance(number, bool)
        if bare and (slip := slip_in(field, number)):
            yield location, path, slip, f"if it is truly meant, write '{number:g} {field.unit}'"


def slip_in(field: CaseField, number: float) -> str | None:
    """Return what is odd about a bare number of a field: it makes no sense in its unit, and may in another."""
    if field.usual is None:
        return None
    low, high = field.usual
    # A seller's small figure may be of a lamp or a socket; a large one makes no sense for any part of a pack.
    slip = likely_slip(number, field.unit, low, high) if number > high or field.group != "claim" else None
    if slip is None and number > _FAR * high:
        slip = f"{number:g} {field.unit}? such a figure lies between {low:g} and {high:g} {field.unit}"
    return slip


def refuse(place: str, faults: list[PlacedError]) -> NoReturn:
    """Raise the one fault of a file, or all of them together."""
    if len(faults) == 1:
        raise faults[0]
    raise ManyProblems(place, faults)
