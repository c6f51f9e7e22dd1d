"""Columns that are no field of a case: they go from the input into the result as text, unchanged."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

_PREFIX = "listing."


@cache
def _result_names() -> frozenset[str]:
    from verifier.screening.results import schema

    return frozenset(schema().names)


def output_name(name: str) -> str:
    """Return what a carried column is called in the result: its own name, unless a result has that one.

    Names that are different stay different: `row` becomes `listing.row`, and `listing.row` one more of them.
    """
    bare = name
    while bare.startswith(_PREFIX):
        bare = bare.removeprefix(_PREFIX)
    return f"{_PREFIX}{name}" if bare in _result_names() else name


def as_text(value: Any) -> str | None:
    """Return a value as text: text as it is, nothing for an empty one, anything else as JSON writes it."""
    if value is None or value == "":
        return None
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, default=str)
