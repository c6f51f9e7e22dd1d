"""The strict base model and the field types that cells, sheets and cases are built from.

Strict means: an unknown key is an error that names the nearest known key, a number is a finite number
and never a text or a truth value, and a text holds no control characters. An absent figure is ``None``;
zero is a figure like any other.
"""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError


def nearest(word: str, known: list[str]) -> str:
    """Return ``did you mean 'x'?`` for the nearest known word, or all known words when none is near."""
    close = get_close_matches(word, known, n=1, cutoff=0.6)
    if close:
        return f"did you mean '{close[0]}'?"
    return "known here: " + ", ".join(known)


class StrictModel(BaseModel):
    """A frozen record that refuses unknown keys, non-finite numbers and values of another type."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False, defer_build=True)

    @model_validator(mode="before")
    @classmethod
    def _refuse_unknown_keys(cls, data: Any) -> Any:
        if isinstance(data, dict):
            known = list(cls.model_fields)
            for key in data:
                if key not in cls.model_fields:
                    raise PydanticCustomError(
                        "unknown_key",
                        "unknown key '{key}'; {hint}",
                        {"key": str(key), "hint": nearest(str(key), known)},
                    )
        return data


def _one_line(text: str) -> str:
    text = " ".join(text.split())
    # Unicode categories Cc and Cs: control characters, and half of a character that no file can hold.
    if any(
        ord(letter) < 32 or 0x7F <= ord(letter) <= 0x9F or 0xD800 <= ord(letter) <= 0xDFFF for letter in text
    ):
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
Positive = Annotated[float, Field(gt=0, le=1e9)]
NonNegative = Annotated[float, Field(ge=0, le=1e9)]
TemperatureC = Annotated[float, Field(ge=-273.15, le=1000)]
Fraction = Annotated[float, Field(gt=0, le=1)]
Count = Annotated[int, Field(gt=0, le=1_000_000_000)]


def problem_words(problem: dict[str, Any]) -> str:
    """Return one pydantic problem in plain words, without library vocabulary."""
    message = str(problem["msg"]).removeprefix("Value error, ")
    if problem["type"] in {"model_type", "dict_type"}:
        return "must be a group of 'name: value' fields"
    if problem["type"] in {"missing", "unknown_key", "rule"}:
        return message
    found = problem.get("input")
    if isinstance(found, (str, int, float)) or found is None:
        shown = repr(found)
        if len(shown) > 60:
            shown = shown[:57] + "..."
        return f"{message} (found {shown})"
    return message


def field_path(location: tuple[str | int, ...]) -> str:
    """Return where a field stands, such as ``sheets[0].discharge[1].low_c``."""
    path = ""
    for part in location:
        path += f"[{part}]" if isinstance(part, int) else f".{part}" if path else str(part)
    return path


def problems(error: ValidationError) -> Iterator[tuple[str, str]]:
    """Yield every problem of a validation error as (field path, plain words)."""
    for problem in error.errors(include_url=False):
        yield field_path(problem["loc"]), problem_words(dict(problem))
