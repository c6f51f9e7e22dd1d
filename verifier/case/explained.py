"""What a field of a case is, as plain data: for ``packclaim explain FIELD``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, get_args, get_origin

from registry.fields import nearest
from registry.printed import typed_examples
from verifier.case.case_field import CaseField
from verifier.case.fields import case_fields, inside, meant
from verifier.case.model import Case
from verifier.errors import VerifierError


@dataclass(frozen=True, slots=True)
class ExplainedField:
    """A field, how its value is written, the only words it takes, and the fields in it where it is a group."""

    field: CaseField
    write: str
    words: tuple[str, ...]
    within: tuple[CaseField, ...]


def fields_named(word: str) -> tuple[CaseField, ...]:
    """Return the fields that a word names: a dotted name, or the last part of one.

    Raises
    ------
    VerifierError
        If no field goes by that name, with the nearest one.
    """
    known = case_fields()
    name = word.strip().casefold().replace(" ", "_")
    if name in known:
        return (known[name],)
    found = tuple(field for field in known.values() if field.leaf == name)
    if found:
        return found
    group, _, key = name.rpartition(".")
    raise VerifierError(
        f"field '{word}'", "there is no such field", meant(key, group) or nearest(name, [*known])
    )


def explained(field: CaseField) -> ExplainedField:
    """Return a field with how it is written."""
    within = tuple(inside(field.name))
    plain = not within and not _is_list(field.name)
    words = tuple(str(word) for word in _choices(field.name) if not isinstance(word, bool)) if plain else ()
    return ExplainedField(field, "" if within else _write(field), words, within)


def _write(field: CaseField) -> str:
    words = _choices(field.name)
    if words == [True, False]:
        return "true or false"
    if words:
        return "one of: " + ", ".join(str(word) for word in words)
    if _is_list(field.name):
        return f"a list of numbers in {field.unit}" if field.unit else "a list"
    if field.unit == "count":
        return "a whole number, or low-high"
    if field.unit == "number":
        return "a number, or low-high"
    if field.unit:
        return f"{typed_examples(field.unit)}, or low-high"
    return "words"


def _annotation(name: str) -> Any:
    """Return what the model says that a field holds."""
    model: Any = Case
    for part in name.split(".")[:-1]:
        model = next(
            each for each in _parts(model.model_fields[part].annotation) if hasattr(each, "model_fields")
        )
    return model.model_fields[name.rpartition(".")[2]].annotation


def _parts(annotation: Any) -> list[Any]:
    return [annotation, *(part for each in get_args(annotation) for part in _parts(each))]


def _choices(name: str) -> list[Any]:
    parts = _parts(_annotation(name))
    if bool in parts:
        return [True, False]
    return next((list(get_args(part)) for part in parts if get_origin(part) is Literal), [])


def _is_list(name: str) -> bool:
    return any(get_origin(part) is tuple for part in _parts(_annotation(name)))


def field_data(told: ExplainedField) -> dict[str, Any]:
    """Return an explained field as plain data."""
    field = told.field
    return {
        "field": field.name, "unit": field.unit or None, "words": field.words, "meaning": field.meaning,
        "write": told.write or None, "look": field.look or None, "effort": field.effort or None,
        "usual": list(field.usual) if field.usual else None, "also": list(field.also),
        "fields": [each.name for each in told.within],
    }  # fmt: skip
