"""What two cases say otherwise."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from verifier.case.model import Case


def differing(one: Case, other: Case) -> set[str]:
    """Return the dotted names of the fields that two cases hold otherwise, with those of the groups they stand in."""
    return set(_differing(one, other, "")) if one is not other else set()


def _differing(one: BaseModel, other: BaseModel, group: str) -> Iterator[str]:
    for name, value in one:
        there = getattr(other, name)
        if value is there or value == there:
            continue
        yield f"{group}{name}"
        if isinstance(value, BaseModel) and isinstance(there, BaseModel):
            yield from _differing(value, there, f"{group}{name}.")
        elif isinstance(held := there if value is None else value, BaseModel):
            # A group that is new, or gone, is so with each of its fields.
            yield from (f"{group}{name}.{leaf}" for leaf in type(held).model_fields)
