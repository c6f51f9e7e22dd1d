"""The source's own columns: they go from the input into the result as text, unchanged, behind the answer."""

from __future__ import annotations

import json
from collections.abc import Collection
from functools import cache
from math import isfinite
from typing import Any

_PREFIX = "listing."
# While the parts are made, so that no name of a seller's table is one of ours.
_MARK = "="


def stored_name(name: str) -> str:
    """Return what a column that is passed through is called in a part."""
    return f"{_MARK}{name}"


@cache
def _result_names() -> frozenset[str]:
    from verifier.screening import results, row_answers

    return frozenset([*results.column_names(), *row_answers.COLUMNS, "seller", "title"])


def output_name(name: str, shown: Collection[str] = ()) -> str:
    """Return what a column that is passed through is called in the result: its own name, unless a result has that one.

    ``shown`` are the headings of a result in another language than English.

    Names that are different stay different: `row` becomes `listing.row`, and `listing.row` one more of them.
    """
    bare = name
    while bare.startswith(_PREFIX):
        bare = bare.removeprefix(_PREFIX)
    return f"{_PREFIX}{name}" if bare in _result_names() or bare in shown else name


NUMBER_MARK = "\0"
"""Before the text of a number or truth value of the source; no text of a table holds this sign."""


def as_carried(value: Any) -> str | None:
    """Return a value as text, numbers and truth values marked: where the result can hold them, they are written so."""
    if isinstance(value, bool | int) or (isinstance(value, float) and isfinite(value)):
        return NUMBER_MARK + json.dumps(value)
    return as_text(value)


def as_text(value: Any) -> str | None:
    """Return a value as text: text as it is, nothing for an empty one, anything else as JSON writes it."""
    if value is None or value == "":
        return None
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, default=str)
