"""Reading case files: YAML or JSON into a `Case`, with errors that name file, line and field."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from registry.errors import ManyProblems, PlacedError
from registry.fields import field_path, problem_words
from verifier.case import Case
from verifier.errors import InvalidCase
from verifier.plain_data import Document, parse


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
        raise InvalidCase(place, "is not a case", "a case has the keys case, claim, observed, use and policy")
    try:
        case = Case.model_validate(document.data)
    except ValidationError as error:
        faults: list[PlacedError] = []
        for fault in error.errors(include_url=False):
            line = document.line(fault["loc"])
            where = f"{place} line {line}" if line else place
            path = field_path(fault["loc"])
            faults.append(InvalidCase(f"{where} {path}".rstrip(), problem_words(dict(fault))))
        if len(faults) == 1:
            raise faults[0] from None
        raise ManyProblems(place, faults) from None
    return CaseFile(place, case, case.model_dump(mode="json", exclude_unset=True))
