"""Every field of a case: its unit, what a person calls it, what it means, and how it is found out.

One entry a field, in ``catalogue.py``. From it come the descriptions in ``schemas/``, the units that a case
file may be written in, the "did you mean", ``packclaim explain FIELD``, the next steps and the topics of the
questions to a seller.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from types import MappingProxyType

from verifier.case.case_field import CaseField
from verifier.case.catalogue import FIELDS


@cache
def case_fields() -> Mapping[str, CaseField]:
    """Return every field and group of a case, by dotted name, in the order of a case file."""
    return MappingProxyType({field.name: field for field in FIELDS})


def inside(name: str) -> Iterator[CaseField]:
    """Yield the fields of a group, and those of the groups in it."""
    return (field for field in case_fields().values() if field.name.startswith(f"{name}."))


def meant(key: str, group: str) -> str | None:
    """Return "did you mean ..." for an unknown key that is another name of a field, or one of another group.

    Parameters
    ----------
    key : str
        As typed, such as ``Voltage``.
    group : str
        The dotted name of the group that it stands in; empty at the top of a case.

    Returns
    -------
    str or None
        None when no field goes by that name; the nearest spelling may still be meant.
    """
    word = "_".join(key.strip().casefold().replace("-", " ").replace(".", " ").split())
    fields = case_fields().values()
    here = [field for field in fields if field.group == group and word in field.also]
    elsewhere = [field for field in fields if field.leaf == word and field.group != group]
    named = [field for field in fields if word in field.also]
    if here:
        return f"did you mean '{here[0].leaf}'?"
    section = group.partition(".")[0]
    for found in (elsewhere, named):
        found.sort(key=lambda field: field.name.partition(".")[0] != section)
        if found:
            return f"did you mean '{found[0].name}'?"
    return None
