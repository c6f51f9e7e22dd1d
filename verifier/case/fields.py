"""Every field of a case: its unit, what a person calls it, what it means, and how it is found out.

One entry a field, in ``catalogue.py``. From it come the descriptions in ``schemas/``, the units that a case
file may be written in, the "did you mean", ``packclaim explain FIELD``, the next steps and the topics of the
questions to a seller.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from types import MappingProxyType
from typing import Any, NamedTuple

EFFORTS = ("ask the seller", "read a label", "weigh or measure", "open the case", "take a sample")
"""What it takes to find a fact out, least effort first."""


class CaseField(NamedTuple):
    """One field of a case, or a group of fields.

    Attributes
    ----------
    name : str
        Its dotted name, such as ``observed.strip.material``.
    words : str
        What a person calls it.
    meaning : str
        What it is, in one sentence.
    unit : str
        A unit of ``registry.printed``; ``count`` for whole numbers, ``number`` for others without a unit;
        empty for words and for a group.
    look : str
        How it is found out.
    effort : str
        One of ``EFFORTS``; empty for what only the user decides.
    topic : str
        The question to the seller that asks for it (``verifier.questions``); empty for none.
    trial : tuple
        Values that would be no surprise, to ask what each would settle; common practice, no source. None of
        them ever enters a verdict.
    usual : tuple of float or None
        What such figures lie between in a light vehicle's pack; common practice, no source. It only serves to
        notice a number that was typed in another unit. [unit]
    also : tuple of str
        Other names for it, for a "did you mean".
    under_load : bool
        Whether cells are charged or discharged to find it out: never to be asked of a pack that must not be used.
    """

    name: str
    words: str
    meaning: str
    unit: str = ""
    look: str = ""
    effort: str = ""
    topic: str = ""
    trial: tuple[Any, ...] = ()
    usual: tuple[float, float] | None = None
    also: tuple[str, ...] = ()
    under_load: bool = False

    @property
    def group(self) -> str:
        """The group that it stands in; empty for a section of the case."""
        return self.name.rpartition(".")[0]

    @property
    def leaf(self) -> str:
        """The last part of its name."""
        return self.name.rpartition(".")[2]

    @property
    def described(self) -> str:
        """Its meaning with its unit, for a schema."""
        return f"{self.meaning} [{self.unit}]" if self.unit else self.meaning


@cache
def case_fields() -> Mapping[str, CaseField]:
    """Return every field and group of a case, by dotted name, in the order of a case file."""
    from verifier.case.catalogue import FIELDS

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
