"""Reading case files: YAML or JSON into a `Case`, with errors that name file, line and field."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NoReturn

from pydantic import ValidationError

from registry.errors import ManyProblems, PlacedError
from registry.fields import problems
from verifier.case.limits import override_problem
from verifier.case.model import Case
from verifier.case.strict_yaml import Document, parse
from verifier.errors import InvalidCase


@dataclass(frozen=True, slots=True)
class CaseFile:
    """A case, and the same as plain data that reads back to it."""

    place: str
    case: Case
    data: dict[str, Any]


def parse_case(text: str, place: str) -> CaseFile:
    """Read a case from YAML or JSON text.

    Raises
    ------
    InvalidCase, ManyProblems
        Naming the line and field of every fault.
    """
    return case_from(parse(text, place), place)


def case_from(document: Document, place: str) -> CaseFile:
    """Validate plain data as a case; the data is not changed."""
    if not isinstance(document.data, dict):
        raise InvalidCase(place, "is not a case", "a case has the keys case, claim, observed, use and limits")

    def fault(location: tuple[str | int, ...], path: str, found: str, expected: str = "") -> PlacedError:
        line = document.line(location)
        where = f"{place} line {line}" if line else place
        return InvalidCase(f"{where} {path}".rstrip(), found, expected)

    try:
        case = Case.model_validate(document.data)
    except ValidationError as error:
        refuse(place, [fault(*problem) for problem in problems(error, Case)])
    wrong = [
        fault(("limits", name), f"limits.{name}", *problem)
        for name, value in case.limits.items()
        if (problem := override_problem(name, value)) is not None
    ]
    if wrong:
        refuse(place, wrong)
    return CaseFile(place, case, case.model_dump(mode="json", exclude_unset=True))


def refuse(place: str, faults: list[PlacedError]) -> NoReturn:
    """Raise the one fault of a file, or all of them together."""
    if len(faults) == 1:
        raise faults[0]
    raise ManyProblems(place, faults)
