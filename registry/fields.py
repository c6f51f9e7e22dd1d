"""The strict base model and the field types that cells, sheets and cases are built from.

Strict means: an unknown key is an error that names the nearest known key, a number is a finite number
and never a text or a truth value, and a text holds no control characters. An absent figure is ``None``;
zero is a figure like any other.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Annotated, Any, get_args

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError
from pydantic_core import PydanticCustomError


def nearest(word: str, known: list[str]) -> str:
    """Return ``did you mean 'x'?`` for the nearest known word, or all known words when none is near."""
    from difflib import get_close_matches

    close = get_close_matches(word, known, n=1, cutoff=0.6)
    if close:
        return f"did you mean '{close[0]}'?"
    return "known here: " + ", ".join(known)


class StrictModel(BaseModel):
    """A frozen record that refuses unknown keys, non-finite numbers and values of another type."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False, defer_build=True)


# Unicode categories Cc and Cs: control characters, and half of a character that no file can hold.
_UNWRITABLE = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff]")


def _one_line(text: str) -> str:
    text = " ".join(text.split())
    if _UNWRITABLE.search(text):
        raise PydanticCustomError(
            "control_character", "text holds a control character or half of a character"
        )
    return text


def _not_empty(text: str) -> str:
    text = _one_line(text)
    if not text:
        raise PydanticCustomError("empty_text", "text is empty; leave the key out when nothing is known")
    return text


Text = Annotated[str, AfterValidator(_not_empty), Field(max_length=2000)]
TextOrEmpty = Annotated[str, AfterValidator(_one_line), Field(max_length=300)]
# What is smaller is a slip, and a figure divided by it is no number any more.
Positive = Annotated[float, Field(ge=1e-6, le=1e9)]
NonNegative = Annotated[float, Field(ge=0, le=1e9)]
TemperatureC = Annotated[float, Field(ge=-273.15, le=1000)]
Fraction = Annotated[float, Field(gt=0, le=1)]
Count = Annotated[int, Field(gt=0, le=1_000_000_000)]


def _known_keys(model: type[BaseModel], location: tuple[str | int, ...]) -> list[str]:
    """Return the keys that the model at a location knows."""
    inside: Any = model
    for part in location:
        # A name that is no field is a key of what a field holds, such as a citation's figure.
        if isinstance(part, str) and part in inside.model_fields:
            inside = model_in(inside.model_fields[part].annotation)
    return list(inside.model_fields)


def model_in(annotation: Any) -> Any:
    """Return the model that an annotation holds, optional or not; None where it holds none."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for each in get_args(annotation) if (found := model_in(each)) is not None), None)


Meant = Callable[[str, str], str | None]
"""Advice on an unknown key, by the key and the path of its group; None when no name comes near."""


# What the library says of a value in its own terms.
_PLAIN = {
    "missing": "is missing; it has to be given",
    "tuple_type": "must be a list, [one, another]",
    "list_type": "must be a list, [one, another]",
    "bool_type": "must be true or false",
    "bool_parsing": "must be true or false",
    "string_type": "must be a text",
    "int_type": "must be a whole number",
    "int_parsing": "must be a whole number",
    "int_from_float": "must be a whole number",
    "float_type": "must be a number",
    "float_parsing": "must be a number",
    "finite_number": "must be a number that ends somewhere",
}


def _words(problem: dict[str, Any], model: type[BaseModel], meant: Meant | None = None) -> str:
    if problem["type"] == "extra_forbidden":
        *path, key = problem["loc"]
        advice = meant(str(key), field_path(tuple(path))) if meant else None
        return f"unknown key '{key}'; {advice or nearest(str(key), _known_keys(model, tuple(path)))}"
    if problem["type"] in {"model_type", "dict_type"}:
        return "must be a group of 'name: value' fields"
    if problem["type"] in {"too_long", "string_too_long"}:
        most, entries = problem["ctx"]["max_length"], problem["type"] == "too_long"
        # A text is cleaned before it is measured, and is then told to be a list of letters.
        what = "entries" if entries and not isinstance(problem.get("input"), str) else "letters"
        return f"has more than {most} {what}"
    message = _PLAIN.get(problem["type"]) or str(problem["msg"]).removeprefix("Value error, ")
    if problem["type"] == "literal_error":
        message = f"must be {problem['ctx']['expected']}"
    found = problem.get("input")
    if problem["type"] not in {"missing", "rule"} and (found is None or isinstance(found, (str, int, float))):
        shown = repr(found)
        return f"{message} (found {shown if len(shown) <= 60 else shown[:57] + '...'})"
    return message


def field_path(location: tuple[str | int, ...]) -> str:
    """Return where a field stands, such as ``sheets[0].discharge[1].low_c``."""
    path = ""
    for part in location:
        path += f"[{part}]" if isinstance(part, int) else f".{part}" if path else str(part)
    return path


def problems(
    error: ValidationError, model: type[BaseModel], meant: Meant | None = None
) -> Iterator[tuple[tuple[str | int, ...], str, str]]:
    """Yield every problem as (location, field path, plain words), without library vocabulary.

    The path of an unknown key is that of the group it stands in; the location is the key's own. ``meant``
    may know what an unknown key means, where no known key is spelt like it.
    """
    for problem in error.errors(include_url=False):
        location = problem["loc"]
        named = location[:-1] if problem["type"] == "extra_forbidden" else location
        yield location, field_path(named), _words(dict(problem), model, meant)


def plain_words(error: ValidationError) -> str:
    """Return what is wrong with a value, or with fields together, without library vocabulary."""
    return "; ".join(
        f"{field_path(problem['loc'])} {_words(dict(problem), BaseModel)}".strip()
        for problem in error.errors(include_url=False)
    )
